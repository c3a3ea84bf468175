//! Closing the gap over packages: all exact covers of the places by listed packages whose reduced values together stay
//! within the gap of some open corner.

use super::bound::Pack;
use super::dual::Slope;
use super::gap::Gaps;
use super::model::{Model, PackageCost};
use super::stair::Stair;
use super::watch::{Stopped, Watch};

/// The search over covers.
pub(super) struct Cover<'a> {
    pub(super) model: &'a Model,
    pub(super) cost: &'a dyn PackageCost,
    pub(super) watch: &'a dyn Watch,
    packs: &'a [Pack],
    /// By seller: masks and reduced excess of its packages, ascending by excess; the empty package is among them.
    by_seller: Vec<Vec<(u64, i64)>>,
    /// By place: packages that fill it, by excess.
    by_place: Vec<Vec<u32>>,
    /// Excess of every package over its seller's least value, at each slope.
    excess: Vec<[i64; 3]>,
    /// Excess of buying nothing.
    nothing: Vec<[i64; 3]>,
    order: Vec<usize>,
    /// What leaving an optional place empty costs.
    idle: Vec<[i64; 3]>,
    nodes: u64,
    stopped: Option<Stopped>,
    chosen: Vec<u32>,
    joints: Vec<Vec<u64>>,
}

impl<'a> Cover<'a> {
    /// Prepares the search over packages listed at `slopes[0]`.
    pub(super) fn new(
        model: &'a Model,
        cost: &'a dyn PackageCost,
        watch: &'a dyn Watch,
        slopes: &[&Slope],
        packs: &'a [Pack],
    ) -> Cover<'a> {
        let mut excess = vec![[0; 3]; packs.len()];
        let mut nothing = vec![[0; 3]; model.sellers];
        let mut idle = vec![[0; 3]; model.places];
        for (k, slope) in slopes.iter().enumerate() {
            for (at, pack) in packs.iter().enumerate() {
                let price: i64 = super::model::places(pack.mask).map(|p| slope.prices.place[p]).sum();
                excess[at][k] = slope.prices.value(pack.cost, pack.mass) - price - slope.least[pack.seller];
            }
            (0..model.sellers).for_each(|s| nothing[s][k] = -slope.least[s]);
            (0..model.places).for_each(|p| idle[p][k] = -slope.prices.place[p]);
        }
        let mut by_seller: Vec<Vec<(u64, i64)>> = (0..model.sellers).map(|s| vec![(0, nothing[s][0])]).collect();
        let mut by_place: Vec<Vec<u32>> = vec![Vec::new(); model.places];
        for (at, pack) in packs.iter().enumerate() {
            by_seller[pack.seller].push((pack.mask, excess[at][0]));
            super::model::places(pack.mask).for_each(|p| by_place[p].push(at as u32));
        }
        by_seller.iter_mut().for_each(|list| list.sort_unstable_by_key(|(mask, value)| (*value, *mask)));
        by_place.iter_mut().for_each(|list| list.sort_by_key(|at| excess[*at as usize][0]));
        let mut order: Vec<usize> = (0..model.places).collect();
        order.sort_by_key(|p| (model.required & 1 << p == 0, by_place[*p].len()));
        let joints = vec![model.joints.clone()];
        Cover {
            model,
            cost,
            watch,
            packs,
            by_seller,
            by_place,
            excess,
            nothing,
            order,
            idle,
            nodes: 0,
            stopped: None,
            chosen: Vec::new(),
            joints,
        }
    }

    /// Searches all covers; none when it came to its end, else why it stopped.
    pub(super) fn run(&mut self, gaps: &mut Gaps<'_>, stair: &mut Stair) -> Option<Stopped> {
        let all = (1u128 << self.model.sellers.min(127)) - 1;
        self.step(0, all, [0; 3], (0, 0), gaps, stair);
        self.stopped
    }

    pub(super) fn nodes(&self) -> u64 {
        self.nodes
    }

    /// The least excess that the unused sellers still add.
    fn rest(&self, covered: u64, unused: u128) -> i64 {
        let mut sum = 0;
        let mut left = unused;
        while left != 0 {
            let seller = left.trailing_zeros() as usize;
            left &= left - 1;
            if let Some((_, value)) = self.by_seller[seller].iter().find(|(mask, _)| mask & covered == 0) {
                sum += value;
            }
        }
        sum
    }

    fn step(&mut self, covered: u64, unused: u128, spent: [i64; 3], sums: (i64, i64), gaps: &mut Gaps<'_>, stair: &mut Stair) {
        self.nodes += 1;
        if self.nodes % 4096 == 0 && self.stopped.is_none() {
            self.stopped = self.watch.stop();
        }
        if self.stopped.is_some() {
            return;
        }
        gaps.refresh(stair);
        let Some(place) = self.next_place(covered) else {
            self.whole(unused, spent, sums, gaps, stair);
            return;
        };
        let rest = self.rest(covered, unused);
        if !gaps.alive([spent[0] + rest, spent[1], spent[2]]) {
            return;
        }
        if self.model.required & 1 << place == 0 {
            let idle = plus(spent, self.idle[place]);
            self.step(covered | 1 << place, unused, idle, sums, gaps, stair);
        }
        for at in 0..self.by_place[place].len() {
            let index = self.by_place[place][at];
            let excess = self.excess[index as usize];
            if spent[0] + excess[0] > gaps.most(0) {
                break;
            }
            let pack = &self.packs[index as usize];
            if pack.mask & covered != 0 || unused & 1 << pack.seller == 0 {
                continue;
            }
            let now = plus(spent, excess);
            if !gaps.alive(now) || !self.enter(index) {
                continue;
            }
            self.step(covered | pack.mask, unused & !(1 << pack.seller), now, (sums.0 + pack.cost, sums.1 + pack.mass), gaps, stair);
            self.leave();
        }
    }

    /// The uncovered place with the fewest packages to choose from.
    fn next_place(&self, covered: u64) -> Option<usize> {
        self.order.iter().copied().find(|p| covered & 1 << p == 0)
    }

    /// Chooses a package if joints and the number of sellers allow it.
    fn enter(&mut self, index: u32) -> bool {
        if self.chosen.len() >= self.model.max_sellers.unwrap_or(usize::MAX) {
            return false;
        }
        if !self.model.joints.is_empty()
            && let Some(open) = self.joints.last()
        {
            let mut open = open.clone();
            for (key, values) in self.packs[index as usize].offers.iter().flat_map(|o| &self.model.offers[*o as usize].fits) {
                open[*key] &= values;
                if open[*key] == 0 {
                    return false;
                }
            }
            self.joints.push(open);
        }
        self.chosen.push(index);
        true
    }

    fn leave(&mut self) {
        self.chosen.pop();
        if self.joints.len() > 1 {
            self.joints.pop();
        }
    }

    fn whole(&mut self, unused: u128, spent: [i64; 3], sums: (i64, i64), gaps: &mut Gaps<'_>, stair: &mut Stair) {
        let mut spent = spent;
        let mut left = unused;
        while left != 0 {
            let seller = left.trailing_zeros() as usize;
            left &= left - 1;
            if let Some(nothing) = self.nothing.get(seller) {
                spent = plus(spent, *nothing);
            }
        }
        if gaps.alive(spent) && stair.wants(sums.0, sums.1) {
            let offers: Vec<u32> = self.chosen.iter().flat_map(|at| self.packs[*at as usize].offers.iter().copied()).collect();
            if self.model.holds(&offers) {
                stair.add(sums.0, sums.1, offers);
            }
        }
    }
}

fn plus(a: [i64; 3], b: [i64; 3]) -> [i64; 3] {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}
