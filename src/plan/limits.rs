//! Limits that no plan keeps: the reason, with the place of the limit where a file gives it, and the nearest plan on either side.

use super::book::Compiled;
use super::changes::{Change, changes};
use super::goal::{Goal, search};
use super::model::LARGEST;
use super::pareto::Found;
use super::plans::{Plan, of_build, one_plan};
use super::pool::Pool;
use super::refusal::refused;
use super::search::Outcome;
use super::watch::{Stopped, Watch};
use crate::landed::{Bill, Jurisdiction};
use crate::text::{Diagnostic, Problems};
use crate::units::{Dec, Grams, Money};
use crate::value::fit;

/// Why there is no plan, and what comes nearest.
#[derive(Debug)]
pub struct NoPlan {
    /// The smallest reason.
    pub reason: Diagnostic,
    /// The nearest plans, one on either side of the limits; none where the limits are not the reason.
    pub nearest: Vec<Near>,
    /// What the build lands at as it stands, when it can be calculated, and what it weighs.
    pub(crate) build: Option<(Dec, Grams)>,
}

/// A plan that misses a limit by the least.
#[derive(Debug)]
pub struct Near {
    /// What it is.
    pub side: Side,
    /// The plan.
    pub plan: Plan,
    /// What it changes.
    pub(crate) changes: Vec<Change>,
    /// By how much it is over the mass limit; none where it keeps it, or there is none.
    pub over_mass: Option<Grams>,
    /// By how much it is over the budget, likewise.
    pub over_budget: Option<Dec>,
}

/// Which plan comes nearest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The cheapest within the mass limit.
    WithinMass,
    /// The lightest of all, where none is within the mass limit.
    Lightest,
    /// The lightest within the budget.
    WithinBudget,
    /// The cheapest of all, where none is within the budget.
    Cheapest,
}

impl Side {
    /// Its word in the outputs.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Side::WithinMass => "cheapest-within-mass",
            Side::Lightest => "lightest",
            Side::WithinBudget => "lightest-within-budget",
            Side::Cheapest => "cheapest",
        }
    }
}

impl NoPlan {
    /// A reason that is not a limit.
    pub(super) fn because(reason: Diagnostic) -> Box<NoPlan> {
        Box::new(NoPlan {
            reason,
            nearest: Vec::new(),
            build: None,
        })
    }
}

/// Why what was found is no answer; none where it is one.
pub(super) fn missed(compiled: &Compiled<'_>, goal: Goal, outcome: &Outcome) -> Option<Diagnostic> {
    let Some(best) = outcome.plans.first() else {
        return Some(nothing(compiled, goal, outcome));
    };
    match goal {
        Goal::Cheapest(_) => over_budget(compiled, best, outcome.stopped),
        Goal::Lightest(_) => over_mass(compiled, best, outcome.stopped),
        Goal::Frontier => none_within(compiled, outcome),
    }
    .map(|what| {
        let limits = match goal {
            Goal::Lightest(_) => ["max_mass_g", "budget"],
            Goal::Cheapest(_) | Goal::Frontier => ["budget", "max_mass_g"],
        };
        placed(Diagnostic::error(what), compiled.jurisdiction, &limits)
    })
}

/// The smallest reason why nothing was found.
fn nothing(compiled: &Compiled<'_>, goal: Goal, outcome: &Outcome) -> Diagnostic {
    if outcome.stopped != Stopped::Proven {
        return Diagnostic::error(format!("no plan was found: {}", outcome.stopped.name()));
    }
    let ask = compiled.jurisdiction.ask;
    let (what, limit) = match (goal, outcome.least) {
        (Goal::Cheapest(Some(_)), Some(least)) => {
            let least = compiled.mass_at(least);
            let asked = ask.max_mass.map(Grams::grouped).unwrap_or_default();
            let least = least.grouped();
            let what = format!("no plan weighs {asked} g or less: the least is {least} g");
            (what, "max_mass_g")
        }
        (Goal::Lightest(_), Some(least)) => {
            let least = compiled.landed_at(least);
            let asked = ask.budget.unwrap_or_default();
            let (asked, least) = (money(asked, compiled), money(least, compiled));
            let what = format!("no plan costs {asked} or less: the least is {least}");
            (what, "budget")
        }
        _ => return Diagnostic::error(apart_from_limits(compiled)),
    };
    placed(Diagnostic::error(what), compiled.jurisdiction, &[limit])
}

/// Why nothing goes together, whatever the limits are.
fn apart_from_limits(compiled: &Compiled<'_>) -> String {
    if compiled.model.max_sellers.is_some() {
        return "no plan: not with so few sellers".to_owned();
    }
    "no plan: no offers for all places fit one another and bring what they need".to_owned()
}

/// Parts without another offer that do not fit one another: whatever is chosen beside them, there is no plan.
pub(super) fn settled_clash(
    pool: &Pool<'_>,
    jurisdiction: &Jurisdiction<'_>,
) -> Option<Diagnostic> {
    let clashes = fit::clashes(&pool.settled, jurisdiction);
    let words = clashes.first()?.words();
    let what = format!("no plan: parts without another offer do not fit: {words}");
    Some(Diagnostic::error(what))
}

