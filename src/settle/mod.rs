//! What really happened: receipts against the estimate with every difference given a cause, weighings against claims,
//! deadlines, and how good the estimates were so far.

mod beside;
mod cause;
mod claims;
mod entry;
mod explain;
mod history;
mod ledger;
mod settled;
mod stage;
mod weigh;

// What may be used from outside.
pub use self::{
    cause::Cause,
    ledger::{Ledger, settle},
    settled::Entry,
};

pub(crate) use entry::{added, with_parcel};
pub(crate) use history::{Record, history};
pub(crate) use ledger::DOOR;
pub(crate) use settled::{Claimable, Settled};
pub(crate) use weigh::{Gap, Reading, Scales, Weighed, weigh};

#[cfg(test)]
mod tests;
