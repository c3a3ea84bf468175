//! How old and how sure the tables are for a destination and a day: what is missing, old, from memory, ended, or about to
//! change; and whether a part of a place can be priced from rows that were read.

use super::desk::Desk;
use super::total::{Landed, cost_rows};
use super::trail::Step;
use crate::book::{Book, BookFile, Part};
use crate::tables::{After, Certainty, Charge, CustomsExchange, Dated, Evidence, Stamp, When};
use crate::text::Problems;
use crate::units::{Currency, Date};

/// What is to be said about a row, or about the want of one.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Gap {
    /// Why it is said.
    pub why: Why,
    /// What it is about.
    pub what: String,
    /// The row, when there is one.
    pub row: String,
}

/// Why a row is said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// No row says it.
    Missing,
    /// The last row has ended, and what followed is not known.
    Ended,
    /// It starts or ends within a year, or is announced.
    Changing,
    /// Text and practice differ.
    Disputed,
    /// It is from memory.
    Recalled,
    /// It was last read longer ago than was asked.
    Old,
}

impl Why {
    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Why::Missing => "missing",
            Why::Ended => "ended",
            Why::Changing => "about to change",
            Why::Disputed => "disputed",
            Why::Recalled => "from memory",
            Why::Old => "old",
        }
    }
}

/// The rows of a destination's tables that count on a day, each with its name.
pub fn rows_in_force<'a>(desk: &'a Desk<'_>, day: Date) -> impl Iterator<Item = (String, &'a Stamp)> {
    all_rows(desk).filter(move |(_, stamp)| stamp.in_force(day))
}

/// Rows of a destination's tables, but not those that only ever hold at another member of its group.
fn all_rows<'a>(desk: &'a Desk<'_>) -> impl Iterator<Item = (String, &'a Stamp)> {
    let law = &desk.law;
    let here = |when: &When| desk.can_hold(when);
    let charges = charges(desk).map(|r| (r.rule.id.clone(), &r.stamp));
    let reliefs = law.reliefs.iter().filter(move |r| here(&r.rule.when)).map(|r| (r.rule.id.clone(), &r.stamp));
    let tariff = law.tariff.iter().filter(move |r| here(&r.rule.when));
    let tariff = tariff.map(|r| (format!("{} {} {}", r.rule.layer, r.rule.commodity, r.rule.origin), &r.stamp));
    let taxes = law.taxes.iter().filter(|r| r.rule.country == desk.ask.to.code());
    let taxes = taxes.map(|r| (format!("{} {} {}", r.rule.tax, r.rule.country, r.rule.commodity), &r.stamp));
    let codes = law.codes.iter().filter(move |r| here(&r.rule.when)).map(|r| (format!("{} {}", r.rule.place, r.rule.commodity), &r.stamp));
    let assemblies = law.assemblies.iter().map(|r| (r.rule.id.clone(), &r.stamp));
    charges.chain(reliefs).chain(tariff).chain(taxes).chain(codes).chain(assemblies)
}

fn charges<'a>(desk: &'a Desk<'_>) -> impl Iterator<Item = &'a Dated<Charge>> {
    desk.law.charges.iter().filter(|r| desk.can_hold(&r.rule.when))
}

/// Everything to be said about a destination's tables on a day; rows read more than `older_than` days before it are old.
pub fn gaps(desk: &Desk<'_>, older_than: i64) -> Vec<Gap> {
    let day = desk.ask.date;
    let mut found = missing(desk);
    found.extend(ended(desk, day));
    for (what, stamp) in all_rows(desk) {
        let row = stamp.row.to_string();
        let gap = |why, what: String| Gap { why, what, row: row.clone() };
        if let Some(change) = changing(stamp, day) {
            found.push(gap(Why::Changing, format!("{what}: {change}")));
        }
        if !stamp.in_force(day) {
            continue;
        }
        if stamp.disputed() {
            found.push(gap(Why::Disputed, what.clone()));
        }
        if stamp.evidence == Evidence::Recalled {
            found.push(gap(Why::Recalled, what.clone()));
        }
        if let Some(age) = stamp.checked.map(|checked| day.days_since(checked)).filter(|age| *age > older_than) {
            found.push(gap(Why::Old, format!("{what}: read {age} days before")));
        }
    }
    found.sort();
    found.dedup();
    found
}

fn changing(stamp: &Stamp, day: Date) -> Option<String> {
    let within = |date: Date| (1..=366).contains(&date.days_since(day));
    if stamp.certainty == Certainty::Announced && stamp.span.from.is_none_or(|from| from.days_since(day) > 0) {
        return Some(format!("announced, {}", stamp.span));
    }
    if !stamp.counts() {
        return None;
    }
    match (stamp.span.from.filter(|d| within(*d)), stamp.span.to.filter(|d| within(*d))) {
        (Some(from), _) => Some(format!("in force from {from}")),
        (None, Some(to)) if stamp.span.holds(day) => Some(format!("in force until {to}")),
        _ => None,
    }
}

