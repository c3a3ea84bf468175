//! What lines of one seller, country of dispatch and currency share, and what the rules see of it: settled once.

use super::carriage::FreightPlan;
use super::day::Day;
use super::offer::{Offer, bad};
use super::sales::{SalePrograms, SaleShape};
use super::{BadLine, Setting, number};
use crate::book::{Channel, Freight, Included, Insurance, Remedies, Seller, Sender};
use crate::landed::Jurisdiction;
use crate::rules::{Handling, Line, Parcel, Payer};
use crate::tables::RowRef;
use crate::units::{Country, Currency, Grams, HomeMoney, Lookup, Percent, Rate, digest};
use std::sync::Arc;

/// What lines share.
pub(super) struct Terms<'a> {
    /// The seller's name, the country and the currency as written, one behind the other.
    text: Vec<u8>,
    /// Where the second and the third begin.
    parts: (usize, usize),
    pub(super) seller: Option<&'a Seller>,
    pub(super) currency: Currency,
    pub(super) digits: u32,
    pub(super) dispatch: Country,
    pub(super) home: bool,
    pub(super) transit: u32,
    pub(super) free_over: Option<i64>,
    /// What insuring costs, in minor units or in ten-thousandths of a percent.
    pub(super) premium: i64,
    /// What the seller asks and is paid.
    pub(super) programs: Arc<SalePrograms>,
    pub(super) channel: Channel,
    /// Whether whole numbers are tried at all.
    pub(super) plain: bool,
    /// What the rules see of it.
    pub(super) frame: u32,
    /// Which currency and time on the way.
    pub(super) money: u32,
    /// By the days on which freight changes.
    plans: Vec<(u32, Option<FreightPlan>)>,
}

/// A consignment as rules see it, without its goods and its day.
#[derive(Clone, PartialEq)]
pub(super) struct Frame {
    dispatch: Country,
    channel: Channel,
    sender: Sender,
    collects_tax: bool,
    terms: String,
    currency: Currency,
    /// The seller's own fee: the percentage and the least; whose row gives it says nothing to the rules.
    handling: Option<(Percent, HomeMoney)>,
}

/// More terms than this are not kept: memory does not grow with the list.
const MOST: usize = 1 << 13;

/// All terms met so far.
#[derive(Default)]
pub(super) struct AllTerms<'a> {
    known: Lookup,
    terms: Vec<Terms<'a>>,
    frames: Vec<Frame>,
    moneys: Vec<(Currency, u32)>,
    programs: Vec<(SaleShape, Arc<SalePrograms>)>,
}

impl<'a> AllTerms<'a> {
    /// Where the terms of a line stand, made when it is the first of its kind.
    #[inline(always)]
    #[expect(
        clippy::inline_always,
        reason = "once for each line, and found at the first look"
    )]
    pub(super) fn find(
        &mut self,
        offer: &Offer<'_>,
        setting: &Setting<'a>,
        jurisdiction: &Jurisdiction<'_>,
    ) -> Result<usize, BadLine> {
        let mut key = digest(
            offer.name,
            digest(offer.currency, digest(offer.dispatch, 1)),
        )
        .max(1);
        while let Some(at) = self.known.get(key) {
            let at = usize::try_from(at).unwrap_or(usize::MAX);
            if self.terms.get(at).is_some_and(|terms| terms.serves(offer)) {
                return Ok(at);
            }
            key = key.wrapping_add(1).max(1);
        }
        self.add(key, offer, setting, jurisdiction)
    }

    #[cold]
    fn add(
        &mut self,
        key: u64,
        offer: &Offer<'_>,
        setting: &Setting<'a>,
        jurisdiction: &Jurisdiction<'_>,
    ) -> Result<usize, BadLine> {
        let mut made = Terms::make(offer, setting, jurisdiction, &mut self.programs)?;
        let frame = Frame::of(&made);
        made.frame = number_of(&mut self.frames, frame)?;
        made.money = number_of(&mut self.moneys, (made.currency, made.transit))?;
        if self.terms.len() >= MOST {
            self.terms.clear();
            self.known = Lookup::default();
        }
        let at = self.terms.len();
        let number = number(at, ("seller", "sellers"))?;
        self.terms.push(made);
        self.known.insert(key, number);
        Ok(at)
    }

    /// The terms at a place.
    pub(super) fn get(&mut self, at: usize) -> Option<(&mut Terms<'a>, &[Frame])> {
        Some((self.terms.get_mut(at)?, &self.frames))
    }
}

