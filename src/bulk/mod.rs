//! Long price lists, line by line: [`crate::landed`] between rows in and rows out, as a pure filter.
//!
//! Each line is a consignment of its own, or adjacent lines that share a `consignment` are one. The pennies are those of
//! `cost`: a line of its own goes by integers (`rules::IntegerProgram`) where those are exact, everything else by the
//! engine that makes the bill of a book. Owns the columns, the caches and the writing of a line; reads and writes no files.

mod block;
mod carriage;
mod columns;
mod dates;
mod day;
mod decimal;
mod ended;
mod figures;
mod goods;
mod guard;
mod offer;
mod record;
mod sales;
mod swift;
mod terms;

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::book::Seller;
use crate::landed::{Jurisdiction, Question, UnknownChoice, check_fees};
use crate::rules::Scratch;
use crate::tables::{Law, RowRef, Tables};
use crate::text::Problems;
use crate::units::{Country, Dec};

// What may be used from outside.
pub use self::{
    block::{Block, Done},
    columns::Columns,
};

pub(crate) use block::{Bad, LONGEST_FIELD, MOST_LINES};
use columns::PricedLine;
pub(crate) use columns::{OUTPUT, heads_a_list};
use dates::Days;
pub(crate) use dates::Far;
use day::Day;
use ended::AllEnded;
pub(crate) use ended::EndedRow;
pub(crate) use figures::Written;
use goods::{Found, Goods};
pub(crate) use guard::{guarded, may_need_guard};
use offer::Offer;
pub(crate) use record::{Bounds, Record, is_plain, scan};
use terms::{AllTerms, Frame, Terms};

/// What every line is priced with.
pub struct Setting<'a> {
    /// All tables.
    pub tables: &'a Tables,
    /// The question: destination, choices, card fee.
    pub ask: &'a Question,
    /// The sellers, by name.
    pub sellers: &'a BTreeMap<String, Seller>,
    /// The columns of the list.
    pub columns: &'a Columns,
    /// Whether cells are written as they came, with no guard against formulas.
    pub plain_cells: bool,
}

/// A line that cannot be priced.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct BadLine {
    /// The column it is about; empty for the whole line.
    pub(crate) column: &'static str,
    /// What was found and what was expected.
    pub(crate) what: String,
}

impl BadLine {
    /// A reason, and the column it is about.
    pub(crate) fn new(column: &'static str, what: impl Into<String>) -> BadLine {
        BadLine {
            column,
            what: what.into(),
        }
    }
}

/// What is not known of a line, or of lines that travel together, and is not in their sum.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Wants {
    /// A rate of duty that a layer owes.
    pub(crate) rate: bool,
    /// What followed duties, taxes or fees that ended: a number for which of them, zero for none.
    pub(crate) ended: u64,
    /// On how many lines a mass is not known that freight hangs on.
    pub(crate) massless: u64,
}

impl Wants {
    fn of(priced: &[columns::PricedLine]) -> Wants {
        let any = |of: fn(&Wants) -> bool| priced.iter().any(|amounts| of(&amounts.wants));
        let ended = priced.iter().map(|amounts| amounts.wants.ended);
        Wants {
            rate: any(|wants| wants.rate),
            ended: ended.max().unwrap_or(0),
            massless: priced.iter().map(|amounts| amounts.wants.massless).sum(),
        }
    }
}

/// Prices lines; each worker has one of its own.
pub struct Pricer<'a> {
    setting: &'a Setting<'a>,
    jurisdiction: Jurisdiction<'a>,
    terms: AllTerms<'a>,
    days: Days,
    goods: Goods,
    slow: decimal::DecimalPricer,
    scratch: Scratch,
    digits: u32,
    bounds: record::Bounds,
    /// Whether lines of this block may hold what is to be guarded.
    guard: bool,
    /// Days that the tables say little of, met for the first time and still to be told.
    far: Vec<Far>,
    /// Digits on which money hangs that have been told, and those that are still to be.
    told: BTreeSet<Vec<u8>>,
    untold: Vec<OpenCode>,
    /// Rows that ended and would have touched lines.
    ended: AllEnded,
}

/// Digits that stop above rows which differ, so that the dearest counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct OpenCode {
    /// The digits.
    pub(crate) digits: String,
    /// The longer rows.
    pub(crate) rows: Vec<RowRef>,
    /// What hangs on it at the line, as an amount with its currency.
    pub(crate) hangs: String,
}

