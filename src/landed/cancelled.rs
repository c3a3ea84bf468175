//! Orders that were cancelled: all that was paid came back before delivery. No balance is owed then, and nothing comes.

use super::caution::{Cautions, Saying};
use super::deposit::{is_low, paid_of};
use super::jurisdiction::Jurisdiction;
use super::parcel::ConsignmentState;
use super::reading::{Back, Cancelled, Receiving};
use super::receipt::{EXCHANGED, Ground, is_kept};
use super::sums::Sum;
use crate::book::Receipt;
use crate::text::Diagnostic;
use crate::text::words::capital;
use crate::units::{Dec, HomeMoney, Overflow};

/// What the seller takes beside the goods, in the order in which it is owed no more.
const BESIDE_GOODS: [Sum; 4] = [Sum::AtSale, Sum::Freight, Sum::Insurance, Sum::CardFee];

impl Receiving<'_, '_> {
    /// Finds what was cancelled, and takes what is owed no more off its sums.
    pub(super) fn cancel(&mut self) -> Result<Option<Cancelled>, Diagnostic> {
        let told = self.bill.seller_told && self.bill.kind == ConsignmentState::OnOrder;
        let kept = self.of_seller().any(|back| is_kept(back.receipt));
        if told || kept || self.of_seller().next().is_none() {
            return Ok(None);
        }
        match (self.bill.kind, self.bill.deposit) {
            (ConsignmentState::ToOrder, Some(paid)) if self.deposit_back(paid)? => {
                self.drop_deposit(paid)?;
                Ok(Some(Cancelled::Asked(paid)))
            }
            (ConsignmentState::OnOrder, _) => self.cancel_lines(),
            _ => Ok(None),
        }
    }

    /// The refunds of what the seller took.
    fn of_seller(&self) -> impl Iterator<Item = &Back<'_>> {
        let of_seller = |back: &&Back<'_>| !self.ground.is_of_door(back.of);
        self.reading.refunds.iter().filter(of_seller)
    }

    /// A deposit on what is still to be ordered came back: all of the price is to pay again.
    fn drop_deposit(&mut self, paid: HomeMoney) -> Result<(), Diagnostic> {
        let goods: Vec<HomeMoney> = self
            .bill
            .lines
            .iter()
            .map(|line| line.amounts.goods)
            .collect();
        let parts = paid.negated().share(&goods, self.ground.digits())?;
        self.bill.lower(Sum::Discount, &parts, true)?;
        self.released(Sum::Discount, parts)?;
        self.bill.deposit = None;
        Ok(())
    }

    /// Notes at the last refund what is owed no more because of it.
    fn released(&mut self, sum: Sum, parts: Vec<HomeMoney>) -> Result<(), Diagnostic> {
        let last = self.reading.refunds.last_mut();
        let last = last.ok_or_else(|| Diagnostic::defect("an order is cancelled by no refund"))?;
        last.released.push((sum, parts));
        Ok(())
    }

    /// Takes the lines of which all came back for cancelled.
    fn cancel_lines(&mut self) -> Result<Option<Cancelled>, Diagnostic> {
        let (mut names, mut released) = (Vec::new(), HomeMoney::ZERO);
        for (lines, left) in self.groups()? {
            released = released.plus(self.release(&lines, left)?)?;
            for at in lines {
                let line = &mut self.bill.lines[at];
                line.cancelled = true;
                names.push(line.part.clone());
            }
        }
        let balance = released > self.ground.pennies()?;
        Ok(balance.then_some(Cancelled::Parts(names, released)))
    }

    /// The lines all of whose payment came back, together or one by one, and what of it was lost on the way.
    fn groups(&self) -> Result<Vec<(Vec<usize>, HomeMoney)>, Diagnostic> {
        let told = self.bill.lines.iter().map(|line| paid_of(line, self.book));
        let told: Vec<Option<HomeMoney>> = told.collect();
        let whole = match self.bill.deposit {
            Some(deposit) => Some(deposit),
            None => all_told(&told)?,
        };
        if let Some(paid) = whole.filter(|paid| paid.is_positive())
            && self.deposit_back(paid)?
        {
            let all = self.bill.all();
            let left = paid.minus(self.bill.refunded(&all)?)?;
            return Ok(vec![(all, left)]);
        }
        let mut found = Vec::new();
        for (at, paid) in told
            .into_iter()
            .enumerate()
            .filter(|_| self.bill.deposit.is_none())
        {
            if let Some(paid) = paid.filter(|paid| paid.is_positive())
                && self.all_came_back(&[at], paid)?
            {
                found.push((vec![at], paid.minus(self.bill.refunded(&[at])?)?));
            }
        }
        Ok(found)
    }

    /// Whether all that was paid for a parcel came back: in the money of the deposit's own receipts where it came in that, else as
    /// [`Receiving::all_came_back`] has it.
    fn deposit_back(&self, paid: HomeMoney) -> Result<bool, Diagnostic> {
        let receipts: Vec<&Receipt> = self.reading.of_deposit().copied().collect();
        let backs: Vec<&Receipt> = self.of_seller().map(|back| back.receipt).collect();
        let mut all = receipts.iter().chain(&backs);
        let one = receipts.first().map(|receipt| receipt.currency);
        let Some(one) = one.filter(|one| all.all(|receipt| receipt.currency == *one)) else {
            return self.all_came_back(&self.bill.all(), paid);
        };
        let typed = |of: &[&Receipt]| Dec::total(of.iter().map(|receipt| receipt.amount));
        let (came, went) = (typed(&backs)?, typed(&receipts)?);
        Ok(came.is_positive() && came.plus(Dec::new(1, one.digits()))? >= went)
    }

    /// Whether all that was paid for some lines came back, but for pennies; of a deposit that was exchanged, by the rate of the
    /// order and but for what a card or a bank takes.
    fn all_came_back(&self, lines: &[usize], paid: HomeMoney) -> Result<bool, Diagnostic> {
        let refunded = self.bill.refunded(lines)?;
        if !refunded.is_positive() {
            return Ok(false);
        }
        if refunded.plus(self.ground.pennies()?)? >= paid {
            return Ok(true);
        }
        let mut price = refunded;
        for at in lines {
            price = price.plus(self.bill.lines[*at].amounts.net_goods()?)?;
        }
        if !is_low(paid, price)? {
            return Ok(false);
        }
        let least = Dec::HUNDRED.minus(Dec::from(EXCHANGED))?;
        let least = paid.times(least)?.over(Dec::HUNDRED)?;
        let home = self.ground.currency();
        let mut paying = self.of_seller().filter(|back| back.amount.is_positive());
        Ok(paying.any(|back| back.receipt.currency != home) && self.then(lines)? >= least)
    }

    /// What came back for some lines, by the rate of the order.
    fn then(&self, lines: &[usize]) -> Result<HomeMoney, Diagnostic> {
        let mut then = HomeMoney::ZERO;
        for back in self.of_seller().filter(|back| back.amount.is_positive()) {
            let parts = back
                .taken
                .iter()
                .flat_map(|(_, parts)| lines.iter().map(|at| parts[*at]));
            let own = HomeMoney::total(parts)?.amount();
            let worth = self
                .ground
                .at_order(back.receipt.currency, back.receipt.amount)?;
            then = then.plus(worth.times(own)?.over(back.amount.amount())?)?;
        }
        Ok(then)
    }

    /// Takes off some lines what the seller would still have been paid, so that only what was lost of the payment is left.
    fn release(&mut self, lines: &[usize], left: HomeMoney) -> Result<HomeMoney, Diagnostic> {
        let mut owed = left.negated();
        for line in lines.iter().map(|at| &self.bill.lines[*at]) {
            owed = owed
                .plus(line.amounts.to_seller()?)?
                .minus(line.sent_back)?;
        }
        if !owed.is_positive() {
            return Ok(HomeMoney::ZERO);
        }
        let mut rest = owed;
        for sum in BESIDE_GOODS {
            let held = self.held(lines, sum)?;
            let taken = HomeMoney::total(held.iter().copied())?.min(rest);
            if taken.is_positive() {
                rest = rest.minus(taken)?;
                self.release_of(sum, taken, &held)?;
            }
        }
        if !rest.is_zero() {
            let mut held = self.held(lines, Sum::Discount)?;
            if let Some(first) = lines
                .first()
                .filter(|_| held.iter().all(|own| own.is_zero()))
            {
                held[*first] = HomeMoney::of(Dec::ONE);
            }
            self.release_of(Sum::Discount, rest, &held)?;
        }
        Ok(owed)
    }

    /// What each line of the bill holds of a sum, where it is among those that are meant; what sending goods back cost is spent.
    fn held(&self, lines: &[usize], sum: Sum) -> Result<Vec<HomeMoney>, Overflow> {
        let mut held = vec![HomeMoney::ZERO; self.bill.lines.len()];
        for at in lines {
            let line = &self.bill.lines[*at];
            let all = line.amounts.left_of(sum)?;
            let own = if sum == Sum::Freight {
                all.minus(line.sent_back)?
            } else {
                all
            };
            held[*at] = own.max(HomeMoney::ZERO);
        }
        Ok(held)
    }

    fn release_of(
        &mut self,
        sum: Sum,
        amount: HomeMoney,
        weights: &[HomeMoney],
    ) -> Result<(), Diagnostic> {
        let parts = amount.share(weights, self.ground.digits())?;
        self.bill.lower(sum, &parts, false)?;
        self.released(sum, parts)
    }
}

