//! What is offered at each place, and what a package of it costs at least, at a glance: most changes of a plan are no better by their
//! bounds already, and need no price.

use super::model::{Model, UNIT};
use super::seller::Seller;

/// The offers of a choice, as plans that are being changed look at them.
#[derive(Clone, Copy)]
pub(super) struct Offers<'a> {
    pub(super) by_place: &'a [Vec<u32>],
    pub(super) sellers: &'a [Seller],
    /// The number of each offer among its seller's.
    pub(super) local: &'a [usize],
}

impl Offers<'_> {
    /// What a package costs at least, in minor units; none where no case of its seller holds for it.
    pub(super) fn at_least(&self, model: &Model, seller: usize, package: &[u32]) -> Option<i64> {
        let own = self.sellers.get(seller)?;
        let of = |id: &u32| &model.offers[*id as usize];
        let (goods, weight) = package.iter().fold((0, 0), |(goods, weight), id| {
            (goods + of(id).goods, weight + of(id).weight)
        });
        let holding = own.cases.iter().filter(|case| {
            (case.goods_least..=case.goods_most).contains(&goods) && weight <= case.weight_most
        });
        let sums = holding.map(|case| {
            let class = &own.classes[case.class];
            let shares = package.iter().map(|id| class[self.local[*id as usize]]);
            shares.fold(case.fixed, i64::saturating_add)
        });
        Some(sums.min()?.div_euclid(UNIT))
    }
}

/// The number of each offer among its seller's.
pub(super) fn local_numbers(model: &Model, sellers: &[Seller]) -> Vec<usize> {
    let mut local = vec![0; model.offers.len()];
    for seller in sellers {
        for (at, id) in seller.ids.iter().enumerate() {
            local[*id as usize] = at;
        }
    }
    local
}
