//! The exact decimal that all money, masses and rates are made of.
//!
//! The only file that sees `rust_decimal`. Every operation is checked and returns [`Overflow`] instead of
//! panicking; nothing here rounds unless a rounding is named. Quotients carry 28 significant digits.

use std::fmt;

use rust_decimal::{Decimal, RoundingStrategy};

/// A sum grew beyond what an exact decimal holds, or was divided by zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Overflow;

impl fmt::Display for Overflow {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a figure is too large to be calculated exactly")
    }
}

impl std::error::Error for Overflow {}

/// An exact decimal number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Dec(Decimal);

impl Dec {
    /// Zero.
    pub const ZERO: Dec = Dec(Decimal::ZERO);
    /// One.
    pub(crate) const ONE: Dec = Dec(Decimal::ONE);
    /// A hundred, for percentages.
    pub(crate) const HUNDRED: Dec = Dec(Decimal::ONE_HUNDRED);
    /// A thousand, for kilograms.
    pub(crate) const THOUSAND: Dec = Dec(Decimal::ONE_THOUSAND);

    /// `units` divided by ten to the power of `scale`; a scale above 28 counts as 28.
    pub fn new(units: i64, scale: u32) -> Dec {
        Dec(Decimal::new(units, scale.min(28)))
    }

    /// Reads plain digits with an optional point, as the grammar in [`super::number`] has already checked.
    pub(super) fn from_plain(text: &str) -> Option<Dec> {
        Decimal::from_str_exact(text).ok().map(Dec)
    }

    /// `self + other`.
    pub fn plus(self, other: Dec) -> Result<Dec, Overflow> {
        self.0.checked_add(other.0).map(Dec).ok_or(Overflow)
    }

    /// `self - other`.
    pub fn minus(self, other: Dec) -> Result<Dec, Overflow> {
        self.0.checked_sub(other.0).map(Dec).ok_or(Overflow)
    }

    /// `self × other`.
    pub fn times(self, other: Dec) -> Result<Dec, Overflow> {
        self.0.checked_mul(other.0).map(Dec).ok_or(Overflow)
    }

    /// `self ÷ other`, to 28 significant digits.
    pub fn over(self, other: Dec) -> Result<Dec, Overflow> {
        self.0.checked_div(other.0).map(Dec).ok_or(Overflow)
    }

    /// The number with its sign turned.
    #[must_use]
    pub fn negated(self) -> Dec {
        if self.0.is_zero() {
            Dec::ZERO
        } else {
            Dec(-self.0)
        }
    }

    /// The number without its sign.
    #[must_use]
    pub fn abs(self) -> Dec {
        Dec(self.0.abs())
    }

    /// Whether it is zero.
    pub fn is_zero(self) -> bool {
        self.0.is_zero()
    }

    /// Whether it is below zero.
    pub fn is_negative(self) -> bool {
        self.0.is_sign_negative() && !self.0.is_zero()
    }

    /// Whether it is above zero.
    pub fn is_positive(self) -> bool {
        self.0.is_sign_positive() && !self.0.is_zero()
    }

    /// Rounds to this many decimals by the named mode.
    #[must_use]
    pub fn round_to(self, decimals: u32, mode: Mode) -> Dec {
        let strategy = match mode {
            Mode::HalfUp => RoundingStrategy::MidpointAwayFromZero,
            Mode::HalfEven => RoundingStrategy::MidpointNearestEven,
            Mode::HalfDown => RoundingStrategy::MidpointTowardZero,
            Mode::Down => RoundingStrategy::ToZero,
            Mode::Up => RoundingStrategy::AwayFromZero,
            Mode::Ceiling => RoundingStrategy::ToPositiveInfinity,
            Mode::Floor => RoundingStrategy::ToNegativeInfinity,
        };
        Dec(self.0.round_dp_with_strategy(decimals, strategy))
    }

    /// How many decimals it is written with once trailing zeros are gone.
    pub fn decimals(self) -> u32 {
        self.0.normalize().scale()
    }

    /// The whole number of steps of ten to the minus `decimals`, when it is a whole number of them.
    pub fn in_units(self, decimals: u32) -> Option<i128> {
        let scaled = self.0.normalize();
        let missing = decimals.checked_sub(scaled.scale())?;
        10_i128.checked_pow(missing)?.checked_mul(scaled.mantissa())
    }

    /// As [`Dec::in_units`], when that many fit a small number.
    pub(crate) fn small_units(self, decimals: u32) -> Option<i64> {
        self.in_units(decimals)
            .and_then(|units| i64::try_from(units).ok())
    }

    /// The number of `units` of ten to the minus `decimals`.
    pub fn from_units(units: i128, decimals: u32) -> Result<Dec, Overflow> {
        Decimal::try_from_i128_with_scale(units, decimals)
            .map(Dec)
            .map_err(|_| Overflow)
    }

    /// Writes it with exactly this many decimals, rounding half up: all numbers that go out pass here.
    pub fn fixed(self, decimals: u32) -> String {
        let mut rounded = self.round_to(decimals, Mode::HalfUp).0;
        if rounded.is_zero() {
            rounded.set_sign_positive(true);
        }
        rounded.rescale(decimals);
        rounded.to_string()
    }

    /// As [`Dec::fixed`], with a comma between groups of three digits.
    pub fn grouped(self, decimals: u32) -> String {
        let plain = self.fixed(decimals);
        let (sign, digits) = plain
            .strip_prefix('-')
            .map_or(("", plain.as_str()), |rest| ("-", rest));
        let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
        let mut out = String::from(sign);
        for (at, digit) in whole.chars().enumerate() {
            if at > 0 && (whole.len() - at) % 3 == 0 {
                out.push(',');
            }
            out.push(digit);
        }
        if !fraction.is_empty() {
            out.push('.');
            out.push_str(fraction);
        }
        out
    }

    /// Adds up, failing when the sum does not fit.
    pub fn total(numbers: impl IntoIterator<Item = Dec>) -> Result<Dec, Overflow> {
        numbers.into_iter().try_fold(Dec::ZERO, Dec::plus)
    }
}

impl From<i64> for Dec {
    fn from(whole: i64) -> Dec {
        Dec(Decimal::from(whole))
    }
}

impl From<u32> for Dec {
    fn from(whole: u32) -> Dec {
        Dec(Decimal::from(whole))
    }
}

impl fmt::Display for Dec {
    /// The shortest exact form: no trailing zeros, no exponent, no `-0`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let plain = self.0.normalize();
        if plain.is_zero() {
            f.write_str("0")
        } else {
            f.write_str(&plain.to_string())
        }
    }
}

/// The way a figure between two steps goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Mode {
    /// To the nearer step, ties away from zero.
    HalfUp,
    /// To the nearer step, ties to the even one.
    HalfEven,
    /// To the nearer step, ties towards zero.
    HalfDown,
    /// Towards zero.
    Down,
    /// Away from zero.
    Up,
    /// Upwards.
    Ceiling,
    /// Downwards.
    Floor,
}
