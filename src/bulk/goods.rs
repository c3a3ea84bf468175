//! What goods bear: the class of a commodity from an origin on a day, and the program of a class, each made once.

use super::BadLine;
use super::day::Day;
use super::offer::{Offer, bad};
use super::terms::{Frame, Terms};
use crate::landed::Jurisdiction;
use crate::rules::{IntegerProgram, Program, TariffTimeline};
use crate::units::{Country, Lookup, Once, Packed};
use std::collections::BTreeMap;

/// More goods than this are not kept: memory does not grow with the list.
const MOST_GOODS: usize = 1 << 17;

/// More classes than this are not kept.
const MOST_CLASSES: usize = 1 << 10;

/// More courses, or programs asked for, than this are not kept.
const MOST_COURSES: usize = 1 << 14;

/// Letters in the alphabet of country codes.
const LETTERS: u64 = 26;

/// How a line is priced.
pub(super) enum Found<'g> {
    /// Not in whole numbers.
    None,
    /// By this program.
    One(&'g IntegerProgram),
    /// By the dearest of these: its digits stop above rows that differ.
    Several(Vec<&'g IntegerProgram>),
}

/// All goods and programs met so far.
pub(super) struct Goods {
    classes: TariffTimeline,
    known: Packed,
    frames: BTreeMap<u32, Option<Program>>,
    programs: Lookup,
    /// The programs, each kept once however many goods and sellers it serves.
    made: Once<Option<Box<IntegerProgram>>>,
}

impl Goods {
    pub(super) fn new(jurisdiction: &Jurisdiction<'_>) -> Goods {
        Goods {
            classes: jurisdiction.classes(),
            known: Packed::default(),
            frames: BTreeMap::new(),
            programs: Lookup::default(),
            made: Once::default(),
        }
    }

    /// Forgets all but the tables.
    fn forget(&mut self, jurisdiction: &Jurisdiction<'_>) {
        *self = Goods {
            frames: std::mem::take(&mut self.frames),
            ..Goods::new(jurisdiction)
        };
    }

    /// The program of a line, or those of what it could be where its digits stop above rows that differ.
    pub(super) fn program(
        &mut self,
        offer: &Offer<'_>,
        terms: &Terms<'_>,
        frame: &Frame,
        day: &Day,
        jurisdiction: &Jurisdiction<'_>,
    ) -> Result<Found<'_>, BadLine> {
        let at = self.course(offer, terms, jurisdiction)?;
        let class = match self.classes.on(at, day.arrival) {
            None => return Ok(Found::None),
            Some([class]) => *class,
            Some(several) => {
                let several = several.to_vec();
                return Ok(self.several(&several, terms, frame, day, jurisdiction));
            }
        };
        let made = self
            .one(class, terms, frame, day, jurisdiction)
            .and_then(|made| self.made.get(made))
            .and_then(Option::as_deref);
        Ok(made.map_or(Found::None, Found::One))
    }

    /// The program of a class, by its number.
    fn one(
        &mut self,
        class: u32,
        terms: &Terms<'_>,
        frame: &Frame,
        day: &Day,
        jurisdiction: &Jurisdiction<'_>,
    ) -> Option<u32> {
        if class >= 1 << 22 || day.rules >= 1 << 26 || terms.frame >= (1 << 16) - 1 {
            return None;
        }
        let key =
            (u64::from(class) << 42) | (u64::from(day.rules) << 16) | (u64::from(terms.frame) + 1);
        Some(match self.programs.get(key) {
            Some(made) => made,
            None => self.make(key, class, frame, day, jurisdiction),
        })
    }

    /// The programs of several classes; none where one of them does not go by whole numbers.
    #[cold]
    fn several(
        &mut self,
        classes: &[u32],
        terms: &Terms<'_>,
        frame: &Frame,
        day: &Day,
        jurisdiction: &Jurisdiction<'_>,
    ) -> Found<'_> {
        if self.programs.len().saturating_add(classes.len()) >= MOST_COURSES {
            self.programs = Lookup::default();
            self.made = Once::default();
        }
        let made: Option<Vec<u32>> = classes
            .iter()
            .map(|class| self.one(*class, terms, frame, day, jurisdiction))
            .collect();
        let programs = made
            .unwrap_or_default()
            .into_iter()
            .map(|made| self.made.get(made).and_then(Option::as_deref));
        programs
            .collect::<Option<Vec<&IntegerProgram>>>()
            .filter(|programs| !programs.is_empty())
            .map_or(Found::None, Found::Several)
    }

    /// The course of a line's goods.
    #[inline]
    fn course(
        &mut self,
        offer: &Offer<'_>,
        terms: &Terms<'_>,
        jurisdiction: &Jurisdiction<'_>,
    ) -> Result<u32, BadLine> {
        let digits = offer.commodity.iter().fold(1_u64, |sum, digit| {
            sum.wrapping_mul(10)
                .wrapping_add(u64::from(digit.wrapping_sub(b'0')))
        });
        let key = match offer.origin {
            [] => letters(terms.dispatch.code().as_bytes()),
            code => letters(code),
        };
        let key = match key {
            Some(key) => key,
            None => letters(origin(offer, terms)?.code().as_bytes())
                .ok_or_else(|| bad("origin", offer.origin, "expected a country's two letters"))?,
        };
        let key = digits * (LETTERS * LETTERS) + key;
        match self.known.get(key) {
            Some(at) => Ok(at),
            None => self.add(key, offer, terms, jurisdiction),
        }
    }

    #[cold]
    fn add(
        &mut self,
        key: u64,
        offer: &Offer<'_>,
        terms: &Terms<'_>,
        jurisdiction: &Jurisdiction<'_>,
    ) -> Result<u32, BadLine> {
        let origin = origin(offer, terms)?;
        if self.known.len() >= MOST_GOODS
            || self.classes.len() >= MOST_CLASSES
            || self.classes.courses() >= MOST_COURSES
        {
            self.forget(jurisdiction);
        }
        let commodity = std::str::from_utf8(offer.commodity);
        let commodity =
            commodity.map_err(|_| bad("commodity", offer.commodity, "expected 4 to 10 digits"))?;
        let course = self.classes.course(commodity, origin.code());
        self.known.insert(key, course);
        Ok(course)
    }

    fn make(
        &mut self,
        key: u64,
        class: u32,
        frame: &Frame,
        day: &Day,
        jurisdiction: &Jurisdiction<'_>,
    ) -> u32 {
        if self.programs.len() >= MOST_COURSES {
            self.programs = Lookup::default();
            self.made = Once::default();
        }
        let program = self
            .frames
            .entry(day.rules)
            .or_insert_with(|| jurisdiction.without_rates(day.date, day.arrival));
        let swift = program.as_ref().and_then(|program| {
            self.classes
                .swift(class, program, frame.sample(day, jurisdiction))
        });
        let at = self.made.place(swift.map(Box::new));
        self.programs.insert(key, at);
        at
    }
}

/// The country of making, or that of dispatch where the line does not tell it.
pub(super) fn origin(offer: &Offer<'_>, terms: &Terms<'_>) -> Result<Country, BadLine> {
    match offer.origin {
        [] => Ok(terms.dispatch),
        code => country(code)
            .ok_or_else(|| bad("origin", code, "expected a country code of ISO 3166-1")),
    }
}

fn country(text: &[u8]) -> Option<Country> {
    std::str::from_utf8(text).ok().and_then(Country::parse)
}

/// Two capital letters as a number.
fn letters(code: &[u8]) -> Option<u64> {
    let [one @ b'A'..=b'Z', other @ b'A'..=b'Z'] = code else {
        return None;
    };
    Some(u64::from(one - b'A') * LETTERS + u64::from(other - b'A'))
}
