//! Receipts against the estimate, parcel by parcel and charge by charge; every penny has a cause or is unexplained.

use super::cause::Cause;
use super::stage::{Stages, stages};
use crate::book::{Book, ChargeWord, Part, Receipt};
use crate::landed::{Amounts, Bill, Caution, Cautions, Desk, Kind, bills_of, in_home_money};
use crate::tables::{Dated, Reason, RefundRow};
use crate::text::Problems;
use crate::units::{Date, Dec, Mode, Overflow};

/// One charge of one parcel; money back and discounts stand below nought.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Its word.
    pub charge: ChargeWord,
    /// As reckoned.
    pub estimated: Dec,
    /// As charged; none while there is no receipt.
    pub actual: Option<Dec>,
    /// What made the difference.
    pub causes: Vec<(Cause, Dec)>,
    /// What is left of it.
    pub unexplained: Dec,
    /// What can be asked back.
    pub claim: Option<Claimable>,
}

impl Entry {
    /// Charged less reckoned.
    pub fn difference(&self) -> Result<Dec, Overflow> {
        self.actual.map_or(Ok(Dec::ZERO), |actual| actual.minus(self.estimated))
    }
}

/// Something that can be asked back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Claimable {
    /// Why.
    pub reason: Reason,
    /// How much, in the destination's money; not nought.
    pub amount: Dec,
    /// From whom.
    pub from: String,
    /// The last day.
    pub until: Option<Date>,
    /// The row of the tables.
    pub row: String,
    /// What it says.
    pub text: String,
}

/// One parcel.
#[derive(Debug, Clone)]
pub struct Settled {
    /// `SELLER` or `SELLER/PARCEL`.
    pub id: String,
    /// Who sent it.
    pub seller: String,
    /// When it came, or was to come.
    pub arrival: Date,
    /// Its charges.
    pub entries: Vec<Entry>,
}

/// All parcels with receipts.
#[derive(Debug, Clone)]
pub struct Ledger {
    /// The parcels.
    pub parcels: Vec<Settled>,
    /// Parcels without a receipt so far.
    pub waiting: Vec<String>,
    /// Until when goods at fault can be sent back with the charges asked back, by parcel; with the row of the tables.
    pub rejects: Vec<(String, Date, String)>,
    /// What must be said.
    pub cautions: Vec<Caution>,
}

/// One of a parcel's sums.
type Of = fn(&Amounts) -> Dec;

/// The charges in the order they are shown, with their sums.
const CHARGES: [(ChargeWord, Of); 10] = [
    (ChargeWord::Goods, |a| a.goods),
    (ChargeWord::Discount, |a| a.discount.negated()),
    (ChargeWord::Freight, |a| a.freight),
    (ChargeWord::Insurance, |a| a.insurance),
    (ChargeWord::TaxAtSale, |a| a.tax_at_sale),
    (ChargeWord::CardFee, |a| a.card_fee),
    (ChargeWord::Duty, |a| a.duty),
    (ChargeWord::Remedy, |a| a.remedy),
    (ChargeWord::TaxAtBorder, |a| a.tax_at_border),
    (ChargeWord::Handling, |a| a.handling),
];

/// Sets the receipts of a book against what it would have reckoned without them.
pub fn settle(book: &Book, desk: &Desk<'_>) -> Result<Ledger, Problems> {
    let before = book.before();
    let rows: Vec<&Part> = before.build().collect();
    let bills = bills_of(&before, &rows, desk, desk.ask.remedies == crate::book::Remedies::Count)?;
    let (mut parcels, mut waiting, mut cautions) = (Vec::new(), Vec::new(), Cautions::default());
    for bill in &bills {
        let own: Vec<&Receipt> = book.receipts.iter().filter(|r| r.consignment == bill.id).collect();
        if own.is_empty() {
            if bill.kind != Kind::ToOrder {
                waiting.push(bill.id.clone());
            }
            continue;
        }
        let stages = stages(&before, bill, &own, desk)?;
        parcels.push(Page { bill, desk, stages, receipts: own }.settle()?);
        card_cover(bill, desk, &mut cautions)?;
    }
    for receipt in book.receipts.iter().filter(|r| !bills.iter().any(|b| b.id == r.consignment)) {
        cautions.say(
            "receipt-without-parcel",
            "a receipt is for a parcel whose rows are not reckoned: no price, or a build without them",
            &[&receipt.consignment],
        );
    }
    let abroad = |bill: &&Bill| !desk.is_home(bill.dispatch.code());
    if desk.law.refunds.is_empty() && bills.iter().any(|bill| abroad(&bill)) {
        let text = "the tables of this destination do not say what can be asked back, nor until when: ask its customs";
        cautions.say("refunds-unknown", text, &[]);
    }
    let rejects = bills.iter().filter_map(|bill| reject_until(bill, desk)).collect();
    Ok(Ledger { parcels, waiting, rejects, cautions: cautions.into_list() })
}

