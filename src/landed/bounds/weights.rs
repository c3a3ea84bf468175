//! Weight cut at the steps of freight: what carrying costs between two of them, and the law of parcels so heavy.

use std::rc::Rc;

use super::NoBounds;
use super::offers::Offers;
use crate::book::Freight;
use crate::landed::freight::{charged_mass, price};
use crate::landed::price::{Reading, ruled_freight, sellers_price, volume};
use crate::rules::Parcel;
use crate::rules::bounds::{Between, LawForm, Nano, SellerForms, around};
use crate::tables::FreightStep;
use crate::units::{Dec, Grams, Mode, Overflow};

/// Kilograms beyond the last step of a schedule up to which each has a case of its own.
const KILOGRAMS: u32 = 20;

/// Packages within some weight.
pub(super) struct Weight {
    /// The most packed mass of the offers in tenths of grams; none for any.
    pub(super) most: Option<i64>,
    /// Billionths of grams above which, and up to which, all lines together weigh; none where nothing weighs less.
    above: Option<Nano>,
    up_to: Nano,
    /// What the seller asks for carrying, unless it is free.
    pub(super) carriage: Between,
    /// The ways in which customs may see the lines; none where they cross no border.
    pub(super) views: Rc<[View]>,
}

impl Weight {
    /// Whether no package can weigh so much of which the packed mass has these ends.
    pub(super) fn is_beyond(&self, (lightest, heaviest): (Nano, Nano)) -> bool {
        lightest > self.up_to || self.above.is_some_and(|above| heaviest <= above)
    }
}

/// One way in which customs may see the lines.
pub(super) struct View {
    /// With the digits that cost the most, and with the lines' own where those are others.
    pub(super) laws: Vec<Law>,
    /// The seller's side where prices are read without the tax that they hold.
    pub(super) net: Option<SellerForms>,
}

/// The law of lines: where goods travel free, and where the mass was charged for, which differs where a rule has freight of its
/// own. None where a form cannot leave open which lines are there.
pub(super) struct Law {
    pub(super) free: Option<LawForm>,
    pub(super) charged: Option<LawForm>,
    /// Whether both are the same, and only the first is there.
    pub(super) alike: bool,
}

/// A range of packed mass: above the first, up to the second.
type Range = (Dec, Dec);

/// All weights that packages may have.
pub(super) fn of(offers: &Offers<'_>) -> Result<Vec<Weight>, NoBounds> {
    let (sure, heaviest) = offers.mass_ends()?;
    let cutter = Cutter::new(offers)?;
    let limits = cutter.limits(heaviest)?;
    let mut views: Option<Rc<[View]>> = None;
    let mut found = Vec::new();
    let mut before = Dec::ZERO;
    for limit in limits {
        let range = (before, limit);
        before = limit;
        let most = limit.minus(sure)?.round_to(1, Mode::Ceiling);
        let most = most.small_units(1).ok_or("a mass is too large")?;
        if most < 0 {
            continue;
        }
        let own = match views.clone().filter(|_| cutter.ruled.is_empty()) {
            Some(same) => same,
            None => cutter.views(range)?,
        };
        views = Some(Rc::clone(&own));
        let above = around(range.0)?.0;
        found.push(Weight {
            above: Some(above).filter(|_| !found.is_empty()),
            up_to: around(limit)?.1,
            most: Some(most).filter(|_| limit < heaviest),
            carriage: cutter.carriage(range)?,
            views: own,
        });
    }
    Ok(found)
}

struct Cutter<'o, 'a> {
    offers: &'o Offers<'a>,
    /// The steps of the schedule that the seller goes by.
    steps: Vec<&'a FreightStep>,
    /// Those of each schedule that a rule names.
    ruled: Vec<(String, Vec<&'a FreightStep>)>,
    /// Cubic centimetres of the boxes that come anyway, and of all.
    volumes: (Dec, Dec),
}

impl<'o, 'a> Cutter<'o, 'a> {
    fn new(offers: &'o Offers<'a>) -> Result<Cutter<'o, 'a>, NoBounds> {
        let own = &offers.parcel.consignment;
        let (dispatch, channel) = (own.dispatch.code(), own.channel.name());
        let jurisdiction = offers.parcel.jurisdiction;
        let schedule = |name: &str, day| jurisdiction.schedule(name, dispatch, channel, day);
        let steps = offers.parcel.steps();
        if steps.as_ref().is_some_and(Vec::is_empty) {
            return Err("the schedule has no step".into());
        }
        let program = offers
            .parcel
            .wide
            .as_ref()
            .map(|wide| &wide.prepared.program);
        let names = program.into_iter().flat_map(|program| program.schedules());
        let ruled = names.map(|name| (name.to_owned(), schedule(name, own.arrival)));
        Ok(Cutter {
            steps: steps.unwrap_or_default(),
            ruled: ruled.collect(),
            volumes: (volume(&offers.sure_rows())?, volume(&own.rows)?),
            offers,
        })
    }

    /// Packed masses at which any price of carrying may change, in their order; the last is the heaviest.
    fn limits(&self, heaviest: Dec) -> Result<Vec<Dec>, NoBounds> {
        let mut found = Vec::new();
        for limit in ends_of(&self.steps)? {
            found.push(self.packed_below(limit)?);
        }
        for (_, steps) in &self.ruled {
            for limit in ends_of(steps)? {
                // rules go by the mass that was charged for, or by the plain one where goods travel free
                found.extend([limit, self.packed_below(limit)?]);
            }
        }
        found.retain(|limit| limit.is_positive() && *limit < heaviest);
        found.push(heaviest);
        found.sort_unstable();
        found.dedup();
        Ok(found)
    }

