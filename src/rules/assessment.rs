//! What a program says of a consignment: the entries of the trail, the limits, and what each line bears.

use super::rate::RateUsed;
use super::step::ChargeStep;
use crate::tables::{Collect, Kind, Provenance, RowRef};
use crate::units::{Date, Dec, Overflow, SellerMoney};

/// A rate on a base, as the trail shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct RateApplication {
    /// What the percentage is of.
    pub(crate) base: Dec,
    /// The rate; none for a plain sum.
    pub(crate) rate: Option<RateUsed>,
    /// What it comes to.
    pub(crate) amount: Dec,
}

/// One row of the trail: what a row came to, or why it is not due.
#[derive(Debug, Clone)]
pub(crate) struct Entry {
    /// The row's id.
    pub(crate) id: String,
    /// What it is; none for a relief.
    pub(crate) kind: Option<Kind>,
    /// Where the row stands and what is behind it.
    pub(crate) stamp: Provenance,
    /// Rows of rates it took its percentage from.
    pub(crate) rate_rows: Vec<Provenance>,
    /// What it came to; none when it is not due.
    pub(crate) amount: Option<Dec>,
    /// Its shares, line by line; zero where it did not apply.
    pub(crate) shares: Vec<Dec>,
    /// A tax at the sale, line by line.
    pub(crate) paid: Vec<SellerMoney>,
    /// The sum it was of, in the table's words.
    pub(crate) of: String,
    /// How it was calculated.
    pub(crate) parts: Vec<RateApplication>,
    /// Its flat amount.
    pub(crate) flat: Option<Dec>,
    /// The least and the most that the row lets it come to.
    pub(crate) bounds: (Option<Dec>, Option<Dec>),
    /// Why it is not due.
    pub(crate) why_not: Option<WhyNot>,
    /// Lines it worked on.
    pub(crate) lines: Vec<usize>,
    /// Whether the layer it looks in owes a rate for every line.
    pub(crate) owes: bool,
    /// Lines without a rate.
    pub(crate) unrated: Vec<usize>,
}

impl Entry {
    /// A row that has come to nothing yet.
    pub(super) fn of_row(id: &str, kind: Option<Kind>, stamp: &Provenance, of: String) -> Entry {
        Entry {
            id: id.to_owned(),
            kind,
            stamp: stamp.clone(),
            rate_rows: Vec::new(),
            amount: None,
            shares: Vec::new(),
            paid: Vec::new(),
            of,
            parts: Vec::new(),
            flat: None,
            bounds: (None, None),
            why_not: None,
            lines: Vec::new(),
            owes: false,
            unrated: Vec::new(),
        }
    }

    pub(super) fn of_charge(step: &ChargeStep) -> Entry {
        let entry = Entry::of_row(&step.id, Some(step.kind), &step.stamp, step.of_text.clone());
        Entry {
            flat: step.flat,
            owes: step.owes,
            bounds: (step.min, step.max),
            ..entry
        }
    }
}

/// Why a row is not due.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum WhyNot {
    /// Its condition does not hold.
    Condition(String),
    /// A relief dropped it.
    Relieved(String),
    /// Another row of its group counts.
    Group(String),
    /// No table has a rate for any of its lines.
    NoRate,
    /// The carrier's own fee stands in its place.
    OwnFee,
    /// The relief's sum is beyond its limit.
    OverLimit(Dec, String),
}

/// A limit that was tested, and how far the sum is from it.
#[derive(Debug, Clone)]
pub(crate) struct Limit {
    /// The relief's id.
    pub(crate) id: String,
    /// The limit, in the destination's money.
    pub(crate) amount: Dec,
    /// The limit as the table writes it.
    pub(crate) text: String,
    /// The sum that was tested.
    pub(crate) value: Dec,
    /// Whether that sum is a value of the goods, and not one of charges.
    pub(crate) of_price: bool,
    /// Whether the relief holds.
    pub(crate) holds: bool,
    /// Where tax is taken when it holds.
    pub(crate) collect: Option<Collect>,
}

/// What the rules say of one consignment.
#[derive(Debug, Clone)]
pub(crate) struct Assessment {
    /// The trail, in order.
    pub(crate) entries: Vec<Entry>,
    /// Limits tested over the consignment.
    pub(crate) limits: Vec<Limit>,
    /// Where each line's tax is taken.
    pub(crate) collect: Vec<Collect>,
    /// Lines to which a layer owes a rate of duty and has none.
    pub(crate) gaps: Vec<usize>,
    /// Charges, or their rates, that ended and of which it is not known what followed.
    pub(crate) ended: Vec<Ended>,
    /// Rows of one charge that hold for one line at once: the tables contradict themselves.
    pub(crate) clashes: Vec<(String, RowRef, RowRef)>,
    /// Charges that came to less than nothing: the id, what of it, and its row.
    pub(crate) negative: Vec<(String, Dec, RowRef)>,
}

/// A duty, tax or fee that would have touched the consignment, had its row not ended; no row follows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Ended {
    /// The charge.
    pub(crate) id: String,
    /// What it is.
    pub(crate) kind: Kind,
    /// The last day of its row, or of the row it took its rate from.
    pub(crate) on: Date,
    /// That row.
    pub(crate) row: RowRef,
    /// The lines it would have touched.
    pub(crate) lines: Vec<usize>,
}

impl Assessment {
    /// One line's share of a kind.
    pub(crate) fn of_line(&self, kind: Kind, line: usize) -> Result<Dec, Overflow> {
        let entries = self
            .entries
            .iter()
            .filter(|e| e.kind == Some(kind) && e.amount.is_some());
        Dec::total(entries.filter_map(|e| e.shares.get(line).copied()))
    }

    /// One line's tax at the sale.
    pub(crate) fn sale_tax_of_line(&self, line: usize) -> Result<SellerMoney, Overflow> {
        SellerMoney::total(
            self.entries
                .iter()
                .filter(|e| e.amount.is_some())
                .filter_map(|e| e.paid.get(line).copied()),
        )
    }

    /// What one row came to.
    pub(crate) fn amount(&self, id: &str) -> Option<Dec> {
        self.entries
            .iter()
            .filter(|e| e.id == id && e.kind.is_some())
            .find_map(|e| e.amount)
    }
}
