//! How old and how sure the tables are for a destination and a day: what is missing, old, from memory, ended, or about to
//! change.

use std::collections::BTreeMap;

use super::coverage::{Known, coverage};
use super::jurisdiction::Jurisdiction;
use super::wanting::wanted;
use crate::tables::{After, Certainty, CustomsExchange, Evidence, Provenance, When};
use crate::text::words;
use crate::units::{Currency, Date};

/// What is to be said about a row, or about the want of one.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Gap {
    /// Why it is said.
    pub why: Why,
    /// What it is about.
    pub what: String,
    /// The row, when there is one.
    pub(crate) row: String,
    /// Both readings of a disputed row and who decides.
    pub(crate) dispute: Option<String>,
    /// The day on which something begins or ended, when there is one.
    pub(crate) day: Option<Date>,
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
    /// Its source is older than was asked.
    Old,
}

impl Why {
    /// In words.
    pub(crate) fn name(self) -> &'static str {
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
pub(crate) fn rows_in_force<'a>(
    jurisdiction: &'a Jurisdiction<'_>,
    day: Date,
) -> impl Iterator<Item = (String, &'a Provenance)> {
    all_rows(jurisdiction).filter(move |(_, stamp)| stamp.in_force(day))
}

/// A row that owes something: what is known of what follows it, where it stands, and its name.
type Owing<'a> = (After, &'a Provenance, String);

/// Rows of a destination's tables, but not those that only ever hold at another member of its group.
fn all_rows<'a>(
    jurisdiction: &'a Jurisdiction<'_>,
) -> impl Iterator<Item = (String, &'a Provenance)> {
    let law = &jurisdiction.law;
    let here = |when: &When| jurisdiction.can_hold(when);
    let named = |(_, stamp, what): Owing<'a>| (what, stamp);
    let reliefs = law
        .reliefs
        .iter()
        .filter(move |r| here(&r.rule.when))
        .map(|r| (r.rule.id.clone(), &r.stamp));
    let codes = law
        .codes
        .iter()
        .filter(move |r| here(&r.rule.when))
        .map(|r| (format!("{} {}", r.rule.place, r.rule.commodity), &r.stamp));
    let assemblies = law.assemblies.iter().map(|r| (r.rule.id.clone(), &r.stamp));
    charges(jurisdiction)
        .map(named)
        .chain(reliefs)
        .chain(tariff(jurisdiction).map(named))
        .chain(taxes(jurisdiction).map(named))
        .chain(codes)
        .chain(assemblies)
}

fn charges<'a>(jurisdiction: &'a Jurisdiction<'_>) -> impl Iterator<Item = Owing<'a>> {
    let rows = jurisdiction.law.charges.iter();
    rows.filter(|r| jurisdiction.can_hold(&r.rule.when))
        .map(|r| (r.rule.after, &r.stamp, r.rule.id.clone()))
}

fn tariff<'a>(jurisdiction: &'a Jurisdiction<'_>) -> impl Iterator<Item = Owing<'a>> {
    let rows = jurisdiction.law.tariff.iter();
    rows.filter(|r| jurisdiction.can_hold(&r.rule.when))
        .map(|r| {
            let (layer, commodity, origin) = (&r.rule.layer, &r.rule.commodity, &r.rule.origin);
            let name = format!("{layer} {commodity} {origin}");
            (r.rule.after, &r.stamp, name)
        })
}

fn taxes<'a>(jurisdiction: &'a Jurisdiction<'_>) -> impl Iterator<Item = Owing<'a>> {
    let rows = jurisdiction.law.taxes.iter();
    rows.filter(|r| r.rule.country == jurisdiction.ask.to.code())
        .map(|r| {
            let (tax, country, commodity) = (&r.rule.tax, &r.rule.country, &r.rule.commodity);
            let name = format!("{tax} {country} {commodity}");
            (r.rule.after, &r.stamp, name)
        })
}

/// Everything to be said about a destination's tables on a day; rows whose source is more than `older_than` days older are old.
pub fn gaps(jurisdiction: &Jurisdiction<'_>, older_than: i64) -> Vec<Gap> {
    let day = jurisdiction.ask.date;
    let mut found = missing(jurisdiction);
    found.extend(ended(jurisdiction, day));
    for (what, stamp) in all_rows(jurisdiction) {
        let row = stamp.row.to_string();
        let gap = |why, what: String| Gap {
            why,
            what,
            row: row.clone(),
            dispute: None,
            day: turning(stamp, day),
        };
        if let Some(change) = changing(stamp, day) {
            found.push(gap(Why::Changing, format!("{what}: {change}")));
        }
        if !stamp.in_force(day) {
            continue;
        }
        if stamp.disputed() {
            found.push(Gap {
                dispute: stamp.dispute_said().map(str::to_owned),
                ..gap(Why::Disputed, what.clone())
            });
        }
        if stamp.evidence == Evidence::Recalled {
            found.push(gap(Why::Recalled, what.clone()));
        }
        if let Some(age) = stamp
            .dated
            .or(stamp.checked)
            .map(|text| day.days_since(text))
            .filter(|age| *age > older_than)
        {
            found.push(gap(
                Why::Old,
                format!("{what}: its source is {age} days old"),
            ));
        }
    }
    found.sort();
    found.dedup();
    found
}

