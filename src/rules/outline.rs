//! A program written out for one consignment: what each row looks at and takes, with what is fixed already found, so that
//! the sum can be written down again elsewhere with live figures. Which rows of rates and codes apply is fixed here.

use super::assessment::Assessment;
use super::condition::{Facts, Open};
use super::ledger::{Ledger, Resolved};
use super::parcel::{Line, Parcel};
use super::program::Program;
use super::rate::RateUsed;
use super::step::{ChargeStep, ReliefStep, Step};
use crate::tables::{Collect, Drop, Kind, Level, Op, Per, Stamp, TestPer};
use crate::units::{Dec, Overflow, Rounding};

/// One term of a sum: columns added up, times one figure and over another for each line.
#[derive(Debug, Clone)]
pub struct Term {
    /// Whether it is taken off.
    pub minus: bool,
    /// The columns.
    pub slots: Vec<usize>,
    /// For each line, what it is multiplied by and divided by.
    pub factors: Vec<(Dec, Dec)>,
}

/// A condition that is open until the figures are known.
#[derive(Debug, Clone)]
pub enum Asks {
    /// A sum over the whole consignment against a figure.
    Sum(Vec<Term>, Op, Dec),
    /// Where the line's tax is taken.
    Collect(Op, String),
    /// The price of one piece against a figure.
    UnitValue(Op, Dec),
}

/// For one line: all of one of these must hold. None at all: it never holds; an empty one: it always does.
pub type Holds = Vec<Vec<Asks>>;

/// What a line bears.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Bears {
    /// No table has a rate for it.
    Nothing,
    /// The sum itself.
    Sum,
    /// A rate of it, and the source of its row; empty where the charge's own row gives it.
    Rate(RateUsed, String),
}

impl Bears {
    /// Whether it is the same rate, whichever row says so.
    pub fn charges_as(&self, other: &Bears) -> bool {
        match (self, other) {
            (Bears::Rate(one, _), Bears::Rate(two, _)) => one.charges_as(two),
            _ => self == other,
        }
    }
}

/// A charge, written out.
#[derive(Debug, Clone)]
pub struct ChargeOutline {
    /// Its id.
    pub id: String,
    /// Its kind.
    pub kind: Kind,
    /// The column its shares stand in.
    pub slot: usize,
    /// The group of which one row counts, and whether it is the least one.
    pub group: Option<(String, bool)>,
    /// The lines by items: lines of one number are calculated together.
    pub items: Vec<u32>,
    /// Items that a flat amount is counted by.
    pub distinct: Vec<u32>,
    /// Whether a flat amount lies on each item.
    pub flat_by_item: bool,
    /// The sum it is taken of.
    pub of: Option<Vec<Term>>,
    /// What each line bears.
    pub bears: Vec<Bears>,
    /// A flat amount.
    pub flat: Option<Dec>,
    /// What that is counted by.
    pub per: Per,
    /// At least.
    pub min: Option<Dec>,
    /// At most.
    pub max: Option<Dec>,
    /// How it is rounded.
    pub round: Option<Rounding>,
    /// When it works on each line.
    pub holds: Vec<Holds>,
    /// Whether the carrier's own fee takes its place.
    pub carriers: bool,
    /// The row.
    pub stamp: Stamp,
    /// The sum and the condition in the table's words.
    pub words: String,
}

/// A relief, written out.
#[derive(Debug, Clone)]
pub struct ReliefOutline {
    /// Its id.
    pub id: String,
    /// What it tests.
    pub tests: Vec<Term>,
    /// By what.
    pub per: TestPer,
    /// How.
    pub op: Op,
    /// Against what.
    pub limit: Dec,
    /// What it drops.
    pub drops: Vec<Drop>,
    /// Where tax is taken when it holds.
    pub collect: Option<Collect>,
    /// When it works on each line.
    pub holds: Vec<Holds>,
    /// The row.
    pub stamp: Stamp,
    /// The test and the condition in the table's words.
    pub words: String,
}

/// One row, in its order.
#[derive(Debug, Clone)]
pub enum Outline {
    /// A charge.
    Charge(Box<ChargeOutline>),
    /// A relief.
    Relief(Box<ReliefOutline>),
}

/// Writes a program out for a consignment that was assessed by it.
pub fn outline(
    program: &Program,
    parcel: &Parcel,
    assessment: &Assessment,
) -> Result<Vec<Outline>, Overflow> {
    let ledger = Ledger::open(&program.names, parcel, parcel.customs)?;
    let facts = Facts {
        parcel,
        ledger: &ledger,
        collect: &assessment.collect,
        groups: &program.groups,
    };
    let mut found = Vec::with_capacity(program.steps.len());
    for step in &program.steps {
        let holds = holds(step, facts, parcel)?;
        if holds.iter().all(Vec::is_empty) {
            continue;
        }
        found.push(match step {
            Step::Charge(step) => Outline::Charge(Box::new(charge(program, step, facts, holds)?)),
            Step::Relief(step) => Outline::Relief(Box::new(relief(step, parcel, holds))),
        });
    }
    Ok(found)
}

