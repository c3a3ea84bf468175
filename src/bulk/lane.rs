//! Lines alike in seller, dispatch, currency, commodity and origin take one lane: what they share is settled once.

use std::collections::BTreeMap;

use super::offer::Offer;
use super::{BadLine, Setting};
use crate::book::{Channel, Freight, Included, Insurance, Sender};
use crate::landed::Desk;
use crate::rules::{Counting, Handling, Line, Parcel, Swift};
use crate::tables::RowRef;
use crate::units::{Country, Currency, Date, Dec, Percent, Rate};

/// What lines of one kind share.
pub(super) struct Lane {
    pub(super) currency: Currency,
    pub(super) digits: u32,
    pub(super) dispatch: Country,
    pub(super) home: bool,
    pub(super) transit: u32,
    pub(super) freight: FreightPlan,
    pub(super) free_over: Option<i64>,
    pub(super) insurance: InsurancePlan,
    pub(super) card: Percent,
    pub(super) channel: Channel,
    /// Whether integers are tried at all.
    pub(super) plain: bool,
    commodity: String,
    origin: Option<Country>,
    /// By the days on which a rule begins or ends: the program, or none where decimals must be used.
    programs: BTreeMap<usize, Option<Box<Swift>>>,
}

/// What carrying costs, in whole numbers.
pub(super) enum FreightPlan {
    /// A flat amount in minor units.
    Flat(i64),
    /// Steps: up to so many tenths of grams, the price, and whether it is by the gram.
    Steps(Vec<(Option<i64>, i64, bool)>),
}

/// What insuring costs, in whole numbers.
pub(super) enum InsurancePlan {
    /// A flat amount in minor units.
    Flat(i64),
    /// A percentage, in ten-thousandths of a percent.
    Share(i64),
}

/// All lanes, and the days between which the rules are the same.
pub(super) struct Lanes {
    known: BTreeMap<Vec<u8>, usize>,
    lanes: Vec<Lane>,
    /// The lane of the line before, which the next often shares.
    last: (Vec<u8>, usize),
    key: Vec<u8>,
    epochs: Vec<Date>,
}

impl Lanes {
    pub(super) fn new(desk: &Desk<'_>) -> Lanes {
        Lanes { known: BTreeMap::new(), lanes: Vec::new(), last: (Vec::new(), 0), key: Vec::new(), epochs: epochs(desk) }
    }

    /// The lane of a line, made when it is the first of its kind, and the program that serves it, if integers do.
    pub(super) fn find(&mut self, offer: &Offer<'_>, setting: &Setting<'_>, desk: &Desk<'_>) -> Result<(&Lane, Option<&Swift>), BadLine> {
        let at = self.position(offer, setting, desk)?;
        let epoch = |day: Date| self.epochs.partition_point(|start| *start <= day);
        let arrival = offer.date.plus_days(self.lanes[at].transit);
        let slot = epoch(offer.date) * (self.epochs.len() + 1) + epoch(arrival);
        let lane = &mut self.lanes[at];
        if !lane.programs.contains_key(&slot) {
            let made = lane.program(offer, arrival, setting, desk);
            lane.programs.insert(slot, made.map(Box::new));
        }
        let lane = &self.lanes[at];
        Ok((lane, lane.programs.get(&slot).and_then(|program| program.as_deref())))
    }

    fn position(&mut self, offer: &Offer<'_>, setting: &Setting<'_>, desk: &Desk<'_>) -> Result<usize, BadLine> {
        self.key.clear();
        for part in [offer.name, offer.dispatch, offer.currency, offer.commodity, offer.origin] {
            self.key.extend_from_slice(part);
            self.key.push(0);
        }
        if self.last.0 == self.key {
            return Ok(self.last.1);
        }
        let at = match self.known.get(&self.key) {
            Some(at) => *at,
            None => {
                self.lanes.push(Lane::make(offer, setting, desk)?);
                self.known.insert(self.key.clone(), self.lanes.len() - 1);
                self.lanes.len() - 1
            }
        };
        self.last.0.clone_from(&self.key);
        self.last.1 = at;
        Ok(at)
    }
}

/// The days on which any rule of the destination begins to hold, or no longer does.
fn epochs(desk: &Desk<'_>) -> Vec<Date> {
    let law = &desk.law;
    let spans = law.charges.iter().map(|r| r.stamp.span).chain(law.reliefs.iter().map(|r| r.stamp.span));
    let spans = spans.chain(law.tariff.iter().map(|r| r.stamp.span)).chain(law.taxes.iter().map(|r| r.stamp.span));
    let spans = spans.chain(law.codes.iter().map(|r| r.stamp.span)).chain(desk.tables.border_freight.iter().map(|r| r.stamp.span));
    let mut days: Vec<Date> = spans.flat_map(|span| [span.from, span.to.map(|to| to.plus_days(1))]).flatten().collect();
    days.sort();
    days.dedup();
    days
}

