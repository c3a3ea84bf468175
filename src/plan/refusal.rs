//! What `plan` refuses before it searches: sums too large for its whole numbers, with the cell of their dearest row.

use super::book::Compiled;
use super::mass::Masses;
use super::model::{LARGEST, PackageCost};
use super::pool::{Pool, Wishes};
use super::watch::Patient;
use crate::book::{Book, Part};
use crate::landed::{Cautions, Desk, landed_rows, refuse_large};
use crate::text::{Diagnostic, Problems};
use crate::units::Dec;

/// Decimals beyond the minor unit that sums are held with, so that amounts no row rounds stay apart.
pub(super) const FINER: u32 = 2;

/// A refusal in words.
pub(super) fn refused(why: &str) -> Problems {
    Problems::from(Diagnostic::error(why))
}

/// The refusal of a sum of rows, of which the dearest is marked.
pub(super) fn too_large(rows: &[&Part], desk: &Desk<'_>) -> Problems {
    let most = format!("{} {}", Dec::new(LARGEST, desk.currency().digits() + FINER).grouped(0), desk.currency());
    let why = format!("expected rows that come to no more than {most} together: `plan` takes no more");
    let worth = |row: &Part| {
        let rate = desk.market_rate(row.currency.unwrap_or(desk.currency()), desk.ask.date).ok()?.rate;
        let price = row.price.and_then(|price| price.times(Dec::from(row.quantity)).ok()).and_then(|price| rate.convert(price).ok());
        price.or(row.paid)
    };
    Problems::from(match rows.iter().max_by_key(|row| worth(row)) {
        Some(row) => {
            let cell = row.at.cell(if row.price.is_some() { "price" } else { "paid" });
            cell.error(why).note("the dearest row of the sum is marked")
        }
        None => Diagnostic::error(why),
    })
}

/// What `plan` refuses of a book that is sound otherwise, for `check`. A choice with too many places or sellers is warned of: all
/// else can be reckoned of such a book, and no cell of it is wrong.
pub fn refusals(book: &Book, desk: &Desk<'_>) -> Problems {
    let mut told = Problems::new();
    let Err(refusals) = compiled(book, desk) else { return told };
    for problem in refusals.iter().cloned() {
        let message = format!("`plan` refuses this book: {}", problem.message);
        told.push(if problem.place.is_some() { problem } else { Diagnostic::warning(message) });
    }
    told
}

fn compiled(book: &Book, desk: &Desk<'_>) -> Result<(), Problems> {
    refuse_large(book, desk)?;
    let book = &super::apart::sent_apart(book);
    let masses = Masses::look(book, desk, &mut Cautions::default())?;
    // where a place has no offer there is no plan, which is an answer and no refusal
    let Ok(pool) = Pool::open(book, desk, &Wishes::default(), masses) else { return Ok(()) };
    let compiled = Compiled::new(pool, book, desk, None, &Patient)?;
    // each offer by itself, with what comes anyway
    for (at, offer) in (0_u32..).zip(&compiled.model.offers) {
        let _ = compiled.exact(offer.seller, &[at]);
    }
    compiled.refusal().map_or(Ok(()), Err)
}

/// Says that a budget is used up by what is paid or owed whatever is chosen; none where it is not.
pub(super) fn used_up(compiled: &Compiled<'_>) -> Result<Option<String>, Problems> {
    let desk = compiled.desk;
    let Some(budget) = desk.ask.budget else { return Ok(None) };
    let gone = landed_rows(compiled.book, &compiled.pool.committed, desk)?;
    let money = |amount: Dec| format!("{} {}", amount.grouped(desk.currency().digits()), desk.currency());
    let text = format!(
        "what is spent already, and what is still due for parts on their way, come to {}: that alone is more than the budget of {}",
        money(gone),
        money(budget)
    );
    Ok((gone > budget).then_some(text))
}
