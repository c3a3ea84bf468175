//! How far a search is: the best plan known, and how much better another can be by the bound of a slope.

use super::dual::Slope;
use super::gap::Target;
use super::model::{NO_LIMIT, UNIT};
use super::pareto::ParetoFront;
use super::search::lowest;
use super::watch::{Better, Progress};

/// What is known of a target by now, seen from a slope.
pub(super) fn so_far(target: Target, stair: &ParetoFront, slope: &Slope) -> Progress {
    let best = match target {
        Target::Cheaper(most) => stair.cheapest(most),
        Target::Lighter(most) => stair.lightest(most),
        Target::Below(..) => stair.steps.last(),
    };
    let best = best.map(|found| (found.cost, found.mass));
    let prices = &slope.prices;
    let better = best.and_then(|(cost, mass)| match target {
        // without a limit only a slope at which mass is worth nothing says something of the cost
        Target::Cheaper(most) if most < NO_LIMIT || prices.mass == 0 => {
            let least = lowest(slope.bound, prices.mass, most, prices.cost * UNIT);
            (least > 0).then(|| Better::Cheaper((cost - least).max(0)))
        }
        Target::Lighter(most) => {
            let least = lowest(slope.bound, prices.cost * UNIT, most, prices.mass);
            (least > 0).then(|| Better::Lighter((mass - least).max(0)))
        }
        Target::Cheaper(_) | Target::Below(..) => None,
    });
    Progress {
        found: stair.steps.len(),
        closed: stair.steps.iter().filter(|step| step.closed).count(),
        best,
        better,
    }
}
