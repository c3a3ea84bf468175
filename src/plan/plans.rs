//! Plans of a book: the question, what was found, and why a dearer part was taken.

use super::why::{Crossed, Why, crossed, who, whys};

use super::apart::sent_apart;
use super::book::Compiled;
use super::changes::{Change, changes};
use super::foresee::{foresee, in_the_way};
use super::goal::{Goal, search};
use super::limits::{NoPlan, missed, nearest, settled_clash};
use super::mass::Masses;
use super::model::{LARGEST, Model, PackageCost};
use super::pool::{Bare, Pool, Wishes};
use super::refusal::refused;
use super::search::Outcome;
use super::watch::{Better, Progress, SoFar, Stopped, Watch};
use crate::book::{Book, Part};
use crate::landed::{
    Bill, Caution, Cautions, Jurisdiction, Landed, cost_at, cost_rows, landed_rows, on_the_bike,
    refuse_large,
};
use crate::text::{Diagnostic, Problems, words};
use crate::units::{Basis, Dec, Grams, Mode};
use crate::value::scale::OnScale;

/// One part at its places.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// The places, joined as in a book.
    pub(crate) place: String,
    /// The part.
    pub part: String,
    /// Who sells it; empty for what is there already.
    pub(crate) seller: String,
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
    /// Those of them that were chosen from several offers, tools among them.
    pub(crate) taken: Vec<Choice>,
    /// The rows that it pays for or puts on the bike, by their numbers, each with the label of its parcel.
    pub(crate) rows: Vec<(usize, String)>,
    /// Nothing better exists.
    pub proven: bool,
    /// No plan for this question lands at less, or weighs less when the lightest is sought.
    /// Of a point of a frontier: no plan as light lands at less.
    pub(crate) bound: Dec,
    /// How far the plan is above the bound.
    pub(crate) gap: Dec,
}

/// What was looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sought {
    /// The cheapest, under a mass where one is given.
    Cheapest,
    /// The lightest under a budget.
    Lightest,
    /// All plans that no other beats in both.
    Frontier,
}

impl Sought {
    /// Its word in the outputs.
    pub(crate) fn name(self) -> &'static str {
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
    pub(crate) sought: Sought,
    /// The plans: one, or the frontier by ascending mass.
    pub plans: Vec<Plan>,
    /// Why it stopped.
    pub stopped: Stopped,
    /// Corners of an unfinished frontier: cost and mass below which nothing is proven yet, and the least cost there. The cost
    /// is none where no plan so light is known.
    pub open: Vec<(Option<Dec>, Grams, Dec)>,
    /// Points of a frontier that are over the budget or the mass limit, and are not among the plans.
    pub outside: usize,
    /// What the build lands at as it stands, when it can be calculated, and what it weighs.
    pub build: Option<(Dec, Grams)>,
    /// The whole bike on the scale, which the masses of plans start from; none when it was not weighed.
    pub scale: Option<OnScale>,
    /// What the plan changes; for a frontier, its cheapest point.
    pub changes: Vec<Change>,
    /// Why dearer offers were taken.
    pub(crate) whys: Vec<Why>,
    /// Limits that parcels cross.
    pub(crate) crossed: Vec<Crossed>,
    /// The bill of the plan.
    pub landed: Option<Landed>,
    /// Rows that are no offers, with the reason.
    pub left_out: Vec<(String, String)>,
    /// Places that the build leaves empty and for which nothing is offered: neither money nor grams are counted for them.
    pub unfilled: Vec<String>,
    /// What must be said.
    pub cautions: Vec<Caution>,
    /// How many offers and places there were to choose from.
    pub(crate) offers: usize,
    /// Places with a choice.
    pub(crate) places: usize,
    /// The basis that masses are told on.
    pub(crate) basis: Basis,
}

