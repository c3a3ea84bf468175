//! The rules of one destination on one day, prepared once: rows in force, in order, with names and amounts found.
//!
//! A program is applied to any number of consignments. No sequence is built into the code: the rows' `order` is all.

use std::collections::{BTreeMap, BTreeSet};

use super::condition::{Facts, Test, left_to_say, may_hold};
use super::ledger::{Ledger, Names};
use super::parcel::{Line, Parcel};
use super::rate::{RateTable, Served};
use super::step::{ChargeStep, EndedStep, ReliefStep, Step, limit_text, said};
use crate::tables::{
    After, Charge, Coin, Dated, Kind, Law, LineFact, Provenance, RateFrom, Relief, Subject,
    SumExpr, TariffRow, TaxRow, When,
};
use crate::units::{Currency, Date, Dec, Overflow, Percent, Rate, Rounding};

/// Which rows count beside the certain ones.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct RowFilter {
    /// Rows whose practice differs from their text.
    pub(crate) disputed: bool,
    /// Anti-dumping and countervailing duties.
    pub(crate) remedies: bool,
}

impl RowFilter {
    /// Every row in force: the sum to have ready.
    pub(crate) const ALL: RowFilter = RowFilter {
        disputed: true,
        remedies: true,
    };
}

/// The rules of one destination on one day.
#[derive(Debug, Clone)]
pub(crate) struct Program {
    pub(super) currency: Currency,
    pub(super) names: Names,
    pub(super) steps: Vec<Step>,
    /// Charges that ended, whose successor is not known.
    pub(super) ended: Vec<EndedStep>,
    pub(super) tariff: RateTable,
    pub(super) taxes: RateTable,
    pub(super) groups: BTreeMap<String, String>,
    /// Digits that conditions on the commodity name.
    pub(super) asked: BTreeSet<String>,
}

/// The day and place a program is for.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Occasion<'a> {
    /// The destination's country code.
    pub(crate) to: &'a str,
    /// Its customs group; empty for none.
    pub(crate) group: &'a str,
    /// Its region.
    pub(crate) region: &'a str,
    /// Its money.
    pub(crate) currency: Currency,
    /// The day of ordering.
    pub(crate) ordered: Date,
    /// The day of arrival.
    pub(crate) arrival: Date,
    /// Which rows count.
    pub(crate) counting: RowFilter,
}

impl Occasion<'_> {
    /// Whether a row counts: by arrival, or by the day of ordering when its condition looks at that.
    fn counts(&self, stamp: &Provenance, when: &When) -> bool {
        stamp.in_force(self.day_of(when)) && self.looked_at(stamp, when)
    }

    /// Whether a row ended before the day, and what followed is not known.
    fn ended(&self, stamp: &Provenance, when: &When, after: After) -> bool {
        after == After::Unknown
            && stamp.counts()
            && stamp.span.is_over(self.day_of(when))
            && self.looked_at(stamp, when)
    }

    fn day_of(&self, when: &When) -> Date {
        if when.looks_at_order_day() {
            self.ordered
        } else {
            self.arrival
        }
    }

    fn looked_at(&self, stamp: &Provenance, when: &When) -> bool {
        (self.counting.disputed || !stamp.disputed()) && when.can_hold_at(self.to, self.group)
    }

    /// A row that counts, or that ended and left unknown what followed.
    pub(super) fn served<'r, T>(
        &self,
        row: &'r Dated<T>,
        when: &When,
        after: After,
    ) -> Option<Served<'r, T>> {
        let ended = self.ended(&row.stamp, when, after);
        (ended || self.counts(&row.stamp, when)).then_some((row, ended))
    }
}

/// The currencies of the amounts that rows in force name, each of which needs a customs rate.
pub(crate) fn currencies(law: &Law, at: &Occasion<'_>) -> BTreeSet<Coin> {
    let rows = law.tariff.iter().map(|row| {
        let own = row.rule.currency.map(Coin::from);
        (&row.stamp, &row.rule.when, own)
    });
    let mut found = currencies_of_steps(law, at);
    found.extend(other_money(rows, at));
    found
}

