//! Plans of a book: what is asked, what was found, and why a dearer part was taken.

use super::why::{Change, Crossed, Why, changes, crossed, who, whys};

use super::book::Compiled;
use super::pool::{Bare, Pool, Wishes};
use super::search::{Goal, Outcome, search};
use super::watch::{Progress, Stopped, Watch};
use crate::book::{Book, Part};
use crate::landed::{Caution, Desk, Landed, cost_rows, landed_rows};
use crate::text::{Diagnostic, Problems, words};
use crate::units::{Dec, Grams, Mode};
use crate::value::bench::on_the_bike;
use crate::value::fit;

/// One part at its places.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// The places, joined as in a book.
    pub place: String,
    /// The part.
    pub part: String,
    /// Who sells it; empty for what is there already.
    pub seller: String,
}

/// One plan.
#[derive(Debug, Clone)]
pub struct Plan {
    /// What the whole build lands at.
    pub landed: Dec,
    /// What the bike weighs.
    pub mass: Grams,
    /// What is at each place.
    pub choices: Vec<Choice>,
    /// Nothing better exists.
    pub proven: bool,
    /// No plan for this question lands at less, or weighs less when the lightest is sought.
    pub bound: Dec,
    /// How far the plan is above the bound.
    pub gap: Dec,
}

/// What was looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sought {
    /// The cheapest, under a mass where one is given.
    Cheapest,
    /// The lightest under a budget.
    Lightest,
    /// All plans that no other beats in both.
    Frontier,
}

impl Sought {
    /// Its word in the outputs.
    pub fn name(self) -> &'static str {
        match self {
            Sought::Cheapest => "cheapest",
            Sought::Lightest => "lightest",
            Sought::Frontier => "frontier",
        }
    }
}

/// What planning came to.
#[derive(Debug, Clone)]
pub struct Plans {
    /// What was looked for.
    pub sought: Sought,
    /// The plans: one, or the frontier by ascending mass.
    pub plans: Vec<Plan>,
    /// Why it stopped.
    pub stopped: Stopped,
    /// Corners of an unfinished frontier: cost and mass below which nothing is proven yet, and the least cost there.
    pub open: Vec<(Dec, Grams, Dec)>,
    /// What the build lands at as it stands, when it can be reckoned.
    pub build: Option<(Dec, Grams)>,
    /// What the plan changes; for a frontier, its cheapest point.
    pub changes: Vec<Change>,
    /// Why dearer offers were taken.
    pub whys: Vec<Why>,
    /// Limits that parcels cross.
    pub crossed: Vec<Crossed>,
    /// The bill of the plan.
    pub landed: Option<Landed>,
    /// Rows that are no offers, with the reason.
    pub left_out: Vec<(String, String)>,
    /// What must be said.
    pub cautions: Vec<Caution>,
    /// How many offers and places there were to choose from.
    pub offers: usize,
    /// Places with a choice.
    pub places: usize,
}

/// Either plans, or the smallest reason why there is none.
#[derive(Debug)]
pub enum Planned {
    /// There is at least one.
    Found(Box<Plans>),
    /// There is none.
    Nothing(Diagnostic),
}

/// Plans a book.
pub fn plan(book: &Book, desk: &Desk<'_>, wishes: &Wishes, watch: &dyn Watch) -> Result<Planned, Problems> {
    check_wishes(book, wishes)?;
    let pool = match Pool::open(book, desk, wishes) {
        Ok(pool) => pool,
        Err(Bare::Places(places)) => return Ok(Planned::Nothing(bare_places(&places))),
        Err(Bare::Kept(part, why)) => {
            let what = format!("no plan: `{part}` is to be kept, but {why}");
            return Ok(Planned::Nothing(Diagnostic::error(what)));
        }
    };
    let compiled = Compiled::new(pool, book, desk, wishes.max_sellers)?;
    if let Some(most) = wishes.max_sellers.filter(|most| compiled.firm().len() > *most) {
        let firm: Vec<String> = compiled.firm().into_iter().collect();
        let what = format!(
            "no plan with {}: parts without another offer are ordered from {}",
            words::count(most, "seller", "sellers"),
            words::list(&firm, "and")
        );
        return Ok(Planned::Nothing(Diagnostic::error(what)));
    }
    let goal = goal(&compiled, wishes);
    let outcome = search(&compiled.model, &compiled, goal, &Telling { watch, compiled: &compiled }).map_err(one)?;
    if let Some(refusal) = compiled.refusal() {
        return Err(refusal);
    }
    if outcome.plans.is_empty() {
        return Ok(Planned::Nothing(nothing(&compiled, goal, &outcome, desk)));
    }
    if let (Goal::Cheapest(_), Some(budget), Some(best)) = (goal, desk.ask.budget, outcome.plans.first()) {
        let least = compiled.amount(best.cost + compiled.sure_cost);
        if least > budget && desk.ask.max_mass.is_some() && outcome.stopped == Stopped::Proven {
            let digits = desk.currency().digits();
            let money = |amount: Dec| format!("{} {}", amount.grouped(digits), desk.currency());
            let what = format!("no plan within {} at this mass: the least is {}", money(budget), money(least));
            return Ok(Planned::Nothing(Diagnostic::error(what)));
        }
    }
    report(&compiled, goal, &outcome).map(|plans| Planned::Found(Box::new(plans)))
}