/// Where the cheapest plan within a mass limit is dearer than the budget: how dear it is.
fn over_budget(compiled: &Compiled<'_>, best: &Found, stopped: Stopped) -> Option<String> {
    let ask = compiled.jurisdiction.ask;
    let (budget, _) = ask.budget.zip(ask.max_mass)?;
    let least = compiled.landed_at(best.cost);
    if least <= budget {
        return None;
    }
    let (budget, least) = (money(budget, compiled), money(least, compiled));
    Some(match stopped {
        Stopped::Proven => format!("no plan within {budget} at this weight: the least is {least}"),
        why => format!(
            "no plan within {budget} at this weight was found before the {}: the least so far is {least}",
            why.end()
        ),
    })
}

/// Where the lightest plan within a budget is over the mass limit: what it weighs.
fn over_mass(compiled: &Compiled<'_>, best: &Found, stopped: Stopped) -> Option<String> {
    let most = compiled.jurisdiction.ask.max_mass?;
    let least = compiled.mass_at(best.mass);
    if least <= most {
        return None;
    }
    let (most, least) = (most.grouped(), least.grouped());
    Some(match stopped {
        Stopped::Proven => {
            format!("no plan within the budget weighs {most} g or less: the least is {least} g")
        }
        why => format!(
            "no plan within the budget that weighs {most} g or less was found before the {}: the least so far is {least} g",
            why.end()
        ),
    })
}

/// No plan of a frontier is within both limits, as far as the search went.
fn none_within(compiled: &Compiled<'_>, outcome: &Outcome) -> Option<String> {
    let within = |found: &Found| compiled.allows(found.cost, found.mass);
    if outcome.plans.iter().any(within) {
        return None;
    }
    Some(match outcome.stopped {
        Stopped::Proven => "no plan is within the budget and the mass limit".to_owned(),
        why => format!(
            "no plan within the budget and the mass limit was found before the {}",
            why.end()
        ),
    })
}

/// Marks the first of the limits that a file gives, and names the place of the other: one may be a flag's.
fn placed(reason: Diagnostic, jurisdiction: &Jurisdiction<'_>, limits: &[&str]) -> Diagnostic {
    let places = limits.iter().filter_map(|limit| {
        let place = jurisdiction.ask.limits_at.get(*limit)?;
        Some((*limit, place))
    });
    places.fold(reason, |reason, (limit, place)| match reason.place {
        None => reason.at(place.clone()),
        Some(_) => reason.note(format!("`{limit}` is set at {place}")),
    })
}

fn money(amount: Dec, compiled: &Compiled<'_>) -> String {
    Money::new(amount, compiled.jurisdiction.currency()).to_string()
}

/// The nearest plans: for the mass limit the cheapest that keeps it, else the lightest of all; for the budget the lightest that
/// keeps it, else the cheapest of all.
pub(super) fn nearest(
    compiled: &Compiled<'_>,
    reason: Diagnostic,
    watch: &dyn Watch,
) -> Result<NoPlan, Problems> {
    let ask = compiled.jurisdiction.ask;
    let mass = ask.max_mass.map(|most| {
        let most = Some(compiled.mass_within(most));
        [
            (Side::WithinMass, Goal::Cheapest(most)),
            (Side::Lightest, Goal::Lightest(LARGEST)),
        ]
    });
    let budget = ask.budget.map(|budget| {
        let most = compiled.cost_within(budget);
        [
            (Side::WithinBudget, Goal::Lightest(most)),
            (Side::Cheapest, Goal::Cheapest(None)),
        ]
    });
    let build = of_build(compiled)?;
    let mut found: Vec<(Vec<u32>, Near)> = Vec::new();
    for sides in mass.into_iter().chain(budget) {
        for (side, goal) in sides {
            let outcome =
                search(&compiled.model, compiled, goal, watch).map_err(|why| refused(&why))?;
            let Some(best) = outcome.plans.first() else {
                continue;
            };
            if !found.iter().any(|(offers, _)| *offers == best.offers) {
                let bills = build.as_ref().map(|(_, bills)| bills.as_slice());
                let plan = one_plan(compiled, goal, &outcome, 0)?;
                let near = near(compiled, side, (plan, &best.offers), bills)?;
                found.push((best.offers.clone(), near));
            }
            break;
        }
    }
    Ok(NoPlan {
        reason,
        nearest: found.into_iter().map(|(_, near)| near).collect(),
        build: build.map(|(whole, _)| whole),
    })
}

/// A plan that was found, with its offers, as one that misses a limit.
fn near(
    compiled: &Compiled<'_>,
    side: Side,
    (plan, offers): (Plan, &[u32]),
    build: Option<&[Bill]>,
) -> Result<Near, Problems> {
    let ask = compiled.jurisdiction.ask;
    let bills = compiled.bills(&compiled.plan_rows(offers))?;
    let changes = changes(compiled, offers, build.map(|build| [build, &bills]))?;
    let over_mass = (ask.max_mass)
        .map(|most| plan.mass.minus(most))
        .transpose()?;
    let over_budget = (ask.budget)
        .map(|most| plan.landed.minus(most))
        .transpose()?;
    Ok(Near {
        side,
        changes,
        over_mass: over_mass.filter(|over| over.0.is_positive()),
        over_budget: over_budget.filter(|over| over.is_positive()),
        plan,
    })
}