fn holds(step: &Step, facts: Facts<'_>, parcel: &Parcel) -> Result<Vec<Holds>, Overflow> {
    let test = match step {
        Step::Charge(step) => &step.test,
        Step::Relief(step) => &step.test,
    };
    let asks = |open: Open| match open {
        Open::Sum(sum, op, figure) => Asks::Sum(terms(&sum, parcel), op, figure),
        Open::Collect(op, word) => Asks::Collect(op, word),
        Open::UnitValue(op, figure) => Asks::UnitValue(op, figure),
    };
    let of_line = |at| {
        Ok(test
            .open(facts, at)?
            .into_iter()
            .map(|side| side.into_iter().map(asks).collect())
            .collect())
    };
    (0..parcel.lines.len()).map(of_line).collect()
}

fn terms(sum: &Resolved, parcel: &Parcel) -> Vec<Term> {
    sum.by_line()
        .map(|(minus, slots, factor)| Term {
            minus,
            slots,
            factors: parcel.lines.iter().map(&factor).collect(),
        })
        .collect()
}

fn charge(
    program: &Program,
    step: &ChargeStep,
    facts: Facts<'_>,
    holds: Vec<Holds>,
) -> Result<ChargeOutline, Overflow> {
    let parcel = facts.parcel;
    let mut bears = Vec::with_capacity(parcel.lines.len());
    for (at, line) in parcel.lines.iter().enumerate() {
        bears.push(match rate_of(program, step, line, at, facts)? {
            Rated::No => Bears::Nothing,
            Rated::Plain => Bears::Sum,
            Rated::At(rate, stamp) => Bears::Rate(
                rate,
                stamp.map(|s| s.source.to_string()).unwrap_or_default(),
            ),
        });
    }
    let whole = |at: usize| {
        parcel
            .lines
            .get(at)
            .map(|line| (line.commodity.clone(), line.declared_as.clone()))
            .unwrap_or_default()
    };
    let keys: Vec<(String, String)> = (0..parcel.lines.len())
        .map(|at| group_key(step.level, parcel, at))
        .collect();
    let names: Vec<(String, String)> = (0..parcel.lines.len()).map(whole).collect();
    let at_level = step.level != crate::tables::Level::Consignment;
    let when = if step.when.is_empty() {
        String::new()
    } else {
        format!("; when {}", step.when)
    };
    Ok(ChargeOutline {
        id: step.id.clone(),
        kind: step.kind,
        slot: step.slot,
        group: step.group.clone(),
        distinct: numbered(if at_level { &keys } else { &names }),
        items: numbered(&keys),
        flat_by_item: step.flat_by_item(),
        of: step.of.as_ref().map(|sum| terms(sum, parcel)),
        bears,
        flat: step.flat,
        per: step.per,
        min: step.min,
        max: step.max,
        round: step.round,
        holds,
        carriers: step.carriers,
        stamp: step.stamp.clone(),
        words: format!("{}{when}", step.of_text),
    })
}

/// Each distinct name by a number, from 1.
fn numbered(names: &[(String, String)]) -> Vec<u32> {
    let mut known: Vec<&(String, String)> = Vec::new();
    let mut found = Vec::with_capacity(names.len());
    for name in names {
        let at = known.iter().position(|k| *k == name).unwrap_or_else(|| {
            known.push(name);
            known.len() - 1
        });
        found.push(u32::try_from(at).unwrap_or(u32::MAX).saturating_add(1));
    }
    found
}

fn relief(step: &ReliefStep, parcel: &Parcel, holds: Vec<Holds>) -> ReliefOutline {
    let when = if step.when.is_empty() {
        String::new()
    } else {
        format!("; when {}", step.when)
    };
    ReliefOutline {
        id: step.id.clone(),
        tests: terms(&step.tests, parcel),
        per: step.per,
        op: step.op,
        limit: step.limit,
        drops: step.drops.clone(),
        collect: step.collect,
        holds,
        stamp: step.stamp.clone(),
        words: format!("{} {} {}{when}", step.tests_text, step.op, step.limit_text),
    }
}

enum Rated<'a> {
    No,
    Plain,
    At(RateUsed, Option<&'a Stamp>),
}

fn rate_of<'a>(
    program: &'a Program,
    step: &ChargeStep,
    line: &'a Line,
    at: usize,
    facts: Facts<'a>,
) -> Result<Rated<'a>, Overflow> {
    if let Some(percent) = step.percent {
        return Ok(Rated::At(
            RateUsed {
                percent,
                per_kg: Dec::ZERO,
                per_piece: Dec::ZERO,
                row: None,
            },
            None,
        ));
    }
    let Some(from) = &step.rate_from else {
        return Ok(Rated::Plain);
    };
    let table = match from {
        crate::tables::RateFrom::Tariff(_) => &program.tariff,
        crate::tables::RateFrom::Taxes(_) => &program.taxes,
    };
    Ok(table
        .of_charge(from, line, at, facts)?
        .map_or(Rated::No, |(rate, stamp)| Rated::At(rate, Some(stamp))))
}

/// The group a line belongs to at a level.
fn group_key(level: Level, parcel: &Parcel, at: usize) -> (String, String) {
    let Some(line) = parcel.lines.get(at) else {
        return Default::default();
    };
    match level {
        Level::Line if line.whole.is_some() => (String::new(), line.declared_as.clone()),
        Level::Line => (format!("{at:06}"), String::new()),
        Level::Item(digits) => (
            line.commodity
                .get(..digits)
                .unwrap_or(&line.commodity)
                .to_owned(),
            line.declared_as.clone(),
        ),
        Level::Consignment => Default::default(),
    }
}
