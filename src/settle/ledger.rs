//! Receipts against the estimate, parcel by parcel and charge by charge; every penny has a cause or is unexplained.

use super::beside::beside_bills;
use super::cause::Cause;
use super::claims::{card_cover, reject_until, rule, warranties};
use super::entry::labelled;
use super::settled::{Claimable, Entry, Settled};
use super::stage::{Stages, stages};
use crate::book::{Book, ChargeWord, Part, Receipt, dated_after};
use crate::landed::{
    Back, Bill, Caution, Cautions, ChargeBreakdown, ConsignmentState, Jurisdiction, Reading,
    Saying, at_door, bills_of, holding, in_home_money, understood,
};
use crate::tables::{Dated, Reason, RefundRow};
use crate::text::Problems;
use crate::text::words::list;
use crate::units::{Date, Dec, HomeMoney, Overflow};

/// All parcels with receipts.
#[derive(Debug, Clone)]
pub struct Ledger {
    /// The parcels.
    pub parcels: Vec<Settled>,
    /// Parcels without a receipt so far.
    pub waiting: Vec<String>,
    /// Parcels none of whose receipts is in use: they are asked about, or are the receipt of a deposit.
    pub left_out: Vec<String>,
    /// Until when goods at fault can be sent back with the charges asked back, by parcel; with the row of the tables.
    pub(crate) rejects: Vec<(String, Date, String)>,
    /// Until when each part has its warranty, as told, from the day its parcel came, or was to come.
    pub(crate) warranties: Vec<(String, Date)>,
    /// What must be said.
    pub cautions: Vec<Caution>,
}

/// One of a parcel's sums.
type Of = fn(&ChargeBreakdown) -> Dec;

/// The charges in the order they are shown, with their sums.
const CHARGES: [(ChargeWord, Of); 10] = [
    (ChargeWord::Goods, |a| a.goods.amount()),
    (ChargeWord::Discount, |a| a.discount.negated().amount()),
    (ChargeWord::Freight, |a| a.freight.amount()),
    (ChargeWord::Insurance, |a| a.insurance.amount()),
    (ChargeWord::TaxAtSale, |a| a.tax_at_sale.amount()),
    (ChargeWord::CardFee, |a| a.card_fee.amount()),
    (ChargeWord::Duty, |a| a.duty.amount()),
    (ChargeWord::Remedy, |a| a.remedy.amount()),
    (ChargeWord::TaxAtBorder, |a| a.tax_at_border.amount()),
    (ChargeWord::Handling, |a| a.handling.amount()),
];

/// Charges at the door, under whatever name they are told.
pub(crate) const DOOR: [ChargeWord; 5] = [
    ChargeWord::Duty,
    ChargeWord::Remedy,
    ChargeWord::TaxAtBorder,
    ChargeWord::Handling,
    ChargeWord::ToPayCarrier,
];

/// Says which receipts are for parcels that have no bill, and for nothing that is held.
fn without_parcel(
    book: &Book,
    bills: &[Bill],
    held: &impl Fn(&Receipt) -> bool,
    cautions: &mut Cautions,
) {
    let has_bill = |receipt: &Receipt| bills.iter().any(|b| b.id == receipt.consignment);
    for receipt in &book.receipts {
        if !has_bill(receipt) && !held(receipt) {
            let names = labelled(book, &receipt.consignment);
            let saying = if names.is_empty() {
                Saying::new("A receipt is for a parcel whose rows are not counted: they have no price, or are not of the build")
                    .so("Fill in their `price`, or correct the parcel in `receipts.csv`.")
            } else {
                otherwise_named(&names)
            };
            cautions.say(
                "receipt-without-parcel",
                saying.costs_unknown(),
                &[&receipt.consignment],
            );
        }
    }
}

/// The caution about a receipt that names a seller whose parcels have labels.
fn otherwise_named(parcels: &[String]) -> Saying {
    let names: Vec<String> = parcels.iter().map(|id| format!("`{id}`")).collect();
    let (has, which) = match names.len() {
        1 => ("the seller's parcel has", "that name"),
        _ => ("the seller's parcels have", "the name of the one it is for"),
    };
    let other = if names.len() == 1 {
        "another name"
    } else {
        "other names"
    };
    Saying::new(format!(
        "A receipt is not counted, as it names the seller, and {has} {other}: {}",
        list(&names, "and")
    ))
    .so(format!(
        "Write {which} as its `consignment` in `receipts.csv`."
    ))
}