/// A schedule in whole numbers; none where its steps need decimals: packing, volume, another currency.
fn steps(name: &str, lane: (Country, Channel, Currency), desk: &Desk<'_>, day: Date) -> Option<FreightPlan> {
    let (dispatch, channel, currency) = lane;
    let found = desk.schedule(name, dispatch.code(), channel.name(), day);
    let plain = |step: &&crate::tables::FreightStep| {
        step.currency == currency
            && step.packing_percent.is_zero()
            && step.packing_g.is_zero()
            && step.volumetric_divisor.is_none()
            && step.extra_per_kg.is_none()
    };
    if found.is_empty() || !found.iter().all(plain) {
        return None;
    }
    let whole = |number: Dec, decimals: u32| number.in_units(decimals).and_then(|units| i64::try_from(units).ok());
    let step = |step: &&crate::tables::FreightStep| {
        let up_to = match step.up_to_g {
            Some(grams) => Some(whole(grams, 1)?),
            None => None,
        };
        Some((up_to, whole(step.price, currency.digits())?, step.pro_rata))
    };
    Some(FreightPlan::Steps(found.iter().map(step).collect::<Option<_>>()?))
}

impl Lane {
    fn make(offer: &Offer<'_>, setting: &Setting<'_>, desk: &Desk<'_>) -> Result<Lane, BadLine> {
        let (currency, dispatch) = (offer.currency()?, offer.dispatch()?);
        let seller = offer.seller;
        let digits = currency.digits();
        let channel = seller.and_then(|s| s.channel).unwrap_or(Channel::Courier);
        let units = |amount: Dec| amount.in_units(digits).and_then(|units| i64::try_from(units).ok());
        let freight = match seller.map(|s| &s.freight) {
            None | Some(Freight::Unknown) => Some(FreightPlan::Flat(0)),
            Some(Freight::Amount(amount)) => units(*amount).map(FreightPlan::Flat),
            Some(Freight::Schedule(name)) => steps(name, (dispatch, channel, currency), desk, offer.date),
        };
        let insurance = match seller.and_then(|s| s.insurance) {
            None => Some(InsurancePlan::Flat(0)),
            Some(Insurance::Amount(amount)) => units(amount).map(InsurancePlan::Flat),
            Some(Insurance::Share(percent)) => percent.0.in_units(4).and_then(|p| i64::try_from(p).ok()).map(InsurancePlan::Share),
        };
        let free_over = seller.and_then(|s| s.free_freight_over);
        let free_units = free_over.map(units);
        let simple = seller.is_none_or(|s| s.prices_include == Included::Nothing && s.terms != "DDP" && s.sender != Some(Sender::Gift));
        let card = if currency == desk.currency() { Percent::ZERO } else { setting.ask.card_fee.unwrap_or_default() };
        let plain = freight.is_some() && insurance.is_some() && simple && free_units != Some(None);
        Ok(Lane {
            currency,
            digits,
            dispatch,
            home: desk.is_home(dispatch.code()),
            transit: seller.and_then(|s| s.transit_days).unwrap_or(0),
            freight: freight.unwrap_or(FreightPlan::Flat(0)),
            free_over: free_units.flatten(),
            insurance: insurance.unwrap_or(InsurancePlan::Flat(0)),
            card,
            channel,
            plain,
            commodity: String::from_utf8_lossy(offer.commodity).into_owned(),
            origin: offer.origin()?,
            programs: BTreeMap::new(),
        })
    }

    fn program(&self, offer: &Offer<'_>, arrival: Date, setting: &Setting<'_>, desk: &Desk<'_>) -> Option<Swift> {
        if !self.plain || self.home || desk.names_foreign_money(offer.date, arrival) {
            return None;
        }
        let prepared = desk.prepared(offer.date, arrival, Counting::ALL).ok()?;
        let mut sample = self.sample(offer, arrival, setting, desk);
        let classified = prepared.codes.classify(&prepared.program, &sample, &[""]).ok()?;
        if let (Some(line), Some(class)) = (sample.lines.first_mut(), classified.into_iter().next()) {
            line.commodity = class.commodity;
        }
        Swift::build(&prepared.program, &sample)
    }

    /// A parcel of this lane, whose amounts do not matter.
    fn sample(&self, offer: &Offer<'_>, arrival: Date, setting: &Setting<'_>, desk: &Desk<'_>) -> Parcel {
        let seller = offer.seller;
        let origin = self.origin.unwrap_or(self.dispatch);
        let row = |seller: &crate::book::Seller| {
            let place = seller.at.place();
            RowRef { path: place.path, line: place.line }
        };
        Parcel {
            to: setting.ask.to,
            region: setting.ask.region.clone(),
            group: desk.group().to_owned(),
            dispatch: self.dispatch,
            channel: self.channel,
            sender: seller.and_then(|s| s.sender).unwrap_or(Sender::Business),
            collects_tax: seller.and_then(|s| s.collects_tax).unwrap_or(false),
            terms: seller.map(|s| s.terms.clone()).unwrap_or_default(),
            ordered: offer.date,
            arrival,
            choices: setting.ask.choices.clone(),
            paid_in: self.currency,
            customs: Rate::SAME,
            border_freight: desk.border_freight(self.channel.name(), self.dispatch.code(), arrival),
            handling: seller.and_then(|s| Some((s.handling?, row(s)))).map(|(h, row)| Handling { percent: h.percent, least: h.least, row }),
            schedules: BTreeMap::new(),
            lines: vec![Line { commodity: self.commodity.clone(), origin: origin.code().to_owned(), pieces: 1, ..Line::default() }],
        }
    }
}
