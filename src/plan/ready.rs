//! A parcel's offers before anything is chosen: what its packages cost at least, and how they are priced in whole numbers.

use super::book::Compiled;
use super::cases::Bounds;
use super::model::UNIT;
use super::refusal::FINER;
use crate::book::Part;
use crate::landed::{OfferedParcel, Packages, SellerBounds, seller_bounds};
use crate::units::Dec;

/// Decimals of the law's bounds.
const NANO: u32 = 9;

/// Decimals of [`UNIT`].
const UNITS: u32 = 6;

/// One parcel's offers.
pub(super) struct Ready<'a> {
    /// Their numbers, ascending.
    pub(super) offers: Vec<u32>,
    /// What packages cost at least; none where the law says nothing of it.
    pub(super) bounds: Option<Bounds>,
    /// None where bills must be asked.
    packages: Option<Packages<'a>>,
}

impl<'a> Ready<'a> {
    /// Looks at the offers of a parcel.
    pub(super) fn of(all: &Compiled<'a>, parcel: usize) -> Ready<'a> {
        let numbered = (0..).zip(&all.model.offers);
        let mine = numbered.filter(|(_, offer)| offer.seller == parcel);
        let (offers, slots): (Vec<u32>, Vec<usize>) = mine
            .map(|(at, offer)| (at, offer.places.trailing_zeros() as usize))
            .unzip();
        let rows: Vec<&'a Part> = offers
            .iter()
            .map(|at| all.pool.bids[*at as usize].row)
            .collect();
        let sure = &all.base[parcel];
        let offered = OfferedParcel::open(all.book, sure, &rows, all.jurisdiction).ok();
        let least = (offered.as_ref()).and_then(|offered| seller_bounds(offered, &slots).ok());
        Ready {
            bounds: least.and_then(|least| in_units(all, parcel, &rows, &least)),
            packages: offered.and_then(Packages::open),
            offers,
        }
    }

    /// What a package lands at with what comes anyway; none where its bill must be asked.
    pub(super) fn landed(&self, package: &[u32]) -> Option<Dec> {
        let local = |offer: &u32| self.offers.binary_search(offer).ok();
        let chosen = package.iter().map(local).collect::<Option<Vec<usize>>>()?;
        self.packages.as_ref()?.landed(&chosen)
    }
}

/// Bounds in the search's units; its goods are stretched so that they look like costs.
fn in_units(
    all: &Compiled<'_>,
    parcel: usize,
    rows: &[&Part],
    least: &SellerBounds,
) -> Option<Bounds> {
    let home = all.jurisdiction.currency();
    let currency = rows.first()?.currency.unwrap_or(home);
    let quote = all
        .jurisdiction
        .market_rate(currency, all.jurisdiction.ask.date)
        .ok()?;
    let one = quote.rate.convert(Dec::new(1, currency.digits())).ok()?;
    let base = all.base_cost[parcel].checked_mul(UNIT)?;
    let decimals = home.digits() + FINER + UNITS;
    let up = 10_i128.checked_pow(decimals.saturating_sub(NANO))?;
    let down = 10_i128.checked_pow(NANO.saturating_sub(decimals))?;
    Bounds::of(least, base, (up, down), all.units(one)?.max(1))
}
