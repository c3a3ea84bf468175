//! A choice cut into choices that nothing couples: where offers ask for others or must agree at a joint, a bound place by place does
//! not see it. Each part keeps one value of a joint, or one answer to whether a place is filled by what an offer asks for; every plan
//! lies in one of them.

use super::model::{Cases, Model, Offer, PackageCost};
use super::watch::{Progress, Stopped, Watch};

/// Parts beyond which a choice is left whole.
const MOST: usize = 48;

/// A part of a choice: some of its offers, under numbers of their own.
pub(super) struct Part<'a> {
    pub(super) model: Model,
    /// The number in the whole of each of its offers.
    pub(super) whole: Vec<u32>,
    /// By seller, which of its offers in the whole are here.
    kept: Vec<Vec<usize>>,
    cost: &'a dyn PackageCost,
}

/// Some offers of a model, as far as they are cut.
#[derive(Clone)]
struct Cut {
    here: Vec<bool>,
    /// By joint, the value that is kept, where one was chosen.
    values: Vec<u64>,
}

/// The parts of a choice; none where it is not cut.
pub(super) fn parts<'a>(model: &Model, cost: &'a dyn PackageCost) -> Option<Vec<Part<'a>>> {
    let mut open = vec![Cut {
        here: vec![true; model.offers.len()],
        values: model.joints.clone(),
    }];
    let mut done: Vec<Cut> = Vec::new();
    while let Some(mut cut) = open.pop() {
        cut.clear(model);
        match cut.next(model) {
            Some(parts) => open.extend(parts),
            None => done.push(cut),
        }
        if open.len() + done.len() > MOST {
            return None;
        }
    }
    done.retain(|cut| cut.fills(model));
    (done.len() > 1).then(|| done.iter().map(|cut| cut.part(model, cost)).collect())
}

impl Cut {
    /// Takes out offers that nothing here can go with.
    fn clear(&mut self, model: &Model) {
        loop {
            let lacks = |at: &usize| {
                let offer = &model.offers[*at];
                let needs = offer.needs.iter();
                let mut bare =
                    needs.filter(|any| !any.iter().any(|other| self.here[*other as usize]));
                let joins = |(key, values): &(usize, u64)| self.values[*key] & values != 0;
                bare.next().is_some() || !offer.fits.iter().all(joins)
            };
            let Some(gone) = (0..self.here.len()).filter(|at| self.here[*at]).find(lacks) else {
                return;
            };
            self.here[gone] = false;
        }
    }

    /// The parts of a cut; none where nothing here is coupled any more, or cannot be cut.
    fn next(&self, model: &Model) -> Option<Vec<Cut>> {
        self.by_need(model).or_else(|| self.by_value(model))
    }

    /// Whether the place of what an offer asks for is filled by that, or by something else.
    fn by_need(&self, model: &Model) -> Option<Vec<Cut>> {
        for offer in self.offers(model) {
            for any in &offer.needs {
                let asked: Vec<usize> = any
                    .iter()
                    .map(|at| *at as usize)
                    .filter(|at| self.here[*at])
                    .collect();
                let place = asked
                    .iter()
                    .fold(u64::MAX, |all, at| all & model.offers[*at].places)
                    & model.required;
                if place == 0 {
                    continue;
                }
                let place = place & place.wrapping_neg();
                let there = |at: &usize| self.here[*at] && model.offers[*at].places & place != 0;
                let all: Vec<usize> = (0..self.here.len()).filter(there).collect();
                if all.len() == asked.len() {
                    continue;
                }
                let (mut with, mut without) = (self.clone(), self.clone());
                for at in all {
                    if asked.contains(&at) {
                        without.here[at] = false;
                    } else {
                        with.here[at] = false;
                    }
                }
                return Some(vec![with, without]);
            }
        }
        None
    }

    /// One part for each value that a joint still has.
    fn by_value(&self, model: &Model) -> Option<Vec<Cut>> {
        let key = (0..self.values.len()).find(|key| self.is_open(*key, model))?;
        let said = self.said(key, model);
        let values = super::model::places(said).map(|bit| {
            let mut part = self.clone();
            part.values[key] = 1 << bit;
            part
        });
        Some(values.collect())
    }

    /// Whether offers here may disagree about a joint: no value is one that all of them allow.
    fn is_open(&self, key: usize, model: &Model) -> bool {
        let fits = self.offers(model).flat_map(|offer| &offer.fits);
        let own = fits.filter(|(at, _)| *at == key);
        own.fold(self.values[key], |all, (_, values)| all & values) == 0
    }

