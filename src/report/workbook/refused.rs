//! Why a workbook is not made.

use crate::text::REPORT;
use crate::units::Overflow;

/// The reason, in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Refused(String);

/// What is made, unless it is refused.
pub(super) type Made<T> = Result<T, Refused>;

impl Refused {
    /// A bound of spreadsheets that the book goes beyond.
    pub(super) fn beyond(what: String) -> Refused {
        Refused(what)
    }

    /// What cannot happen, and did: no fault of the book.
    pub(super) fn defect(what: impl std::fmt::Display) -> Refused {
        Refused(format!("{what}. {REPORT}"))
    }
}

impl From<Overflow> for Refused {
    fn from(overflow: Overflow) -> Refused {
        Refused(overflow.to_string())
    }
}

impl From<Refused> for String {
    fn from(Refused(said): Refused) -> String {
        said
    }
}
