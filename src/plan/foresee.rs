//! What is found out about a compiled choice before it is searched: packages that cannot be had, and sums too large for whole
//! numbers.

use std::borrow::Cow;
use std::collections::BTreeSet;

use super::book::Compiled;
use super::mass::Masses;
use super::model::{LARGEST, Offer, PackageCost};
use super::pool::{Pool, Wishes};
use super::refusal::too_large;
use super::watch::Patient;
use crate::book::{Book, Part};
use crate::landed::{Cautions, Jurisdiction, Saying, landed_rows, refuse_large};
use crate::text::{Problems, words};
use crate::units::Dec;

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
            let saying = Saying::new(format!(
                "Some offers of this parcel cannot be ordered together, and plans with them are left out: {why}"
            ))
            .so("Correct what it names, or order them apart.");
            cautions.say("not-together", saying, &[&self.parcels[*parcel]]);
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
        let Ok(landed) = landed_rows(&bare, &rows, compiled.jurisdiction) else {
            continue;
        };
        let own = compiled
            .units(landed)
            .and_then(|units| units.checked_sub(compiled.base_cost[parcel]));
        sum = own.and_then(|own| sum.checked_add(own)).unwrap_or(i64::MAX);
        if sum > LARGEST {
            return Err(too_large(&rows, compiled.jurisdiction));
        }
    }
    Ok(())
}

/// What `plan` refuses of a book that is sound otherwise, for `check`, in the words of `plan`.
pub(crate) fn refusals(book: &Book, jurisdiction: &Jurisdiction<'_>) -> Problems {
    compiled(book, jurisdiction).err().unwrap_or_default()
}

fn compiled(book: &Book, jurisdiction: &Jurisdiction<'_>) -> Result<(), Problems> {
    refuse_large(book, jurisdiction)?;
    let book = &super::apart::sent_apart(book);
    let masses = Masses::look(book, jurisdiction, &mut Cautions::default())?;
    // where a place has no offer there is no plan, which is an answer and no refusal
    let Ok(pool) = Pool::open(book, jurisdiction, &Wishes::default(), masses) else {
        return Ok(());
    };
    let compiled = Compiled::new(pool, book, jurisdiction, None, &Patient)?;
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
    let jurisdiction = compiled.jurisdiction;
    let Some(budget) = jurisdiction.ask.budget else {
        return Ok(told);
    };
    let gone = landed_rows(compiled.book, &compiled.pool.committed, jurisdiction)?;
    if gone > budget {
        let money = |amount: Dec| {
            format!(
                "{} {}",
                amount.grouped(jurisdiction.currency().digits()),
                jurisdiction.currency()
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
