//! Masses: grams with at most one decimal.

use std::fmt;

use super::{Dec, Overflow};

/// A mass in grams.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Grams(pub Dec);

impl Grams {
    /// Nothing on the scale.
    pub(crate) const ZERO: Grams = Grams(Dec::ZERO);

    /// The mass times a count.
    pub(crate) fn times(self, count: u32) -> Result<Grams, Overflow> {
        self.0.times(Dec::from(count)).map(Grams)
    }

    /// Both together.
    pub(crate) fn plus(self, other: Grams) -> Result<Grams, Overflow> {
        self.0.plus(other.0).map(Grams)
    }

    /// The difference, which may be below zero.
    pub(crate) fn minus(self, other: Grams) -> Result<Grams, Overflow> {
        self.0.minus(other.0).map(Grams)
    }

    /// The bare figure in kilograms.
    pub(crate) fn kilograms(self) -> Result<Dec, Overflow> {
        self.0.over(Dec::THOUSAND)
    }

    /// All of them together.
    pub(crate) fn total(masses: impl IntoIterator<Item = Grams>) -> Result<Grams, Overflow> {
        Dec::total(masses.into_iter().map(|m| m.0)).map(Grams)
    }
}

impl Grams {
    /// Grams with at most one decimal and commas at the thousands, no unit: `1,349`, `11.1`.
    pub(crate) fn grouped(self) -> String {
        let tenth = self.0.round_to(1, super::Mode::HalfUp);
        tenth.grouped(tenth.decimals())
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
pub(crate) enum Basis {
    /// No pedals, cages, sealant.
    Showroom,
    /// Pedals, cages and mounts on, bottles off.
    Racing,
    /// As it is ridden, without the rider and water.
    Ride,
}

/// The bases by their words.
pub(crate) const BASES: [(&str, Basis); 3] = [
    ("showroom", Basis::Showroom),
    ("racing", Basis::Racing),
    ("ride", Basis::Ride),
];

impl Basis {
    /// Its word.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Basis::Showroom => "showroom",
            Basis::Racing => "racing",
            Basis::Ride => "ride",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn at_most_one_decimal_with_and_without_commas() {
        for (tenths, plain, grouped) in [
            (13_490, "1349", "1,349"),
            (111, "11.1", "11.1"),
            (-123_456, "-12345.6", "-12,345.6"),
            (0, "0", "0"),
        ] {
            let mass = Grams(Dec::new(tenths, 1));
            assert_eq!(
                (mass.to_string().as_str(), mass.grouped().as_str()),
                (plain, grouped)
            );
        }
        // Beyond a tenth it is rounded, not cut, and a zero behind the point is not shown.
        assert_eq!(Grams(Dec::new(19_996, 1)).grouped(), "1,999.6");
        assert_eq!(Grams(Dec::new(199_996, 2)).grouped(), "2,000");
    }
}
