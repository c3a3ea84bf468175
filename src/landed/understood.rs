//! How the receipts of a parcel are understood before they are used: what is asked about and left out, what one sum holds, and
//! what a refund lowers.

use super::bill::{Bill, ChargeBreakdown};
use super::cancelled::cancel;
use super::caution::{Caution, Cautions};
use super::held::is_for_held;
use super::jurisdiction::Jurisdiction;
use super::lost;
use super::lump::{out_of_proportion, totals};
use super::reading::{Cancelled, Deposit, Reading};
use super::receipt::{left_out, money, pennies, say_old_rate};
use super::refund::lower;
use super::told::{charge_up, send_back, sum_of};
use crate::book::{Book, ChargeWord, Receipt};
use crate::text::{Diagnostic, words};
use crate::units::{Dec, Overflow};

/// A parcel's bill with its receipts in it, and how they were understood.
pub fn understood<'a>(
    bill: &Bill,
    book: &'a Book,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<(Bill, Reading<'a>), Diagnostic> {
    let (refunds, used) = receipts_of(bill, book, jurisdiction);
    let mut reading = Reading {
        used,
        ..Reading::default()
    };
    if reading.used.is_empty() && refunds.is_empty() {
        return Ok((bill.clone(), reading));
    }
    out_of_proportion(bill, &mut reading, jurisdiction)?;
    let (sent_back, used) = std::mem::take(&mut reading.used)
        .into_iter()
        .partition(|r| r.charge == ChargeWord::ReturnFreight);
    (reading.sent_back, reading.used) = (sent_back, used);
    totals(bill, book, &mut reading, jurisdiction)?;
    let mut charged = charged_up(bill, &mut reading, jurisdiction)?;
    charged.deposit = reading
        .deposit
        .as_ref()
        .filter(|deposit| !deposit.told)
        .map(|deposit| deposit.paid);
    send_back(&mut charged, &reading, &refunds, jurisdiction)?;
    for receipt in refunds {
        match lower(&mut charged, receipt, &reading, book, jurisdiction)? {
            Ok(back) => reading.refunds.push(back),
            Err(question) => reading.questioned.push((receipt, question)),
        }
    }
    reading.cancelled = cancel(&mut charged, &mut reading, book, jurisdiction)?;
    let no_balance = charged.lines.iter().all(|line| line.cancelled)
        || matches!(reading.cancelled, Some(Cancelled::Asked(_)));
    reading
        .deposit
        .iter_mut()
        .for_each(|deposit| deposit.came_back = no_balance);
    reading.lost = lost::mark(&mut charged, &reading.refunds, jurisdiction)?;
    reading.cautions = cautions(bill, &reading, jurisdiction);
    reading.cautions.extend(too_early(&charged, &reading, book));
    reading.cautions.extend(lost::say(&charged, reading.lost));
    Ok((charged, reading))
}

/// The receipts of a parcel, refunds before the others; those for what is held beside it are not among them.
fn receipts_of<'a>(
    bill: &Bill,
    book: &'a Book,
    jurisdiction: &Jurisdiction<'_>,
) -> (Vec<&'a Receipt>, Vec<&'a Receipt>) {
    let named = |r: &Receipt| {
        bill.lines
            .iter()
            .any(|line| Some(&line.part) == r.part.as_ref())
    };
    book.receipts
        .iter()
        .filter(|r| r.consignment == bill.id && (named(r) || !is_for_held(r, book, jurisdiction)))
        .partition(|r| r.charge == ChargeWord::Refund)
}

/// The bill with the charges in it, refunds left aside. Receipts that would make goods cost less than nothing are set aside with
/// their question, one word after the other.
fn charged_up(
    bill: &Bill,
    reading: &mut Reading<'_>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Bill, Diagnostic> {
    loop {
        reading.one_sum = one_sum(bill, &reading.used, jurisdiction)?;
        reading.fee_apart = fee_apart(bill, reading);
        let mut charged = bill.clone();
        reading.discount_by_price = charge_up(&mut charged, reading, jurisdiction)?;
        let Some(word) = makes_negative(bill, &charged, &reading.used)? else {
            return Ok(charged);
        };
        let (out, kept) = std::mem::take(&mut reading.used)
            .into_iter()
            .partition(|r| r.charge == word);
        reading.used = kept;
        let goods = charged
            .amounts
            .goods
            .minus(charged.amounts.discount)?
            .min(charged.amounts.goods);
        let question = format!(
            "is the amount right? it would make the goods of {} cost {}",
            bill.id,
            money(goods, jurisdiction)
        );
        let out: Vec<&Receipt> = out;
        let asked = out.into_iter().map(|receipt| (receipt, question.clone()));
        reading.questioned.extend(asked);
    }
}

