//! What was really charged takes the place of what was calculated: receipts of one consignment, each with its step in the trail.

use super::bill::Bill;
use super::caution::Cautions;
use super::jurisdiction::Jurisdiction;
use super::reading::{Deposit, Reading};
use super::receipt::worth;
use super::trail::of_receipt;
use super::understood::understood;
use crate::book::{Book, Receipt};
use crate::text::{Diagnostic, Location, words};

/// Puts receipts in the place of what was calculated; charges without one stay as calculated, and so do those whose receipt is asked
/// about.
pub(super) fn put(
    bill: &mut Bill,
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<(), Diagnostic> {
    if !book.receipts.iter().any(|r| r.consignment == bill.id) {
        return Ok(());
    }
    let (charged, reading) = understood(bill, book, jurisdiction)?;
    *bill = charged;
    add_charges(bill, &reading, jurisdiction)?;
    if let Some(deposit) = &reading.deposit {
        add_deposit(bill, deposit);
    }
    add_money_back(bill, &reading, jurisdiction)?;
    for (receipt, question) in &reading.questioned {
        bill.trail
            .push(of_receipt(receipt, format!("left out: {question}"), None));
    }
    bill.questions = reading.warnings(jurisdiction);
    let typed_twice = typed_twice(bill, book, &reading);
    let mut cautions = Cautions::default();
    cautions.extend(std::mem::take(&mut bill.cautions));
    cautions.extend(reading.cautions);
    for text in typed_twice {
        cautions.say("receipt-twice", text, &[&bill.id]);
    }
    bill.cautions = cautions.into_list();
    Ok(())
}

/// The steps of charges that stand in the place of what was calculated.
fn add_charges(
    bill: &mut Bill,
    reading: &Reading<'_>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<(), Diagnostic> {
    for receipt in &reading.used {
        let (amount, text) = worth(receipt, bill, jurisdiction)?;
        bill.trail.push(of_receipt(
            receipt,
            format!("{text}, in the place of what was reckoned"),
            Some(amount),
        ));
    }
    for receipt in &reading.summed {
        bill.trail.push(of_receipt(
            receipt,
            "the sum of the receipts beside it: counts once".to_owned(),
            None,
        ));
    }
    Ok(())
}

/// The steps of a deposit: its receipts say what was paid, and move no sum.
fn add_deposit(bill: &mut Bill, deposit: &Deposit<'_>) {
    let of = if deposit.told {
        "the deposit that `paid` tells"
    } else {
        "what is taken for a deposit"
    };
    let balance = if deposit.came_back {
        "it came back"
    } else {
        "the balance is still to pay"
    };
    for receipt in &deposit.receipts {
        bill.trail.push(of_receipt(
            receipt,
            format!("the receipt of {of}: {balance}"),
            None,
        ));
    }
}

/// The steps of what sending goods back cost, and of what came back.
fn add_money_back(
    bill: &mut Bill,
    reading: &Reading<'_>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<(), Diagnostic> {
    for receipt in &reading.sent_back {
        let (amount, text) = worth(receipt, bill, jurisdiction)?;
        bill.trail.push(of_receipt(
            receipt,
            format!("{text}, for sending goods back: on top of the freight"),
            Some(amount),
        ));
    }
    for back in &reading.refunds {
        let (amount, text) = worth(back.receipt, bill, jurisdiction)?;
        let mut names: Vec<&str> = Vec::new();
        for (name, _) in &back.taken {
            let name = if *name == "discount" { "goods" } else { *name };
            if !names.contains(&name) {
                names.push(name);
            }
        }
        let text = format!("{text}, lowers {}", words::list(&names, "and"));
        bill.trail
            .push(of_receipt(back.receipt, text, Some(amount.negated())));
    }
    if let Some(last) = reading.refunds.last().filter(|_| reading.lost) {
        let text = "with it everything in the parcel came back before it arrived: nothing more is due at the door".to_owned();
        bill.trail.push(of_receipt(last.receipt, text, None));
    }
    Ok(())
}

/// The question about each receipt that says what an earlier one says, where both are counted.
fn typed_twice(bill: &Bill, book: &Book, reading: &Reading<'_>) -> Vec<String> {
    let left_out: Vec<Location> = reading
        .questioned
        .iter()
        .map(|(receipt, _)| receipt.at.place())
        .collect();
    let again = |receipt: &&Receipt| {
        receipt.consignment == bill.id && receipt.again && !left_out.contains(&receipt.at.place())
    };
    let question = |receipt: &Receipt| {
        format!(
            "is a receipt typed twice ({}, `{}` of {} {})? an earlier row says the same, and both are counted; take one row out, or give each its own day or a `note`",
            receipt.at.place(),
            receipt.charge.name(),
            receipt.amount.grouped(receipt.currency.digits()),
            receipt.currency
        )
    };
    book.receipts.iter().filter(again).map(question).collect()
}
