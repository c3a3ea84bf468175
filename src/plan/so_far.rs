//! How far a search is: the best plan known, and how much better another can be by the bound of a slope.

use super::dual::Slope;
use super::gap::Target;
use super::model::NO_LIMIT;
use super::pareto::ParetoFront;
use super::watch::{Better, Progress};

/// What is known of a target by now, seen from a slope.
pub(super) fn so_far(target: Target, stair: &ParetoFront, slope: &Slope) -> Progress {
    let best = target.best(stair).map(|found| (found.cost, found.mass));
    let least = target.least(slope);
    let bounded = best.filter(|_| least > 0);
    let better = bounded.and_then(|(cost, mass)| match target {
        // without a limit only a slope at which mass is worth nothing says something of the cost
        Target::Cheaper(most) if most < NO_LIMIT || slope.prices.mass == 0 => {
            Some(Better::Cheaper((cost - least).max(0)))
        }
        Target::Lighter(_) => Some(Better::Lighter((mass - least).max(0))),
        Target::Cheaper(_) | Target::Below(..) => None,
    });
    Progress {
        found: stair.steps.len(),
        closed: stair.steps.iter().filter(|step| step.closed).count(),
        best,
        better,
    }
}
