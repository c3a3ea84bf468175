//! What one thing is worth against another: differences before ratios, the frontier, one basis for masses, which part
//! fills which place, and whether parts fit one another.
//!
//! Uses only `landed` and what lies below it. Works in exact decimals; nothing here is a guess unless it is called a range.

pub mod basis;
pub mod bench;
pub mod bike;
mod check;
pub(crate) mod doubt;
pub mod fit;
mod frontier;
pub(crate) mod pieces;
mod quadrant;
mod ratio;
pub mod scale;
mod slips;

pub use check::check;
pub(crate) use check::refusals;
pub use frontier::{Point, Standing, Status, frontier};
pub use quadrant::{Difference, Quadrant};
pub use ratio::Ratio;
