//! What is lost or went back: rows whose price came back in full. Their money stays in the sums, their places are open again and
//! their mass is gone; of a parcel that is lost as a whole nothing more is due at the door.

use super::bill::{Bill, BillLine};
use super::caution::{Cautions, Saying};
use super::parcel::ConsignmentState;
use super::reading::{Back, Receiving};
use super::receipt::{EXCHANGED, is_kept};
use super::sums::Sum;
use crate::book::{Fault, Part};
use crate::text::Diagnostic;
use crate::units::{Dec, HomeMoney, Overflow, SellerMoney};

/// The words for a price that came back in full.
pub(super) fn refunded() -> Saying {
    let text = "The price was refunded in full, so this counts as lost or sent back: its place is open and its weight is not counted, while its receipts and what it cost beside its price stay in the sum";
    Saying::new(text).so("If it is there after all, write `kept` in the refund's `note`; once something else has its place, take its row out of the build.")
}

/// What must be said of parts that did not come, or came damaged.
pub(super) fn faults(rows: &[&Part], cautions: &mut Cautions) {
    for (fault, id, text) in [
        (
            Fault::Missing,
            "missing-part",
            "It was not in its parcel: it is paid for, its place is open and its weight is not counted",
        ),
        (
            Fault::Damaged,
            "damaged-part",
            "It came damaged: it is paid for, its place is open and its weight is not counted",
        ),
    ] {
        let own = rows.iter().filter(|row| row.fault == Some(fault));
        let names: Vec<&str> = own.map(|row| row.name.as_str()).collect();
        let saying = Saying::new(text).so(
            "Claim it from the seller: `landwaiter return --reason faulty` shows what comes back and until when. Once it is here, enter `in-hand` as its `standing`.",
        );
        if !names.is_empty() {
            cautions.say(id, saying.costs_unknown(), &names);
        }
    }
}

/// What came back of the price of a line.
#[derive(Default)]
struct PriceBack {
    /// In the destination's money.
    off: HomeMoney,
    /// In the seller's money, by the rates of the refunds' days.
    came: SellerMoney,
    /// Whether any of it came in another money than was paid.
    exchanged: bool,
}

impl Receiving<'_, '_> {
    /// Marks the lines whose price came back in full; returned is whether the whole parcel is lost, of which what is not yet billed
    /// at the door then falls away.
    pub(super) fn mark_lost(&mut self) -> Result<bool, Diagnostic> {
        for at in self.bill.all() {
            self.bill.lines[at].gone = self.bill.lines[at].cancelled || self.is_gone(at)?;
        }
        if !self.bill.is_lost() {
            return Ok(false);
        }
        let known = self.bill.known;
        for sum in Sum::DOOR.into_iter().filter(|sum| known[*sum].is_zero()) {
            self.bill.set(sum, HomeMoney::ZERO, self.ground.digits())?;
        }
        self.bill.settle_dispute()?;
        Ok(true)
    }

    /// Whether the price of a line came back in full, in the seller's money or to the last penny of what was paid; and no note says
    /// that it was kept. What the exchange moved meanwhile is lost, and was the price all the same.
    fn is_gone(&self, at: usize) -> Result<bool, Diagnostic> {
        let Some(back) = self.price_back(at)?.filter(|back| back.off.is_positive()) else {
            return Ok(false);
        };
        let came = back.before_exchange()?;
        let line = &self.bill.lines[at];
        let left = line.amounts.net_goods()?;
        let penny = SellerMoney::of(Dec::new(1, self.bill.paid_in.digits()));
        let asked = line.asked.is_positive() && came.plus(penny)? >= line.asked;
        let then = self.ground.at_order(self.bill.paid_in, came.amount())?;
        let all = left.plus(back.off)?;
        Ok(!left.is_positive() || asked || then.plus(self.ground.pennies()?)? >= all)
    }

    /// What refunds gave back of a line's price; none where a note says that it was kept.
    fn price_back(&self, at: usize) -> Result<Option<PriceBack>, Diagnostic> {
        let mut all = PriceBack::default();
        for back in self
            .reading
            .refunds
            .iter()
            .filter(|back| back.amount.is_positive())
        {
            let of_price = back.taken.iter().filter(|(sum, _)| *sum == Sum::Discount);
            let goods = HomeMoney::total(of_price.map(|(_, parts)| parts[at]))?;
            if !goods.is_positive() {
                continue;
            }
            if is_kept(back.receipt) {
                return Ok(None);
            }
            all.off = all.off.plus(goods)?;
            all.came = all.came.plus(self.in_sellers_money(back, goods)?)?;
            all.exchanged |= back.receipt.currency != self.bill.paid_in;
        }
        Ok(Some(all))
    }

    /// What a part of a refund is in the seller's money, by the rate of its day; where that is not known, by the rate of the order.
    fn in_sellers_money(
        &self,
        back: &Back<'_>,
        goods: HomeMoney,
    ) -> Result<SellerMoney, Diagnostic> {
        let (receipt, paid_in) = (back.receipt, self.bill.paid_in);
        if receipt.currency == paid_in {
            let part = receipt
                .amount
                .times(goods.amount())?
                .over(back.amount.amount())?;
            return Ok(SellerMoney::of(part));
        }
        let (jurisdiction, ordered) = (self.ground.jurisdiction, self.bill.ordered);
        let quote = jurisdiction
            .market_rate(paid_in, receipt.date.unwrap_or(ordered))
            .or_else(|_| jurisdiction.market_rate(paid_in, ordered))?;
        Ok(quote.rate.to_seller(goods)?)
    }
}

impl PriceBack {
    /// What came back, with what a card or a bank may have taken of it where it was exchanged.
    fn before_exchange(&self) -> Result<SellerMoney, Overflow> {
        if !self.exchanged {
            return Ok(self.came);
        }
        let left = Dec::HUNDRED.minus(Dec::from(EXCHANGED))?;
        self.came.times(Dec::HUNDRED)?.over(left)
    }
}

/// What must be said of what came back in full.
pub(super) fn say(bill: &Bill, lost: bool, cautions: &mut Cautions) {
    let names = |counts: &dyn Fn(&BillLine) -> bool| -> Vec<&str> {
        let lines = bill.lines.iter().filter(|line| line.gone && counts(line));
        lines.map(|line| line.part.as_str()).collect()
    };
    let gone = names(&|_| true);
    if gone.is_empty() {
        return;
    }
    if bill.kind != ConsignmentState::ToOrder {
        cautions.say("refunded-in-full", refunded(), &gone);
    }
    if lost {
        let text = "Everything in the parcel was refunded in full before it arrived, so nothing more is counted for it at the door";
        let saying =
            Saying::new(text).so("If it still comes, write `kept` in the refund's `note`.");
        cautions.say("parcel-lost", saying, &[&bill.id]);
    }
    let declared = names(&|line| line.amounts.at_door().is_ok_and(HomeMoney::is_positive));
    if bill.kind == ConsignmentState::OnOrder && !lost && !declared.is_empty() {
        let text = "It was refunded and its parcel still comes, so its charges at the door stay counted: customs goes by what was declared";
        let saying = Saying::new(text).so("Enter what is really charged as receipts.");
        let lines = bill.lines.iter().filter(|line| line.gone);
        let at_door = lines
            .map(|line| line.amounts.at_door())
            .collect::<Result<Vec<_>, _>>()
            .and_then(HomeMoney::total);
        let saying = match at_door {
            Ok(sum) => saying.costs(sum),
            Err(_) => saying.costs_unknown(),
        };
        cautions.say("lost-part-declared", saying, &declared);
    }
}