/// The same for charges and reliefs alone.
fn currencies_of_steps(law: &Law, at: &Occasion<'_>) -> BTreeSet<Coin> {
    let charges = law.charges.iter().map(|row| {
        let own = row.rule.currency.map(Coin::from);
        (&row.stamp, &row.rule.when, own)
    });
    let reliefs = law.reliefs.iter();
    let reliefs = reliefs.map(|row| (&row.stamp, &row.rule.when, Some(row.rule.currency)));
    other_money(charges.chain(reliefs), at).collect()
}

/// Money other than the destination's that rows in force name, in an amount of their own or in their condition.
fn other_money<'r>(
    rows: impl Iterator<Item = (&'r Provenance, &'r When, Option<Coin>)>,
    at: &Occasion<'_>,
) -> impl Iterator<Item = Coin> {
    rows.filter(|(stamp, when, _)| at.counts(stamp, when))
        .flat_map(|(_, when, own)| {
            let asked = when.conditions().filter_map(|c| c.currency);
            own.into_iter().chain(asked)
        })
        .filter(|coin| coin.currency != at.currency)
}

/// The conditions of all rows that have one.
pub(super) fn conditions(law: &Law) -> impl Iterator<Item = (&Provenance, &When)> {
    let charges = law.charges.iter().map(|r| (&r.stamp, &r.rule.when));
    let reliefs = law.reliefs.iter().map(|r| (&r.stamp, &r.rule.when));
    let tariff = law.tariff.iter().map(|r| (&r.stamp, &r.rule.when));
    charges.chain(reliefs).chain(tariff)
}

impl Program {
    /// The charges and reliefs without any rate of tariff or tax, which `rates` makes of rows; none where they name
    /// other money than the destination's, so that amounts move with the day.
    pub(crate) fn without_rates(
        law: &Law,
        at: &Occasion<'_>,
        groups: BTreeMap<String, String>,
    ) -> Result<Option<Program>, Overflow> {
        if !currencies_of_steps(law, at).is_empty() {
            return Ok(None);
        }
        Program::of_steps(law, at, &BTreeMap::new(), groups).map(Some)
    }