/// Either plans, or the smallest reason why there is none.
#[derive(Debug)]
pub enum Planned {
    /// There is at least one.
    Found(Box<Plans>),
    /// There is none.
    Nothing(Box<NoPlan>),
}

/// Plans a book. What is offered by a seller with a parcel on its way travels in a parcel of its own.
pub fn plan(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    wishes: &Wishes,
    watch: &dyn Watch,
) -> Result<Planned, Problems> {
    check_wishes(book, wishes)?;
    refuse_large(book, jurisdiction)?;
    let planned = planned(&sent_apart(book), jurisdiction, wishes, watch)?;
    if let Planned::Nothing(_) = planned {
        // That there is no plan is an answer about a sound book: what `cost` refuses is refused before it.
        cost_at(book, jurisdiction)?;
    }
    Ok(planned)
}

fn planned(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    wishes: &Wishes,
    watch: &dyn Watch,
) -> Result<Planned, Problems> {
    let mut cautions = Cautions::default();
    let masses = Masses::look(book, jurisdiction, &mut cautions)?;
    let pool = match Pool::open(book, jurisdiction, wishes, masses) {
        Ok(pool) => pool,
        Err(bare) => return Ok(Planned::Nothing(NoPlan::because(no_choice(bare)))),
    };
    if let Some(clash) = settled_clash(&pool, jurisdiction) {
        return Ok(Planned::Nothing(NoPlan::because(clash)));
    }
    let compiled = Compiled::new(pool, book, jurisdiction, wishes.max_sellers, watch)?;
    foresee(&compiled)?;
    if let Some(most) = wishes
        .max_sellers
        .filter(|most| compiled.firm().len() > *most)
    {
        let reason = more_sellers(&compiled, most);
        return Ok(Planned::Nothing(NoPlan::because(reason)));
    }
    let goal = goal(&compiled, wishes);
    let telling = Telling {
        watch,
        compiled: &compiled,
        goal,
    };
    let outcome =
        search(&compiled.model, &compiled, goal, &telling).map_err(|why| refused(&why))?;
    if let Some(refusal) = compiled.refusal() {
        return Err(refusal);
    }
    if let Some(reason) = missed(&compiled, goal, &outcome) {
        let notes = in_the_way(&compiled)?;
        let reason = notes.iter().fold(reason, Diagnostic::note);
        let none = nearest(&compiled, reason, &telling)?;
        return Ok(Planned::Nothing(Box::new(none)));
    }
    let allowed = |at: &usize| {
        goal != Goal::Frontier || compiled.allows(outcome.plans[*at].cost, outcome.plans[*at].mass)
    };
    let within: Vec<usize> = (0..outcome.plans.len()).filter(allowed).collect();
    report(&compiled, goal, &outcome, &within, cautions)
        .map(|plans| Planned::Found(Box::new(plans)))
}

/// Shows a book's choice as the search gets it: the model, what its packages cost, and what is sought. With it another way of solving
/// the choice can be tried on the same figures. A book without any choice is refused here, with its reason.
pub fn look_at<T>(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    wishes: &Wishes,
    watch: &dyn Watch,
    look: impl FnOnce(&Model, &dyn PackageCost, Goal) -> T,
) -> Result<T, Problems> {
    check_wishes(book, wishes)?;
    refuse_large(book, jurisdiction)?;
    let book = &sent_apart(book);
    let masses = Masses::look(book, jurisdiction, &mut Cautions::default())?;
    let pool = Pool::open(book, jurisdiction, wishes, masses)
        .map_err(|bare| Problems::from(no_choice(bare)))?;
    let compiled = Compiled::new(pool, book, jurisdiction, wishes.max_sellers, watch)?;
    foresee(&compiled)?;
    let seen = look(&compiled.model, &compiled, goal(&compiled, wishes));
    compiled.refusal().map_or(Ok(seen), Err)
}

