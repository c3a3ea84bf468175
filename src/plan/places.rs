//! Closing the gap place by place: with few sellers and many offers a seller has too many packages to list, so the
//! offer of each place is decided in turn, and small knapsack tables bound what each seller's package can still become.

use super::dual::Slope;
use super::gap::{Excess, Gaps, SLOPES};
use super::model::{Model, NO_LIMIT, PackageCost};
use super::pareto::ParetoFront;
use super::seller::Seller;
use super::watch::{Stopped, Watch};

/// Steps of a table.
const STEPS: usize = 160;

/// Bounds on the rest of one class of one seller at one slope, from each depth on.
struct Tables {
    /// Least value, without limits.
    free: Vec<i64>,
    /// Least value with at least as many more steps of goods as the index in its row says.
    goods_least: Vec<i64>,
    /// Least value with at most as many more steps of goods as the index in its row says.
    goods_most: Vec<i64>,
    /// Least value with at most as many more steps of weight as the index in its row says.
    weight_most: Vec<i64>,
}

/// A seller in the order of the places.
struct Shop {
    number: usize,
    /// Offers that begin at each depth, as numbers local to the seller.
    at_depth: Vec<Vec<usize>>,
    goods_step: i64,
    weight_step: i64,
    /// By slope, then class.
    tables: Vec<Vec<Tables>>,
    /// By slope: value without cost.
    linear: Vec<Vec<i64>>,
    most_goods: Vec<i64>,
}

/// What has been taken from a seller so far.
#[derive(Debug, Clone, Default)]
struct State {
    taken: Vec<u32>,
    goods: i64,
    weight: i64,
    linear: Excess,
    by_class: Vec<i64>,
}

/// The search over places.
pub(super) struct Places<'a> {
    model: &'a Model,
    cost: &'a dyn PackageCost,
    watch: &'a dyn Watch,
    sellers: &'a [Seller],
    slopes: Vec<&'a Slope>,
    order: Vec<usize>,
    shops: Vec<Shop>,
    states: Vec<State>,
    nodes: u64,
    most_nodes: u64,
    gave_up: bool,
    stopped: Option<Stopped>,
    joints: Vec<Vec<u64>>,
}

