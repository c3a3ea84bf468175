//! Making a [`Swift`]: the program and a sample parcel of one line in, the integer sums out; none where they would not be
//! exact.

#![allow(clippy::option_option, reason = "not to be built, and never due, are two wants")]

use std::collections::BTreeMap;

use super::fixed::{Threshold, Whole, common_multiple, fraction, reduced, whole};
use super::{Charge, Clause, Ended, FixedRate, Flat, OwnFee, RateChoice, Relief, Slot, Step, Sum, Swift, Test, bit, column};
use crate::rules::condition::{self, Facts, Folded};
use crate::rules::ledger::{Ledger, Resolved};
use crate::rules::parcel::{Line, Parcel};
use crate::rules::program::Program;
use crate::rules::rate::{RateTable, RateUsed, layers_of};
use crate::rules::step::{ChargeStep, ReliefStep, Step as Prepared};
use crate::tables::{Collect, Drop, Factor, Kind, LineFact, Op, Per, RateFrom, Subject, TestPer};
use crate::units::{Dec, Percent, number};

/// The columns of the parts of the price, which stand first.
const PRICE_COLUMNS: Slot = 6;

/// More columns than any jurisdiction has rows; a program beyond it goes by decimals.
pub(super) const MOST_COLUMNS: usize = 128;

impl Swift {
    /// Makes a program with these rates for lines like the sample's one line, whose amounts do not matter.
    pub(super) fn build(program: &Program, tariff: &RateTable, taxes: &RateTable, sample: &Parcel) -> Option<Swift> {
        let [line] = sample.lines.as_slice() else { return None };
        if program.schedules().next().is_some() || program.names.len() > MOST_COLUMNS {
            return None;
        }
        let ledger = Ledger::open(&program.names, sample, sample.customs).ok()?;
        let facts = Facts { parcel: sample, ledger: &ledger, collect: &[], groups: &program.groups };
        let mut maker = Maker { program, tariff, taxes, facts, line, unit: 1, groups: BTreeMap::new() };
        let border = maker.settle_unit(sample)?;
        let mut steps = Vec::new();
        for step in &program.steps {
            match step {
                Prepared::Charge(step) => steps.extend(maker.charge(step)?.map(Step::Charge)),
                Prepared::Relief(step) => steps.extend(maker.relief(step)?.map(Step::Relief)),
            }
        }
        clear_at_reliefs(&mut steps);
        let minor = maker.whole(Dec::new(1, program.currency.digits()))?;
        let handling = match &sample.handling {
            Some(own) => Some(OwnFee { percent: percent(own.percent)?, least: maker.whole(own.least)? }),
            None => None,
        };
        let totals = totals(&steps, minor)?;
        // a row that is not in force on the day gives no figure
        let reckoned = |name: &str| program.names.slot(name).map(narrow).filter(|slot| charges(&steps).any(|charge| charge.slot == *slot));
        let (intrinsic, customs) = (reckoned("intrinsic_value"), reckoned("customs_value"));
        Some(Swift {
            seller_minor: (maker.unit / 10_i128.checked_pow(sample.paid_in.digits())?).short()?,
            at_home: sample.paid_in == program.currency,
            minor,
            border,
            totals,
            steps,
            width: program.names.len(),
            handling,
            intrinsic,
            customs,
            ended: maker.ended()?,
        })
    }
}

struct Maker<'a> {
    program: &'a Program,
    tariff: &'a RateTable,
    taxes: &'a RateTable,
    facts: Facts<'a>,
    line: &'a Line,
    unit: i128,
    groups: BTreeMap<String, u8>,
}

