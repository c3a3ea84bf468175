//! How far the landed cost can move before anything is ordered, what moves it, and where it stops being worth it.
//!
//! Every figure of money comes from the engine, run again with exchange, freight or prices supposed otherwise; duty and
//! tax follow and have no range of their own. Only the shares of outcomes are estimates.

mod asked;
mod bends;
mod breakeven;
mod driver;
mod mass;
mod outcome;
mod scene;
mod spread;
mod study;

// What may be used from outside.
pub use self::{mass::mass_range, spread::leeway};

pub(crate) use breakeven::{Against, BreakEven, Edge, Lever, break_even};
pub(crate) use driver::{Driver, Range};
pub(crate) use mass::MassRange;
pub(crate) use outcome::{Effect, Outcomes};
pub(crate) use spread::Leeway;

#[cfg(test)]
mod tests;
