//! What a receipt says on its own: where its charge is taken, what it is worth in the destination's money, and what may be lost
//! of it on the way.

use super::bill::Bill;
use super::caution::{Cautions, Saying};
use super::jurisdiction::Jurisdiction;
use super::parcel::ConsignmentState;
use crate::book::{ChargeWord, Receipt};
use crate::tables::Quote;
use crate::text::Diagnostic;
use crate::text::words::capital;
use crate::units::{Currency, Date, Dec, HomeMoney, Money, Overflow, Rounding};

/// The percentage that a card or a bank may take of a refund that was exchanged on its way.
pub(super) const EXCHANGED: u32 = 3;

/// What ends the question whether a part that was refunded in full is there, in the note of its refund.
const KEPT: &str = "kept";

/// What of a parcel decides how its receipts are read; no receipt changes it.
#[derive(Clone, Copy)]
pub(super) struct Ground<'r> {
    /// What the parcel is to its buyer.
    pub(crate) kind: ConsignmentState,
    /// The day of ordering.
    pub(crate) ordered: Date,
    /// The seller's money.
    pub(crate) paid_in: Currency,
    /// Where it goes.
    pub(crate) jurisdiction: &'r Jurisdiction<'r>,
    taxed_at_sale: bool,
    lines: usize,
}

impl<'r> Ground<'r> {
    /// What a bill tells of it.
    pub(super) fn of(bill: &Bill, jurisdiction: &'r Jurisdiction<'r>) -> Ground<'r> {
        Ground {
            kind: bill.kind,
            ordered: bill.ordered,
            paid_in: bill.paid_in,
            jurisdiction,
            taxed_at_sale: bill.taxed_at_sale(),
            lines: bill.lines.len(),
        }
    }

    /// The destination's money.
    pub(super) fn currency(&self) -> Currency {
        self.jurisdiction.currency()
    }

    /// The decimals of that money's minor unit.
    pub(super) fn digits(&self) -> u32 {
        self.currency().digits()
    }

    /// An amount of the destination's money in words.
    pub(super) fn money(&self, amount: HomeMoney) -> String {
        self.jurisdiction.money(amount)
    }

    /// What sums cut to the penny line by line may be off by: a minor unit a line, and two for the sums over them.
    pub(super) fn pennies(&self) -> Result<HomeMoney, Overflow> {
        let lines = u32::try_from(self.lines).map_err(|_| Overflow)?;
        let units = lines.checked_add(2).ok_or(Overflow)?;
        HomeMoney::of(Dec::new(1, self.digits())).times(Dec::from(units))
    }

    /// Whether a charge is taken at the door. Tax whose receipt does not say where it was taken counts where it was due.
    pub(super) fn is_door(&self, charge: ChargeWord) -> bool {
        is_door(charge, self.taxed_at_sale)
    }

    /// Whether what a refund is of is taken at the door; without a word it is of the goods.
    pub(super) fn is_of_door(&self, of: Option<ChargeWord>) -> bool {
        of.is_some_and(|of| self.is_door(of))
    }

    /// The market rate of a receipt's day, else of the day of the order.
    pub(super) fn quote(&self, receipt: &Receipt) -> Result<Quote, Diagnostic> {
        self.jurisdiction.receipt_quote(receipt, self.ordered)
    }

    /// A receipt in the destination's money, by the market rate of its day.
    pub(super) fn home(&self, receipt: &Receipt) -> Result<HomeMoney, Diagnostic> {
        self.jurisdiction.receipt_home(receipt, self.ordered)
    }

    /// What some receipts come to in the destination's money, discounts below zero.
    pub(super) fn total(&self, receipts: &[&Receipt]) -> Result<HomeMoney, Diagnostic> {
        let mut sum = HomeMoney::ZERO;
        for receipt in receipts {
            let own = self.home(receipt)?;
            let off = receipt.charge == ChargeWord::Discount;
            sum = sum.plus(if off { own.negated() } else { own })?;
        }
        Ok(sum)
    }

    /// An amount in the destination's money by the market rate of the day of the order, unrounded.
    pub(super) fn at_order(&self, from: Currency, amount: Dec) -> Result<HomeMoney, Diagnostic> {
        let rate = self.jurisdiction.market_rate(from, self.ordered)?.rate;
        Ok(HomeMoney::of(rate.convert(amount)?))
    }

    /// What a receipt is worth, for the trail: `38.50 USD of 2026-09-24, at the market rate of that day`.
    pub(super) fn worth(&self, receipt: &Receipt) -> Result<(HomeMoney, String), Diagnostic> {
        let day = receipt.date.map(|day| format!(" of {day}"));
        let rate = if receipt.currency == self.currency() {
            ""
        } else {
            ", at the market rate of the day"
        };
        let text = format!("{}{}{rate}", receipt.money(), day.unwrap_or_default());
        Ok((self.home(receipt)?, text))
    }

    /// Says it where a receipt in foreign money has only an old market rate.
    pub(super) fn say_old_rate(&self, receipt: &Receipt, cautions: &mut Cautions) {
        say_old_rate(receipt, self.ordered, self.jurisdiction, cautions);
    }
}

