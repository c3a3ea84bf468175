//! At which worth of mass the search looks: by bisection for one target, and where the hull of known plans says.

use super::dual::{Climb, Slope};
use super::gap::Target;
use super::model::{NO_LIMIT, UNIT, places};
use super::pareto::Found;
use super::search::Search;
use super::seller::{Prices, held};

impl Search<'_> {
    /// Flatter and steeper slopes than one.
    pub(super) fn beside(&mut self, slope: &Slope) -> Vec<Slope> {
        let mut found = Vec::new();
        for percent in [80, 125, 50, 200] {
            let mut prices = slope.prices.clone();
            self.shift(&mut prices, slope.prices.mass / 100 * percent);
            let mut climb = Climb::new(prices);
            self.climb(&mut climb, 32, 16);
            found.push(climb.best);
        }
        if slope.prices.mass == 0 {
            Vec::new()
        } else {
            found
        }
    }

    /// Prices with the highest bound for a target.
    pub(super) fn best_slope(&mut self, target: Target) -> Slope {
        let limit = match target {
            Target::Cheaper(most) if most >= NO_LIMIT => {
                let mut climb = Climb::new(self.opening(1, 0));
                self.climb(&mut climb, 300, 6);
                return climb.best;
            }
            Target::Cheaper(most) | Target::Lighter(most) => most,
            Target::Below(..) => 0,
        };
        let mut range = (UNIT / 32, self.steepest());
        let mut found: Vec<Slope> = Vec::new();
        let mut prices = self.opening(1, 0);
        let mut bracketed = (false, false);
        let steps = 8 + self.model.places * 2 / 5;
        for round in 0..12 {
            if round > 0 && self.is_over() {
                break;
            }
            let guess = self
                .hull_worth(target)
                .filter(|g| bracketed == (true, true) && *g > range.0 && *g < range.1);
            let mass = match bracketed {
                (false, false) => between(range.0, range.1),
                (true, false) => range.0 * 3,
                (false, true) => range.1 / 3,
                _ => guess.unwrap_or_else(|| between(range.0, range.1)),
            };
            if round == 0 {
                prices = self.opening(1, mass);
            } else {
                self.shift(&mut prices, mass);
            }
            let mut climb = Climb::new(prices.clone());
            self.climb(&mut climb, if round == 0 { 30 } else { steps }, 8);
            if self.is_proven(&climb.best) {
                return climb.best;
            }
            prices = climb.best.prices.clone();
            found.push(climb.best);
            let Some(best) = self
                .stair
                .steps
                .iter()
                .min_by_key(|s| prices.value(s.cost, s.mass))
            else {
                continue;
            };
            let heavy = match target {
                Target::Lighter(_) => best.cost <= limit,
                _ => best.mass > limit,
            };
            if heavy {
                range.0 = mass;
            } else {
                range.1 = mass;
            }
            if heavy {
                bracketed.0 = true;
            } else {
                bracketed.1 = true;
            }
            if range.1 - range.0 <= range.1 / 32
                || (guess.is_some() && self.hull_worth(target) == guess)
            {
                break;
            }
        }
        self.try_hull(target, steps * 3, &mut found);
        let worth = |s: &Slope| self.worth(s, target);
        let Some(slope) = found.into_iter().max_by_key(|s| worth(s)) else {
            return Climb::new(prices).best;
        };
        let mut climb = Climb::new(slope.prices.clone());
        if let Target::Cheaper(most) = target {
            climb.limit = Some(most);
        }
        self.climb(&mut climb, 240, 6);
        if self.worth(&climb.best, target) > self.worth(&slope, target) {
            climb.best
        } else {
            slope
        }
    }

    /// Prices where the hull of known plans crosses the limit, when no slope so far is near: early bounds are loose on
    /// large choices and would mislead.
    pub(super) fn try_hull(&mut self, target: Target, steps: usize, found: &mut Vec<Slope>) {
        let Some(mass) = self.hull_worth(target) else {
            return;
        };
        let best = found.iter().max_by_key(|s| self.worth(s, target));
        if best.is_none_or(|s| (s.prices.mass - mass).abs() * 16 < mass) {
            return;
        }
        let near = found.iter().min_by_key(|s| (s.prices.mass - mass).abs());
        let Some(mut prices) = near.map(|s| s.prices.clone()) else {
            return;
        };
        self.shift(&mut prices, mass);
        let mut climb = Climb::new(prices);
        self.climb(&mut climb, steps, 8);
        found.push(climb.best);
    }

    /// Takes prices to another worth of mass: each place by what the best plan there has.
    pub(super) fn shift(&self, prices: &mut Prices, mass: i64) {
        let mass = mass.clamp(0, prices.steepest);
        let by = i128::from(mass) - i128::from(prices.mass);
        prices.mass = mass;
        let Some(best) = self
            .stair
            .steps
            .iter()
            .min_by_key(|s| prices.value(s.cost, s.mass))
        else {
            return;
        };
        for offer in best.offers.iter().map(|o| &self.model.offers[*o as usize]) {
            let share = by * i128::from(offer.mass) / i128::from(offer.places.count_ones());
            places(offer.places).for_each(|p| prices.moved(p, share));
        }
        for place in (0..self.model.places).filter(|p| self.model.required & 1 << p == 0) {
            prices.place[place] = prices.place[place].min(0);
        }
    }

    /// What a slope's bound says of the target, in units of cost.
    pub(super) fn worth(&self, slope: &Slope, target: Target) -> i64 {
        match target {
            Target::Cheaper(most) => slope
                .bound
                .saturating_sub(slope.prices.mass.saturating_mul(most)),
            Target::Lighter(most) => {
                let left = i128::from(slope.bound) - i128::from(most) * i128::from(UNIT);
                let steps = left * i128::from(UNIT) / i128::from(slope.prices.mass.max(1));
                held(steps, i64::MAX)
            }
            Target::Below(..) => slope.bound,
        }
    }

    /// The steepest worth of mass that can matter, and that all masses together bear without overflow.
    pub(super) fn steepest(&self) -> i64 {
        let dear: i64 = self.model.offers.iter().map(|o| o.goods).max().unwrap_or(1);
        let mass: i64 = self.model.offers.iter().map(|o| o.mass).sum();
        dear.max(1)
            .saturating_mul(UNIT)
            .min(1 << 40)
            .min((1 << 60) / mass.max(1))
            .max(UNIT)
    }

    /// The worth of mass on the hull of known plans, where a target's limit crosses it.
    pub(super) fn hull_worth(&self, target: Target) -> Option<i64> {
        let hull = self.hull();
        let beyond = |s: &Found| match target {
            Target::Lighter(most) => s.cost <= most,
            Target::Cheaper(most) | Target::Below(most, _) => s.mass > most,
        };
        let at = hull.iter().position(|s| beyond(&self.stair.steps[*s]))?;
        let (a, b) = (
            &self.stair.steps[*hull.get(at.checked_sub(1)?)?],
            &self.stair.steps[hull[at]],
        );
        Some((a.cost - b.cost) * UNIT / (b.mass - a.mass).max(1))
    }

    /// Steps of the staircase on its lower convex hull, by ascending mass.
    pub(super) fn hull(&self) -> Vec<usize> {
        let mut hull: Vec<usize> = Vec::new();
        let cross = |a: &Found, b: &Found, c: &Found| {
            i128::from(b.mass - a.mass) * i128::from(c.cost - a.cost)
                - i128::from(b.cost - a.cost) * i128::from(c.mass - a.mass)
        };
        for at in 0..self.stair.steps.len() {
            while let [.., a, b] = hull[..] {
                if cross(
                    &self.stair.steps[a],
                    &self.stair.steps[b],
                    &self.stair.steps[at],
                ) > 0
                {
                    break;
                }
                hull.pop();
            }
            hull.push(at);
        }
        hull
    }
}

/// Between two worths, by their ratio.
pub(super) fn between(low: i64, high: i64) -> i64 {
    let bits = u32::midpoint(low.max(1).ilog2(), high.max(1).ilog2());
    if low.ilog2() + 1 >= high.ilog2() {
        low + (high - low) / 2
    } else {
        1i64 << bits
    }
}