    /// The rates of these rows and no others, for this program; their amounts are in the destination's money.
    pub(super) fn rates(
        &self,
        tariff: &[Served<'_, TariffRow>],
        taxes: &[Served<'_, TaxRow>],
        to: &str,
        region: &str,
    ) -> Result<(RateTable, RateTable), Overflow> {
        let tariff = RateTable::tariff(tariff.iter().copied(), &self.names, &BTreeMap::new())?;
        Ok((tariff, RateTable::taxes(taxes.iter().copied(), to, region)))
    }

    /// Prepares the rules; `rates` turns each currency of [`currencies`] into the destination's money, and `groups`
    /// gives the customs group of each country that has one.
    pub(crate) fn prepare(
        law: &Law,
        at: &Occasion<'_>,
        rates: &BTreeMap<Coin, Rate>,
        groups: BTreeMap<String, String>,
    ) -> Result<Program, Overflow> {
        Program::with_rows(law, at, rates, groups, |_| true)
    }

    /// The rules as far as they look at goods of these digits, with all amounts as if they were in the destination's money.
    pub(super) fn of_digits(
        law: &Law,
        at: &Occasion<'_>,
        groups: BTreeMap<String, String>,
        digits: &str,
    ) -> Result<Program, Overflow> {
        let near = |own: &str| own == "*" || own.starts_with(digits) || digits.starts_with(own);
        Program::with_rows(law, at, &BTreeMap::new(), groups, near)
    }

    /// The rules with those rows of rates whose digits are wanted.
    fn with_rows(
        law: &Law,
        at: &Occasion<'_>,
        rates: &BTreeMap<Coin, Rate>,
        groups: BTreeMap<String, String>,
        wanted: impl Fn(&str) -> bool,
    ) -> Result<Program, Overflow> {
        let mut program = Program::of_steps(law, at, rates, groups)?;
        let always = When::default();
        let tariff = law.tariff.iter().filter(|r| wanted(&r.rule.commodity));
        let tariff = tariff.filter_map(|r| at.served(r, &r.rule.when, r.rule.after));
        let taxes = law.taxes.iter().filter(|r| wanted(&r.rule.commodity));
        let taxes = taxes.filter_map(|r| at.served(r, &always, r.rule.after));
        program.tariff = RateTable::tariff(tariff, &program.names, rates)?;
        program.taxes = RateTable::taxes(taxes, at.to, at.region);
        program.asked = asked(law, at);
        Ok(program)
    }

    fn of_steps(
        law: &Law,
        at: &Occasion<'_>,
        rates: &BTreeMap<Coin, Rate>,
        groups: BTreeMap<String, String>,
    ) -> Result<Program, Overflow> {
        let wanted = |r: &&Dated<Charge>| at.counting.remedies || r.rule.kind != Kind::Remedy;
        let charges = || law.charges.iter().filter(wanted);
        let counted: Vec<&Dated<Charge>> = charges()
            .filter(|r| at.counts(&r.stamp, &r.rule.when))
            .collect();
        let reliefs = law.reliefs.iter();
        let reliefs: Vec<&Dated<Relief>> = reliefs
            .filter(|r| at.counts(&r.stamp, &r.rule.when))
            .collect();
        let names = names_of(law, &counted, &reliefs);
        let mut program = Program {
            currency: at.currency,
            steps: Vec::new(),
            ended: Vec::new(),
            tariff: RateTable::default(),
            taxes: RateTable::default(),
            groups,
            names,
            asked: BTreeSet::new(),
        };
        for row in counted {
            let step = program.charge(row, rates)?;
            program.steps.push(Step::Charge(Box::new(step)));
        }
        for row in reliefs {
            let step = program.relief(row, rates)?;
            program.steps.push(Step::Relief(Box::new(step)));
        }
        program.steps.sort_by_key(Step::order);
        program.settle_owing();
        let gone = |r: &&Dated<Charge>| at.ended(&r.stamp, &r.rule.when, r.rule.after);
        for row in charges().filter(gone) {
            let step = program.ended_step(row, rates)?;
            program.ended.push(step);
        }
        Ok(program)
    }

    /// A tariff layer that owes a rate owes it to every charge of duty that looks there. Where no row in force is marked,
    /// it is the last layer that the first duty by order looks in.
    fn settle_owing(&mut self) {
        let layers = |step: &ChargeStep| match &step.rate_from {
            Some(RateFrom::Tariff(layers)) if step.kind == Kind::Duty => layers.clone(),
            _ => Vec::new(),
        };
        let last = |step: &ChargeStep| layers(step).pop();
        let mut owing: Vec<String> = self
            .charges()
            .filter(|step| step.owes)
            .filter_map(last)
            .collect();
        if owing.is_empty() {
            owing.extend(self.charges().find_map(last));
        }
        for step in &mut self.steps {
            if let Step::Charge(step) = step {
                step.owes = layers(step).iter().any(|layer| owing.contains(layer));
            }
        }
    }

    fn ended_step(
        &self,
        row: &Dated<Charge>,
        rates: &BTreeMap<Coin, Rate>,
    ) -> Result<EndedStep, Overflow> {
        Ok(EndedStep {
            id: row.rule.id.clone(),
            kind: row.rule.kind,
            rate_from: row.rule.rate_from.clone(),
            test: Test::prepare(&row.rule.when, &self.names, rates)?,
            carriers: row.rule.carriers,
            stamp: row.stamp.clone(),
        })
    }

    fn charge(
        &mut self,
        row: &Dated<Charge>,
        rates: &BTreeMap<Coin, Rate>,
    ) -> Result<ChargeStep, Overflow> {
        let charge = &row.rule;
        let slot = self.names.add(&charge.id);
        let rate = charge
            .currency
            .and_then(|c| rates.get(&c.into()))
            .copied()
            .unwrap_or(Rate::SAME);
        let amount = |own: Option<Dec>| own.map(|own| rate.convert(own)).transpose();
        let payable = (charge.kind != Kind::Value).then(|| Rounding::minor(self.currency.digits()));
        Ok(ChargeStep {
            id: charge.id.clone(),
            kind: charge.kind,
            order: charge.order,
            slot,
            group: charge.group.as_ref().map(|g| (g.name.clone(), g.least)),
            level: charge.level,
            of: charge.of.as_ref().map(|sum| self.names.resolve(sum)),
            of_text: charge
                .of
                .as_ref()
                .map(ToString::to_string)
                .unwrap_or_default(),
            percent: charge.percent,
            rate_from: charge.rate_from.clone(),
            flat: amount(charge.flat)?,
            per: charge.per,
            min: amount(charge.min)?,
            max: amount(charge.max)?,
            round: charge.round.or(payable),
            test: Test::prepare(&charge.when, &self.names, rates)?,
            when: said(&charge.when, self.currency),
            carriers: charge.carriers,
            owes: charge.owes,
            stamp: row.stamp.clone(),
        })
    }

    fn relief(
        &self,
        row: &Dated<Relief>,
        rates: &BTreeMap<Coin, Rate>,
    ) -> Result<ReliefStep, Overflow> {
        let relief = &row.rule;
        let rate = rates.get(&relief.currency).copied().unwrap_or(Rate::SAME);
        Ok(ReliefStep {
            id: relief.id.clone(),
            order: relief.order,
            tests: self.names.resolve(&relief.tests),
            tests_text: relief.tests.to_string(),
            per: relief.per,
            op: relief.op,
            limit: rate.convert(relief.amount)?,
            limit_text: limit_text(relief, self.currency),
            drops: relief.drops.clone(),
            tests_duty: self.names.counts(&relief.tests, Kind::Duty),
            tests_price: !self.tests_charges(&relief.tests),
            collect: relief.collect,
            test: Test::prepare(&relief.when, &self.names, rates)?,
            picks_lines: relief.when.conditions().any(|c| c.subject.of_a_line()),
            when: said(&relief.when, self.currency),
            stamp: row.stamp.clone(),
        })
    }

    /// Whether a sum counts charges: rows that are paid, or a value at a rate of duty or tax, which is a charge worked out on trial.
    fn tests_charges(&self, sum: &SumExpr) -> bool {
        let due = [Kind::Duty, Kind::Remedy, Kind::Tax, Kind::Fee];
        let on_trial = |step: &ChargeStep| step.kind == Kind::Value && step.rate_from.is_some();
        due.iter().any(|kind| self.names.counts(sum, *kind))
            || self
                .charges()
                .any(|step| on_trial(step) && sum.names().any(|name| name == step.id))
    }

    /// The percentage a tax at the sale would bear on each line, wherever it is taken in the end.
    pub(crate) fn sale_tax_rates(&self, parcel: &Parcel) -> Result<Vec<Percent>, Overflow> {
        let ledger = Ledger::open(&self.names, parcel, parcel.customs)?;
        let facts = Facts {
            parcel,
            ledger: &ledger,
            collect: &[],
            groups: &self.groups,
        };
        let steps = || self.charges().filter(|step| step.kind == Kind::SaleTax);
        let mut found = Vec::with_capacity(parcel.lines.len());
        for (at, line) in parcel.lines.iter().enumerate() {
            let mut percent = Percent::ZERO;
            for step in steps() {
                if let Some(own) = step.percent {
                    percent = own;
                } else if let Some(from) = &step.rate_from
                    && let Some((rate, _)) = self.taxes.of_charge(from, line, at, facts)?
                {
                    percent = rate.percent;
                }
            }
            found.push(percent);
        }
        Ok(found)
    }

    /// Whether a row of this condition can touch a parcel, as far as what is fixed of it goes: its way, its sender, what was chosen and
    /// told, and its goods. What hangs on sums may hold, and so may what nobody has told.
    pub(crate) fn may_touch(&self, when: &When, parcel: &Parcel) -> bool {
        let ledger = Ledger::default();
        let facts = self.fixed(parcel, &ledger);
        (0..parcel.lines.len()).any(|at| may_hold(when, facts, at).unwrap_or(true))
    }

    /// The fact of a line's goods that nobody has told and on which alone hangs whether a row for goods of one country touches the
    /// line: its name and the value that makes it.
    pub(crate) fn left_to_say<'a>(
        &self,
        when: &'a When,
        parcel: &Parcel,
        at: usize,
    ) -> Option<(&'a str, &'a str)> {
        let ledger = Ledger::default();
        left_to_say(when, self.fixed(parcel, &ledger), at).ok()?
    }

    /// What is fixed of a parcel before anything is calculated.
    fn fixed<'a>(&'a self, parcel: &'a Parcel, ledger: &'a Ledger) -> Facts<'a> {
        Facts {
            parcel,
            ledger,
            collect: &[],
            groups: &self.groups,
        }
    }

    /// Whether digits beyond the sixth are known: to a row of rates, or to the condition of any row.
    pub(super) fn knows(&self, digits: &str) -> bool {
        let asked = |word: &String| {
            word.len() > 6 && (digits.starts_with(word.as_str()) || word.starts_with(digits))
        };
        self.tariff.knows(digits) || self.asked.iter().any(asked)
    }

    /// Countries of making other than the line's own under which a remedy would be due on its goods.
    pub(crate) fn remedy_origins(&self, line: &Line) -> BTreeSet<String> {
        self.remedy_layers()
            .flat_map(|layer| self.tariff.other_origins(layer, line))
            .map(str::to_owned)
            .collect()
    }

    /// Facts of a line's goods that nobody has told, each with the value under which a remedy would be due on them.
    pub(crate) fn remedy_facts(&self, line: &Line) -> BTreeSet<(String, String)> {
        self.remedy_layers()
            .flat_map(|layer| self.tariff.facts_open(layer, line, &self.groups))
            .map(|(name, value)| (name.to_owned(), value.to_owned()))
            .collect()
    }

    /// The layers that anti-dumping and countervailing duties take their rates from.
    pub(super) fn remedy_layers(&self) -> impl Iterator<Item = &str> {
        let layers = self
            .charges()
            .filter(|step| step.kind == Kind::Remedy)
            .flat_map(|step| match &step.rate_from {
                Some(RateFrom::Tariff(layers)) => layers.as_slice(),
                _ => &[],
            });
        layers.map(String::as_str)
    }

    /// Whether the rows of a charge are the carrier's fee, which the book's own can replace.
    pub(crate) fn is_carriers(&self, id: &str) -> bool {
        self.charges().any(|step| step.carriers && step.id == id)
    }

    pub(super) fn charges(&self) -> impl Iterator<Item = &ChargeStep> {
        self.steps.iter().filter_map(|step| match step {
            Step::Charge(step) => Some(step.as_ref()),
            Step::Relief(_) => None,
        })
    }

    /// Freight schedules that rules name, whose prices the parcel must carry.
    pub(crate) fn schedules(&self) -> impl Iterator<Item = &str> {
        self.names.schedules().map(|(name, _)| name)
    }
}

