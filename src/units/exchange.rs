//! Exchange: converting by one rate or a cross of two, multiplying first and dividing once.
//!
//! The method follows Council Regulation (EC) 1103/97 article 4: rates are not rounded, inverse rates are not used.

use super::{Dec, Overflow};

/// How to turn one currency into another: multiply by one published figure, divide by the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rate {
    times: Dec,
    over: Dec,
}

impl Rate {
    /// One for one.
    pub const SAME: Rate = Rate {
        times: Dec::ONE,
        over: Dec::ONE,
    };

    /// Multiply by `times`, then divide by `over`; both are above zero.
    pub fn new(times: Dec, over: Dec) -> Option<Rate> {
        (times.is_positive() && over.is_positive()).then_some(Rate { times, over })
    }

    /// What it multiplies by, and what it then divides by.
    pub(crate) fn parts(self) -> (Dec, Dec) {
        (self.times, self.over)
    }

    /// Converts exactly, to 28 significant digits.
    pub fn convert(self, amount: Dec) -> Result<Dec, Overflow> {
        if self.over == Dec::ONE {
            amount.times(self.times)
        } else {
            amount.times(self.times)?.over(self.over)
        }
    }

    /// Converts the other way.
    pub fn back(self, amount: Dec) -> Result<Dec, Overflow> {
        Rate {
            times: self.over,
            over: self.times,
        }
        .convert(amount)
    }

    /// Follows this rate by another.
    pub(crate) fn then(self, next: Rate) -> Result<Rate, Overflow> {
        Ok(Rate {
            times: self.times.times(next.times)?,
            over: self.over.times(next.over)?,
        })
    }
}
