//! Limits that no plan keeps: the reason, with the place of the limit where a file gives it, and the nearest plan on either side.

use super::book::Compiled;
use super::changes::{Change, changes};
use super::goal::{Goal, search};
use super::model::LARGEST;
use super::pareto::Found;
use super::plans::{Plan, of_build, one_plan, tenths};
use super::refusal::refused;
use super::search::Outcome;
use super::watch::{Stopped, Watch};
use crate::book::Remedies;
use crate::landed::{Jurisdiction, bills_of};
use crate::text::{Diagnostic, Problems};
use crate::units::{Dec, Grams};
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
        Goal::Frontier => {
            let within = |found: &Found| compiled.allows(found.cost, found.mass);
            (!outcome.plans.iter().any(within)).then(|| none_within(compiled, outcome.stopped))
        }
    }
}

/// The smallest reason why nothing was found.
fn nothing(compiled: &Compiled<'_>, goal: Goal, outcome: &Outcome) -> Diagnostic {
    if outcome.stopped != Stopped::Proven {
        return Diagnostic::error(format!("no plan was found: {}", outcome.stopped.name()));
    }
    let ask = compiled.jurisdiction.ask;
    let reason = match (goal, outcome.least) {
        (Goal::Cheapest(Some(_)), Some(least)) => {
            let least = Grams(Dec::new(least + compiled.sure_mass, 1));
            let asked = ask.max_mass.map(Grams::grouped).unwrap_or_default();
            format!(
                "no plan weighs {asked} g or less: the least is {} g",
                least.grouped()
            )
        }
        (Goal::Lightest(_), Some(least)) => {
            let least = compiled.amount(least + compiled.sure_cost);
            let asked = ask.budget.unwrap_or_default();
            let (asked, least) = (bare(asked, compiled), money(least, compiled));
            let currency = compiled.jurisdiction.currency();
            format!("no plan lands at {asked} {currency} or less: the least is {least}")
        }
        _ => return Diagnostic::error(apart_from_limits(compiled)),
    };
    let limit = match goal {
        Goal::Lightest(_) => "budget",
        _ => "max_mass_g",
    };
    placed(Diagnostic::error(reason), compiled.jurisdiction, &[limit])
}

/// Why nothing goes together, whatever the limits are.
fn apart_from_limits(compiled: &Compiled<'_>) -> String {
    let clashes = fit::clashes(&compiled.pool.settled, compiled.jurisdiction);
    match (clashes.first(), compiled.model.max_sellers) {
        (Some(clash), _) => format!(
            "no plan: parts without another offer do not fit: {}",
            clash.words()
        ),
        (None, Some(_)) => "no plan: not with so few sellers".to_owned(),
        (None, None) => {
            "no plan: no offers for all places fit one another and bring what they need".to_owned()
        }
    }
}

/// Where the cheapest plan within a mass limit is dearer than the budget: how dear it is.
fn over_budget(compiled: &Compiled<'_>, best: &Found, stopped: Stopped) -> Option<Diagnostic> {
    let ask = compiled.jurisdiction.ask;
    let (budget, _) = ask.budget.zip(ask.max_mass)?;
    let least = compiled.amount(best.cost + compiled.sure_cost);
    if least <= budget {
        return None;
    }
    let (budget, least) = (money(budget, compiled), money(least, compiled));
    let what = match stopped {
        Stopped::Proven => format!("no plan within {budget} at this mass: the least is {least}"),
        why => format!(
            "no plan within {budget} at this mass was found before the {}: the least so far is {least}",
            why.end()
        ),
    };
    let limits = ["budget", "max_mass_g"];
    Some(placed(
        Diagnostic::error(what),
        compiled.jurisdiction,
        &limits,
    ))
}