/// The digits that conditions of rows in force name.
fn asked(law: &Law, at: &Occasion<'_>) -> BTreeSet<String> {
    let conditions = conditions(law)
        .filter(|(stamp, when)| at.counts(stamp, when))
        .flat_map(|(_, when)| when.conditions());
    conditions
        .filter(|c| c.subject == Subject::Line(LineFact::Commodity))
        .map(|c| c.word.clone())
        .collect()
}

/// The columns of every name: parts of the price, schedules, rows by id, kinds.
fn names_of(law: &Law, charges: &[&Dated<Charge>], reliefs: &[&Dated<Relief>]) -> Names {
    let mut names = Names::new();
    let in_when = |when: &When| {
        when.conditions()
            .filter_map(|c| match &c.subject {
                Subject::Sum(sum) => Some(sum.clone()),
                _ => None,
            })
            .collect::<Vec<_>>()
    };
    let mut sums: Vec<_> = charges
        .iter()
        .filter_map(|row| row.rule.of.clone())
        .collect();
    charges
        .iter()
        .for_each(|row| sums.extend(in_when(&row.rule.when)));
    reliefs.iter().for_each(|row| {
        sums.extend(std::iter::once(row.rule.tests.clone()).chain(in_when(&row.rule.when)));
    });
    for name in sums
        .iter()
        .flat_map(SumExpr::names)
        .filter(|name| name.starts_with("freight:"))
    {
        names.add(name);
    }
    for row in &law.charges {
        names.add(&row.rule.id);
    }
    for row in charges {
        let slot = names.add(&row.rule.id);
        names.add_to_kind(row.rule.kind, slot);
    }
    names
}
