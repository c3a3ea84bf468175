//! One line of a price list as it is understood.

use super::{BadLine, Setting, figures};
use crate::book::Seller;
use crate::units::{Country, Currency, Date};

/// One line.
#[derive(Clone, Copy)]
pub(super) struct Offer<'a> {
    /// The day of ordering.
    pub(super) date: Date,
    /// Its seller, when the book knows it.
    pub(super) seller: Option<&'a Seller>,
    /// The seller's name.
    pub(super) name: &'a [u8],
    /// Where it leaves from, as written.
    pub(super) dispatch: &'a [u8],
    /// The currency, as written.
    pub(super) currency: &'a [u8],
    /// The price of one, as written.
    pub(super) price: &'a [u8],
    /// How many.
    pub(super) quantity: i64,
    /// The mass of one in tenths of grams; none when not told.
    pub(super) tenths: Option<i64>,
    /// Digits.
    pub(super) commodity: &'a [u8],
    /// The country of making, as written.
    pub(super) origin: &'a [u8],
    /// A discount in ten-thousandths of a percent.
    pub(super) discount: i64,
}

impl<'a> Offer<'a> {
    /// Reads one line.
    pub(super) fn read(line: &'a csv::ByteRecord, setting: &'a Setting<'_>) -> Result<Offer<'a>, BadLine> {
        let columns = setting.columns;
        if line.len() != columns.width {
            return Err(BadLine::new("", format!("the line has {} fields, the header {}", line.len(), columns.width)));
        }
        let field = |at: usize| line.get(at).unwrap_or_default();
        let optional = |at: Option<usize>| at.map_or(&[][..], field);
        let name = field(columns.seller);
        let date = std::str::from_utf8(field(columns.date)).ok().and_then(|text| Date::parse(text).ok());
        let whole =
            |text: &[u8]| if text.is_empty() { Some(1) } else { figures::read_units(text, 0).filter(|n| (1..=100_000).contains(n)) };
        let mass = optional(columns.mass_g);
        let discount = optional(columns.discount_percent);
        let seller = std::str::from_utf8(name).map_err(|_| BadLine::new("seller", "not text"))?;
        Ok(Offer {
            date: date.ok_or_else(|| bad("date", field(columns.date), "expected a date such as `2026-03-02`"))?,
            seller: setting.sellers.get(seller),
            name,
            dispatch: optional(columns.dispatch),
            currency: optional(columns.currency),
            price: field(columns.price),
            quantity: whole(optional(columns.quantity))
                .ok_or_else(|| bad("quantity", optional(columns.quantity), "expected a whole number from 1"))?,
            tenths: if mass.is_empty() {
                None
            } else {
                Some(figures::read_units(mass, 1).ok_or_else(|| bad("mass_g", mass, "expected grams with at most one decimal"))?)
            },
            commodity: digits(field(columns.commodity))
                .ok_or_else(|| bad("commodity", field(columns.commodity), "expected 4 to 10 digits"))?,
            origin: optional(columns.origin),
            discount: if discount.is_empty() {
                0
            } else {
                figures::read_units(discount, 4)
                    .filter(|n| *n <= 1_000_000)
                    .ok_or_else(|| bad("discount_percent", discount, "expected a percentage from 0 to 100"))?
            },
        })
    }

    /// Lines that travel together come from one seller on one day, in one currency, from one country.
    pub(super) fn agrees_with(&self, first: Option<&Offer<'_>>) -> Result<(), BadLine> {
        let Some(first) = first else { return Ok(()) };
        let alike = [
            ("seller", self.name == first.name),
            ("date", self.date == first.date),
            ("currency", self.currency == first.currency),
            ("dispatch", self.dispatch == first.dispatch),
        ];
        match alike.iter().find(|(_, alike)| !alike) {
            Some((column, _)) => Err(BadLine::new(column, "lines of one consignment differ here")),
            None => Ok(()),
        }
    }

    /// The currency: the line's, else the seller's.
    pub(super) fn currency(&self) -> Result<Currency, BadLine> {
        if self.currency.is_empty() {
            return self
                .seller
                .and_then(|s| s.currency)
                .ok_or_else(|| bad("currency", self.currency, "expected a currency code of ISO 4217"));
        }
        let found = std::str::from_utf8(self.currency).ok().and_then(Currency::parse);
        found.ok_or_else(|| bad("currency", self.currency, "expected a currency code of ISO 4217"))
    }

    /// The country of dispatch: the line's, else the seller's.
    pub(super) fn dispatch(&self) -> Result<Country, BadLine> {
        if self.dispatch.is_empty() {
            return self
                .seller
                .and_then(|s| s.dispatch)
                .ok_or_else(|| bad("dispatch", self.dispatch, "expected a country code of ISO 3166-1"));
        }
        let found = std::str::from_utf8(self.dispatch).ok().and_then(Country::parse);
        found.ok_or_else(|| bad("dispatch", self.dispatch, "expected a country code of ISO 3166-1"))
    }

    /// The country of making, when it is told.
    pub(super) fn origin(&self) -> Result<Option<Country>, BadLine> {
        if self.origin.is_empty() {
            return Ok(None);
        }
        let found = std::str::from_utf8(self.origin).ok().and_then(Country::parse);
        found.map(Some).ok_or_else(|| bad("origin", self.origin, "expected a country code of ISO 3166-1"))
    }
}

/// What was found and what was expected.
pub(super) fn bad(column: &'static str, found: &[u8], expected: &str) -> BadLine {
    let found = String::from_utf8_lossy(found);
    let found = if found.is_empty() { "empty".to_owned() } else { crate::text::words::quoted(&found) };
    BadLine::new(column, format!("`{column}` is {found}: {expected}"))
}

fn digits(text: &[u8]) -> Option<&[u8]> {
    ((4..=10).contains(&text.len()) && text.iter().all(u8::is_ascii_digit)).then_some(text)
}
