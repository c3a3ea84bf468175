//! `exchange.csv`: published rates by day, market and customs, and how to get from one currency to another.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::Arc;

use super::coin::currency;
use super::series::{Pair, Published, Series, USES, Use, cut};
use super::stamp::{Certainty, File, MARKS, Marks, PROVENANCE, RowRef, read_marks, read_span};
use crate::text::words::one_of;
use crate::text::{Columns, Diagnostic, Problems, Sheet};
use crate::units::{Currency, Date, Dec, Overflow, Rate, number};

/// All published rates.
#[derive(Debug, Default)]
pub struct Exchange {
    pairs: BTreeMap<Pair, Series>,
}

/// A rate that was found, and where.
#[derive(Debug, Clone)]
pub struct Quote {
    /// The rate.
    pub rate: Rate,
    /// The rows it was made of.
    pub(crate) rows: Vec<RowRef>,
    /// Their sources.
    pub(crate) sources: Vec<Arc<str>>,
    /// The day of the oldest of them.
    pub day: Option<Date>,
    /// The published figures, as text for the trail.
    pub(crate) figures: Vec<String>,
}

impl Quote {
    /// One for one.
    pub(crate) fn same() -> Quote {
        Quote {
            rate: Rate::SAME,
            rows: Vec::new(),
            sources: Vec::new(),
            day: None,
            figures: Vec::new(),
        }
    }
}

const COLUMNS: Columns = Columns {
    needed: &["use", "base", "quote", "rate", "valid_from"],
    optional: &[],
    shared: PROVENANCE,
};

