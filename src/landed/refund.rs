//! Money back: what a refund lowers, never below nought, and what it leaves as it was.

use super::actual::in_home_money;
use super::bill::{Amounts, Bill};
use super::caution::Cautions;
use super::deposit::paid_of;
use super::desk::Desk;
use super::lump::{at_door, is_door};
use super::parcel::Kind;
use super::reading::{Reading, money, pennies};
use crate::book::{Book, ChargeWord, Receipt};
use crate::text::Diagnostic;
use crate::units::{Dec, Overflow, Rounding, share};

/// A refund that is used.
#[derive(Debug, Clone)]
pub struct Back<'a> {
    /// Its receipt.
    pub receipt: &'a Receipt,
    /// The charge it is of; none where the seller gave it for goods.
    pub of: Option<ChargeWord>,
    /// What it comes to in the destination's money.
    pub amount: Dec,
    /// What of it is more than was paid, and lowers nothing.
    pub rest: Dec,
    /// What it takes of each sum, line by line.
    pub taken: Vec<(&'static str, Vec<Dec>)>,
}

/// A sum that a refund can lower: its name on a sheet, how much of it is there, and how it is lowered.
type Lowered = (&'static str, fn(&Amounts) -> Result<Dec, Overflow>, fn(&mut Amounts) -> &mut Dec);

const GOODS: Lowered = ("discount", |a| a.goods.minus(a.discount), |a| &mut a.discount);
const FREIGHT: Lowered = ("freight", |a| Ok(a.freight), |a| &mut a.freight);
const INSURANCE: Lowered = ("insurance", |a| Ok(a.insurance), |a| &mut a.insurance);
const AT_SALE: Lowered = ("tax at the sale", |a| Ok(a.tax_at_sale), |a| &mut a.tax_at_sale);
const CARD_FEE: Lowered = ("card fee", |a| Ok(a.card_fee), |a| &mut a.card_fee);
const DUTY: Lowered = ("duty", |a| Ok(a.duty), |a| &mut a.duty);
const REMEDY: Lowered = ("anti-dumping", |a| Ok(a.remedy), |a| &mut a.remedy);
const AT_BORDER: Lowered = ("tax at the border", |a| Ok(a.tax_at_border), |a| &mut a.tax_at_border);
const HANDLING: Lowered = ("carrier's fee", |a| Ok(a.handling), |a| &mut a.handling);

/// What a refund lowers, in order: the goods and then what else the seller took, or the charge it is of.
fn sums(of: Option<ChargeWord>, bill: &Bill, one_sum: bool) -> &'static [Lowered] {
    match of {
        Some(ChargeWord::Freight | ChargeWord::ReturnFreight) => &[FREIGHT],
        Some(ChargeWord::Insurance) => &[INSURANCE],
        Some(ChargeWord::CardFee) => &[CARD_FEE],
        Some(ChargeWord::TaxAtSale) => &[AT_SALE],
        Some(ChargeWord::Tax) if bill.taxed_at_sale() => &[AT_SALE],
        Some(ChargeWord::Tax | ChargeWord::TaxAtBorder) => &[AT_BORDER],
        Some(ChargeWord::Duty) if one_sum => &[DUTY, REMEDY],
        Some(ChargeWord::Remedy) if one_sum => &[REMEDY, DUTY],
        Some(ChargeWord::Duty) => &[DUTY],
        Some(ChargeWord::Remedy) => &[REMEDY],
        Some(ChargeWord::Handling) => &[HANDLING],
        Some(ChargeWord::ToPayCarrier) => &[AT_BORDER, DUTY, REMEDY, HANDLING],
        None | Some(ChargeWord::Goods | ChargeWord::Discount | ChargeWord::Refund | ChargeWord::ToPaySeller) => {
            &[GOODS, AT_SALE, FREIGHT, INSURANCE, CARD_FEE]
        }
    }
}

/// A refund that says neither a part nor a charge, and is to the penny what one charge beside the price was: it is of that charge.
fn of_charge(receipt: &Receipt, used: &[&Receipt]) -> Option<ChargeWord> {
    let words = [
        ChargeWord::Duty,
        ChargeWord::Remedy,
        ChargeWord::TaxAtBorder,
        ChargeWord::Tax,
        ChargeWord::TaxAtSale,
        ChargeWord::Handling,
        ChargeWord::ToPayCarrier,
    ];
    let same = |r: &&&Receipt| words.contains(&r.charge) && r.amount == receipt.amount && r.currency == receipt.currency;
    receipt.of.or_else(|| used.iter().find(same).filter(|_| receipt.part.is_none()).map(|r| r.charge))
}

