//! The rates of one pair of currencies, in the order of their days; a built-in file's are read when they are asked for.
//!
//! A cold start needs two or three currencies of twenty, and eight thousand rates take longer to read than a book.
//! The built-in file is in a plain form that a test holds it to: six columns, sorted by pair and day, no quotation marks.

use std::borrow::Cow;
use std::ops::Range;
use std::sync::{Arc, OnceLock};

use super::coin::currency;
use super::stamp::File;
use crate::text::words::one_of;
use crate::units::{Currency, Date, Dec, Span, number};

/// One published rate: units of the quote for one of the base.
#[derive(Debug, Clone)]
pub(super) struct Published {
    pub(super) span: Span,
    pub(super) rate: Dec,
    pub(super) line: usize,
    pub(super) path: Arc<str>,
    pub(super) users: bool,
    pub(super) source: Arc<str>,
}

/// Which rate is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Use {
    /// What a card or bank pays by.
    Market,
    /// What customs converts by.
    Customs,
}

pub(super) const USES: [(&str, Use); 2] = [("market", Use::Market), ("customs", Use::Customs)];

/// What a rate is for, its base and its quote.
pub(super) type Pair = (Use, Currency, Currency);

/// The rates of one pair.
#[derive(Debug, Default)]
pub(super) struct Series {
    rates: OnceLock<Vec<Published>>,
    laid: Option<Laid>,
    /// Whether a user's rate has a last day.
    spanned: bool,
}

/// Lines of a file that hold one pair.
#[derive(Debug, Clone)]
struct Laid {
    text: &'static str,
    lines: Range<usize>,
    /// The number of the first of them.
    first: usize,
    path: Arc<str>,
    source: Arc<str>,
}

impl Series {
    /// The rates, by day.
    pub(super) fn rates(&self) -> &[Published] {
        self.rates
            .get_or_init(|| self.laid.as_ref().map(Laid::read).unwrap_or_default())
    }

    /// The last rate that began by a day and serves it. One that is asked for once is looked for in the text, and the others
    /// beside it are not read.
    pub(super) fn serving(
        &self,
        day: Date,
        serves: impl Fn(&Published) -> bool,
    ) -> Option<Cow<'_, Published>> {
        if let (None, Some(laid)) = (self.rates.get(), &self.laid) {
            return laid.begun(day).find(|rate| serves(rate)).map(Cow::Owned);
        }
        let rates = self.rates();
        let begun = rates.partition_point(|p| p.span.from.is_some_and(|from| from <= day));
        let found = rates[..begun].iter().rev().find(|rate| serves(rate));
        found.map(Cow::Borrowed)
    }

    /// The days on which the first rate and the last began.
    pub(super) fn ends(&self) -> Option<(Date, Date)> {
        if let (None, Some(laid)) = (self.rates.get(), &self.laid) {
            let mut days = laid.own().lines().map(begins);
            let first = days.next()??;
            return Some((first, days.next_back().flatten().unwrap_or(first)));
        }
        let rates = self.rates();
        rates.first()?.span.from.zip(rates.last()?.span.from)
    }

    /// Whether a user's rate has a last day, and goes before all others while it lasts.
    pub(super) fn is_spanned(&self) -> bool {
        self.spanned
    }

    /// One more, after those that are laid down.
    pub(super) fn push(&mut self, published: Published) {
        self.rates();
        self.spanned = self.spanned || (published.users && published.span.to.is_some());
        if let Some(rates) = self.rates.get_mut() {
            rates.push(published);
        }
    }

    /// The rates that did not come from the plain file alone, to be sorted and checked.
    pub(super) fn read_already(&mut self) -> Option<&mut Vec<Published>> {
        self.rates.get_mut()
    }
}

impl Laid {
    fn read(&self) -> Vec<Published> {
        let lines = self.own().lines().enumerate();
        lines
            .filter_map(|(at, line)| self.line(self.first + at, line))
            .collect()
    }

    fn own(&self) -> &'static str {
        self.text.get(self.lines.clone()).unwrap_or_default()
    }

    /// The rates that began by a day, the last first.
    fn begun(&self, day: Date) -> impl Iterator<Item = Published> {
        let own = self.own();
        let mut end = begun_by(own, day);
        std::iter::from_fn(move || {
            let last = end.checked_sub(1)?;
            let start = own[..last].rfind('\n').map_or(0, |at| at + 1);
            let before = line_ends(&own[..start]);
            let rate = self.line(self.first + before, own[start..end].trim_end());
            end = start;
            Some(rate)
        })
        .flatten()
    }

    fn line(&self, line: usize, text: &str) -> Option<Published> {
        let mut cells = text.split(',').skip(3);
        let rate = number::plain(cells.next()?).ok()?;
        let day = |text: &str| {
            if text.is_empty() {
                Some(None)
            } else {
                Date::parse(text).ok().map(Some)
            }
        };
        let span = Span {
            from: day(cells.next()?)?,
            to: day(cells.next()?)?,
        };
        Some(Published {
            span,
            rate,
            line,
            path: self.path.clone(),
            users: false,
            source: self.source.clone(),
        })
    }
}

