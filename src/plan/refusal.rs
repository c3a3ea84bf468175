//! What `plan` refuses before it searches: sums too large for its whole numbers, with the cell of their dearest row, and choices over
//! more places or parcels than it has numbers for; and packages that cannot be had.

use std::borrow::Cow;
use std::collections::BTreeSet;

use super::book::{Compiled, parcel_of};
use super::mass::Masses;
use super::model::{LARGEST, Offer, PARCELS, PLACES, PackageCost};
use super::pool::{Pool, Wishes};
use super::watch::Patient;
use crate::book::{Book, Part};
use crate::landed::{Cautions, Desk, landed_rows, refuse_large};
use crate::text::{Diagnostic, Problems, words};
use crate::units::Dec;

/// Decimals beyond the minor unit that sums are held with, so that amounts no row rounds stay apart.
pub(super) const FINER: u32 = 2;

/// A refusal in words.
pub(super) fn refused(why: &str) -> Problems {
    Problems::from(Diagnostic::error(why))
}

/// The refusal of a sum of rows, of which the dearest is marked.
pub(super) fn too_large(rows: &[&Part], desk: &Desk<'_>) -> Problems {
    let most = format!(
        "{} {}",
        Dec::new(LARGEST, desk.currency().digits() + FINER).grouped(0),
        desk.currency()
    );
    let why =
        format!("expected rows that come to no more than {most} together: `plan` takes no more");
    let worth = |row: &Part| {
        let rate = desk
            .market_rate(row.currency.unwrap_or(desk.currency()), desk.ask.date)
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

impl<'a> Compiled<'a> {
    /// A package that the engine refuses: where it refuses one of its offers on its own too, that refuses the book; else the offers
    /// cannot be had together, as where no step of a schedule carries them, and other packages stand.
    pub(super) fn unpriced(
        &self,
        seller: usize,
        offers: &[u32],
        problems: Problems,
    ) -> Option<i64> {
        let single = |offer: &u32| offers.len() > 1 && self.exact(seller, &[*offer]).is_some();
        if !offers.iter().all(single) {
            self.refused.borrow_mut().get_or_insert(problems);
        } else if let Some(why) = problems.iter().next() {
            self.not_together
                .borrow_mut()
                .entry(seller)
                .or_insert_with(|| why.message.clone());
        }
        None
    }

    /// Says of which parcels not all packages can be had, with the first reason.
    pub(super) fn say_not_together(&self, cautions: &mut Cautions) {
        for (parcel, why) in self.not_together.borrow().iter() {
            let text = format!(
                "some of its offers cannot be had together, and plans with them are left out: {why}"
            );
            cautions.say("not-together", text, &[&self.parcels[*parcel]]);
        }
    }

    /// The dearest offer of each seat of a parcel, with what comes anyway: no package of it costs more but for codes and for freight
    /// that a larger sum makes free.
    fn dearest(&self, seller: usize) -> Vec<&'a Part> {
        let mut chosen: BTreeSet<u32> = BTreeSet::new();
        for place in 0..self.model.places {
            let here = |o: &&Offer| o.seller == seller && o.places & 1 << place != 0;
            let offers = (0_u32..).zip(&self.model.offers).filter(|(_, o)| here(o));
            chosen.extend(
                offers
                    .max_by_key(|(at, o)| (o.goods, u32::MAX - at))
                    .map(|(at, _)| at),
            );
        }
        self.rows(seller, &chosen.into_iter().collect::<Vec<_>>())
    }
}

/// Refuses a choice whose dearest packages come to more than the search calculates with. Codes and freight that a larger sum makes free
/// are left aside, as they make a larger package the cheaper one.
pub(super) fn foresee(compiled: &Compiled<'_>) -> Result<(), Problems> {
    let mut bare = Cow::Borrowed(compiled.book);
    if !bare.discounts.is_empty()
        || bare
            .sellers
            .values()
            .any(|seller| seller.free_freight_over.is_some())
    {
        let own = bare.to_mut();
        own.discounts.clear();
        own.sellers
            .values_mut()
            .for_each(|seller| seller.free_freight_over = None);
    }
    let mut sum = 0_i64;
    for parcel in 0..compiled.parcels.len() - 1 {
        let rows = compiled.dearest(parcel);
        // what cannot be had together is no package, and what cannot be had at all is refused where it is priced
        let Ok(landed) = landed_rows(&bare, &rows, compiled.desk) else {
            continue;
        };
        let own = compiled
            .units(landed)
            .and_then(|units| units.checked_sub(compiled.base_cost[parcel]));
        sum = own.and_then(|own| sum.checked_add(own)).unwrap_or(i64::MAX);
        if sum > LARGEST {
            return Err(too_large(&rows, compiled.desk));
        }
    }
    Ok(())
}

/// What `plan` refuses of a book that is sound otherwise, for `check`, in the words of `plan`.
pub(crate) fn refusals(book: &Book, desk: &Desk<'_>) -> Problems {
    compiled(book, desk).err().unwrap_or_default()
}

fn compiled(book: &Book, desk: &Desk<'_>) -> Result<(), Problems> {
    refuse_large(book, desk)?;
    let book = &super::apart::sent_apart(book);
    let masses = Masses::look(book, desk, &mut Cautions::default())?;
    // where a place has no offer there is no plan, which is an answer and no refusal
    let Ok(pool) = Pool::open(book, desk, &Wishes::default(), masses) else {
        return Ok(());
    };
    let compiled = Compiled::new(pool, book, desk, None, &Patient)?;
    foresee(&compiled)?;
    // each offer on its own, with what comes anyway
    for (at, offer) in (0_u32..).zip(&compiled.model.offers) {
        let _ = compiled.exact(offer.seller, &[at]);
    }
    compiled.refusal().map_or(Ok(()), Err)
}

/// What stands in the way of a plan whatever is chosen: a budget that is less than what parts paid for or on their way land at, and
/// offers that cannot be had together.
pub(super) fn in_the_way(compiled: &Compiled<'_>) -> Result<Vec<String>, Problems> {
    let mut said = Cautions::default();
    compiled.say_not_together(&mut said);
    let mut told: Vec<String> = said
        .into_list()
        .into_iter()
        .map(|caution| format!("{}: {}", words::few(&caution.about), caution.text))
        .collect();
    let desk = compiled.desk;
    let Some(budget) = desk.ask.budget else {
        return Ok(told);
    };
    let gone = landed_rows(compiled.book, &compiled.pool.committed, desk)?;
    if gone > budget {
        let money = |amount: Dec| {
            format!(
                "{} {}",
                amount.grouped(desk.currency().digits()),
                desk.currency()
            )
        };
        let what = "the parts that are paid for, given or on their way land at";
        told.push(format!(
            "{what} {}: that alone is more than the budget of {}",
            money(gone),
            money(budget)
        ));
    }
    Ok(told)
}
