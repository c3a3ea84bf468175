//! The kinds of sums that every parcel comes to, and where they stand on its sheet.

use super::formula::NumExpr;
use super::page::Page;
use super::refused::{Made, Refused};
pub(super) use crate::landed::Sum;

/// What is paid to the seller, discounts aside.
pub(super) const SELLER: [Sum; 5] = [
    Sum::Goods,
    Sum::Freight,
    Sum::Insurance,
    Sum::AtSale,
    Sum::CardFee,
];

/// The row of each sum on a parcel's sheet.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rows([u32; Sum::ALL.len()]);

impl Rows {
    /// Writes a row for each sum.
    pub(super) fn write(write: impl FnMut(Sum) -> Made<u32>) -> Made<Rows> {
        let rows = Sum::ALL
            .into_iter()
            .map(write)
            .collect::<Made<Vec<u32>>>()?;
        let all = rows.try_into().map(Rows);
        all.map_err(|_| Refused::defect("a sum has no row"))
    }

    pub(super) fn of(&self, sum: Sum) -> u32 {
        self.0[sum as usize]
    }

    /// All lines of a sum together.
    pub(super) fn total(&self, page: &Page<'_>, sum: Sum) -> NumExpr {
        page.total(self.of(sum))
    }

    /// From here on a sum stands in another row.
    pub(super) fn set(&mut self, sum: Sum, row: u32) {
        self.0[sum as usize] = row;
    }
}
