//! Receipts in the place of what was calculated: each in its own money, the sum of each charge shared over the parts, lumps
//! last, in the order in which the engine puts them.

use super::Common;
use super::formula::{At, BoolExpr, NumExpr};
use super::page::{FIGURE, Page, TOGETHER};
use super::parcel::called;
use super::refused::Made;
use super::shares::Sharing;
use super::sheets::Look;
use super::sums::{Rows, SELLER, Sum};
use crate::book::ChargeWord;
use crate::landed::{Charged, Working};

/// A parcel's sums, into which its receipts are read.
struct Charging<'a, 'p> {
    page: &'a mut Page<'p>,
    work: &'a Working<'a>,
    common: &'a Common,
    rows: &'a mut Rows,
    /// What each receipt comes to in the destination's money.
    found: Vec<(ChargeWord, At)>,
    /// The sums that receipts tell, totals left aside.
    known: Vec<Sum>,
}

/// Writes what receipts say, and points the sums they cover to it.
pub(super) fn charged(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
    rows: &mut Rows,
) -> Made<()> {
    let sent_back = work.sent_back.iter().any(|part| !part.is_zero());
    if work.receipts.is_empty() && work.refunds.is_empty() && !sent_back {
        return Ok(());
    }
    page.head("What was really charged, in the place of what was calculated");
    let mut charging = Charging {
        page,
        work,
        common,
        rows,
        found: Vec::new(),
        known: Vec::new(),
    };
    for receipt in &work.receipts {
        let at = charging.read(receipt)?;
        charging.found.push((receipt.word, at));
    }
    charging.told()?;
    for sum in charging.not_charged() {
        charging.set(sum, NumExpr::ZERO)?;
    }
    if let Some(lump) = charging.receipts(ChargeWord::ToPaySeller) {
        let goods = charging.left_for_goods(lump);
        charging.set(Sum::Goods, goods)?;
    }
    if let Some(lump) = charging.receipts(ChargeWord::ToPayCarrier) {
        charging.lump_at_door(lump)?;
    }
    if work.taken.discount_by_price {
        charging.by_price()?;
    }
    if sent_back {
        charging.sent_back()?;
    }
    charging.refunds()
}

impl Charging<'_, '_> {
    fn money(&self) -> Look {
        Look::Money(self.digits())
    }

    fn digits(&self) -> u32 {
        self.common.currency.digits()
    }

    fn total(&self, sum: Sum) -> NumExpr {
        self.rows.total(self.page, sum)
    }

    /// One receipt, and what it is in the destination's money.
    fn read(&mut self, receipt: &Charged) -> Made<At> {
        let how = format!(
            "{}, {}, at the market rate of the day, rounded half up",
            receipt.currency, receipt.day
        );
        let what = format!("  receipt: {}", receipt.word.name().replace('_', " "));
        let (row, money) = (self.page.row, self.money());
        self.page.name(&what, &receipt.place, &how, Look::Plain);
        let (figure, at) = (self.page.at(row, FIGURE), self.page.at(row, TOGETHER));
        let input = NumExpr::R(self.common.inputs.receipt(receipt)?);
        self.page.sheets.formula(figure, input, Look::Plain)?;
        let (common, amount) = (self.common, NumExpr::R(figure));
        let converted = common.convert(&receipt.quote, receipt.currency, amount)?;
        let converted = converted.minor(self.digits());
        self.page.sheets.formula(at, converted, money)?;
        self.page.row += 1;
        Ok(at)
    }

    /// All receipts of a word together, where there are any.
    fn receipts(&self, word: ChargeWord) -> Option<NumExpr> {
        let own = self.found.iter().filter(|(own, _)| *own == word);
        let cells: Vec<NumExpr> = own.map(|(_, at)| NumExpr::R(*at)).collect();
        (!cells.is_empty()).then(|| NumExpr::sum(cells))
    }

