//! Plans that are at hand before anything is searched: those the model begins with, the lightest, the cheapest by its parts, and for
//! each seller one that takes from it whatever it has. A search that is stopped at once still has a plan to show.

use super::gap::Target;
use super::model::{NO_LIMIT, UNIT, places};
use super::offers::Offers;
use super::repair::CandidatePlan;
use super::search::Search;
use super::seller::Prices;
use super::slopes::between;

/// How often plans are gone down from, at most.
const DESCENTS: usize = 12;

impl Search<'_> {
    /// Prices the plans that are at hand.
    pub(super) fn begin(&mut self) {
        for offers in &self.model.begin {
            self.note(offers);
        }
        let model = self.model;
        let light = self.greedy(|offer| model.offers[offer as usize].mass);
        let cheap = self.greedy(|offer| self.share(offer));
        self.note(&light);
        self.note(&cheap);
        for seller in 0..model.sellers {
            if self.watch.stop().is_some() && !self.stair.steps.is_empty() {
                return;
            }
            let own = self.greedy(|offer| {
                let own = model.offers[offer as usize].seller == seller;
                if own {
                    self.share(offer) / 4
                } else {
                    self.share(offer)
                }
            });
            self.note(&own);
        }
    }

    /// Goes downhill from the plans at hand at worths of mass that close in on a limit, each time from where the last one ended; then
    /// from the best that is within the limit. It proves nothing, and is what a search that is stopped early has to show: bounds of a
    /// large choice take longer.
    pub(super) fn go_down(&mut self, target: Target) {
        let mut range = (UNIT / 32, self.steepest());
        let Some(first) = self.stair.steps.last() else {
            return;
        };
        let Some(mut draft) = CandidatePlan::of(self.model, self.cost, &first.offers) else {
            return;
        };
        let mut prices = self.opening(1, 0);
        let free = matches!(target, Target::Cheaper(most) if most >= NO_LIMIT);
        for _ in 0..if free { 1 } else { DESCENTS } {
            if self.is_over() || range.1 - range.0 <= range.1 / 32 {
                break;
            }
            prices.mass = if free { 0 } else { between(range.0, range.1) };
            let offers = Offers {
                by_place: &self.by_place,
                sellers: &self.sellers,
                local: &self.local,
            };
            draft.descend(&prices, offers, &mut self.stair);
            let heavy = match target {
                Target::Cheaper(most) | Target::Below(most, _) => draft.mass > most,
                Target::Lighter(most) => draft.total <= most,
            };
            if heavy {
                range.0 = prices.mass;
            } else {
                range.1 = prices.mass;
            }
        }
        self.go_round(target, &prices);
    }

    /// Looks at all changes of one place of the best plan of a target, until none is better.
    fn go_round(&mut self, target: Target, prices: &Prices) {
        let mut last: Option<(i64, i64)> = None;
        while let Some(best) = target.best(&self.stair) {
            if last == Some((best.cost, best.mass)) || self.is_over() {
                return;
            }
            last = Some((best.cost, best.mass));
            let Some(draft) = CandidatePlan::of(self.model, self.cost, &best.offers) else {
                return;
            };
            let offers = Offers {
                by_place: &self.by_place,
                sellers: &self.sellers,
                local: &self.local,
            };
            draft.spread(prices, offers, &mut self.stair);
        }
    }

    /// What an offer adds to the cost at least; nothing that is known where its seller has no case to sell it in.
    pub(super) fn share(&self, offer: u32) -> i64 {
        let seller = &self.sellers[self.model.offers[offer as usize].seller];
        let local = seller.ids.iter().position(|id| *id == offer);
        let least = |local: usize| seller.classes.iter().map(|class| class[local]).min();
        local.and_then(least).unwrap_or(0)
    }

    /// Place by place the offer of the least figure, for each place it fills, that leaves alone what is filled.
    fn greedy(&self, figure: impl Fn(u32) -> i64) -> Vec<u32> {
        let mut taken = 0u64;
        let mut chosen = Vec::new();
        for place in places(self.model.required) {
            if taken & 1 << place != 0 {
                continue;
            }
            let free = |offer: &&u32| self.model.offers[**offer as usize].places & taken == 0;
            let each = |offer: &&u32| {
                let fills = self.model.offers[**offer as usize].places.count_ones();
                (figure(**offer) / i64::from(fills), **offer)
            };
            if let Some(best) = self.by_place[place].iter().filter(free).min_by_key(each) {
                taken |= self.model.offers[*best as usize].places;
                chosen.push(*best);
            }
        }
        chosen
    }

    fn note(&mut self, offers: &[u32]) {
        if let Some(plan) = CandidatePlan::of(self.model, self.cost, offers) {
            plan.note(&mut self.stair);
        }
    }
}
