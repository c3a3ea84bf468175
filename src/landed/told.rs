//! The sums that receipts tell, set on a bill and shared over its lines.

use super::bill::{Bill, BillLine, ChargeBreakdown};
use super::jurisdiction::Jurisdiction;
use super::reading::Reading;
use super::receipt::in_home_money;
use crate::book::{ChargeWord, Receipt};
use crate::text::Diagnostic;
use crate::units::{Dec, Overflow, share};

/// A sum among the amounts.
pub(super) type Field = fn(&mut ChargeBreakdown) -> &mut Dec;

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

/// What is charged at the door.
pub(super) const DOOR: [Field; 4] = [
    |a| &mut a.duty,
    |a| &mut a.remedy,
    |a| &mut a.tax_at_border,
    |a| &mut a.handling,
];

/// What receipts of one word come to; none where there is none.
pub(super) fn sum_of(
    used: &[&Receipt],
    word: ChargeWord,
    bill: &Bill,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<Dec>, Diagnostic> {
    let of: Vec<&&Receipt> = used.iter().filter(|r| r.charge == word).collect();
    if of.is_empty() {
        return Ok(None);
    }
    let amounts = of
        .iter()
        .map(|r| in_home_money(r, bill, jurisdiction))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(Some(Dec::total(amounts)?))
}

/// The sums that receipts give, but for lumps.
fn given(
    bill: &Bill,
    reading: &Reading<'_>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Vec<(Field, Dec)>, Diagnostic> {
    let sum = |word: ChargeWord| sum_of(&reading.used, word, bill, jurisdiction);
    let mut known: Vec<(Field, Dec)> = Vec::new();
    for (word, field) in FIELDS {
        known.extend(
            sum(word)?
                .filter(|_| reading.one_sum != Some(word))
                .map(|amount| (field, amount)),
        );
    }
    let in_one_sum = reading.one_sum.map(&sum).transpose()?.flatten();
    if let Some(both) = in_one_sum {
        let both = share(
            both,
            &[bill.amounts.duty, bill.amounts.remedy],
            jurisdiction.currency().digits(),
        )?;
        let fields: [Field; 2] = [|a| &mut a.duty, |a| &mut a.remedy];
        known.extend(fields.into_iter().zip(both));
    }
    known.extend(
        sum(ChargeWord::Discount)?.map(|amount| -> (Field, Dec) { (|a| &mut a.discount, amount) }),
    );
    if let Some(tax) = sum(ChargeWord::Tax)? {
        known.push((
            if bill.taxed_at_sale() {
                |a| &mut a.tax_at_sale
            } else {
                |a| &mut a.tax_at_border
            },
            tax,
        ));
    }
    Ok(known)
}

/// Duty that a receipt tells is in the sum, whatever the tables lack; of fees that is so where all that was paid at the door is told.
fn nothing_lacks(bill: &mut Bill, fees_too: bool) {
    bill.gaps.clear();
    bill.ended.retain(|one| !fees_too && one.kind == "fee");
    let told: &[&str] = if fees_too {
        &["no-rate", "charge-ended", "fee-ended"]
    } else {
        &["no-rate", "charge-ended"]
    };
    bill.cautions.retain(|caution| !told.contains(&caution.id));
}

/// Sets what receipts give, refunds left aside; returned is whether the discount had to be shared by price.
pub(super) fn charge_up(
    bill: &mut Bill,
    reading: &Reading<'_>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<bool, Diagnostic> {
    let before = bill.amounts.landed()?;
    let known = given(bill, reading, jurisdiction)?;
    let sum = |word: ChargeWord| sum_of(&reading.used, word, bill, jurisdiction);
    let (seller, carrier) = (
        sum(ChargeWord::ToPaySeller)?,
        sum(ChargeWord::ToPayCarrier)?,
    );
    let digits = jurisdiction.currency().digits();
    for (field, amount) in &known {
        set(bill, *field, *amount, digits)?;
    }
    let mut covered = known_of(bill, &known, false, false);
    nothing_else(bill, covered, reading, digits)?;
    if let Some(lump) = seller {
        if reading.fee_apart {
            covered.card_fee = bill.amounts.card_fee;
        }
        let side = lump.plus(covered.to_seller()?)?;
        let goods = side
            .minus(bill.amounts.to_seller()?)?
            .plus(bill.amounts.goods)?;
        set(bill, |a| &mut a.goods, goods, digits)?;
    }
    if let Some(lump) = carrier {
        share_lump(bill, &covered, lump, digits)?;
    }
    let by_price = discount_within_goods(bill, digits)?;
    let (seller, carrier) = (ChargeWord::ToPaySeller, ChargeWord::ToPayCarrier);
    let whole = |total: ChargeWord| {
        reading.is_summed(total) || reading.used.iter().any(|r| r.charge == total)
    };
    bill.known = known_of(bill, &known, whole(seller), whole(carrier));
    if reading.fee_apart {
        bill.known.card_fee = Dec::ZERO;
    }
    bill.seller_told = !bill.known.to_seller()?.is_zero();
    let moved = bill.amounts.landed()?.minus(before)?;
    let door = !bill.known.at_door()?.is_zero() || whole(carrier);
    if door {
        bill.settle_dispute()?;
    } else {
        bill.move_disputed(moved)?;
    }
    if whole(carrier)
        || reading
            .used
            .iter()
            .any(|receipt| receipt.charge == ChargeWord::Duty)
    {
        nothing_lacks(bill, whole(carrier));
    }
    Ok(by_price)
}

/// Where a total is the sum of receipts, what has none on its side was not charged.
fn nothing_else(
    bill: &mut Bill,
    mut covered: ChargeBreakdown,
    reading: &Reading<'_>,
    digits: u32,
) -> Result<(), Overflow> {
    let seller: [Field; 5] = [
        |a| &mut a.discount,
        |a| &mut a.freight,
        |a| &mut a.insurance,
        |a| &mut a.tax_at_sale,
        |a| &mut a.card_fee,
    ];
    let fee_apart = usize::from(reading.fee_apart);
    let seller = &seller[..seller.len() - fee_apart];
    for (total, fields) in [
        (ChargeWord::ToPaySeller, seller),
        (ChargeWord::ToPayCarrier, DOOR.as_slice()),
    ] {
        for field in fields.iter().filter(|_| reading.is_summed(total)) {
            if field(&mut covered).is_zero() {
                set(bill, *field, Dec::ZERO, digits)?;
            }
        }
    }
    Ok(())
}

/// Goods and discount are shared apart: where that would give one part more discount than its price, though the parcel's is less,
/// the discount is shared by price.
fn discount_within_goods(bill: &mut Bill, digits: u32) -> Result<bool, Overflow> {
    let below = bill
        .lines
        .iter()
        .any(|line| line.amounts.goods < line.amounts.discount);
    if !below || bill.amounts.goods < bill.amounts.discount {
        return Ok(false);
    }
    let goods: Vec<Dec> = bill.lines.iter().map(|line| line.amounts.goods).collect();
    for (line, part) in bill
        .lines
        .iter_mut()
        .zip(share(bill.amounts.discount, &goods, digits)?)
    {
        line.amounts.discount = part;
    }
    Ok(true)
}

/// A lump paid at the door, beside what other receipts cover: over the charges that were due, by what was calculated of each;
/// all of it a fee where none was.
fn share_lump(
    bill: &mut Bill,
    covered: &ChargeBreakdown,
    lump: Dec,
    digits: u32,
) -> Result<(), Overflow> {
    let mut covered = *covered;
    let fields = DOOR;
    let told: Vec<Dec> = fields.iter().map(|field| *field(&mut covered)).collect();
    let mut due = bill.amounts;
    let open: Vec<Dec> = fields
        .iter()
        .zip(&told)
        .map(|(field, told)| {
            if told.is_zero() {
                *field(&mut due)
            } else {
                Dec::ZERO
            }
        })
        .collect();
    let parts = if open.iter().all(|d| d.is_zero()) {
        vec![Dec::ZERO, Dec::ZERO, Dec::ZERO, lump]
    } else {
        share(lump, &open, digits)?
    };
    fields
        .into_iter()
        .zip(told)
        .zip(parts)
        .try_for_each(|((field, told), part)| set(bill, field, told.plus(part)?, digits))
}

/// Adds what sending goods back cost to the freight: to the part that went back, else to those with a refund of their own, else to
/// all.
pub(super) fn send_back(
    bill: &mut Bill,
    reading: &Reading<'_>,
    refunds: &[&Receipt],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<(), Diagnostic> {
    for receipt in &reading.sent_back {
        let amount = in_home_money(receipt, bill, jurisdiction)?;
        let own = |line: &BillLine| receipt.part.as_ref().is_some_and(|part| *part == line.part);
        let named = |line: &BillLine| {
            refunds
                .iter()
                .any(|refund| refund.part.as_ref() == Some(&line.part))
        };
        let any = |of: &dyn Fn(&BillLine) -> bool| bill.lines.iter().any(of);
        let counts = |line: &BillLine| {
            if any(&own) {
                own(line)
            } else {
                !any(&named) || named(line)
            }
        };
        let goods = |line: &BillLine| {
            if counts(line) {
                line.amounts.goods.max(Dec::new(1, 4))
            } else {
                Dec::ZERO
            }
        };
        let weights: Vec<Dec> = bill.lines.iter().map(goods).collect();
        for (line, part) in
            bill.lines
                .iter_mut()
                .zip(share(amount, &weights, jurisdiction.currency().digits())?)
        {
            line.amounts.freight = line.amounts.freight.plus(part)?;
            line.sent_back = line.sent_back.plus(part)?;
        }
        bill.amounts.freight = bill.amounts.freight.plus(amount)?;
        bill.known.freight = bill.known.freight.plus(amount)?;
        bill.move_disputed(amount)?;
    }
    Ok(())
}

/// Sets one sum of a bill and shares it over the lines by what was calculated of it, else by goods.
pub(super) fn set(bill: &mut Bill, field: Field, amount: Dec, digits: u32) -> Result<(), Overflow> {
    let own: Vec<Dec> = bill
        .lines
        .iter_mut()
        .map(|line| *field(&mut line.amounts))
        .collect();
    let weights = if own.iter().all(|w| w.is_zero()) {
        bill.lines.iter().map(|line| line.amounts.goods).collect()
    } else {
        own
    };
    let shares = share(amount, &weights, digits)?;
    for (line, part) in bill.lines.iter_mut().zip(shares) {
        *field(&mut line.amounts) = part;
    }
    *field(&mut bill.amounts) = amount;
    Ok(())
}

/// The sums that receipts cover, as they now stand.
fn known_of(bill: &Bill, known: &[(Field, Dec)], seller: bool, carrier: bool) -> ChargeBreakdown {
    let mut covered = ChargeBreakdown::default();
    for (field, amount) in known {
        *field(&mut covered) = *amount;
    }
    let a = bill.amounts;
    if seller {
        let (duty, remedy, tax_at_border, handling) = (
            covered.duty,
            covered.remedy,
            covered.tax_at_border,
            covered.handling,
        );
        covered = ChargeBreakdown {
            duty,
            remedy,
            tax_at_border,
            handling,
            ..a
        };
    }
    if carrier {
        covered = ChargeBreakdown {
            duty: a.duty,
            remedy: a.remedy,
            tax_at_border: a.tax_at_border,
            handling: a.handling,
            ..covered
        };
    }
    covered
}
