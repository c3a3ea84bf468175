//! Money back: what a refund lowers, never below zero, and what it leaves as it was.

use super::bill::{Bill, ChargeBreakdown};
use super::caution::Cautions;
use super::deposit::paid_of;
use super::jurisdiction::Jurisdiction;
use super::parcel::ConsignmentState;
use super::reading::{Back, Reading};
use super::receipt::{at_door, in_home_money, is_door, money, pennies, say_old_rate, with_slack};
use crate::book::{Book, ChargeWord, ParcelRow, Receipt, consignment_of};
use crate::text::Diagnostic;
use crate::units::{Date, Dec, Overflow, Rounding, share};

/// What there is for a refund to take of.
#[derive(Clone, Copy)]
struct Limits {
    /// In the sums that it can lower.
    there: Dec,
    /// As was really paid, where rows or a deposit tell that.
    paid: Option<Dec>,
    /// What the refund is worth by the rate of the order, where it came in foreign money.
    then: Option<Dec>,
}

/// A sum that a refund can lower: its name on a sheet, how much of it is there, and how it is lowered.
pub(super) type Lowered = (
    &'static str,
    fn(&ChargeBreakdown) -> Result<Dec, Overflow>,
    fn(&mut ChargeBreakdown) -> &mut Dec,
);

pub(super) const GOODS: Lowered = (
    "discount",
    |a| a.goods.minus(a.discount),
    |a| &mut a.discount,
);
pub(super) const FREIGHT: Lowered = ("freight", |a| Ok(a.freight), |a| &mut a.freight);
pub(super) const INSURANCE: Lowered = ("insurance", |a| Ok(a.insurance), |a| &mut a.insurance);
pub(super) const AT_SALE: Lowered = (
    "tax at the sale",
    |a| Ok(a.tax_at_sale),
    |a| &mut a.tax_at_sale,
);
pub(super) const CARD_FEE: Lowered = ("card fee", |a| Ok(a.card_fee), |a| &mut a.card_fee);
const DUTY: Lowered = ("duty", |a| Ok(a.duty), |a| &mut a.duty);
const REMEDY: Lowered = ("anti-dumping", |a| Ok(a.remedy), |a| &mut a.remedy);
const AT_BORDER: Lowered = (
    "tax at the border",
    |a| Ok(a.tax_at_border),
    |a| &mut a.tax_at_border,
);
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
        None
        | Some(
            ChargeWord::Goods | ChargeWord::Discount | ChargeWord::Refund | ChargeWord::ToPaySeller,
        ) => &[GOODS, AT_SALE, FREIGHT, INSURANCE, CARD_FEE],
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
    let same = |r: &&&Receipt| {
        words.contains(&r.charge) && r.amount == receipt.amount && r.currency == receipt.currency
    };
    receipt.of.or_else(|| {
        used.iter()
            .find(same)
            .filter(|_| receipt.part.is_none())
            .map(|r| r.charge)
    })
}

/// Lowers a bill by a refund; the inner error is the question where it is more than can have come back.
pub(super) fn lower<'a>(
    bill: &mut Bill,
    receipt: &'a Receipt,
    reading: &Reading<'_>,
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Result<Back<'a>, String>, Diagnostic> {
    let of = of_charge(receipt, &reading.used);
    let lines: Vec<usize> = match &receipt.part {
        None => (0..bill.lines.len()).collect(),
        Some(part) => (0..bill.lines.len())
            .filter(|at| bill.lines[*at].part == *part)
            .collect(),
    };
    if lines.is_empty() {
        return Ok(Err(
            "is the part right? it is not among the parts that are reckoned in this parcel"
                .to_owned(),
        ));
    }
    let tells = lines
        .iter()
        .any(|at| paid_of(&bill.lines[*at], book).is_some_and(Dec::is_positive));
    if !is_paid(of, bill, reading, tells) {
        return Ok(Err(never_paid(of, bill).to_owned()));
    }
    let amount = in_home_money(receipt, bill, jurisdiction)?;
    let sums = sums(of, bill, reading.one_sum.is_some());
    let there = Dec::total(available(bill, &lines, sums)?.into_iter().flatten())?;
    let door = of.is_some_and(|of| is_door(of, bill));
    let paid = paid_left(bill, &lines, (sums, door), there, book)?;
    let limits = Limits {
        there,
        paid,
        then: at_order(receipt, amount, there, bill, jurisdiction)?,
    };
    let limit = paid.unwrap_or(there);
    let loose = receipt.currency != bill.paid_in || bill.seller_told || paid.is_some();
    let most =
        with_slack(limit, limits.then.is_some() && loose)?.plus(pennies(bill, jurisdiction)?)?;
    if amount.min(limits.then.unwrap_or(amount)) > most {
        let for_what = receipt
            .part
            .clone()
            .unwrap_or_else(|| of.map_or("this parcel", ChargeWord::name).to_owned());
        return Ok(Err(format!(
            "is the amount right? it is more than the {} that was paid for {for_what}",
            money(limit, jurisdiction)
        )));
    }
    let back = Back {
        receipt,
        of,
        amount,
        gain: Dec::ZERO,
        beyond: Dec::ZERO,
        taken: Vec::new(),
        released: Vec::new(),
    };
    spread(bill, &lines, sums, back, limits, jurisdiction).map(Ok)
}

