//! What a parcel of a seller's offers costs at least, whatever is bought: cases over goods and weight, in each of which the cost
//! has a bound that is linear in the offers.
//!
//! A caller asks [`seller_bounds`] once for each seller: with the rows that come anyway, the offers, and for each offer the slot
//! (place) of which a parcel holds one at most. It gets [`SellerBounds`]: what each offer adds to goods and to weight, and cases. A
//! package lies in every case between whose limits its goods and its weight are, and the least of their sums is at most what the
//! engine says that the package costs, the rows that come anyway included. A package that lies in no case cannot be sent: it is
//! heavier than its freight schedule reaches. The package of no offer at all is not looked at.
//!
//! The bound may be below the cost, and only below. It is exact but for rounding where the law's and the seller's comparisons are
//! settled by goods and weight; it lags where a share of freight or of a discount falls on lines that bear different rates, and where
//! it hangs on which parts are bought whether a rule holds. [`SellerBounds::loose`] says where it leaves out all that is due.
//!
//! It is made once and asked often: a seller of thirty offers takes a few milliseconds, one of sixty some ten, and up to a second
//! where freight goes by the kilogram and several discounts of one group meet. A question is a walk over the cases, ten to some
//! hundreds of them.
//!
//! The seller's side, the law and the payment are forms, and are read in bounds ([`crate::rules::bounds`]). Here is only which cases
//! there are: `offers` knows the lines before anything is chosen, `weights` cuts weight at the steps of freight, and `cases` cuts goods
//! wherever the reading asks for it.
//!
//! Where digits stop above rows that differ, the engine takes the dearest line by line. In a case in which every comparison of the
//! law is settled alike by the line's own digits and by others, what is due is a sum of parts that belong to lines, so the dearest of
//! a line's digits bears at least what any one of them bears, and those found dearest for all lines together may stand. Where a
//! comparison is not settled alike, both are cases.

mod cases;
mod offers;
mod weights;

use super::offered::OfferedParcel;
use crate::rules::bounds::Unbounded;
use crate::text::Diagnostic;
use crate::units::Overflow;
use offers::Offers;

/// Packages within goods and weight, and a bound on what they cost.
#[derive(Debug, Clone)]
pub(crate) struct LeastCase {
    /// The least and the most goods of the offers, in minor units of the seller's money.
    pub(crate) goods: (i64, i64),
    /// The most packed mass of the offers, in tenths of grams; none for any.
    pub(crate) weight_most: Option<i64>,
    /// What a package costs beside its offers, in billionths of the destination's money.
    pub(crate) fixed: i128,
    /// What each offer adds.
    pub(crate) by_offer: Vec<i128>,
}

/// What parcels of a seller cost at least.
#[derive(Debug, Clone)]
pub(crate) struct SellerBounds {
    /// What each offer adds to the goods: price times quantity, in minor units of the seller's money.
    pub(crate) goods: Vec<i64>,
    /// What each offer adds to the weight: packed mass in tenths of grams, cut.
    pub(crate) weight: Vec<i64>,
    /// The cases: each package lies in one whose sum is not above what it costs.
    pub(crate) cases: Vec<LeastCase>,
    /// Why some cases leave out all that is due at the door, each reason once; mostly none.
    #[cfg_attr(
        not(test),
        expect(dead_code, reason = "a test names what makes bounds loose")
    )]
    pub(crate) loose: Vec<&'static str>,
}

impl SellerBounds {
    /// The least of the cases in which a package lies, rounded down to a billionth; none where it lies in none.
    #[cfg(test)]
    pub(crate) fn least(&self, chosen: &[usize]) -> Option<crate::units::Dec> {
        let sum = |figures: &[i64]| {
            chosen
                .iter()
                .map(|at| figures.get(*at))
                .sum::<Option<i64>>()
        };
        let (goods, weight) = (sum(&self.goods)?, sum(&self.weight)?);
        let within = |case: &&LeastCase| {
            (case.goods.0..=case.goods.1).contains(&goods)
                && case.weight_most.is_none_or(|most| weight <= most)
        };
        let cost = |case: &LeastCase| {
            let own = chosen.iter().map(|at| case.by_offer.get(*at).copied());
            Some(case.fixed + own.sum::<Option<i128>>()?)
        };
        let least = self.cases.iter().filter(within).filter_map(cost).min()?;
        crate::units::Dec::from_units(least, 9).ok()
    }
}

/// Why a seller's parcels have no bound.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct NoBounds(pub(crate) String);

impl From<Unbounded> for NoBounds {
    fn from(why: Unbounded) -> NoBounds {
        NoBounds(why.to_owned())
    }
}

impl From<Overflow> for NoBounds {
    fn from(_: Overflow) -> NoBounds {
        NoBounds("a figure is too large".to_owned())
    }
}

impl From<Diagnostic> for NoBounds {
    fn from(problem: Diagnostic) -> NoBounds {
        NoBounds(problem.message)
    }
}

/// Bounds on what parcels cost that hold some of a seller's offers, beside rows that come anyway. Of the offers of one slot a
/// parcel holds one at most.
pub(crate) fn seller_bounds(
    parcel: &OfferedParcel<'_>,
    slots: &[usize],
) -> Result<SellerBounds, NoBounds> {
    cases::of(&Offers::open(parcel, slots)?)
}