    /// Writes the sums that receipts tell, totals left aside.
    fn told(&mut self) -> Made<()> {
        let one_sum = self.work.taken.one_sum;
        for (word, sum) in Sum::TOLD {
            if let Some(amount) = self.receipts(word).filter(|_| one_sum != Some(word)) {
                self.tell(sum, amount)?;
            }
        }
        if let Some(both) = one_sum.and_then(|word| self.receipts(word)) {
            self.in_one_sum(both)?;
        }
        if let Some(tax) = self.receipts(ChargeWord::Tax) {
            let sum = if self.work.bill.taxed_at_sale() {
                Sum::AtSale
            } else {
                Sum::AtBorder
            };
            self.tell(sum, tax)?;
        }
        Ok(())
    }

    fn tell(&mut self, sum: Sum, amount: NumExpr) -> Made<()> {
        self.known.push(sum);
        self.set(sum, amount)
    }

    /// Duty and anti-dumping out of one sum, by what was calculated of each.
    fn in_one_sum(&mut self, both: NumExpr) -> Made<()> {
        let (money, digits) = (self.money(), self.digits());
        let what = "  duty and anti-dumping in one sum";
        let both = NumExpr::R(self.page.sum(what, "", money, both)?);
        let (own, other) = (self.total(Sum::Duty), self.total(Sum::Remedy));
        let all = NumExpr::sum([own.clone(), other]);
        let part = NumExpr::over(NumExpr::Mul(vec![both.clone(), own]), all);
        let how = "by what was calculated of each";
        let duty = self
            .page
            .sum("  duty of it", how, money, part.minor(digits))?;
        self.tell(Sum::Duty, NumExpr::R(duty))?;
        self.tell(Sum::Remedy, NumExpr::minus(both, NumExpr::R(duty)))
    }

    /// A sum as charged, shared over the parts by what was calculated of it, else by goods.
    fn set(&mut self, sum: Sum, amount: NumExpr) -> Made<()> {
        let (money, digits) = (self.money(), self.digits());
        let what = format!("  {}, as charged", sum.name());
        let amount = self.page.sum(&what, "", money, amount)?;
        let (own, goods) = (self.rows.of(sum), self.rows.of(Sum::Goods));
        let how = "what was calculated of it, else the goods";
        let weights = self.page.each("  weights", how, Look::Step, |p, i| {
            let none = BoolExpr::none(p.total(own));
            NumExpr::either(none, NumExpr::R(p.of(goods, i)), NumExpr::R(p.of(own, i)))
        })?;
        self.share(sum, amount, weights, digits)
    }

    fn share(&mut self, sum: Sum, amount: At, weights: u32, digits: u32) -> Made<()> {
        let sharing = Sharing::by(weights, digits);
        let amount = |_| NumExpr::R(amount);
        let now = self.page.share(called(sum), &amount, sharing)?;
        self.rows.set(sum, now);
        Ok(())
    }

    /// The card fee, where it stands beside the seller's total.
    fn fee_apart(&self) -> Option<Sum> {
        self.work.taken.fee_apart.then_some(Sum::CardFee)
    }

    /// Sums of a side whose total is the sum of its receipts, and that have none: they were not charged.
    fn not_charged(&self) -> Vec<Sum> {
        let [seller, door] = self.work.taken.summed;
        let sides = [
            (&[Sum::Discount][..], seller),
            (&SELLER, seller),
            (&Sum::DOOR, door),
        ];
        let summed = sides.into_iter().filter(|(_, summed)| *summed);
        let sums = summed.flat_map(|(sums, _)| sums.iter().copied());
        sums.filter(|sum| !self.known.contains(sum) && self.fee_apart() != Some(*sum))
            .collect()
    }