/// What a refund that came in foreign money, or came exchanged to more than there is, was worth by the rate of the order; none where
/// no exchange lies between.
fn at_order(
    receipt: &Receipt,
    amount: Dec,
    there: Dec,
    bill: &Bill,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<Dec>, Diagnostic> {
    let rounding = Rounding::minor(jurisdiction.currency().digits());
    let then = |currency, asked: Dec| -> Result<Dec, Diagnostic> {
        Ok(rounding.apply(
            jurisdiction
                .market_rate(currency, bill.ordered)?
                .rate
                .convert(asked)?,
        )?)
    };
    if receipt.currency != jurisdiction.currency() {
        return then(receipt.currency, receipt.amount).map(Some);
    }
    if bill.paid_in == jurisdiction.currency()
        || amount <= there.plus(pennies(bill, jurisdiction)?)?
    {
        return Ok(None);
    }
    let day = receipt.date.unwrap_or(bill.ordered);
    let Ok(quote) = jurisdiction.market_rate(bill.paid_in, day) else {
        return Ok(None);
    };
    then(bill.paid_in, quote.rate.back(amount)?).map(Some)
}

/// What was really paid of some lines and has not come back, where only a part of what is calculated was: as rows of a parcel on its way
/// or a deposit tell it, else as receipts do.
fn paid_left(
    bill: &Bill,
    lines: &[usize],
    (sums, door): (&[Lowered], bool),
    there: Dec,
    book: &Book,
) -> Result<Option<Dec>, Overflow> {
    let refunded = |lines: &[usize]| Dec::total(lines.iter().map(|at| bill.lines[*at].refunded));
    match (bill.kind, bill.deposit.filter(|_| !door)) {
        (ConsignmentState::InHand | ConsignmentState::Gift, _) => Ok(None),
        (_, Some(deposit)) => {
            let all: Vec<usize> = (0..bill.lines.len()).collect();
            Ok(Some(deposit.minus(refunded(&all)?)?.min(there)))
        }
        (ConsignmentState::OnOrder, None) if !door && bill.seller_told => Ok(None),
        (ConsignmentState::OnOrder, None) if !door => {
            let mut sum = Dec::ZERO;
            for line in lines.iter().map(|at| &bill.lines[*at]) {
                let reckoned = || {
                    line.amounts
                        .to_seller()?
                        .minus(line.sent_back)?
                        .plus(line.refunded)
                };
                sum = sum.plus(paid_of(line, book).map_or_else(reckoned, Ok)?)?;
            }
            sum.minus(refunded(lines)?).map(Some)
        }
        _ => {
            let known = sums
                .iter()
                .map(|sum| (sum.1)(&bill.known).map(|held| held.max(Dec::ZERO)))
                .collect::<Result<Vec<_>, _>>()?;
            Ok(Some(Dec::total(known)?.min(there)))
        }
    }
}

/// Takes a refund off its sums in their order, the first as far as the money reaches, the others as far as it did by the rate of the
/// order. What is left was paid beyond what is calculated, or is a gain from exchange, which comes off the price.
fn spread<'a>(
    bill: &mut Bill,
    lines: &[usize],
    sums: &[Lowered],
    mut back: Back<'a>,
    limits: Limits,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Back<'a>, Diagnostic> {
    let digits = jurisdiction.currency().digits();
    let beyond = limits
        .paid
        .map_or(Ok(Dec::ZERO), |paid| paid.minus(limits.there))?
        .max(Dec::ZERO);
    let mut left = limits
        .paid
        .map_or(back.amount, |paid| back.amount.min(paid));
    let mut then = limits.then;
    let pennies = pennies(bill, jurisdiction)?;
    for (at, sum) in sums.iter().enumerate() {
        let reach = then
            .filter(|_| at > 0)
            .map(|then| if then <= pennies { Dec::ZERO } else { then });
        let taken = take(
            bill,
            lines,
            sum,
            &mut back,
            (left.min(reach.unwrap_or(left)), digits),
        )?;
        left = left.minus(taken)?;
        then = then.map(|then| then.minus(taken)).transpose()?;
    }
    let taken = Dec::total(
        back.taken
            .iter()
            .flat_map(|(_, parts)| parts.iter().copied()),
    )?;
    let rest = back.amount.minus(taken)?;
    back.beyond = rest.min(beyond);
    back.gain = rest.minus(back.beyond)?;
    if rest.is_positive() {
        off_the_price(bill, lines, &mut back, digits)?;
    }
    Ok(back)
}

