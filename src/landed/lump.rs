//! What a receipt for a total says beside receipts for its own items; receipts that are out of all proportion.

use super::bill::{Bill, ChargeBreakdown};
use super::deposit::deposit;
use super::jurisdiction::Jurisdiction;
use super::reading::Reading;
use super::receipt::{at_door, home, in_home_money, money, pennies, signed};
use crate::book::{Book, ChargeWord, Receipt};
use crate::text::{Diagnostic, words};
use crate::units::{Dec, Overflow};

/// The totals, the seller's before the one at the door.
const TOTALS: [ChargeWord; 2] = [ChargeWord::ToPaySeller, ChargeWord::ToPayCarrier];

/// So many times what is calculated is asked about.
const OUT_OF_PROPORTION: u32 = 10;

/// Takes the totals that count in another way out of the receipts that are used: the receipt of a deposit, a total whose items
/// have receipts of their own, and a total that does not agree with them, which is asked about.
pub(super) fn totals<'a>(
    bill: &Bill,
    book: &'a Book,
    reading: &mut Reading<'a>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<(), Diagnostic> {
    deposit(bill, book, reading, jurisdiction)?;
    for word in TOTALS {
        let side = word == ChargeWord::ToPayCarrier;
        let (lumps, rest): (Vec<&Receipt>, Vec<&Receipt>) =
            reading.used.iter().partition(|r| r.charge == word);
        let beside = |r: &&&Receipt| at_door(r, bill) == side && !r.amount.is_zero();
        let (fees, items): (Vec<&Receipt>, Vec<&Receipt>) = rest
            .iter()
            .filter(beside)
            .partition(|r| r.charge == ChargeWord::CardFee);
        if lumps.is_empty() || items.is_empty() {
            continue;
        }
        reading.used = rest;
        let all: Vec<&Receipt> = items.iter().chain(&fees).copied().collect();
        let priced = side || items.iter().any(|r| r.charge == ChargeWord::Goods);
        if priced
            && (agree(&lumps, &items, bill, jurisdiction)?
                || agree(&lumps, &all, bill, jurisdiction)?)
        {
            reading.summed.extend(lumps);
            continue;
        }
        let question = question(&lumps, &items, bill, jurisdiction)?;
        reading
            .questioned
            .extend(lumps.into_iter().map(|receipt| (receipt, question.clone())));
    }
    Ok(())
}

fn question(
    lumps: &[&Receipt],
    items: &[&Receipt],
    bill: &Bill,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<String, Diagnostic> {
    let mut names: Vec<&str> = items.iter().map(|r| r.charge.name()).collect();
    names.sort_unstable();
    names.dedup();
    let names: Vec<String> = names.into_iter().map(|name| format!("`{name}`")).collect();
    let (total, sum) = (
        money(home(lumps, bill, jurisdiction)?, jurisdiction),
        money(home(items, bill, jurisdiction)?, jurisdiction),
    );
    let comes = if names.len() == 1 { "comes" } else { "come" };
    Ok(format!(
        "does this total hold what has a receipt beside it? it is {total}, and {} {comes} to {sum}: give all that it holds, or the total alone",
        words::list(&names, "and")
    ))
}

/// Whether a total is the sum of its items: in their own money where they have one, but for pennies.
fn agree(
    lumps: &[&Receipt],
    items: &[&Receipt],
    bill: &Bill,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<bool, Diagnostic> {
    let one = lumps
        .first()
        .map(|r| r.currency)
        .filter(|one| lumps.iter().chain(items).all(|r| r.currency == *one));
    let Some(one) = one else {
        return Ok(home(lumps, bill, jurisdiction)?
            .minus(home(items, bill, jurisdiction)?)?
            .abs()
            <= pennies(bill, jurisdiction)?);
    };
    let sum = |of: &[&Receipt]| Dec::total(of.iter().map(|r| signed(r, r.amount)));
    let units = pennies(bill, jurisdiction)?.over(Dec::new(1, jurisdiction.currency().digits()))?;
    Ok(sum(lumps)?.minus(sum(items)?)?.abs() <= units.times(Dec::new(1, one.digits()))?)
}

/// What is calculated of a charge; all of the parcel where nothing of it is.
fn reckoned(charge: ChargeWord, a: &ChargeBreakdown) -> Result<Dec, Overflow> {
    let own = match charge {
        ChargeWord::Goods => a.goods,
        ChargeWord::Discount => a.discount,
        ChargeWord::Freight => a.freight,
        ChargeWord::Insurance => a.insurance,
        ChargeWord::Duty | ChargeWord::Remedy => a.duty.plus(a.remedy)?,
        ChargeWord::Tax | ChargeWord::TaxAtSale | ChargeWord::TaxAtBorder => a.tax()?,
        ChargeWord::Handling => a.handling,
        ChargeWord::CardFee => a.card_fee,
        ChargeWord::ToPaySeller => a.to_seller()?,
        ChargeWord::ToPayCarrier => a.at_door()?,
        ChargeWord::Refund | ChargeWord::ReturnFreight => Dec::ZERO,
    };
    if own.is_positive() {
        Ok(own)
    } else {
        a.landed()
    }
}

/// Asks about receipts of more than ten times what is calculated, small change aside, unless their note says that they were checked.
pub(super) fn out_of_proportion(
    bill: &Bill,
    reading: &mut Reading<'_>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<(), Diagnostic> {
    let ten = Dec::from(OUT_OF_PROPORTION);
    let all = bill.amounts.landed()?;
    let mut kept = Vec::new();
    for receipt in std::mem::take(&mut reading.used) {
        let (amount, usual) = (
            in_home_money(receipt, bill, jurisdiction)?,
            reckoned(receipt.charge, &bill.amounts)?,
        );
        let beyond = usual.is_positive() && amount > usual.times(ten)? && amount.times(ten)? > all;
        if !beyond
            || receipt
                .at
                .cell("note")
                .text()
                .to_lowercase()
                .contains("checked")
        {
            kept.push(receipt);
            continue;
        }
        let question = format!(
            "is the amount right? {} is more than ten times the {} that is reckoned; where it is right, write `checked` in its `note`",
            money(amount, jurisdiction),
            money(usual, jurisdiction)
        );
        reading.questioned.push((receipt, question));
    }
    reading.used = kept;
    Ok(())
}