impl Maker<'_> {
    /// Finds the common fraction: fine enough for minor units of both currencies, for the decimals of every constant, for
    /// the factors of sums that are not rounded, and for the border's share of freight, which is returned.
    fn settle_unit(&mut self, sample: &Parcel) -> Option<(i64, i64)> {
        let border = percent(sample.border_freight)?;
        let decimals = constants(self.program).map(Dec::decimals).max().unwrap_or(0);
        let digits = decimals.max(sample.paid_in.digits()).max(self.program.currency.digits()).max(2);
        let mut fine = 10_i128.checked_pow(digits)?.checked_mul(border.1.into())?;
        for step in &self.program.steps {
            if let Prepared::Charge(step) = step
                && step.round.is_none()
                && let Some(sum) = &step.of
            {
                fine = fine.checked_mul(self.sum(sum)?.under.into())?;
            }
        }
        self.unit = fine;
        Some(border)
    }

    fn whole(&self, number: Dec) -> Option<i64> {
        whole(number, self.unit)?.short()
    }

    fn sum(&self, sum: &Resolved) -> Option<Sum> {
        let mut under = 1;
        let mut terms: Vec<(usize, i128, i128)> = Vec::new();
        for term in sum.terms() {
            let (over, below) = match &term.factor {
                Factor::Fraction(over, below) => {
                    let ((a, b), (c, d)) = (fraction(*over)?, fraction(*below)?);
                    let (over, below) = (a.checked_mul(d)?, b.checked_mul(c)?);
                    reduced(over, below)
                }
                Factor::Trait(name) => fraction(self.line.traits.get(name).and_then(|text| number::plain(text).ok()).unwrap_or(Dec::ZERO))?,
            };
            under = common_multiple(under, below)?;
            let sign = if term.minus { -1 } else { 1 };
            terms.extend(term.slots.iter().map(|slot| (*slot, sign * over, below)));
        }
        let terms = terms.into_iter().map(|(slot, over, below)| Some((narrow(slot), over.checked_mul(under / below)?.short()?)));
        Some(Sum { terms: terms.collect::<Option<_>>()?, under: under.short()? })
    }

    /// None where it cannot be built; an inner none where it never holds.
    fn test(&self, test: &condition::Test) -> Option<Option<Test>> {
        Some(match test.fold(self.facts, 0).ok()? {
            Folded::Always => Some(Test::Always),
            Folded::Never => None,
            Folded::Any(sides) => {
                let side = |side: &Vec<&condition::Clause>| side.iter().map(|clause| self.clause(clause)).collect::<Option<Vec<_>>>();
                Some(Test::Any(sides.iter().map(side).collect::<Option<_>>()?))
            }
        })
    }

    fn clause(&self, clause: &condition::Clause) -> Option<Clause> {
        match &clause.subject {
            Subject::Sum(_) => {
                let sum = self.sum(&clause.sum)?;
                let limit = Threshold::new(clause.number?, self.unit.checked_mul(sum.under.into())?)?;
                Some(Clause::Sum(sum, clause.op, limit))
            }
            Subject::Line(LineFact::UnitValue) => Some(Clause::UnitValue(clause.op, Threshold::new(clause.number?, self.unit)?)),
            Subject::Line(LineFact::UnitMass) => Some(Clause::UnitMass(clause.op, Threshold::new(clause.number?, 10)?)),
            Subject::Line(LineFact::Collect) => {
                let known = [Collect::AtSale, Collect::AtBorder, Collect::Nowhere].into_iter().find(|c| c.name() == clause.word)?;
                matches!(clause.op, Op::Equal | Op::Unequal).then_some(Clause::Collect(clause.op == Op::Equal, known))
            }
            _ => None,
        }
    }

    fn charge(&mut self, step: &ChargeStep) -> Option<Option<Charge>> {
        let Some(test) = self.test(&step.test)? else { return Some(None) };
        let group = step.group.as_ref().map(|(name, least)| {
            let next = u8::try_from(self.groups.len()).unwrap_or(u8::MAX);
            (*self.groups.entry(name.clone()).or_insert(next), *least)
        });
        let exact = step.round.is_none();
        let (flat, per) = self.flat(step)?;
        let charge = Charge {
            test,
            kind: step.kind,
            slot: narrow(step.slot),
            group,
            of: match &step.of {
                Some(sum) => Some(self.sum(sum)?),
                None => None,
            },
            rate: self.rate(step)?,
            flat,
            per,
            min: self.limit(step.min)?,
            max: self.limit(step.max)?,
            round: match step.round {
                Some(round) => Some((round.mode, self.whole(round.step)?)),
                None => None,
            },
            carriers: step.carriers,
            owes: step.owes,
        };
        let plain = matches!(charge.rate, RateChoice::Plain);
        let at_sale = step.kind == Kind::SaleTax && (flat != 0 || charge.min.is_some() || charge.max.is_some());
        ((!exact || plain) && !at_sale && narrow(step.slot) >= PRICE_COLUMNS).then_some(Some(charge))
    }

    fn limit(&self, own: Option<Dec>) -> Option<Option<i64>> {
        match own {
            Some(own) => Some(Some(self.whole(own)?)),
            None => Some(None),
        }
    }

    /// One line is one item.
    fn flat(&self, step: &ChargeStep) -> Option<(i64, Flat)> {
        let flat = match step.flat {
            Some(flat) => self.whole(flat)?,
            None => 0,
        };
        Some(match step.per {
            Per::Consignment | Per::Item { above: 0 } => (flat, Flat::Once),
            Per::Item { .. } => (0, Flat::Once),
            Per::Piece => (flat, Flat::Pieces),
            Per::Kilogram => (flat, Flat::Kilograms),
        })
    }

    fn rate(&self, step: &ChargeStep) -> Option<RateChoice> {
        if let Some(own) = step.percent {
            let fixed = FixedRate { percent: percent(own)?, per_kg: 0, per_piece: 0 };
            return Some(RateChoice::First(vec![(Test::Always, fixed)]));
        }
        let Some(from) = &step.rate_from else { return Some(RateChoice::Plain) };
        let table = match from {
            RateFrom::Tariff(_) => self.tariff,
            RateFrom::Taxes(_) => self.taxes,
        };
        let mut found = Vec::new();
        for layer in layers_of(from) {
            for (test, rate, _) in table.candidates(layer, self.line, self.facts.groups) {
                let Some(test) = self.test(test)? else { continue };
                let certain = matches!(test, Test::Always);
                found.push((test, self.fixed(rate)?));
                if certain {
                    return Some(RateChoice::First(found));
                }
            }
        }
        Some(RateChoice::First(found))
    }

    /// Charges that ended, and charges in force whose rate ended.
    fn ended(&self) -> Option<Vec<Ended>> {
        let mut found = Vec::new();
        for step in &self.program.ended {
            if step.carriers && self.facts.parcel.handling.is_some() {
                continue;
            }
            let Some(test) = self.test(&step.test)? else { continue };
            let rows = match &step.rate_from {
                Some(from) => Some(self.once_rated(from)?.into_iter().map(|(test, _)| (test, true)).collect()),
                None => None,
            };
            found.push(Ended { test, kind: step.kind, slot: narrow(step.slot), rows });
        }
        for step in &self.program.steps {
            let Prepared::Charge(step) = step else { continue };
            let Some(from) = step.rate_from.as_ref().filter(|_| step.kind != Kind::Value) else { continue };
            let rows = self.once_rated(from)?;
            if rows.iter().any(|(_, ended)| *ended)
                && let Some(test) = self.test(&step.test)?
            {
                found.push(Ended { test, kind: step.kind, slot: narrow(step.slot), rows: Some(rows) });
            }
        }
        found.retain(|ended| ended.rows.as_ref().is_none_or(|rows| !rows.is_empty()));
        Some(found)
    }

    /// The rows a charge could take its rate from, up to one that always holds, and whether each ended.
    fn once_rated(&self, from: &RateFrom) -> Option<Vec<(Test, bool)>> {
        let table = match from {
            RateFrom::Tariff(_) => self.tariff,
            RateFrom::Taxes(_) => self.taxes,
        };
        let mut found = Vec::new();
        for (test, ended) in table.with_ended(from, self.line, self.facts.groups) {
            let Some(test) = self.test(test)? else { continue };
            let certain = matches!(test, Test::Always);
            found.push((test, ended));
            if certain {
                break;
            }
        }
        Some(found)
    }

    fn fixed(&self, rate: &RateUsed) -> Option<FixedRate> {
        Some(FixedRate { percent: percent(rate.percent)?, per_kg: self.whole(rate.per_kg)?, per_piece: self.whole(rate.per_piece)? })
    }

    fn relief(&mut self, step: &ReliefStep) -> Option<Option<Relief>> {
        let Some(test) = self.test(&step.test)? else { return Some(None) };
        let sum = self.sum(&step.tests)?;
        let limit = Threshold::new(step.limit, self.unit.checked_mul(sum.under.into())?)?;
        let (mut kinds, mut slots) = (0, 0);
        for gone in &step.drops {
            match gone {
                Drop::Kind(kind) => kinds |= bit(*kind),
                Drop::Charge(id) => slots |= self.program.names.slot(id).map_or(0, |slot| column(narrow(slot))),
            }
        }
        let per_piece = step.per == TestPer::Piece;
        let (tests_duty, collect) = (step.tests_duty, step.collect);
        Some(Some(Relief { test, sum, per_piece, op: step.op, limit, kinds, slots, tests_duty, cleared: Vec::new(), collect }))
    }
}

