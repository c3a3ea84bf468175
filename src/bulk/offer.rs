//! One line of a price list as it is understood.

use super::record::Record;
use super::{BadLine, Columns, figures};

/// One line; what is text here is as written.
#[derive(Clone, Copy)]
pub(super) struct Offer<'a> {
    /// The day of ordering.
    pub(super) date: &'a [u8],
    /// The seller's name.
    pub(super) name: &'a [u8],
    /// Where it leaves from.
    pub(super) dispatch: &'a [u8],
    /// The currency.
    pub(super) currency: &'a [u8],
    /// The price of one.
    pub(super) price: &'a [u8],
    /// How many.
    pub(super) quantity: i64,
    /// The mass of one in tenths of grams; none when not told.
    pub(super) tenths: Option<i64>,
    /// Digits.
    pub(super) commodity: &'a [u8],
    /// The country of making.
    pub(super) origin: &'a [u8],
    /// A discount in ten-thousandths of a percent.
    pub(super) discount: i64,
}

/// A discount of everything, in ten-thousandths of a percent.
const ALL: i64 = 1_000_000;

impl<'a> Offer<'a> {
    /// Reads one line.
    #[inline(always)]
    #[expect(
        clippy::inline_always,
        reason = "a line is taken apart where it is used, not handed over whole"
    )]
    pub(super) fn read(line: &Record<'a>, columns: &Columns) -> Result<Offer<'a>, BadLine> {
        if line.len() != columns.width {
            return Err(BadLine::new(
                "",
                format!(
                    "the line has {} fields, the header {}",
                    line.len(),
                    columns.width
                ),
            ));
        }
        let optional = |at: Option<usize>| at.map_or(&[][..], |at| line.get(at));
        let (quantity, mass, discount) = (
            optional(columns.quantity),
            optional(columns.mass_g),
            optional(columns.discount_percent),
        );
        let commodity = line.get(columns.commodity);
        if !((4..=10).contains(&commodity.len()) && commodity.iter().all(u8::is_ascii_digit)) {
            return Err(bad("commodity", commodity, "expected 4 to 10 digits"));
        }
        let name = line.get(columns.seller);
        if name.is_empty() {
            return Err(bad("seller", name, "expected the seller's name"));
        }
        Ok(Offer {
            date: line.get(columns.date),
            name,
            dispatch: optional(columns.dispatch),
            currency: optional(columns.currency),
            price: line.get(columns.price),
            quantity: whole(quantity).ok_or_else(|| {
                bad(
                    "quantity",
                    quantity,
                    "expected a whole number from 1 to 100000",
                )
            })?,
            tenths: match mass {
                [] => None,
                mass => Some(figures::read_units(mass, 1).ok_or_else(|| {
                    bad("mass_g", mass, "expected grams with at most one decimal")
                })?),
            },
            commodity,
            origin: optional(columns.origin),
            discount: match discount {
                [] => 0,
                text => figures::read_units(text, 4)
                    .filter(|n| *n <= ALL)
                    .ok_or_else(|| {
                        bad(
                            "discount_percent",
                            text,
                            "expected a percentage from 0 to 100",
                        )
                    })?,
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
            Some((column, _)) => Err(BadLine::new(
                column,
                format!("`{column}` differs from that of the first line of the consignment"),
            )),
            None => Ok(()),
        }
    }
}

fn whole(text: &[u8]) -> Option<i64> {
    match text {
        [] => Some(1),
        [digit @ b'1'..=b'9'] => Some(i64::from(digit - b'0')),
        text => figures::read_units(text, 0).filter(|n| (1..=100_000).contains(n)),
    }
}

/// What was found and what was expected.
#[cold]
pub(super) fn bad(column: &'static str, found: &[u8], expected: &str) -> BadLine {
    let found = String::from_utf8_lossy(found);
    let found = if found.is_empty() {
        "empty".to_owned()
    } else {
        crate::text::words::quoted(&found)
    };
    BadLine::new(column, format!("`{column}` is {found}: {expected}"))
}