/// What insurance costs as a whole number: minor units, or ten-thousandths of a percent; none where it is not whole.
fn premium(insurance: Option<Insurance>, digits: u32) -> Option<i64> {
    match insurance {
        None => Some(0),
        Some(Insurance::Amount(amount)) => amount.small_units(digits),
        Some(Insurance::Share(percent)) => percent.0.small_units(4),
    }
}

/// The number of one among those that are known, which it now is.
fn number_of<T: PartialEq>(known: &mut Vec<T>, one: T) -> Result<u32, BadLine> {
    let at = known
        .iter()
        .position(|other| *other == one)
        .unwrap_or_else(|| {
            known.push(one);
            known.len() - 1
        });
    number(at, ("seller", "sellers"))
}

impl<'a> Terms<'a> {
    fn serves(&self, offer: &Offer<'_>) -> bool {
        let same = |one: Option<&[u8]>, other: &[u8]| {
            one.is_some_and(|one| {
                one.len() == other.len() && one.iter().zip(other).all(|(a, b)| a == b)
            })
        };
        let (dispatch, currency) = self.parts;
        same(self.text.get(..dispatch), offer.name)
            && same(self.text.get(dispatch..currency), offer.dispatch)
            && same(self.text.get(currency..), offer.currency)
    }

    fn make(
        offer: &Offer<'_>,
        setting: &Setting<'a>,
        jurisdiction: &Jurisdiction<'_>,
        programs: &mut Vec<(SaleShape, Arc<SalePrograms>)>,
    ) -> Result<Terms<'a>, BadLine> {
        let name = std::str::from_utf8(offer.name)
            .map_err(|_| BadLine::new("seller", "the seller's name is not text"))?;
        let seller = setting.sellers.get(name);
        let currency = currency(offer.currency, seller)?;
        let dispatch = dispatch(offer.dispatch, seller)?;
        let digits = currency.digits();
        let insurance = seller.and_then(|s| s.insurance);
        let premium = premium(insurance, digits);
        let free_over = seller
            .and_then(|s| s.free_freight_over)
            .map(|amount| amount.small_units(digits));
        let simple = seller.is_none_or(|s| {
            s.prices_include == Included::Nothing
                && !s.pays_duty()
                && s.sender != Some(Sender::Gift)
        });
        let card = setting
            .ask
            .card_fee
            .filter(|_| currency != jurisdiction.currency())
            .unwrap_or_default();
        let shape = SaleShape {
            premium: insurance.map(|insurance| matches!(insurance, Insurance::Share(_))),
            free_over: free_over.is_some(),
            payer: Payer {
                paid_digits: digits,
                digits: jurisdiction.currency().digits(),
                card,
                gift: false,
                held: false,
            },
        };
        Ok(Terms {
            text: [offer.name, offer.dispatch, offer.currency].concat(),
            parts: (offer.name.len(), offer.name.len() + offer.dispatch.len()),
            seller,
            currency,
            digits,
            dispatch,
            home: jurisdiction.is_home(dispatch.code()),
            transit: seller.and_then(|s| s.transit_days).unwrap_or(0),
            plain: premium.is_some()
                && setting.ask.remedies == Remedies::Count
                && simple
                && free_over != Some(None),
            free_over: free_over.flatten(),
            premium: premium.unwrap_or(0),
            programs: shape.programs(programs),
            channel: seller.and_then(|s| s.channel).unwrap_or(Channel::Courier),
            frame: 0,
            money: 0,
            plans: Vec::new(),
        })
    }

    /// What carrying costs on a day; none where it needs decimals.
    #[inline]
    pub(super) fn freight(
        &mut self,
        day: &Day,
        jurisdiction: &Jurisdiction<'_>,
    ) -> Option<&FreightPlan> {
        let at = match self
            .plans
            .iter()
            .position(|(since, _)| *since == day.freight)
        {
            Some(at) => at,
            None => {
                let plan = self.plan(day, jurisdiction);
                self.plans.push((day.freight, plan));
                self.plans.len() - 1
            }
        };
        self.plans.get(at).and_then(|(_, plan)| plan.as_ref())
    }

    fn plan(&self, day: &Day, jurisdiction: &Jurisdiction<'_>) -> Option<FreightPlan> {
        match self.seller.map(|s| &s.freight) {
            None | Some(Freight::Unknown) => Some(FreightPlan::flat(0)),
            Some(Freight::Amount(amount)) => amount.small_units(self.digits).map(FreightPlan::flat),
            Some(Freight::Schedule(name)) => FreightPlan::of_schedule(
                &jurisdiction.schedule(name, self.dispatch.code(), self.channel.name(), day.date),
                self.currency,
            ),
        }
    }
}