/// The amounts of the destination's money that rows name, beside those in conditions.
fn constants(program: &Program) -> impl Iterator<Item = Dec> {
    program
        .steps
        .iter()
        .flat_map(|step| match step {
            Prepared::Charge(step) => [step.flat, step.min, step.max, step.round.map(|r| r.step)],
            Prepared::Relief(step) => [Some(step.limit).filter(|limit| limit.decimals() <= 4), None, None, None],
        })
        .flatten()
}

/// A percentage over a hundred, as a fraction.
fn percent(percent: Percent) -> Option<(i64, i64)> {
    let (over, under) = fraction(percent.0)?;
    let (over, under) = reduced(over, under.checked_mul(100)?);
    Some((over.short()?, under.short()?))
}

/// A column's number; a program has at most [`MOST_COLUMNS`].
fn narrow(slot: usize) -> Slot {
    Slot::try_from(slot).unwrap_or(Slot::MAX)
}

/// Tells each relief which columns it empties.
fn clear_at_reliefs(steps: &mut [Step]) {
    let charges: Vec<(Slot, Kind)> = charges(steps).map(|charge| (charge.slot, charge.kind)).collect();
    for step in steps {
        let Step::Relief(relief) = step else { continue };
        let gone = |slot: Slot, kind: Kind| relief.kinds & bit(kind) != 0 || relief.slots & column(slot) != 0;
        relief.cleared = charges.iter().filter(|(slot, kind)| gone(*slot, *kind)).map(|(slot, _)| *slot).collect();
        relief.cleared.dedup();
    }
}

/// The columns that are charges, each once, and whether all that is written there has been rounded to minor units; none
/// where rows of one name are of several kinds, which a column cannot tell apart.
fn totals(steps: &[Step], minor: i64) -> Option<Vec<(Slot, Kind, bool)>> {
    let mut found: Vec<(Slot, Kind, bool)> = Vec::new();
    for charge in charges(steps) {
        let in_minor = charge.kind == Kind::SaleTax || charge.round.is_some_and(|(_, size)| size == minor);
        match found.iter_mut().find(|(slot, ..)| *slot == charge.slot) {
            Some((_, kind, _)) if *kind != charge.kind => return None,
            Some((_, _, all)) => *all = *all && in_minor,
            None => found.push((charge.slot, charge.kind, in_minor)),
        }
    }
    found.retain(|(_, kind, _)| *kind != Kind::Value);
    Some(found)
}

fn charges(steps: &[Step]) -> impl Iterator<Item = &Charge> {
    steps.iter().filter_map(|step| match step {
        Step::Charge(charge) => Some(charge),
        Step::Relief(_) => None,
    })
}
