//! What one thing is worth against another: differences before ratios, the frontier, one basis for masses, which part
//! fills which place, and whether parts fit one another.
//!
//! Uses only `landed` and what lies below it. Works in exact decimals; nothing here is a guess unless it is called a range.

pub(crate) mod basis;
pub(crate) mod bench;
pub(crate) mod bike;
mod check;
pub(crate) mod doubt;
pub(crate) mod fit;
mod frontier;
pub(crate) mod pieces;
mod quadrant;
mod ratio;
pub mod scale;
mod slips;

pub use check::check;
pub(crate) use check::refusals;
pub use frontier::Standing;
pub(crate) use frontier::{Point, Status, frontier};
pub(crate) use quadrant::Difference;
pub use quadrant::Quadrant;
pub use ratio::Ratio;

#[cfg(test)]
mod tests;
