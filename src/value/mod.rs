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

// What may be used from outside.
pub use self::{frontier::Standing, quadrant::Quadrant, ratio::Ratio};

pub(crate) use check::{check, refusals};
pub(crate) use frontier::{Point, Status, frontier};
pub(crate) use quadrant::Difference;

#[cfg(test)]
mod tests;