/// Passes on what the search tells, in the book's own units.
struct Telling<'a> {
    watch: &'a dyn Watch,
    compiled: &'a Compiled<'a>,
}

impl Watch for Telling<'_> {
    fn stop(&self) -> Option<Stopped> {
        self.watch.stop()
    }

    fn progress(&self, so_far: Progress) {
        self.watch.progress(Progress { gap: so_far.gap.map(Compiled::minor), ..so_far });
    }

    fn closed(&self, cost: i64, mass: i64) {
        let landed = self.compiled.amount(cost + self.compiled.sure_cost);
        self.watch.point(landed, Grams(Dec::new(mass + self.compiled.sure_mass, 1)));
    }
}

fn one(why: impl Into<String>) -> Problems {
    let mut problems = Problems::new();
    problems.push(Diagnostic::error(why));
    problems
}

fn check_wishes(book: &Book, wishes: &Wishes) -> Result<(), Problems> {
    let mut problems = Problems::new();
    let parts: Vec<&str> = book.parts.iter().map(|row| row.name.as_str()).collect();
    let sellers: Vec<&str> = book.sellers.keys().map(String::as_str).collect();
    for (flag, typed, known) in
        wishes.keep.iter().map(|t| ("--keep", t, &parts)).chain(wishes.without.iter().map(|t| ("--without", t, &sellers)))
    {
        if !known.contains(&typed.as_str()) {
            let problem = Diagnostic::error(format!("`{flag} {typed}`: the book has no such name"));
            problems.push(match words::nearest(typed, known.iter().copied()) {
                Some(near) => problem.help(format!("did you mean `{near}`?")),
                None => problem,
            });
        }
    }
    if problems.is_empty() { Ok(()) } else { Err(problems) }
}

fn goal(compiled: &Compiled<'_>, wishes: &Wishes) -> Goal {
    let ask = compiled.desk.ask;
    let tenths = |grams: Grams| grams.0.round_to(1, Mode::Down).small_units(1).unwrap_or(i64::MAX / 16);
    if wishes.frontier {
        return Goal::Frontier;
    }
    match (ask.max_mass, ask.budget) {
        (Some(mass), _) if !(wishes.lightest && ask.budget.is_some()) => Goal::Cheapest(Some(tenths(mass) - compiled.sure_mass)),
        (_, Some(budget)) => Goal::Lightest(compiled.units(budget).unwrap_or(i64::MAX / 16) - compiled.sure_cost),
        (_, None) => Goal::Cheapest(None),
    }
}

/// Places that nothing fills, the first of them by name.
fn bare_places(places: &[String]) -> Diagnostic {
    let quoted: Vec<String> = places.iter().map(|place| format!("`{place}`")).collect();
    let Some((first, others)) = quoted.split_first() else { return Diagnostic::error("no plan: a place has no fitting offer") };
    let more = if others.is_empty() { String::new() } else { format!("; nor have {}", words::few(others)) };
    Diagnostic::error(format!("no plan: the place {first} has no fitting offer{more}"))
        .help("add rows for it to `parts.csv`; a part in hand fills its place too")
}

/// The smallest reason why there is no plan.
fn nothing(compiled: &Compiled<'_>, goal: Goal, outcome: &Outcome, desk: &Desk<'_>) -> Diagnostic {
    if outcome.stopped != Stopped::Proven {
        return Diagnostic::error(format!("no plan was found: {}", outcome.stopped.name()));
    }
    let digits = desk.currency().digits();
    let known = outcome.bound > 0;
    match goal {
        Goal::Cheapest(Some(_)) if known => {
            let least = Grams(Dec::new(outcome.bound + compiled.sure_mass, 1));
            let asked = desk.ask.max_mass.map(|m| m.to_string()).unwrap_or_default();
            Diagnostic::error(format!("no plan weighs {asked} g or less: the least is {least} g"))
        }
        Goal::Lightest(_) if known => {
            let least = compiled.amount(outcome.bound + compiled.sure_cost).grouped(digits);
            let asked = desk.ask.budget.map(|b| b.grouped(digits)).unwrap_or_default();
            Diagnostic::error(format!("no plan lands at {asked} {c} or less: the least is {least} {c}", c = desk.currency()))
        }
        _ => {
            let clash = fit::clashes(&compiled.pool.settled, desk).into_iter().next();
            let why = match (clash, compiled.model.max_sellers) {
                (Some(clash), _) => format!("no plan: parts without another offer do not fit: {}", clash.words()),
                (None, Some(_)) => "no plan: not with so few sellers".to_owned(),
                (None, None) => "no plan: no offers for all places fit one another and bring what they need".to_owned(),
            };
            Diagnostic::error(why)
        }
    }
}

