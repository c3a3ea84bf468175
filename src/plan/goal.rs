//! What a search looks for, and the one door to it.

use super::frontier;
use super::gap::Target;
use super::model::{Model, NO_LIMIT, PackageCost};
use super::search::{Outcome, Search};
use super::watch::Watch;

/// What is looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Goal {
    /// The cheapest plan, up to a mass if one is given; the lighter of equals.
    Cheapest(Option<i64>),
    /// The lightest plan up to a cost; the cheaper of equals.
    Lightest(i64),
    /// Every plan that no other beats in both.
    Frontier,
}

/// Looks for plans.
pub fn search(
    model: &Model,
    cost: &dyn PackageCost,
    goal: Goal,
    watch: &dyn Watch,
) -> Result<Outcome, String> {
    model.check()?;
    let mut search = Search::new(model, cost, watch);
    if search
        .by_place
        .iter()
        .enumerate()
        .any(|(p, offers)| model.required & 1 << p != 0 && offers.is_empty())
    {
        return Ok(search.nothing());
    }
    search.begin();
    match goal {
        Goal::Cheapest(most) => single(&mut search, Target::Cheaper(most.unwrap_or(NO_LIMIT))),
        Goal::Lightest(most) => single(&mut search, Target::Lighter(most)),
        Goal::Frontier => frontier::whole(&mut search),
    }
}

fn single(search: &mut Search<'_>, target: Target) -> Result<Outcome, String> {
    search.go_down(target);
    search.single(target)
}
