//! How the receipts of a parcel are understood before they are used: which raise a question and are left out, what one sum holds,
//! and what a refund lowers.

use super::bill::Bill;
use super::caution::{Caution, Cautions, Saying};
use super::held::is_for_held;
use super::jurisdiction::Jurisdiction;
use super::lost;
use super::reading::{Cancelled, Reading, Receiving};
use super::receipt::{Ground, asked_at, left_out};
use crate::book::{Book, ChargeWord, Receipt};
use crate::text::{Diagnostic, words};
use crate::units::{HomeMoney, Overflow};

/// A parcel's bill with its receipts in it, and how they were understood.
pub(crate) fn understood<'a>(
    bill: &Bill,
    book: &'a Book,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<(Bill, Reading<'a>), Diagnostic> {
    let (refunds, used) = receipts_of(bill, book, jurisdiction);
    let idle = used.is_empty() && refunds.is_empty();
    let mut own = Receiving {
        calculated: bill,
        bill: bill.clone(),
        reading: Reading {
            used,
            ..Reading::default()
        },
        book,
        ground: Ground::of(bill, jurisdiction),
    };
    if !idle {
        own.read(&refunds)?;
    }
    Ok((own.bill, own.reading))
}

/// The receipts of a parcel, refunds before the others; those for what is held beside it are not among them.
fn receipts_of<'a>(
    bill: &Bill,
    book: &'a Book,
    jurisdiction: &Jurisdiction<'_>,
) -> (Vec<&'a Receipt>, Vec<&'a Receipt>) {
    let named = |r: &Receipt| {
        let mut lines = bill.lines.iter();
        lines.any(|line| Some(&line.part) == r.part.as_ref())
    };
    book.receipts
        .iter()
        .filter(|r| r.consignment == bill.id && (named(r) || !is_for_held(r, book, jurisdiction)))
        .partition(|r| r.charge == ChargeWord::Refund)
}