/// Why the rows of a book leave nothing to choose from.
fn no_choice(bare: Bare) -> Diagnostic {
    match bare {
        Bare::Places(places) => bare_places(&places),
        Bare::Kept(part, why) => {
            let what = format!("no plan: `{part}` is to be kept, but {why}");
            Diagnostic::error(what)
        }
    }
}

/// What is ordered in any case comes from more sellers than are allowed.
fn more_sellers(compiled: &Compiled<'_>, most: usize) -> Diagnostic {
    let firm: Vec<String> = compiled.firm().into_iter().collect();
    let what = format!(
        "no plan with {}: parts without another offer are ordered from {}",
        words::count(most, "seller", "sellers"),
        words::list(&firm, "and")
    );
    Diagnostic::error(what)
}

/// Passes on what the search tells, in the book's own units.
struct Telling<'a> {
    watch: &'a dyn Watch,
    compiled: &'a Compiled<'a>,
    goal: Goal,
}

impl Watch for Telling<'_> {
    fn stop(&self) -> Option<Stopped> {
        self.watch.stop()
    }

    fn progress(&self, so_far: Progress) {
        let all = self.compiled;
        let frontier = self.goal == Goal::Frontier;
        let best = so_far
            .best
            .map(|(cost, mass)| (all.landed_at(cost), all.mass_at(mass)));
        let better = so_far.better.filter(|_| !frontier);
        self.watch.so_far(SoFar {
            found: so_far.found,
            closed: so_far.closed,
            best,
            currency: all.jurisdiction.currency(),
            better: better.map(|better| match better {
                Better::Cheaper(cost) => Better::Cheaper(all.amount(cost)),
                Better::Lighter(mass) => Better::Lighter(Grams(Dec::new(mass, 1))),
            }),
            frontier,
        });
    }
}

fn check_wishes(book: &Book, wishes: &Wishes) -> Result<(), Problems> {
    let mut problems = Problems::new();
    let parts: Vec<&str> = book.parts.iter().map(|row| row.name.as_str()).collect();
    let sellers: Vec<&str> = book.sellers.keys().map(String::as_str).collect();
    for (flag, typed, known) in wishes
        .keep
        .iter()
        .map(|t| ("--keep", t, &parts))
        .chain(wishes.without.iter().map(|t| ("--without", t, &sellers)))
    {
        if !known.contains(&typed.as_str()) {
            let problem = Diagnostic::error(format!("`{flag} {typed}`: the book has no such name"));
            problems.push(match words::nearest(typed, known.iter().copied()) {
                Some(near) => problem.help(format!("did you mean `{near}`?")),
                None => problem,
            });
        }
    }
    if problems.is_empty() {
        Ok(())
    } else {
        Err(problems)
    }
}

fn goal(compiled: &Compiled<'_>, wishes: &Wishes) -> Goal {
    let ask = compiled.jurisdiction.ask;
    if wishes.frontier {
        return Goal::Frontier;
    }
    match (ask.max_mass, ask.budget) {
        (Some(mass), _) if !(wishes.lightest && ask.budget.is_some()) => {
            Goal::Cheapest(Some(compiled.mass_within(mass)))
        }
        (_, Some(budget)) => Goal::Lightest(compiled.cost_within(budget)),
        (_, None) => Goal::Cheapest(None),
    }
}

/// Places that nothing fills, the first of them by name.
fn bare_places(places: &[String]) -> Diagnostic {
    let quoted: Vec<String> = places.iter().map(|place| format!("`{place}`")).collect();
    let Some((first, others)) = quoted.split_first() else {
        return Diagnostic::error("no plan: a place has no fitting offer");
    };
    let more = match others {
        [] => String::new(),
        [other] => format!("; nor has {other}"),
        others => format!("; nor have {}", words::few(others)),
    };
    Diagnostic::error(format!(
        "no plan: the place {first} has no fitting offer{more}"
    ))
    .help("add rows for it to `parts.csv`; a part in hand fills its place too")
}

