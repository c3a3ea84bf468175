//! The kinds of sums that every parcel comes to, and where they stand on its sheet.

use super::formula::NumExpr;
use super::page::Page;
use super::refused::{Made, Refused};
use crate::landed::ChargeBreakdown;
use crate::units::Dec;

/// A kind of sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sum {
    Goods,
    Discount,
    Freight,
    Insurance,
    Duty,
    Remedy,
    AtSale,
    AtBorder,
    Handling,
    CardFee,
}

impl Sum {
    /// All of them, in the order in which they are shown.
    pub(super) const ALL: [Sum; 10] = {
        use Sum::{AtBorder, AtSale, CardFee, Discount, Duty, Freight, Goods, Handling};
        use Sum::{Insurance, Remedy};
        [
            Goods, Discount, Freight, Insurance, Duty, Remedy, AtSale, AtBorder, Handling, CardFee,
        ]
    };

    /// What is charged at the door.
    pub(super) const DOOR: [Sum; 4] = [Sum::Duty, Sum::Remedy, Sum::AtBorder, Sum::Handling];

    /// What is paid to the seller, discounts aside.
    pub(super) const SELLER: [Sum; 5] = [
        Sum::Goods,
        Sum::Freight,
        Sum::Insurance,
        Sum::AtSale,
        Sum::CardFee,
    ];

    pub(super) fn name(self) -> &'static str {
        match self {
            Sum::Goods => "goods",
            Sum::Discount => "discount",
            Sum::Freight => "freight",
            Sum::Insurance => "insurance",
            Sum::Duty => "duty",
            Sum::Remedy => "anti-dumping",
            Sum::AtSale => "tax at the sale",
            Sum::AtBorder => "tax at the border",
            Sum::Handling => "carrier's fee",
            Sum::CardFee => "card fee",
        }
    }

    /// The sum of a name.
    pub(super) fn named(name: &str) -> Made<Sum> {
        let mut all = Sum::ALL.into_iter();
        let own = all.find(|sum| sum.name() == name);
        own.ok_or_else(|| Refused::defect(format!("`{name}` is no sum of a parcel")))
    }

    /// What a bill has of it.
    pub(super) fn of(self, amounts: &ChargeBreakdown) -> Dec {
        match self {
            Sum::Goods => amounts.goods,
            Sum::Discount => amounts.discount,
            Sum::Freight => amounts.freight,
            Sum::Insurance => amounts.insurance,
            Sum::Duty => amounts.duty,
            Sum::Remedy => amounts.remedy,
            Sum::AtSale => amounts.tax_at_sale,
            Sum::AtBorder => amounts.tax_at_border,
            Sum::Handling => amounts.handling,
            Sum::CardFee => amounts.card_fee,
        }
    }
}

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
