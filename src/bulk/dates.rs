//! Days of a list: what each is called, when its parcels arrive, which rules hold then, and the exchange; found once.

use super::day::Day;
use super::offer::bad;
use super::terms::Terms;
use super::{BadLine, number};
use crate::landed::Jurisdiction;
use crate::rules::WholeRate;
use crate::tables::CustomsExchange;
use crate::units::{Currency, Date, Lookup};

/// A day that the tables say little of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Far {
    /// The rate of exchange is from a day long before it.
    Rate {
        /// Of this money.
        currency: Currency,
        /// The day of the rate.
        from: Date,
        /// How many days it is old.
        age: i64,
    },
    /// The tables begin after it, or were last read long before it.
    Tables {
        /// Lasting name for programs, as `cost` has it.
        id: &'static str,
        /// In words.
        text: String,
    },
}

/// All days met so far.
pub(super) struct Days {
    known: Lookup,
    days: Vec<Day>,
    /// The days on which a charge or a relief begins or ends.
    rules: Vec<Date>,
    /// The days on which a step of freight begins or ends.
    freight: Vec<Date>,
}

/// More days than any list has; beyond it they are found anew.
const MOST: usize = 1 << 14;

impl Days {
    pub(super) fn new(jurisdiction: &Jurisdiction<'_>) -> Days {
        Days {
            known: Lookup::default(),
            days: Vec::new(),
            rules: rules_change(jurisdiction),
            freight: freight_changes(jurisdiction),
        }
    }

    /// The day of a line.
    pub(super) fn find(
        &mut self,
        text: &[u8],
        terms: &Terms<'_>,
        jurisdiction: &Jurisdiction<'_>,
        far: &mut Vec<Far>,
    ) -> Result<&Day, BadLine> {
        let packed = match packed(text) {
            Some(packed) => packed,
            None => written(parsed(text)?),
        };
        let key = (packed << 32) | (u64::from(terms.money) + 1);
        let at = match self.known.get(key) {
            Some(at) => at,
            None => self.add(key, text, terms, jurisdiction, far)?,
        };
        usize::try_from(at)
            .ok()
            .and_then(|at| self.days.get(at))
            .ok_or_else(|| bad("date", text, "expected a day"))
    }

    #[cold]
    fn add(
        &mut self,
        key: u64,
        text: &[u8],
        terms: &Terms<'_>,
        jurisdiction: &Jurisdiction<'_>,
        far: &mut Vec<Far>,
    ) -> Result<u32, BadLine> {
        let date = parsed(text)?;
        let arrival = date.plus_days(terms.transit);
        far.extend(
            jurisdiction
                .old_rate(terms.currency, date)
                .map(|(from, age)| Far::Rate {
                    currency: terms.currency,
                    from,
                    age,
                }),
        );
        if !terms.home {
            far.extend(
                jurisdiction
                    .outside_tables(arrival)
                    .map(|said| Far::Tables {
                        id: said.id,
                        text: said.text,
                    }),
            );
        }
        let missing = |problem: crate::text::Diagnostic| BadLine::new("currency", problem.message);
        let market = jurisdiction.market(terms.currency, date).map_err(missing)?;
        let one_rate =
            date == arrival && jurisdiction.destination.exchange == CustomsExchange::Market;
        let customs = if one_rate {
            market
        } else {
            jurisdiction
                .customs_rate(terms.currency, arrival)
                .map_err(missing)?
                .quote
                .rate
        };
        let since = |days: &[Date], day: Date| days.partition_point(|start| *start <= day);
        let rules = since(&self.rules, date) * (self.rules.len() + 1) + since(&self.rules, arrival);
        let day = Day {
            date,
            arrival,
            rules: number(rules, ("date", "days"))?,
            freight: number(since(&self.freight, date), ("date", "days"))?,
            market: WholeRate::new(market),
            customs: WholeRate::new(customs),
        };
        if self.days.len() >= MOST {
            self.known = Lookup::default();
            self.days.clear();
        }
        let at = number(self.days.len(), ("date", "days"))?;
        self.days.push(day);
        self.known.insert(key, at);
        Ok(at)
    }
}

/// `2026-03-02` as 20260302, whatever day that is.
fn packed(text: &[u8]) -> Option<u64> {
    let [a, b, c, d, b'-', e, f, b'-', g, h] = *text else {
        return None;
    };
    let digits = [a, b, c, d, e, f, g, h].map(|byte| u64::from(byte.wrapping_sub(b'0')));
    let are_digits = digits.iter().all(|digit| *digit <= 9);
    let more = |sum: u64, digit: &u64| sum.wrapping_mul(10).wrapping_add(*digit);
    are_digits.then(|| digits.iter().fold(0, more))
}

fn parsed(text: &[u8]) -> Result<Date, BadLine> {
    Date::parse(&String::from_utf8_lossy(text)).map_err(|why| bad("date", text, &why))
}

fn written(day: Date) -> u64 {
    u64::try_from(day.year()).unwrap_or(0) * 10_000
        + u64::from(day.month()) * 100
        + u64::from(day.day())
}

/// The days on which a rule that is no rate begins to hold, or no longer does, and those that conditions name.
fn rules_change(jurisdiction: &Jurisdiction<'_>) -> Vec<Date> {
    let law = &jurisdiction.law;
    let spans = law
        .charges
        .iter()
        .map(|r| r.stamp.span)
        .chain(law.reliefs.iter().map(|r| r.stamp.span));
    let spans = spans.chain(
        jurisdiction
            .tables
            .border_freight
            .iter()
            .map(|r| r.stamp.span),
    );
    let whens = law
        .charges
        .iter()
        .map(|r| &r.rule.when)
        .chain(law.reliefs.iter().map(|r| &r.rule.when));
    let named = whens
        .flat_map(crate::tables::When::conditions)
        .filter_map(|c| c.day)
        .flat_map(|day| [day, day.plus_days(1)]);
    sorted(spans.flat_map(|span| span.turns()).chain(named).collect())
}

fn freight_changes(jurisdiction: &Jurisdiction<'_>) -> Vec<Date> {
    let spans = jurisdiction.tables.freight.iter().map(|r| r.stamp.span);
    sorted(spans.flat_map(|span| span.turns()).collect())
}

fn sorted(mut days: Vec<Date>) -> Vec<Date> {
    days.sort_unstable();
    days.dedup();
    days
}
