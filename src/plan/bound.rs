//! One seller's least package at given prices, and the list of all packages near it.
//!
//! A package's reduced value is its cost + slope × mass - the prices of the places it fills. For each case of the seller
//! the limits of money and weight are taken into the objective by multipliers (the relaxation of a knapsack), which
//! bounds a depth-first walk over the seller's places.

use super::model::{Case, Cases, Model, NO_LIMIT, PackageCost, UNIT};
use super::seller::{Least, Pack, Priced, Prices, Seller};
use super::walk::{Sums, Walk, goods_part, weight_part};
use super::watch::Watch;

/// The stretches of a sorted list that begin with the same place.
fn stretches(by_slot: &[(usize, usize)]) -> Vec<(usize, usize)> {
    let mut slots: Vec<(usize, usize)> = Vec::new();
    for at in 0..by_slot.len() {
        if at == 0 || by_slot[at].0 != by_slot[at - 1].0 {
            slots.push((at, at + 1));
        } else if let Some(last) = slots.last_mut() {
            last.1 = at + 1;
        }
    }
    slots
}

impl Seller {
    /// Lays out one seller's offers in the order of the walk; none when it has none.
    pub(super) fn new(
        model: &Model,
        cost: &dyn PackageCost,
        watch: &dyn Watch,
        number: usize,
        order: &[usize],
    ) -> Seller {
        let mine: Vec<u32> = (0..model.offers.len() as u32)
            .filter(|o| model.offers[*o as usize].seller == number)
            .collect();
        let Cases { classes, cases } = cost.cases(number);
        let mut rank = vec![0usize; model.places];
        order
            .iter()
            .enumerate()
            .for_each(|(at, place)| rank[*place] = at);
        let first = |o: &u32| {
            super::model::places(model.offers[*o as usize].places)
                .map(|p| rank[p])
                .min()
                .unwrap_or(0)
        };
        let mut by_slot: Vec<(usize, usize)> = mine
            .iter()
            .enumerate()
            .map(|(local, o)| (first(o), local))
            .collect();
        by_slot.sort_unstable();
        let of = |f: fn(&super::Offer) -> i64| {
            by_slot
                .iter()
                .map(|(_, l)| f(&model.offers[mine[*l] as usize]))
                .collect::<Vec<i64>>()
        };
        let slots = stretches(&by_slot);
        let goods = of(|o| o.goods);
        let mut most_goods = vec![0; slots.len() + 1];
        for k in (0..slots.len()).rev() {
            most_goods[k] = most_goods[k + 1]
                + goods[slots[k].0..slots[k].1]
                    .iter()
                    .copied()
                    .max()
                    .unwrap_or(0);
        }
        let cases: Vec<Case> = cases
            .into_iter()
            .filter(|c| c.goods_least <= most_goods[0])
            .collect();
        let mut seller = Seller {
            number,
            all: None,
            ids: by_slot.iter().map(|(_, l)| mine[*l]).collect(),
            mask: by_slot
                .iter()
                .map(|(_, l)| model.offers[mine[*l] as usize].places)
                .collect(),
            mass: of(|o| o.mass),
            weight: of(|o| o.weight),
            goods,
            classes: classes
                .into_iter()
                .map(|row| by_slot.iter().map(|(_, l)| row[*l]).collect())
                .collect(),
            multipliers: vec![(0, 0); cases.len()],
            cases,
            slots,
            most_goods,
        };
        seller.all = seller.enumerate(cost, watch, cost.room(number));
        seller
    }

    /// Every package with its exact cost, unless there are more than `room` or the time is up.
    fn enumerate(
        &self,
        cost: &dyn PackageCost,
        watch: &dyn Watch,
        room: usize,
    ) -> Option<Vec<Priced>> {
        let count = self.slots.iter().try_fold(1usize, |n, (from, to)| {
            n.checked_mul(to - from + 1).filter(|n| *n <= room)
        })?;
        let mut open: Vec<(Vec<u16>, u64)> = Vec::with_capacity(count);
        open.push((Vec::new(), 0));
        for (from, to) in &self.slots {
            for at in 0..open.len() {
                let taken = open[at].1;
                for local in (*from..*to).filter(|l| self.mask[*l] & taken == 0) {
                    let mut more = open[at].clone();
                    more.0.push(local as u16);
                    more.1 |= self.mask[local];
                    open.push(more);
                }
            }
        }
        let mut all = Vec::with_capacity(open.len());
        for (at, (locals, mask)) in open.into_iter().skip(1).enumerate() {
            if at % 16 == 15 && watch.stop().is_some() {
                return None;
            }
            let mut ids: Vec<u32> = locals.iter().map(|l| self.ids[*l as usize]).collect();
            ids.sort_unstable();
            let mass = locals.iter().map(|l| self.mass[*l as usize]).sum();
            let Some(cost) = cost.exact(self.number, &ids) else {
                continue;
            };
            all.push(Priced {
                cost,
                locals: locals.into_boxed_slice(),
                mask,
                mass,
            });
        }
        Some(all)
    }