    /// The packed mass for which the seller's schedule charges a mass: without what it adds for packing.
    fn packed_below(&self, charged: Dec) -> Result<Dec, Overflow> {
        let Some(first) = self.steps.first() else {
            return Ok(charged);
        };
        let share = Dec::HUNDRED.plus(first.packing_percent)?;
        let beside = charged.minus(first.packing_g)?;
        beside.times(Dec::HUNDRED)?.over(share)
    }

    /// What the seller asks for carrying packages of a range.
    fn carriage(&self, (above, up_to): Range) -> Result<Between, NoBounds> {
        let Some(first) = self.steps.first() else {
            return Ok(match &self.offers.parcel.consignment.freight {
                Freight::Amount(amount) => Between::of(*amount)?,
                _ => Between::default(),
            });
        };
        let low = charged_mass(&self.steps, above, self.volumes.0)?;
        let high = charged_mass(&self.steps, up_to, self.volumes.1)?;
        let (least, most) = prices_within(&self.steps, (low, high))?;
        let (currency, day) = (
            self.offers.parcel.currency,
            self.offers.parcel.consignment.ordered,
        );
        let money = |price: Dec| {
            let jurisdiction = self.offers.parcel.jurisdiction;
            sellers_price(price, first.currency, (currency, day), jurisdiction)
        };
        let (least, _) = around(money(least)?.amount())?;
        let (_, most) = around(money(most)?.amount())?;
        Ok(Between::ends(least, most))
    }

    /// How customs may see packages of a range.
    fn views(&self, range: Range) -> Result<Rc<[View]>, NoBounds> {
        let Some(wide) = &self.offers.parcel.wide else {
            return Ok(Rc::new([]));
        };
        let program = &wide.prepared.program;
        let mut found = Vec::new();
        for (dearest, own) in &wide.parcels {
            let laws = std::iter::once(dearest).chain(own);
            let net = if self.offers.parcel.holds_sale_tax() {
                let percents = program.sale_tax_rates(dearest)?;
                Some(self.offers.forms(Reading::Net(&percents))?)
            } else {
                None
            };
            found.push(View {
                laws: laws
                    .map(|parcel| self.law(parcel, range))
                    .collect::<Result<_, _>>()?,
                net,
            });
        }
        Ok(found.into())
    }

    /// The law of packages of a range.
    fn law(&self, parcel: &Parcel, (_, up_to): Range) -> Result<Law, NoBounds> {
        let boxed = self.volumes.1.is_positive();
        let by_volume = |step: &&FreightStep| step.volumetric_divisor.is_some();
        let unknown = self
            .ruled
            .iter()
            .any(|(_, steps)| steps.iter().any(|step| step.pro_rata))
            || (boxed && !self.ruled.is_empty() && self.steps.first().is_some_and(by_volume));
        let charged = charged_mass(&self.steps, up_to, Dec::ZERO)?;
        let alike = self.ruled.is_empty() || charged == up_to;
        let of = |mass: Dec| {
            if unknown {
                return Ok(None);
            }
            self.lowered(parcel, mass)
        };
        Ok(Law {
            free: of(up_to)?,
            charged: if alike { None } else { of(charged)? },
            alike,
        })
    }

    fn lowered(&self, parcel: &Parcel, mass: Dec) -> Result<Option<LawForm>, NoBounds> {
        let mut parcel = parcel.clone();
        for (name, _) in &self.ruled {
            let (consignment, jurisdiction) = (
                &self.offers.parcel.consignment,
                self.offers.parcel.jurisdiction,
            );
            // a parcel for which there is no price is refused, and anything may be said of what it costs
            let Ok(price) = ruled_freight(name, consignment, jurisdiction, Grams(mass)) else {
                return Ok(None);
            };
            parcel.schedules.insert(name.clone(), price);
        }
        self.offers.law(&parcel)
    }
}

/// Masses at which the price of a schedule changes, the first kilograms beyond its last step among them.
fn ends_of(steps: &[&FreightStep]) -> Result<Vec<Dec>, Overflow> {
    let mut found: Vec<Dec> = steps.iter().filter_map(|step| step.up_to_g).collect();
    let last = steps.last().filter(|last| last.extra_per_kg.is_some());
    if let Some(up_to) = last.and_then(|last| last.up_to_g) {
        for kilogram in 1..=KILOGRAMS {
            found.push(up_to.plus(Dec::THOUSAND.times(Dec::from(kilogram))?)?);
        }
    }
    Ok(found)
}

/// The least and the most that a schedule charges for masses above one and up to another. A heavier parcel than it reaches can
/// only be sent where it is free, so that any price may stand for it.
fn prices_within(steps: &[&FreightStep], (low, high): Range) -> Result<Range, Overflow> {
    // between this and the end of a step no mass is told
    let beyond = |mass: Dec| mass.plus(Dec::new(1, 6));
    let mut masses = vec![beyond(low)?, high];
    for end in ends_of(steps)? {
        if end > low && end < high {
            masses.extend([end, beyond(end)?]);
        }
    }
    let mut found = Vec::new();
    for mass in masses {
        found.extend(price(steps, mass)?);
    }
    let reached = found.iter().copied().min().zip(found.iter().copied().max());
    let dearest = steps
        .iter()
        .map(|step| step.price)
        .max()
        .unwrap_or(Dec::ZERO);
    let (least, most) = reached.unwrap_or((dearest, dearest));
    let by_gram = steps.iter().any(|step| step.pro_rata);
    // a price by the gram is told for the first millionth of a gram above
    let less = if by_gram { Dec::new(1, 2) } else { Dec::ZERO };
    Ok((least.minus(less)?.max(Dec::ZERO), most))
}