/// One parcel being settled.
struct Page<'a> {
    bill: &'a Bill,
    desk: &'a Desk<'a>,
    stages: Stages,
    receipts: Vec<&'a Receipt>,
}

impl Page<'_> {
    fn settle(&self) -> Result<Settled, Problems> {
        let mut entries = Vec::new();
        let lump_seller = self.charged(ChargeWord::ToPaySeller)?;
        let lump_door = self.charged(ChargeWord::ToPayCarrier)?;
        for (charge, of) in CHARGES {
            let door = matches!(charge, ChargeWord::Duty | ChargeWord::Remedy | ChargeWord::TaxAtBorder | ChargeWord::Handling);
            if (if door { lump_door } else { lump_seller }).is_some() {
                continue;
            }
            let steps = [of(&self.stages.estimate), of(&self.stages.rate), of(&self.stages.asked)];
            let actual = match self.actual(charge)? {
                Some(amount) if charge == ChargeWord::Discount => Some(amount.negated()),
                other => other,
            };
            if actual.is_none() && steps[0].is_zero() {
                continue;
            }
            entries.push(self.entry(charge, steps, actual)?);
        }
        for (charge, lump) in [(ChargeWord::ToPaySeller, lump_seller), (ChargeWord::ToPayCarrier, lump_door)] {
            let Some(lump) = lump else { continue };
            let sum = |a: &Amounts| if charge == ChargeWord::ToPaySeller { a.to_seller() } else { a.at_door() };
            let others = self.beside_lump(charge)?;
            let steps = [sum(&self.stages.estimate), sum(&self.stages.rate), sum(&self.stages.asked)];
            let steps = [steps[0]?, steps[1]?, steps[2]?];
            entries.push(self.entry(charge, steps, Some(lump.plus(others)?))?);
        }
        if let Some(refund) = self.charged(ChargeWord::Refund)? {
            let back = refund.negated();
            let causes = vec![(Cause::Refund, back)];
            entries.push(Entry {
                charge: ChargeWord::Refund,
                estimated: Dec::ZERO,
                actual: Some(back),
                causes,
                unexplained: Dec::ZERO,
                claim: None,
            });
        }
        Ok(Settled { id: self.bill.id.clone(), seller: self.bill.seller.clone(), arrival: self.bill.arrival, entries })
    }

    /// What receipts of one word come to, in the destination's money.
    fn charged(&self, word: ChargeWord) -> Result<Option<Dec>, Problems> {
        let of: Vec<&&Receipt> = self.receipts.iter().filter(|r| r.charge == word).collect();
        if of.is_empty() {
            return Ok(None);
        }
        let amounts = of.iter().map(|r| in_home_money(r, self.bill, self.desk)).collect::<Result<Vec<_>, _>>()?;
        Dec::total(amounts).map(Some).map_err(Problems::from)
    }

    /// As [`Page::charged`]; tax that is not told apart is where it was to be taken.
    fn actual(&self, charge: ChargeWord) -> Result<Option<Dec>, Problems> {
        let own = self.charged(charge)?;
        let place = if self.bill.tax_collected == "at-sale" { ChargeWord::TaxAtSale } else { ChargeWord::TaxAtBorder };
        if charge != place {
            return Ok(own);
        }
        match (own, self.charged(ChargeWord::Tax)?) {
            (Some(own), Some(tax)) => own.plus(tax).map(Some).map_err(Problems::from),
            (own, tax) => Ok(own.or(tax)),
        }
    }

    /// Charges that stand beside a lump of their side: they are part of what that side took.
    fn beside_lump(&self, lump: ChargeWord) -> Result<Dec, Problems> {
        let door = lump == ChargeWord::ToPayCarrier;
        let mut sum = Dec::ZERO;
        for receipt in self.receipts.iter().filter(|r| r.charge != lump && r.charge != ChargeWord::Refund) {
            if super::stage::at_door(receipt, self.bill) == door {
                let amount = in_home_money(receipt, self.bill, self.desk)?;
                let signed = if receipt.charge == ChargeWord::Discount { amount.negated() } else { amount };
                sum = sum.plus(signed)?;
            }
        }
        Ok(sum)
    }

    /// One charge with its causes: what the steps changed, then what explains the rest.
    fn entry(&self, charge: ChargeWord, [estimated, rate, asked]: [Dec; 3], actual: Option<Dec>) -> Result<Entry, Overflow> {
        let mut causes = Vec::new();
        let mut unexplained = Dec::ZERO;
        if let Some(actual) = actual {
            let by_price = match charge {
                ChargeWord::Goods => Cause::Price,
                ChargeWord::Freight => Cause::Freight,
                _ => Cause::Follows,
            };
            // a penny that went to another charge in the sharing is not another price
            let by_price = if asked.minus(rate)?.abs() <= Dec::new(1, self.desk.currency().digits()) { Cause::Rounding } else { by_price };
            causes = vec![(Cause::Rate, rate.minus(estimated)?), (by_price, asked.minus(rate)?)];
            let rest = actual.minus(asked)?;
            causes.extend(self.explain(charge, asked, actual, rest)?);
            causes = together(causes)?;
            unexplained = actual.minus(estimated)?.minus(Dec::total(causes.iter().map(|(_, amount)| *amount))?)?;
        }
        let claim = self.claim(charge, &causes, unexplained);
        Ok(Entry { charge, estimated, actual, causes, unexplained, claim })
    }

    /// What explains what the steps leave over.
    fn explain(&self, charge: ChargeWord, asked: Dec, actual: Dec, rest: Dec) -> Result<Vec<(Cause, Dec)>, Overflow> {
        if rest.is_zero() {
            return Ok(Vec::new());
        }
        if let Some(twice) = self.twice(charge, asked, rest)? {
            return Ok(twice);
        }
        let whole = |cause: Cause| Ok(vec![(cause, rest)]);
        if rest.abs() <= self.pennies()? {
            return whole(Cause::Rounding);
        }
        match charge {
            ChargeWord::Discount => whole(Cause::Discount),
            ChargeWord::CardFee => whole(Cause::CardFee),
            ChargeWord::Goods | ChargeWord::Freight | ChargeWord::Insurance | ChargeWord::TaxAtSale | ChargeWord::ToPaySeller => {
                self.explain_seller(charge, asked, rest)
            }
            _ if actual.is_zero() => whole(Cause::NotAsked),
            ChargeWord::Handling | ChargeWord::ToPayCarrier if asked.is_zero() => whole(Cause::NotForeseen),
            ChargeWord::Handling => whole(Cause::Fee),
            ChargeWord::TaxAtBorder => self.explain_tax(asked, rest),
            ChargeWord::Duty | ChargeWord::Remedy => Ok(self
                .other_rate(actual)?
                .map(|cause| (cause, rest))
                .or((asked.is_zero()).then_some((Cause::NotForeseen, rest)))
                .into_iter()
                .collect()),
            _ => Ok(Vec::new()),
        }
    }

    /// The same thing charged twice: tax at the sale and again at the door, or two receipts alike.
    fn twice(&self, charge: ChargeWord, asked: Dec, rest: Dec) -> Result<Option<Vec<(Cause, Dec)>>, Overflow> {
        let told = |word: ChargeWord| self.receipts.iter().filter(move |r| r.charge == word);
        let taxed = |word: ChargeWord| told(word).any(|r| r.amount.is_positive());
        // Reckoned there, and no receipt says that it was not taken.
        let due = |word: ChargeWord, reckoned: Dec| reckoned.is_positive() && (told(word).next().is_none() || taxed(word));
        let e = &self.stages.asked;
        // Where neither was due, the one at the sale came first and the one at the door is the second.
        let again = match charge {
            ChargeWord::TaxAtBorder => asked.is_zero() && (due(ChargeWord::TaxAtSale, e.tax_at_sale) || taxed(ChargeWord::TaxAtSale)),
            ChargeWord::TaxAtSale => asked.is_zero() && due(ChargeWord::TaxAtBorder, e.tax_at_border),
            _ => false,
        };
        if again && rest.is_positive() {
            return Ok(Some(vec![(Cause::Twice, rest)]));
        }
        let own: Vec<&&Receipt> = self.receipts.iter().filter(|r| r.charge == charge && r.amount.is_positive()).collect();
        for (at, receipt) in own.iter().enumerate() {
            let alike = own.iter().skip(at + 1).any(|other| other.amount == receipt.amount && other.currency == receipt.currency);
            let amount = in_home_money(receipt, self.bill, self.desk).unwrap_or_default();
            let left = rest.minus(amount)?;
            if alike && left.abs() <= self.pennies()? {
                let pennies = (!left.is_zero()).then_some((Cause::Rounding, left));
                return Ok(Some(std::iter::once((Cause::Twice, amount)).chain(pennies).collect()));
            }
        }
        Ok(None)
    }

    /// What the seller or the card made of it. In the seller's own money the sum was asked; in the destination's the card
    /// stands between.
    fn explain_seller(&self, charge: ChargeWord, asked: Dec, rest: Dec) -> Result<Vec<(Cause, Dec)>, Overflow> {
        let whole = |cause: Cause| Ok(vec![(cause, rest)]);
        let own_money = self.receipts.iter().filter(|r| r.charge == charge).all(|r| r.currency == self.bill.paid_in);
        if own_money {
            return match charge {
                ChargeWord::Freight => whole(Cause::Freight),
                ChargeWord::TaxAtSale | ChargeWord::Insurance if asked.is_zero() => whole(Cause::NotForeseen),
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
        let usual = self.desk.tables.spreads.iter().find(|row| row.rule.what == "seller-conversion");
        let percent = |text: &String| crate::book::Figure::parse(text, crate::units::number::Style::Point).map(|f| f.value).ok();
        let ends = usual.and_then(|row| row.rule.range.as_ref()).and_then(|[low, _, high]| percent(low).zip(percent(high)));
        let inside = ends.is_some_and(|(low, high)| low <= share && share <= high);
        if inside { whole(Cause::Conversion) } else { Ok(Vec::new()) }
    }

    /// Tax on duty that was charged otherwise, then tax on the carrier's fee.
    fn explain_tax(&self, asked: Dec, rest: Dec) -> Result<Vec<(Cause, Dec)>, Overflow> {
        let a = &self.stages.asked;
        if asked.is_zero() {
            return Ok(vec![(Cause::NotForeseen, rest)]);
        }
        let base = Dec::total([self.stages.customs_value, a.duty, a.remedy])?;
        let rate = if base.is_positive() { asked.over(base)?.round_to(3, Mode::HalfUp) } else { Dec::ZERO };
        let charged = |word: ChargeWord, reckoned: Dec| self.charged(word).ok().flatten().unwrap_or(reckoned);
        let more = Dec::total([charged(ChargeWord::Duty, a.duty), charged(ChargeWord::Remedy, a.remedy)])?.minus(a.duty.plus(a.remedy)?)?;
        let on_duty = more.times(rate)?.round_to(self.desk.currency().digits(), Mode::HalfUp);
        let left = rest.minus(on_duty)?;
        if !on_duty.is_zero() && left.abs() <= self.pennies()? {
            return Ok(vec![(Cause::OnDuty, on_duty), (Cause::Rounding, left)]);
        }
        let on_fee = charged(ChargeWord::Handling, a.handling).times(rate)?.round_to(self.desk.currency().digits(), Mode::HalfUp);
        let left = left.minus(on_fee)?;
        if !on_fee.is_zero() && left.abs() <= self.pennies()? {
            return Ok(vec![(Cause::OnDuty, on_duty), (Cause::OnFee, on_fee), (Cause::Rounding, left)]);
        }
        Ok(Vec::new())
    }

    /// Another of the destination's own rates that gives the sum to the penny.
    fn other_rate(&self, actual: Dec) -> Result<Option<Cause>, Overflow> {
        let mut rates: Vec<Dec> = self
            .desk
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

    /// What sums cut to the penny line by line may be off by: a minor unit a line, and two for the sums over them.
    fn pennies(&self) -> Result<Dec, Overflow> {
        let lines = u32::try_from(self.bill.lines.len()).unwrap_or(u32::MAX);
        Dec::new(1, self.desk.currency().digits()).times(Dec::from(lines.saturating_add(2)))
    }

    fn claim(&self, charge: ChargeWord, causes: &[(Cause, Dec)], unexplained: Dec) -> Option<Claimable> {
        let twice = causes.iter().find(|(cause, amount)| *cause == Cause::Twice && amount.is_positive()).map(|(_, amount)| *amount);
        let other =
            causes.iter().find(|(cause, amount)| matches!(cause, Cause::OtherRate(_)) && amount.is_positive()).map(|(_, amount)| *amount);
        let pennies = self.pennies().unwrap_or_default();
        let over = other.or(Some(unexplained)).filter(|amount| *amount > pennies);
        let (reason, amount) = twice.map(|amount| (Reason::Twice, amount)).or(over.map(|amount| (Reason::Overcharged, amount)))?;
        let word = if charge == ChargeWord::ToPayCarrier { ChargeWord::TaxAtBorder } else { charge };
        let row = self.rule(word.name(), reason)?;
        Some(Claimable {
            reason,
            amount,
            from: row.rule.from.clone(),
            until: row.rule.months.map(|months| self.bill.arrival.plus_months(months)),
            row: row.stamp.row.to_string(),
            text: row.rule.text.clone(),
        })
    }

    fn rule(&self, charge: &str, reason: Reason) -> Option<&Dated<RefundRow>> {
        rule(self.desk, self.bill, charge, reason)
    }
}

fn rule<'a>(desk: &'a Desk<'_>, bill: &Bill, charge: &str, reason: Reason) -> Option<&'a Dated<RefundRow>> {
    let fits = |row: &&Dated<RefundRow>| row.rule.charge == charge && row.rule.reason == Some(reason) && row.stamp.in_force(bill.arrival);
    desk.law.refunds.iter().find(fits)
}

/// Until when the charges of a parcel's goods at fault can be asked back; none where none were due at the door.
fn reject_until(bill: &Bill, desk: &Desk<'_>) -> Option<(String, Date, String)> {
    let taxed = !bill.amounts.duty.is_zero() || !bill.amounts.remedy.is_zero() || !bill.amounts.tax_at_border.is_zero();
    let row = rule(desk, bill, "tax_at_border", Reason::Faulty).filter(|_| taxed && bill.kind != Kind::ToOrder)?;
    Some((bill.id.clone(), bill.arrival.plus_months(row.rule.months?), row.stamp.row.to_string()))
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

/// What the card's issuer answers for: each part by the price of one, without delivery.
fn card_cover(bill: &Bill, desk: &Desk<'_>, cautions: &mut Cautions) -> Result<(), Problems> {
    let rows = desk.law.refunds.iter().filter(|row| row.rule.charge == "card_cover" && row.stamp.in_force(bill.ordered));
    for row in rows {
        let currency = row.rule.currency.unwrap_or(desk.currency());
        let rate = desk.market_rate(currency, bill.ordered)?.rate;
        let inside = |line: &&crate::landed::BillLine| -> Result<bool, Overflow> {
            let each = line.amounts.goods.minus(line.amounts.discount)?.over(Dec::from(line.quantity.max(1)))?;
            let price = rate.back(each)?;
            Ok(row.rule.over.is_none_or(|over| price > over) && row.rule.up_to.is_none_or(|up_to| price <= up_to))
        };
        let mut covered = Vec::new();
        for line in &bill.lines {
            if inside(&line)? {
                covered.push(line.part.as_str());
            }
        }
        if !covered.is_empty() {
            cautions.say("card-cover", format!("{} ({})", row.rule.text, row.stamp.row), &covered);
        }
    }
    Ok(())
}
