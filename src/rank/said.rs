//! What stands beside a ranking: what its grams are worth on a climb, and what must be said of it.

use std::collections::BTreeSet;

use super::ranking::Ranking;
use crate::estimate::{Climb, climb};
use crate::landed::{Ask, Cautions, Desk};
use crate::units::Grams;
use crate::value::basis::racing_minimum;

/// Slopes that a climb is shown for, out of a hundred.
const GRADES: [u32; 2] = [5, 8];

/// What a kilogram, and all that a ladder saves, are worth on a climb; nothing of a bike that is not whole.
pub(super) fn climbs(ranking: &Ranking, ask: &Ask, fewer: Grams) -> Vec<Climb> {
    let bike = ranking.mass;
    let rider = ask
        .rider_kg
        .zip(ask.rider_watts)
        .filter(|_| bike.0.is_positive() && ranking.empty.is_empty());
    rider.map_or(Vec::new(), |(kg, watts)| {
        GRADES
            .iter()
            .map(|grade| climb(*grade, kg, bike, watts, fewer))
            .collect()
    })
}

/// Says what nobody has told, and where the ladder ends under the least that may be raced.
pub(super) fn say(ranking: &Ranking, desk: &Desk<'_>, cautions: &mut Cautions) {
    let unknown: BTreeSet<&str> = ranking
        .options
        .iter()
        .flat_map(|o| o.resale_unknown.iter().map(String::as_str))
        .collect();
    let unknown: Vec<&str> = unknown.into_iter().collect();
    if !unknown.is_empty() {
        cautions.say(
            "resale-unknown",
            "nobody has said what these replaced parts would fetch: nothing is taken off for them",
            &unknown,
        );
    }
    let end = ranking
        .ladder
        .rungs
        .last()
        .map_or(ranking.mass, |rung| rung.mass);
    if let Some((least, row)) = racing_minimum(desk.ask.basis, desk)
        && end < least
        && !ranking.ladder.rungs.is_empty()
        && ranking.empty.is_empty()
    {
        cautions.say(
            "racing-minimum",
            format!(
                "the ladder ends under {least} g, {}: what is saved below it is lost to ballast",
                row.text
            ),
            &[],
        );
    }
}
