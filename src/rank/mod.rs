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

// What may be used from outside.
pub use self::{
    cure::Cure,
    ladder::{Ladder, Stop},
    ranked::Ranked,
    ranking::{Ranking, rank},
};

pub(crate) use ladder::Rung;
pub(crate) use ranked::Unranked;
pub(crate) use ranking::rank_at;

#[cfg(test)]
mod tests;
