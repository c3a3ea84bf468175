//! The one form of the law: what a program asks of one parcel, written out as a list of small sums.
//!
//! A [`Form`] is made from the rows in force and the fixed facts of a parcel ([`lower`]). It is a list of nodes; each is one
//! operation on nodes before it, and has either one figure for the whole parcel or one for each line. A truth is a figure too:
//! one or zero. Levels, groups, reliefs and rounding are understood while the form is made, and nowhere else: whoever reads
//! a form knows additions, comparisons and shares, and no rule.
//!
//! Readings are instances of [`Algebra`]: decimals with a trail ([`exact`]), whole numbers, live formulas; [`bounds`] walks the nodes on its own.

mod algebra;
pub(crate) mod bounds;
mod charge;
mod exact;
mod figure;
mod group;
mod lower;
mod maker;
mod marks;
mod ops;
mod pay;
mod rated;
mod relief;
mod reread;
mod sale;
mod sections;
mod seller;
mod steps;
mod test;
mod totals;
pub(in crate::rules) mod trail;
pub(in crate::rules) mod turning;

use std::sync::Arc;

pub(crate) use algebra::{Algebra, Cells, Shared, evaluate};
pub(crate) use exact::{Supply, read_exactly};
pub(crate) use figure::{Figure, Group, Origin};
pub(in crate::rules) use figure::{RatePart, Term, What};
pub(crate) use lower::{collect_of, lower, lower_open, lower_with};
pub(crate) use marks::{Marks, StepMarks};
pub(crate) use pay::{Paying, lower_paying, lower_paying_open};
pub(crate) use sale::{Asking, SaleRows, lower_asking, lower_asking_open};
pub(crate) use sections::{Law, Name, Told, law};
pub(crate) use seller::{tell_asking, tell_paying};

use crate::tables;
use crate::units::{Dec, Rounding};

/// A node of a form.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct Id(u32);

impl Id {
    /// Its place in the list.
    pub(crate) fn place(self) -> usize {
        // a form has at most `u32::MAX` nodes, and this program runs where a usize holds them
        self.0 as usize
    }
}

/// What the figures of a node count. Amounts in two kinds of money never meet but by [`Op::Home`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum Measure {
    /// Pieces, masses, percentages, truths, keys.
    Plain,
    /// The seller's money.
    Seller,
    /// The destination's money.
    Home,
}

/// A figure of a line that is not fixed: who reads the form supplies it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum Input {
    /// Price times quantity, in the seller's money.
    List,
    /// The same less discounts.
    Goods,
    /// The line's share of the freight, in the seller's money.
    Freight,
    /// The line's share of the insurance, in the seller's money.
    Insurance,
    /// Packed mass in kilograms.
    Kilograms,
    /// Pieces.
    Pieces,
    /// What all pieces weigh without packing, in grams.
    Grams,
    /// A figure of the seller's side.
    Sale(SaleInput),
}

impl Input {
    /// Whether it is one figure for the parcel.
    fn is_of_parcel(self) -> bool {
        self == Input::Sale(SaleInput::Carriage)
    }
}

/// A figure of the seller's side that is not fixed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum SaleInput {
    /// The price of one piece.
    Price,
    /// The packed mass of the line in grams.
    Packed,
    /// The percentage of a discount.
    Discount,
    /// What carrying costs.
    Carriage,
    /// The grams that the price of carrying is for.
    CarriageGrams,
    /// Goods of at least this price travel free.
    FreeOver,
    /// What insuring costs.
    Premium,
    /// The percentage of an insurance.
    PremiumShare,
    /// What discounts and credits take off the line, below zero.
    Off,
    /// Tax at the sale by the rules, in the seller's money.
    SaleTax,
    /// The tax at the sale that the line's price held.
    TaxHeld,
}

