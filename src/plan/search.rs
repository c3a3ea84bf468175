//! The search as a recipe: slopes and prices, plans from repair, then the gap closed corner by corner.

use super::cover::Cover;
use super::dual::{Climb, Slope};
use super::gap::{Gaps, Target, corners};
use super::model::{Model, NO_LIMIT, PackageCost, UNIT, places};
use super::offers::{Offers, local_numbers};
use super::pareto::{Corner, Found, ParetoFront};
use super::places::Places;
use super::repair::CandidatePlan;
use super::seller::{Pack, Prices, Seller, held};
use super::so_far::so_far;
use super::split::{Part, Quiet, parts};
use super::watch::{Stopped, Watch};

/// What a search came to.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// The plans: one, or the points of the frontier by ascending mass.
    pub plans: Vec<Found>,
    /// Why it ended.
    pub stopped: Stopped,
    /// No plan that is sought costs less (or weighs less, for the lightest); of a frontier, none as light as its last. Without a
    /// plan it is the least of the field below, and zero when nothing goes together.
    pub bound: i64,
    /// Without a plan: the least mass (or cost) that can be had at all; none when nothing goes together. It is of the choice alone
    /// and may be zero, where nothing is left to choose.
    pub(crate) least: Option<i64>,
    /// Corners of the frontier that are still open: the largest cost and mass, and the least cost proven there.
    pub open: Vec<(i64, i64, i64)>,
    /// Steps of the closing search, for the curious.
    pub nodes: u64,
}

/// Packages that are listed at most before places are searched instead.
const ROOM: usize = 300_000;

/// Packages of one seller, likewise.
const ROOM_EACH: usize = 60_000;

/// Nodes after which a single search looks at more slopes.
const FEW: u64 = 1_200;

/// Steps of a climb from prices that are near the best.
const NEAR: usize = 60;

/// The same where places are searched: a node there costs more.
const FEW_PLACES: u64 = 300;

/// How a closing search ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Closed {
    /// Nothing is left to find.
    Whole,
    /// The search was stopped.
    Stopped(Stopped),
    /// It took more nodes than it was given.
    GaveUp,
}

impl Closed {
    fn of(stopped: Option<Stopped>) -> Closed {
        stopped.map_or(Closed::Whole, Closed::Stopped)
    }

    /// Why it stopped, if it did.
    pub(super) fn why(self) -> Option<Stopped> {
        match self {
            Closed::Whole => None,
            Closed::Stopped(why) => Some(why),
            Closed::GaveUp => Some(Stopped::TimeLimit),
        }
    }
}

pub(super) struct Search<'a> {
    pub(super) model: &'a Model,
    pub(super) cost: &'a dyn PackageCost,
    pub(super) watch: &'a dyn Watch,
    pub(super) sellers: Vec<Seller>,
    pub(super) by_place: Vec<Vec<u32>>,
    /// The number of each offer among its seller's.
    pub(super) local: Vec<usize>,
    pub(super) stair: ParetoFront,
    pub(super) dearest: i64,
    pub(super) nodes: u64,
    /// What is looked for.
    sought: Target,
}

