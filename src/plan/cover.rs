//! Closing the gap over packages: all exact covers of the places by listed packages whose reduced values together stay
//! within the gap of some open corner.
//!
//! At each node the packages still in play are sieved anew: those that overlap, and those that with the least of all
//! other sellers would exceed every gap, are gone; then the place with the fewest packages left is decided.

use super::dual::Slope;
use super::gap::{Excess, Gaps, SLOPES};
use super::model::{Model, places};
use super::pareto::ParetoFront;
use super::seller::Pack;
use super::watch::{Stopped, Watch};

/// A package as the sieve sees it.
#[derive(Debug, Clone, Copy)]
struct Item {
    mask: u64,
    excess: Excess,
    seller: u32,
    pack: u32,
}

/// The search over covers.
pub(super) struct Cover<'a> {
    model: &'a Model,
    watch: &'a dyn Watch,
    packs: &'a [Pack],
    /// Excess of buying nothing from a seller.
    nothing: Vec<Excess>,
    /// Excess of leaving a place empty that may be.
    idle: Vec<Excess>,
    /// By depth: packages in play, by seller.
    play: Vec<Vec<Item>>,
    nodes: u64,
    /// Nodes after which the search gives up.
    most_nodes: u64,
    stopped: Option<Stopped>,
    gave_up: bool,
    chosen: Vec<u32>,
    joints: Vec<Vec<u64>>,
}

/// How far a partial cover is.
#[derive(Debug, Clone, Copy)]
struct So {
    covered: u64,
    unused: u128,
    spent: Excess,
    cost: i64,
    mass: i64,
}

