//! What every part of a home-built bicycle will really have cost by the time it lies on the doormat.
//!
//! The crate is built in layers; a module uses only modules above it in this list, never a sibling:
//!
//! ```text
//! 0 units   1 text   2 tables, book   3 rules   4 landed   5 value   6 compare, rank   7 report   8 cli
//! ```

pub mod book;
pub mod cli;
pub mod estimate;
pub mod landed;
pub mod leeway;
pub mod report;
pub mod returns;
pub mod rules;
pub mod settle;
pub mod tables;
pub mod text;
pub mod units;

pub use landed::{Ask, cost};
