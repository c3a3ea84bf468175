//! The estimate of one parcel run again in steps: as calculated, with the rate of the day it was charged, and with the price
//! and freight that were asked. What a step changes has that step for its cause.

use std::collections::BTreeMap;

use crate::book::{Book, ChargeWord, Part, Receipt};
use crate::landed::{
    Bill, Change, ChargeBreakdown, Jurisdiction, WhatIf, at_door, at_its_day, bills_of,
};
use crate::text::{Diagnostic, Problems};
use crate::units::{Date, Dec, Overflow, Rate};

/// The sums of a parcel at each step, the seller's side and the door's each by its own rate.
pub(super) struct Stages {
    pub(crate) estimate: ChargeBreakdown,
    pub(crate) rate: ChargeBreakdown,
    pub(crate) asked: ChargeBreakdown,
    /// What duty is charged on at the last step.
    pub(crate) customs_value: Dec,
}

/// Runs a parcel's rows again, step by step.
pub(super) fn stages(
    before: &Book,
    bill: &Bill,
    receipts: &[&Receipt],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Stages, Problems> {
    let of_bill = |row: &&Part| {
        let own = row.at.place().to_string();
        bill.lines.iter().any(|line| line.row == own)
    };
    let rows: Vec<&Part> = before.paid_for().filter(of_bill).collect();
    let run = |what_if: WhatIf| -> Result<Bill, Problems> {
        let there = jurisdiction.supposing(WhatIf {
            from: Some(bill.ordered),
            ..what_if
        });
        let bills = bills_of(
            before,
            &rows,
            &there,
            jurisdiction.ask.remedies == crate::book::Remedies::Count,
        )?;
        Ok(bills
            .into_iter()
            .find(|b| b.id == bill.id)
            .unwrap_or_else(|| bill.clone()))
    };
    let exchanged = |factor: Dec| WhatIf {
        exchange: BTreeMap::from([(bill.paid_in, factor)]),
        ..WhatIf::default()
    };
    let seller = market_move(bill, receipts, jurisdiction)?;
    let customs = customs_move(before, bill, receipts, jurisdiction)?;
    let (price, freight) = asked(bill, receipts, jurisdiction)?;
    let suppose = |factor: Dec| WhatIf {
        price: price.clone(),
        freight: freight.clone(),
        ..exchanged(factor)
    };
    let (rate_seller, rate_door) = (run(exchanged(seller))?, run(exchanged(customs))?);
    let (asked_seller, asked_door) = (run(suppose(seller))?, run(suppose(customs))?);
    Ok(Stages {
        estimate: bill.amounts,
        rate: joined(&rate_seller.amounts, &rate_door.amounts),
        customs_value: asked_door.customs_value.amount(),
        asked: joined(&asked_seller.amounts, &asked_door.amounts),
    })
}

/// The seller's side of one, the door's of another.
fn joined(seller: &ChargeBreakdown, door: &ChargeBreakdown) -> ChargeBreakdown {
    ChargeBreakdown {
        duty: door.duty,
        remedy: door.remedy,
        tax_at_border: door.tax_at_border,
        handling: door.handling,
        ..*seller
    }
}

/// The market rate of the day the seller charged, against that of the estimate.
fn market_move(
    bill: &Bill,
    receipts: &[&Receipt],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Dec, Problems> {
    let of_seller =
        |receipt: &&&Receipt| !at_door(receipt, bill) && receipt.charge != ChargeWord::Refund;
    let Some((day, first)) = earliest(receipts.iter().filter(of_seller))
        .filter(|_| bill.paid_in != jurisdiction.currency())
    else {
        return Ok(Dec::ONE);
    };
    moved((day, first), bill.ordered, |day| {
        jurisdiction
            .market_rate(bill.paid_in, day)
            .map(|quote| quote.rate)
    })
}

/// The customs rate of the day the door charged, against that of the arrival that was expected; a told arrival is a fact.
fn customs_move(
    before: &Book,
    bill: &Bill,
    receipts: &[&Receipt],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Dec, Problems> {
    let told = before
        .parcel_row(&bill.id)
        .is_some_and(|row| row.arrived.is_some());
    let charged = earliest(receipts.iter().filter(|receipt| at_door(receipt, bill)));
    let Some((day, first)) = charged.filter(|_| !told && bill.paid_in != jurisdiction.currency())
    else {
        return Ok(Dec::ONE);
    };
    moved((day, first), bill.arrival, |day| {
        jurisdiction
            .customs_rate(bill.paid_in, day)
            .map(|found| found.quote.rate)
    })
}

/// The rate of the day of a receipt against that of the day that was calculated with.
fn moved(
    (day, receipt): (Date, &Receipt),
    reckoned: Date,
    rate: impl Fn(Date) -> Result<Rate, Diagnostic>,
) -> Result<Dec, Problems> {
    let at_its_day = |problem| at_its_day(problem, receipt);
    let then = rate(day).map_err(at_its_day)?.convert(Dec::ONE)?;
    let now = rate(reckoned)?.convert(Dec::ONE)?;
    Ok(then.over(now)?)
}

/// The first of some receipts that tell their day.
fn earliest<'a>(receipts: impl Iterator<Item = &'a &'a Receipt>) -> Option<(Date, &'a Receipt)> {
    receipts
        .filter_map(|receipt| Some((receipt.date?, *receipt)))
        .min_by_key(|(day, _)| *day)
}

type Prices = BTreeMap<(String, String), Change>;
type Freights = BTreeMap<String, Change>;

/// The price and the freight that receipts in the seller's own money show.
fn asked(
    bill: &Bill,
    receipts: &[&Receipt],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<(Prices, Freights), Overflow> {
    let own = |word: ChargeWord| {
        let of: Vec<Dec> = receipts
            .iter()
            .filter(|r| r.charge == word && r.currency == bill.paid_in)
            .map(|r| r.amount)
            .collect();
        let all = receipts.iter().filter(|r| r.charge == word).count();
        (!of.is_empty() && of.len() == all).then(|| Dec::total(of))
    };
    let rate = jurisdiction
        .market_rate(bill.paid_in, bill.ordered)
        .map_err(|_| Overflow)?
        .rate;
    // what was calculated is known to a minor unit of the destination's money
    let step = Dec::new(1, bill.paid_in.digits())
        .plus(rate.back(Dec::new(1, jurisdiction.currency().digits()))?)?;
    let change = |word: ChargeWord, estimate: Dec| -> Result<Option<Change>, Overflow> {
        let Some(actual) = own(word).transpose()? else {
            return Ok(None);
        };
        let reckoned = rate
            .back(estimate)?
            .round_to(bill.paid_in.digits(), crate::units::Mode::HalfUp);
        if actual.minus(reckoned)?.abs() <= step {
            return Ok(None);
        }
        if reckoned.is_zero() {
            Ok(Some(Change::To(actual)))
        } else {
            actual
                .over(reckoned)
                .map(|factor| Some(Change::Times(factor)))
        }
    };
    let price = change(ChargeWord::Goods, bill.amounts.goods.amount())?
        .map(|change| ((String::new(), bill.seller.clone()), change));
    let freight = change(ChargeWord::Freight, bill.amounts.freight.amount())?
        .map(|change| (bill.id.clone(), change));
    Ok((price.into_iter().collect(), freight.into_iter().collect()))
}
