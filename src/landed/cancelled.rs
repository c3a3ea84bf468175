//! Orders that were cancelled: all that was paid came back before delivery. No balance is owed then, and nothing comes.

use super::bill::Bill;
use super::caution::Cautions;
use super::deposit::{is_low, paid_of};
use super::jurisdiction::Jurisdiction;
use super::parcel::ConsignmentState;
use super::reading::{Back, Cancelled, Reading};
use super::receipt::{EXCHANGED, is_door, is_kept, money, pennies};
use super::refund::{AT_SALE, CARD_FEE, FREIGHT, GOODS, INSURANCE, Lowered, lower_by};
use crate::book::Book;
use crate::text::Diagnostic;
use crate::units::{Dec, Overflow, share};

/// Finds what was cancelled, and takes what is owed no more off its sums.
pub(super) fn cancel(
    bill: &mut Bill,
    reading: &mut Reading<'_>,
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<Cancelled>, Diagnostic> {
    let of_seller = |back: &&Back<'_>| !back.of.is_some_and(|of| is_door(of, bill));
    let backs: Vec<&Back<'_>> = reading.refunds.iter().filter(of_seller).collect();
    if backs.is_empty()
        || backs.iter().any(|back| is_kept(back.receipt))
        || bill.seller_told && bill.kind == ConsignmentState::OnOrder
    {
        return Ok(None);
    }
    match (bill.kind, bill.deposit) {
        (ConsignmentState::ToOrder, Some(paid))
            if deposit_back(bill, reading, paid, &backs, jurisdiction)? =>
        {
            let parts = share(
                paid.negated(),
                &goods(bill),
                jurisdiction.currency().digits(),
            )?;
            lower_by(bill, &GOODS, &parts, true)?;
            reading
                .refunds
                .iter_mut()
                .last()
                .into_iter()
                .for_each(|back| back.released.push((GOODS.0, parts.clone())));
            bill.deposit = None;
            Ok(Some(Cancelled::Asked(paid)))
        }
        (ConsignmentState::OnOrder, _) => {
            let groups = groups(bill, reading, &backs, book, jurisdiction)?;
            let (mut names, mut released) = (Vec::new(), Dec::ZERO);
            for (lines, left) in groups {
                released = released.plus(release(
                    bill,
                    &lines,
                    left,
                    reading.refunds.last_mut(),
                    jurisdiction,
                )?)?;
                for (_, line) in bill
                    .lines
                    .iter_mut()
                    .enumerate()
                    .filter(|(at, _)| lines.contains(at))
                {
                    line.cancelled = true;
                    names.push(line.part.clone());
                }
            }
            Ok((released > pennies(bill, jurisdiction)?)
                .then_some(Cancelled::Parts(names, released)))
        }
        _ => Ok(None),
    }
}

fn goods(bill: &Bill) -> Vec<Dec> {
    bill.lines.iter().map(|line| line.amounts.goods).collect()
}

/// The lines all of whose payment came back, together or one by one, and what of it was lost on the way.
fn groups(
    bill: &Bill,
    reading: &Reading<'_>,
    backs: &[&Back<'_>],
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Vec<(Vec<usize>, Dec)>, Diagnostic> {
    let all: Vec<usize> = (0..bill.lines.len()).collect();
    let refunded = |lines: &[usize]| Dec::total(lines.iter().map(|at| bill.lines[*at].refunded));
    let told: Vec<Option<Dec>> = bill.lines.iter().map(|line| paid_of(line, book)).collect();
    let whole = match bill.deposit {
        Some(deposit) => Some(deposit),
        None if told.iter().all(Option::is_some) => {
            Some(Dec::total(told.iter().flatten().copied())?)
        }
        None => None,
    };
    if let Some(paid) = whole.filter(|paid| paid.is_positive())
        && deposit_back(bill, reading, paid, backs, jurisdiction)?
    {
        let left = paid.minus(refunded(&all)?)?;
        return Ok(vec![(all, left)]);
    }
    let mut found = Vec::new();
    for (at, paid) in told
        .into_iter()
        .enumerate()
        .filter(|_| bill.deposit.is_none())
    {
        let Some(paid) = paid.filter(|paid| paid.is_positive()) else {
            continue;
        };
        if came_back(bill, &[at], paid, backs, jurisdiction)? {
            found.push((vec![at], paid.minus(refunded(&[at])?)?));
        }
    }
    Ok(found)
}

/// Whether all that was paid for a parcel came back: in the money of the deposit's own receipts where it came in that, else as
/// [`came_back`] has it.
fn deposit_back(
    bill: &Bill,
    reading: &Reading<'_>,
    paid: Dec,
    backs: &[&Back<'_>],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<bool, Diagnostic> {
    let receipts = reading
        .deposit
        .as_ref()
        .map(|deposit| deposit.receipts.as_slice())
        .unwrap_or_default();
    let one = receipts.first().map(|receipt| receipt.currency);
    let one = one.filter(|one| {
        receipts
            .iter()
            .copied()
            .chain(backs.iter().map(|back| back.receipt))
            .all(|r| r.currency == *one)
    });
    let Some(one) = one else {
        let all: Vec<usize> = (0..bill.lines.len()).collect();
        return came_back(bill, &all, paid, backs, jurisdiction);
    };
    let (came, went) = (
        Dec::total(backs.iter().map(|b| b.receipt.amount))?,
        Dec::total(receipts.iter().map(|r| r.amount))?,
    );
    Ok(came.is_positive() && came.plus(Dec::new(1, one.digits()))? >= went)
}

/// Whether all that was paid for some lines came back, but for pennies; of a deposit that was exchanged, by the rate of the order and
/// but for what a card or a bank takes.
fn came_back(
    bill: &Bill,
    lines: &[usize],
    paid: Dec,
    backs: &[&Back<'_>],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<bool, Diagnostic> {
    let refunded = Dec::total(lines.iter().map(|at| bill.lines[*at].refunded))?;
    if !refunded.is_positive() {
        return Ok(false);
    }
    if refunded.plus(pennies(bill, jurisdiction)?)? >= paid {
        return Ok(true);
    }
    let price = |at: &usize| {
        let line = &bill.lines[*at];
        line.amounts
            .goods
            .minus(line.amounts.discount)?
            .plus(line.refunded)
    };
    if !is_low(
        paid,
        Dec::total(lines.iter().map(price).collect::<Result<Vec<_>, _>>()?)?,
    )? {
        return Ok(false);
    }
    let mut then = Dec::ZERO;
    let mut exchanged = false;
    for back in backs.iter().filter(|back| back.amount.is_positive()) {
        let parts = back
            .taken
            .iter()
            .flat_map(|(_, parts)| lines.iter().filter_map(|at| parts.get(*at).copied()));
        let own = Dec::total(parts)?;
        exchanged |= back.receipt.currency != jurisdiction.currency();
        let worth = jurisdiction
            .market_rate(back.receipt.currency, bill.ordered)?
            .rate
            .convert(back.receipt.amount)?;
        then = then.plus(worth.times(own)?.over(back.amount)?)?;
    }
    let least = paid
        .times(Dec::HUNDRED.minus(Dec::from(EXCHANGED))?)?
        .over(Dec::HUNDRED)?;
    Ok(exchanged && then >= least)
}

/// Takes off some lines what the seller would still have been paid, so that only what was lost of the payment is left.
fn release(
    bill: &mut Bill,
    lines: &[usize],
    left: Dec,
    back: Option<&mut Back<'_>>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Dec, Overflow> {
    let Some(back) = back else {
        return Ok(Dec::ZERO);
    };
    let owed = |at: &usize| {
        bill.lines[*at]
            .amounts
            .to_seller()?
            .minus(bill.lines[*at].sent_back)
    };
    let owed = Dec::total(lines.iter().map(owed).collect::<Result<Vec<_>, _>>()?)?.minus(left)?;
    if !owed.is_positive() {
        return Ok(Dec::ZERO);
    }
    let mut rest = owed;
    for sum in [&AT_SALE, &FREIGHT, &INSURANCE, &CARD_FEE] {
        let held = held(bill, lines, sum)?;
        let all = Dec::total(held.iter().copied())?;
        let taken = all.min(rest);
        if taken.is_positive() {
            rest = rest.minus(off(bill, sum, (taken, &held), back, jurisdiction)?)?;
        }
    }
    if !rest.is_zero() {
        let held = held(bill, lines, &GOODS)?;
        let only = lines.first().copied();
        let weights = if Dec::total(held.iter().copied())?.is_zero() {
            (0..bill.lines.len())
                .map(|at| {
                    if Some(at) == only {
                        Dec::ONE
                    } else {
                        Dec::ZERO
                    }
                })
                .collect()
        } else {
            held
        };
        off(bill, &GOODS, (rest, &weights), back, jurisdiction)?;
    }
    Ok(owed)
}

/// What each line of the bill holds of a sum, where it is among those that are meant; what sending goods back cost is spent.
fn held(bill: &Bill, lines: &[usize], sum: &Lowered) -> Result<Vec<Dec>, Overflow> {
    let one = |(at, line): (usize, &super::bill::BillLine)| {
        let all = (sum.1)(&line.amounts)?;
        let own = if sum.0 == FREIGHT.0 {
            all.minus(line.sent_back)?
        } else {
            all
        };
        Ok(if lines.contains(&at) {
            own.max(Dec::ZERO)
        } else {
            Dec::ZERO
        })
    };
    bill.lines.iter().enumerate().map(one).collect()
}

fn off(
    bill: &mut Bill,
    sum: &Lowered,
    (amount, weights): (Dec, &[Dec]),
    back: &mut Back<'_>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Dec, Overflow> {
    let parts = share(amount, weights, jurisdiction.currency().digits())?;
    lower_by(bill, sum, &parts, false)?;
    back.released.push((sum.0, parts));
    Ok(amount)
}

impl Cancelled {
    /// The question, where the rows contradict what came back.
    pub(super) fn question(paid: Dec, jurisdiction: &Jurisdiction<'_>) -> String {
        format!(
            "was this order cancelled? its deposit of {} came back in full, and its rows are still to be ordered",
            money(paid, jurisdiction)
        )
    }

    /// What must be said of it.
    pub(super) fn say(
        &self,
        bill: &Bill,
        jurisdiction: &Jurisdiction<'_>,
        cautions: &mut Cautions,
    ) {
        match self {
            Cancelled::Parts(names, released) => {
                let names: Vec<&str> = names.iter().map(String::as_str).collect();
                let text = format!(
                    "all that was paid for it came back before it arrived, so the order is taken to be cancelled: the balance of {} is no longer to pay; write `kept` in the refund's `note` where the order stands",
                    money(*released, jurisdiction)
                );
                cautions.say("order-cancelled", text, &names);
            }
            Cancelled::Asked(paid) => {
                let text = format!(
                    "{}: it is counted as to be ordered at its whole price; take its rows out of the build where they are not wanted any more",
                    Cancelled::question(*paid, jurisdiction)
                );
                cautions.say("cancelled-asked", text, &[&bill.id]);
            }
        }
    }
}
