//! The frontier of `plan` as a table: each point with its proof, and what changes from the point before.

use super::difference::signed;
use super::plan_changes::{Side, words};
use super::show::Show;
use super::view::{Cell, Grid};
use crate::plan::{Choice, Plan, Plans};
use crate::units::{Grams, Overflow};

/// Points that a terminal shows at most.
const MOST: usize = 24;

/// What is at a place in one point and in the next.
pub(super) struct Step {
    /// The place.
    pub(super) place: String,
    /// What is there in the point before.
    pub(super) before: Side,
    /// What is there in this one.
    pub(super) after: Side,
}

/// All points; a terminal shows some of a long frontier, with the changes between those.
pub(super) fn points(plans: &Plans, show: &Show) -> Result<Grid, Overflow> {
    let mut grid = table(&plans.plans.iter().collect::<Vec<_>>(), show)?;
    let step = plans.plans.len().div_ceil(MOST).max(1);
    if step > 1 {
        let last = plans.plans.len() - 1;
        let some = (plans.plans.iter().enumerate())
            .filter(|(at, _)| at % step == 0 || *at == last)
            .map(|(_, plan)| plan);
        grid.on_screen = Some(Box::new(table(&some.collect::<Vec<_>>(), show)?));
    }
    Ok(grid)
}

fn table(plans: &[&Plan], show: &Show) -> Result<Grid, Overflow> {
    let landed = format!("lands at {}", show.currency);
    let less = format!("{} less", show.currency);
    let heads = ["mass g", &landed, "g more", &less, "what changes", "proof"];
    let mut grid = Grid::new("frontier", &heads);
    for (at, plan) in plans.iter().enumerate() {
        let before = at.checked_sub(1).map(|before| plans[before]);
        let figures = [plan.mass.to_string(), show.amount(plan.landed)].map(Cell::number);
        let moved = match before {
            Some(before) => moved(before, plan, show)?,
            None => [Cell::Empty, Cell::Empty],
        };
        let words = [told(before, plan), proof(plan, show)].map(Cell::text);
        grid.rows
            .push(figures.into_iter().chain(moved).chain(words).collect());
    }
    Ok(grid)
}

/// The grams more and the money less of a point against the one before.
fn moved(before: &Plan, plan: &Plan, show: &Show) -> Result<[Cell; 2], Overflow> {
    let grams: Grams = plan.mass.minus(before.mass)?;
    let less = show.difference(before.landed, plan.landed)?;
    Ok([
        Cell::number(signed(&grams.to_string()).replace('+', "")),
        Cell::number(show.as_it_is().amount(less)),
    ])
}

/// Whether a point is proven, else by how much a plan as light may be cheaper.
fn proof(plan: &Plan, show: &Show) -> String {
    if plan.proven {
        "proven".to_owned()
    } else {
        format!("at most {} less", show.amount(plan.gap))
    }
}

/// What changes from one point to the next, in words; before the first there is none.
pub(super) fn told(before: Option<&Plan>, plan: &Plan) -> String {
    let Some(before) = before else {
        return "the lightest".to_owned();
    };
    let told = |step: &Step| words(&step.before, &step.after);
    let all: Vec<String> = steps(before, plan).iter().map(told).collect();
    all.join("; ")
}

/// What changes from one point to the next: what comes with what goes from the same places.
pub(super) fn steps(before: &Plan, plan: &Plan) -> Vec<Step> {
    let (gone, come) = (
        only(&before.taken, &plan.taken),
        only(&plan.taken, &before.taken),
    );
    let places = |choice: &Choice| -> Vec<String> {
        let all = choice.place.split(" + ").map(str::to_owned);
        all.collect()
    };
    let shares = |one: &Choice, other: &Choice| {
        let there = places(other);
        places(one).iter().any(|place| there.contains(place))
    };
    let side = |choice: &Choice| (choice.part.clone(), choice.seller.clone());
    let mut left: Vec<&Choice> = gone.clone();
    let mut found: Vec<Step> = Vec::new();
    for new in &come {
        let at = left.iter().position(|old| shares(new, old));
        let old = at.map(|at| left.remove(at));
        // one part may come for two, and two for one
        let old = old.or_else(|| gone.iter().copied().find(|old| shares(new, old)));
        found.push(Step {
            place: new.place.clone(),
            before: old.map(side),
            after: Some(side(new)),
        });
    }
    let goes = |old: &&Choice| Step {
        place: old.place.clone(),
        before: Some(side(old)),
        after: (come.iter().find(|new| shares(new, old))).map(|new| side(new)),
    };
    found.extend(left.iter().map(goes));
    found
}

/// The choices of one point that another does not have, each as often as it has it more.
fn only<'p>(here: &'p [Choice], there: &[Choice]) -> Vec<&'p Choice> {
    let mut others: Vec<&Choice> = there.iter().collect();
    let mut found = Vec::new();
    for choice in here {
        match others.iter().position(|other| *other == choice) {
            Some(at) => drop(others.swap_remove(at)),
            None => found.push(choice),
        }
    }
    found
}