fn report(compiled: &Compiled<'_>, goal: Goal, outcome: &Outcome) -> Result<Plans, Problems> {
    let proven = outcome.stopped == Stopped::Proven;
    let digits = compiled.desk.currency().digits();
    let mut plans = Vec::with_capacity(outcome.plans.len());
    for found in &outcome.plans {
        let rows = compiled.plan_rows(&found.offers);
        let landed = landed_rows(compiled.book, &rows, compiled.desk)?;
        let mass = Grams(Dec::new(found.mass + compiled.sure_mass, 1));
        agree(compiled, found.cost, landed, digits)?;
        let (bound, gap) = match (goal, proven) {
            (Goal::Frontier, _) | (_, true) => (if matches!(goal, Goal::Lightest(_)) { mass.0 } else { landed }, Dec::ZERO),
            (Goal::Lightest(_), false) => {
                let bound = Dec::new(outcome.bound + compiled.sure_mass, 1);
                (bound, mass.0.minus(bound)?)
            }
            (Goal::Cheapest(_), false) => {
                let bound = compiled.amount(outcome.bound + compiled.sure_cost);
                (bound, landed.minus(bound)?)
            }
        };
        let closed = if goal == Goal::Frontier { found.closed } else { proven };
        plans.push(Plan { landed, mass, choices: choices(compiled, &found.offers), proven: closed || proven, bound, gap });
    }
    let shown = outcome.plans.last().map(|f| f.offers.clone()).unwrap_or_default();
    let landed = cost_rows(compiled.book, &compiled.plan_rows(&shown), compiled.desk)?;
    let total = landed.totals.landed()?;
    if let Some(last) = outcome.plans.last() {
        agree(compiled, last.cost, total, digits)?;
    }
    let build: Vec<&Part> = compiled.book.build().collect();
    let paid_for: Vec<&Part> = compiled.book.paid_for().collect();
    let build_mass = build.iter().filter(|row| on_the_bike(row, compiled.desk)).filter_map(|row| row.total_mass());
    let build_mass = Grams::total(build_mass)?;
    let amount = |c: &(i64, i64, i64)| {
        let least = compiled.amount(c.2.max(0) + compiled.sure_cost);
        (compiled.amount(c.0.min(i64::MAX / 8) + compiled.sure_cost), Grams(Dec::new(c.1 + compiled.sure_mass, 1)), least)
    };
    let sought = match goal {
        Goal::Cheapest(_) => Sought::Cheapest,
        Goal::Lightest(_) => Sought::Lightest,
        Goal::Frontier => Sought::Frontier,
    };
    Ok(Plans {
        sought,
        plans,
        stopped: outcome.stopped,
        open: outcome.open.iter().map(amount).collect(),
        build: landed_rows(compiled.book, &paid_for, compiled.desk).ok().map(|l| (l, build_mass)),
        changes: changes(compiled, &shown),
        whys: whys(compiled, &shown, &landed)?,
        crossed: crossed(&landed),
        cautions: landed.cautions.clone(),
        landed: Some(landed),
        left_out: compiled.pool.left_out.clone(),
        offers: compiled.model.offers.len(),
        places: compiled.model.places,
    })
}

/// The plan costed again by the whole engine must agree to the penny.
fn agree(compiled: &Compiled<'_>, cost: i64, landed: Dec, digits: u32) -> Result<(), Problems> {
    let searched = compiled.amount(cost + compiled.sure_cost);
    if searched.round_to(digits, Mode::HalfUp) == landed.round_to(digits, Mode::HalfUp) {
        return Ok(());
    }
    Err(one(format!(
        "the plan was searched at {} and lands at {}: the two sums must agree, so nothing is proposed",
        searched.fixed(digits),
        landed.fixed(digits)
    )))
}

fn choices(compiled: &Compiled<'_>, offers: &[u32]) -> Vec<Choice> {
    let chosen = offers.iter().map(|o| compiled.pool.bids[*o as usize].row);
    let on = |row: &&Part| on_the_bike(row, compiled.desk);
    let mut all: Vec<Choice> = compiled
        .pool
        .settled
        .iter()
        .copied()
        .chain(chosen)
        .filter(on)
        .map(|row| Choice { place: row.places.join(" + "), part: row.name.clone(), seller: who(row).1 })
        .collect();
    all.sort_by(|a, b| (&a.place, &a.part).cmp(&(&b.place, &b.part)));
    all
}