/// The next day on which a row begins, or after which it ends.
fn turning(stamp: &Provenance, day: Date) -> Option<Date> {
    stamp.span.from.filter(|from| *from > day).or(stamp.span.to)
}

fn changing(stamp: &Provenance, day: Date) -> Option<String> {
    let within = |date: Date| (1..=366).contains(&date.days_since(day));
    if stamp.certainty == Certainty::Announced && stamp.span.to.is_none_or(|to| to >= day) {
        return Some(format!("announced, {}", stamp.span));
    }
    if !stamp.counts() {
        return None;
    }
    match (
        stamp.span.from.filter(|d| within(*d)),
        stamp.span.to.filter(|d| within(*d)),
    ) {
        (Some(from), _) => Some(format!("in force from {from}")),
        (None, Some(to)) if stamp.span.holds(day) => Some(format!("in force until {to}")),
        _ => None,
    }
}

/// Duties, taxes and fees whose last row has ended, where it is not known what followed.
fn ended(jurisdiction: &Jurisdiction<'_>, day: Date) -> Vec<Gap> {
    let over = |(after, stamp, _): &Owing<'_>| {
        *after == After::Unknown && stamp.counts() && stamp.span.is_over(day)
    };
    let gap = |(_, stamp, what): Owing<'_>| {
        let end = stamp.span.to.map(|to| format!(" {to}")).unwrap_or_default();
        Gap {
            why: Why::Ended,
            what: format!("{what}: ended{end}; what followed is not known"),
            row: stamp.row.to_string(),
            dispute: None,
            day: stamp.span.to,
        }
    };
    charges(jurisdiction)
        .chain(tariff(jurisdiction))
        .chain(taxes(jurisdiction))
        .filter(over)
        .map(gap)
        .collect()
}

/// Places whose parts find no rate of duty, and customs rates that are not in the tables; what is missing alike is said once.
fn missing(jurisdiction: &Jurisdiction<'_>) -> Vec<Gap> {
    let mut found = Vec::new();
    let place_rows: Vec<_> = jurisdiction.tables.places_of(&jurisdiction.ask.kind);
    let places: Vec<&str> = place_rows
        .iter()
        .filter(|row| !row.rule.is_workshop())
        .map(|row| row.rule.place.as_str())
        .collect();
    let without = |origin: &str| -> Vec<&str> {
        places
            .iter()
            .copied()
            .filter(|place| coverage(jurisdiction, place, origin).known == Known::Gap)
            .collect()
    };
    let (chinese, taiwanese) = (without("CN"), without("TW"));
    let both: Vec<&str> = chinese
        .iter()
        .copied()
        .filter(|place| taiwanese.contains(place))
        .collect();
    let only = |of: &[&'_ str]| {
        of.iter()
            .copied()
            .filter(|place| !both.contains(place))
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    let (from_china, from_taiwan) = (only(&chinese), only(&taiwanese));
    let both: Vec<String> = both.iter().map(|place| (*place).to_owned()).collect();
    for (names, made) in [
        (both, ""),
        (from_china, " made in China"),
        (from_taiwan, " made in Taiwan"),
    ] {
        found.extend(without_rate(jurisdiction, names, made));
    }
    found.extend(exchange_missing(jurisdiction));
    found
}

/// Places whose parts find no rate of duty; those that want the same word of the parts are said together.
fn without_rate(jurisdiction: &Jurisdiction<'_>, names: Vec<String>, made: &str) -> Vec<Gap> {
    let mut alike: Vec<(String, Vec<String>)> = Vec::new();
    for name in names {
        let say = wanted(
            jurisdiction,
            std::slice::from_ref(&name),
            "",
            &BTreeMap::new(),
            (jurisdiction.ask.date, &[]),
        );
        match alike.iter_mut().find(|(other, _)| *other == say) {
            Some((_, places)) => places.push(name),
            None => alike.push((say, vec![name])),
        }
    }
    let gap = |(say, places): (String, Vec<String>)| {
        let say = if say.is_empty() {
            String::new()
        } else {
            format!(", until it is said in `traits` what it is: {say}")
        };
        Gap {
            why: Why::Missing,
            what: format!("rate of duty on {}{made}{say}", words::list(&places, "and")),
            row: String::new(),
            dispute: None,
            day: None,
        }
    };
    alike.into_iter().map(gap).collect()
}

fn exchange_missing(jurisdiction: &Jurisdiction<'_>) -> Option<Gap> {
    if jurisdiction.destination.exchange == CustomsExchange::Market {
        return None;
    }
    let currencies = ["CNY", "EUR", "GBP", "JPY", "USD"]
        .into_iter()
        .filter_map(Currency::parse)
        .filter(|c| *c != jurisdiction.currency());
    let standing = currencies.filter(|c| {
        jurisdiction
            .customs_rate(*c, jurisdiction.ask.date)
            .is_ok_and(|rate| rate.stands_in)
    });
    let names: Vec<String> = standing.map(|currency| currency.to_string()).collect();
    let what = format!(
        "customs rates of {} for {}: the market rate stands in",
        words::list(&names, "and"),
        jurisdiction.ask.date
    );
    (!names.is_empty()).then_some(Gap {
        why: Why::Missing,
        what,
        row: String::new(),
        dispute: None,
        day: None,
    })
}