impl<'a> Pricer<'a> {
    /// Opens the destination's rules.
    pub fn open(setting: &'a Setting<'a>) -> Result<Pricer<'a>, Problems> {
        let jurisdiction = Jurisdiction::open(setting.tables, setting.ask)?;
        let mut problems = Problems::new();
        check_fees(
            setting
                .sellers
                .values()
                .filter_map(|seller| seller.handling_at.as_ref()),
            &jurisdiction,
            &mut problems,
        );
        if problems.refuse() {
            Err(problems)
        } else {
            Ok(Pricer::at(jurisdiction, setting))
        }
    }

    /// Another worker, with the rules that one has opened.
    pub(crate) fn beside(setting: &'a Setting<'a>, law: Arc<Law>) -> Option<Pricer<'a>> {
        Some(Pricer::at(
            Jurisdiction::beside(setting.tables, setting.ask, law)?,
            setting,
        ))
    }

    /// Choices of the question that change nothing.
    pub(crate) fn unknown_choices(&self) -> Vec<UnknownChoice> {
        self.jurisdiction.unknown_choices()
    }

    /// The rules, for another worker.
    pub(crate) fn law(&self) -> Arc<Law> {
        self.jurisdiction.law.clone()
    }

    fn at(jurisdiction: Jurisdiction<'a>, setting: &'a Setting<'a>) -> Pricer<'a> {
        Pricer {
            terms: AllTerms::default(),
            far: Vec::new(),
            days: Days::new(&jurisdiction),
            goods: Goods::new(&jurisdiction),
            slow: decimal::DecimalPricer::new(),
            scratch: Scratch::default(),
            digits: jurisdiction.currency().digits(),
            bounds: record::Bounds::default(),
            guard: false,
            told: BTreeSet::new(),
            untold: Vec::new(),
            ended: AllEnded::default(),
            setting,
            jurisdiction,
        }
    }

    /// Prices a line of its own and appends it with its amounts; what is not known of it.
    #[inline]
    fn one(&mut self, record: &Record<'_>, out: &mut Written) -> Result<Wants, BadLine> {
        let offer = Offer::read(record, self.setting.columns)?;
        let at = self.terms.find(&offer, self.setting, &self.jurisdiction)?;
        let Some((terms, frames)) = self.terms.get(at) else {
            return Ok(Wants::default());
        };
        let day = self
            .days
            .find(offer.date, terms, &self.jurisdiction, &mut self.far)?;
        if terms.plain {
            let frame = usize::try_from(terms.frame)
                .ok()
                .and_then(|frame| frames.get(frame));
            let amounts = swiftly(
                &mut self.goods,
                (&offer, &mut *terms, frame),
                day,
                &self.jurisdiction,
                &mut self.scratch,
            )?;
            if let Some(amounts) = amounts {
                columns::write(&shown(record, self.guard), &amounts, self.digits, out);
                if let Some(hangs) = amounts.hangs {
                    let origin = goods::origin(&offer, terms)?;
                    let day = *day;
                    self.note_open(&offer, origin, day, hangs);
                } else if amounts.wants.ended > 0
                    && self
                        .ended
                        .is_new(&offer, (terms.frame, day.rules, amounts.wants.ended))
                {
                    // the figures stand; the engine of bills is asked for the rows alone
                    let day = *day;
                    if self
                        .slow
                        .price(&[offer], terms, day, &self.jurisdiction)
                        .is_ok()
                    {
                        self.ended.note(&self.slow.ended);
                    }
                }
                return Ok(amounts.wants);
            }
        }
        let (terms, day) = (&*terms, *day);
        let priced = self
            .slow
            .price(&[offer], terms, day, &self.jurisdiction)
            .map_err(|(_, bad)| bad)?;
        self.ended.note(&self.slow.ended);
        priced.iter().for_each(|amounts| {
            columns::write(&shown(record, self.guard), amounts, self.digits, out);
        });
        if let Some(hangs) = priced.iter().find_map(|amounts| amounts.hangs) {
            let origin = goods::origin(&offer, terms)?;
            self.note_open(&offer, origin, day, hangs);
        }
        Ok(Wants::of(&priced))
    }

    /// Notes digits on which money hangs, once. There are no more of them than the tables have prefixes of prefixes.
    #[cold]
    fn note_open(&mut self, offer: &Offer<'_>, origin: Country, day: Day, hangs: i64) {
        if !self.told.insert(offer.commodity.to_vec()) {
            return;
        }
        let digits = String::from_utf8_lossy(offer.commodity).into_owned();
        let rows = self
            .jurisdiction
            .rows_beyond((day.date, day.arrival), (&digits, origin.code()))
            // the line is priced: what hangs on its digits is said, with or without the rows
            .unwrap_or_default();
        let currency = self.jurisdiction.currency();
        let hangs = format!(
            "{} {currency}",
            Dec::new(hangs, currency.digits()).grouped(currency.digits())
        );
        self.untold.push(OpenCode {
            digits,
            rows,
            hangs,
        });
    }

    /// Prices lines that travel together, and says what is not known of them; on a bad line nothing is appended and its place
    /// among them is returned.
    fn several(
        &mut self,
        records: &[Record<'_>],
        out: &mut Written,
    ) -> Result<Wants, (usize, BadLine)> {
        let mut offers: Vec<Offer<'_>> = Vec::with_capacity(records.len());
        for (at, record) in records.iter().enumerate() {
            let offer = Offer::read(record, self.setting.columns).map_err(|bad| (at, bad))?;
            offer.agrees_with(offers.first()).map_err(|bad| (at, bad))?;
            offers.push(offer);
        }
        let Some(first) = offers.first() else {
            return Ok(Wants::default());
        };
        let at = self
            .terms
            .find(first, self.setting, &self.jurisdiction)
            .map_err(|bad| (0, bad))?;
        let Some((terms, _)) = self.terms.get(at) else {
            return Ok(Wants::default());
        };
        let day = *self
            .days
            .find(first.date, terms, &self.jurisdiction, &mut self.far)
            .map_err(|bad| (0, bad))?;
        let priced = self.slow.price(&offers, terms, day, &self.jurisdiction)?;
        self.ended.note(&self.slow.ended);
        for (record, amounts) in records.iter().zip(&priced) {
            columns::write(&shown(record, self.guard), amounts, self.digits, out);
        }
        let open: Vec<Country> = offers
            .iter()
            .map(|offer| goods::origin(offer, terms))
            .collect::<Result<_, _>>()
            .map_err(|bad| (0, bad))?;
        for ((offer, origin), amounts) in offers.iter().zip(open).zip(&priced) {
            if let Some(hangs) = amounts.hangs {
                self.note_open(offer, origin, day, hangs);
            }
        }
        Ok(Wants::of(&priced))
    }
}

/// The amounts of a line of its own in whole numbers, where it can be priced so.
#[inline]
fn swiftly(
    goods: &mut Goods,
    (offer, terms, frame): (&Offer<'_>, &mut Terms<'_>, Option<&Frame>),
    day: &Day,
    jurisdiction: &Jurisdiction<'_>,
    scratch: &mut Scratch,
) -> Result<Option<PricedLine>, BadLine> {
    if terms.home {
        goods::origin(offer, terms)?;
        return Ok(swift::price(offer, terms, None, day, jurisdiction, scratch));
    }
    let Some(frame) = frame else {
        return Ok(None);
    };
    Ok(
        match goods.program(offer, terms, frame, day, jurisdiction)? {
            Found::One(program) => {
                swift::price(offer, terms, Some(program), day, jurisdiction, scratch)
            }
            Found::Several(programs) => {
                swift::dearest(offer, terms, &programs, day, jurisdiction, scratch)
            }
            Found::None => None,
        },
    )
}

/// A place as the number by which it is known; there is a column of which there can be too many to be numbered.
fn number(at: usize, (column, what): (&'static str, &str)) -> Result<u32, BadLine> {
    u32::try_from(at)
        .map_err(|_| BadLine::new(column, format!("more {what} than can be kept apart")))
}

/// A line as it is written: guarded where its block may hold what is to be guarded.
#[inline]
fn shown<'r>(record: &Record<'r>, guard: bool) -> Cow<'r, [u8]> {
    if guard {
        guarded(record.raw)
    } else {
        Cow::Borrowed(record.raw)
    }
}

#[cfg(test)]
mod tests;
