//! Masses: grams with at most one decimal.

use std::fmt;

use super::{Dec, Overflow};

/// A mass in grams.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Grams(pub Dec);

impl Grams {
    /// Nothing on the scale.
    pub const ZERO: Grams = Grams(Dec::ZERO);

    /// So many of these.
    pub fn times(self, count: u32) -> Result<Grams, Overflow> {
        self.0.times(Dec::from(count)).map(Grams)
    }

    /// Both together.
    pub fn plus(self, other: Grams) -> Result<Grams, Overflow> {
        self.0.plus(other.0).map(Grams)
    }

    /// The difference, which may be below nought.
    pub fn minus(self, other: Grams) -> Result<Grams, Overflow> {
        self.0.minus(other.0).map(Grams)
    }

    /// All of them together.
    pub fn total(masses: impl IntoIterator<Item = Grams>) -> Result<Grams, Overflow> {
        Dec::total(masses.into_iter().map(|m| m.0)).map(Grams)
    }
}

impl fmt::Display for Grams {
    /// Grams with at most one decimal, no unit: `1349`, `11.1`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let tenth = self.0.round_to(1, super::Mode::HalfUp);
        f.write_str(&tenth.to_string())
    }
}

/// How a bike was weighed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Basis {
    /// No pedals, cages, sealant.
    Showroom,
    /// Pedals, cages and mounts on, bottles off.
    Racing,
    /// As it is ridden, without the rider and water.
    Ride,
}

/// The bases by their words.
pub const BASES: [(&str, Basis); 3] = [("showroom", Basis::Showroom), ("racing", Basis::Racing), ("ride", Basis::Ride)];

impl Basis {
    /// Its word.
    pub fn name(self) -> &'static str {
        match self {
            Basis::Showroom => "showroom",
            Basis::Racing => "racing",
            Basis::Ride => "ride",
        }
    }
}