impl Jurisdiction<'_> {
    /// The market rate of a receipt's day, else of the day of the order.
    fn receipt_quote(&self, receipt: &Receipt, ordered: Date) -> Result<Quote, Diagnostic> {
        self.market_rate(receipt.currency, receipt.date.unwrap_or(ordered))
            .map_err(|problem| at_its_day(problem, receipt))
    }

    /// A receipt in the destination's money, by that rate.
    pub(super) fn receipt_home(
        &self,
        receipt: &Receipt,
        ordered: Date,
    ) -> Result<HomeMoney, Diagnostic> {
        let rate = self.receipt_quote(receipt, ordered)?.rate;
        let amount = HomeMoney::of(rate.convert(receipt.amount)?);
        Ok(amount.rounded(Rounding::minor(self.currency().digits()))?)
    }

    /// An amount of the destination's money in words.
    pub(super) fn money(&self, amount: HomeMoney) -> String {
        Money::new(amount.amount(), self.currency()).to_string()
    }
}

/// Whether a note of a receipt holds one of the words that end a question.
pub(super) fn notes(receipt: &Receipt, word: &str) -> bool {
    let note = receipt.at.cell("note").text().to_lowercase();
    note.contains(word)
}

/// Whether a refund's note says that what it is for is there, or still comes.
pub(super) fn is_kept(receipt: &Receipt) -> bool {
    notes(receipt, KEPT)
}

/// The message that a receipt is not used, with the question about it; what a question says to do stands behind a semicolon.
pub(super) fn left_out(receipt: &Receipt, question: &str, worth: Option<HomeMoney>) -> Saying {
    let (question, action) = question
        .split_once("; ")
        .unwrap_or((question, "correct its row, or take it out"));
    let saying = Saying::new(format!(
        "A receipt is left out ({}, `{}` of {}): {question}",
        receipt.at.place(),
        receipt.charge.name(),
        receipt.amount
    ));
    let saying = saying.so(format!("{}.", capital(action)));
    match worth {
        Some(worth) => saying.costs(worth),
        None => saying.costs_unknown(),
    }
}

/// A question about a receipt, as a warning at its cell.
pub(super) fn asked_at(receipt: &Receipt, question: &str, help: &str) -> Diagnostic {
    let problem = receipt.at.cell("amount").error(question);
    problem.help(help).as_warning()
}

/// Whether a receipt is for something at the door.
pub(crate) fn at_door(receipt: &Receipt, bill: &Bill) -> bool {
    is_door(receipt.charge, bill.taxed_at_sale())
}

fn is_door(charge: ChargeWord, taxed_at_sale: bool) -> bool {
    match charge {
        ChargeWord::Duty
        | ChargeWord::Remedy
        | ChargeWord::TaxAtBorder
        | ChargeWord::Handling
        | ChargeWord::ToPayCarrier => true,
        ChargeWord::Tax => !taxed_at_sale,
        _ => false,
    }
}

/// A receipt in the destination's money, by the market rate of its day.
pub(crate) fn in_home_money(
    receipt: &Receipt,
    bill: &Bill,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<HomeMoney, Diagnostic> {
    Ground::of(bill, jurisdiction).home(receipt)
}

/// What sums cut to the penny line by line may be off by.
pub(crate) fn pennies(bill: &Bill, jurisdiction: &Jurisdiction<'_>) -> Result<HomeMoney, Overflow> {
    Ground::of(bill, jurisdiction).pennies()
}

/// A rate that is missing is missing for the day a receipt tells.
pub(crate) fn at_its_day(problem: Diagnostic, receipt: &Receipt) -> Diagnostic {
    let day = receipt.at.cell("date");
    problem.at(if day.is_empty() {
        receipt.at.place()
    } else {
        day.place()
    })
}

/// A limit, with what a card or a bank may make of it on the way where it was exchanged.
pub(super) fn with_slack(limit: HomeMoney, exchanged: bool) -> Result<HomeMoney, Overflow> {
    if !exchanged {
        return Ok(limit);
    }
    let most = Dec::HUNDRED.plus(Dec::from(EXCHANGED))?;
    limit.times(most)?.over(Dec::HUNDRED)
}

/// Says it where a receipt in foreign money has only an old market rate.
pub(super) fn say_old_rate(
    receipt: &Receipt,
    ordered: Date,
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) {
    let day = receipt.date.unwrap_or(ordered);
    let Some((found, age)) = jurisdiction.old_rate(receipt.currency, day) else {
        return;
    };
    let refund = receipt.charge == ChargeWord::Refund;
    let (what, code) = (
        if refund { "refund" } else { "receipt" },
        receipt.currency.code(),
    );
    let text = format!(
        "A {what} of {day} is exchanged at the market rate of {code} of {found}, which is {age} days old"
    );
    let saying = Saying::new(text).so("Import a newer one with `rates import FILE`.");
    cautions.say("rate-old", saying, &[code]);
}