impl<'a> Receiving<'_, 'a> {
    /// Reads receipts in their order: charges, what sending back cost, refunds, and what follows of them.
    fn read(&mut self, refunds: &[&'a Receipt]) -> Result<(), Diagnostic> {
        self.ask_about_proportions()?;
        self.reading.sent_back = self.reading.take(ChargeWord::ReturnFreight);
        self.set_totals_apart()?;
        self.charge()?;
        let asked = self.reading.deposit.iter().find(|deposit| !deposit.told);
        self.bill.deposit = asked.map(|deposit| deposit.paid);
        self.send_back(refunds)?;
        for receipt in refunds {
            match self.lower(receipt)? {
                Ok(back) => self.reading.refunds.push(back),
                Err(question) => self.reading.questioned.push((receipt, question)),
            }
        }
        self.reading.cancelled = self.cancel()?;
        let no_balance = self.bill.lines.iter().all(|line| line.cancelled)
            || matches!(self.reading.cancelled, Some(Cancelled::Asked(_)));
        if let Some(deposit) = &mut self.reading.deposit {
            deposit.came_back = no_balance;
        }
        self.reading.lost = self.mark_lost()?;
        self.reading.cautions = self.cautions();
        Ok(())
    }

    /// The bill with the charges in it, refunds left aside. Receipts that would make goods cost less than nothing are set aside
    /// with their question, one word after the other.
    fn charge(&mut self) -> Result<(), Diagnostic> {
        loop {
            self.reading.one_sum = self.one_sum()?;
            self.reading.fee_apart = self.fee_apart();
            self.bill = self.calculated.clone();
            self.charge_up()?;
            let Some(word) = self.makes_negative()? else {
                return Ok(());
            };
            let a = &self.bill.amounts;
            let question = format!(
                "is the amount right? It would make the goods of {} cost {}",
                self.bill.id,
                self.ground.money(a.net_goods()?.min(a.goods))
            );
            let out = self.reading.take(word).into_iter();
            let asked = out.map(|receipt| (receipt, question.clone()));
            self.reading.questioned.extend(asked);
        }
    }

    /// The receipts that would make goods cost less than nothing: a total before a discount, a discount before a price.
    fn makes_negative(&self) -> Result<Option<ChargeWord>, Overflow> {
        let charged = &self.bill.amounts;
        let least = self.calculated.amounts.net_goods()?.min(HomeMoney::ZERO);
        if !charged.goods.is_negative() && charged.net_goods()? >= least {
            return Ok(None);
        }
        let mut doubtful = [
            ChargeWord::ToPaySeller,
            ChargeWord::Discount,
            ChargeWord::Goods,
        ]
        .into_iter();
        Ok(doubtful.find(|word| self.reading.uses(*word)))
    }

    /// Where both duty and anti-dumping are due and only one of them has a receipt, that receipt is their sum if its amount is
    /// nearer to that than to what was calculated of the one it names.
    fn one_sum(&self) -> Result<Option<ChargeWord>, Diagnostic> {
        let a = self.calculated.amounts;
        let both_due = a.duty.is_positive() && a.remedy.is_positive();
        if !both_due || self.reading.uses(ChargeWord::ToPayCarrier) {
            return Ok(None);
        }
        let pennies = self.ground.pennies()?;
        let (duty, remedy) = (
            self.sum_of(ChargeWord::Duty)?,
            self.sum_of(ChargeWord::Remedy)?,
        );
        let both = a.duty.plus(a.remedy)?;
        Ok(match (duty, remedy) {
            (Some(duty), None) if duty.minus(a.duty)? > both.minus(duty)?.max(pennies) => {
                Some(ChargeWord::Duty)
            }
            (None, Some(remedy)) if remedy.minus(both)?.abs() <= pennies => {
                Some(ChargeWord::Remedy)
            }
            _ => None,
        })
    }

    /// A total in the seller's foreign money is what the seller took: the card's fee comes on top of it. One in the destination's
    /// money is off the card's statement, and holds the fee.
    fn fee_apart(&self) -> bool {
        let foreign = |receipt: &Receipt| receipt.currency == self.bill.paid_in;
        self.reading.sellers_totals().next().is_some()
            && !self.reading.uses(ChargeWord::CardFee)
            && self.calculated.amounts.card_fee.is_positive()
            && self.reading.sellers_totals().all(foreign)
    }

    /// What must be said of the receipts.
    fn cautions(&self) -> Vec<Caution> {
        let mut cautions = Cautions::default();
        let reading = &self.reading;
        for (receipt, question) in &reading.questioned {
            let saying = left_out(receipt, question, self.ground.home(receipt).ok());
            cautions.say("receipt-questioned", saying, &[&self.bill.id]);
        }
        for receipt in &reading.summed {
            let (name, at) = (receipt.charge.name(), receipt.at.place());
            let article = words::capital(words::article(name));
            let text = format!(
                "{article} `{name}` receipt ({at}) is the sum of the receipts beside it, so it counts once, and nothing else was charged on its side"
            );
            let saying = Saying::new(text).so("If something else was, enter a receipt for it.");
            cautions.say("total-of-items", saying, &[&self.bill.id]);
        }
        self.say_deposit(&mut cautions);
        if let Some(word) = reading.one_sum {
            let amounts = &self.calculated.amounts;
            let other = if word == ChargeWord::Duty {
                amounts.remedy
            } else {
                amounts.duty
            };
            let text = format!(
                "Import duty and anti-dumping duty are both due, and the `{}` receipt is read as the sum of both",
                word.name()
            );
            let saying = Saying::new(text)
                .so("If it is not, give the other a receipt of its own, `0` if nothing was charged.")
                .costs(other);
            cautions.say("duties-in-one-sum", saying, &[&self.bill.id]);
        }
        self.say_card_fee(&mut cautions);
        let charges = reading.used.iter().chain(&reading.sent_back);
        for receipt in charges.chain(reading.of_deposit()) {
            self.ground.say_old_rate(receipt, &mut cautions);
        }
        self.say_money_back(&mut cautions);
        cautions.into_list()
    }

    /// What must be said of refunds, and of what follows of them.
    fn say_money_back(&self, cautions: &mut Cautions) {
        for back in &self.reading.refunds {
            self.say_refund(back, cautions);
        }
        if let Some(cancelled) = &self.reading.cancelled {
            cancelled.say(&self.ground, &self.bill.id, cautions);
        }
        for back in &self.reading.refunds {
            if let (Some(first), Some(day)) = (self.paid_later(back), back.receipt.date) {
                let text = format!(
                    "Is the day right? A refund ({}) is of {day}, before the first payment of {first}, and is counted",
                    back.receipt.at.place()
                );
                let saying = Saying::new(text).so("Correct the `date` of one of them.");
                cautions.say("refund-before-payment", saying, &[&self.bill.id]);
            }
        }
        lost::say(&self.bill, self.reading.lost, cautions);
    }

    /// What the receipt of a deposit is taken for, unless that came back.
    fn say_deposit(&self, cautions: &mut Cautions) {
        let Some(deposit) = self
            .reading
            .deposit
            .as_ref()
            .filter(|deposit| !deposit.came_back)
        else {
            return;
        };
        let (id, saying) = if deposit.told {
            let paid = self.ground.money(deposit.paid);
            let text = format!(
                "The `to_pay_seller` receipt is the {paid} of `paid`, so it is read as that deposit, and the balance is still to pay"
            );
            let saying = Saying::new(text)
                .so("If nothing more is due, enter what the goods cost as a `goods` receipt.");
            ("deposit-receipt", saying)
        } else {
            let question = deposit.question(self.ground.jurisdiction);
            let text = format!(
                "{}. It counts as paid, and the balance as still to pay",
                words::capital(&question)
            );
            let saying = Saying::new(text)
                .so("If it is all that was asked, write `in full` in the `note` of its receipt.");
            ("deposit-asked", saying)
        };
        let all = self.calculated.amounts.to_seller();
        let saying = match all.and_then(|all| all.minus(deposit.paid)) {
            Ok(balance) => saying.costs(balance),
            Err(_) => saying.costs_unknown(),
        };
        cautions.say(id, saying, &[&self.bill.id]);
    }

    /// Whether the seller's total holds the card fee, or the fee stands beside it.
    fn say_card_fee(&self, cautions: &mut Cautions) {
        let fee = self.calculated.amounts.card_fee;
        if self.reading.sellers_totals().next().is_none() || !fee.is_positive() {
            return;
        }
        let shown = self.ground.money(fee);
        if self.reading.fee_apart {
            let text = format!(
                "The seller's total is in the seller's money, so it is read without the card fee, and {shown} is counted beside it"
            );
            let saying = Saying::new(text).so("Enter the fee as a `card_fee` receipt.");
            cautions.say("card-fee-beside", saying.costs(fee), &[&self.bill.id]);
        } else if !self.reading.uses(ChargeWord::CardFee) {
            let text =
                format!("The seller's total is read as holding the card fee, estimated at {shown}");
            let saying =
                Saying::new(text).so("If it does not, enter the fee as a `card_fee` receipt.");
            cautions.say("card-fee-within", saying.costs(fee), &[&self.bill.id]);
        }
    }
}