impl<'a> Search<'a> {
    pub(super) fn new(
        model: &'a Model,
        cost: &'a dyn PackageCost,
        watch: &'a dyn Watch,
    ) -> Search<'a> {
        let mut by_place: Vec<Vec<u32>> = vec![Vec::new(); model.places];
        for (at, offer) in model.offers.iter().enumerate() {
            places(offer.places).for_each(|p| by_place[p].push(at as u32));
        }
        let mut order: Vec<usize> = (0..model.places).collect();
        let dear = |p: &usize| {
            by_place[*p]
                .iter()
                .map(|o| model.offers[*o as usize].goods)
                .max()
                .unwrap_or(0)
        };
        order.sort_by_key(|p| (std::cmp::Reverse(dear(p)), *p));
        let sellers: Vec<Seller> = (0..model.sellers)
            .map(|s| Seller::new(model, cost, watch, s, &order))
            .collect();
        Search {
            model,
            cost,
            watch,
            local: local_numbers(model, &sellers),
            sellers,
            by_place,
            stair: ParetoFront::default(),
            dearest: NO_LIMIT / UNIT / 8,
            nodes: 0,
            sought: Target::Below(0, NO_LIMIT),
        }
    }

    pub(super) fn nothing(&self) -> Outcome {
        Outcome {
            plans: Vec::new(),
            stopped: Stopped::Proven,
            bound: 0,
            least: None,
            open: Vec::new(),
            nodes: self.nodes,
        }
    }

    /// Climbs at fixed worths, repairing on the way.
    pub(super) fn climb(&mut self, climb: &mut Climb, steps: usize, every: usize) {
        for at in 0..steps {
            if climb.is_tired() || (at > 0 && self.watch.stop().is_some()) {
                return;
            }
            let target = match climb.limit {
                None => self.target(&climb.prices),
                Some(most) => self
                    .stair
                    .cheapest(most)
                    .map(|s| climb.prices.value(s.cost, most)),
            };
            let relaxed = climb.step(
                self.model,
                &mut self.sellers,
                self.cost,
                target.unwrap_or(climb.best.bound.max(UNIT)),
            );
            self.tell(&climb.best);
            if self.is_proven(&climb.best) {
                return;
            }
            if every > 0 && at % every == 0 || target.is_none() {
                let offers = Offers {
                    by_place: &self.by_place,
                    sellers: &self.sellers,
                    local: &self.local,
                };
                let mut draft = CandidatePlan::empty(self.model, self.cost);
                let repaired = draft.repair(&relaxed.least, &climb.prices, offers);
                if repaired.is_some() {
                    draft.descend(&climb.prices, offers, &mut self.stair);
                }
            }
        }
    }

    /// Whether it was stopped with a plan in hand.
    pub(super) fn is_over(&self) -> bool {
        !self.stair.steps.is_empty() && self.watch.stop().is_some()
    }

    /// Whether a bound leaves nothing better to be found.
    pub(super) fn is_proven(&self, slope: &Slope) -> bool {
        !matches!(self.sought, Target::Below(..))
            && self.sought.best(&self.stair).is_some()
            && corners(self.sought, &self.stair, self.dearest)
                .into_iter()
                .all(|corner| slope.gap(corner) < 0)
    }

    /// The least value of a known plan.
    pub(super) fn target(&self, prices: &Prices) -> Option<i64> {
        self.stair
            .steps
            .iter()
            .map(|s| prices.value(s.cost, s.mass))
            .min()
    }

    /// Prices to start from: each place at its cheapest additive offer.
    pub(super) fn opening(&self, cost: i64, mass: i64) -> Prices {
        let steepest = self.steepest();
        let mass = mass.min(steepest);
        let additive = |o: &u32| {
            let offer = &self.model.offers[*o as usize];
            let (least, grams) = (i128::from(self.share(*o)), i128::from(offer.mass));
            let value = held(
                i128::from(cost) * least + i128::from(mass) * grams,
                NO_LIMIT,
            );
            value / i64::from(offer.places.count_ones())
        };
        let place = (0..self.model.places).map(|p| {
            let least = self.by_place[p].iter().map(additive).min().unwrap_or(0);
            if self.model.required & 1 << p == 0 {
                0
            } else {
                least
            }
        });
        let mut prices = Prices {
            cost,
            mass,
            steepest,
            place: vec![0; self.model.places],
        };
        place
            .enumerate()
            .for_each(|(at, least)| prices.moved(at, i128::from(least)));
        prices
    }

    /// The best single plan: its worth of mass by bisection, then the gap closed.
    pub(super) fn single(&mut self, target: Target) -> Result<Outcome, String> {
        self.sought = target;
        let slope = self.best_slope(target);
        if target.best(&self.stair).is_none() {
            if let Some(why) = self.look_for_any(target) {
                return Ok(self.single_outcome(target, &slope, Some(why)));
            }
            if target.best(&self.stair).is_none() {
                let least = match target {
                    Target::Lighter(_) => self.stair.cheapest(NO_LIMIT).map(|s| s.cost),
                    _ => self.stair.steps.first().map(|s| s.mass),
                };
                return Ok(Outcome {
                    bound: least.unwrap_or(0),
                    least,
                    ..self.nothing()
                });
            }
        }
        let mut stopped = self.close(&[&slope], target, FEW);
        if stopped == Closed::GaveUp
            && let Some(parts) = parts(self.model, self.cost)
        {
            let stopped = self.in_parts(&parts, |search| search.single_near(target, &slope))?;
            return Ok(self.single_outcome(target, &slope, stopped));
        }
        if stopped == Closed::GaveUp {
            let beside = self.beside(&slope);
            let all: Vec<&Slope> = std::iter::once(&slope).chain(&beside).collect();
            stopped = self.close(&all, target, u64::MAX);
        }
        let stopped = stopped.why();
        Ok(self.single_outcome(target, &slope, stopped))
    }

    /// The best plan of a part: the prices of the whole are near its own, and mostly prove that nothing better is in it.
    fn single_near(&mut self, target: Target, whole: &Slope) -> Result<Outcome, String> {
        self.sought = target;
        if target.best(&self.stair).is_none() {
            return self.single(target);
        }
        let mut climb = Climb::new(whole.prices.clone());
        if let Target::Cheaper(most) = target
            && most < NO_LIMIT
        {
            climb.limit = Some(most);
        }
        self.climb(&mut climb, NEAR, 0);
        match self.close(&[&climb.best], target, FEW) {
            Closed::GaveUp => self.single(target),
            closed => Ok(self.single_outcome(target, &climb.best, closed.why())),
        }
    }

    /// Searches parts of the choice one after another, each with what is known of the others; why it stopped, if it did.
    pub(super) fn in_parts(
        &mut self,
        parts: &[Part<'_>],
        look: impl Fn(&mut Search<'_>) -> Result<Outcome, String>,
    ) -> Result<Option<Stopped>, String> {
        for part in parts {
            let quiet = Quiet(self.watch);
            let mut search = Search::new(&part.model, part, &quiet);
            search.stair.steps = self.stair.steps.iter().map(Found::elsewhere).collect();
            search.begin();
            let outcome = look(&mut search)?;
            self.nodes += search.nodes;
            for step in search
                .stair
                .steps
                .iter()
                .filter(|step| !step.offers.is_empty())
            {
                self.stair
                    .add(step.cost, step.mass, part.in_whole(&step.offers));
            }
            if outcome.stopped != Stopped::Proven {
                return Ok(Some(outcome.stopped));
            }
        }
        Ok(None)
    }

    /// The lightest plan of all, or the cheapest: whether there is one that the target allows.
    pub(super) fn look_for_any(&mut self, target: Target) -> Option<Stopped> {
        let mut climb = Climb::new(self.opening(0, UNIT));
        self.climb(&mut climb, 40, 10);
        let first = self
            .close(&[&climb.best], Target::Lighter(self.dearest), u64::MAX)
            .why();
        if first.is_some() || !matches!(target, Target::Lighter(_)) || self.stair.steps.is_empty() {
            return first;
        }
        let free = self.best_slope(Target::Cheaper(NO_LIMIT));
        self.close(&[&free], Target::Cheaper(NO_LIMIT), u64::MAX)
            .why()
    }

    fn single_outcome(&self, target: Target, slope: &Slope, stopped: Option<Stopped>) -> Outcome {
        let best = target.best(&self.stair);
        let bound = match (best, stopped, target) {
            (Some(best), None, Target::Lighter(_)) => best.mass,
            (Some(best), None, _) => best.cost,
            _ => target.least(slope),
        };
        let plans = best.cloned().into_iter().collect();
        Outcome {
            plans,
            stopped: stopped.unwrap_or(Stopped::Proven),
            bound,
            least: None,
            open: Vec::new(),
            nodes: self.nodes,
        }
    }

    /// Closes a target at some slopes, within a number of nodes.
    pub(super) fn close(&mut self, slopes: &[&Slope], target: Target, nodes: u64) -> Closed {
        let mut gaps = Gaps::new(slopes.to_vec(), target, &self.stair, self.dearest);
        let Some(first) = slopes.first().filter(|_| gaps.most(0) >= 0) else {
            return Closed::Whole;
        };
        let mut packs: Vec<Pack> = Vec::new();
        let mut fits = first.prices.cost != 0;
        for seller in &mut self.sellers {
            if !fits {
                break;
            }
            let most = first.least[seller.number] + gaps.most(0);
            fits = seller.list(self.cost, &first.prices, most, ROOM_EACH, &mut packs)
                && packs.len() < ROOM;
        }
        if fits {
            let mut cover = Cover::new(self.model, self.watch, slopes, &packs).within(nodes);
            let stopped = cover.run(&mut gaps, &mut self.stair);
            self.nodes += cover.nodes();
            return if cover.gave_up() {
                Closed::GaveUp
            } else {
                Closed::of(stopped)
            };
        }
        drop(packs);
        let mut over = Places::new(
            self.model,
            self.cost,
            self.watch,
            slopes.to_vec(),
            &self.sellers,
        )
        .within(if nodes == FEW { FEW_PLACES } else { nodes });
        let stopped = over.run(&mut gaps, &mut self.stair);
        self.nodes += over.nodes();
        if over.gave_up() {
            Closed::GaveUp
        } else {
            Closed::of(stopped)
        }
    }

    pub(super) fn frontier_outcome(&self, slopes: &[Slope], stopped: Option<Stopped>) -> Outcome {
        let all = corners(
            Target::Below(i64::MIN / 4, NO_LIMIT),
            &self.stair,
            self.dearest,
        );
        let open = all
            .into_iter()
            .map(|c| (c.cost, c.mass, proven_at(slopes, c)));
        // what costs less than the last point may be as heavy as it
        let last = self.stair.steps.last().map_or(0, |last| last.mass);
        let bound = proven_at(
            slopes,
            Corner {
                cost: 0,
                mass: last,
            },
        );
        Outcome {
            plans: self.stair.steps.clone(),
            stopped: stopped.unwrap_or(Stopped::Proven),
            bound,
            least: None,
            open: if stopped.is_some() {
                open.collect()
            } else {
                Vec::new()
            },
            nodes: self.nodes,
        }
    }

    /// Tells how far the search is, seen from a slope.
    pub(super) fn tell(&self, slope: &Slope) {
        self.watch.progress(so_far(self.sought, &self.stair, slope));
    }
}

/// The least cost that slopes prove at a corner's mass.
fn proven_at(slopes: &[Slope], corner: Corner) -> i64 {
    let of = |s: &Slope| lowest(s.bound, s.prices.mass, corner.mass, UNIT);
    slopes
        .iter()
        .filter(|s| s.prices.cost == 1)
        .map(of)
        .max()
        .unwrap_or(0)
}

/// `(bound - worth × amount) / unit`, rounded up.
pub(super) fn lowest(bound: i64, worth: i64, amount: i64, unit: i64) -> i64 {
    if unit == 0 {
        return 0;
    }
    let left = i128::from(bound) - i128::from(worth) * i128::from(amount);
    let unit = i128::from(unit);
    let up = left.div_euclid(unit) + i128::from(left.rem_euclid(unit) != 0);
    held(up, i64::MAX)
}