/// What no sum holds: shared by what the refund took of each line.
fn off_the_price(
    bill: &mut Bill,
    lines: &[usize],
    back: &mut Back<'_>,
    digits: u32,
) -> Result<(), Overflow> {
    let of = |at: &usize| {
        Dec::total(
            back.taken
                .iter()
                .filter_map(|(_, parts)| parts.get(*at).copied()),
        )
    };
    let weights = lines.iter().map(of).collect::<Result<Vec<_>, _>>()?;
    for (at, part) in lines.iter().zip(share(back.beyond, &weights, digits)?) {
        let line = &mut bill.lines[*at];
        line.refunded = line.refunded.plus(part)?;
    }
    if back.gain.is_zero() {
        return Ok(());
    }
    let mut parts = vec![Dec::ZERO; bill.lines.len()];
    for (at, part) in lines.iter().zip(share(back.gain, &weights, digits)?) {
        parts[*at] = part;
    }
    lower_by(bill, &GOODS, &parts, true)?;
    back.taken.push((GOODS.0, parts));
    Ok(())
}

/// Lowers one sum by these parts, line by line; whether that is money that came back, or only what is owed no more.
pub(super) fn lower_by(
    bill: &mut Bill,
    sum: &Lowered,
    parts: &[Dec],
    came: bool,
) -> Result<(), Overflow> {
    let (name, _, field) = *sum;
    let lowered = |amounts: &mut ChargeBreakdown, by: Dec| -> Result<(), Overflow> {
        let now = field(amounts);
        *now = if name == GOODS.0 {
            now.plus(by)?
        } else {
            now.minus(by)?
        };
        Ok(())
    };
    let door = [DUTY.0, REMEDY.0, AT_BORDER.0, HANDLING.0].contains(&name);
    for (line, part) in bill.lines.iter_mut().zip(parts) {
        lowered(&mut line.amounts, *part)?;
        if came {
            let back = if name == GOODS.0 {
                &mut line.back.goods
            } else {
                field(&mut line.back)
            };
            *back = back.plus(*part)?;
        }
        if came && !door {
            line.refunded = line.refunded.plus(*part)?;
        }
    }
    let taken = Dec::total(parts.iter().copied())?;
    lowered(&mut bill.amounts, taken)?;
    if came {
        lowered(&mut bill.known, taken)?;
    }
    bill.move_disputed(taken.negated())
}

/// Whether something was paid of what a refund is of: as the standing of the parcel says or its rows tell, else by a receipt.
fn is_paid(of: Option<ChargeWord>, bill: &Bill, reading: &Reading<'_>, tells: bool) -> bool {
    let door = of.is_some_and(|of| is_door(of, bill));
    let by_standing = match bill.kind {
        ConsignmentState::ToOrder => false,
        ConsignmentState::OnOrder => !door && tells,
        ConsignmentState::InHand | ConsignmentState::Gift => true,
    };
    let receipt = |r: &&Receipt| {
        at_door(r, bill) == door && r.amount.is_positive() && r.charge != ChargeWord::Discount
    };
    let deposit = reading.deposit.iter().flat_map(|deposit| &deposit.receipts);
    by_standing
        || reading
            .used
            .iter()
            .chain(&reading.sent_back)
            .chain(deposit)
            .copied()
            .any(|r| receipt(&r))
}

