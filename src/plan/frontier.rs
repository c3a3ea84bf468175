//! The whole frontier: bounds at the slopes of the hull, the staircase filled from its own neighbourhood, then corner by
//! corner, small gaps first, at the slope that needs the least.

use super::dual::{Climb, Slope};
use super::gap::Target;
use super::model::{NO_LIMIT, UNIT};
use super::offers::Offers;
use super::search::{Closed, Outcome, Search};
use super::split::parts;

/// Prices at slopes along the frontier, from the steepest to none.
pub(super) fn slopes(search: &mut Search<'_>) -> Vec<Slope> {
    let mut found: Vec<Slope> = Vec::new();
    let mut prices = search.opening(1, 0);
    let top = search.steepest();
    // a coarse sweep, to know the hull
    let mut mass = 0;
    while mass < top && (found.is_empty() || !search.is_over()) {
        prices.mass = mass;
        let mut climb = Climb::new(prices.clone());
        search.climb(&mut climb, 40, 8);
        prices = climb.best.prices.clone();
        found.push(climb.best);
        mass = if mass == 0 { UNIT / 8 } else { mass * 2 };
    }
    lightest(search, &mut found);
    spread(search);
    for _ in 0..2 {
        refine(search, &mut found);
        spread(search);
    }
    found.sort_by_key(|s| (s.prices.cost == 0, s.prices.mass));
    found
}

/// Only mass counts.
fn lightest(search: &mut Search<'_>, found: &mut Vec<Slope>) {
    let mut climb = Climb::new(search.opening(0, UNIT));
    search.climb(&mut climb, 60, 10);
    found.push(climb.best);
}

/// Prices at the slopes of the hull known so far, from the nearest ones.
fn refine(search: &mut Search<'_>, found: &mut Vec<Slope>) {
    let hull = search.hull();
    let mut wanted: Vec<i64> = Vec::new();
    for pair in hull.windows(2) {
        let (a, b) = (&search.stair.steps[pair[0]], &search.stair.steps[pair[1]]);
        wanted.push((a.cost - b.cost) * UNIT / (b.mass - a.mass).max(1));
    }
    wanted.push(0);
    wanted.sort_unstable();
    wanted.dedup_by(|a, b| *a - *b < *b / 24);
    for mass in wanted {
        if search.is_over() {
            return;
        }
        let near = found
            .iter()
            .filter(|s| s.prices.cost == 1)
            .min_by_key(|s| (s.prices.mass - mass).abs());
        let prices = near.map_or_else(|| search.opening(1, mass), |s| s.prices.at(mass));
        let mut climb = Climb::new(prices);
        search.climb(&mut climb, 120, 10);
        found.push(climb.best);
    }
}

/// Searches the neighbourhood of every step of the staircase until nothing new comes.
fn spread(search: &mut Search<'_>) {
    loop {
        let Some(at) = search.stair.steps.iter().position(|s| !s.tried) else {
            return;
        };
        if search.watch.stop().is_some() {
            return;
        }
        search.stair.steps[at].tried = true;
        let offers = search.stair.steps[at].offers.clone();
        let prices = search.opening(1, UNIT);
        if let Some(draft) = super::repair::CandidatePlan::of(search.model, search.cost, &offers) {
            let offers = Offers {
                by_place: &search.by_place,
                sellers: &search.sellers,
                local: &search.local,
            };
            draft.spread(&prices, offers, &mut search.stair);
        }
    }
}

/// A stretch of corners with the slope that needs the least gap there.
#[derive(Debug, Clone, Copy)]
struct Stretch {
    gap: i64,
    slope: usize,
    from: i64,
    to: i64,
}

/// Closes all corners.
pub(super) fn close(search: &mut Search<'_>, slopes: Vec<Slope>) -> Result<Outcome, String> {
    if search.stair.steps.is_empty()
        && let Some(why) = search.look_for_any(Target::Below(0, 0))
    {
        return Ok(search.frontier_outcome(&slopes, Some(why)));
    }
    let cheapest = slopes
        .iter()
        .filter(|s| s.prices.cost == 1)
        .min_by_key(|s| s.prices.mass);
    let first = cheapest.map_or(Closed::Whole, |s| {
        search.close(&[s], Target::Cheaper(NO_LIMIT), u64::MAX)
    });
    if let Some(why) = first.why() {
        return Ok(search.frontier_outcome(&slopes, Some(why)));
    }
    loop {
        let stretches = stretches(search, &slopes);
        let Some(first) = stretches.first().copied() else {
            break;
        };
        search.tell(&slopes[first.slope]);
        let near = beside(&slopes, first.slope);
        let why = search
            .close(&near, Target::Below(first.from, first.to), u64::MAX)
            .why();
        if let Some(why) = why {
            return Ok(search.frontier_outcome(&slopes, Some(why)));
        }
        for step in &mut search.stair.steps {
            if step.mass > first.from && step.mass - 1 <= first.to && !step.closed {
                step.closed = true;
            }
        }
    }
    Ok(search.frontier_outcome(&slopes, None))
}

/// A slope with flatter and steeper ones beside it: what a partial plan has of mass shows best at other slopes.
fn beside(slopes: &[Slope], at: usize) -> Vec<&Slope> {
    let mut near = vec![&slopes[at]];
    let here = near[0].prices.mass;
    if near[0].prices.cost == 0 {
        return near;
    }
    for percent in [125, 220] {
        let flat = slopes[..at]
            .iter()
            .rfind(|s| s.prices.cost == 1 && s.prices.mass / 100 * percent < here);
        let steep = slopes[at + 1..]
            .iter()
            .find(|s| s.prices.cost == 1 && s.prices.mass > here / 100 * percent);
        near.extend(flat.into_iter().chain(steep));
    }
    near
}

/// Open corners, joined where neighbours go to one slope; those that the bounds close are marked. Small gaps first.
fn stretches(search: &mut Search<'_>, slopes: &[Slope]) -> Vec<Stretch> {
    let mut found: Vec<Stretch> = Vec::new();
    let mut last_open = false;
    for at in 0..search.stair.steps.len() {
        if search.stair.steps[at].closed {
            last_open = false;
            continue;
        }
        let corner = search.stair.corner(at, search.dearest);
        let suits = |s: &&Slope| (s.prices.cost == 0) == (at == 0);
        let needs = slopes
            .iter()
            .enumerate()
            .filter(|(_, s)| suits(s))
            .map(|(k, s)| (s.gap(corner), k))
            .min();
        let Some((gap, slope)) = needs else { continue };
        if gap < 0 {
            search.stair.steps[at].closed = true;
            last_open = false;
            continue;
        }
        let from = at
            .checked_sub(1)
            .map_or(i64::MIN / 4, |left| search.stair.steps[left].mass);
        match found.last_mut().filter(|l| last_open && l.slope == slope) {
            Some(last) => {
                last.to = corner.mass;
                last.gap = last.gap.max(gap);
            }
            None => found.push(Stretch {
                gap,
                slope,
                from,
                to: corner.mass,
            }),
        }
        last_open = true;
    }
    found.sort_by_key(|s| (s.gap, s.from));
    found
}

/// The whole frontier.
pub(super) fn whole(search: &mut Search<'_>) -> Result<Outcome, String> {
    let slopes = slopes(search);
    let Some(parts) = parts(search.model, search.cost) else {
        return close(search, slopes);
    };
    let stopped = search.in_parts(&parts, whole)?;
    if stopped.is_none() {
        search
            .stair
            .steps
            .iter_mut()
            .for_each(|step| step.closed = true);
    }
    Ok(search.frontier_outcome(&slopes, stopped))
}
