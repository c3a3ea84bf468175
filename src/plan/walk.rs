//! The depth-first walk over one seller's places in one of its cases: the least package, or all that are near it.

use super::model::{Case, PackageCost, UNIT};
use super::seller::{Least, Pack, Seller};

/// A look at the clock costs more than a step, so there is one in this many.
const LOOK: u64 = 32;

/// What a partial package comes to.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Sums {
    pub(super) value: i64,
    pub(super) plain: i64,
    pub(super) goods: i64,
    pub(super) weight: i64,
}

/// The depth-first walk over one case.
pub(super) struct Walk<'a, 'o> {
    pub(super) seller: &'a Seller,
    pub(super) cost: &'a dyn PackageCost,
    pub(super) case: &'a Case,
    pub(super) linear: &'a [i64],
    /// Values with the multipliers in them.
    pub(super) values: Vec<i64>,
    /// Offers slot by slot, by ascending value.
    pub(super) sorted: Vec<u16>,
    /// The least of them from a slot on.
    pub(super) rest: Vec<i64>,
    /// The same without multipliers.
    pub(super) plain: &'a [i64],
    pub(super) plain_rest: Vec<i64>,
    pub(super) base: i64,
    pub(super) cut: i64,
    pub(super) taken: Vec<usize>,
    pub(super) best: Option<Least>,
    pub(super) listing: Option<(usize, &'o [Vec<i64>], &'o mut Vec<Pack>)>,
    pub(super) room: usize,
    /// Steps that are left before it gives up.
    pub(super) patience: u64,
    pub(super) full: bool,
    pub(super) ids: Vec<u32>,
}

impl<'a, 'o> Walk<'a, 'o> {
    pub(super) fn new(
        seller: &'a Seller,
        cost: &'a dyn PackageCost,
        case: &'a Case,
        plain: &'a [i64],
        linear: &'a [i64],
        mu: i64,
        nu: i64,
    ) -> Walk<'a, 'o> {
        let values: Vec<i64> = (0..plain.len())
            .map(|at| plain[at] - mu * seller.goods[at] + nu * seller.weight[at])
            .collect();
        let rest = rests(&seller.slots, &values);
        let mut sorted: Vec<u16> = (0..plain.len() as u16).collect();
        for (from, to) in &seller.slots {
            sorted[*from..*to].sort_unstable_by_key(|at| (values[*at as usize], *at));
        }
        let plain_rest = rests(&seller.slots, plain);
        let base = case.fixed + goods_part(mu, case) - weight_part(nu, case);
        Walk {
            seller,
            cost,
            case,
            linear,
            values,
            sorted,
            rest,
            plain,
            plain_rest,
            base,
            cut: 0,
            taken: Vec::with_capacity(seller.slots.len()),
            best: None,
            listing: None,
            room: usize::MAX,
            patience: u64::MAX,
            full: false,
            ids: Vec::with_capacity(seller.slots.len()),
        }
    }

    /// Goes on with one more slot; within a slot offers come by ascending value, so that the first that is too dear ends it.
    pub(super) fn step(&mut self, slot: usize, mask: u64, sums: Sums) {
        self.patience = self.patience.saturating_sub(1);
        let look = self.patience.is_multiple_of(LOOK);
        self.full |= self.patience == 0 || (look && self.cost.is_late());
        if self.full {
            return;
        }
        if slot == self.seller.slots.len() {
            if sums.goods >= self.case.goods_least {
                self.leaf(mask);
            }
            return;
        }
        let (from, to) = self.seller.slots[slot];
        let (rest, plain_rest) = (
            self.base + self.rest[slot + 1],
            self.case.fixed + self.plain_rest[slot + 1],
        );
        let still = self.case.goods_least - self.seller.most_goods[slot + 1];
        let mut none = false;
        for turn in from..=to {
            let at = if turn < to {
                self.sorted[turn] as usize
            } else {
                usize::MAX
            };
            let value = if turn < to { self.values[at] } else { i64::MAX };
            if value >= 0 && !none {
                none = true;
                if rest + sums.value < self.cut
                    && plain_rest + sums.plain < self.cut
                    && sums.goods >= still
                {
                    self.step(slot + 1, mask, sums);
                }
            }
            if turn == to || rest + sums.value + value >= self.cut {
                break;
            }
            let next = Sums {
                value: sums.value + value,
                plain: sums.plain + self.plain[at],
                goods: sums.goods + self.seller.goods[at],
                weight: sums.weight + self.seller.weight[at],
            };
            let fits = next.goods >= still
                && next.goods <= self.case.goods_most
                && next.weight <= self.case.weight_most;
            if fits && self.seller.mask[at] & mask == 0 && plain_rest + next.plain < self.cut {
                self.taken.push(at);
                self.step(slot + 1, mask | self.seller.mask[at], next);
                self.taken.pop();
            }
        }
    }

