//! Rows of `refunds.csv`: what comes back when goods go back or too much was charged, from whom, and until when.

use super::coin::currency;
use super::stamp::{PROVENANCE, Rule};
use crate::text::words::{one_of, word_of};
use crate::text::{Columns, Problems, Row};
use crate::units::{Currency, Date, Dec, number};

/// Why money should come back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reason {
    /// Faulty, damaged on the way, or not as ordered.
    Faulty,
    /// It does not fit, or is no longer wanted.
    Unwanted,
    /// A wrong sum was charged.
    Overcharged,
    /// The same tax was taken at the sale and again at the door.
    Twice,
}

/// The reasons by their words.
pub(crate) const REASONS: [(&str, Reason); 4] = [
    ("faulty", Reason::Faulty),
    ("unwanted", Reason::Unwanted),
    ("overcharged", Reason::Overcharged),
    ("charged-twice", Reason::Twice),
];

impl Reason {
    /// Its word.
    pub(crate) fn name(self) -> &'static str {
        word_of(&REASONS, self)
    }
}

/// Whether it comes back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Back {
    /// It does.
    Yes,
    /// It can be asked for; never counted as income.
    Possible,
    /// It does not.
    No,
}

/// The ways by their words.
pub(crate) const BACKS: [(&str, Back); 3] = [
    ("yes", Back::Yes),
    ("possible", Back::Possible),
    ("no", Back::No),
];

/// One row.
#[derive(Debug, Clone)]
pub(crate) struct RefundRow {
    /// Its id.
    pub(crate) id: String,
    /// The charge, in the words of the outputs; `card_cover` for what the card's issuer answers for.
    pub(crate) charge: String,
    /// The reason; none for all.
    pub(crate) reason: Option<Reason>,
    /// Whether it comes back.
    pub(crate) back: Back,
    /// From whom.
    pub(crate) from: String,
    /// Months from the arrival within which it must be asked for.
    pub(crate) months: Option<u32>,
    /// Days from the arrival, where the text counts in days.
    pub(crate) days: Option<u32>,
    /// Only above this sum.
    pub(crate) over: Option<Dec>,
    /// Only up to this sum.
    pub(crate) up_to: Option<Dec>,
    /// The money of both.
    pub(crate) currency: Option<Currency>,
    /// In plain words.
    pub(crate) text: String,
}

impl RefundRow {
    /// The last day on which it can be asked for, of what arrived on a day; none where no time is set.
    pub(crate) fn last_day(&self, arrival: Date) -> Option<Date> {
        let months = self.months.map(|months| arrival.plus_months(months));
        months.or_else(|| self.days.map(|days| arrival.plus_days(days)))
    }
}

impl Rule for RefundRow {
    const COLUMNS: Columns = Columns {
        needed: &["refund", "charge", "reason", "comes_back"],
        optional: &[
            "from", "months", "days", "over", "up_to", "currency", "text",
        ],
        shared: PROVENANCE,
    };

    fn read(row: &Row<'_>, problems: &mut Problems) -> Option<RefundRow> {
        let any = row.cell("reason").text() == "*";
        let reason = if any {
            Some(None)
        } else {
            row.cell("reason")
                .needed(problems, |t| one_of(&REASONS, t))
                .map(Some)
        };
        let back = row
            .cell("comes_back")
            .needed(problems, |t| one_of(&BACKS, t));
        let amount = |name: &'static str, problems: &mut Problems| {
            row.cell(name).optional(problems, number::plain)
        };
        let text = |name: &'static str| row.cell(name).text().to_owned();
        let months = row.cell("months").optional(problems, |t| {
            t.parse()
                .map_err(|_| "expected a whole number of months".to_owned())
        });
        let days = row.cell("days").optional(problems, |t| {
            t.parse()
                .map_err(|_| "expected a whole number of days".to_owned())
        });
        Some(RefundRow {
            id: text("refund"),
            charge: text("charge"),
            reason: reason?,
            back: back?,
            from: text("from"),
            months,
            days,
            over: amount("over", problems),
            up_to: amount("up_to", problems),
            currency: row.cell("currency").optional(problems, currency),
            text: text("text"),
        })
    }

    fn key(&self) -> String {
        format!(
            "{} {} {}",
            self.id,
            self.charge,
            self.reason.map_or("*", Reason::name)
        )
    }
}