/// Sets the receipts of a book against what it would have calculated without them.
pub fn settle(book: &Book, jurisdiction: &Jurisdiction<'_>) -> Result<Ledger, Problems> {
    let before = book.before();
    let rows: Vec<&Part> = before.paid_for().collect();
    let bills = bills_of(
        &before,
        &rows,
        jurisdiction,
        jurisdiction.ask.remedies == crate::book::Remedies::Count,
    )?;
    let (mut parcels, mut waiting, mut cautions) = (Vec::new(), Vec::new(), Cautions::default());
    let (mut rejects, mut left_out) = (Vec::new(), Vec::new());
    for bill in &bills {
        what_tables_lack(bill, &mut cautions);
        let (charged, mut reading) = understood(bill, book, jurisdiction)?;
        cautions.extend(std::mem::take(&mut reading.cautions));
        let back = reading
            .refunds
            .iter()
            .any(|back| back.of.is_some_and(|of| DOOR.contains(&of)));
        rejects.extend(reject_until(
            if back { &charged } else { bill },
            jurisdiction,
        ));
        if reading.is_idle() {
            if book.receipts.iter().any(|r| r.consignment == bill.id) {
                left_out.push(bill.id.clone());
            } else if bill.kind != ConsignmentState::ToOrder {
                waiting.push(bill.id.clone());
            }
            continue;
        }
        let stages = stages(&before, bill, &reading.used, jurisdiction)?;
        parcels.push(
            Page {
                bill,
                jurisdiction,
                stages,
                receipts: reading.used.clone(),
                reading,
            }
            .settle()?,
        );
        card_cover(bill, jurisdiction, &mut cautions)?;
    }
    let holding = holding(book, &rows, jurisdiction)?;
    beside_bills(&holding.used, jurisdiction, &mut parcels)?;
    let held = |receipt: &Receipt| {
        let here = |own: &&Receipt| own.at.place() == receipt.at.place();
        holding.used.iter().any(|(own, _)| here(own))
            || holding.questioned.iter().any(|(own, _)| here(own))
    };
    holding.say(jurisdiction, &mut cautions);
    without_parcel(book, &bills, &held, &mut cautions);
    let abroad = |bill: &&Bill| !jurisdiction.is_home(bill.dispatch.code());
    if jurisdiction.law.refunds.is_empty() && bills.iter().any(|bill| abroad(&bill)) {
        let saying =
            Saying::new("It is unknown which charges this country refunds, and until when");
        let saying = saying.so("Ask its customs.").costs_unknown();
        cautions.say("refunds-unknown", saying, &[]);
    }
    Ok(Ledger {
        parcels,
        waiting,
        left_out,
        rejects,
        warranties: warranties(&bills, &before),
        cautions: cautions.into_list(),
    })
}

impl Ledger {
    /// The same, with receipts of a later day than the one it is looked at asked about.
    #[must_use]
    pub(crate) fn asking_after(mut self, book: &Book, day: Date) -> Ledger {
        let mut cautions = Cautions::default();
        cautions.extend(self.cautions);
        for receipt in dated_after(&book.receipts, day) {
            let text = format!(
                "Is the day right? A receipt ({}, `{}`) is of {}, after {day}, and is counted",
                receipt.at.place(),
                receipt.charge.name(),
                receipt.date.unwrap_or(day)
            );
            let saying = Saying::new(text).so("Correct its `date`.");
            cautions.say("receipt-after-day", saying, &[&receipt.consignment]);
        }
        self.cautions = cautions.into_list();
        self
    }
}

/// Goods for which the tables have no rate, and rows that ended: what was charged beyond the estimate may well be due.
fn what_tables_lack(bill: &Bill, cautions: &mut Cautions) {
    for part in &bill.gaps {
        cautions.say(
            "no-rate",
            Saying::new(
                "No duty rate is known for these goods, so what was charged cannot be checked",
            )
            .so("Ask the carrier which commodity code and rate it used.")
            .costs_unknown(),
            &[part],
        );
    }
    for one in &bill.ended {
        let text = format!(
            "A rule, `{}`, ended {} ({}), and what followed is unknown, so what was charged cannot be checked",
            one.id, one.on, one.row
        );
        let saying = Saying::new(text).so("Ask the carrier which rate it used.");
        cautions.say("charge-ended", saying.costs_unknown(), &[&bill.id]);
    }
}

