//! Decimals as whole numbers of a fraction, division that rounds as the law says, and limits that need not be whole.

use crate::tables::Op;
use crate::units::{Dec, Mode};

/// A decimal as a fraction of whole numbers.
pub(super) fn fraction(number: Dec) -> Option<(i128, i128)> {
    let decimals = number.decimals();
    Some((number.in_units(decimals)?, 10_i128.checked_pow(decimals)?))
}

/// A decimal in whole numbers of `unit`, when it is whole.
pub(super) fn whole(number: Dec, unit: i128) -> Option<i128> {
    let (over, under) = fraction(number)?;
    let scaled = over.checked_mul(unit)?;
    (scaled % under == 0).then_some(scaled / under)
}

/// A limit as a fraction of whole numbers of a unit.
#[derive(Debug, Clone, Copy)]
pub(super) struct Threshold {
    over: i128,
    under: i128,
}

impl Threshold {
    pub(super) fn new(number: Dec, unit: i128) -> Option<Threshold> {
        let (over, under) = fraction(number)?;
        let shared = common_divisor(unit, under);
        Some(Threshold { over: over.checked_mul(unit / shared)?, under: under / shared })
    }

    /// Whether a whole number stands so to `times` the limit.
    pub(super) fn holds(&self, value: i128, op: Op, times: i128) -> Option<bool> {
        Some(op.holds(&value.checked_mul(self.under)?, &self.over.checked_mul(times)?))
    }
}

/// The quotient rounded by a mode; the divisor is above nought.
pub(super) fn divide(number: i128, by: i128, mode: Mode) -> i128 {
    let (quotient, rest) = match (i64::try_from(number), i64::try_from(by)) {
        (Ok(number), Ok(by)) => (i128::from(number.div_euclid(by)), i128::from(number.rem_euclid(by))),
        _ => (number.div_euclid(by), number.rem_euclid(by)),
    };
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

/// The greatest common divisor of two numbers above nought.
pub(super) fn common_divisor(mut a: i128, mut b: i128) -> i128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a.abs().max(1)
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
        let modes = [Mode::HalfUp, Mode::HalfEven, Mode::HalfDown, Mode::Down, Mode::Up, Mode::Ceiling, Mode::Floor];
        for mode in modes {
            for tenths in -40..=40 {
                let expected = Dec::new(tenths, 1).round_to(0, mode).in_units(0).unwrap();
                assert_eq!(divide(i128::from(tenths), 10, mode), expected, "{tenths} tenths, {mode:?}");
            }
        }
    }

    #[test]
    fn a_limit_that_is_not_whole_lies_between_two_numbers() {
        let limit = Threshold::new(Dec::new(1005, 1), 1).unwrap();
        assert_eq!(limit.holds(100, Op::AtMost, 1), Some(true));
        assert_eq!(limit.holds(101, Op::Below, 1), Some(false));
        assert_eq!(limit.holds(201, Op::Equal, 2), Some(true));
    }
}
