//! The sums that receipts tell, set on a bill and shared over its lines.

use super::bill::{Bill, BillLine};
use super::reading::Receiving;
use super::sums::{ChargeBreakdown, Sum};
use crate::book::{ChargeWord, Receipt};
use crate::text::Diagnostic;
use crate::units::{Dec, HomeMoney, Overflow};

/// The total of the side that takes a sum.
fn total_of(sum: Sum) -> ChargeWord {
    if sum.is_door() {
        ChargeWord::ToPayCarrier
    } else {
        ChargeWord::ToPaySeller
    }
}

impl Receiving<'_, '_> {
    /// What receipts of one word come to; none where there is none.
    pub(super) fn sum_of(&self, word: ChargeWord) -> Result<Option<HomeMoney>, Diagnostic> {
        if !self.reading.uses(word) {
            return Ok(None);
        }
        let of = self.reading.used.iter().filter(|r| r.charge == word);
        let amounts: Vec<HomeMoney> = of.map(|r| self.ground.home(r)).collect::<Result<_, _>>()?;
        Ok(Some(HomeMoney::total(amounts)?))
    }

    /// The sums that receipts give, but for lumps.
    fn given(&self) -> Result<Vec<(Sum, HomeMoney)>, Diagnostic> {
        let mut known = Vec::new();
        let one_sum = self.reading.one_sum;
        for (word, sum) in Sum::TOLD
            .into_iter()
            .filter(|(word, _)| one_sum != Some(*word))
        {
            known.extend(self.sum_of(word)?.map(|amount| (sum, amount)));
        }
        if let Some(both) = one_sum.map(|word| self.sum_of(word)).transpose()?.flatten() {
            let due = [Sum::Duty, Sum::Remedy];
            let weights = due.map(|sum| self.bill.amounts[sum]);
            let parts = both.share(&weights, self.ground.digits())?;
            known.extend(due.into_iter().zip(parts));
        }
        let at = if self.bill.taxed_at_sale() {
            Sum::AtSale
        } else {
            Sum::AtBorder
        };
        known.extend(self.sum_of(ChargeWord::Tax)?.map(|tax| (at, tax)));
        Ok(known)
    }

    /// Sets what receipts give, refunds left aside.
    pub(super) fn charge_up(&mut self) -> Result<(), Diagnostic> {
        let before = self.bill.amounts.landed()?;
        let digits = self.ground.digits();
        let mut told = ChargeBreakdown::default();
        for (sum, amount) in self.given()? {
            self.bill.set(sum, amount, digits)?;
            told[sum] = amount;
        }
        self.nothing_else(&told)?;
        self.set_lumps(&told)?;
        self.reading.discount_by_price = discount_within_goods(&mut self.bill, digits)?;
        self.note_known(told)?;
        let moved = self.bill.amounts.landed()?.minus(before)?;
        let carrier = self.reading.is_whole(ChargeWord::ToPayCarrier);
        if carrier || !self.bill.known.at_door()?.is_zero() {
            self.bill.settle_dispute()?;
        } else {
            self.bill.move_disputed(moved)?;
        }
        if carrier || self.reading.uses(ChargeWord::Duty) {
            nothing_lacks(&mut self.bill, carrier);
        }
        Ok(())
    }

    /// Where a total is the sum of receipts, what has none on its side was not charged.
    fn nothing_else(&mut self, told: &ChargeBreakdown) -> Result<(), Overflow> {
        let (reading, digits) = (&self.reading, self.ground.digits());
        let silent = |sum: &Sum| {
            let beside = *sum == Sum::Goods || (*sum == Sum::CardFee && reading.fee_apart);
            !beside && told[*sum].is_zero() && reading.is_summed(total_of(*sum))
        };
        for sum in Sum::ALL.into_iter().filter(silent) {
            self.bill.set(sum, HomeMoney::ZERO, digits)?;
        }
        Ok(())
    }

    /// Sets what one receipt tells of all that the seller, or all that the carrier, was paid.
    fn set_lumps(&mut self, told: &ChargeBreakdown) -> Result<(), Diagnostic> {
        let mut told = *told;
        if let Some(lump) = self.sum_of(ChargeWord::ToPaySeller)? {
            if self.reading.fee_apart {
                told.card_fee = self.bill.amounts.card_fee;
            }
            let a = &self.bill.amounts;
            let beside = a.to_seller()?.minus(a.goods)?;
            let goods = lump.plus(told.to_seller()?)?.minus(beside)?;
            self.bill.set(Sum::Goods, goods, self.ground.digits())?;
        }
        if let Some(lump) = self.sum_of(ChargeWord::ToPayCarrier)? {
            self.share_lump(&told, lump)?;
        }
        Ok(())
    }