    fn ids_of(&self, package: &Priced) -> Vec<u32> {
        let mut ids: Vec<u32> = package
            .locals
            .iter()
            .map(|l| self.ids[*l as usize])
            .collect();
        ids.sort_unstable();
        ids
    }

    /// The reduced value of an enumerated package.
    fn value(prices: &Prices, package: &Priced) -> i64 {
        prices.value(package.cost, package.mass)
            - super::model::places(package.mask)
                .map(|p| prices.place[p])
                .sum::<i64>()
    }

    /// The least reduced value over all packages, zero for none, and a package that has it; where a walk takes too long, a
    /// value that none is below, and the best package seen.
    pub(super) fn least(&mut self, cost: &dyn PackageCost, prices: &Prices) -> Least {
        let mut least = Least::default();
        if let Some(all) = &self.all {
            let best = all
                .iter()
                .map(|p| Seller::value(prices, p))
                .zip(all)
                .min_by_key(|(value, _)| *value);
            return best
                .filter(|(v, _)| *v < 0)
                .map_or(least, |(value, p)| Least {
                    value,
                    offers: self.ids_of(p),
                });
        }
        let linear = self.linear(prices);
        if prices.cost == 0 {
            self.lightest(&linear, &mut least);
            return least;
        }
        let mut values: Vec<Vec<i64>> = Vec::with_capacity(self.classes.len());
        let mut free: Vec<PartialSum> = Vec::with_capacity(self.classes.len());
        for class in &self.classes {
            let v: Vec<i64> = class.iter().zip(&linear).map(|(c, l)| c + l).collect();
            free.push(self.sum(&v, 0, 0));
            values.push(v);
        }
        let mut order: Vec<(i64, usize)> = self
            .cases
            .iter()
            .enumerate()
            .map(|(at, c)| (c.fixed + free[c.class].value, at))
            .filter(|(b, _)| *b < 0)
            .collect();
        order.sort_unstable();
        let mut lower = 0;
        for (bound, at) in order {
            if bound >= least.value {
                break;
            }
            let case = self.cases[at].clone();
            let Some((mu, nu)) = self.fit(
                &case,
                &values[case.class],
                free[case.class],
                at,
                least.value,
            ) else {
                continue;
            };
            let mut walk = Walk::new(self, cost, &case, &values[case.class], &linear, mu, nu);
            walk.cut = least.value;
            walk.patience = cost.patience(self.number);
            walk.step(0, 0, Sums::default());
            if walk.full {
                lower = lower.min((walk.base + walk.rest[0]).max(case.fixed + walk.plain_rest[0]));
            }
            if let Some(best) = walk.best {
                least = best;
            }
        }
        least.value = least.value.min(lower);
        least
    }

    fn linear(&self, prices: &Prices) -> Vec<i64> {
        let at = |place: usize| prices.place[place];
        let price = |mask: u64| super::model::places(mask).map(at).sum::<i64>();
        self.mass
            .iter()
            .zip(&self.mask)
            .map(|(mass, mask)| prices.mass * mass - price(*mask))
            .collect()
    }

    /// Only mass counts: slot by slot.
    fn lightest(&self, linear: &[i64], least: &mut Least) {
        for (from, to) in &self.slots {
            if let Some((value, at)) = (*from..*to)
                .map(|at| (linear[at], at))
                .min()
                .filter(|(v, _)| *v < 0)
            {
                least.value += value;
                least.offers.push(self.ids[at]);
            }
        }
        least.offers.sort_unstable();
    }

    /// Slot by slot the least value, with multipliers on goods and weight.
    fn sum(&self, values: &[i64], mu: i64, nu: i64) -> PartialSum {
        let mut sum = PartialSum::default();
        for (from, to) in &self.slots {
            let (mut best, mut which) = (0, usize::MAX);
            for at in *from..*to {
                let v = values[at] - mu * self.goods[at] + nu * self.weight[at];
                if v < best {
                    (best, which) = (v, at);
                }
            }
            if which != usize::MAX {
                sum.value += best;
                sum.goods += self.goods[which];
                sum.weight += self.weight[which];
            }
        }
        sum
    }