impl Exchange {
    /// Adds a file's rows. There are thousands: marks that are the same for the whole file are read once, and a
    /// currency that stands above is not looked up again.
    pub(super) fn add(&mut self, file: &File, problems: &mut Problems) {
        if let Some(plain) =
            cut(file).filter(|pairs| pairs.iter().all(|(pair, _)| !self.pairs.contains_key(pair)))
        {
            self.pairs.extend(plain);
            return;
        }
        let sheet = Sheet::read(&file.path, &file.bytes, &COLUMNS, problems);
        let one_for_all = !sheet.headers().any(|name| MARKS.contains(&name));
        let mut marks: Option<Marks> = None;
        let mut known: [(&str, Option<Currency>); 2] = [("", None); 2];
        for row in sheet.rows() {
            let usage = row.cell("use").needed(problems, |t| one_of(&USES, t));
            let mut currency_of = |column: &'static str, at: usize, problems: &mut Problems| {
                let cell = row.cell(column);
                if known[at].0 != cell.text() || known[at].1.is_none() {
                    known[at] = (cell.text(), cell.needed(problems, currency));
                }
                known[at].1
            };
            let (base, quote) = (
                currency_of("base", 0, problems),
                currency_of("quote", 1, problems),
            );
            let rate = row.cell("rate").needed(problems, positive);
            let span = read_span(&sheet, &row, problems);
            if marks.is_none() || !one_for_all {
                marks = read_marks(&sheet, &row, problems);
            }
            let (Some(usage), Some(base), Some(quote), Some(rate), Some(marks)) =
                (usage, base, quote, rate, &marks)
            else {
                continue;
            };
            if span.from.is_none() && row.cell("valid_from").is_empty() {
                problems.push(
                    row.cell("valid_from").error(
                        "expected the first day on which the row counts, such as `2026-01-01`",
                    ),
                );
            }
            if base == quote {
                problems.push(
                    row.cell("quote")
                        .error("expected another currency than the base"),
                );
            }
            if matches!(marks.certainty, Certainty::Certain | Certainty::Disputed) {
                let published = Published {
                    span,
                    rate,
                    line: row.line(),
                    path: sheet.path().clone(),
                    users: file.users,
                    source: marks.source.clone(),
                };
                self.pairs
                    .entry((usage, base, quote))
                    .or_default()
                    .push(published);
            }
        }
    }

    /// Sorts the rates and refuses two for one day from one hand.
    pub(super) fn settle(&mut self, problems: &mut Problems) {
        for ((usage, base, quote), series) in &mut self.pairs {
            let Some(rates) = series.read_already() else {
                continue;
            };
            rates.sort_by(|a, b| a.span.from.cmp(&b.span.from).then(a.users.cmp(&b.users)));
            for pair in rates.windows(2) {
                let [one, other] = pair else { continue };
                let same_day = one.span.from == other.span.from;
                let clash = same_day || (*usage == Use::Customs && one.span.overlaps(&other.span));
                if one.users == other.users && clash {
                    let day = other.span.from.map(|d| d.to_string()).unwrap_or_default();
                    let place = RowRef {
                        path: other.path.clone(),
                        line: other.line,
                    }
                    .place();
                    problems.push(
                        Diagnostic::error(format!(
                            "two rates of {base} to {quote} for {day}: expected one"
                        ))
                        .at(place)
                        .note(format!("the other is {}:{}", one.path, one.line)),
                    );
                }
            }
        }
    }

    /// The rate of a pair on a day, straight or turned, or through one currency that both are quoted against.
    pub fn quote(
        &self,
        usage: Use,
        from: Currency,
        to: Currency,
        day: Date,
    ) -> Result<Option<Quote>, Overflow> {
        if from == to {
            return Ok(Some(Quote::same()));
        }
        if let Some(straight) = self.one_step(usage, from, to, day) {
            return Ok(Some(straight));
        }
        let Some(middle) = self.middle(usage, from, to, day) else {
            return Ok(None);
        };
        let Some((first, second)) = self
            .one_step(usage, from, middle, day)
            .zip(self.one_step(usage, middle, to, day))
        else {
            return Ok(None);
        };
        Ok(Some(Quote {
            rate: first.rate.then(second.rate)?,
            rows: [first.rows, second.rows].concat(),
            sources: first.sources,
            day: first.day.min(second.day),
            figures: [first.figures, second.figures].concat(),
        }))
    }

    /// Whether the row that serves a day, straight or turned, is the user's.
    pub(crate) fn is_users(&self, usage: Use, from: Currency, to: Currency, day: Date) -> bool {
        self.step(usage, from, to, day)
            .is_some_and(|(found, ..)| found.users)
    }

    /// A customs rate of the rows that name no authority: those that stand straight between the two, one of which is the
    /// destination's own money. Nothing says whose they are, so none is worked out through a third.
    pub(crate) fn customs_of_nobody(
        &self,
        from: Currency,
        own: Currency,
        day: Date,
    ) -> Option<Quote> {
        self.one_step(Use::Customs, from, own, day)
    }

    /// The currency through which two others meet: of those that both are quoted against, the one with the latest rates, and
    /// among equals the euro, in which most of them are published.
    fn middle(&self, usage: Use, from: Currency, to: Currency, day: Date) -> Option<Currency> {
        let mut known: Vec<Currency> = self
            .pairs
            .keys()
            .filter(|pair| pair.0 == usage)
            .flat_map(|pair| [pair.1, pair.2])
            .collect();
        known.sort_unstable();
        known.dedup();
        let age = |middle: Currency| {
            let (first, _, _) = self.step(usage, from, middle, day)?;
            let (second, _, _) = self.step(usage, middle, to, day)?;
            Some((
                first.span.from.min(second.span.from),
                middle == Currency::EUR,
                std::cmp::Reverse(middle),
                middle,
            ))
        };
        known
            .into_iter()
            .filter_map(age)
            .max()
            .map(|(.., middle)| middle)
    }

    /// The same without its rows and words: a price list asks for thousands.
    pub(crate) fn rate(
        &self,
        usage: Use,
        from: Currency,
        to: Currency,
        day: Date,
    ) -> Result<Option<Rate>, Overflow> {
        // all that any of them could be worked out from is read at the first question
        let of_either = |pair: &Pair| [pair.1, pair.2].iter().any(|one| [from, to].contains(one));
        for (_, series) in self
            .pairs
            .iter()
            .filter(|(pair, _)| pair.0 == usage && of_either(pair))
        {
            series.rates();
        }
        match self.step(usage, from, to, day) {
            Some((_, rate, _)) if from != to => Ok(Some(rate)),
            _ => Ok(self.quote(usage, from, to, day)?.map(|quote| quote.rate)),
        }
    }

    /// A pair as it is published, or turned round by dividing: an inverse is never rounded.
    fn step(
        &self,
        usage: Use,
        from: Currency,
        to: Currency,
        day: Date,
    ) -> Option<(Cow<'_, Published>, Rate, (Currency, Currency))> {
        let straight = self.published(usage, from, to, day);
        let turned = self.published(usage, to, from, day);
        Some(match (straight, turned) {
            (Some(one), Some(other)) if says_more(&one, day) < says_more(&other, day) => {
                let rate = Rate::new(Dec::ONE, other.rate)?;
                (other, rate, (to, from))
            }
            (Some(found), _) => {
                let rate = Rate::new(found.rate, Dec::ONE)?;
                (found, rate, (from, to))
            }
            (None, Some(found)) => {
                let rate = Rate::new(Dec::ONE, found.rate)?;
                (found, rate, (to, from))
            }
            (None, None) => return None,
        })
    }

    fn one_step(&self, usage: Use, from: Currency, to: Currency, day: Date) -> Option<Quote> {
        let (found, rate, pair) = self.step(usage, from, to, day)?;
        Some(Quote {
            rate,
            rows: vec![RowRef {
                path: found.path.clone(),
                line: found.line,
            }],
            sources: vec![found.source.clone()],
            day: found.span.from,
            figures: vec![format!("1 {} = {} {}", pair.0, found.rate, pair.1)],
        })
    }

    /// The row that serves a day: the user's span that holds it, else the last on or before it. A customs rate serves
    /// only the days of its span.
    fn published(
        &self,
        usage: Use,
        base: Currency,
        quote: Currency,
        day: Date,
    ) -> Option<Cow<'_, Published>> {
        let series = self.pairs.get(&(usage, base, quote))?;
        let users_span = |p: &Published| p.users && p.span.to.is_some() && p.span.holds(day);
        let spanned = if series.is_spanned() {
            series.serving(day, users_span)
        } else {
            None
        };
        spanned.or_else(|| {
            series.serving(day, |p| {
                p.span.holds(day) || (usage == Use::Market && !p.users && p.span.to.is_none())
            })
        })
    }

    /// The first and last day of any built-in market rate of a currency against the euro.
    pub(crate) fn covered(&self, currency: Currency) -> Option<(Date, Date)> {
        let pair = (Use::Market, Currency::EUR, currency);
        self.pairs.get(&pair)?.ends()
    }

    /// Market rates of a currency against the euro by day, for histories.
    pub(crate) fn history(&self, currency: Currency) -> impl Iterator<Item = (Date, Dec)> {
        let rates = self
            .pairs
            .get(&(Use::Market, Currency::EUR, currency))
            .map_or(&[][..], Series::rates);
        rates.iter().filter_map(|p| Some((p.span.from?, p.rate)))
    }
}

/// Of a pair published both ways round, the row that serves: the user's span that holds the day, the later, the user's.
fn says_more(rate: &Published, day: Date) -> (bool, Option<Date>, bool) {
    let own_span = rate.users && rate.span.to.is_some() && rate.span.holds(day);
    (own_span, rate.span.from, rate.users)
}

fn positive(text: &str) -> Result<Dec, String> {
    number::plain(text).and_then(|n| {
        if n.is_positive() {
            Ok(n)
        } else {
            Err("expected a rate above 0".to_owned())
        }
    })
}
