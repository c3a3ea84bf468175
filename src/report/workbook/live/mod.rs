//! The live reading: a form of one parcel as formulas. It knows operations and no rule; what a figure is called it is told.

mod algebra;
mod fold;
mod place;
mod words;

use std::collections::{BTreeMap, BTreeSet};

use super::Common;
use super::formula::{At, NumExpr};
use super::page::Page;
use super::refused::Made;
use crate::rules::{Cells, Id, Input, Op as Node, SaleInput, Told, evaluate};
use crate::tables::Quote;
use crate::units::{Currency, Mode};

pub(super) use fold::{minus, plus};

/// The figures of lines that a form asks for.
pub(super) type Supplied = Vec<(Input, Vec<NumExpr>)>;

/// What a form is read with.
pub(super) struct Sources<'a> {
    /// What all sheets share.
    pub(super) common: &'a Common,
    /// The seller's money.
    pub(super) sellers: Currency,
    /// The rate from it to the destination's; none where both are the same.
    pub(super) rate: Option<&'a Quote>,
    /// The figures of lines.
    pub(super) supplied: Supplied,
}

/// The figures of a form that was read.
pub(super) struct Figures {
    cells: Cells<NumExpr>,
    lines: usize,
}

impl Figures {
    /// Those of a node, line by line.
    pub(super) fn of(&self, id: Id) -> Vec<NumExpr> {
        let line = |line| self.cells.at(id, line).clone();
        (0..self.lines).map(line).collect()
    }
}

/// Writes a form down on a page, section by section.
pub(super) fn read(page: &mut Page<'_>, told: &Told, sources: &Sources<'_>) -> Made<Figures> {
    let decimals = decimals(told, sources.sellers.digits());
    let mut live = Live {
        page,
        told,
        sources,
        decimals,
        next: 0,
        stands: standing(told),
        again: shown_again(told),
        before: BTreeMap::new(),
        figures: BTreeMap::new(),
        ranges: Vec::new(),
        shared: BTreeSet::new(),
    };
    let cells = evaluate(&told.form, &mut live)?;
    live.reach(usize::MAX)?;
    let lines = told.form.lines();
    Ok(Figures { cells, lines })
}

struct Live<'a, 'p> {
    page: &'a mut Page<'p>,
    told: &'a Told,
    sources: &'a Sources<'a>,
    /// How many decimals the figures of each node have at most, where that is known.
    decimals: Vec<Option<u32>>,
    /// The next section.
    next: usize,
    /// Nodes that stand in cells of their own.
    stands: Vec<bool>,
    /// Nodes that are shown again in a later section.
    again: BTreeSet<Id>,
    /// Their figures.
    before: BTreeMap<Id, Vec<NumExpr>>,
    /// The cells of figures that may be changed.
    figures: BTreeMap<usize, At>,
    /// Rows that were written only so that they can be added up.
    ranges: Vec<(Vec<NumExpr>, u32)>,
    /// The places of nodes whose rows stand already under their names, since sharing writes them.
    shared: BTreeSet<usize>,
}

/// What is added up, shared or counted, and what a formula names several times.
fn standing(told: &Told) -> Vec<bool> {
    let mut stands = vec![false; told.form.nodes().len()];
    for node in told.form.nodes() {
        let named = match &node.op {
            Node::Total(_)
            | Node::Mates(..)
            | Node::Distinct(_)
            | Node::Spread(_)
            | Node::Settle(_) => node.op.looks_at(),
            Node::Round(a, rounding)
                if matches!(rounding.mode, Mode::HalfEven | Mode::HalfDown) =>
            {
                vec![*a]
            }
            Node::Over(_, b) => vec![*b],
            _ => Vec::new(),
        };
        for id in named {
            stands[id.place()] = true;
        }
    }
    stands
}

/// Nodes that are shown in a section that begins after them.
fn shown_again(told: &Told) -> BTreeSet<Id> {
    told.shown_again().map(|name| name.id).collect()
}

/// How many decimals the figures of each node have at most; none where that hangs on what is typed or divided.
fn decimals(told: &Told, of_price: u32) -> Vec<Option<u32>> {
    let mut found: Vec<Option<u32>> = Vec::with_capacity(told.form.nodes().len());
    for node in told.form.nodes() {
        let of = |id: &Id| found[id.place()];
        let own = match &node.op {
            Node::Fixed(number) => Some(number.decimals()),
            Node::Column(all) => all.iter().map(|number| number.decimals()).max(),
            // whoever reads a book refuses a price of more decimals than its money has
            Node::Input(Input::Sale(SaleInput::Price)) => Some(of_price),
            Node::Input(Input::Pieces)
            | Node::Compare(..)
            | Node::Both(..)
            | Node::Either(..)
            | Node::Not(_)
            | Node::Distinct(_) => Some(0),
            Node::Input(_) | Node::Figure(_) | Node::Home(_) | Node::Part(..) | Node::Over(..) => {
                None
            }
            Node::Plus(a, b)
            | Node::Minus(a, b)
            | Node::Least(a, b)
            | Node::Most(a, b)
            | Node::Choose(_, a, b) => of(a).zip(of(b)).map(|(a, b)| a.max(b)),
            Node::Times(a, b) => of(a).zip(of(b)).map(|(a, b)| a + b),
            Node::Round(_, rounding) => Some(rounding.step.decimals()),
            Node::Total(a) | Node::Mates(_, a) => of(a),
            Node::Spread(how) => of(&how.whole).map(|whole| whole.max(how.digits)),
            Node::Settle(how) => Some(how.digits),
        };
        found.push(own);
    }
    found
}