    pub(super) fn leaf(&mut self, mask: u64) {
        if self.taken.is_empty() {
            return;
        }
        self.ids.clear();
        self.ids
            .extend(self.taken.iter().map(|at| self.seller.ids[*at]));
        self.ids.sort_unstable();
        let Some(exact) = self.cost.exact(self.seller.number, &self.ids) else {
            return;
        };
        let value = exact * UNIT + self.taken.iter().map(|at| self.linear[*at]).sum::<i64>();
        let bound = self.case.fixed + self.taken.iter().map(|at| self.plain[*at]).sum::<i64>();
        debug_assert!(
            bound <= value || self.beyond(),
            "a case bounds a package above its exact cost"
        );
        if value >= self.cut {
            return;
        }
        if self.listing.is_some() {
            self.enlist(mask, exact);
        } else {
            self.cut = value;
            self.best = Some(Least {
                value,
                offers: self.ids.clone(),
            });
        }
    }

    /// Whether another case may be the one that bounds this package: only the least of all that hold must not be above it.
    pub(super) fn beyond(&self) -> bool {
        self.seller.cases.len() > 1
    }

    /// Lists a package once, at the first case that would reach it.
    pub(super) fn enlist(&mut self, mask: u64, exact: i64) {
        let seller = self.seller;
        let goods: i64 = self.taken.iter().map(|at| seller.goods[*at]).sum();
        let weight: i64 = self.taken.iter().map(|at| seller.weight[*at]).sum();
        let Some((case_at, values, out)) = &mut self.listing else {
            return;
        };
        let reached = seller.cases[..*case_at].iter().any(|c| {
            goods >= c.goods_least
                && goods <= c.goods_most
                && weight <= c.weight_most
                && c.fixed
                    + self
                        .taken
                        .iter()
                        .map(|at| values[c.class][*at])
                        .sum::<i64>()
                    < self.cut
        });
        if reached {
            return;
        }
        if self.room == 0 {
            self.full = true;
            return;
        }
        self.room -= 1;
        let mass = self.taken.iter().map(|at| seller.mass[*at]).sum();
        out.push(Pack {
            seller: seller.number,
            mask,
            cost: exact,
            mass,
            offers: self.ids.clone().into_boxed_slice(),
        });
    }
}

/// The least sum of values from each slot on.
fn rests(slots: &[(usize, usize)], values: &[i64]) -> Vec<i64> {
    let mut rest = vec![0; slots.len() + 1];
    for slot in (0..slots.len()).rev() {
        let (from, to) = slots[slot];
        rest[slot] = rest[slot + 1] + values[from..to].iter().copied().min().unwrap_or(0).min(0);
    }
    rest
}

pub(super) fn weight_part(nu: i64, case: &Case) -> i64 {
    if nu == 0 { 0 } else { nu * case.weight_most }
}

pub(super) fn goods_part(mu: i64, case: &Case) -> i64 {
    match mu.signum() {
        1 => mu * case.goods_least,
        -1 => mu * case.goods_most,
        _ => 0,
    }
}