/// One operation. A truth is one or zero; where a node has one figure for the parcel, every line has it.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(crate) enum Op {
    /// A figure.
    Fixed(Dec),
    /// A figure that a user may change, by its place among those of the form; only a form that is made for a reading that shows
    /// them has any.
    Figure(usize),
    /// A figure for each line.
    Column(Arc<[Dec]>),
    /// A figure of each line that is supplied.
    Input(Input),
    /// The seller's money in the destination's, at the customs rate.
    Home(Id),
    /// A sum.
    Plus(Id, Id),
    /// A difference.
    Minus(Id, Id),
    /// A product.
    Times(Id, Id),
    /// A part: times the first figure, over the second.
    Part(Id, Dec, Dec),
    /// A quotient; zero where the divisor is.
    Over(Id, Id),
    /// The lesser of two.
    Least(Id, Id),
    /// The greater of two.
    Most(Id, Id),
    /// Rounded as a row says.
    Round(Id, Rounding),
    /// Whether two figures stand so.
    Compare(Id, tables::Op, Id),
    /// Whether both hold.
    Both(Id, Id),
    /// Whether either holds.
    Either(Id, Id),
    /// Whether it does not hold.
    Not(Id),
    /// The second where the first holds, else the third.
    Choose(Id, Id, Id),
    /// All lines together.
    Total(Id),
    /// For each line, the sum over the lines that have its key. A key of zero stands outside, and has zero.
    Mates(Id, Id),
    /// How many different keys there are, zero left out.
    Distinct(Id),
    /// A whole shared over the lines of one key so that the parts add up to it; outside, zero.
    Spread(Spread),
    /// Exact parts brought to whole units that add up to a whole.
    Settle(Settle),
}

impl Op {
    /// The nodes it looks at.
    pub(crate) fn looks_at(&self) -> Vec<Id> {
        match self {
            Op::Fixed(_) | Op::Figure(_) | Op::Column(_) | Op::Input(_) => Vec::new(),
            Op::Home(a)
            | Op::Part(a, ..)
            | Op::Round(a, _)
            | Op::Not(a)
            | Op::Total(a)
            | Op::Distinct(a) => vec![*a],
            Op::Plus(a, b)
            | Op::Minus(a, b)
            | Op::Times(a, b)
            | Op::Over(a, b)
            | Op::Least(a, b)
            | Op::Most(a, b)
            | Op::Compare(a, _, b)
            | Op::Both(a, b)
            | Op::Either(a, b)
            | Op::Mates(a, b) => vec![*a, *b],
            Op::Choose(when, a, b) => vec![*when, *a, *b],
            Op::Spread(how) => vec![how.whole, how.weights, how.keys],
            Op::Settle(how) => std::iter::once(how.whole)
                .chain(how.parts.iter().copied())
                .collect(),
        }
    }

    /// The same operation on other nodes.
    fn looking_at<E>(&self, mut of: impl FnMut(Id) -> Result<Id, E>) -> Result<Op, E> {
        Ok(match self {
            Op::Fixed(_) | Op::Figure(_) | Op::Column(_) | Op::Input(_) => self.clone(),
            Op::Home(a) => Op::Home(of(*a)?),
            Op::Part(a, times, over) => Op::Part(of(*a)?, *times, *over),
            Op::Round(a, rounding) => Op::Round(of(*a)?, *rounding),
            Op::Not(a) => Op::Not(of(*a)?),
            Op::Total(a) => Op::Total(of(*a)?),
            Op::Distinct(a) => Op::Distinct(of(*a)?),
            Op::Plus(a, b) => Op::Plus(of(*a)?, of(*b)?),
            Op::Minus(a, b) => Op::Minus(of(*a)?, of(*b)?),
            Op::Times(a, b) => Op::Times(of(*a)?, of(*b)?),
            Op::Over(a, b) => Op::Over(of(*a)?, of(*b)?),
            Op::Least(a, b) => Op::Least(of(*a)?, of(*b)?),
            Op::Most(a, b) => Op::Most(of(*a)?, of(*b)?),
            Op::Compare(a, how, b) => Op::Compare(of(*a)?, *how, of(*b)?),
            Op::Both(a, b) => Op::Both(of(*a)?, of(*b)?),
            Op::Either(a, b) => Op::Either(of(*a)?, of(*b)?),
            Op::Mates(a, b) => Op::Mates(of(*a)?, of(*b)?),
            Op::Choose(when, a, b) => Op::Choose(of(*when)?, of(*a)?, of(*b)?),
            Op::Spread(how) => Op::Spread(Spread {
                whole: of(how.whole)?,
                weights: of(how.weights)?,
                keys: of(how.keys)?,
                digits: how.digits,
            }),
            Op::Settle(how) => Op::Settle(Settle {
                whole: of(how.whole)?,
                parts: how
                    .parts
                    .iter()
                    .map(|id| of(*id))
                    .collect::<Result<_, E>>()?,
                ..how.clone()
            }),
        })
    }
}

