//! What was really charged takes the place of what was reckoned: receipts of one consignment, shared over its lines.

use super::bill::{Amounts, Bill};
use super::desk::Desk;
use crate::book::{ChargeWord, Part, Receipt};
use crate::tables::Quote;
use crate::text::Diagnostic;
use crate::units::{Dec, Overflow, Rounding, share};

/// A sum among the amounts.
type Field = fn(&mut Amounts) -> &mut Dec;

const FIELDS: [(ChargeWord, Field); 9] = [
    (ChargeWord::Goods, |a| &mut a.goods),
    (ChargeWord::Freight, |a| &mut a.freight),
    (ChargeWord::Insurance, |a| &mut a.insurance),
    (ChargeWord::Duty, |a| &mut a.duty),
    (ChargeWord::Remedy, |a| &mut a.remedy),
    (ChargeWord::TaxAtSale, |a| &mut a.tax_at_sale),
    (ChargeWord::TaxAtBorder, |a| &mut a.tax_at_border),
    (ChargeWord::Handling, |a| &mut a.handling),
    (ChargeWord::CardFee, |a| &mut a.card_fee),
];

/// The market rate of a receipt's day, else of the day of the order.
pub(super) fn quote_of(receipt: &Receipt, bill: &Bill, desk: &Desk<'_>) -> Result<Quote, Diagnostic> {
    desk.market_rate(receipt.currency, receipt.date.unwrap_or(bill.ordered)).map_err(|problem| at_its_day(problem, receipt))
}

/// A receipt in the destination's money, by the market rate of its day.
pub fn in_home_money(receipt: &Receipt, bill: &Bill, desk: &Desk<'_>) -> Result<Dec, Diagnostic> {
    let quote = quote_of(receipt, bill, desk)?;
    Ok(Rounding::minor(desk.currency().digits()).apply(quote.rate.convert(receipt.amount)?)?)
}

/// A rate that is missing is missing for the day a receipt tells.
pub fn at_its_day(problem: Diagnostic, receipt: &Receipt) -> Diagnostic {
    let day = receipt.at.cell("date");
    problem.at(if day.is_empty() { receipt.at.place() } else { day.place() })
}

/// Puts receipts in the place of what was reckoned; charges without one stay as reckoned.
pub(super) fn put(bill: &mut Bill, receipts: &[Receipt], desk: &Desk<'_>) -> Result<(), Diagnostic> {
    let own: Vec<&Receipt> = receipts.iter().filter(|r| r.consignment == bill.id).collect();
    if own.is_empty() {
        return Ok(());
    }
    let before = bill.amounts.landed()?;
    let sum = |word: ChargeWord| -> Result<Option<Dec>, Diagnostic> {
        let of: Vec<&&Receipt> = own.iter().filter(|r| r.charge == word).collect();
        if of.is_empty() {
            return Ok(None);
        }
        let amounts = of.iter().map(|r| in_home_money(r, bill, desk)).collect::<Result<Vec<_>, _>>()?;
        Ok(Some(Dec::total(amounts)?))
    };
    let mut known: Vec<(Field, Dec)> = Vec::new();
    for (word, field) in FIELDS {
        known.extend(sum(word)?.map(|amount| (field, amount)));
    }
    let off = [sum(ChargeWord::Discount)?, sum(ChargeWord::Refund)?];
    if off.iter().any(Option::is_some) {
        let discount = off[0].unwrap_or(bill.amounts.discount).plus(off[1].unwrap_or(Dec::ZERO))?;
        known.push((|a| &mut a.discount, discount));
    }
    if let Some(tax) = sum(ChargeWord::Tax)? {
        known.push((if bill.taxed_at_sale() { |a| &mut a.tax_at_sale } else { |a| &mut a.tax_at_border }, tax));
    }
    let (seller, carrier) = (sum(ChargeWord::ToPaySeller)?, sum(ChargeWord::ToPayCarrier)?);
    let digits = desk.currency().digits();
    for (field, amount) in &known {
        set(bill, *field, *amount, digits)?;
    }
    let covered = known_of(bill, &known, false, false);
    if let Some(lump) = seller {
        let side = lump.plus(covered.to_seller()?)?;
        let goods = side.minus(bill.amounts.to_seller()?)?.plus(bill.amounts.goods)?;
        set(bill, |a| &mut a.goods, goods, digits)?;
    }
    if let Some(lump) = carrier {
        share_lump(bill, &covered, lump, digits)?;
    }
    bill.known = known_of(bill, &known, seller.is_some(), carrier.is_some());
    let moved = bill.amounts.landed()?.minus(before)?;
    let door = !bill.known.at_door()?.is_zero() || carrier.is_some();
    bill.landed_undisputed = if door { bill.amounts.landed()? } else { bill.landed_undisputed.plus(moved)? };
    if door {
        bill.disputed.clear();
    }
    Ok(())
}