/// Where the lightest plan within a budget is over the mass limit: what it weighs.
fn over_mass(compiled: &Compiled<'_>, best: &Found, stopped: Stopped) -> Option<Diagnostic> {
    let most = compiled.jurisdiction.ask.max_mass?;
    let least = Grams(Dec::new(best.mass + compiled.sure_mass, 1));
    if least <= most {
        return None;
    }
    let (most, least) = (most.grouped(), least.grouped());
    let what = match stopped {
        Stopped::Proven => {
            format!("no plan within the budget weighs {most} g or less: the least is {least} g")
        }
        why => format!(
            "no plan within the budget that weighs {most} g or less was found before the {}: the least so far is {least} g",
            why.end()
        ),
    };
    let limits = ["max_mass_g", "budget"];
    Some(placed(
        Diagnostic::error(what),
        compiled.jurisdiction,
        &limits,
    ))
}

/// No plan of a frontier is within both limits, as far as the search went.
fn none_within(compiled: &Compiled<'_>, stopped: Stopped) -> Diagnostic {
    let what = match stopped {
        Stopped::Proven => "no plan is within the budget and the mass limit".to_owned(),
        why => format!(
            "no plan within the budget and the mass limit was found before the {}",
            why.end()
        ),
    };
    let limits = ["budget", "max_mass_g"];
    placed(Diagnostic::error(what), compiled.jurisdiction, &limits)
}

/// Marks the first of the limits that a file gives, and names the place of the other: one may be a flag's.
fn placed(reason: Diagnostic, jurisdiction: &Jurisdiction<'_>, limits: &[&str]) -> Diagnostic {
    let places = limits.iter().filter_map(|limit| {
        let place = jurisdiction.ask.limits_at.get(*limit)?;
        Some((*limit, place))
    });
    places.fold(reason, |reason, (limit, place)| match reason.place {
        None => reason.at(place.clone()),
        Some(_) => reason.note(format!("`{limit}` stands at {place}")),
    })
}

fn bare(amount: Dec, compiled: &Compiled<'_>) -> String {
    amount.grouped(compiled.jurisdiction.currency().digits())
}

fn money(amount: Dec, compiled: &Compiled<'_>) -> String {
    format!(
        "{} {}",
        bare(amount, compiled),
        compiled.jurisdiction.currency()
    )
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
        let most = tenths(most) - compiled.sure_mass;
        [
            (Side::WithinMass, Goal::Cheapest(Some(most))),
            (Side::Lightest, Goal::Lightest(LARGEST)),
        ]
    });
    let budget = ask.budget.map(|budget| {
        let most = compiled.units(budget).unwrap_or(LARGEST).min(LARGEST) - compiled.sure_cost;
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
                let near = near(compiled, (side, goal), &outcome, bills)?;
                found.extend(near.map(|near| (best.offers.clone(), near)));
            }
            break;
        }
    }
    let weight = (compiled.pool.masses).build(compiled.book, compiled.jurisdiction)?;
    Ok(NoPlan {
        reason,
        nearest: found.into_iter().map(|(_, near)| near).collect(),
        build: build.map(|(landed, _)| (landed, weight)),
    })
}

/// The plan that a search came to, as one that misses a limit.
fn near(
    compiled: &Compiled<'_>,
    (side, goal): (Side, Goal),
    outcome: &Outcome,
    build: Option<&[crate::landed::Bill]>,
) -> Result<Option<Near>, Problems> {
    let Some(best) = outcome.plans.first() else {
        return Ok(None);
    };
    let plan = one_plan(compiled, goal, outcome, 0)?;
    let (book, jurisdiction) = (compiled.book, compiled.jurisdiction);
    let ask = jurisdiction.ask;
    let rows = compiled.plan_rows(&best.offers);
    let remedies = ask.remedies == Remedies::Count;
    let bills = bills_of(book, &rows, jurisdiction, remedies)?;
    let changes = changes(compiled, &best.offers, build.map(|build| [build, &bills]))?;
    let over_mass = (ask.max_mass)
        .map(|most| plan.mass.minus(most))
        .transpose()?;
    let over_budget = (ask.budget)
        .map(|most| plan.landed.minus(most))
        .transpose()?;
    Ok(Some(Near {
        side,
        changes,
        over_mass: over_mass.filter(|over| over.0.is_positive()),
        over_budget: over_budget.filter(|over| over.is_positive()),
        plan,
    }))
}
