//! Receipts against the estimate, parcel by parcel and charge by charge; every penny has a cause or is unexplained.

use super::cause::Cause;
use super::claims::{card_cover, reject_until, rule, warranties};
use super::explain::together;
use super::stage::{Stages, stages};
use crate::book::{Book, ChargeWord, Part, Receipt};
use crate::landed::{Amounts, Bill, Caution, Cautions, Desk, Kind, bills_of, in_home_money};
use crate::tables::{Dated, Reason, RefundRow};
use crate::text::Problems;
use crate::units::{Date, Dec, Overflow};

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
    /// Until when each part has its warranty, as told, from the day its parcel came, or was to come.
    pub warranties: Vec<(String, Date)>,
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
    let rows: Vec<&Part> = before.paid_for().collect();
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
    Ok(Ledger { parcels, waiting, rejects, warranties: warranties(&bills, &before), cautions: cautions.into_list() })
}

/// One parcel being settled.
pub(super) struct Page<'a> {
    pub(super) bill: &'a Bill,
    pub(super) desk: &'a Desk<'a>,
    pub(super) stages: Stages,
    pub(super) receipts: Vec<&'a Receipt>,
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
    pub(super) fn charged(&self, word: ChargeWord) -> Result<Option<Dec>, Problems> {
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
        let place = if self.bill.taxed_at_sale() { ChargeWord::TaxAtSale } else { ChargeWord::TaxAtBorder };
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