/// Lowers a bill by a refund; the inner error is the question where it is more than can have come back.
pub(super) fn lower<'a>(
    bill: &mut Bill,
    receipt: &'a Receipt,
    reading: &Reading<'_>,
    book: &Book,
    desk: &Desk<'_>,
) -> Result<Result<Back<'a>, String>, Diagnostic> {
    let of = of_charge(receipt, &reading.used);
    let lines: Vec<usize> = match &receipt.part {
        None => (0..bill.lines.len()).collect(),
        Some(part) => (0..bill.lines.len()).filter(|at| bill.lines[*at].part == *part).collect(),
    };
    if lines.is_empty() {
        return Ok(Err("is the part right? it is not among the parts that are reckoned in this parcel".to_owned()));
    }
    let tells = lines.iter().any(|at| paid_of(&bill.lines[*at], book).is_some_and(Dec::is_positive));
    if !is_paid(of, bill, reading, tells) {
        return Ok(Err(never_paid(of, bill).to_owned()));
    }
    let amount = in_home_money(receipt, bill, desk)?;
    let sums = sums(of, bill, reading.one_sum.is_some());
    let there = Dec::total(available(bill, &lines, sums)?.into_iter().flatten())?;
    let then =
        Rounding::minor(desk.currency().digits()).apply(desk.market_rate(receipt.currency, bill.ordered)?.rate.convert(receipt.amount)?)?;
    if amount.min(then) > there.plus(pennies(bill, desk)?)? {
        let for_what = receipt.part.clone().unwrap_or_else(|| of.map_or("this parcel", ChargeWord::name).to_owned());
        return Ok(Err(format!("is the amount right? it is more than the {} that was paid for {for_what}", money(there, desk))));
    }
    let mut back = Back { receipt, of, amount, rest: amount, taken: Vec::new() };
    for sum in sums {
        take(bill, &lines, sum, &mut back, desk.currency().digits())?;
    }
    Ok(Ok(back))
}

/// Whether something was paid of what a refund is of: as the standing of the parcel says or its rows tell, else by a receipt.
fn is_paid(of: Option<ChargeWord>, bill: &Bill, reading: &Reading<'_>, tells: bool) -> bool {
    let door = of.is_some_and(|of| is_door(of, bill));
    let by_standing = match bill.kind {
        Kind::ToOrder => false,
        Kind::OnOrder => !door && tells,
        Kind::InHand | Kind::Gift => true,
    };
    let receipt = |r: &&Receipt| at_door(r, bill) == door && r.amount.is_positive() && r.charge != ChargeWord::Discount;
    let deposit = reading.deposit.iter().flat_map(|deposit| &deposit.receipts);
    by_standing || reading.used.iter().chain(&reading.sent_back).chain(deposit).copied().any(|r| receipt(&r))
}

/// The question, where nothing is told to have been paid that could have come back.
fn never_paid(of: Option<ChargeWord>, bill: &Bill) -> &'static str {
    if bill.kind == Kind::OnOrder && !of.is_some_and(|of| is_door(of, bill)) {
        "what was paid? nothing tells it that could have come back: give the row its `paid`, or the payment a receipt"
    } else {
        "is this parcel's standing right? nothing is told to have been paid that could have come back"
    }
}

/// What each sum of each of these lines holds.
fn available(bill: &Bill, lines: &[usize], sums: &[Lowered]) -> Result<Vec<Vec<Dec>>, Overflow> {
    let of = |sum: &Lowered| lines.iter().map(|at| (sum.1)(&bill.lines[*at].amounts).map(|held| held.max(Dec::ZERO))).collect();
    sums.iter().map(of).collect()
}

/// Takes of one sum what it holds and the refund still has.
fn take(bill: &mut Bill, lines: &[usize], sum: &Lowered, back: &mut Back<'_>, digits: u32) -> Result<(), Overflow> {
    let held = available(bill, lines, std::slice::from_ref(sum))?.concat();
    let taken = back.rest.min(Dec::total(held.iter().copied())?);
    if !taken.is_positive() {
        return Ok(());
    }
    let (name, _, field) = *sum;
    let lowered = |amounts: &mut Amounts, by: Dec| -> Result<(), Overflow> {
        let now = field(amounts);
        *now = if name == GOODS.0 { now.plus(by)? } else { now.minus(by)? };
        Ok(())
    };
    let mut parts = vec![Dec::ZERO; bill.lines.len()];
    for (at, part) in lines.iter().zip(share(taken, &held, digits)?) {
        let line = &mut bill.lines[*at];
        lowered(&mut line.amounts, part)?;
        line.refunded = line.refunded.plus(part)?;
        parts[*at] = part;
    }
    lowered(&mut bill.amounts, taken)?;
    lowered(&mut bill.known, taken)?;
    bill.move_disputed(taken.negated())?;
    back.rest = back.rest.minus(taken)?;
    back.taken.push((name, parts));
    Ok(())
}

impl Back<'_> {
    /// What must be said of it.
    pub(super) fn say(&self, bill: &Bill, desk: &Desk<'_>, cautions: &mut Cautions) {
        let about = [bill.id.as_str()];
        if let Some(of) = self.of.filter(|_| self.receipt.of.is_none()) {
            let text = format!(
                "a refund is to the penny what `{}` was and is taken to be of that; write `refund of ...` to say what it is of",
                of.name()
            );
            cautions.say("refund-of-charge", text, &about);
        }
        if self.of.is_none() && self.receipt.part.is_none() && bill.lines.len() > 1 {
            let text = "a refund is shared over the parts of the parcel by their price; where it is for one part, name that in the column `part` of `receipts.csv`";
            cautions.say("refund-shared", text, &about);
        }
        if self.rest.is_positive() {
            let text = format!("{} of a refund is more than was paid, by exchange: it lowers nothing", money(self.rest, desk));
            cautions.say("refund-beyond", text, &about);
        }
    }
}
