//! The prices of places: lifted step by step so that the sum of prices and sellers' least values bounds every plan.

use super::model::{Model, PackageCost, UNIT};
use super::seller::{Least, Prices, Seller, held};

/// Prices with the bound they prove: no plan has a lower value of cost and mass.
#[derive(Debug, Clone)]
pub(super) struct Slope {
    pub(super) prices: Prices,
    /// Each seller's least reduced value, zero or below.
    pub(super) least: Vec<i64>,
    pub(super) bound: i64,
}

/// A bound and the packages behind it.
pub(super) struct Relaxed {
    pub(super) bound: i64,
    pub(super) least: Vec<Least>,
}

/// The bound that these prices prove.
pub(super) fn relax(sellers: &mut [Seller], cost: &dyn PackageCost, prices: &Prices) -> Relaxed {
    let least: Vec<Least> = sellers.iter_mut().map(|s| s.least(cost, prices)).collect();
    let values = prices
        .place
        .iter()
        .copied()
        .chain(least.iter().map(|l| l.value));
    let bound = held(values.map(i128::from).sum(), i64::MAX / 2);
    Relaxed { bound, least }
}

/// Subgradient ascent on the prices of places at fixed worths of cost and mass.
pub(super) struct Climb {
    pub(super) prices: Prices,
    pub(super) best: Slope,
    direction: Vec<i64>,
    /// Share of the Polyak step, in 1/1024.
    step: i64,
    stale: u32,
    /// Mass of the relaxed plans, averaged.
    pub(super) mass: i64,
    patience: u32,
    /// The mass that is the limit, when its worth is lifted too.
    pub(super) limit: Option<i64>,
    mass_direction: i64,
}

/// Parts of a direction's length.
const ONE: i64 = 1 << 10;

impl Climb {
    /// From these prices on.
    pub(super) fn new(prices: Prices) -> Climb {
        let best = Slope {
            prices: prices.clone(),
            least: Vec::new(),
            bound: i64::MIN,
        };
        let direction = vec![0; prices.place.len()];
        Climb {
            prices,
            best,
            direction,
            step: 1024,
            stale: 0,
            mass: -1,
            patience: 8,
            limit: None,
            mass_direction: 0,
        }
    }

    /// One step towards `target`, a value that some plan has; gives the packages behind the bound.
    pub(super) fn step(
        &mut self,
        model: &Model,
        sellers: &mut [Seller],
        cost: &dyn PackageCost,
        target: i64,
    ) -> Relaxed {
        let relaxed = relax(sellers, cost, &self.prices);
        if self.worth(relaxed.bound, &self.prices) > self.worth(self.best.bound, &self.best.prices)
        {
            let least = relaxed.least.iter().map(|l| l.value).collect();
            self.best = Slope {
                prices: self.prices.clone(),
                least,
                bound: relaxed.bound,
            };
            self.stale = 0;
        } else {
            self.stale += 1;
            if self.stale >= self.patience {
                self.stale = 0;
                self.step = self.step * 5 / 8;
                self.prices.clone_from(&self.best.prices);
                self.direction.fill(0);
                self.mass_direction = 0;
            }
        }
        self.walk(model, &relaxed, target);
        relaxed
    }

    /// What a bound says at the limit.
    fn worth(&self, bound: i64, prices: &Prices) -> i128 {
        i128::from(bound)
            - self
                .limit
                .map_or(0, |most| i128::from(prices.mass) * i128::from(most))
    }

    fn walk(&mut self, model: &Model, relaxed: &Relaxed, target: i64) {
        let mut filled = vec![0i64; model.places];
        let mut mass = 0;
        for offer in relaxed.least.iter().flat_map(|l| &l.offers) {
            let offer = &model.offers[*offer as usize];
            mass += offer.mass;
            super::model::places(offer.places).for_each(|p| filled[p] += 1);
        }
        self.mass = if self.mass < 0 {
            mass
        } else {
            (self.mass * 7 + mass) / 8
        };
        let mut length: i128 = 0;
        for (place, filled) in filled.iter().enumerate() {
            let wanted = (1 - filled) * ONE;
            self.direction[place] = (wanted * 7 + self.direction[place] * 3) / 10;
            length += i128::from(self.direction[place]).pow(2);
        }
        let usual = self
            .limit
            .map_or(1, |most| (most / model.places.max(1) as i64).max(1));
        if let Some(most) = self.limit {
            self.mass_direction = ((mass - most) * ONE / usual * 7 + self.mass_direction * 3) / 10;
            length += i128::from(self.mass_direction).pow(2);
        }
        if length == 0 {
            return;
        }
        let missing = target.saturating_sub(relaxed.bound).max(UNIT);
        let scale = i128::from(missing) * i128::from(self.step);
        for place in 0..self.prices.place.len() {
            self.prices
                .moved(place, scale * i128::from(self.direction[place]) / length);
            if model.required & 1 << place == 0 {
                self.prices.place[place] = self.prices.place[place].min(0);
            }
        }
        if self.limit.is_some() {
            let move_by = scale * i128::from(self.mass_direction) / length / i128::from(usual);
            let mass = held(i128::from(self.prices.mass) + move_by, self.prices.steepest);
            self.prices.mass = mass.max(0);
        }
    }

    /// Whether steps have become too short to matter.
    pub(super) fn is_tired(&self) -> bool {
        self.step < 12
    }
}