/// A lump paid at the door, beside what other receipts cover: over the charges that were due, by what was reckoned of each;
/// all of it a fee where none was.
fn share_lump(bill: &mut Bill, covered: &Amounts, lump: Dec, digits: u32) -> Result<(), Overflow> {
    let mut covered = *covered;
    let fields: [Field; 4] = [|a| &mut a.duty, |a| &mut a.remedy, |a| &mut a.tax_at_border, |a| &mut a.handling];
    let told: Vec<Dec> = fields.iter().map(|field| *field(&mut covered)).collect();
    let mut due = bill.amounts;
    let open: Vec<Dec> = fields.iter().zip(&told).map(|(field, told)| if told.is_zero() { *field(&mut due) } else { Dec::ZERO }).collect();
    let parts = if open.iter().all(|d| d.is_zero()) { vec![Dec::ZERO, Dec::ZERO, Dec::ZERO, lump] } else { share(lump, &open, digits)? };
    fields.into_iter().zip(told).zip(parts).try_for_each(|((field, told), part)| set(bill, field, told.plus(part)?, digits))
}

/// Sets one sum of a bill and shares it over the lines by what was reckoned of it, else by goods.
fn set(bill: &mut Bill, field: Field, amount: Dec, digits: u32) -> Result<(), Overflow> {
    let own: Vec<Dec> = bill.lines.iter_mut().map(|line| *field(&mut line.amounts)).collect();
    let weights = if own.iter().all(|w| w.is_zero()) { bill.lines.iter().map(|line| line.amounts.goods).collect() } else { own };
    let shares = share(amount, &weights, digits)?;
    for (line, part) in bill.lines.iter_mut().zip(shares) {
        *field(&mut line.amounts) = part;
    }
    *field(&mut bill.amounts) = amount;
    Ok(())
}

/// The sums that receipts cover, as they now stand.
fn known_of(bill: &Bill, known: &[(Field, Dec)], seller: bool, carrier: bool) -> Amounts {
    let mut covered = Amounts::default();
    for (field, amount) in known {
        *field(&mut covered) = *amount;
    }
    let a = bill.amounts;
    if seller {
        let (duty, remedy, tax_at_border, handling) = (covered.duty, covered.remedy, covered.tax_at_border, covered.handling);
        covered = Amounts { duty, remedy, tax_at_border, handling, ..a };
    }
    if carrier {
        covered = Amounts { duty: a.duty, remedy: a.remedy, tax_at_border: a.tax_at_border, handling: a.handling, ..covered };
    }
    covered
}

/// What was really paid to a seller: as told for each row, else as reckoned.
pub(super) fn paid_to_seller(bill: &Bill, rows: &[&Part]) -> Result<Dec, Overflow> {
    let told: Vec<&&Part> = rows.iter().filter(|row| row.paid.is_some()).collect();
    bill.lines.iter().try_fold(Dec::ZERO, |sum, line| {
        let row = told.iter().find(|row| row.name == line.part && row.at.place().to_string() == line.row);
        match row.and_then(|row| row.paid) {
            Some(paid) => sum.plus(paid),
            None => sum.plus(line.amounts.to_seller()?),
        }
    })
}