/// Refunds of a day before anything was paid: they count, and are asked about.
fn too_early(bill: &Bill, reading: &Reading<'_>, book: &Book) -> Vec<Caution> {
    let mut cautions = Cautions::default();
    for back in &reading.refunds {
        if let (Some(first), Some(day)) = (back.paid_later(bill, reading, book), back.receipt.date)
        {
            let text = format!(
                "is the day right? a refund ({}) is of {day}, and the first that was paid is of {first}; it is counted",
                back.receipt.at.place()
            );
            cautions.say("refund-before-payment", text, &[&bill.id]);
        }
    }
    cautions.into_list()
}

/// The receipts that would make goods cost less than nothing: a total before a discount, a discount before a price.
fn makes_negative(
    reckoned: &Bill,
    charged: &Bill,
    used: &[&Receipt],
) -> Result<Option<ChargeWord>, Overflow> {
    let net = |a: &ChargeBreakdown| a.goods.minus(a.discount);
    let least = net(&reckoned.amounts)?.min(Dec::ZERO);
    if !charged.amounts.goods.is_negative() && net(&charged.amounts)? >= least {
        return Ok(None);
    }
    let doubtful = [
        ChargeWord::ToPaySeller,
        ChargeWord::Discount,
        ChargeWord::Goods,
    ];
    Ok(doubtful
        .into_iter()
        .find(|word| used.iter().any(|r| r.charge == *word)))
}