/// A plan that was found, with its bill calculated by the engine, and how far it is from what was proven.
pub(super) fn one_plan(
    compiled: &Compiled<'_>,
    goal: Goal,
    outcome: &Outcome,
    at: usize,
) -> Result<Plan, Problems> {
    let found = &outcome.plans[at];
    let rows = compiled.plan_rows(&found.offers);
    let landed = landed_rows(compiled.book, &rows, compiled.jurisdiction)?;
    let mass = compiled.mass_at(found.mass);
    agree(compiled, found.cost, landed)?;
    let lightest = matches!(goal, Goal::Lightest(_));
    let own = if lightest { mass.0 } else { landed };
    let bound = match goal {
        _ if outcome.stopped == Stopped::Proven => None,
        Goal::Frontier => outcome.least_at(at).map(|cost| compiled.landed_at(cost)),
        Goal::Lightest(_) => Some(compiled.mass_at(outcome.bound.max(0)).0),
        Goal::Cheapest(_) => Some(compiled.landed_at(outcome.bound.max(0))),
    };
    let proven = bound.is_none();
    let bound = bound.unwrap_or(own);
    Ok(Plan {
        landed,
        mass,
        choices: choices(compiled, &found.offers),
        taken: taken(compiled, &found.offers),
        rows: on_it(compiled, &found.offers),
        proven,
        bound,
        gap: own.minus(bound)?,
    })
}

fn report(
    compiled: &Compiled<'_>,
    goal: Goal,
    outcome: &Outcome,
    within: &[usize],
    mut cautions: Cautions,
) -> Result<Plans, Problems> {
    let plans = within
        .iter()
        .map(|at| one_plan(compiled, goal, outcome, *at))
        .collect::<Result<Vec<Plan>, Problems>>()?;
    let last = within.last().and_then(|at| outcome.plans.get(*at));
    let shown = last.map(|f| f.offers.clone()).unwrap_or_default();
    let landed = cost_rows(
        compiled.book,
        &compiled.plan_rows(&shown),
        compiled.jurisdiction,
    )?;
    let total = landed.totals.landed()?;
    if let Some(last) = last {
        agree(compiled, last.cost, total.amount())?;
    }
    cautions.extend(landed.cautions.clone());
    compiled.say_not_together(&mut cautions);
    let build = of_build(compiled)?;
    let bills = (build.as_ref()).map(|(_, bills)| [bills.as_slice(), landed.bills.as_slice()]);
    let changes = changes(compiled, &shown, bills)?;
    let scale = compiled.pool.masses.scale.clone();
    let amount = |c: &(i64, i64, i64)| {
        let least = compiled.landed_at(c.2.max(0));
        let cost = (c.0 <= LARGEST).then(|| compiled.landed_at(c.0));
        (cost, compiled.mass_at(c.1), least)
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
        open: within_limits(
            outcome.open.iter().map(amount).collect(),
            compiled.jurisdiction,
        ),
        outside: outcome.plans.len() - within.len(),
        build: build.map(|(whole, _)| whole),
        changes,
        whys: whys(compiled, &shown, &landed)?,
        crossed: crossed(&landed),
        cautions: cautions.into_list(),
        scale,
        landed: Some(landed),
        left_out: compiled.pool.left_out.clone(),
        unfilled: compiled.pool.unfilled.clone(),
        offers: compiled.model.offers.len(),
        places: compiled.model.places,
        basis: compiled.jurisdiction.ask.basis,
    })
}

/// What the build lands at as it stands and what it weighs, with its bills; none where it has no sum.
pub(super) fn of_build(compiled: &Compiled<'_>) -> Result<Option<OfBuild>, Problems> {
    let (book, jurisdiction) = (compiled.book, compiled.jurisdiction);
    let paid_for: Vec<&Part> = book.paid_for().collect();
    let mass = compiled.pool.masses.build(book, jurisdiction)?;
    let Ok(landed) = landed_rows(book, &paid_for, jurisdiction) else {
        return Ok(None);
    };
    Ok(Some(((landed, mass), compiled.bills(&paid_for)?)))
}