impl Reading<'_> {
    /// The receipts for all that the seller took.
    fn sellers_totals(&self) -> impl Iterator<Item = &Receipt> {
        let all = self.used.iter().chain(&self.summed).copied();
        all.filter(|receipt| receipt.charge == ChargeWord::ToPaySeller)
    }

    /// The questions as warnings, each at its cell.
    pub(crate) fn warnings(&self, jurisdiction: &Jurisdiction<'_>) -> Vec<Diagnostic> {
        let left_out = "it is left out and the sum stays as estimated, until the row is corrected";
        let in_full = "it counts as paid, and the balance as still to pay; if it is all that was asked, write `in full` in its `note`";
        let asked = self
            .deposit
            .iter()
            .filter(|own| !own.told && !own.came_back);
        let asked = asked.flat_map(|own| {
            let question = own.question(jurisdiction);
            let receipts = own.receipts.iter();
            receipts.map(move |receipt| asked_at(receipt, &question, in_full))
        });
        self.questioned
            .iter()
            .map(|(receipt, question)| asked_at(receipt, question, left_out))
            .chain(asked)
            .chain(self.cancelled_asked(jurisdiction))
            .collect()
    }

    /// The question whether what is still to be ordered was cancelled, at the refund that asks it.
    fn cancelled_asked(&self, jurisdiction: &Jurisdiction<'_>) -> Option<Diagnostic> {
        let (back, Some(Cancelled::Asked(paid))) = (self.refunds.last()?, &self.cancelled) else {
            return None;
        };
        let question = Cancelled::question(*paid, jurisdiction);
        Some(asked_at(back.receipt, &question, Cancelled::STILL_TO_ORDER))
    }
}