/// Where both duty and anti-dumping are due and only one of them has a receipt, that receipt is their sum if its amount is nearer
/// to that than to what was calculated of the one it names.
fn one_sum(
    bill: &Bill,
    used: &[&Receipt],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<ChargeWord>, Diagnostic> {
    let a = bill.amounts;
    if !a.duty.is_positive()
        || !a.remedy.is_positive()
        || used.iter().any(|r| r.charge == ChargeWord::ToPayCarrier)
    {
        return Ok(None);
    }
    let pennies = pennies(bill, jurisdiction)?;
    let (duty, remedy) = (
        sum_of(used, ChargeWord::Duty, bill, jurisdiction)?,
        sum_of(used, ChargeWord::Remedy, bill, jurisdiction)?,
    );
    let both = a.duty.plus(a.remedy)?;
    Ok(match (duty, remedy) {
        (Some(duty), None) if duty.minus(a.duty)? > both.minus(duty)?.max(pennies) => {
            Some(ChargeWord::Duty)
        }
        (None, Some(remedy)) if remedy.minus(both)?.abs() <= pennies => Some(ChargeWord::Remedy),
        _ => None,
    })
}

/// A total in the seller's foreign money is what the seller took: the card's fee comes on top of it. One in the destination's
/// money is off the card's statement, and holds the fee.
fn fee_apart(bill: &Bill, reading: &Reading<'_>) -> bool {
    let mut totals = sellers_totals(reading).peekable();
    let told = reading.used.iter().any(|r| r.charge == ChargeWord::CardFee);
    totals.peek().is_some()
        && !told
        && bill.amounts.card_fee.is_positive()
        && totals.all(|r| r.currency == bill.paid_in)
}

/// The receipts for all that the seller took.
fn sellers_totals<'r, 'a>(reading: &'r Reading<'a>) -> impl Iterator<Item = &'r &'a Receipt> {
    reading
        .used
        .iter()
        .chain(&reading.summed)
        .filter(|r| r.charge == ChargeWord::ToPaySeller)
}

fn cautions(bill: &Bill, reading: &Reading<'_>, jurisdiction: &Jurisdiction<'_>) -> Vec<Caution> {
    let mut cautions = Cautions::default();
    let about = [bill.id.as_str()];
    for (receipt, question) in &reading.questioned {
        let text = left_out(receipt, question);
        cautions.say("receipt-questioned", text, &about);
    }
    for receipt in &reading.summed {
        let text = format!(
            "{} `{}` receipt ({}) is the sum of the receipts beside it: it counts once, and nothing else is taken to have been charged on its side",
            words::article(receipt.charge.name()),
            receipt.charge.name(),
            receipt.at.place()
        );
        cautions.say("total-of-items", text, &about);
    }
    say_deposit(bill, reading, jurisdiction, &mut cautions);
    if let Some(word) = reading.one_sum {
        let text = format!(
            "duty and anti-dumping are both due and the `{}` receipt is taken to be the sum of both; where it is not, give the other a receipt of its own, `0` where nothing was charged",
            word.name()
        );
        cautions.say("duties-in-one-sum", text, &about);
    }
    card_fee_cautions(bill, reading, jurisdiction, &mut cautions);
    let deposit = reading.deposit.iter().flat_map(|deposit| &deposit.receipts);
    for receipt in reading.used.iter().chain(&reading.sent_back).chain(deposit) {
        say_old_rate(receipt, bill.ordered, jurisdiction, &mut cautions);
    }
    for back in &reading.refunds {
        back.say(bill, jurisdiction, &mut cautions);
    }
    if let Some(cancelled) = &reading.cancelled {
        cancelled.say(bill, jurisdiction, &mut cautions);
    }
    cautions.into_list()
}

/// What the receipt of a deposit is taken for, unless that came back.
fn say_deposit(
    bill: &Bill,
    reading: &Reading<'_>,
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) {
    let owed = |deposit: &&Deposit<'_>| !deposit.came_back;
    let Some(deposit) = reading.deposit.as_ref().filter(owed) else {
        return;
    };
    if deposit.told {
        let paid = money(deposit.paid, jurisdiction);
        let text = format!(
            "the `to_pay_seller` receipt is what `paid` tells, {paid}: it is taken for the receipt of that deposit, and the balance is still to pay; where nothing more is asked, say what the goods cost by a `goods` receipt"
        );
        cautions.say("deposit-receipt", text, &[&bill.id]);
    } else {
        let text = format!(
            "{}; it counts as paid, and the balance as still to pay; where it is all that was asked, write `in full` in the `note` of its receipt",
            deposit.question(jurisdiction)
        );
        cautions.say("deposit-asked", text, &[&bill.id]);
    }
}

/// Whether the seller's total holds the card fee, or the fee stands beside it.
fn card_fee_cautions(
    bill: &Bill,
    reading: &Reading<'_>,
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) {
    let about = [bill.id.as_str()];
    if sellers_totals(reading).next().is_some() && bill.amounts.card_fee.is_positive() {
        let fee = money(bill.amounts.card_fee, jurisdiction);
        if reading.fee_apart {
            let text = format!(
                "the seller's total is in the seller's money and taken without the card fee: {fee} is counted beside it; give the fee a `card_fee` receipt"
            );
            cautions.say("card-fee-beside", text, &about);
        } else if !reading.used.iter().any(|r| r.charge == ChargeWord::CardFee) {
            let text = format!(
                "the seller's total is taken to hold the card fee (reckoned at {fee}); where it does not, give the fee a `card_fee` receipt"
            );
            cautions.say("card-fee-within", text, &about);
        }
    }
}

impl Reading<'_> {
    /// The questions as warnings, each at its cell.
    pub fn warnings(&self, jurisdiction: &Jurisdiction<'_>) -> Vec<Diagnostic> {
        let one = |(receipt, question): &(&Receipt, String)| {
            let help =
                "it is left out and the sum stands as reckoned, until the row says otherwise";
            receipt
                .at
                .cell("amount")
                .error(question)
                .help(help)
                .as_warning()
        };
        let deposit = |deposit: &Deposit<'_>, receipt: &Receipt| {
            let help = "it counts as paid, and the balance as still to pay; where it is all that was asked, write `in full` in its `note`";
            receipt
                .at
                .cell("amount")
                .error(deposit.question(jurisdiction))
                .help(help)
                .as_warning()
        };
        let asked = self
            .deposit
            .iter()
            .filter(|deposit| !deposit.told && !deposit.came_back);
        let asked = asked.flat_map(|own| own.receipts.iter().map(|receipt| deposit(own, receipt)));
        self.questioned
            .iter()
            .map(one)
            .chain(asked)
            .chain(self.cancelled_asked(jurisdiction))
            .collect()
    }

    /// The question whether what is still to be ordered was cancelled, at the refund that asks it.
    fn cancelled_asked(&self, jurisdiction: &Jurisdiction<'_>) -> Option<Diagnostic> {
        let (back, Some(Cancelled::Asked(paid))) = (self.refunds.last()?, &self.cancelled) else {
            return None;
        };
        let help = "it is counted as to be ordered at its whole price; take its rows out of the build where they are not wanted any more";
        Some(
            back.receipt
                .at
                .cell("amount")
                .error(Cancelled::question(*paid, jurisdiction))
                .help(help)
                .as_warning(),
        )
    }
}