impl Frame {
    fn of(terms: &Terms<'_>) -> Frame {
        let seller = terms.seller;
        Frame {
            dispatch: terms.dispatch,
            channel: terms.channel,
            sender: seller.and_then(|s| s.sender).unwrap_or(Sender::Business),
            collects_tax: seller.and_then(|s| s.collects_tax).unwrap_or(false),
            terms: seller.map(|s| s.terms.clone()).unwrap_or_default(),
            currency: terms.currency,
            handling: seller
                .and_then(|s| s.handling)
                .map(|handling| (handling.percent, HomeMoney::of(handling.least))),
        }
    }

    /// A parcel of this kind, whose goods and amounts do not matter.
    pub(super) fn sample(&self, day: &Day, jurisdiction: &Jurisdiction<'_>) -> Parcel {
        Parcel {
            to: jurisdiction.ask.to,
            region: jurisdiction.region.clone(),
            dispatch: self.dispatch,
            channel: self.channel,
            sender: self.sender,
            collects_tax: self.collects_tax,
            terms: self.terms.clone(),
            ordered: day.date,
            arrival: day.arrival,
            choices: jurisdiction.ask.choices.clone(),
            paid_in: self.currency,
            customs: Rate::SAME,
            border_freight: jurisdiction.border_freight(
                self.channel.name(),
                self.dispatch.code(),
                day.arrival,
            ),
            handling: self.handling.map(|(percent, least)| Handling {
                percent,
                least,
                row: nowhere(),
            }),
            schedules: std::collections::BTreeMap::new(),
            // a line whose mass is not told goes by decimals where a condition looks at it
            lines: vec![Line {
                pieces: 1,
                unit_mass: Some(Grams::ZERO),
                ..Line::default()
            }],
        }
    }
}

/// A sample's fee comes from no row: nobody sees its trail.
fn nowhere() -> RowRef {
    RowRef {
        path: std::sync::Arc::from(""),
        line: 0,
    }
}

/// The currency: the line's, else the seller's.
fn currency(text: &[u8], seller: Option<&Seller>) -> Result<Currency, BadLine> {
    let found = match text {
        [] => seller.and_then(|s| s.currency),
        text => std::str::from_utf8(text).ok().and_then(Currency::parse),
    };
    found.ok_or_else(|| bad("currency", text, "expected a currency code of ISO 4217"))
}

/// The country of dispatch: the line's, else the seller's.
fn dispatch(text: &[u8], seller: Option<&Seller>) -> Result<Country, BadLine> {
    let found = match text {
        [] => seller.and_then(|s| s.dispatch),
        text => std::str::from_utf8(text).ok().and_then(Country::parse),
    };
    found.ok_or_else(|| bad("dispatch", text, "expected a country code of ISO 3166-1"))
}
