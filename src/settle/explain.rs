//! What lies behind a difference: each penny of it goes to a cause that the receipts or the tables show.

use super::cause::Cause;
use super::ledger::Page;
use crate::book::{ChargeWord, Receipt};
use crate::landed::in_home_money;
use crate::tables::Reason;
use crate::units::{Dec, HomeMoney, Mode, Overflow};

impl Page<'_> {
    /// What made the difference of a charge: what the steps changed, then what explains the rest; and what is left of it. What was
    /// charged as it was calculated needs no cause, unless causes that are seen cancel one another.
    pub(super) fn causes(
        &self,
        charge: ChargeWord,
        steps: [Dec; 3],
        actual: Dec,
    ) -> Result<(Vec<(Cause, Dec)>, Dec), Overflow> {
        let (causes, unexplained) = self.all_causes(charge, steps, actual)?;
        let guessed = causes
            .iter()
            .any(|(cause, _)| matches!(cause, Cause::OtherRate(_) | Cause::Overcharged));
        let differs = actual.minus(steps[0])?;
        if differs.abs() <= self.pennies()? && (guessed || !unexplained.is_zero()) {
            return Ok((together(vec![(Cause::Rounding, differs)])?, Dec::ZERO));
        }
        Ok((causes, unexplained))
    }

    fn all_causes(
        &self,
        charge: ChargeWord,
        steps: [Dec; 3],
        actual: Dec,
    ) -> Result<(Vec<(Cause, Dec)>, Dec), Overflow> {
        let [estimated, rate, asked] = steps;
        let by_price = match charge {
            ChargeWord::Goods => Cause::Price,
            ChargeWord::Freight => Cause::Freight,
            _ => Cause::Follows,
        };
        // a penny that went to another charge in the sharing is not another price
        let by_price =
            if asked.minus(rate)?.abs() <= Dec::new(1, self.jurisdiction.currency().digits()) {
                Cause::Rounding
            } else {
                by_price
            };
        let mut causes = vec![
            (Cause::Rate, rate.minus(estimated)?),
            (by_price, asked.minus(rate)?),
        ];
        causes.extend(self.explain(charge, asked, actual, actual.minus(asked)?)?);
        let mut causes = together(causes)?;
        let unexplained = actual
            .minus(estimated)?
            .minus(Dec::total(causes.iter().map(|(_, amount)| *amount))?)?;
        // What can be asked back as too much is called that, and not unexplained as well.
        if unexplained > self.pennies()?
            && !self.is_doubtful(charge)
            && self.refundable(charge, Reason::Overcharged).is_some()
        {
            causes.push((Cause::Overcharged, unexplained));
            return Ok((causes, Dec::ZERO));
        }
        Ok((causes, unexplained))
    }

    /// What explains what the steps leave over.
    pub(super) fn explain(
        &self,
        charge: ChargeWord,
        asked: Dec,
        actual: Dec,
        rest: Dec,
    ) -> Result<Vec<(Cause, Dec)>, Overflow> {
        if rest.is_zero() {
            return Ok(Vec::new());
        }
        if let Some(twice) = self.twice(charge, asked, rest)? {
            return Ok(twice);
        }
        // What is typed twice is that first, and what else differs is explained apart.
        let typed = self.typed_twice(charge)?;
        if typed.is_positive() && rest.minus(typed)?.abs() < rest.abs() {
            let left =
                self.explain_once(charge, asked, actual.minus(typed)?, rest.minus(typed)?)?;
            return Ok(std::iter::once((Cause::TypedTwice, typed))
                .chain(left)
                .collect());
        }
        self.explain_once(charge, asked, actual, rest)
    }

    /// What rows that stand in the book before come to.
    fn typed_twice(&self, charge: ChargeWord) -> Result<Dec, Overflow> {
        let again = self
            .receipts
            .iter()
            .filter(|r| r.again && self.is_for(r, charge));
        Dec::total(again.map(|r| {
            in_home_money(r, self.bill, self.jurisdiction).map_or(Dec::ZERO, HomeMoney::amount)
        }))
    }

    /// What explains a difference that no row typed or charged twice does.
    fn explain_once(
        &self,
        charge: ChargeWord,
        asked: Dec,
        actual: Dec,
        rest: Dec,
    ) -> Result<Vec<(Cause, Dec)>, Overflow> {
        if rest.is_zero() {
            return Ok(Vec::new());
        }
        let whole = |cause: Cause| Ok(vec![(cause, rest)]);
        if rest.abs() <= self.pennies()? {
            return whole(Cause::Rounding);
        }
        match charge {
            ChargeWord::Discount => whole(Cause::Discount),
            _ if self.was_not_charged(charge) => whole(Cause::NotAsked),
            ChargeWord::CardFee => whole(Cause::CardFee),
            ChargeWord::Goods
            | ChargeWord::Freight
            | ChargeWord::Insurance
            | ChargeWord::TaxAtSale
            | ChargeWord::ToPaySeller => self.explain_seller(charge, asked, rest),
            _ if actual.is_zero() => whole(Cause::NotAsked),
            ChargeWord::Duty | ChargeWord::Remedy | ChargeWord::ToPayCarrier
                if self.tables_lack(rest) =>
            {
                whole(Cause::TablesLack)
            }
            ChargeWord::Handling | ChargeWord::ToPayCarrier if asked.is_zero() => {
                whole(Cause::NotForeseen)
            }
            ChargeWord::Handling => whole(Cause::Fee),
            ChargeWord::TaxAtBorder => {
                let mut found = self.explain_tax(asked, rest)?;
                let left = rest.minus(Dec::total(found.iter().map(|(_, amount)| *amount))?)?;
                if left > self.pennies()? && self.tables_lack(left) {
                    found.push((Cause::TablesLack, left));
                }
                Ok(found)
            }
            ChargeWord::Duty | ChargeWord::Remedy => Ok(self
                .other_rate(actual)?
                .map(|cause| (cause, rest))
                .or((asked.is_zero()).then_some((Cause::NotForeseen, rest)))
                .into_iter()
                .collect()),
            _ => Ok(Vec::new()),
        }
    }

    /// Whether more was charged on goods for which the tables have no rate, or no row any more.
    fn tables_lack(&self, rest: Dec) -> bool {
        rest.is_positive() && (!self.bill.gaps.is_empty() || !self.bill.ended.is_empty())
    }

    /// The receipts for one charge.
    fn told(&self, word: ChargeWord) -> impl Iterator<Item = &&Receipt> {
        self.receipts.iter().filter(move |r| self.is_for(r, word))
    }

    /// Whether a tax that was not due here was due, or taken, at the other of its two places.
    fn is_taxed_twice(&self, charge: ChargeWord, asked: Dec) -> bool {
        let taxed = |word: ChargeWord| self.told(word).any(|r| r.amount.is_positive());
        // Calculated there, and no receipt says that it was not taken.
        let due = |word: ChargeWord, reckoned: Dec| {
            reckoned.is_positive() && (self.told(word).next().is_none() || taxed(word))
        };
        let e = &self.stages.asked;
        // Where neither was due, the one at the sale came first and the one at the door is the second.
        match charge {
            ChargeWord::TaxAtBorder => {
                asked.is_zero()
                    && (due(ChargeWord::TaxAtSale, e.tax_at_sale.amount())
                        || taxed(ChargeWord::TaxAtSale))
            }
            ChargeWord::TaxAtSale => {
                asked.is_zero() && due(ChargeWord::TaxAtBorder, e.tax_at_border.amount())
            }
            _ => false,
        }
    }

    /// The same thing charged twice: tax at the sale and again at the door, or two receipts alike.
    fn twice(
        &self,
        charge: ChargeWord,
        asked: Dec,
        rest: Dec,
    ) -> Result<Option<Vec<(Cause, Dec)>>, Overflow> {
        if self.is_taxed_twice(charge, asked) && rest.is_positive() {
            return Ok(Some(vec![(Cause::Twice, rest)]));
        }
        let own: Vec<&&Receipt> = self
            .told(charge)
            .filter(|r| r.amount.is_positive())
            .collect();
        for (at, receipt) in own.iter().enumerate() {
            let same = |other: &&&&Receipt| {
                other.amount == receipt.amount && other.currency == receipt.currency
            };
            let Some(other) = own.iter().skip(at + 1).find(same) else {
                continue;
            };
            let cause = if other.again {
                Cause::TypedTwice
            } else {
                Cause::Twice
            };
            let amount = in_home_money(receipt, self.bill, self.jurisdiction)
                .map_or(Dec::ZERO, HomeMoney::amount);
            let left = rest.minus(amount)?;
            if left.abs() <= self.pennies()? {
                let pennies = (!left.is_zero()).then_some((Cause::Rounding, left));
                return Ok(Some(
                    std::iter::once((cause, amount)).chain(pennies).collect(),
                ));
            }
        }
        Ok(None)
    }

    /// What the seller or the card made of it. In the seller's own money the sum was asked; in the destination's the card
    /// stands between.
    fn explain_seller(
        &self,
        charge: ChargeWord,
        asked: Dec,
        rest: Dec,
    ) -> Result<Vec<(Cause, Dec)>, Overflow> {
        let whole = |cause: Cause| Ok(vec![(cause, rest)]);
        let own_money = self
            .receipts
            .iter()
            .filter(|r| r.charge == charge)
            .all(|r| r.currency == self.bill.paid_in);
        if own_money {
            return match charge {
                ChargeWord::Freight => whole(Cause::Freight),
                ChargeWord::TaxAtSale | ChargeWord::Insurance if asked.is_zero() => {
                    whole(Cause::NotForeseen)
                }
                _ => whole(Cause::Price),
            };
        }
        if asked.is_zero() {
            return whole(Cause::NotForeseen);
        }
        let share = rest.times(Dec::HUNDRED)?.over(asked)?;
        if share.abs() <= Dec::ONE {
            return whole(Cause::CardRate);
        }
        let usual = self
            .jurisdiction
            .tables
            .spreads
            .iter()
            .find(|row| row.rule.what == "seller-conversion");
        let percent = |text: &String| {
            crate::book::Figure::parse(text, crate::units::number::Style::Point)
                .map(|f| f.value)
                .ok()
        };
        let ends = usual
            .and_then(|row| row.rule.range.as_ref())
            .and_then(|[low, _, high]| percent(low).zip(percent(high)));
        let inside = ends.is_some_and(|(low, high)| low <= share && share <= high);
        if inside {
            whole(Cause::Conversion)
        } else {
            Ok(Vec::new())
        }
    }

    /// Tax on duty that was charged otherwise, then tax on the carrier's fee; where both leave more than pennies, what follows from
    /// the duty alone, as far as it is part of the difference.
    fn explain_tax(&self, asked: Dec, rest: Dec) -> Result<Vec<(Cause, Dec)>, Overflow> {
        let a = &self.stages.asked;
        if asked.is_zero() {
            return Ok(vec![(Cause::NotForeseen, rest)]);
        }
        let base = Dec::total([
            self.stages.customs_value,
            a.duty.amount(),
            a.remedy.amount(),
        ])?;
        let rate = if base.is_positive() {
            asked.over(base)?.round_to(3, Mode::HalfUp)
        } else {
            Dec::ZERO
        };
        let charged =
            |word: ChargeWord, reckoned: Dec| self.charged(word).ok().flatten().unwrap_or(reckoned);
        let more = Dec::total([
            charged(ChargeWord::Duty, a.duty.amount()),
            charged(ChargeWord::Remedy, a.remedy.amount()),
        ])?
        .minus(a.duty.plus(a.remedy)?.amount())?;
        let on_duty = more
            .times(rate)?
            .round_to(self.jurisdiction.currency().digits(), Mode::HalfUp);
        let left = rest.minus(on_duty)?;
        if !on_duty.is_zero() && left.abs() <= self.pennies()? {
            return Ok(vec![(Cause::OnDuty, on_duty), (Cause::Rounding, left)]);
        }
        let on_fee = charged(ChargeWord::Handling, a.handling.amount())
            .times(rate)?
            .round_to(self.jurisdiction.currency().digits(), Mode::HalfUp);
        let left = left.minus(on_fee)?;
        if !on_fee.is_zero() && left.abs() <= self.pennies()? {
            return Ok(vec![
                (Cause::OnDuty, on_duty),
                (Cause::OnFee, on_fee),
                (Cause::Rounding, left),
            ]);
        }
        let is_part = !on_duty.is_zero() && rest.minus(on_duty)?.abs() < rest.abs();
        Ok(if is_part {
            vec![(Cause::OnDuty, on_duty)]
        } else {
            Vec::new()
        })
    }

    /// Another of the destination's own rates that gives the sum to the penny.
    fn other_rate(&self, actual: Dec) -> Result<Option<Cause>, Overflow> {
        let mut rates: Vec<Dec> = self
            .jurisdiction
            .law
            .tariff
            .iter()
            .filter(|r| r.stamp.in_force(self.bill.arrival))
            .filter_map(|r| r.rule.percent)
            .map(|p| p.0)
            .collect();
        rates.sort();
        rates.dedup();
        let tolerance = self.pennies()?;
        for percent in rates.into_iter().filter(|p| p.is_positive()) {
            let would = crate::units::Percent(percent).of(self.stages.customs_value)?;
            if would.minus(actual)?.abs() <= tolerance {
                return Ok(Some(Cause::OtherRate(percent)));
            }
        }
        Ok(None)
    }

    pub(super) fn pennies(&self) -> Result<Dec, Overflow> {
        crate::landed::pennies(self.bill, self.jurisdiction).map(HomeMoney::amount)
    }
}

/// Each cause once, those that came to nothing left out.
fn together(causes: Vec<(Cause, Dec)>) -> Result<Vec<(Cause, Dec)>, Overflow> {
    let mut found: Vec<(Cause, Dec)> = Vec::new();
    for (cause, amount) in causes {
        match found.iter_mut().find(|(known, _)| *known == cause) {
            Some((_, sum)) => *sum = sum.plus(amount)?,
            None => found.push((cause, amount)),
        }
    }
    found.retain(|(_, amount)| !amount.is_zero());
    Ok(found)
}
