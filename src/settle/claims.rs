//! What can be asked back and until when, by the rows of refunds; what the card's issuer answers for.

use crate::book::Book;
use crate::landed::{Bill, BillLine, Cautions, ConsignmentState, Jurisdiction, Saying};
use crate::tables::{Dated, Reason, RefundRow};
use crate::text::Problems;
use crate::text::words::capital;
use crate::units::{Date, Dec, Overflow};

/// What the card's issuer answers for: each part by the price of one, without delivery.
pub(super) fn card_cover(
    bill: &Bill,
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) -> Result<(), Problems> {
    let rows = jurisdiction
        .law
        .refunds
        .iter()
        .filter(|row| row.rule.charge == "card_cover" && row.stamp.in_force(bill.ordered));
    for row in rows {
        let currency = row.rule.currency.unwrap_or(jurisdiction.currency());
        let rate = jurisdiction.market_rate(currency, bill.ordered)?.rate;
        let inside = |line: &&BillLine| -> Result<bool, Overflow> {
            let each = line
                .amounts
                .goods
                .minus(line.amounts.discount)?
                .over(Dec::from(line.quantity.max(1)))?;
            let price = rate.back(each.amount())?;
            Ok(row.rule.over.is_none_or(|over| price > over)
                && row.rule.up_to.is_none_or(|up_to| price <= up_to))
        };
        let mut covered = Vec::new();
        for line in &bill.lines {
            if inside(&line)? {
                covered.push(line.part.as_str());
            }
        }
        if !covered.is_empty() {
            let saying = Saying::new(capital(&row.rule.text))
                .so("If the seller does not help, ask the issuer of the card.");
            cautions.say("card-cover", saying, &covered);
        }
    }
    Ok(())
}

/// Until when the charges of a parcel's goods at fault can be asked back; none where none were due at the door, or where they came
/// back already.
pub(super) fn reject_until(
    bill: &Bill,
    jurisdiction: &Jurisdiction<'_>,
) -> Option<(String, Date, String)> {
    let taxed = !bill.amounts.duty.is_zero()
        || !bill.amounts.remedy.is_zero()
        || !bill.amounts.tax_at_border.is_zero();
    let row = rule(jurisdiction, bill, "tax_at_border", Reason::Faulty)
        .filter(|_| taxed && bill.kind != ConsignmentState::ToOrder)?;
    Some((
        bill.id.clone(),
        row.rule.last_day(bill.arrival)?,
        row.stamp.row.to_string(),
    ))
}

/// The last day of each part's warranty, where months of it are told and it has been ordered; the first to end first.
pub(super) fn warranties(bills: &[Bill], book: &Book) -> Vec<(String, Date)> {
    let ends = |(bill, line): (&Bill, &BillLine)| {
        let months = book
            .paid_for()
            .find(|row| row.name == line.part)?
            .warranty_months?;
        Some((line.part.clone(), bill.arrival.plus_months(months)))
    };
    let ordered = bills
        .iter()
        .filter(|bill| bill.kind != ConsignmentState::ToOrder);
    let mut found: Vec<_> = ordered
        .flat_map(|bill| bill.lines.iter().map(move |line| (bill, line)))
        .filter_map(ends)
        .collect();
    found.sort_by(|a, b| a.1.cmp(&b.1).then_with(|| a.0.cmp(&b.0)));
    found
}

pub(super) fn rule<'a>(
    jurisdiction: &'a Jurisdiction<'_>,
    bill: &Bill,
    charge: &str,
    reason: Reason,
) -> Option<&'a Dated<RefundRow>> {
    let fits = |row: &&Dated<RefundRow>| {
        row.rule.charge == charge
            && row.rule.reason == Some(reason)
            && row.stamp.in_force(bill.arrival)
    };
    jurisdiction.law.refunds.iter().find(fits)
}
