//! Percentages: `20` is twenty out of a hundred, everywhere.

use std::fmt;

use super::number::{self, Style};
use super::{Dec, Overflow};

/// A number of hundredths.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(crate) struct Percent(pub(crate) Dec);

impl Percent {
    /// Nothing out of a hundred.
    pub(crate) const ZERO: Percent = Percent(Dec::ZERO);

    /// Reads `2.5`, `2.5 %` or `2.5%`, from zero to `most`: the form of rule tables and flags.
    pub(crate) fn parse(text: &str, most: u32) -> Result<Percent, String> {
        Percent::typed(text, most, Style::Point)
    }

    /// The same, as typed in a table.
    pub(crate) fn typed(text: &str, most: u32, style: Style) -> Result<Percent, String> {
        let digits = text.strip_suffix('%').unwrap_or(text).trim_end();
        let value = number::typed(digits, style)
            .map_err(|_| format!("expected a percentage such as `2.5`, from 0 to {most}"))?;
        if value.is_negative() || value > Dec::from(most) {
            return Err(format!("expected a percentage from 0 to {most}"));
        }
        Ok(Percent(value))
    }

    /// What a figure below 1 without its sign is if it was typed as a share of one: `0.0275` may be meant as 2.75 %.
    pub(crate) fn of_share(text: &str, style: Style) -> Option<Percent> {
        let value = number::typed(text, style)
            .ok()
            .filter(|value| value.is_positive() && *value < Dec::ONE)?;
        value.times(Dec::HUNDRED).ok().map(Percent)
    }

    /// This percentage of a figure, unrounded.
    pub(crate) fn of(self, figure: Dec) -> Result<Dec, Overflow> {
        figure.times(self.0)?.over(Dec::HUNDRED)
    }

    /// What a figure was before this percentage was put on it, rounded as told.
    #[cfg(test)]
    pub(crate) fn taken_out_of(
        self,
        figure: Dec,
        rounding: super::Rounding,
    ) -> Result<Dec, Overflow> {
        let whole = Dec::HUNDRED.plus(self.0)?;
        rounding.apply(figure.times(Dec::HUNDRED)?.over(whole)?)
    }
}

impl fmt::Display for Percent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} %", self.0)
    }
}