/// The question, where nothing is told to have been paid that could have come back.
fn never_paid(of: Option<ChargeWord>, bill: &Bill) -> &'static str {
    if bill.kind == ConsignmentState::OnOrder && !of.is_some_and(|of| is_door(of, bill)) {
        "what was paid? nothing tells it that could have come back: give the row its `paid`, or the payment a receipt"
    } else {
        "is this parcel's standing right? nothing is told to have been paid that could have come back"
    }
}

/// What each sum of each of these lines holds.
fn available(bill: &Bill, lines: &[usize], sums: &[Lowered]) -> Result<Vec<Vec<Dec>>, Overflow> {
    let of = |sum: &Lowered| {
        lines
            .iter()
            .map(|at| (sum.1)(&bill.lines[*at].amounts).map(|held| held.max(Dec::ZERO)))
            .collect()
    };
    sums.iter().map(of).collect()
}

/// Takes of one sum what it holds, up to so much; returned is what that was.
fn take(
    bill: &mut Bill,
    lines: &[usize],
    sum: &Lowered,
    back: &mut Back<'_>,
    (most, digits): (Dec, u32),
) -> Result<Dec, Overflow> {
    let held = available(bill, lines, std::slice::from_ref(sum))?.concat();
    let taken = most.min(Dec::total(held.iter().copied())?);
    if !taken.is_positive() {
        return Ok(Dec::ZERO);
    }
    let mut parts = vec![Dec::ZERO; bill.lines.len()];
    for (at, part) in lines.iter().zip(share(taken, &held, digits)?) {
        parts[*at] = part;
    }
    lower_by(bill, sum, &parts, true)?;
    back.taken.push((sum.0, parts));
    Ok(taken)
}

impl Back<'_> {
    /// What must be said of it.
    pub(super) fn say(
        &self,
        bill: &Bill,
        jurisdiction: &Jurisdiction<'_>,
        cautions: &mut Cautions,
    ) {
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
        if self.gain.is_positive() {
            let why = if self.is_exchanged(bill, jurisdiction) {
                "by exchange"
            } else {
                "by rounding"
            };
            let text = format!(
                "{} of a refund is more than was paid, {why}: it is a gain and comes off the price, so that what is spent is what was paid less what came back",
                money(self.gain, jurisdiction)
            );
            cautions.say("refund-beyond", text, &about);
        }
        say_old_rate(self.receipt, bill.ordered, jurisdiction, cautions);
    }

    /// The first day on which something that it could be of was paid, where that is later than it.
    pub(super) fn paid_later(
        &self,
        bill: &Bill,
        reading: &Reading<'_>,
        book: &Book,
    ) -> Option<Date> {
        let door = self.of.is_some_and(|of| is_door(of, bill));
        let deposit = reading.deposit.iter().flat_map(|deposit| &deposit.receipts);
        let paid = reading
            .used
            .iter()
            .chain(deposit)
            .filter(|r| at_door(r, bill) == door && r.amount.is_positive());
        let days: Vec<Option<Date>> = paid.map(|receipt| receipt.date).collect();
        let ordered = || {
            let parcel =
                |parcel: &&ParcelRow| bill.id == consignment_of(&parcel.seller, &parcel.parcel);
            book.parcels
                .iter()
                .find(parcel)
                .and_then(|parcel| parcel.ordered)
        };
        let first = if days.is_empty() {
            ordered()
        } else {
            days.into_iter()
                .collect::<Option<Vec<_>>>()?
                .into_iter()
                .min()
        };
        first.filter(|first| self.receipt.date.is_some_and(|day| day < *first))
    }

    /// Whether an exchange lies between what was paid and what came back.
    pub fn is_exchanged(&self, bill: &Bill, jurisdiction: &Jurisdiction<'_>) -> bool {
        self.receipt.currency != jurisdiction.currency() || bill.paid_in != jurisdiction.currency()
    }
}
