//! What is lost or went back: rows whose price came back in full. Their money stays in the sums, their places are open again and
//! their mass is gone; of a parcel that is lost as a whole nothing more is due at the door.

use super::bill::{Bill, BillLine};
use super::caution::{Caution, Cautions};
use super::jurisdiction::Jurisdiction;
use super::parcel::ConsignmentState;
use super::reading::Back;
use super::receipt::{EXCHANGED, is_kept, pennies};
use super::told::{DOOR, set};
use crate::text::Diagnostic;
use crate::units::{Dec, HomeMoney, SellerMoney};

/// What is said of what came back in full.
pub(super) const REFUNDED: &str = "its price was refunded in full, so it is taken to be lost or sent back: its place is open again and its weight is not counted, while its receipts and what it cost beside its price stay in the sum; write `kept` in the refund's `note` where it is there after all, and take the row out of the build once something else has its place";

/// Marks the lines whose price came back in full; returned is whether the whole parcel is lost, of which what is not yet billed at
/// the door then falls away.
pub(super) fn mark(
    bill: &mut Bill,
    refunds: &[Back<'_>],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<bool, Diagnostic> {
    let gone = (0..bill.lines.len())
        .map(|at| is_gone(bill, at, refunds, jurisdiction))
        .collect::<Result<Vec<_>, Diagnostic>>()?;
    for (line, gone) in bill.lines.iter_mut().zip(gone) {
        line.gone = gone || line.cancelled;
    }
    if !bill.is_lost() {
        return Ok(false);
    }
    let mut known = bill.known;
    for field in DOOR.into_iter().filter(|field| field(&mut known).is_zero()) {
        set(bill, field, Dec::ZERO, jurisdiction.currency().digits())?;
    }
    bill.settle_dispute()?;
    Ok(true)
}

/// Whether the price of a line came back in full, in the seller's money or to the last penny of what was paid; and no note says that
/// it was kept. What the exchange moved meanwhile is lost, and was the price all the same.
fn is_gone(
    bill: &Bill,
    at: usize,
    refunds: &[Back<'_>],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<bool, Diagnostic> {
    let (mut off, mut came, mut exchanged) = (Dec::ZERO, SellerMoney::ZERO, false);
    for back in refunds.iter().filter(|back| back.amount.is_positive()) {
        let goods = back
            .taken
            .iter()
            .filter(|(name, _)| *name == "discount")
            .filter_map(|(_, parts)| parts.get(at).copied());
        let goods = Dec::total(goods)?;
        if !goods.is_positive() {
            continue;
        }
        if is_kept(back.receipt) {
            return Ok(false);
        }
        off = off.plus(goods)?;
        came = came.plus(in_sellers_money(back, goods, bill, jurisdiction)?)?;
        exchanged |= back.receipt.currency != bill.paid_in;
    }
    let Some(line) = bill.lines.get(at).filter(|_| off.is_positive()) else {
        return Ok(false);
    };
    if exchanged {
        let left = Dec::HUNDRED.minus(Dec::from(EXCHANGED))?;
        came = SellerMoney::of(came.amount().times(Dec::HUNDRED)?.over(left)?);
    }
    let left = line.amounts.goods.minus(line.amounts.discount)?;
    let then = jurisdiction
        .market_rate(bill.paid_in, bill.ordered)?
        .rate
        .to_home(came)?
        .amount();
    let asked = line.asked.is_positive()
        && came.plus(SellerMoney::of(Dec::new(1, bill.paid_in.digits())))? >= line.asked;
    Ok(!left.is_positive()
        || asked
        || then.plus(pennies(bill, jurisdiction)?)? >= left.plus(off)?)
}

/// What a part of a refund is in the seller's money, by the rate of its day; where that is not known, by the rate of the order.
fn in_sellers_money(
    back: &Back<'_>,
    goods: Dec,
    bill: &Bill,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<SellerMoney, Diagnostic> {
    if back.receipt.currency == bill.paid_in {
        let part = back.receipt.amount.times(goods)?.over(back.amount)?;
        return Ok(SellerMoney::of(part));
    }
    let day = back.receipt.date.unwrap_or(bill.ordered);
    let quote = jurisdiction
        .market_rate(bill.paid_in, day)
        .or_else(|_| jurisdiction.market_rate(bill.paid_in, bill.ordered))?;
    Ok(quote.rate.to_seller(HomeMoney::of(goods))?)
}

/// What must be said of what came back in full.
pub(super) fn say(bill: &Bill, lost: bool) -> Vec<Caution> {
    let mut cautions = Cautions::default();
    let gone: Vec<&BillLine> = bill.lines.iter().filter(|line| line.gone).collect();
    let names: Vec<&str> = gone.iter().map(|line| line.part.as_str()).collect();
    if names.is_empty() {
        return Vec::new();
    }
    if bill.kind != ConsignmentState::ToOrder {
        cautions.say("refunded-in-full", REFUNDED, &names);
    }
    if lost {
        let text = "everything in the parcel was refunded in full before it arrived: nothing more is counted for it at the door";
        cautions.say("parcel-lost", text, &[&bill.id]);
    }
    let declared = |line: &&&BillLine| {
        line.amounts
            .at_door()
            .is_ok_and(crate::units::Dec::is_positive)
    };
    if bill.kind == ConsignmentState::OnOrder && !lost {
        let declared: Vec<&str> = gone
            .iter()
            .filter(declared)
            .map(|line| line.part.as_str())
            .collect();
        if !declared.is_empty() {
            let text = "it was refunded and its parcel still comes: its charges at the door stay counted, as customs goes by what was declared; give what is really charged as receipts";
            cautions.say("lost-part-declared", text, &declared);
        }
    }
    cautions.into_list()
}
