//! Plans from relaxed packages: double places are cleared, empty ones filled, then each change of one place or one seller
//! that helps is made. Every plan priced on the way enters the staircase.

use super::model::{Model, PackageCost, places};
use super::offers::Offers;
use super::pareto::ParetoFront;
use super::seller::{Least, Prices};

/// A plan being changed.
pub(super) struct CandidatePlan<'a> {
    model: &'a Model,
    cost: &'a dyn PackageCost,
    /// By place: the offer, if any.
    pub(super) at: Vec<Option<u32>>,
    /// By seller, ascending.
    packages: Vec<Vec<u32>>,
    costs: Vec<i64>,
    pub(super) total: i64,
    pub(super) mass: i64,
}

/// What a change leaves.
struct Draft {
    /// Of each seller that it touches.
    packages: Vec<(usize, Vec<u32>)>,
    mass: i64,
}

impl<'a> CandidatePlan<'a> {
    /// Nothing chosen yet.
    pub(super) fn empty(model: &'a Model, cost: &'a dyn PackageCost) -> CandidatePlan<'a> {
        let none = vec![Vec::new(); model.sellers];
        CandidatePlan {
            model,
            cost,
            at: vec![None; model.places],
            packages: none,
            costs: vec![0; model.sellers],
            total: 0,
            mass: 0,
        }
    }

    /// A complete plan.
    pub(super) fn of(
        model: &'a Model,
        cost: &'a dyn PackageCost,
        offers: &[u32],
    ) -> Option<CandidatePlan<'a>> {
        let mut draft = CandidatePlan::empty(model, cost);
        draft.apply(&[], offers)?;
        Some(draft)
    }

    fn offer(&self, id: u32) -> &'a super::Offer {
        &self.model.offers[id as usize]
    }

    /// The chosen offers, ascending.
    pub(super) fn offers(&self) -> Vec<u32> {
        let mut all: Vec<u32> = self.packages.iter().flatten().copied().collect();
        all.sort_unstable();
        all
    }

    /// The package of a seller after a change.
    fn package_after(&self, seller: usize, out: &[u32], into: &[u32]) -> Vec<u32> {
        let mut package: Vec<u32> = self.packages[seller]
            .iter()
            .copied()
            .filter(|o| !out.contains(o))
            .collect();
        package.extend(
            into.iter()
                .copied()
                .filter(|o| self.offer(*o).seller == seller),
        );
        package.sort_unstable();
        package
    }

    fn cost_of(&self, seller: usize, package: &[u32]) -> Option<i64> {
        if package.is_empty() {
            Some(0)
        } else {
            self.cost.exact(seller, package)
        }
    }

    fn touched(&self, out: &[u32], into: &[u32]) -> Vec<usize> {
        let mut sellers: Vec<usize> = out
            .iter()
            .chain(into)
            .map(|o| self.offer(*o).seller)
            .collect();
        sellers.sort_unstable();
        sellers.dedup();
        sellers
    }

    /// The packages and the mass after a change.
    fn draft(&self, out: &[u32], into: &[u32]) -> Draft {
        let of = |seller: usize| (seller, self.package_after(seller, out, into));
        let mass = |ids: &[u32]| ids.iter().map(|o| self.offer(*o).mass).sum::<i64>();
        Draft {
            packages: self.touched(out, into).into_iter().map(of).collect(),
            mass: self.mass + mass(into) - mass(out),
        }
    }

    /// What a change comes to at least, by the bounds.
    fn at_least(&self, draft: &Draft, offers: Offers<'_>) -> i64 {
        let of = |(seller, package): &(usize, Vec<u32>)| {
            let least = if package.is_empty() {
                Some(0)
            } else {
                offers.at_least(self.model, *seller, package)
            };
            least.map_or(i64::MIN / 4, |least| least - self.costs[*seller])
        };
        let changes = draft.packages.iter().map(of);
        changes.fold(self.total, i64::saturating_add)
    }

    /// What a change comes to, in all.
    fn priced(&self, draft: &Draft) -> Option<i64> {
        let mut cost = self.total;
        for (seller, package) in &draft.packages {
            cost += self.cost_of(*seller, package)? - self.costs[*seller];
        }
        Some(cost)
    }

    fn apply(&mut self, out: &[u32], into: &[u32]) -> Option<()> {
        for seller in self.touched(out, into) {
            let package = self.package_after(seller, out, into);
            let cost = self.cost_of(seller, &package)?;
            self.total += cost - self.costs[seller];
            self.costs[seller] = cost;
            self.packages[seller] = package;
        }
        for o in out {
            self.mass -= self.offer(*o).mass;
            places(self.offer(*o).places).for_each(|p| self.at[p] = None);
        }
        for o in into {
            self.mass += self.offer(*o).mass;
            places(self.offer(*o).places).for_each(|p| self.at[p] = Some(*o));
        }
        Some(())
    }

    fn is_whole(&self) -> bool {
        places(self.model.required).all(|p| self.at[p].is_some())
    }

    /// Puts a whole plan on the staircase if it belongs there.
    pub(super) fn note(&self, stair: &mut ParetoFront) {
        if self.is_whole() && stair.wants(self.total, self.mass) {
            let offers = self.offers();
            if self.model.holds(&offers) {
                stair.add(self.total, self.mass, offers);
            }
        }
    }

    /// Takes relaxed packages, clears places that are filled twice and fills empty ones.
    pub(super) fn repair(
        &mut self,
        relaxed: &[Least],
        prices: &Prices,
        offers: Offers<'_>,
    ) -> Option<()> {
        let mut taken = 0u64;
        let mut chosen = Vec::new();
        let mut order: Vec<&Least> = relaxed.iter().filter(|l| !l.offers.is_empty()).collect();
        order.sort_by_key(|l| l.value);
        for offer in order.iter().flat_map(|l| &l.offers) {
            let mask = self.offer(*offer).places;
            if taken & mask == 0 {
                taken |= mask;
                chosen.push(*offer);
            }
        }
        self.apply(&[], &chosen)?;
        self.fill(prices, offers, u64::MAX, usize::MAX)
    }

    /// Fills empty places one by one with the offer that adds least value.
    fn fill(&mut self, prices: &Prices, offers: Offers<'_>, within: u64, but: usize) -> Option<()> {
        for place in places(self.model.required & within) {
            if self.at[place].is_some() {
                continue;
            }
            let fits = |o: &&u32| {
                places(self.offer(**o).places).all(|p| self.at[p].is_none())
                    && self.offer(**o).seller != but
            };
            let mut best: Option<(i64, u32)> = None;
            for o in offers.by_place[place].iter().filter(fits) {
                let draft = self.draft(&[], &[*o]);
                let least = self.at_least(&draft, offers);
                if best.is_some_and(|(value, _)| prices.value(least, draft.mass) > value) {
                    continue;
                }
                if let Some(cost) = self.priced(&draft) {
                    let own = (prices.value(cost, draft.mass), *o);
                    best = Some(best.map_or(own, |best| best.min(own)));
                }
            }
            let (_, best) = best?;
            self.apply(&[], &[best])?;
        }
        Some(())
    }

    /// Offers that go when `o` comes, and the offers that then fill what they leave empty.
    fn swap(&self, o: u32, offers: Offers<'_>, prices: &Prices) -> Option<(Vec<u32>, Vec<u32>)> {
        let mask = self.offer(o).places;
        let mut out: Vec<u32> = places(mask).filter_map(|p| self.at[p]).collect();
        out.sort_unstable();
        out.dedup();
        let mut into = vec![o];
        let mut left =
            out.iter().fold(0, |m, x| m | self.offer(*x).places) & !mask & self.model.required;
        while left != 0 {
            let place = left.trailing_zeros() as usize;
            let free = |x: &&u32| self.offer(**x).places & !left == 0;
            let by_mass = |x: &&u32| {
                (
                    prices.mass * self.offer(**x).mass
                        + prices.cost * super::model::UNIT * self.offer(**x).goods,
                    **x,
                )
            };
            let next = *offers.by_place[place]
                .iter()
                .filter(free)
                .min_by_key(by_mass)?;
            left &= !self.offer(next).places;
            into.push(next);
        }
        Some((out, into))
    }

    fn allowed(&self, out: &[u32], into: &[u32]) -> bool {
        if self.model.is_plain() {
            return true;
        }
        let offers = self.offers().into_iter();
        let mut after: Vec<u32> = offers.filter(|o| !out.contains(o)).collect();
        after.extend(into);
        self.model.holds(&after)
    }

    /// Prices every change of one place that its bounds leave a chance; each goes to the staircase. Gives the best by value, if one is
    /// better than the plan as it is.
    fn neighbours(
        &self,
        prices: &Prices,
        offers: Offers<'_>,
        stair: &mut ParetoFront,
    ) -> Option<(i64, Vec<u32>, Vec<u32>)> {
        let now = prices.value(self.total, self.mass);
        let mut best: Option<(i64, Vec<u32>, Vec<u32>)> = None;
        for o in 0..self.model.offers.len() as u32 {
            if self.is_late(stair) {
                return best;
            }
            if places(self.offer(o).places).any(|p| self.at[p] == Some(o)) {
                continue;
            }
            let Some((out, into)) = self.swap(o, offers, prices) else {
                continue;
            };
            let draft = self.draft(&out, &into);
            let promising = |cost: i64, stair: &ParetoFront| {
                let value = prices.value(cost, draft.mass);
                let better = value < best.as_ref().map_or(now, |best| best.0);
                (value, better, stair.wants(cost, draft.mass))
            };
            let (_, better, wanted) = promising(self.at_least(&draft, offers), stair);
            if !better && !wanted {
                continue;
            }
            let Some(cost) = self.priced(&draft) else {
                continue;
            };
            let (value, better, wanted) = promising(cost, stair);
            if (better || wanted) && self.allowed(&out, &into) {
                if wanted {
                    let mut chosen = self.offers();
                    chosen.retain(|x| !out.contains(x));
                    chosen.extend(&into);
                    stair.add(cost, draft.mass, chosen);
                }
                if better {
                    best = Some((value, out, into));
                }
            }
        }
        best
    }

    /// Whether the time is up, with a plan in hand.
    fn is_late(&self, stair: &ParetoFront) -> bool {
        !stair.steps.is_empty() && self.cost.is_late()
    }

    /// Steepest descent by value.
    pub(super) fn descend(
        &mut self,
        prices: &Prices,
        offers: Offers<'_>,
        stair: &mut ParetoFront,
    ) -> Option<()> {
        if !self.is_whole() {
            return None;
        }
        self.note(stair);
        while !self.is_late(stair) {
            if let Some((_, out, into)) = self.neighbours(prices, offers, stair) {
                self.apply(&out, &into)?;
                continue;
            }
            let Some(closed) = self.without_a_seller(prices, offers) else {
                return Some(());
            };
            *self = closed;
            self.note(stair);
        }
        Some(())
    }

    /// The plan's whole neighbourhood, for the staircase.
    pub(super) fn spread(&self, prices: &Prices, offers: Offers<'_>, stair: &mut ParetoFront) {
        self.neighbours(prices, offers, stair);
    }

    /// The best plan that buys nothing from one of the sellers, if it is better.
    fn without_a_seller(&self, prices: &Prices, offers: Offers<'_>) -> Option<CandidatePlan<'a>> {
        let now = prices.value(self.total, self.mass);
        let mut best: Option<(i64, CandidatePlan<'a>)> = None;
        for seller in 0..self.model.sellers {
            if self.packages[seller].is_empty() || self.packages[seller].len() > 6 {
                continue;
            }
            let mut other = CandidatePlan {
                at: self.at.clone(),
                packages: self.packages.clone(),
                costs: self.costs.clone(),
                ..CandidatePlan::empty(self.model, self.cost)
            };
            (other.total, other.mass) = (self.total, self.mass);
            let out = self.packages[seller].clone();
            if other.apply(&out, &[]).is_none()
                || other.fill(prices, offers, u64::MAX, seller).is_none()
            {
                continue;
            }
            let value = prices.value(other.total, other.mass);
            if value < now
                && best.as_ref().is_none_or(|b| value < b.0)
                && self.model.holds(&other.offers())
            {
                best = Some((value, other));
            }
        }
        best.map(|(_, draft)| draft)
    }
}
