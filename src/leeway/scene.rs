//! The engine run under suppositions, for the whole book or for the parcels that a supposition touches.

use super::driver::Driver;
use crate::book::{About, Book, Part, Remedies};
use crate::landed::{Bill, Jurisdiction, WhatIf, landed_rows};
use crate::text::Problems;
use crate::units::{Dec, Overflow};

/// A book and the jurisdiction that it is run for.
#[derive(Clone, Copy)]
pub(super) struct Scene<'a> {
    pub(crate) book: &'a Book,
    pub(crate) jurisdiction: &'a Jurisdiction<'a>,
    /// Whether what is in dispute is decided the other way: disputed rows are left out, or anti-dumping counts that is only
    /// shown.
    pub(crate) otherwise: bool,
    /// Parcels for which receipts tell what was charged at the door: nothing is in dispute there any more.
    pub(crate) told: &'a [String],
}

/// The parcels for which receipts tell what was charged at the door.
pub(super) fn told_at_door(bills: &[Bill]) -> Result<Vec<String>, Overflow> {
    let mut told = Vec::new();
    for bill in bills {
        if !bill.known.at_door()?.is_zero() {
            told.push(bill.id.clone());
        }
    }
    Ok(told)
}

impl<'a> Scene<'a> {
    pub(super) fn rows(&self) -> Vec<&'a Part> {
        self.book.paid_for().collect()
    }

    /// The landed sum of rows under some figures; sums on top of the engine's are added.
    pub(super) fn sum(&self, rows: &[&Part], figures: &[(&Driver, Dec)]) -> Result<Dec, Problems> {
        let mut what_if = WhatIf::default();
        let mut on_top = Dec::ZERO;
        for (driver, x) in figures {
            on_top = driver
                .suppose(*x, &mut what_if)
                .and_then(|more| on_top.plus(more))?;
        }
        let sum = if self.otherwise {
            self.decided(rows, what_if)?
        } else {
            landed_rows(self.book, rows, &self.jurisdiction.supposing(what_if))?
        };
        sum.plus(on_top).map_err(Problems::from)
    }

    /// The landed sum of rows with what is in dispute decided the other way, but in parcels whose door is told.
    fn decided(&self, rows: &[&Part], what_if: WhatIf) -> Result<Dec, Problems> {
        let only_shown = self.jurisdiction.ask.remedies == Remedies::Show;
        let (told, open): (Vec<&Part>, Vec<&Part>) = rows
            .iter()
            .copied()
            .partition(|row| self.told.contains(&row.consignment().unwrap_or_default()));
        let otherwise = WhatIf {
            undisputed: !only_shown,
            remedies: only_shown,
            ..what_if.clone()
        };
        let mut sum = landed_rows(self.book, &open, &self.jurisdiction.supposing(otherwise))?;
        if !told.is_empty() {
            sum =
                landed_rows(self.book, &told, &self.jurisdiction.supposing(what_if))?.plus(sum)?;
        }
        Ok(sum)
    }

    /// The rows of the parcels that an unknown touches.
    pub(super) fn touched(&self, driver: &Driver) -> Vec<&'a Part> {
        let rows = self.rows();
        let parcel = |row: &Part| (row.seller.clone(), row.parcel.clone());
        let named = driver.shown();
        let of = |row: &&&Part| {
            let (seller, id) = (
                row.seller.as_deref().unwrap_or_default(),
                row.consignment().unwrap_or_default(),
            );
            match driver.about {
                About::Exchange => true,
                About::Freight => named == id || named == seller,
                About::Price => row.name == named || seller == named,
                About::Mass => row.name == named,
                About::Handling
                | About::Event
                | About::Charges
                | About::Remedy
                | About::Disputed => false,
            }
        };
        let mut parcels: Vec<(Option<String>, String)> =
            rows.iter().filter(of).map(|row| parcel(row)).collect();
        if driver.about == About::Mass {
            let holder = self
                .book
                .main_row(named)
                .and_then(|part| part.comes_with.clone());
            parcels.extend(
                rows.iter()
                    .filter(|row| Some(&row.name) == holder.as_ref())
                    .map(|row| parcel(row)),
            );
        }
        rows.into_iter()
            .filter(|row| parcels.contains(&parcel(row)))
            .collect()
    }
}