/// All that rows tell as paid, where each of them tells it.
fn all_told(told: &[Option<HomeMoney>]) -> Result<Option<HomeMoney>, Overflow> {
    let all: Option<Vec<HomeMoney>> = told.iter().copied().collect();
    all.map(HomeMoney::total).transpose()
}

impl Cancelled {
    /// How it is counted where it is asked about, and what to do.
    pub(super) const STILL_TO_ORDER: &str = "it is counted as to be ordered at its whole price; if its rows are no longer wanted, take them out of the build";

    /// The question, where the rows contradict what came back.
    pub(super) fn question(paid: HomeMoney, jurisdiction: &Jurisdiction<'_>) -> String {
        format!(
            "was this order cancelled? Its deposit of {} came back in full, and its rows are still to be ordered",
            jurisdiction.money(paid)
        )
    }

    /// What must be said of it.
    pub(super) fn say(&self, ground: &Ground<'_>, id: &str, cautions: &mut Cautions) {
        match self {
            Cancelled::Parts(names, released) => {
                let names: Vec<&str> = names.iter().map(String::as_str).collect();
                let text = format!(
                    "All that was paid came back before it arrived, so the order counts as cancelled, and the balance of {} is no longer to pay",
                    ground.money(*released)
                );
                let saying = Saying::new(text)
                    .so("If the order is still open, write `kept` in the refund's `note`.")
                    .costs(*released);
                cautions.say("order-cancelled", saying, &names);
            }
            Cancelled::Asked(paid) => {
                let question = Cancelled::question(*paid, ground.jurisdiction);
                let text = format!(
                    "{}. It is counted as to be ordered at its whole price",
                    capital(&question)
                );
                let saying = Saying::new(text)
                    .so("If its rows are no longer wanted, take them out of the build.")
                    .costs_unknown();
                cautions.say("cancelled-asked", saying, &[id]);
            }
        }
    }
}