impl<'a> Places<'a> {
    /// Prepares tables for every seller at every slope.
    pub(super) fn new(
        model: &'a Model,
        cost: &'a dyn PackageCost,
        watch: &'a dyn Watch,
        slopes: Vec<&'a Slope>,
        sellers: &'a [Seller],
    ) -> Places<'a> {
        let mut order: Vec<usize> = (0..model.places).collect();
        let dearest = |p: &usize| slopes.iter().map(|s| s.prices.place[*p]).max().unwrap_or(0);
        order.sort_by_key(|p| {
            (
                model.required & 1 << p == 0,
                std::cmp::Reverse(dearest(p)),
                *p,
            )
        });
        let shops = sellers
            .iter()
            .map(|s| shop(model, s, &slopes, &order))
            .collect();
        let states = sellers
            .iter()
            .map(|s| State {
                by_class: vec![0; s.classes.len()],
                ..State::default()
            })
            .collect();
        let joints = vec![model.joints.clone()];
        Places {
            model,
            cost,
            watch,
            sellers,
            slopes,
            order,
            shops,
            states,
            nodes: 0,
            most_nodes: u64::MAX,
            gave_up: false,
            stopped: None,
            joints,
        }
    }

    /// Searches everything; none when it came to its end, else why it stopped.
    pub(super) fn run(&mut self, gaps: &mut Gaps<'_>, stair: &mut ParetoFront) -> Option<Stopped> {
        self.step(0, 0, gaps, stair);
        self.stopped
    }

    /// Gives up after this many nodes.
    pub(super) fn within(mut self, nodes: u64) -> Places<'a> {
        self.most_nodes = nodes;
        self
    }

    /// Whether it gave up before its end.
    pub(super) fn gave_up(&self) -> bool {
        self.gave_up
    }

    pub(super) fn nodes(&self) -> u64 {
        self.nodes
    }

    /// What a seller's package comes to at least, from a depth on, above its least value.
    fn least(&self, seller: usize, state: &State, depth: usize) -> Excess {
        let mut all = [0; SLOPES];
        for (k, slope) in self.slopes.iter().enumerate() {
            all[k] = self.least_at(seller, state, depth, k) - slope.least[seller];
        }
        all
    }

    fn least_at(&self, seller: usize, state: &State, depth: usize, k: usize) -> i64 {
        let (shop, cost) = (&self.shops[seller], self.slopes[k].prices.cost);
        let mut least = if state.taken.is_empty() {
            0
        } else {
            i64::MAX / 8
        };
        if cost == 0 {
            return least.min(state.linear[k] + shop.tables[k][0].free[depth]);
        }
        for case in &self.sellers[seller].cases {
            let t = &shop.tables[k][case.class];
            let so_far = case.fixed + state.by_class[case.class] + state.linear[k];
            let mut rest = t.free[depth];
            if so_far + rest >= least
                || state.goods + shop.most_goods[depth] < case.goods_least
                || state.goods > case.goods_most
                || state.weight > case.weight_most
            {
                continue;
            }
            let row = depth * (STEPS + 1);
            if state.goods < case.goods_least {
                let need = ((case.goods_least - state.goods) / shop.goods_step) as usize;
                rest = rest.max(t.goods_least[row + need.min(STEPS)]);
            }
            if case.weight_most < NO_LIMIT {
                let left = up(case.weight_most - state.weight, shop.weight_step);
                rest = rest.max(t.weight_most[row + left.min(STEPS)]);
            }
            if case.goods_most < NO_LIMIT {
                let left = up(case.goods_most - state.goods, shop.goods_step);
                rest = rest.max(t.goods_most[row + left.min(STEPS)]);
            }
            least = least.min(so_far + rest);
        }
        least
    }

    fn step(&mut self, depth: usize, covered: u64, gaps: &mut Gaps<'_>, stair: &mut ParetoFront) {
        self.nodes += 1;
        if self.nodes.is_multiple_of(32) && self.stopped.is_none() {
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
        if depth == self.order.len() {
            self.whole(stair);
            return;
        }
        let place = self.order[depth];
        let next = depth + 1;
        let rest: Vec<Excess> = (0..self.sellers.len())
            .map(|s| self.least(s, &self.states[s], next))
            .collect();
        let sum = rest.iter().fold([0; SLOPES], |a, b| plus(a, *b));
        if covered & 1 << place != 0 {
            if gaps.alive(sum) {
                self.step(next, covered, gaps, stair);
            }
            return;
        }
        let mut children: Vec<(Excess, usize, usize)> = Vec::new();
        if self.model.required & 1 << place == 0 {
            let idle = self.idle(depth);
            children.push((plus(sum, idle), usize::MAX, 0));
        }
        for seller in 0..self.sellers.len() {
            let without = minus(sum, rest[seller]);
            for local in &self.shops[seller].at_depth[depth] {
                if self.sellers[seller].mask[*local] & covered != 0 {
                    continue;
                }
                let state = self.with(seller, *local);
                let excess = plus(without, self.least(seller, &state, next));
                if gaps.alive(excess) {
                    children.push((excess, seller, *local));
                }
            }
        }
        children.sort_unstable();
        for (excess, seller, local) in children {
            gaps.refresh(stair);
            if !gaps.alive(excess) {
                continue;
            }
            if seller == usize::MAX {
                self.step(next, covered | 1 << place, gaps, stair);
                continue;
            }
            let state = self.with(seller, local);
            if !self.allowed(seller, &state) {
                continue;
            }
            let before = std::mem::replace(&mut self.states[seller], state);
            self.step(
                next,
                covered | self.sellers[seller].mask[local],
                gaps,
                stair,
            );
            self.states[seller] = before;
            if self.joints.len() > 1 {
                self.joints.pop();
            }
        }
    }

    /// What leaving an optional place empty costs.
    fn idle(&self, depth: usize) -> Excess {
        let mut all = [0; SLOPES];
        for (k, slope) in self.slopes.iter().enumerate() {
            all[k] = -slope.prices.place[self.order[depth]];
        }
        all
    }

    fn with(&self, seller: usize, local: usize) -> State {
        let (shop, s) = (&self.shops[seller], &self.sellers[seller]);
        let mut state = self.states[seller].clone();
        state.taken.push(s.ids[local]);
        state.goods += s.goods[local];
        state.weight += s.weight[local];
        for k in 0..self.slopes.len() {
            state.linear[k] += shop.linear[k][local];
        }
        for (sum, class) in state.by_class.iter_mut().zip(&s.classes) {
            *sum += class[local];
        }
        state
    }

    /// Whether joints and the number of sellers allow the last offer taken; notes the joints when they do.
    fn allowed(&mut self, seller: usize, state: &State) -> bool {
        if let Some(most) = self.model.max_sellers {
            let used = self
                .states
                .iter()
                .enumerate()
                .filter(|(_, state)| !state.taken.is_empty())
                .map(|(s, _)| s);
            if self.model.counted(used.chain([seller])) > most {
                return false;
            }
        }
        if self.model.joints.is_empty() {
            return true;
        }
        let mut open = self.joints.last().cloned().unwrap_or_default();
        for (key, values) in state
            .taken
            .last()
            .into_iter()
            .flat_map(|o| &self.model.offers[*o as usize].fits)
        {
            open[*key] &= values;
            if open[*key] == 0 {
                return false;
            }
        }
        self.joints.push(open);
        true
    }

    fn whole(&mut self, stair: &mut ParetoFront) {
        let mass = self
            .states
            .iter()
            .flat_map(|s| &s.taken)
            .map(|o| self.model.offers[*o as usize].mass)
            .sum();
        let mut cost = 0;
        for (seller, state) in self.sellers.iter().zip(&self.states) {
            if !state.taken.is_empty() {
                let mut package = state.taken.clone();
                package.sort_unstable();
                match self.cost.exact(seller.number, &package) {
                    Some(exact) => cost += exact,
                    None => return,
                }
            }
        }
        if stair.wants(cost, mass) {
            let offers: Vec<u32> = self
                .states
                .iter()
                .flat_map(|s| s.taken.iter().copied())
                .collect();
            if self.model.holds(&offers) {
                stair.add(cost, mass, offers);
            }
        }
    }
}

