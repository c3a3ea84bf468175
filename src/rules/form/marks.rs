//! Where in a form the answers stand: row by row, what its nodes are, so that a trail can be told from their figures.

use std::collections::BTreeMap;

use super::Id;
use crate::rules::rate::RateUsed;
use crate::tables::RowRef;
use crate::tables::{Kind, Provenance};
use crate::units::Date;

/// The answers of a form.
#[derive(Debug, Clone)]
pub(crate) struct Marks {
    /// Row by row, in their order.
    pub(crate) steps: Vec<StepMarks>,
    /// How many nodes there were before each of them, before the fee at last, and before the close.
    pub(crate) begins: Vec<usize>,
    /// The parts of the price in the seller's money.
    pub(crate) sellers: Vec<Id>,
    /// Lines to which a layer owes a rate and has none.
    pub(crate) gaps: Id,
    /// What would have been due, had its row not ended.
    pub(crate) ended: Vec<EndedMarks>,
    /// Where each line's tax is taken.
    pub(crate) collect: Id,
    /// What each line bears of a kind, in the destination's money.
    pub(crate) due: BTreeMap<&'static str, Id>,
    /// Tax at the sale in the seller's money.
    pub(crate) paid: Id,
    /// What stands in each column at the close.
    pub(crate) columns: Vec<Id>,
}

impl Marks {
    /// Whether a row that may be due writes a column.
    pub(crate) fn written(&self, slot: usize) -> bool {
        self.steps
            .iter()
            .filter_map(StepMarks::charge)
            .any(|charge| charge.slot == Some(slot))
    }
}

/// One row; its number is its place among the steps of the program.
#[derive(Debug, Clone)]
pub(crate) enum StepMarks {
    /// A charge that may be due.
    Charge(Box<ChargeMarks>),
    /// A limit that was looked at.
    Relief(ReliefMarks),
    /// A row whose condition holds for no line, whatever the figures.
    NotDue(usize),
}

impl StepMarks {
    pub(crate) fn charge(&self) -> Option<&ChargeMarks> {
        match self {
            StepMarks::Charge(charge) => Some(charge),
            _ => None,
        }
    }

    pub(super) fn charge_mut(&mut self) -> Option<&mut ChargeMarks> {
        match self {
            StepMarks::Charge(charge) => Some(charge),
            _ => None,
        }
    }
}

/// Which row a charge is: one of the program's, or the fee of the seller's row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum RowOf {
    /// A step of the program.
    Step(usize),
    /// The carrier's own fee in the place of a step.
    OwnFee(usize),
    /// The carrier's own fee that no step stands for.
    OwnFeeAtLast,
}

/// A charge.
#[derive(Debug, Clone)]
pub(crate) struct ChargeMarks {
    /// Which row.
    pub(crate) row: RowOf,
    /// What it is.
    pub(crate) kind: Kind,
    /// Its id.
    pub(crate) id: String,
    /// Its group.
    pub(crate) group: Option<String>,
    /// Whether it is a row for single lines.
    pub(crate) singly: bool,
    /// Its column; none for a fee beside all columns.
    pub(crate) slot: Option<usize>,
    /// Lines for which its condition holds.
    pub(crate) picked: Id,
    /// The same without those that a limit has dropped.
    pub(crate) works_on: Id,
    /// Limits that had dropped it: of its kind, and of its id; for each the relief's step, and the lines for which it holds.
    pub(crate) reliefs: [Vec<(usize, Id)>; 2],
    /// What it is of, line by line, and what that comes to before rounding.
    pub(crate) terms: (Id, Id),
    /// What the whole is shared by, where that is not what each line comes to.
    pub(crate) weights: Option<Id>,
    /// Lines for which it has a rate.
    pub(crate) bears: Id,
    /// Lines for which no table has one.
    pub(crate) unrated: Id,
    /// Which rate, counted from one among these; zero for none.
    pub(crate) rate: Id,
    /// The rates.
    pub(crate) rates: Vec<(RateUsed, Option<Provenance>)>,
    /// Its parts, as a trail shows them.
    pub(crate) parts: Vec<PartMarks>,
    /// Items it was counted by.
    pub(crate) items: Id,
    /// What it came to before another row of its group was looked at, and after: the total and the least share.
    pub(crate) entered: Entered,
    /// What each line bears of it in the end, in the destination's money.
    pub(crate) shares: Id,
    /// A tax at the sale in the seller's money.
    pub(crate) paid: Option<Id>,
    /// The lines it bears on in the end.
    pub(crate) lines: Id,
    /// Whether it counts in the end.
    pub(crate) counts: Id,
    /// What took lines from it since, and whether it counted afterwards.
    pub(crate) events: Vec<Event>,
    /// Earlier rows of its id, and whether both hold for one line.
    pub(crate) clashes: Vec<(RowOf, Id)>,
}

/// A charge as it stands when it is entered.
#[derive(Debug, Clone)]
pub(crate) struct Entered {
    /// Whether any line bears it after rows of its group.
    pub(crate) counts: Id,
    /// Rows of its group that took lines from it, and whether they did.
    pub(crate) beaten_by: Vec<(String, Id)>,
    /// Lines that rows of its group took from it.
    pub(crate) lost: Id,
    /// What each line bears then.
    pub(crate) shares: Id,
    /// All of them.
    pub(crate) total: Id,
}

/// Lines that were taken from a charge after it was entered.
#[derive(Debug, Clone)]
pub(crate) struct Event {
    /// By whom.
    pub(crate) by: By,
    /// Whether it counts after that.
    pub(crate) counts: Id,
}

/// What takes lines from a charge.
#[derive(Debug, Clone)]
pub(crate) enum By {
    /// Another row of its group.
    Group(String),
    /// A limit.
    Relief(String),
}

/// A rate on a base, line by line or for all lines of a key together.
#[derive(Debug, Clone)]
pub(crate) struct PartMarks {
    /// The lines it is about.
    pub(crate) lines: Id,
    /// Lines of one key are one part; none where each line is.
    pub(crate) keys: Option<Id>,
    /// What the rate is of: of the line, or of all lines of the key.
    pub(crate) base: Id,
    /// What it comes to, likewise.
    pub(crate) amount: Id,
}

/// A limit.
#[derive(Debug, Clone)]
pub(crate) struct ReliefMarks {
    /// Its step.
    pub(crate) step: usize,
    /// Lines for which its condition holds.
    pub(crate) picked: Id,
    /// What it tests, line by line.
    pub(crate) each: Id,
    /// Where tax is taken after it.
    pub(crate) collect: Id,
    /// What it tests, all lines together.
    pub(crate) whole: Id,
    /// Lines for which the limit holds.
    pub(crate) held: Id,
}

/// A charge, or a rate of one, that ended.
#[derive(Debug, Clone)]
pub(crate) struct EndedMarks {
    /// The charge.
    pub(crate) id: String,
    /// What it is.
    pub(crate) kind: Kind,
    /// Its last day.
    pub(crate) on: Date,
    /// Its row.
    pub(crate) row: RowRef,
    /// The lines it would have touched.
    pub(crate) lines: Id,
}
