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
mod group;
mod lower;
mod maker;
mod marks;
mod ops;
mod rated;
mod relief;
mod reread;
mod test;
pub(in crate::rules) mod trail;

use std::sync::Arc;

pub(crate) use lower::{collect_of, lower, lower_open, lower_with};
pub(crate) use marks::{Marks, StepMarks};

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
}

/// One operation. A truth is one or zero; where a node has one figure for the parcel, every line has it.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(crate) enum Op {
    /// A figure.
    Fixed(Dec),
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
}

impl Form {
    /// The lines of the parcel.
    pub(crate) fn lines(&self) -> usize {
        self.lines
    }

    /// A node.
    pub(crate) fn node(&self, id: Id) -> &Node {
        &self.nodes[id.place()]
    }
}
