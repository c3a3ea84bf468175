//! What was really charged takes the place of what was calculated: receipts of one consignment, each with its step in the trail.

use std::convert::identity;

use super::bill::Bill;
use super::caution::{Cautions, Saying};
use super::jurisdiction::Jurisdiction;
use super::reading::{Back, Deposit, Reading};
use super::receipt::Ground;
use super::trail::of_receipt;
use super::understood::understood;
use crate::book::{Book, Receipt};
use crate::text::{Diagnostic, Location, words};
use crate::units::HomeMoney;

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
    let ground = Ground::of(bill, jurisdiction);
    let mut steps = Steps { bill, ground };
    steps.charges(&reading)?;
    if let Some(deposit) = &reading.deposit {
        steps.deposit(deposit);
    }
    steps.money_back(&reading)?;
    for (receipt, question) in &reading.questioned {
        steps.note(receipt, format!("left out: {question}"));
    }
    bill.questions = reading.warnings(jurisdiction);
    let typed_twice = typed_twice(bill, book, &reading, &Ground::of(bill, jurisdiction));
    let mut cautions = Cautions::default();
    cautions.extend(std::mem::take(&mut bill.cautions));
    cautions.extend(reading.cautions);
    for saying in typed_twice {
        cautions.say("receipt-twice", saying, &[&bill.id]);
    }
    bill.cautions = cautions.into_list();
    Ok(())
}

/// The trail of a bill, to which the steps of receipts are added.
struct Steps<'r> {
    bill: &'r mut Bill,
    ground: Ground<'r>,
}

impl Steps<'_> {
    /// A receipt that moves no sum, or whose sum stands elsewhere.
    fn note(&mut self, receipt: &Receipt, text: String) {
        self.bill.trail.push(of_receipt(receipt, text, None));
    }

    /// A receipt that moves a sum, with what it does.
    fn moves(
        &mut self,
        receipt: &Receipt,
        does: &str,
        sign: fn(HomeMoney) -> HomeMoney,
    ) -> Result<(), Diagnostic> {
        let (amount, text) = self.ground.worth(receipt)?;
        let step = of_receipt(receipt, format!("{text}, {does}"), Some(sign(amount)));
        self.bill.trail.push(step);
        Ok(())
    }

    /// The steps of charges that stand in the place of what was calculated.
    fn charges(&mut self, reading: &Reading<'_>) -> Result<(), Diagnostic> {
        for receipt in &reading.used {
            self.moves(receipt, "in place of the estimate", identity)?;
        }
        for receipt in &reading.summed {
            let text = "the sum of the receipts beside it: counts once";
            self.note(receipt, text.to_owned());
        }
        Ok(())
    }

    /// The steps of a deposit: its receipts say what was paid, and move no sum.
    fn deposit(&mut self, deposit: &Deposit<'_>) {
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
            self.note(receipt, format!("the receipt of {of}: {balance}"));
        }
    }

    /// The steps of what sending goods back cost, and of what came back.
    fn money_back(&mut self, reading: &Reading<'_>) -> Result<(), Diagnostic> {
        for receipt in &reading.sent_back {
            let does = "for sending goods back: on top of the freight";
            self.moves(receipt, does, |amount| amount)?;
        }
        for back in &reading.refunds {
            let does = format!("lowers {}", words::list(&lowered(back), "and"));
            self.moves(back.receipt, &does, HomeMoney::negated)?;
        }
        if let Some(last) = reading.refunds.last().filter(|_| reading.lost) {
            let text = "with it everything in the parcel came back before it arrived: nothing more is due at the door";
            self.note(last.receipt, text.to_owned());
        }
        Ok(())
    }
}

/// The names of what a refund lowers, each once.
fn lowered(back: &Back<'_>) -> Vec<&'static str> {
    let mut names: Vec<&str> = Vec::new();
    for (sum, _) in &back.taken {
        let name = sum.lowered().name();
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

/// The question about each receipt that says what an earlier one says, where both are counted.
fn typed_twice(
    bill: &Bill,
    book: &Book,
    reading: &Reading<'_>,
    ground: &Ground<'_>,
) -> Vec<Saying> {
    let left_out = reading
        .questioned
        .iter()
        .map(|(receipt, _)| receipt.at.place());
    let left_out: Vec<Location> = left_out.collect();
    let again = |receipt: &&Receipt| {
        receipt.consignment == bill.id && receipt.again && !left_out.contains(&receipt.at.place())
    };
    let question = |receipt: &Receipt| {
        let saying = Saying::new(format!(
            "Is a receipt typed twice ({}, `{}` of {})? An earlier row says the same, and both are counted",
            receipt.at.place(),
            receipt.charge.name(),
            receipt.money()
        ));
        let saying = saying.so("Take one row out, or give each its own day or a `note`.");
        match ground.home(receipt) {
            Ok(worth) => saying.costs(worth),
            Err(_) => saying.costs_unknown(),
        }
    };
    book.receipts.iter().filter(again).map(question).collect()
}
