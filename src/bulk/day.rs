//! A day of a price list with its rules and its exchange.

use crate::rules::WholeRate;
use crate::units::Date;

/// A day for one currency and time on the way; a rate is none where it has too many digits for whole numbers.
#[derive(Debug, Clone, Copy)]
pub(super) struct Day {
    pub(super) date: Date,
    pub(super) arrival: Date,
    /// Which charges and reliefs hold.
    pub(super) rules: u32,
    /// Which freight schedules hold.
    pub(super) freight: u32,
    pub(super) market: Option<WholeRate>,
    pub(super) customs: Option<WholeRate>,
}
