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
pub(in crate::rules) fn fraction(number: Dec) -> Option<(i128, i128)> {
    let decimals = number.decimals();
    Some((number.in_units(decimals)?, 10_i128.checked_pow(decimals)?))
}

/// The greatest divisor of a quotient that is known again by its digits; an exchange rate has less.
const DIVISOR: i128 = 1_000_000_000;

/// A decimal as a fraction of short numbers; where it has no end, the quotient that it is.
pub(super) fn short_fraction(number: Dec) -> Option<(i64, i64)> {
    let (over, under) = fraction(number)?;
    let (over, under) = reduced(over, under);
    match (over.short(), under.short()) {
        (Some(over), Some(under)) => Some((over, under)),
        _ => quotient(over, under),
    }
}

/// An amount turned from other money has a divisor far shorter than its 28 digits, so that only one quotient of so short a
/// divisor has these digits: the first of the continued fraction that is no further from them than the last digit counts.
fn quotient(over: i128, under: i128) -> Option<(i64, i64)> {
    let (mut a, mut b) = (over.checked_abs()?, under);
    let (mut before, mut now) = ((0_i128, 1_i128), (1_i128, 0_i128));
    while b != 0 {
        let whole = a / b;
        let next = |now: i128, before: i128| whole.checked_mul(now)?.checked_add(before);
        (before, now) = (now, (next(now.0, before.0)?, next(now.1, before.1)?));
        if now.1 > DIVISOR {
            return None;
        }
        let (one, other) = (
            over.checked_abs()?.checked_mul(now.1)?,
            now.0.checked_mul(under)?,
        );
        if one.abs_diff(other) <= now.1.unsigned_abs() {
            let sign = i64::try_from(over.signum()).ok()?;
            return Some((now.0.short()?.checked_mul(sign)?, now.1.short()?));
        }
        (a, b) = (b, a % b);
    }
    None
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
pub(in crate::rules) fn common_divisor(mut a: i128, mut b: i128) -> i128 {
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

    /// 150 at 0.86535 for 1.1743, at 1390.55 for 1.1743, 27 for 37: quotients without an end. A number of 28 digits that is no
    /// quotient of a short divisor is none.
    #[test]
    fn quotients_are_known_again_by_their_digits() {
        for (times, over) in [
            (Dec::new(12_980_250, 5), Dec::new(11_743, 4)),
            (Dec::new(20_858_250, 2), Dec::new(11_743, 4)),
            (Dec::from(-27_i64), Dec::from(37_i64)),
            (Dec::from(1_i64), Dec::from(999_999_937_i64)),
        ] {
            let number = times.over(over).unwrap();
            assert!(number.decimals() > 20, "{number}");
            let (p, q) = short_fraction(number).unwrap();
            let (p, q) = (Dec::from(p), Dec::from(q));
            assert_eq!(p.times(over).unwrap(), times.times(q).unwrap(), "{number}");
        }
        let any = Dec::from_units(1_234_567_890_123_456_789_012_345_678, 27).unwrap();
        assert_eq!(short_fraction(any), None);
        assert_eq!(short_fraction(Dec::new(-125, 3)), Some((-1, 8)));
    }

    #[test]
    fn the_least_number_is_divided_too() {
        assert_eq!(i64::MIN.over(1, Mode::Floor), i64::MIN);
    }
}
