//! Figures that are linear in what is there, and fractions that are rounded to a known side.

use crate::rules::swift::{common_divisor, fraction};
use crate::units::{Dec, Mode, Rounding};

/// Billionths: amounts of money, masses and counts, all at one scale.
pub(crate) type Nano = i128;

/// One, in [`Nano`].
pub(crate) const ONE: Nano = 1_000_000_000;

/// Why there is no bound.
pub(crate) type Unbounded = &'static str;

pub(super) const TOO_LARGE: Unbounded = "a figure is too large";

/// A fraction of whole numbers; the lower is above zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Fraction {
    over: i128,
    under: i128,
}

impl Fraction {
    pub(super) const WHOLE: Fraction = Fraction { over: 1, under: 1 };

    /// A figure over another that is above zero.
    pub(crate) fn of(over: Dec, under: Dec) -> Result<Fraction, Unbounded> {
        let both = fraction(over).zip(fraction(under));
        let ((a, a_under), (b, b_under)) = both.ok_or(TOO_LARGE)?;
        let whole = Fraction::reduced(a, a_under)?;
        whole.times(Fraction::reduced(b_under, b)?)
    }

    /// A figure of billionths.
    pub(super) fn of_nano(figure: Nano) -> Fraction {
        Fraction {
            over: figure,
            under: ONE,
        }
    }

    pub(super) fn reduced(over: i128, under: i128) -> Result<Fraction, Unbounded> {
        if under <= 0 {
            return Err("a divisor is not above zero");
        }
        let shared = common_divisor(over, under);
        Ok(Fraction {
            over: over / shared,
            under: under / shared,
        })
    }

    pub(super) fn is_negative(self) -> bool {
        self.over < 0
    }

    /// The product of two.
    pub(super) fn times(self, other: Fraction) -> Result<Fraction, Unbounded> {
        let (a, b) = (
            Fraction::reduced(self.over, other.under)?,
            Fraction::reduced(other.over, self.under)?,
        );
        Ok(Fraction {
            over: a.over.checked_mul(b.over).ok_or(TOO_LARGE)?,
            under: a.under.checked_mul(b.under).ok_or(TOO_LARGE)?,
        })
    }

    /// The difference of two.
    pub(super) fn minus(self, other: Fraction) -> Result<Fraction, Unbounded> {
        let shared = common_divisor(self.under, other.under);
        let (own, its) = (other.under / shared, self.under / shared);
        let crossed = self.over.checked_mul(own).zip(other.over.checked_mul(its));
        let over = crossed.and_then(|(a, b)| a.checked_sub(b));
        let under = self.under.checked_mul(own);
        let (over, under) = over.zip(under).ok_or(TOO_LARGE)?;
        Fraction::reduced(over, under)
    }

    /// The lesser of two; none where their figures are too long to tell.
    pub(super) fn lesser(self, other: Fraction) -> Option<Fraction> {
        let own = self.over.checked_mul(other.under)?;
        let its = other.over.checked_mul(self.under)?;
        Some(if its < own { other } else { self })
    }

    /// A figure times this, rounded down.
    pub(super) fn below(self, figure: Nano) -> Result<Nano, Unbounded> {
        match figure.checked_mul(self.over) {
            Some(product) => Ok(product.div_euclid(self.under)),
            None => self.roughly(figure),
        }
    }

    /// A figure times this, rounded up.
    pub(super) fn above(self, figure: Nano) -> Result<Nano, Unbounded> {
        Ok(-self.below(-figure)?)
    }

    /// The same where the product has too many digits: some of the fraction's are given up, so that the figure is rather lower.
    fn roughly(self, figure: Nano) -> Result<Nano, Unbounded> {
        let below_zero = (figure < 0) != (self.over < 0);
        let (figure, over) = (figure.unsigned_abs(), self.over.unsigned_abs());
        let under = self.under.unsigned_abs();
        // below zero the lower figure is the one further from zero
        let up = below_zero;
        let rest = figure % under;
        let digits = |number: u128| u128::BITS - number.leading_zeros();
        let cut = (digits(rest) + digits(over)).saturating_sub(127);
        let (a, b) = if up {
            ((over >> cut) + 1, under >> cut)
        } else {
            (over >> cut, (under >> cut) + 1)
        };
        let part = rest
            .checked_mul(a)
            .filter(|_| b > 0)
            .map(|product| if up { product.div_ceil(b) } else { product / b });
        let whole = (figure / under).checked_mul(over);
        let sum = whole.zip(part).and_then(|(a, b)| a.checked_add(b));
        let sum = sum.and_then(|sum| i128::try_from(sum).ok());
        let sum = sum.ok_or(TOO_LARGE)?;
        Ok(if below_zero { -sum } else { sum })
    }
}

/// A decimal as the billionths below it, and those above it.
pub(crate) fn around(number: Dec) -> Result<(Nano, Nano), Unbounded> {
    let decimals = number.decimals();
    let figure = number.in_units(decimals).ok_or(TOO_LARGE)?;
    if let Some(more) = 9_u32.checked_sub(decimals) {
        let figure = figure.checked_mul(10_i128.pow(more)).ok_or(TOO_LARGE)?;
        return Ok((figure, figure));
    }
    let under = 10_i128.checked_pow(decimals - 9).ok_or(TOO_LARGE)?;
    Ok((figure.div_euclid(under), -(-figure).div_euclid(under)))
}

