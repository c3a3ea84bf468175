//! Duties, taxes and fees that would have touched a consignment, had their rows not ended: what followed is not known.

use super::assessment::Ended;
use super::condition::Facts;
use super::program::Program;
use super::rate::RateTable;
use super::step::{ChargeStep, Step};
use crate::tables::{Kind, RateFrom, Stamp};
use crate::units::Overflow;

/// What ended for a consignment that has been assessed; `dropped` says whether a relief takes a charge off a line.
pub(super) fn ended(program: &Program, facts: Facts<'_>, dropped: impl Fn(Kind, &str, usize) -> bool) -> Result<Vec<Ended>, Overflow> {
    let mut found = Vec::new();
    for step in &program.ended {
        if step.carriers && facts.parcel.handling.is_some() {
            continue;
        }
        for at in step.test.lines(facts)? {
            if !dropped(step.kind, &step.id, at) && once_rated(program, step.rate_from.as_ref(), at, facts)? {
                note(&mut found, &step.id, step.kind, &step.stamp, at);
            }
        }
    }
    for (step, from) in program.steps.iter().filter_map(rated) {
        if !table_of(program, from).has_ended() {
            continue;
        }
        for at in step.test.lines(facts)? {
            if let Some(stamp) = rate_ended(program, from, at, facts)?
                && !dropped(step.kind, &step.id, at)
            {
                note(&mut found, &step.id, step.kind, stamp, at);
            }
        }
    }
    Ok(found)
}

/// A charge that somebody pays and that takes its rate from a table.
fn rated(step: &Step) -> Option<(&ChargeStep, &RateFrom)> {
    match step {
        Step::Charge(step) if step.kind != Kind::Value => Some((step, step.rate_from.as_ref()?)),
        _ => None,
    }
}

fn table_of<'a>(program: &'a Program, from: &RateFrom) -> &'a RateTable {
    match from {
        RateFrom::Tariff(_) => &program.tariff,
        RateFrom::Taxes(_) => &program.taxes,
    }
}

/// Whether a charge that ended had a rate for a line: its own, or one of a table, whether or not that row ended too.
fn once_rated(program: &Program, from: Option<&RateFrom>, at: usize, facts: Facts<'_>) -> Result<bool, Overflow> {
    match (from, facts.parcel.lines.get(at)) {
        (Some(from), Some(line)) => Ok(table_of(program, from).once_of_charge(from, line, at, facts)?.is_some()),
        (None, line) => Ok(line.is_some()),
        (Some(_), None) => Ok(false),
    }
}

/// The row of rates that would have served a line, had it not ended.
fn rate_ended<'a>(program: &'a Program, from: &'a RateFrom, at: usize, facts: Facts<'a>) -> Result<Option<&'a Stamp>, Overflow> {
    let Some(line) = facts.parcel.lines.get(at) else { return Ok(None) };
    let row = table_of(program, from).once_of_charge(from, line, at, facts)?;
    Ok(row.and_then(|(ended, stamp)| ended.then_some(stamp)))
}

fn note(found: &mut Vec<Ended>, id: &str, kind: Kind, stamp: &Stamp, at: usize) {
    let Some(on) = stamp.span.to else { return };
    match found.iter_mut().find(|one| one.id == id && one.on == on) {
        Some(known) if !known.lines.contains(&at) => known.lines.push(at),
        Some(_) => {}
        None => found.push(Ended { id: id.to_owned(), kind, on, row: stamp.row.clone(), lines: vec![at] }),
    }
}
