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

pub use cause::Cause;
pub use entry::added;
pub(crate) use entry::{TABLES as ADDABLE, columns};
pub(crate) use history::{Record, history};
pub use ledger::{Ledger, settle};
pub use settled::Entry;
pub(crate) use settled::{Claimable, Settled};
pub use weigh::weigh;
pub(crate) use weigh::{Gap, Reading, Scales, Weighed};

#[cfg(test)]
mod tests;
