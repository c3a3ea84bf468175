//! Long price lists, line by line: [`crate::landed`] between rows in and rows out, as a pure filter.
//!
//! Each line is a consignment of its own, or adjacent lines that share a `consignment` are one. The pennies are those of
//! `cost`: a line of its own goes by integers ([`crate::rules::Swift`]) where those are exact, everything else by the
//! engine that makes the bill of a book. Owns the columns, the caches and the writing of a line; reads and writes no files.

mod columns;
mod dates;
mod figures;
mod lane;
mod offer;
mod slow;
mod swift;

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::book::Seller;
use crate::landed::{Ask, Desk};
use crate::tables::Tables;
use crate::text::Problems;
use crate::units::Currency;

pub use columns::{Columns, OUTPUT};
use dates::Days;
use lane::Lanes;
use offer::Offer;

/// What every line is priced with.
pub struct Setting<'a> {
    /// All tables.
    pub tables: &'a Tables,
    /// The question: destination, choices, card fee.
    pub ask: &'a Ask,
    /// The sellers, by name.
    pub sellers: &'a BTreeMap<String, Seller>,
    /// The columns of the list.
    pub columns: &'a Columns,
}

/// A line that cannot be priced.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BadLine {
    /// The column it is about; empty for the whole line.
    pub column: &'static str,
    /// What was found and what was expected.
    pub what: String,
}

impl BadLine {
    fn new(column: &'static str, what: impl Into<String>) -> BadLine {
        BadLine { column, what: what.into() }
    }
}

/// Prices lines; each worker has one of its own.
pub struct Pricer<'a> {
    setting: &'a Setting<'a>,
    desk: Desk<'a>,
    lanes: Lanes,
    days: Days,
    slow: slow::Slow,
}

impl<'a> Pricer<'a> {
    /// Opens the destination's rules.
    pub fn open(setting: &'a Setting<'a>) -> Result<Pricer<'a>, Problems> {
        let desk = Desk::open(setting.tables, setting.ask)?;
        let lanes = Lanes::new(&desk);
        Ok(Pricer { setting, desk, lanes, days: Days::default(), slow: slow::Slow::new() })
    }

    /// Prices lines that travel together and appends them, each with its amounts, to the output; on a bad line nothing is
    /// appended and its place among the lines is returned with the reason.
    pub fn price(&mut self, lines: &[csv::ByteRecord], out: &mut Vec<u8>) -> Result<(), (usize, BadLine)> {
        let start = out.len();
        let done = match lines {
            [line] => self.one(line, out).map_err(|bad| (0, bad)),
            several => self.several(several, out),
        };
        done.inspect_err(|_| out.truncate(start))
    }

    fn one(&mut self, line: &csv::ByteRecord, out: &mut Vec<u8>) -> Result<(), BadLine> {
        let offer = Offer::read(line, self.setting)?;
        let (lane, program) = self.lanes.find(&offer, self.setting, &self.desk)?;
        let day = self.days.of(offer.date, lane, &self.desk)?;
        if let Some(amounts) = swift::price(&offer, lane, program, &day, &self.desk) {
            columns::write(line, &amounts, self.desk.currency(), out);
            return Ok(());
        }
        self.go_slow(&[offer], std::slice::from_ref(line), out).map_err(|(_, bad)| bad)
    }

    fn several(&mut self, lines: &[csv::ByteRecord], out: &mut Vec<u8>) -> Result<(), (usize, BadLine)> {
        let mut offers = Vec::with_capacity(lines.len());
        for (at, line) in lines.iter().enumerate() {
            let offer = Offer::read(line, self.setting).map_err(|bad| (at, bad))?;
            offer.agrees_with(offers.first()).map_err(|bad| (at, bad))?;
            offers.push(offer);
        }
        self.go_slow(&offers, lines, out)
    }

    fn go_slow(&mut self, offers: &[Offer<'_>], lines: &[csv::ByteRecord], out: &mut Vec<u8>) -> Result<(), (usize, BadLine)> {
        let priced = self.slow.price(offers, self.setting, &self.desk)?;
        for (line, amounts) in lines.iter().zip(&priced) {
            columns::write(line, amounts, self.desk.currency(), out);
        }
        Ok(())
    }

    /// The money amounts are in.
    pub fn currency(&self) -> Currency {
        self.desk.currency()
    }

    /// Names for the header of the output, after the columns of the list.
    pub fn header(&self) -> impl Iterator<Item = Arc<str>> + '_ {
        OUTPUT.iter().map(|name| Arc::from(*name))
    }
}
