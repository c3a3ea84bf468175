//! Plans that are at hand before anything is searched: those the model begins with, the lightest, the cheapest by its parts, and for
//! each seller one that takes from it whatever it has. A search that is stopped at once still has a plan to show.

use super::model::places;
use super::repair::CandidatePlan;
use super::search::Search;

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

    /// What an offer adds to the cost at least.
    fn share(&self, offer: u32) -> i64 {
        let seller = &self.sellers[self.model.offers[offer as usize].seller];
        let local = seller.ids.iter().position(|id| *id == offer).unwrap_or(0);
        seller
            .classes
            .iter()
            .map(|class| class[local])
            .min()
            .unwrap_or(0)
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