/// How a whole is shared over lines.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(crate) struct Spread {
    /// The whole: for each line, that of its key.
    pub(crate) whole: Id,
    /// What it is shared by.
    pub(crate) weights: Id,
    /// Which lines share one whole; zero stands outside.
    pub(crate) keys: Id,
    /// Decimals of the parts.
    pub(crate) digits: u32,
}

/// How parts are settled: all parts of all lines together come to the whole, by largest remainder. The node is one of the parts.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(crate) struct Settle {
    /// The whole, rounded.
    pub(crate) whole: Id,
    /// The exact parts of each line, whose sum is less than a unit from the whole.
    pub(crate) parts: Arc<[Id]>,
    /// Which of them this is.
    pub(crate) nth: usize,
    /// Decimals of the parts.
    pub(crate) digits: u32,
}

/// One node.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(crate) struct Node {
    /// What it does.
    pub(crate) op: Op,
    /// What its figures count.
    pub(crate) measure: Measure,
    /// Whether it has a figure for each line, not one for the parcel.
    pub(crate) by_line: bool,
}

/// The law of one parcel, written out.
#[derive(Debug, Clone, Default)]
pub(crate) struct Form {
    nodes: Vec<Node>,
    lines: usize,
    figures: Vec<Figure>,
}

impl Form {
    /// The lines of the parcel.
    pub(crate) fn lines(&self) -> usize {
        self.lines
    }

    /// A figure that may be changed.
    pub(crate) fn figure(&self, at: usize) -> &Figure {
        &self.figures[at]
    }

    /// Those that anything hangs on with their places, in the order in which they are looked at.
    pub(crate) fn figures(&self) -> impl Iterator<Item = (usize, &Figure)> {
        self.nodes.iter().filter_map(|node| match node.op {
            Op::Figure(at) => Some((at, self.figures.get(at)?)),
            _ => None,
        })
    }

    /// What a figure counts.
    pub(crate) fn measure_of(&self, which: usize) -> Measure {
        let mut nodes = self.nodes.iter();
        let own = nodes.find(|node| node.op == Op::Figure(which));
        own.map_or(Measure::Plain, |node| node.measure)
    }

    /// The lines that a figure is for: where it is chosen for some of the lines only, and that does not move, those.
    pub(crate) fn lines_of(&self, which: usize) -> Vec<usize> {
        let own = |id: &Id| self.node(*id).op == Op::Figure(which);
        let mut found = vec![false; self.lines];
        for node in &self.nodes {
            let chosen = match &node.op {
                Op::Choose(when, figure, _) if own(figure) => Some(*when),
                op if op.looks_at().iter().any(own) => None,
                _ => continue,
            };
            let when = chosen.map(|when| &self.node(when).op);
            for (line, found) in found.iter_mut().enumerate() {
                let here = match when {
                    Some(Op::Column(all)) => all.get(line).is_some_and(|one| !one.is_zero()),
                    _ => true,
                };
                *found = *found || here;
            }
        }
        let lines = found.iter().enumerate();
        lines
            .filter_map(|(line, found)| found.then_some(line))
            .collect()
    }

    /// All nodes, in their order.
    pub(crate) fn nodes(&self) -> &[Node] {
        &self.nodes
    }

    /// Leaves out every node that these do not need, and says how often each that is left is looked at.
    pub(crate) fn cut(&mut self, roots: impl IntoIterator<Item = Id>) -> Vec<u32> {
        let mut uses = vec![0_u32; self.nodes.len()];
        for root in roots {
            uses[root.place()] += 1;
        }
        for place in (0..self.nodes.len()).rev() {
            if uses[place] == 0 {
                let nothing = Node {
                    op: Op::Fixed(Dec::ZERO),
                    measure: Measure::Plain,
                    by_line: false,
                };
                self.nodes[place] = nothing;
            }
            for id in self.nodes[place].op.looks_at() {
                uses[id.place()] += 1;
            }
        }
        uses
    }

    /// A node.
    pub(crate) fn node(&self, id: Id) -> &Node {
        &self.nodes[id.place()]
    }
}
