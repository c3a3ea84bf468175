//! A ratio of two exact figures, compared by cross-multiplication.

use std::cmp::Ordering;

use crate::units::{Dec, Overflow};

/// One figure over another that is above zero, both brought to whole numbers of one small step.
#[derive(Debug, Clone, Copy)]
pub struct Ratio {
    over: i64,
    under: i64,
}

impl Ratio {
    /// `over ÷ under`; none unless `under` is above zero.
    pub(crate) fn of(over: Dec, under: Dec) -> Result<Option<Ratio>, Overflow> {
        if !under.is_positive() {
            return Ok(None);
        }
        let decimals = over.decimals().max(under.decimals());
        let whole = |figure: Dec| figure.small_units(decimals).ok_or(Overflow);
        let (over, under) = (whole(over)?, whole(under)?);
        Ok(Some(Ratio { over, under }))
    }

    /// Its value, to 28 significant digits.
    #[cfg(test)]
    pub(crate) fn value(self) -> Result<Dec, Overflow> {
        Dec::from(self.over).over(Dec::from(self.under))
    }

    /// Its value times a factor: multiplied first, divided once.
    pub fn times(self, factor: Dec) -> Result<Dec, Overflow> {
        Dec::from(self.over)
            .times(factor)?
            .over(Dec::from(self.under))
    }
}

impl Ord for Ratio {
    /// By cross-multiplication: two figures of 63 bits each never overflow it.
    fn cmp(&self, other: &Ratio) -> Ordering {
        let left = i128::from(self.over) * i128::from(other.under);
        let right = i128::from(other.over) * i128::from(self.under);
        left.cmp(&right)
    }
}

impl PartialOrd for Ratio {
    fn partial_cmp(&self, other: &Ratio) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Ratio {
    fn eq(&self, other: &Ratio) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Ratio {}
