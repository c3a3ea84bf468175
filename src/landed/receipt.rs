//! What a receipt says by itself: where its charge is taken, what it is worth in the destination's money, and what may be lost of
//! it on the way.

use super::bill::Bill;
use super::caution::Cautions;
use super::jurisdiction::Jurisdiction;
use crate::book::{ChargeWord, Receipt};
use crate::tables::Quote;
use crate::text::Diagnostic;
use crate::units::{Date, Dec, Overflow, Rounding};

/// In the hundred: what a card or a bank may take of a refund that was exchanged on its way.
pub(super) const EXCHANGED: u32 = 3;

/// What ends the question whether a part that was refunded in full is there, in the note of its refund.
const KEPT: &str = "kept";

/// Whether a refund's note says that what it is for is there, or still comes.
pub(super) fn is_kept(receipt: &Receipt) -> bool {
    receipt.at.cell("note").text().to_lowercase().contains(KEPT)
}

/// That a receipt is not used, and what is asked about it.
pub(super) fn left_out(receipt: &Receipt, question: &str) -> String {
    format!(
        "a receipt is left out ({}, `{}` of {}): {question}",
        receipt.at.place(),
        receipt.charge.name(),
        receipt.amount
    )
}

/// Whether a receipt is for something at the door.
pub fn at_door(receipt: &Receipt, bill: &Bill) -> bool {
    is_door(receipt.charge, bill)
}

/// Whether a charge is taken at the door; tax that is not told apart is where it was to be taken.
pub(super) fn is_door(charge: ChargeWord, bill: &Bill) -> bool {
    let always = [
        ChargeWord::Duty,
        ChargeWord::Remedy,
        ChargeWord::TaxAtBorder,
        ChargeWord::Handling,
        ChargeWord::ToPayCarrier,
    ];
    always.contains(&charge) || (charge == ChargeWord::Tax && !bill.taxed_at_sale())
}

/// The market rate of a receipt's day, else of the day of the order.
pub(super) fn quote_of(
    receipt: &Receipt,
    bill: &Bill,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Quote, Diagnostic> {
    jurisdiction
        .market_rate(receipt.currency, receipt.date.unwrap_or(bill.ordered))
        .map_err(|problem| at_its_day(problem, receipt))
}

/// A receipt in the destination's money, by the market rate of its day.
pub fn in_home_money(
    receipt: &Receipt,
    bill: &Bill,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Dec, Diagnostic> {
    let quote = quote_of(receipt, bill, jurisdiction)?;
    Ok(Rounding::minor(jurisdiction.currency().digits())
        .apply(quote.rate.convert(receipt.amount)?)?)
}

/// A rate that is missing is missing for the day a receipt tells.
pub fn at_its_day(problem: Diagnostic, receipt: &Receipt) -> Diagnostic {
    let day = receipt.at.cell("date");
    problem.at(if day.is_empty() {
        receipt.at.place()
    } else {
        day.place()
    })
}

/// What some receipts come to in the destination's money, discounts below zero.
pub(super) fn home(
    receipts: &[&Receipt],
    bill: &Bill,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Dec, Diagnostic> {
    let mut sum = Dec::ZERO;
    for receipt in receipts {
        sum = sum.plus(signed(receipt, in_home_money(receipt, bill, jurisdiction)?))?;
    }
    Ok(sum)
}

/// An amount of a receipt, below zero where it is of a discount.
pub(super) fn signed(receipt: &Receipt, amount: Dec) -> Dec {
    if receipt.charge == ChargeWord::Discount {
        amount.negated()
    } else {
        amount
    }
}

/// What a receipt is worth, for the trail: `38.50 USD of 2026-09-24, at the market rate of that day`.
pub(super) fn worth(
    receipt: &Receipt,
    bill: &Bill,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<(Dec, String), Diagnostic> {
    let day = receipt
        .date
        .map(|day| format!(" of {day}"))
        .unwrap_or_default();
    let asked = format!(
        "{} {}{day}",
        receipt.amount.grouped(receipt.currency.digits()),
        receipt.currency
    );
    let rate = if receipt.currency == jurisdiction.currency() {
        ""
    } else {
        ", at the market rate of the day"
    };
    Ok((
        in_home_money(receipt, bill, jurisdiction)?,
        format!("{asked}{rate}"),
    ))
}

/// A limit, with what a card or a bank may make of it on the way where it was exchanged.
pub(super) fn with_slack(limit: Dec, exchanged: bool) -> Result<Dec, Overflow> {
    if exchanged {
        limit
            .times(Dec::HUNDRED.plus(Dec::from(EXCHANGED))?)?
            .over(Dec::HUNDRED)
    } else {
        Ok(limit)
    }
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
    let (code, what) = (
        receipt.currency.code(),
        if receipt.charge == ChargeWord::Refund {
            "refund"
        } else {
            "receipt"
        },
    );
    let text = format!(
        "a {what} of {day} is exchanged at the market rate of {code} of {found}, which is {age} days old"
    );
    cautions.say("rate-old", text, &[code]);
}

/// What sums cut to the penny line by line may be off by: a minor unit a line, and two for the sums over them.
pub fn pennies(bill: &Bill, jurisdiction: &Jurisdiction<'_>) -> Result<Dec, Overflow> {
    let lines = u32::try_from(bill.lines.len()).map_err(|_| Overflow)?;
    let units = lines.checked_add(2).ok_or(Overflow)?;
    Dec::new(1, jurisdiction.currency().digits()).times(Dec::from(units))
}

/// An amount of the destination's money in words.
pub(super) fn money(amount: Dec, jurisdiction: &Jurisdiction<'_>) -> String {
    format!(
        "{} {}",
        amount.grouped(jurisdiction.currency().digits()),
        jurisdiction.currency()
    )
}