/// A figure, and one more for each line that is there. No figures at all are zeros.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Lin {
    pub(crate) fixed: Nano,
    pub(crate) by_line: Vec<Nano>,
}

impl Lin {
    pub(crate) fn fixed(fixed: Nano) -> Lin {
        Lin {
            fixed,
            by_line: Vec::new(),
        }
    }

    /// Whether it is the same whatever is there.
    pub(super) fn is_fixed(&self) -> bool {
        self.by_line.iter().all(|own| *own == 0)
    }

    /// The part of a line.
    pub(crate) fn of(&self, line: usize) -> Nano {
        self.by_line.get(line).copied().unwrap_or(0)
    }

    fn each(&self, work: impl Fn(Nano) -> Result<Nano, Unbounded>) -> Result<Lin, Unbounded> {
        let by_line = self.by_line.iter().map(|own| work(*own));
        Ok(Lin {
            fixed: work(self.fixed)?,
            by_line: by_line.collect::<Result<_, _>>()?,
        })
    }

    pub(super) fn with(
        &self,
        other: &Lin,
        work: impl Fn(Nano, Nano) -> Option<Nano>,
    ) -> Result<Lin, Unbounded> {
        let lines = self.by_line.len().max(other.by_line.len());
        let by_line = (0..lines).map(|line| work(self.of(line), other.of(line)));
        Ok(Lin {
            fixed: work(self.fixed, other.fixed).ok_or(TOO_LARGE)?,
            by_line: by_line.collect::<Option<_>>().ok_or(TOO_LARGE)?,
        })
    }

    pub(super) fn plus(&self, other: &Lin) -> Result<Lin, Unbounded> {
        self.with(other, i128::checked_add)
    }

    pub(super) fn minus(&self, other: &Lin) -> Result<Lin, Unbounded> {
        self.with(other, i128::checked_sub)
    }

    pub(super) fn negated(&self) -> Result<Lin, Unbounded> {
        self.each(|own| own.checked_neg().ok_or(TOO_LARGE))
    }

    pub(super) fn scaled_below(&self, factor: Fraction) -> Result<Lin, Unbounded> {
        self.each(|own| factor.below(own))
    }

    fn scaled_above(&self, factor: Fraction) -> Result<Lin, Unbounded> {
        self.each(|own| factor.above(own))
    }
}

/// A figure of the parcel between two sums.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Between {
    pub(crate) least: Lin,
    pub(crate) most: Lin,
    /// Whether it is known not to be below zero, though its lower sum may be: a rounded figure that was not.
    pub(crate) positive: bool,
}

impl Between {
    /// One figure.
    pub(crate) fn of(number: Dec) -> Result<Between, Unbounded> {
        let (least, most) = around(number)?;
        Ok(Between::ends(least, most))
    }

    pub(crate) fn ends(least: Nano, most: Nano) -> Between {
        Between {
            least: Lin::fixed(least),
            most: Lin::fixed(most),
            positive: least >= 0,
        }
    }

    /// Its figure, where that is the same for every package.
    pub(super) fn known(&self) -> Option<Nano> {
        let known = self.least == self.most && self.least.is_fixed();
        known.then_some(self.least.fixed)
    }

    pub(crate) fn plus(&self, other: &Between) -> Result<Between, Unbounded> {
        Ok(Between {
            least: self.least.plus(&other.least)?,
            most: self.most.plus(&other.most)?,
            positive: self.positive && other.positive,
        })
    }

    pub(super) fn minus(&self, other: &Between) -> Result<Between, Unbounded> {
        Ok(Between {
            least: self.least.minus(&other.most)?,
            most: self.most.minus(&other.least)?,
            positive: false,
        })
    }

    pub(super) fn scaled(&self, factor: Fraction) -> Result<Between, Unbounded> {
        let (least, most) = if factor.is_negative() {
            (&self.most, &self.least)
        } else {
            (&self.least, &self.most)
        };
        Ok(Between {
            least: least.scaled_below(factor)?,
            most: most.scaled_above(factor)?,
            positive: self.positive && !factor.is_negative(),
        })
    }

    /// Wider by these amounts below and above.
    pub(super) fn wider(&self, (below, above): (Nano, Nano)) -> Result<Between, Unbounded> {
        Ok(Between {
            least: self.least.minus(&Lin::fixed(below))?,
            most: self.most.plus(&Lin::fixed(above))?,
            positive: self.positive,
        })
    }

    /// Whichever of two it is.
    pub(super) fn either(&self, other: &Between) -> Result<Between, Unbounded> {
        Ok(Between {
            least: self.least.with(&other.least, |a, b| Some(a.min(b)))?,
            most: self.most.with(&other.most, |a, b| Some(a.max(b)))?,
            positive: self.positive && other.positive,
        })
    }
}

/// How far a rounded figure may be below and above the figure itself.
pub(super) fn off_by(rounding: Rounding, least: Nano) -> Result<(Nano, Nano), Unbounded> {
    let (_, step) = around(rounding.step)?;
    Ok(match rounding.mode {
        Mode::HalfUp | Mode::HalfEven | Mode::HalfDown => (step / 2 + 1, step / 2 + 1),
        Mode::Floor => (step, 1),
        Mode::Ceiling => (1, step),
        Mode::Down if least >= 0 => (step, 1),
        Mode::Up if least >= 0 => (1, step),
        Mode::Down | Mode::Up => (step, step),
    })
}
