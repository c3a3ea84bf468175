//! Money: an amount and its currency, which never mix by accident.

use std::fmt;

use super::{Currency, Dec};

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
    pub(crate) fn new(amount: Dec, currency: Currency) -> Money {
        Money { amount, currency }
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