/// What a build lands at and weighs, and its bills.
type OfBuild = ((Dec, Grams), Vec<Bill>);

/// Open corners as far as they are within the budget and the mass limit. Of those that reach over the budget the last holds all
/// that is open under it, of those that reach over the mass limit the first: they end at the limit, the others go.
fn within_limits(
    corners: Vec<(Option<Dec>, Grams, Dec)>,
    jurisdiction: &Jurisdiction<'_>,
) -> Vec<(Option<Dec>, Grams, Dec)> {
    let (budget, limit) = (jurisdiction.ask.budget, jurisdiction.ask.max_mass);
    let dear =
        |cost: Option<Dec>| budget.is_some_and(|budget| cost.is_none_or(|cost| cost > budget));
    let heavy = |mass: Grams| limit.is_some_and(|limit| mass > limit);
    let possible =
        |corner: &(Option<Dec>, Grams, Dec)| budget.is_none_or(|budget| corner.2 <= budget);
    let mut kept: Vec<(Option<Dec>, Grams, Dec)> = Vec::new();
    for (cost, mass, least) in corners.into_iter().filter(possible) {
        if kept
            .last()
            .is_some_and(|(_, before, _)| limit.is_some_and(|limit| *before >= limit))
        {
            break;
        }
        if kept
            .last()
            .is_some_and(|(before, ..)| before.is_none_or(|before| Some(before) == budget))
            && dear(cost)
        {
            kept.pop();
        }
        let mass = limit.filter(|_| heavy(mass)).unwrap_or(mass);
        kept.push((
            if dear(cost) { cost.and(budget) } else { cost },
            mass,
            least,
        ));
    }
    kept
}

/// The plan costed again by the whole engine must agree to the penny.
fn agree(compiled: &Compiled<'_>, cost: i64, landed: Dec) -> Result<(), Problems> {
    let digits = compiled.jurisdiction.currency().digits();
    let searched = compiled.landed_at(cost);
    if searched.round_to(digits, Mode::HalfUp) == landed.round_to(digits, Mode::HalfUp) {
        return Ok(());
    }
    Err(refused(&format!(
        "the plan was searched at {} and lands at {}: the two sums must agree, so nothing is proposed",
        searched.fixed(digits),
        landed.fixed(digits)
    )))
}

fn choices(compiled: &Compiled<'_>, offers: &[u32]) -> Vec<Choice> {
    let chosen = offers.iter().map(|o| compiled.pool.bids[*o as usize].row);
    let on = |row: &&Part| on_the_bike(row, compiled.jurisdiction);
    let settled = compiled.pool.settled.iter().copied();
    told(settled.chain(chosen).filter(on))
}

/// The rows that are settled and those that are chosen, with the labels of their parcels.
fn on_it(compiled: &Compiled<'_>, offers: &[u32]) -> Vec<(usize, String)> {
    let chosen = offers.iter().map(|o| compiled.pool.bids[*o as usize].row);
    let settled = compiled.pool.settled.iter().copied();
    let told = |row: &Part| (row.at.number(), row.parcel.clone());
    settled.chain(chosen).map(told).collect()
}

fn taken(compiled: &Compiled<'_>, offers: &[u32]) -> Vec<Choice> {
    told(offers.iter().map(|o| compiled.pool.bids[*o as usize].row))
}

fn told<'r>(rows: impl Iterator<Item = &'r Part>) -> Vec<Choice> {
    let choice = |row: &Part| Choice {
        place: row.places.join(" + "),
        part: row.name.clone(),
        seller: who(row).1,
    };
    let mut all: Vec<Choice> = rows.map(choice).collect();
    all.sort_by(|a, b| (&a.place, &a.part).cmp(&(&b.place, &b.part)));
    all
}