impl<'a> Cover<'a> {
    /// Prepares the search over packages listed at `slopes[0]`.
    pub(super) fn new(
        model: &'a Model,
        watch: &'a dyn Watch,
        slopes: &[&Slope],
        packs: &'a [Pack],
    ) -> Cover<'a> {
        let mut items: Vec<Item> = Vec::with_capacity(packs.len());
        for (at, pack) in packs.iter().enumerate() {
            let mut excess = [0; SLOPES];
            for (e, slope) in excess.iter_mut().zip(slopes) {
                let price: i64 = places(pack.mask).map(|p| slope.prices.place[p]).sum();
                *e = slope.prices.value(pack.cost, pack.mass) - price - slope.least[pack.seller];
            }
            items.push(Item {
                mask: pack.mask,
                excess,
                seller: pack.seller as u32,
                pack: at as u32,
            });
        }
        items.sort_by_key(|i| (i.seller, i.excess[0], i.pack));
        let all = |of: &dyn Fn(&Slope) -> i64| {
            let mut excess = [0; SLOPES];
            excess.iter_mut().zip(slopes).for_each(|(e, s)| *e = of(s));
            excess
        };
        Cover {
            model,
            watch,
            packs,
            nothing: (0..model.sellers)
                .map(|s| all(&|slope| -slope.least[s]))
                .collect(),
            idle: (0..model.places)
                .map(|p| all(&|slope| -slope.prices.place[p]))
                .collect(),
            play: vec![items],
            nodes: 0,
            most_nodes: u64::MAX,
            stopped: None,
            gave_up: false,
            chosen: Vec::new(),
            joints: vec![model.joints.clone()],
        }
    }

    /// Gives up after this many nodes.
    pub(super) fn within(mut self, nodes: u64) -> Cover<'a> {
        self.most_nodes = nodes;
        self
    }

    /// Searches all covers; none when it came to its end, else why it stopped.
    pub(super) fn run(&mut self, gaps: &mut Gaps<'_>, stair: &mut ParetoFront) -> Option<Stopped> {
        let unused = (1u128 << self.model.sellers) - 1;
        self.step(
            0,
            So {
                covered: 0,
                unused,
                spent: [0; SLOPES],
                cost: 0,
                mass: 0,
            },
            gaps,
            stair,
        );
        self.stopped
    }

    /// Whether it gave up before its end.
    pub(super) fn gave_up(&self) -> bool {
        self.gave_up
    }

    pub(super) fn nodes(&self) -> u64 {
        self.nodes
    }

    fn step(&mut self, depth: usize, so: So, gaps: &mut Gaps<'_>, stair: &mut ParetoFront) {
        self.nodes += 1;
        if self.nodes.is_multiple_of(1024) && self.stopped.is_none() {
            self.stopped = self.watch.stop();
            if let Some(so_far) = gaps.so_far(stair) {
                self.watch.progress(so_far);
            }
        }
        self.gave_up |= self.nodes > self.most_nodes;
        if self.stopped.is_some() || self.gave_up {
            return;
        }
        gaps.refresh(stair);
        if so.covered & self.model.required == self.model.required {
            self.whole(&so, gaps, stair);
        }
        if self.play.len() < depth + 2 {
            self.play.push(Vec::new());
        }
        let mut play = std::mem::take(&mut self.play[depth + 1]);
        play.clear();
        if let Some(place) = self.sieve(depth, &so, gaps, &mut play) {
            self.play[depth + 1] = play;
            self.branch(depth, place, &so, gaps, stair);
        } else {
            self.play[depth + 1] = play;
        }
    }

    /// Leaves in `play` what can still be chosen; gives the place with the fewest packages, none when the node is done.
    fn sieve(&self, depth: usize, so: &So, gaps: &Gaps<'_>, play: &mut Vec<Item>) -> Option<usize> {
        let mut least = [[0i64; SLOPES]; 128];
        let mut left = so.unused;
        while left != 0 {
            let seller = left.trailing_zeros() as usize;
            left &= left - 1;
            least[seller] = self.nothing[seller];
        }
        for item in &self.play[depth] {
            if item.mask & so.covered == 0 && so.unused & 1 << item.seller != 0 {
                let least = &mut least[item.seller as usize];
                for k in 0..SLOPES {
                    least[k] = least[k].min(item.excess[k]);
                }
                play.push(*item);
            }
        }
        let mut total = so.spent;
        for least in &least[..self.model.sellers] {
            total = plus(total, *least);
        }
        if !gaps.alive(total) {
            return None;
        }
        let most = gaps.most_all();
        let mut counts = [0u32; 64];
        play.retain(|item| {
            let least = &least[item.seller as usize];
            let stays = (0..SLOPES).all(|k| total[k] - least[k] + item.excess[k] <= most[k]);
            if stays {
                let mut mask = item.mask;
                while mask != 0 {
                    counts[mask.trailing_zeros() as usize] += 1;
                    mask &= mask - 1;
                }
            }
            stays
        });
        let must = places(self.model.required & !so.covered).min_by_key(|p| counts[*p]);
        must.or_else(|| {
            places(!so.covered)
                .take_while(|p| *p < self.model.places)
                .find(|p| counts[*p] > 0)
        })
    }

    fn branch(
        &mut self,
        depth: usize,
        place: usize,
        so: &So,
        gaps: &mut Gaps<'_>,
        stair: &mut ParetoFront,
    ) {
        let optional = self.model.required & 1 << place == 0;
        let mut children: Vec<(i64, usize)> = Vec::new();
        for (at, item) in self.play[depth + 1].iter().enumerate() {
            if item.mask & 1 << place != 0 {
                children.push((item.excess[0], at));
            }
        }
        children.sort_unstable();
        for (_, at) in children {
            let item = self.play[depth + 1][at];
            let spent = plus(so.spent, item.excess);
            if !gaps.alive(spent) || !self.enter(item.pack) {
                continue;
            }
            let pack = &self.packs[item.pack as usize];
            let next = So {
                covered: so.covered | item.mask,
                unused: so.unused & !(1 << item.seller),
                spent,
                cost: so.cost + pack.cost,
                mass: so.mass + pack.mass,
            };
            self.step(depth + 1, next, gaps, stair);
            self.leave();
        }
        if optional {
            let next = So {
                covered: so.covered | 1 << place,
                spent: plus(so.spent, self.idle[place]),
                ..*so
            };
            self.step(depth + 1, next, gaps, stair);
        }
    }

    /// Chooses a package if joints and the number of sellers allow it.
    fn enter(&mut self, index: u32) -> bool {
        let sellers = self
            .chosen
            .iter()
            .chain([&index])
            .map(|at| self.packs[*at as usize].seller);
        if self
            .model
            .max_sellers
            .is_some_and(|most| self.model.counted(sellers) > most)
        {
            return false;
        }
        if !self.model.joints.is_empty()
            && let Some(open) = self.joints.last()
        {
            let mut open = open.clone();
            for (key, values) in self.packs[index as usize]
                .offers
                .iter()
                .flat_map(|o| &self.model.offers[*o as usize].fits)
            {
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

    /// All that must be filled is: buying nothing more is a plan.
    fn whole(&mut self, so: &So, gaps: &Gaps<'_>, stair: &mut ParetoFront) {
        if !stair.wants(so.cost, so.mass) || gaps.most(0) < 0 {
            return;
        }
        let offers: Vec<u32> = self
            .chosen
            .iter()
            .flat_map(|at| self.packs[*at as usize].offers.iter().copied())
            .collect();
        if self.model.holds(&offers) {
            stair.add(so.cost, so.mass, offers);
        }
    }
}

fn plus(a: Excess, b: Excess) -> Excess {
    std::array::from_fn(|k| a[k] + b[k])
}