/// How many steps are left, begun ones counted; none where nothing is left.
fn up(left: i64, step: i64) -> usize {
    ((left + step - 1) / step).max(0) as usize
}

fn plus(a: Excess, b: Excess) -> Excess {
    std::array::from_fn(|k| a[k] + b[k])
}

fn minus(a: Excess, b: Excess) -> Excess {
    std::array::from_fn(|k| a[k] - b[k])
}

fn shop(model: &Model, seller: &Seller, slopes: &[&Slope], order: &[usize]) -> Shop {
    let mut rank = vec![0; model.places];
    order
        .iter()
        .enumerate()
        .for_each(|(depth, place)| rank[*place] = depth);
    let mut at_depth: Vec<Vec<usize>> = vec![Vec::new(); order.len()];
    for local in 0..seller.ids.len() {
        let first = super::model::places(seller.mask[local])
            .map(|p| rank[p])
            .min()
            .unwrap_or(0);
        at_depth[first].push(local);
    }
    let limits = |f: fn(&super::Case) -> i64| {
        seller
            .cases
            .iter()
            .map(f)
            .filter(|l| *l < NO_LIMIT)
            .max()
            .unwrap_or(0)
    };
    let goods_limit = limits(|c| c.goods_least).max(limits(|c| c.goods_most));
    let (goods_step, weight_step) = (
        goods_limit / STEPS as i64 + 1,
        limits(|c| c.weight_most) / STEPS as i64 + 1,
    );
    let mut most_goods = vec![0; order.len() + 1];
    for depth in (0..order.len()).rev() {
        most_goods[depth] = most_goods[depth + 1]
            + at_depth[depth]
                .iter()
                .map(|l| seller.goods[*l])
                .max()
                .unwrap_or(0);
    }
    let mut shop = Shop {
        number: seller.number,
        at_depth,
        goods_step,
        weight_step,
        tables: Vec::new(),
        linear: Vec::new(),
        most_goods,
    };
    for slope in slopes {
        shop.lay(seller, slope);
    }
    debug_assert_eq!(shop.number, seller.number);
    shop
}

impl Shop {
    /// Works out the tables of one slope.
    fn lay(&mut self, seller: &Seller, slope: &Slope) {
        let prices = &slope.prices;
        let price = |mask: u64| {
            super::model::places(mask)
                .map(|p| prices.place[p])
                .sum::<i64>()
        };
        let linear: Vec<i64> = (0..seller.ids.len())
            .map(|l| prices.mass * seller.mass[l] - price(seller.mask[l]))
            .collect();
        let of = |class: &Vec<i64>| {
            let both = class.iter().zip(&linear);
            let values: Vec<i64> = both.map(|(c, l)| prices.cost * c + l).collect();
            tables(self, seller, &values)
        };
        let classes = seller.classes.iter().map(of).collect();
        self.tables.push(classes);
        self.linear.push(linear);
    }
}

fn tables(shop: &Shop, seller: &Seller, values: &[i64]) -> Tables {
    let depths = shop.at_depth.len();
    let width = STEPS + 1;
    let never = i64::MAX / 8;
    let mut t = Tables {
        free: vec![0; depths + 1],
        goods_least: vec![never; (depths + 1) * width],
        goods_most: vec![0; (depths + 1) * width],
        weight_most: vec![0; (depths + 1) * width],
    };
    t.goods_least[depths * width] = 0;
    for depth in (0..depths).rev() {
        let offers = &shop.at_depth[depth];
        t.free[depth] =
            t.free[depth + 1] + offers.iter().map(|l| values[*l]).min().unwrap_or(0).min(0);
        let (row, next) = (depth * width, (depth + 1) * width);
        for table in [&mut t.goods_least, &mut t.goods_most, &mut t.weight_most] {
            table.copy_within(next..next + width, row);
        }
        for local in offers {
            let value = values[*local];
            let goods_up = up(seller.goods[*local], shop.goods_step);
            let goods_down = (seller.goods[*local] / shop.goods_step) as usize;
            let weight_down = (seller.weight[*local] / shop.weight_step) as usize;
            for at in 0..width {
                let rest = t.goods_least[next + at.saturating_sub(goods_up)];
                if rest < never {
                    t.goods_least[row + at] = t.goods_least[row + at].min(value + rest);
                }
            }
            if value < 0 {
                for at in goods_down..width {
                    t.goods_most[row + at] =
                        t.goods_most[row + at].min(value + t.goods_most[next + at - goods_down]);
                }
                for at in weight_down..width {
                    t.weight_most[row + at] =
                        t.weight_most[row + at].min(value + t.weight_most[next + at - weight_down]);
                }
            }
        }
    }
    t
}
