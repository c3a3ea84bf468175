//! Calendar dates, and the spans of days on which a rule is in force.

use std::fmt;

use chrono::{Datelike, Days, Months, NaiveDate};

/// A calendar day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date(NaiveDate);

/// The months, from the first.
pub(crate) const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// The month, from 1, that a word of three letters or more begins: `mar`, `March`.
fn month_of(word: &str) -> Option<u32> {
    let begins = |month: &&str| {
        month
            .get(..word.len())
            .is_some_and(|begin| begin.eq_ignore_ascii_case(word))
    };
    let at = MONTHS.iter().position(|m| word.len() >= 3 && begins(m))?;
    u32::try_from(at).ok()?.checked_add(1)
}

impl Date {
    /// The first of January 1970, from which clocks count.
    pub const EPOCH: Date = Date::new_years_day(1970);

    /// The first day there is, from which that holds which always held.
    pub(crate) const FIRST: Date = Date::new_years_day(1900);

    const fn new_years_day(year: i32) -> Date {
        Date(match NaiveDate::from_ymd_opt(year, 1, 1) {
            Some(day) => day,
            None => NaiveDate::MIN,
        })
    }

    /// A day by its numbers, when there is one.
    pub fn new(year: i32, month: u32, day: u32) -> Option<Date> {
        NaiveDate::from_ymd_opt(year, month, day)
            .map(Date)
            .filter(|day| *day >= Date::FIRST && year <= 2200)
    }

    /// Reads `2026-03-02`, `2 March 2026`, `02.03.2026` (day first), or slashes where only one reading is a day;
    /// otherwise the error says what was expected or prints both readings.
    pub fn parse(text: &str) -> Result<Date, String> {
        if let Some(day) = Date::parse_iso(text.as_bytes()) {
            return Ok(day);
        }
        let expected = || "expected a date such as `2026-03-02`".to_owned();
        let mark = text
            .chars()
            .find(|c| matches!(c, '-' | '/' | '.' | ' '))
            .unwrap_or('-');
        let pieces: Vec<&str> = text
            .split(mark)
            .filter(|piece| mark != ' ' || !piece.is_empty())
            .collect();
        let [first, middle, last] = pieces[..] else {
            return Err(expected());
        };
        let whole = |piece: &str| -> Option<u32> {
            (piece.len() <= 4 && piece.bytes().all(|d| d.is_ascii_digit()))
                .then(|| piece.parse().ok())
                .flatten()
        };
        let day = |year: &str, month: u32, day: u32| {
            let year = whole(year).filter(|_| year.len() == 4)?;
            Date::new(i32::try_from(year).ok()?, month, day)
        };
        if let Some(month) = month_of(middle) {
            return whole(first)
                .and_then(|d| day(last, month, d))
                .ok_or_else(expected);
        }
        let (Some(one), Some(two), Some(three)) = (whole(first), whole(middle), whole(last)) else {
            return Err(expected());
        };
        if first.len() == 4 {
            return day(first, two, three).ok_or_else(expected);
        }
        let day_first = day(last, two, one);
        if mark == '.' {
            return day_first.ok_or_else(expected);
        }
        match (day_first, day(last, one, two)) {
            (Some(one), Some(other)) if one != other => Err(format!(
                "can be read as {one} or as {other}: write `{one}` or `{other}`"
            )),
            (Some(one), _) | (None, Some(one)) => Ok(one),
            (None, None) => Err(expected()),
        }
    }

    /// The form of tables, `2026-03-02`, of which there are thousands to read.
    fn parse_iso(text: &[u8]) -> Option<Date> {
        let [a, b, c, d, b'-', e, f, b'-', g, h] = *text else {
            return None;
        };
        let two = |tens: u8, ones: u8| {
            let both = tens.is_ascii_digit() && ones.is_ascii_digit();
            if both {
                Some(u32::from(tens - b'0') * 10 + u32::from(ones - b'0'))
            } else {
                None
            }
        };
        let year = i32::try_from(two(a, b)? * 100 + two(c, d)?).ok()?;
        Date::new(year, two(e, f)?, two(g, h)?)
    }

    /// The day that is a number of days later.
    #[must_use]
    pub fn plus_days(self, days: u32) -> Date {
        Date(
            self.0
                .checked_add_days(Days::new(u64::from(days)))
                .unwrap_or(self.0),
        )
    }