    /// A lump paid at the door, beside what other receipts tell: over the charges that were due, by what was calculated of each;
    /// all of it a fee where none was.
    fn share_lump(&mut self, told: &ChargeBreakdown, lump: HomeMoney) -> Result<(), Overflow> {
        let digits = self.ground.digits();
        let open = Sum::DOOR.map(|sum| {
            let told = !told[sum].is_zero();
            if told {
                HomeMoney::ZERO
            } else {
                self.bill.amounts[sum]
            }
        });
        let parts = if open.iter().all(|due| due.is_zero()) {
            Sum::DOOR
                .map(|sum| {
                    if sum == Sum::Handling {
                        lump
                    } else {
                        HomeMoney::ZERO
                    }
                })
                .to_vec()
        } else {
            lump.share(&open, digits)?
        };
        for (sum, part) in Sum::DOOR.into_iter().zip(parts) {
            self.bill.set(sum, told[sum].plus(part)?, digits)?;
        }
        Ok(())
    }

    /// Notes the sums that receipts cover, as they now stand.
    fn note_known(&mut self, told: ChargeBreakdown) -> Result<(), Overflow> {
        let mut known = told;
        for sum in Sum::ALL
            .into_iter()
            .filter(|sum| self.reading.is_whole(total_of(*sum)))
        {
            known[sum] = self.bill.amounts[sum];
        }
        if self.reading.fee_apart {
            known.card_fee = HomeMoney::ZERO;
        }
        self.bill.known = known;
        self.bill.seller_told = !known.to_seller()?.is_zero();
        Ok(())
    }

    /// Adds what sending goods back cost to the freight: to the part that went back, else to those with a refund of their own,
    /// else to all.
    pub(super) fn send_back(&mut self, refunds: &[&Receipt]) -> Result<(), Diagnostic> {
        for receipt in &self.reading.sent_back {
            let amount = self.ground.home(receipt)?;
            let weights = weights_back(&self.bill, receipt, refunds);
            let parts = amount.share(&weights, self.ground.digits())?;
            for (line, part) in self.bill.lines.iter_mut().zip(parts) {
                line.amounts.freight = line.amounts.freight.plus(part)?;
                line.sent_back = line.sent_back.plus(part)?;
            }
            for sums in [&mut self.bill.amounts, &mut self.bill.known] {
                sums.freight = sums.freight.plus(amount)?;
            }
            self.bill.move_disputed(amount)?;
        }
        Ok(())
    }
}

/// By what the cost of sending back is shared: the goods of the lines that it is for, and a trifle where they cost nothing.
fn weights_back(bill: &Bill, receipt: &Receipt, refunds: &[&Receipt]) -> Vec<HomeMoney> {
    let own = |line: &BillLine| receipt.part.as_ref() == Some(&line.part);
    let named = |line: &BillLine| {
        refunds
            .iter()
            .any(|refund| refund.part.as_ref() == Some(&line.part))
    };
    let (any_own, any_named) = (bill.lines.iter().any(own), bill.lines.iter().any(named));
    let counts = |line: &BillLine| {
        if any_own {
            own(line)
        } else {
            !any_named || named(line)
        }
    };
    let weight = |line: &BillLine| {
        let goods = line.amounts.goods.max(HomeMoney::of(Dec::new(1, 4)));
        if counts(line) { goods } else { HomeMoney::ZERO }
    };
    bill.lines.iter().map(weight).collect()
}

/// Duty that a receipt tells is in the sum, whatever the tables lack; of fees that is so where all that was paid at the door is told.
fn nothing_lacks(bill: &mut Bill, fees_too: bool) {
    bill.gaps.clear();
    bill.ended.retain(|one| !fees_too && one.kind == "fee");
    let told = |id: &str| match id {
        "no-rate" | "charge-ended" => true,
        "fee-ended" => fees_too,
        _ => false,
    };
    bill.cautions.retain(|caution| !told(caution.id));
}

/// Goods and discount are shared apart: where that would give one part more discount than its price, though the parcel's is less,
/// the discount is shared by price, and that is returned.
fn discount_within_goods(bill: &mut Bill, digits: u32) -> Result<bool, Overflow> {
    let is_below = |a: &ChargeBreakdown| a.goods < a.discount;
    let below = bill.lines.iter().any(|line| is_below(&line.amounts));
    if !below || is_below(&bill.amounts) {
        return Ok(false);
    }
    let goods: Vec<HomeMoney> = bill.lines.iter().map(|line| line.amounts.goods).collect();
    let parts = bill.amounts.discount.share(&goods, digits)?;
    for (line, part) in bill.lines.iter_mut().zip(parts) {
        line.amounts.discount = part;
    }
    Ok(true)
}
