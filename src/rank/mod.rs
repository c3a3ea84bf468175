//! Where the next pound buys the most grams: every option by what it really adds to the bill.
//!
//! An option's cost is marginal: the landed total of the build with it, less the landed total without, so that parcels, limits
//! and freight steps are counted as they fall; less what the replaced pieces would fetch. Nothing here is an average.

mod base;
mod cure;
mod ladder;
mod marginal;
mod order;
mod parcels;
mod proposal;
mod ranked;
mod ranking;
mod survey;
mod swap;

pub use cure::Cure;
pub(crate) use ladder::Rung;
pub use ladder::{Ladder, Stop};
pub(crate) use marginal::InDispute;
pub use ranked::Ranked;
pub(crate) use ranked::Unranked;
pub(crate) use ranking::rank_at;
pub use ranking::{Ranking, rank};

#[cfg(test)]
mod tests;