/// Duties, taxes and fees whose last row has ended, where it is not known what followed.
fn ended(desk: &Desk<'_>, day: Date) -> Vec<Gap> {
    let charges = charges(desk).map(|r| (r.rule.after, &r.stamp, r.rule.id.clone()));
    let tariff = desk.law.tariff.iter().filter(|r| desk.can_hold(&r.rule.when));
    let tariff = tariff.map(|r| (r.rule.after, &r.stamp, format!("{} {} {}", r.rule.layer, r.rule.commodity, r.rule.origin)));
    let taxes = desk.law.taxes.iter().filter(|r| r.rule.country == desk.ask.to.code());
    let taxes = taxes.map(|r| (r.rule.after, &r.stamp, format!("{} {} {}", r.rule.tax, r.rule.country, r.rule.commodity)));
    let over = |(after, stamp, _): &(After, &Stamp, String)| *after == After::Unknown && stamp.counts() && stamp.span.is_over(day);
    let gap = |(_, stamp, what): (After, &Stamp, String)| {
        let end = stamp.span.to.map(|to| format!(" {to}")).unwrap_or_default();
        Gap { why: Why::Ended, what: format!("{what}: ended{end}; what followed is not known"), row: stamp.row.to_string() }
    };
    charges.chain(tariff).chain(taxes).filter(over).map(gap).collect()
}

/// Places whose parts find no rate of duty, and customs rates that are not in the tables.
fn missing(desk: &Desk<'_>) -> Vec<Gap> {
    let mut found = Vec::new();
    let place_rows: Vec<_> = desk.tables.places_of(&desk.ask.kind);
    for place in place_rows.iter().map(|row| &row.rule).filter(|place| !place.is_workshop()) {
        for (dispatch, what) in [("CN", "made in China"), ("TW", "made in Taiwan")] {
            if coverage(desk, &place.place, dispatch).known == Known::Gap {
                let what = format!("rate of duty on {} {what}", place.place);
                found.push(Gap { why: Why::Missing, what, row: String::new() });
            }
        }
    }
    if desk.destination.exchange != CustomsExchange::Market {
        for code in ["USD", "EUR", "CNY", "JPY", "GBP"] {
            let Some(currency) = Currency::parse(code).filter(|c| *c != desk.currency()) else { continue };
            if desk.customs_rate(currency, desk.ask.date).is_ok_and(|rate| rate.stands_in) {
                let what = format!("customs rate of {currency} for {}: the market rate stands in", desk.ask.date);
                found.push(Gap { why: Why::Missing, what, row: String::new() });
            }
        }
    }
    found
}

/// How a part can be priced.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Known {
    /// It crosses no border: nothing is charged.
    Home,
    /// From rows that were read or follow from what was read.
    Read,
    /// With a row from memory among them.
    Recalled,
    /// A rate of duty is missing.
    Gap,
}

/// What the price of one imagined part rests on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Coverage {
    /// How it is known.
    pub known: Known,
    /// The digits its part was taken for.
    pub commodity: String,
    /// Why there is a gap; which rows are from memory.
    pub why: Vec<String>,
}

/// Prices one imagined part of a place, sent from and made in a country, by courier, and says what it rests on.
pub fn coverage(desk: &Desk<'_>, place: &str, dispatch: &str) -> Coverage {
    if desk.is_home(dispatch) {
        return Coverage { known: Known::Home, commodity: String::new(), why: Vec::new() };
    }
    let text = format!(
        "part,place,seller,price,currency,dispatch,origin,mass_g,freight\nprobe,{place},probe,1500,EUR,{dispatch},{dispatch},1000,20\n"
    );
    let file = BookFile { path: "probe".to_owned(), table: "parts".to_owned(), bytes: text.into_bytes() };
    let mut problems = Problems::new();
    let book = Book::read(&[file], &mut problems);
    let rows: Vec<&Part> = book.parts.iter().collect();
    match cost_rows(&book, &rows, desk) {
        Ok(landed) => covered(&landed),
        Err(problems) => {
            let why = problems.iter().map(|problem| problem.message.clone()).collect();
            Coverage { known: Known::Gap, commodity: String::new(), why }
        }
    }
}

fn covered(landed: &Landed) -> Coverage {
    let steps = || landed.bills.iter().flat_map(|bill| &bill.trail);
    let commodity = landed.bills.iter().flat_map(|bill| &bill.lines).map(|line| line.commodity.clone()).next().unwrap_or_default();
    if landed.bills.iter().any(|bill| !bill.gaps.is_empty()) {
        let wanting = steps().filter(|step| step.kind == "duty" && step.amount.is_none() && step.owed);
        let why = wanting.filter_map(|step| Some(format!("`{}` ({})", step.id, step.row.as_ref()?))).collect();
        return Coverage { known: Known::Gap, commodity, why };
    }
    let looked_at = |step: &&Step| matches!(step.kind, "duty" | "remedy" | "tax" | "sale-tax") || step.id == "freight.border";
    let acting = steps().filter(|step| step.amount.is_some()).filter(looked_at);
    let recalled = acting.filter(|step| step.evidence == Some(Evidence::Recalled));
    let why: Vec<String> = recalled.filter_map(|step| step.rate_rows.first().or(step.row.as_ref()).map(ToString::to_string)).collect();
    Coverage { known: if why.is_empty() { Known::Read } else { Known::Recalled }, commodity, why }
}