    /// What is left for the goods of one sum to the seller, beside what other receipts cover.
    fn left_for_goods(&self, lump: NumExpr) -> NumExpr {
        let beside = |sum: &Sum| self.known.contains(sum) || self.fee_apart() == Some(*sum);
        let mut terms = vec![(false, lump)];
        let sellers = SELLER.into_iter();
        terms.extend(sellers.filter(beside).map(|sum| (false, self.total(sum))));
        if !beside(&Sum::Discount) {
            terms.push((false, self.total(Sum::Discount)));
        }
        let others = SELLER.into_iter().filter(|sum| *sum != Sum::Goods);
        terms.extend(others.map(|sum| (true, self.total(sum))));
        NumExpr::Add(terms)
    }

    /// One sum at the door, beside what other receipts cover: over the charges that were due, by what was calculated of each; all
    /// of it a fee where none was.
    fn lump_at_door(&mut self, lump: NumExpr) -> Made<()> {
        let (money, digits) = (self.money(), self.digits());
        let lump = self.page.sum("  one sum at the door", "", money, lump)?;
        let names = Sum::DOOR.map(Sum::name);
        let totals = Sum::DOOR.map(|sum| self.total(sum));
        let covered = Sum::DOOR.map(|sum| self.known.contains(&sum));
        let told = self.page.down(&names, "  has a receipt of its own", |k| {
            if covered[k] {
                totals[k].clone()
            } else {
                NumExpr::ZERO
            }
        })?;
        let open = self.page.down(&names, "  open", |k| {
            let none = BoolExpr::none(NumExpr::R(told[k]));
            NumExpr::either(none, totals[k].clone(), NumExpr::ZERO)
        })?;
        let parts = self.page.share_down(&names, (&open, lump), digits)?;
        for ((sum, told), part) in Sum::DOOR.into_iter().zip(told).zip(parts) {
            self.set(sum, NumExpr::sum([NumExpr::R(told), NumExpr::R(part)]))?;
        }
        Ok(())
    }

    /// Shares the discount by price, where its share would be more than the price of one part.
    fn by_price(&mut self) -> Made<()> {
        let (money, digits) = (self.money(), self.digits());
        let how = "more than one part's price as shared before";
        let discount = self.total(Sum::Discount);
        let off = self
            .page
            .sum("  discount, by price", how, money, discount)?;
        self.share(Sum::Discount, off, self.rows.of(Sum::Goods), digits)
    }

    /// What sending goods back cost, part by part as the tool shares it, on top of the freight.
    fn sent_back(&mut self) -> Made<()> {
        let words = ["  for sending back", "", "as shared by the tool"];
        let back = self.work.sent_back.iter().map(|part| part.amount());
        let back = self.page.fixed(words, (Look::Plain, self.money()), back);
        let how = "with what sending back cost";
        self.change(Sum::Freight, (how, back), false)
    }

    /// What came back, part by part as the tool shares it, off the sums it lowers.
    fn refunds(&mut self) -> Made<()> {
        for (sum, place, parts) in &self.work.refunds {
            let sum = *sum;
            let what = format!("  came back, off {}", sum.lowered().name());
            let words = [what.as_str(), place, "as shared by the tool"];
            let looks = (Look::Plain, self.money());
            let back = self
                .page
                .fixed(words, looks, parts.iter().map(|part| part.amount()));
            // a discount stands below zero: what lowers the goods makes it more
            let off = sum != Sum::Discount;
            self.change(sum, ("after what came back", back), off)?;
        }
        Ok(())
    }

    /// Adds a row to a sum, or takes it off.
    fn change(&mut self, sum: Sum, (how, by): (&str, u32), off: bool) -> Made<()> {
        let (before, money) = (self.rows.of(sum), self.money());
        let now = self.page.each(called(sum), how, money, |p, i| {
            NumExpr::Add(vec![
                (false, NumExpr::R(p.of(before, i))),
                (off, NumExpr::R(p.of(by, i))),
            ])
        })?;
        self.rows.set(sum, now);
        Ok(())
    }
}
