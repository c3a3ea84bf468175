//! Money: an amount and its currency, which never mix by accident.

use std::fmt;

use super::{Currency, Dec, Mode, Overflow, Rate};

/// An amount in a currency.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Money {
    /// How much.
    pub amount: Dec,
    /// Of what.
    pub currency: Currency,
}

impl Money {
    /// So much of that currency.
    pub fn new(amount: Dec, currency: Currency) -> Money {
        Money { amount, currency }
    }

    /// Rounded half up to the currency's minor unit.
    #[must_use]
    pub fn to_minor(self) -> Money {
        Money {
            amount: self.amount.round_to(self.currency.digits(), Mode::HalfUp),
            ..self
        }
    }

    /// Converted exactly into another currency.
    pub fn into(self, currency: Currency, rate: Rate) -> Result<Money, Overflow> {
        Ok(Money {
            amount: rate.convert(self.amount)?,
            currency,
        })
    }
}

impl fmt::Display for Money {
    /// `1,912.40 GBP`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} {}",
            self.amount.grouped(self.currency.digits()),
            self.currency
        )
    }
}
