//! What a receipt for a total says beside receipts for its own items; receipts that are out of all proportion.

use std::collections::BTreeSet;

use super::reading::Receiving;
use super::receipt::notes;
use super::sums::ChargeBreakdown;
use crate::book::{ChargeWord, Receipt};
use crate::text::{Diagnostic, words};
use crate::units::{Dec, HomeMoney, Overflow};

/// The totals, the seller's before the one at the door.
const TOTALS: [ChargeWord; 2] = [ChargeWord::ToPaySeller, ChargeWord::ToPayCarrier];

/// A receipt of more than this many times the calculated amount is asked about.
const OUT_OF_PROPORTION: u32 = 10;

impl<'a> Receiving<'_, 'a> {
    /// Takes the totals that count in another way out of the receipts that are used: the receipt of a deposit, a total whose items
    /// have receipts of their own, and a total that does not agree with them, which is asked about.
    pub(super) fn set_totals_apart(&mut self) -> Result<(), Diagnostic> {
        self.set_deposit_apart()?;
        for word in TOTALS {
            let (items, fees) = self.items_of(word);
            if items.is_empty() || !self.reading.uses(word) {
                continue;
            }
            let lumps = self.reading.take(word);
            let all: Vec<&Receipt> = items.iter().chain(&fees).copied().collect();
            let priced = word == ChargeWord::ToPayCarrier
                || items.iter().any(|r| r.charge == ChargeWord::Goods);
            if priced && (self.agree(&lumps, &items)? || self.agree(&lumps, &all)?) {
                self.reading.summed.extend(lumps);
                continue;
            }
            let question = self.question(&lumps, &items)?;
            let asked = lumps.into_iter().map(|receipt| (receipt, question.clone()));
            self.reading.questioned.extend(asked);
        }
        Ok(())
    }

    /// The receipts for items on the side of a total, card fees apart.
    fn items_of(&self, total: ChargeWord) -> (Vec<&'a Receipt>, Vec<&'a Receipt>) {
        let side = total == ChargeWord::ToPayCarrier;
        let beside = |r: &&Receipt| {
            r.charge != total && self.ground.is_door(r.charge) == side && !r.amount.is_zero()
        };
        let items = self.reading.used.iter().copied().filter(beside);
        items.partition(|r| r.charge != ChargeWord::CardFee)
    }

    fn question(&self, lumps: &[&Receipt], items: &[&Receipt]) -> Result<String, Diagnostic> {
        let names: BTreeSet<&str> = items.iter().map(|r| r.charge.name()).collect();
        let names: Vec<String> = names.into_iter().map(|name| format!("`{name}`")).collect();
        let total = self.ground.money(self.ground.total(lumps)?);
        let sum = self.ground.money(self.ground.total(items)?);
        let comes = if names.len() == 1 { "comes" } else { "come" };
        Ok(format!(
            "does this total hold what has a receipt beside it? it is {total}, and {} {comes} to {sum}: give all that it holds, or the total alone",
            words::list(&names, "and")
        ))
    }

    /// Whether a total is the sum of its items: in their own money where they have one, but for pennies.
    fn agree(&self, lumps: &[&Receipt], items: &[&Receipt]) -> Result<bool, Diagnostic> {
        let pennies = self.ground.pennies()?;
        let all = || lumps.iter().chain(items);
        let one = all().next().map(|receipt| receipt.currency);
        let Some(one) = one.filter(|one| all().all(|r| r.currency == *one)) else {
            let (total, sum) = (self.ground.total(lumps)?, self.ground.total(items)?);
            return Ok(total.minus(sum)?.abs() <= pennies);
        };
        let typed = |of: &[&Receipt]| Dec::total(of.iter().map(|receipt| as_typed(receipt)));
        let units = pennies.amount().over(Dec::new(1, self.ground.digits()))?;
        let most = units.times(Dec::new(1, one.digits()))?;
        Ok(typed(lumps)?.minus(typed(items)?)?.abs() <= most)
    }

    /// Asks about receipts of more than ten times what is calculated, small change aside, unless their note says that they were
    /// checked.
    pub(super) fn ask_about_proportions(&mut self) -> Result<(), Diagnostic> {
        for receipt in std::mem::take(&mut self.reading.used) {
            match self.out_of_proportion(receipt)? {
                Some(question) => self.reading.questioned.push((receipt, question)),
                None => self.reading.used.push(receipt),
            }
        }
        Ok(())
    }

    /// The question about one, where it is.
    fn out_of_proportion(&self, receipt: &Receipt) -> Result<Option<String>, Diagnostic> {
        let ten = Dec::from(OUT_OF_PROPORTION);
        let all = self.calculated.amounts.landed()?;
        let (amount, usual) = (
            self.ground.home(receipt)?,
            usual(receipt.charge, &self.calculated.amounts)?,
        );
        let beyond = usual.is_positive() && amount > usual.times(ten)? && amount.times(ten)? > all;
        Ok((beyond && !notes(receipt, "checked")).then(|| {
            format!(
                "is the amount right? {} is more than ten times the {} that is estimated; if it is right, write `checked` in its `note`",
                self.ground.money(amount),
                self.ground.money(usual)
            )
        }))
    }
}

/// A receipt's amount in its own money, below zero where it is of a discount.
fn as_typed(receipt: &Receipt) -> Dec {
    if receipt.charge == ChargeWord::Discount {
        receipt.amount.negated()
    } else {
        receipt.amount
    }
}

/// What is calculated of a charge; all of the parcel where nothing of it is.
fn usual(charge: ChargeWord, a: &ChargeBreakdown) -> Result<HomeMoney, Overflow> {
    let own = match charge {
        ChargeWord::Goods => a.goods,
        ChargeWord::Discount => a.discount,
        ChargeWord::Freight => a.freight,
        ChargeWord::Insurance => a.insurance,
        ChargeWord::Duty | ChargeWord::Remedy => a.duty.plus(a.remedy)?,
        ChargeWord::Tax | ChargeWord::TaxAtSale | ChargeWord::TaxAtBorder => a.tax()?,
        ChargeWord::Handling => a.handling,
        ChargeWord::CardFee => a.card_fee,
        ChargeWord::ToPaySeller => a.to_seller()?,
        ChargeWord::ToPayCarrier => a.at_door()?,
        ChargeWord::Refund | ChargeWord::ReturnFreight => HomeMoney::ZERO,
    };
    if own.is_positive() {
        Ok(own)
    } else {
        a.landed()
    }
}