/// Cuts a built-in file in the plain form into its pairs; none where it is not in that form.
pub(super) fn cut(file: &File) -> Option<Vec<(Pair, Series)>> {
    const HEADER: &str = "use,base,quote,rate,valid_from,valid_to";
    let Cow::Borrowed(bytes) = file.bytes else {
        return None;
    };
    if file.users || memchr::memchr2(b'"', b'\r', bytes).is_some() {
        return None;
    }
    let text = std::str::from_utf8(bytes).ok()?;
    let header = text.find(HEADER).filter(|at| {
        text.get(at + HEADER.len()..)
            .is_some_and(|rest| rest.starts_with('\n'))
    })?;
    let notes = text.get(..header)?;
    let source = notes
        .lines()
        .find_map(|line| line.strip_prefix("# source = "))?;
    let (path, source): (Arc<str>, Arc<str>) = (Arc::from(file.path.as_str()), Arc::from(source));
    let mut at = header + HEADER.len() + 1;
    let mut first = line_ends(text.get(..at)?) + 1;
    let mut found = Vec::new();
    while at < text.len() {
        let rest = text.get(at..)?;
        let prefix = rest.get(..rest.match_indices(',').nth(2)?.0 + 1)?;
        let mut cells = prefix.split(',');
        let pair = (
            one_of(&USES, cells.next()?).ok()?,
            currency(cells.next()?).ok()?,
            currency(cells.next()?).ok()?,
        );
        let end = at + length(rest, prefix);
        let laid = Laid {
            text,
            lines: at..end,
            first,
            path: path.clone(),
            source: source.clone(),
        };
        found.push((
            pair,
            Series {
                laid: Some(laid),
                ..Series::default()
            },
        ));
        first += line_ends(text.get(at..end)?);
        at = end;
    }
    Some(found)
}

/// The length of the lines at the start of a text that begin with this: all that do stand there together, and the end of hundreds
/// is found without looking at each.
fn length(text: &str, prefix: &str) -> usize {
    let (bytes, prefix) = (text.as_bytes(), prefix.as_bytes());
    // a line that begins so starts at the one; at the other a line that does not, or nothing more
    let (mut inside, mut beyond) = (0, bytes.len());
    loop {
        let middle = inside + (beyond - inside) / 2;
        let before = memchr::memrchr(b'\n', &bytes[inside..middle]).map(|end| inside + end + 1);
        let after = || {
            memchr::memchr(b'\n', &bytes[middle..beyond])
                .map(|end| middle + end + 1)
                .filter(|start| *start < beyond)
        };
        let Some(start) = before.or_else(after) else {
            return beyond;
        };
        if bytes[start..].starts_with(prefix) {
            inside = start;
        } else {
            beyond = start;
        }
    }
}

/// The day on which the rate of a line begins.
fn begins(line: &str) -> Option<Date> {
    Date::parse(line.split(',').nth(4)?).ok()
}

fn line_ends(text: &str) -> usize {
    memchr::memchr_iter(b'\n', text.as_bytes()).count()
}

/// Where those of a pair's lines end that begin by a day; they stand in the order of their days.
fn begun_by(lines: &str, day: Date) -> usize {
    let day = day.to_string();
    let bytes = lines.as_bytes();
    // a day in the form of ISO 8601 stands before another as its text does
    let begins = |line: &str| line.split(',').nth(4).is_some_and(|from| from <= &*day);
    let (mut inside, mut beyond) = (0, lines.len());
    while inside < beyond {
        let middle = inside + (beyond - inside) / 2;
        let start =
            memchr::memrchr(b'\n', &bytes[inside..middle]).map_or(inside, |at| inside + at + 1);
        let next =
            memchr::memchr(b'\n', &bytes[middle..beyond]).map_or(beyond, |at| middle + at + 1);
        if begins(&lines[start..next]) {
            inside = next;
        } else {
            beyond = start;
        }
    }
    inside
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rate_that_is_looked_for_is_the_one_that_is_read() {
        for count in 0..12 {
            let line = |at: u32| format!("market,EUR,AUD,1.{at},2026-03-{:02},\n", at * 2 + 1);
            let own: String = (0..count).map(line).collect();
            let text: &'static str = format!("use\n{own}market,EUR,BGN,2,2026-03-01,\n").leak();
            let series = || Series {
                laid: Some(Laid {
                    text,
                    lines: 4..4 + own.len(),
                    first: 2,
                    path: Arc::from("exchange.csv"),
                    source: Arc::from("a test"),
                }),
                ..Series::default()
            };
            let (looked_for, read) = (series(), series());
            read.rates();
            assert_eq!(looked_for.ends(), read.ends(), "{count}");
            for day in 1..30 {
                let day = Date::parse(&format!("2026-03-{day:02}")).unwrap();
                for odd in [false, true] {
                    let serves = |rate: &Published| !odd || rate.line % 2 == 1;
                    let (looked_for, read) = (series(), series());
                    read.rates();
                    let told = |one: Option<Cow<'_, Published>>| {
                        one.map(|one| (one.line, one.rate, one.span.from))
                    };
                    let found = told(looked_for.serving(day, serves));
                    assert_eq!(found, told(read.serving(day, serves)), "{count} {day}");
                    assert!(looked_for.rates.get().is_none());
                }
            }
        }
    }

    #[test]
    fn lines_that_begin_alike_are_found_together() {
        for ours in 1..40 {
            for others in 0..40 {
                let line = |pair: &str, at: usize| format!("{pair},{}\n", "1".repeat(at * 7 % 5));
                let same: String = (0..ours).map(|at| line("market,EUR,AUD", at)).collect();
                let rest: String = (0..others).map(|at| line("market,EUR,BGN", at)).collect();
                assert_eq!(
                    length(&(same.clone() + &rest), "market,EUR,AUD,"),
                    same.len(),
                    "{ours} {others}"
                );
                assert_eq!(
                    length((same.clone() + &rest).trim_end(), "market,EUR,AUD,"),
                    (same.clone() + &rest).trim_end().len().min(same.len())
                );
            }
        }
    }
}
