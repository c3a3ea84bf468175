//! Decimals as whole numbers of a fraction, whole numbers that say when they do not fit, division that rounds as the law
//! says, and limits that need not be whole.

use crate::units::{Dec, Mode};

/// Whole numbers to calculate in: 64 bits hold nearly every line, 128 the rest. Every method says when a result does not fit.
pub(in crate::rules) trait Whole: Copy + Ord + Default + From<i64> {
    /// The product.
    fn by(self, other: Self) -> Option<Self>;
    /// The sum.
    fn plus(self, other: Self) -> Option<Self>;
    /// The quotient rounded by a mode; the divisor is above zero.
    fn over(self, by: Self, mode: Mode) -> Self;
    /// The whole number below a quotient, and what is left; the divisor is above zero.
    fn floor(self, by: Self) -> (Self, Self);
    /// The same number in 64 bits.
    fn short(self) -> Option<i64>;
    /// The same number in 128 bits.
    fn long(self) -> i128;
    /// A number of 128 bits, where it fits.
    fn of_long(number: i128) -> Option<Self>;
}

impl Whole for i64 {
    #[inline]
    fn by(self, other: i64) -> Option<i64> {
        self.checked_mul(other)
    }

    #[inline]
    fn plus(self, other: i64) -> Option<i64> {
        self.checked_add(other)
    }

    #[inline]
    fn over(self, by: i64, mode: Mode) -> i64 {
        match (u64::try_from(self), u64::try_from(by)) {
            (Ok(number), Ok(by)) => {
                i64::try_from(divide_short(number, by, mode)).unwrap_or(i64::MAX)
            }
            _ => i64::try_from(divide_long(self.into(), by.into(), mode)).unwrap_or(i64::MIN),
        }
    }

    #[inline]
    fn floor(self, by: i64) -> (i64, i64) {
        (self.div_euclid(by), self.rem_euclid(by))
    }

    #[inline]
    fn short(self) -> Option<i64> {
        Some(self)
    }

    #[inline]
    fn long(self) -> i128 {
        self.into()
    }

    #[inline]
    fn of_long(number: i128) -> Option<i64> {
        i64::try_from(number).ok()
    }
}

impl Whole for i128 {
    fn by(self, other: i128) -> Option<i128> {
        self.checked_mul(other)
    }

    fn plus(self, other: i128) -> Option<i128> {
        self.checked_add(other)
    }

    fn over(self, by: i128, mode: Mode) -> i128 {
        divide_long(self, by, mode)
    }

    fn floor(self, by: i128) -> (i128, i128) {
        (self.div_euclid(by), self.rem_euclid(by))
    }

    fn short(self) -> Option<i64> {
        i64::try_from(self).ok()
    }

    fn long(self) -> i128 {
        self
    }

    fn of_long(number: i128) -> Option<i128> {
        Some(number)
    }
}

/// A decimal as a fraction of whole numbers.
pub(super) fn fraction(number: Dec) -> Option<(i128, i128)> {
    let decimals = number.decimals();
    Some((number.in_units(decimals)?, 10_i128.checked_pow(decimals)?))
}

#[inline]
fn divide_short(number: u64, by: u64, mode: Mode) -> u64 {
    let (quotient, rest) = (number / by, number % by);
    let other = by - rest;
    let up = match mode {
        Mode::HalfUp => rest >= other,
        Mode::Floor | Mode::Down => false,
        Mode::Ceiling | Mode::Up => rest > 0,
        Mode::HalfDown => rest > other,
        Mode::HalfEven => rest > other || (rest == other && quotient % 2 == 1),
    };
    quotient + u64::from(up)
}

/// The same below zero, and for long numbers.
fn divide_long(number: i128, by: i128, mode: Mode) -> i128 {
    let (quotient, rest) = (number.div_euclid(by), number.rem_euclid(by));
    if rest == 0 {
        return quotient;
    }
    let below_half = rest < by - rest;
    let tie = rest == by - rest;
    let negative = number < 0;
    let up = match mode {
        Mode::Ceiling => true,
        Mode::Floor => false,
        Mode::Down => negative,
        Mode::Up => !negative,
        Mode::HalfUp => !below_half && (!tie || !negative),
        Mode::HalfDown => !below_half && (!tie || negative),
        Mode::HalfEven => !below_half && (!tie || quotient % 2 != 0),
    };
    quotient + i128::from(up)
}

/// The greatest common divisor of two numbers, of which one is above zero.
pub(super) fn common_divisor(mut a: i128, mut b: i128) -> i128 {
    while b != 0 {
        if let (Ok(a), Ok(b)) = (u64::try_from(a), u64::try_from(b)) {
            return common_divisor_short(a, b).into();
        }
        (a, b) = (b, a % b);
    }
    a.abs().max(1)
}

fn common_divisor_short(mut a: u64, mut b: u64) -> u64 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a.max(1)
}

/// Two numbers without their common divisor.
pub(super) fn reduced(one: i128, other: i128) -> (i128, i128) {
    let shared = common_divisor(one, other);
    (one / shared, other / shared)
}

/// The least number both divide.
pub(super) fn common_multiple(a: i128, b: i128) -> Option<i128> {
    (a / common_divisor(a, b)).checked_mul(b)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounds_as_the_decimals_do() {
        let modes = [
            Mode::HalfUp,
            Mode::HalfEven,
            Mode::HalfDown,
            Mode::Down,
            Mode::Up,
            Mode::Ceiling,
            Mode::Floor,
        ];
        for mode in modes {
            for tenths in -40_i64..=40 {
                let expected = Dec::new(tenths, 1).round_to(0, mode).in_units(0).unwrap();
                assert_eq!(
                    i128::from(tenths).over(10, mode),
                    expected,
                    "{tenths} tenths, {mode:?}, long"
                );
                assert_eq!(
                    i128::from(tenths.over(10, mode)),
                    expected,
                    "{tenths} tenths, {mode:?}, short"
                );
            }
        }
    }

    #[test]
    fn the_least_number_is_divided_too() {
        assert_eq!(i64::MIN.over(1, Mode::Floor), i64::MIN);
    }
}
