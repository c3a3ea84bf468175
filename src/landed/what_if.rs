//! What is taken to be otherwise: exchange, freight, prices and masses moved away from what the book and the tables say.

use std::collections::BTreeMap;

use crate::book::Part;
use crate::tables::Quote;
use crate::units::{Currency, Date, Dec, Grams, Overflow, Rate, Rounding, SellerMoney};

/// How a figure is changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Change {
    /// The figure multiplied by this.
    Times(Dec),
    /// Another figure in its place.
    To(Dec),
}

impl Change {
    /// The figure after it.
    pub(crate) fn of(self, figure: Dec) -> Result<Dec, Overflow> {
        match self {
            Change::Times(factor) => figure.times(factor),
            Change::To(other) => Ok(other),
        }
    }
}

/// What is taken to be otherwise. Rates of days before a first day are facts and stay.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct WhatIf {
    /// Market and customs rates into the destination's money, times so much.
    pub(crate) exchange: BTreeMap<Currency, Dec>,
    /// The first day whose rates are moved; the day of ordering where none is told.
    pub(crate) from: Option<Date>,
    /// Freight by consignment or by seller.
    pub(crate) freight: BTreeMap<String, Change>,
    /// Prices by part and seller, or by seller with an empty part.
    pub(crate) price: BTreeMap<(String, String), Change>,
    /// Masses by part.
    pub(crate) mass: BTreeMap<String, Change>,
    /// Rows that are disputed do not count.
    pub(crate) undisputed: bool,
    /// Anti-dumping counts, though it is only to be shown.
    pub(crate) remedies: bool,
}

impl WhatIf {
    /// The moves of those currencies that the rules themselves convert.
    pub(super) fn moves_of<C: IntoIterator<Item = Currency>>(
        &self,
        used: impl FnOnce() -> C,
    ) -> Vec<(Currency, Dec)> {
        if self.exchange.is_empty() {
            return Vec::new();
        }
        let mut found: Vec<(Currency, Dec)> = used()
            .into_iter()
            .filter_map(|c| Some((c, *self.exchange.get(&c)?)))
            .collect();
        found.sort_unstable();
        found
    }

    pub(super) fn moved(&self, quote: Quote, from: Currency) -> Result<Quote, Overflow> {
        match self
            .exchange
            .get(&from)
            .and_then(|factor| Rate::new(*factor, Dec::ONE))
        {
            Some(factor) => Ok(Quote {
                rate: quote.rate.then(factor)?,
                ..quote
            }),
            None => Ok(quote),
        }
    }

    /// The price of one of a row, in minor units of its money.
    pub(super) fn price_of(&self, row: &Part, digits: u32) -> Result<SellerMoney, Overflow> {
        // Only rows with a price are calculated; a row without one adds nothing to a price.
        let price = row.price.unwrap_or(Dec::ZERO);
        let seller = row.seller.clone().unwrap_or_default();
        let own = self.price.get(&(row.name.clone(), seller.clone()));
        match own.or_else(|| self.price.get(&(String::new(), seller))) {
            Some(change) => SellerMoney::of(change.of(price)?).rounded(Rounding::minor(digits)),
            None => Ok(SellerMoney::of(price)),
        }
    }

    /// The mass of a whole row.
    pub(crate) fn mass_of(&self, row: &Part) -> Result<Option<Grams>, Overflow> {
        match (self.mass.get(&row.name), row.mass) {
            (Some(change), Some(mass)) => Grams(change.of(mass.0)?).times(row.quantity).map(Some),
            _ => Ok(row.total_mass()),
        }
    }
}