    /// Multipliers that lift a case's bound; none when it cannot be below `cut`.
    fn fit(
        &mut self,
        case: &Case,
        values: &[i64],
        free: PartialSum,
        at: usize,
        cut: i64,
    ) -> Option<(i64, i64)> {
        if free.goods >= case.goods_least
            && free.goods <= case.goods_most
            && free.weight <= case.weight_most
        {
            return Some((0, 0));
        }
        let mut best = (case.fixed + free.value, 0, 0);
        let (warm_mu, warm_nu) = self.multipliers[at];
        let mut nu = 0;
        for round in 0..2 {
            let goods = |s: &PartialSum| {
                if s.goods < case.goods_least {
                    1
                } else if s.goods > case.goods_most {
                    -1
                } else {
                    0
                }
            };
            let now = self.sum(values, best.1, nu);
            let side = if best.1 == 0 {
                goods(&now)
            } else {
                best.1.signum()
            };
            if side != 0 {
                let of = |m: i64| {
                    let s = self.sum(values, side * m, nu);
                    let limit = if side > 0 {
                        case.goods_least
                    } else {
                        case.goods_most
                    };
                    let over = if side > 0 {
                        s.goods < limit
                    } else {
                        s.goods > limit
                    };
                    (
                        case.fixed + s.value + side * m * limit - weight_part(nu, case),
                        over,
                    )
                };
                let (m, value) = lift(of, warm_mu.abs());
                if value > best.0 {
                    best = (value, side * m, nu);
                }
            }
            if best.0 >= cut {
                break;
            }
            let now = self.sum(values, best.1, nu);
            if case.weight_most >= NO_LIMIT
                || (now.weight <= case.weight_most && nu == 0)
                || round == 1
            {
                break;
            }
            let mu = best.1;
            let of = |n: i64| {
                let s = self.sum(values, mu, n);
                (
                    case.fixed + s.value + goods_part(mu, case) - n * case.weight_most,
                    s.weight > case.weight_most,
                )
            };
            let (n, value) = lift(of, warm_nu);
            if value > best.0 {
                best = (value, mu, n);
                nu = n;
            }
            if best.0 >= cut || nu == 0 {
                break;
            }
        }
        self.multipliers[at] = (best.1, best.2);
        (best.0 < cut).then_some((best.1, best.2))
    }

    /// Every package whose reduced value is at most `most`; false when there are more than `room`.
    pub(super) fn list(
        &mut self,
        cost: &dyn PackageCost,
        prices: &Prices,
        most: i64,
        room: usize,
        out: &mut Vec<Pack>,
    ) -> bool {
        if let Some(all) = &self.all {
            let near = all.iter().filter(|p| Seller::value(prices, p) <= most);
            out.extend(near.map(|p| Pack {
                seller: self.number,
                mask: p.mask,
                cost: p.cost,
                mass: p.mass,
                offers: self.ids_of(p).into_boxed_slice(),
            }));
            return out.len() <= room.saturating_mul(4);
        }
        let linear = self.linear(prices);
        let values: Vec<Vec<i64>> = self
            .classes
            .iter()
            .map(|c| c.iter().zip(&linear).map(|(c, l)| c + l).collect())
            .collect();
        let before = out.len();
        for at in 0..self.cases.len() {
            let case = self.cases[at].clone();
            let free = self.sum(&values[case.class], 0, 0);
            if case.fixed + free.value > most {
                continue;
            }
            let Some((mu, nu)) =
                self.fit(&case, &values[case.class], free, at, most.saturating_add(1))
            else {
                continue;
            };
            let mut walk = Walk::new(self, cost, &case, &values[case.class], &linear, mu, nu);
            walk.cut = most + 1;
            walk.room = room.saturating_sub(out.len() - before);
            walk.patience = cost.patience(self.number).saturating_mul(10);
            walk.listing = Some((at, &values, out));
            walk.step(0, 0, Sums::default());
            if walk.full {
                return false;
            }
        }
        true
    }
}

/// The multiplier with the highest bound: doubled until the limit is kept, then halved in.
fn lift(of: impl Fn(i64) -> (i64, bool), warm: i64) -> (i64, i64) {
    const MOST: i64 = 1 << 40;
    let (mut low, mut high) = (0, (warm + warm / 8).clamp(UNIT / 16, MOST));
    let mut best = (0, i64::MIN);
    let mut see = |m: i64| {
        let (value, over) = of(m);
        if value > best.1 {
            best = (m, value);
        }
        over
    };
    if warm > UNIT / 8 && see(warm - warm / 8) {
        low = warm - warm / 8;
    }
    while see(high) {
        low = high;
        if high >= MOST {
            return best;
        }
        high *= 4;
    }
    for _ in 0..10 {
        let middle = low + (high - low) / 2;
        if middle == low || high - low < UNIT / 512 {
            break;
        }
        if see(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    best
}

#[derive(Debug, Clone, Copy, Default)]
struct PartialSum {
    value: i64,
    goods: i64,
    weight: i64,
}