    /// The same day of the month a number of months later, or that month's last.
    #[must_use]
    pub(crate) fn plus_months(self, months: u32) -> Date {
        Date(
            self.0
                .checked_add_months(Months::new(months))
                .unwrap_or(self.0),
        )
    }

    /// The day that is a number of days earlier.
    #[must_use]
    pub fn minus_days(self, days: u32) -> Date {
        Date(
            self.0
                .checked_sub_days(Days::new(u64::from(days)))
                .unwrap_or(self.0),
        )
    }

    /// Days from the other date to this one.
    pub(crate) fn days_since(self, other: Date) -> i64 {
        self.0.signed_duration_since(other.0).num_days()
    }

    /// The year.
    pub(crate) fn year(self) -> i32 {
        self.0.year()
    }

    /// The month, from 1.
    pub(crate) fn month(self) -> u32 {
        self.0.month()
    }

    /// The day of the month.
    pub(crate) fn day(self) -> u32 {
        self.0.day()
    }

    /// In words: `23 September 2026`.
    pub(crate) fn in_words(self) -> String {
        let month = usize::try_from(self.0.month0())
            .ok()
            .and_then(|at| MONTHS.get(at))
            .copied()
            .unwrap_or_default();
        format!("{} {month} {}", self.day(), self.year())
    }

    /// Days after the Monday of its week: Wednesday is 2.
    pub(crate) fn weekday(self) -> u32 {
        self.0.weekday().num_days_from_monday()
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0.format("%Y-%m-%d"))
    }
}

/// A span of days, both ends included; an open end has no date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Span {
    /// The first day; none for a rule whose start is not known yet.
    pub from: Option<Date>,
    /// The last day.
    pub(crate) to: Option<Date>,
}

impl Span {
    /// Whether the day lies in it; a span without a start holds no day.
    pub(crate) fn holds(&self, day: Date) -> bool {
        self.from.is_some_and(|from| from <= day) && self.to.is_none_or(|to| day <= to)
    }

    /// Whether its last day lies before a day.
    pub(crate) fn is_over(&self, day: Date) -> bool {
        self.to.is_some_and(|to| to < day)
    }

    /// The first day it holds, and the first on which it no longer does.
    pub(crate) fn turns(&self) -> impl Iterator<Item = Date> + use<> {
        [self.from, self.to.map(|to| to.plus_days(1))]
            .into_iter()
            .flatten()
    }

    /// Whether the two share a day.
    pub(crate) fn overlaps(&self, other: &Span) -> bool {
        let (Some(a), Some(b)) = (self.from, other.from) else {
            return false;
        };
        self.to.is_none_or(|to| b <= to) && other.to.is_none_or(|to| a <= to)
    }
}

impl fmt::Display for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.from, self.to) {
            (Some(from), Some(to)) => write!(f, "{from} to {to}"),
            (Some(from), None) => write!(f, "from {from}"),
            (None, Some(to)) => write!(f, "until {to}"),
            (None, None) => f.write_str("start not known"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ways_people_write_a_day() {
        for text in [
            "2026-03-02",
            "2 March 2026",
            "02 Mar 2026",
            "02.03.2026",
            "2.3.2026",
        ] {
            assert_eq!(
                Date::parse(text).unwrap(),
                Date::new(2026, 3, 2).unwrap(),
                "{text}"
            );
        }
        assert_eq!(Date::parse("31/01/2026").unwrap().to_string(), "2026-01-31");
    }

    #[test]
    fn in_words_and_back_for_every_month() {
        for month in 1..=12 {
            let day = Date::new(2026, month, 9).unwrap();
            assert_eq!(Date::parse(&day.in_words()), Ok(day), "{}", day.in_words());
        }
        assert_eq!(
            Date::new(2026, 9, 23).unwrap().in_words(),
            "23 September 2026"
        );
    }

    #[test]
    fn two_readings_are_both_printed() {
        let message = Date::parse("03/04/2026").unwrap_err();
        assert!(
            message.contains("2026-04-03") && message.contains("2026-03-04"),
            "{message}"
        );
    }

    #[test]
    fn nonsense_is_refused() {
        for text in [
            "",
            "yesterday",
            "2026-13-01",
            "2026-02-30",
            "02/03/26",
            "99999-01-01",
            "2026",
            "2 Marble 2026",
            "2026-03/02",
            "-2026-03-02",
            "2026-03-02-",
        ] {
            assert!(Date::parse(text).is_err(), "{text}");
        }
    }
}
