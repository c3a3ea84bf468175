//! Cases: goods are cut wherever the reading asks for it, and each part is read in all ways that it may be.

use super::offers::Offers;
use super::weights::{self, Law, View, Weight};
use super::{LeastCase, NoBounds, SellerBounds};
use crate::landed::price::Reading;
use crate::rules::bounds::{
    AskedFor, Due, Effort, Frame, LawForm, Lin, Offered, SellerForms, Stop, Unbounded,
};

/// Cases of one weight beyond which no more are split.
const MOST: usize = 300;

/// Comparisons that are read both ways within one case.
const FORKS: usize = 5;

/// Those of the seller's side, so that not too many readings of the law follow.
const SELLERS_FORKS: usize = 2;

/// A range of goods, in minor units.
type Range = (i64, i64);

/// All cases of a seller's offers.
pub(super) fn of(offers: &Offers<'_>) -> Result<SellerBounds, NoBounds> {
    let mut finder = Finder {
        typed: offers.forms(Reading::Typed)?,
        cases: Vec::new(),
        loose: Vec::new(),
        offers,
    };
    for weight in weights::of(offers)? {
        finder.of_weight(&weight)?;
    }
    finder.loose.sort_unstable();
    finder.loose.dedup();
    Ok(SellerBounds {
        goods: offers.goods(),
        weight: offers.weights()?,
        cases: finder.cases,
        loose: finder.loose,
    })
}

struct Finder<'o, 'a> {
    offers: &'o Offers<'a>,
    /// The seller's side with prices as they were typed.
    typed: SellerForms,
    cases: Vec<LeastCase>,
    loose: Vec<Unbounded>,
}

/// The packages of a range, and how much may be asked for.
struct Within<'f> {
    frame: &'f Frame,
    offered: &'f Offered,
    splits: bool,
}

impl Within<'_> {
    fn effort(&self, forks: usize) -> Effort {
        Effort {
            splits: self.splits,
            forks,
        }
    }
}

impl Finder<'_, '_> {
    /// The cases of a weight: its goods are cut where a reading asks for it, and cut again.
    fn of_weight(&mut self, weight: &Weight) -> Result<(), NoBounds> {
        let offered = self.offers.offered(&weight.carriage);
        let mut open = vec![self.offers.goods_ends()];
        let mut split = 0;
        while let Some(range) = open.pop() {
            let frame = self.offers.all.within(range);
            if weight.is_beyond(frame.ends(&self.offers.packed)?) {
                continue;
            }
            let within = Within {
                frame: &frame,
                offered: &offered,
                splits: split < MOST,
            };
            match self.of_range(weight, &within) {
                Ok(sums) => self.cases.extend(sums.into_iter().map(|sum| LeastCase {
                    goods: range,
                    weight_most: weight.most,
                    fixed: sum.fixed,
                    by_offer: self.offers.by_offer(|line| sum.of(line)),
                })),
                Err(Stop::Split(cuts)) => {
                    split += cuts.len();
                    open.extend(parts_of(range, &cuts));
                }
                Err(Stop::Unbounded(why)) => return Err(why.into()),
                Err(Stop::Fork(_)) => return Err("a comparison is read neither way".into()),
            }
        }
        Ok(())
    }

    /// What packages of a range cost at least, read in all ways.
    fn of_range(&mut self, weight: &Weight, within: &Within<'_>) -> Result<Vec<Lin>, Stop> {
        let mut found = Vec::new();
        for view in weight.views.iter() {
            self.of_view(view, within, &mut found)?;
        }
        if weight.views.is_empty() {
            for asked in
                self.typed
                    .asked(within.frame, within.offered, within.effort(SELLERS_FORKS))?
            {
                found.push(self.cost(&self.typed, (&asked, None), within)?);
            }
        }
        Ok(found)
    }

    /// The same as customs may see it. Prices are read without the tax that they hold where all is taxed at the sale, and as
    /// typed elsewhere.
    fn of_view(
        &mut self,
        view: &View,
        within: &Within<'_>,
        found: &mut Vec<Lin>,
    ) -> Result<(), Stop> {
        let mut typed = view.net.is_none();
        if let Some(net) = &view.net {
            for asked in net.asked(within.frame, within.offered, within.effort(SELLERS_FORKS))? {
                for due in self.dues(&view.laws, &asked, within)? {
                    typed |= due.all_at_sale != Some(true);
                    if due.all_at_sale != Some(false) {
                        found.push(self.cost(net, (&asked, Some(&due)), within)?);
                    }
                }
            }
        }
        if typed {
            for asked in
                self.typed
                    .asked(within.frame, within.offered, within.effort(SELLERS_FORKS))?
            {
                for due in self.dues(&view.laws, &asked, within)? {
                    found.push(self.cost(&self.typed, (&asked, Some(&due)), within)?);
                }
            }
        }
        Ok(())
    }

    /// All that may be due on the seller's price: by the digits that cost the most, and by others where the law may tell them
    /// apart.
    fn dues(
        &mut self,
        laws: &[Law],
        asked: &AskedFor,
        within: &Within<'_>,
    ) -> Result<Vec<Due>, Stop> {
        let mut found: Vec<Due> = Vec::new();
        for law in laws {
            let dues = self.dues_of(law, asked, within)?;
            let settled = |due: &Due| due.settled.iter().all(Option::is_some);
            let mut pairs = found.iter().zip(&dues);
            let alike = found.len() == dues.len()
                && pairs.all(|(one, other)| settled(one) && one.settled == other.settled);
            if !alike {
                found.extend(dues);
            }
        }
        Ok(found)
    }

    fn dues_of(
        &mut self,
        law: &Law,
        asked: &AskedFor,
        within: &Within<'_>,
    ) -> Result<Vec<Due>, Stop> {
        let mut found = Vec::new();
        for form in law.forms(asked.free) {
            let Some(form) = form else {
                self.loose
                    .push("a row looks at more of a parcel than its lines one by one");
                found.push(Due::unknown(within.frame)?);
                continue;
            };
            let given = (asked, within.offered);
            let (dues, why) = form.due(within.frame, given, within.effort(FORKS))?;
            self.loose.extend(why);
            found.extend(dues);
        }
        Ok(found)
    }

    /// The least that is paid, at the seller's and at the door unless the seller pays there.
    fn cost(
        &self,
        forms: &SellerForms,
        (asked, due): (&AskedFor, Option<&Due>),
        within: &Within<'_>,
    ) -> Result<Lin, Stop> {
        let paid = forms.paid(within.frame, (asked, due), within.offered.market)?;
        match due.filter(|_| !self.offers.parcel.consignment.pays_duty()) {
            Some(due) => Ok(due.beside(&paid)?.least),
            None => Ok(paid.least),
        }
    }
}

impl Law {
    /// Those that may hold where goods travel free, or do not, or nobody knows.
    fn forms(&self, free: Option<bool>) -> impl Iterator<Item = Option<&LawForm>> {
        let plain = self.alike || free != Some(false);
        let charged = !self.alike && free != Some(true);
        let both = [(plain, &self.free), (charged, &self.charged)];
        both.into_iter()
            .filter_map(|(holds, form)| holds.then_some(form.as_ref()))
    }
}

/// The parts of a range above each of some cuts.
fn parts_of(range: Range, cuts: &[i64]) -> Vec<Range> {
    let starts = std::iter::once(range.0).chain(cuts.iter().map(|cut| cut + 1));
    let ends = cuts.iter().copied().chain([range.1]);
    starts.zip(ends).collect()
}
