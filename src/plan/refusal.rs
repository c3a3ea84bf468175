//! What `plan` refuses before it searches: sums too large for its whole numbers, with the cell of their dearest row, and choices over
//! more places or parcels than it has numbers for; and packages that cannot be had.

use super::model::{LARGEST, PARCELS, PLACES};
use super::pool::{Pool, parcel_of};
use crate::book::Part;
use crate::landed::Jurisdiction;
use crate::text::{Diagnostic, Problems, words};
use crate::units::Dec;

/// Decimals beyond the minor unit that sums are held with, so that amounts no row rounds stay apart.
pub(super) const FINER: u32 = 2;

/// A refusal in words.
pub(super) fn refused(why: &str) -> Problems {
    Problems::from(Diagnostic::error(why))
}

/// The refusal of a sum of rows, of which the dearest is marked.
pub(super) fn too_large(rows: &[&Part], jurisdiction: &Jurisdiction<'_>) -> Problems {
    let most = format!(
        "{} {}",
        Dec::new(LARGEST, jurisdiction.currency().digits() + FINER).grouped(0),
        jurisdiction.currency()
    );
    let why =
        format!("expected rows that come to no more than {most} together: `plan` takes no more");
    let worth = |row: &Part| {
        let rate = jurisdiction
            .market_rate(
                row.currency.unwrap_or(jurisdiction.currency()),
                jurisdiction.ask.date,
            )
            .ok()?
            .rate;
        let price = row
            .price
            .and_then(|price| price.times(Dec::from(row.quantity)).ok())
            .and_then(|price| rate.convert(price).ok());
        price.or(row.paid)
    };
    Problems::from(match rows.iter().max_by_key(|row| worth(row)) {
        Some(row) => {
            let cell = row
                .at
                .cell(if row.price.is_some() { "price" } else { "paid" });
            cell.error(why).note("the dearest row of the sum is marked")
        }
        None => Diagnostic::error(why),
    })
}

/// The refusal of a choice over more places or parcels than the search has numbers for, at the first row that is one too many.
pub(super) fn too_many(pool: &Pool<'_>, parcels: &[String]) -> Result<(), Problems> {
    let bids = || pool.bids.iter();
    let (row, column, found, most) = if pool.seats.len() > PLACES {
        let beyond = bids().find(|bid| bid.seats.iter().any(|seat| *seat >= PLACES));
        (
            beyond.map(|bid| bid.row),
            "place",
            words::count(pool.seats.len(), "place", "places"),
            PLACES,
        )
    } else if parcels.len() > PARCELS {
        let beyond = bids().find(|bid| {
            parcels
                .iter()
                .skip(PARCELS - 1)
                .any(|parcel| *parcel == parcel_of(bid.row))
        });
        (
            beyond.map(|bid| bid.row),
            "seller",
            words::count(parcels.len() - 1, "parcel", "parcels"),
            PARCELS - 1,
        )
    } else {
        return Ok(());
    };
    let why = format!(
        "the offers are a choice over {found}: expected no more than {most}, as `plan` takes no more"
    );
    let help = if column == "place" {
        "`plan --keep PART` takes the places of a part out of the choice; so does taking out its other offers"
    } else {
        "`plan --without SELLER` takes a seller out of the choice; so does taking out its offers"
    };
    let problem = row.map_or_else(
        || Diagnostic::error(&why),
        |row| row.at.cell(column).error(&why),
    );
    Err(Problems::from(
        problem
            .note("every other command calculates with the book")
            .help(help),
    ))
}