    /// The values that offers here allow at a joint.
    fn said(&self, key: usize, model: &Model) -> u64 {
        let fits = self.offers(model).flat_map(|offer| &offer.fits);
        let own = fits.filter(|(at, _)| *at == key);
        own.fold(0, |all, (_, values)| all | values) & self.values[key]
    }

    fn offers<'m>(&'m self, model: &'m Model) -> impl Iterator<Item = &'m Offer> {
        model
            .offers
            .iter()
            .enumerate()
            .filter(|(at, _)| self.here[*at])
            .map(|(_, offer)| offer)
    }

    /// Whether there is an offer for every place that must be filled.
    fn fills(&self, model: &Model) -> bool {
        let filled = self.offers(model).fold(0, |all, offer| all | offer.places);
        filled & model.required == model.required
    }

    fn part<'a>(&self, model: &Model, cost: &'a dyn PackageCost) -> Part<'a> {
        let whole: Vec<u32> = (0..self.here.len())
            .filter(|at| self.here[*at])
            .map(|at| at as u32)
            .collect();
        let number = |at: &u32| whole.binary_search(at).ok().map(|own| own as u32);
        let mut offers: Vec<Offer> = self.offers(model).cloned().collect();
        for offer in &mut offers {
            for any in &mut offer.needs {
                *any = any.iter().filter_map(number).collect();
            }
        }
        let kept = (0..model.sellers).map(|seller| {
            let mine = (0..model.offers.len()).filter(|at| model.offers[*at].seller == seller);
            let here = mine.enumerate().filter(|(_, at)| self.here[*at]);
            here.map(|(local, _)| local).collect()
        });
        let mut part = Part {
            kept: kept.collect(),
            model: Model {
                offers,
                joints: self.values.clone(),
                begin: Vec::new(),
                ..model.clone()
            },
            whole,
            cost,
        };
        part.model.forget();
        part
    }
}

impl Model {
    /// Leaves out what every plan keeps: needs that whoever fills a place meets, and joints at which all agree.
    fn forget(&mut self) {
        let meets = |any: &Vec<u32>| {
            let place = any
                .iter()
                .fold(u64::MAX, |all, at| all & self.offers[*at as usize].places)
                & self.required;
            let place = place & place.wrapping_neg();
            let there = (0..)
                .zip(&self.offers)
                .filter(|(_, own)| own.places & place != 0);
            place != 0 && there.map(|(at, _)| at).all(|at: u32| any.contains(&at))
        };
        let needs: Vec<Vec<Vec<u32>>> = self
            .offers
            .iter()
            .map(|offer| {
                offer
                    .needs
                    .iter()
                    .filter(|any| !meets(any))
                    .cloned()
                    .collect()
            })
            .collect();
        let agreed: Vec<bool> = (0..self.joints.len())
            .map(|key| {
                let fits = self.offers.iter().flat_map(|offer| &offer.fits);
                let own = fits.filter(|(at, _)| *at == key);
                own.fold(self.joints[key], |all, (_, values)| all & values) != 0
            })
            .collect();
        for (offer, needs) in self.offers.iter_mut().zip(needs) {
            offer.needs = needs;
            offer.fits.retain(|(key, _)| !agreed[*key]);
        }
    }
}

impl Part<'_> {
    /// Offers of the part under their numbers in the whole.
    pub(super) fn in_whole(&self, offers: &[u32]) -> Vec<u32> {
        offers.iter().map(|at| self.whole[*at as usize]).collect()
    }
}

impl PackageCost for Part<'_> {
    fn exact(&self, seller: usize, offers: &[u32]) -> Option<i64> {
        self.cost.exact(seller, &self.in_whole(offers))
    }

    fn cases(&self, seller: usize) -> Cases {
        let mut all = self.cost.cases(seller);
        for class in &mut all.classes {
            *class = self.kept[seller]
                .iter()
                .map(|local| class[*local])
                .collect();
        }
        all
    }

    fn room(&self, seller: usize) -> usize {
        self.cost.room(seller)
    }

    fn is_late(&self) -> bool {
        self.cost.is_late()
    }

    fn patience(&self, seller: usize) -> u64 {
        self.cost.patience(seller)
    }
}

/// Passes on the clock and the best so far. What a part calls final, or bounds, is not so before the other parts are searched.
pub(super) struct Quiet<'a>(pub(super) &'a dyn Watch);

impl Watch for Quiet<'_> {
    fn stop(&self) -> Option<Stopped> {
        self.0.stop()
    }

    fn progress(&self, so_far: Progress) {
        self.0.progress(Progress {
            closed: 0,
            better: None,
            ..so_far
        });
    }
}