/// One parcel being settled.
pub(super) struct Page<'a> {
    pub(super) bill: &'a Bill,
    pub(super) jurisdiction: &'a Jurisdiction<'a>,
    pub(super) stages: Stages,
    pub(super) receipts: Vec<&'a Receipt>,
    pub(super) reading: Reading<'a>,
}

impl Page<'_> {
    /// A charge for which a receipt can stand alone, where there is anything to say of it.
    fn of_charge(&self, charge: ChargeWord, of: Of) -> Result<Option<Entry>, Problems> {
        let Some(steps) = self.steps(charge, of)? else {
            return Ok(None);
        };
        let actual = match self.actual(charge)? {
            Some(amount) if charge == ChargeWord::Discount => Some(amount.negated()),
            None if self.was_not_charged(charge) => Some(Dec::ZERO),
            other => other,
        };
        if actual.is_none_or(|_| self.was_not_charged(charge)) && steps[0].is_zero() {
            return Ok(None);
        }
        Ok(Some(self.entry(charge, steps, actual)?))
    }

    /// One total told for all that the seller, or all that the carrier, was paid.
    fn of_lump(&self, charge: ChargeWord, lump: Dec) -> Result<Entry, Problems> {
        let sum = |a: &ChargeBreakdown| match charge {
            ChargeWord::ToPaySeller if self.reading.fee_apart => a.to_seller()?.minus(a.card_fee),
            ChargeWord::ToPaySeller => a.to_seller(),
            _ => a.at_door(),
        };
        let others = self.beside_lump(charge)?;
        let steps = [
            sum(&self.stages.estimate)?,
            sum(&self.stages.rate)?,
            sum(&self.stages.asked)?,
        ];
        let steps = steps.map(HomeMoney::amount);
        Ok(self.entry(charge, steps, Some(lump.plus(others)?))?)
    }

    /// What came back, beside what it came back of.
    fn add_refunds(&self, entries: &mut Vec<Entry>) -> Result<(), Problems> {
        if self.reading.refunds.is_empty() {
            return Ok(());
        }
        // What came back of a deposit stands beside that deposit; of an order that was cancelled no other receipt is to come.
        if let Some(deposit) = &self.reading.deposit {
            entries.retain(|entry| entry.actual.is_some() || !deposit.came_back);
            entries.push(Entry::of_one(
                ChargeWord::ToPaySeller,
                Cause::Deposit,
                deposit.paid.amount(),
            ));
        }
        entries.push(self.money_back()?);
        Ok(())
    }

    fn settle(&self) -> Result<Settled, Problems> {
        let mut entries = Vec::new();
        let lump_seller = self.charged(ChargeWord::ToPaySeller)?;
        let lump_door = self.charged(ChargeWord::ToPayCarrier)?;
        for (charge, of) in CHARGES {
            let lump = if DOOR.contains(&charge) {
                lump_door
            } else {
                lump_seller
            };
            let apart = charge == ChargeWord::CardFee && self.reading.fee_apart;
            if lump.is_none() || apart {
                entries.extend(self.of_charge(charge, of)?);
            }
        }
        for (charge, lump) in [
            (ChargeWord::ToPaySeller, lump_seller),
            (ChargeWord::ToPayCarrier, lump_door),
        ] {
            if let Some(lump) = lump {
                entries.push(self.of_lump(charge, lump)?);
            }
        }
        if !self.reading.sent_back.is_empty() {
            let amounts = self
                .reading
                .sent_back
                .iter()
                .map(|r| in_home_money(r, self.bill, self.jurisdiction))
                .collect::<Result<Vec<_>, _>>()?;
            entries.push(Entry::of_one(
                ChargeWord::ReturnFreight,
                Cause::ReturnFreight,
                HomeMoney::total(amounts)?.amount(),
            ));
        }
        self.add_refunds(&mut entries)?;
        Ok(Settled {
            id: self.bill.id.clone(),
            seller: self.bill.seller.clone(),
            arrival: self.bill.arrival,
            entries,
            disputed: self.bill.disputed.clone(),
        })
    }

    /// All that came back, what of it is a gain from exchange apart.
    fn money_back(&self) -> Result<Entry, Overflow> {
        let all = Dec::total(self.reading.refunds.iter().map(|back| back.amount.amount()))?;
        let gains = self
            .reading
            .refunds
            .iter()
            .filter(|back| back.is_exchanged(self.bill, self.jurisdiction))
            .map(|back| back.gain.amount());
        let gain = Dec::total(gains)?;
        let mut entry = Entry::of_one(ChargeWord::Refund, Cause::Refund, all.negated());
        if gain.is_positive() {
            entry.causes = vec![
                (Cause::Refund, gain.minus(all)?),
                (Cause::RefundGain, gain.negated()),
            ];
        }
        Ok(entry)
    }

    /// Whether a charge has no receipt while the total of its side is the sum of those that have one.
    pub(super) fn was_not_charged(&self, charge: ChargeWord) -> bool {
        let total = if DOOR.contains(&charge) {
            ChargeWord::ToPayCarrier
        } else {
            ChargeWord::ToPaySeller
        };
        let apart = charge == ChargeWord::CardFee && self.reading.fee_apart;
        self.reading.is_summed(total)
            && !apart
            && !self.receipts.iter().any(|r| self.is_for(r, charge))
    }

    /// A charge at each step; duty and anti-dumping together where they were charged in one sum, and then not the other.
    fn steps(&self, charge: ChargeWord, of: Of) -> Result<Option<[Dec; 3]>, Overflow> {
        let all = [&self.stages.estimate, &self.stages.rate, &self.stages.asked];
        match self
            .reading
            .one_sum
            .filter(|_| matches!(charge, ChargeWord::Duty | ChargeWord::Remedy))
        {
            None => Ok(Some(all.map(of))),
            Some(word) if word == charge => {
                let both = |a: &ChargeBreakdown| a.duty.plus(a.remedy);
                Ok(Some([
                    both(all[0])?.amount(),
                    both(all[1])?.amount(),
                    both(all[2])?.amount(),
                ]))
            }
            Some(_) => Ok(None),
        }
    }

    /// Whether a receipt is for a charge. Tax whose receipt does not say where it was taken counts where it was due.
    pub(super) fn is_for(&self, receipt: &Receipt, charge: ChargeWord) -> bool {
        let place = if self.bill.taxed_at_sale() {
            ChargeWord::TaxAtSale
        } else {
            ChargeWord::TaxAtBorder
        };
        receipt.charge == charge || (receipt.charge == ChargeWord::Tax && charge == place)
    }

    /// What came back of a charge.
    fn came_back(&self, charge: ChargeWord) -> Result<Dec, Overflow> {
        let place = if self.bill.taxed_at_sale() {
            ChargeWord::TaxAtSale
        } else {
            ChargeWord::TaxAtBorder
        };
        let of = |of: ChargeWord| if of == ChargeWord::Tax { place } else { of };
        let lump = |of: ChargeWord| charge == ChargeWord::ToPayCarrier && DOOR.contains(&of);
        let here = |back: &&Back<'_>| {
            back.of
                .is_some_and(|word| of(word) == charge || lump(of(word)))
        };
        Dec::total(
            self.reading
                .refunds
                .iter()
                .filter(here)
                .map(|back| back.amount.amount()),
        )
    }

    /// Whether a charge rests on a reading that is asked about: nothing is claimed on that.
    pub(super) fn is_doubtful(&self, charge: ChargeWord) -> bool {
        self.reading.one_sum == Some(charge)
            || self
                .receipts
                .iter()
                .any(|r| self.is_for(r, charge) && r.again)
    }

    /// What receipts of one word come to, in the destination's money.
    pub(super) fn charged(&self, word: ChargeWord) -> Result<Option<Dec>, Problems> {
        let of: Vec<&&Receipt> = self.receipts.iter().filter(|r| r.charge == word).collect();
        if of.is_empty() {
            return Ok(None);
        }
        let amounts = of
            .iter()
            .map(|r| in_home_money(r, self.bill, self.jurisdiction))
            .collect::<Result<Vec<_>, _>>()?;
        HomeMoney::total(amounts)
            .map(|sum| Some(sum.amount()))
            .map_err(Problems::from)
    }

    /// As [`Page::charged`]. Tax whose receipt does not say where it was taken counts where it was due.
    fn actual(&self, charge: ChargeWord) -> Result<Option<Dec>, Problems> {
        let own = self.charged(charge)?;
        let place = if self.bill.taxed_at_sale() {
            ChargeWord::TaxAtSale
        } else {
            ChargeWord::TaxAtBorder
        };
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
        for receipt in self
            .receipts
            .iter()
            .filter(|r| r.charge != lump && r.charge != ChargeWord::Refund)
        {
            if at_door(receipt, self.bill) == door {
                let amount = in_home_money(receipt, self.bill, self.jurisdiction)?;
                let signed = if receipt.charge == ChargeWord::Discount {
                    amount.negated()
                } else {
                    amount
                };
                sum = sum.plus(signed.amount())?;
            }
        }
        Ok(sum)
    }

    /// One charge with its causes: what the steps changed, then what explains the rest.
    fn entry(
        &self,
        charge: ChargeWord,
        [estimated, rate, asked]: [Dec; 3],
        actual: Option<Dec>,
    ) -> Result<Entry, Overflow> {
        let (causes, unexplained) = match actual {
            Some(actual) => self.causes(charge, [estimated, rate, asked], actual)?,
            None => (Vec::new(), Dec::ZERO),
        };
        let claim = self.claim(charge, &causes)?;
        Ok(Entry {
            charge,
            estimated,
            actual,
            causes,
            unexplained,
            claim,
        })
    }

    /// What can be asked back of a charge, less what came back already.
    fn claim(
        &self,
        charge: ChargeWord,
        causes: &[(Cause, Dec)],
    ) -> Result<Option<Claimable>, Overflow> {
        let positive = |wanted: fn(&Cause) -> bool| {
            causes
                .iter()
                .find(|(c, amount)| wanted(c) && amount.is_positive())
                .map(|(_, a)| *a)
        };
        let twice = positive(|c| *c == Cause::Twice).map(|amount| (Reason::Twice, amount));
        let over = positive(|c| matches!(c, Cause::OtherRate(_) | Cause::Overcharged));
        let pennies = self.pennies()?;
        let over = over
            .filter(|amount| *amount > pennies)
            .map(|amount| (Reason::Overcharged, amount));
        let Some((reason, amount)) = twice.or(over).filter(|_| !self.is_doubtful(charge)) else {
            return Ok(None);
        };
        let back = self.came_back(charge)?;
        let amount = amount.minus(back)?;
        if back.is_positive() && amount <= pennies {
            return Ok(None);
        }
        let claim = self
            .refundable(charge, reason)
            .map(|row| self.claimable(row, reason, amount));
        Ok(claim.map(|claim| {
            if charge == ChargeWord::ToPayCarrier {
                of_one_sum(claim)
            } else {
                claim
            }
        }))
    }

    /// The row that says that a charge can be asked back.
    pub(super) fn refundable(
        &self,
        charge: ChargeWord,
        reason: Reason,
    ) -> Option<&Dated<RefundRow>> {
        let word = if charge == ChargeWord::ToPayCarrier {
            ChargeWord::TaxAtBorder
        } else {
            charge
        };
        rule(self.jurisdiction, self.bill, word.name(), reason)
    }

    fn claimable(&self, row: &Dated<RefundRow>, reason: Reason, amount: Dec) -> Claimable {
        Claimable {
            reason,
            amount,
            from: row.rule.from.clone(),
            until: row.rule.last_day(self.bill.arrival),
            row: row.stamp.row.to_string(),
            text: row.rule.text.clone(),
        }
    }
}

/// A claim on a sum that holds the carrier's fee as well: whom to ask hangs on how it splits.
fn of_one_sum(claim: Claimable) -> Claimable {
    let text = format!(
        "one sum holds customs' charges and the carrier's handling fee: ask the carrier how it splits, and claim from each what it took too much of; of what customs took: {}",
        claim.text
    );
    let from = if claim.from == "carrier" {
        claim.from
    } else {
        format!("{} and the carrier", claim.from)
    };
    Claimable {
        from,
        text,
        ..claim
    }
}
