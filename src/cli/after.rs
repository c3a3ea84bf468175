//! The commands that look beyond a single figure: before ordering how far it can move, after delivery what became of it.

use super::run::{Answer, Answered, Case, refusal, show};
use crate::landed::Desk;
use crate::leeway::{break_even, leeway, mass_range};
use crate::report::{self, LeewayReport};
use crate::text::{Diagnostic, Problems};
use crate::units::{Dec, Percent};

fn one(problem: Diagnostic) -> Problems {
    let mut problems = Problems::new();
    problems.push(problem);
    problems
}

fn destination(case: &Case) -> String {
    if case.ask.region.is_empty() { case.ask.to.to_string() } else { format!("{}-{}", case.ask.to, case.ask.region) }
}

/// How far the total can move.
pub(super) fn leeway_of(case: &Case, assurance: &str, days: u32) -> Answered {
    let assurance = Percent::parse(assurance, 100).map_err(|why| one(Diagnostic::error(format!("`--assurance {assurance}`: {why}"))))?.0;
    if assurance < Dec::ONE || assurance > Dec::from(99_u32) {
        return Err(one(Diagnostic::error(format!("`--assurance {assurance}`: expected a percentage from 1 to 99"))));
    }
    let desk = Desk::open(&case.tables, &case.ask)?;
    let found = leeway(&case.book, &desk, days, assurance)?;
    let mass = mass_range(&case.book, &desk).map_err(refusal)?;
    let edges = break_even(&case.book, &desk)?;
    let show = show(case, desk.currency())?;
    let report = LeewayReport { leeway: &found, mass: mass.as_ref(), edges: &edges, budget: case.ask.budget };
    let view = report::leeway_view(&report, &show).map_err(refusal)?;
    let tables = report::tables_json(&desk, &case.ask);
    let json = report::leeway_json(&report, &show, &case.ask.date.to_string(), &destination(case), tables).map_err(refusal)?;
    Ok(Answer { view, json })
}
