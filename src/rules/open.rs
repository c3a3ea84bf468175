//! Digits that stop above rows which differ: what could stand for them, and which of it costs the most.
//!
//! The longest prefix wins where the digits are long enough. Where they stop above rows of the tables that bear something
//! else, nobody has said which of those the goods are: the dearest counts, and what hangs on it is said. Noughts that only
//! fill digits up to a length say nothing about the goods, and digits filled up so stop where the noughts begin.

use std::collections::BTreeMap;

use super::claim::grant;
use super::form::trail::{Paid, paid};
use super::parcel::{Line, Parcel};
use super::program::Program;
use super::rate::Said;
use crate::tables::RowRef;
use crate::units::{Dec, Overflow};

/// The digits of a subheading of the Harmonized System; what follows them is a country's own.
const SUBHEADING: usize = 6;

/// Digits of a line on which money hangs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenDigits {
    /// The line.
    pub at: usize,
    /// Its digits, before the dearest were taken.
    pub digits: String,
    /// The longer rows that bear something else, those of anti-dumping and countervailing duty first.
    pub rows: Vec<RowRef>,
    /// From the cheapest to the dearest, in the destination's money.
    pub hangs: Dec,
}

/// Digits that could stand for those of a line, and the longer rows that serve them.
struct Choice {
    commodity: String,
    rows: Vec<Ranked>,
}

/// A row, behind whether it is of another layer than anti-dumping and countervailing duty, which are named first.
type Ranked = (bool, RowRef);

/// What one choice comes to, and whether no rate of duty is known for the line then.
#[derive(Debug, Clone, Copy)]
struct Weighed {
    sum: Dec,
    gap: bool,
}

impl Paid {
    fn of_line(&self, at: usize) -> Weighed {
        Weighed {
            sum: self.sum,
            gap: self.gaps.contains(&at),
        }
    }
}

/// What all layers say of goods, and what rules ask of them.
type Course<'a> = (Vec<Said<'a>>, Vec<Said<'a>>, Vec<bool>);

impl Program {
    /// The digits that could stand for a line's, its own first; goods of which the tables say the same are one choice.
    fn choices(&self, line: &Line) -> Vec<Choice> {
        let digits = line.commodity.as_str();
        if digits.is_empty() {
            return Vec::new();
        }
        let asked = self
            .asked
            .iter()
            .map(String::as_str)
            .filter(|word| word.len() > digits.len() && word.starts_with(digits));
        let mut names: Vec<&str> = self
            .tariff
            .beyond(digits)
            .chain(self.taxes.beyond(digits))
            .chain(asked)
            .collect();
        let remedies: Vec<&str> = self.remedy_layers().collect();
        names.sort_unstable();
        names.dedup();
        if names.is_empty() {
            return Vec::new();
        }
        let lines: Vec<(&str, Line)> = std::iter::once(digits)
            .chain(names)
            .map(|name| {
                (
                    name,
                    Line {
                        commodity: name.to_owned(),
                        ..line.clone()
                    },
                )
            })
            .collect();
        let mut known: Vec<(Course<'_>, Choice)> = Vec::new();
        for (name, line) in &lines {
            let (tariff, rows) = self.tariff.said(line, &self.groups, digits.len());
            let (taxes, more) = self.taxes.said(line, &self.groups, digits.len());
            let taxed = more.into_iter().map(|(_, row)| (true, row.clone()));
            let rows = rows
                .into_iter()
                .map(|(layer, row)| (!remedies.contains(&layer), row.clone()))
                .chain(taxed);
            let course = (
                tariff,
                taxes,
                self.asked
                    .iter()
                    .map(|word| name.starts_with(word.as_str()))
                    .collect(),
            );
            match known.iter_mut().find(|(other, _)| *other == course) {
                Some((_, choice)) => choice.rows.extend(rows),
                None => known.push((
                    course,
                    Choice {
                        commodity: (*name).to_owned(),
                        rows: rows.collect(),
                    },
                )),
            }
        }
        known.into_iter().map(|(_, choice)| choice).collect()
    }

    /// Digits without the noughts that only fill them up to a length: where no row has the digits or any below them, and rows
    /// lie below them without a pair of noughts at their end, they stop there.
    pub(super) fn unpadded<'d>(&self, digits: &'d str) -> &'d str {
        for cut in std::iter::once(digits).chain(cuts(digits)) {
            if self.lies_above(cut) {
                return cut;
            }
            if self.names_exactly(cut) {
                break;
            }
        }
        digits
    }

    fn lies_above(&self, digits: &str) -> bool {
        let mut asked = self
            .asked
            .iter()
            .filter(|word| word.len() > digits.len() && word.starts_with(digits));
        self.tariff.beyond(digits).next().is_some()
            || self.taxes.beyond(digits).next().is_some()
            || asked.next().is_some()
    }

    fn names_exactly(&self, digits: &str) -> bool {
        self.tariff.names(digits) || self.taxes.names(digits) || self.asked.contains(digits)
    }

    /// The rows beyond digits which say something else of goods from an origin, those of anti-dumping and countervailing duty first.
    pub fn rows_beyond(&self, commodity: &str, origin: &str) -> Vec<RowRef> {
        let commodity = self.unpadded(commodity).to_owned();
        let line = Line {
            commodity,
            origin: origin.to_owned(),
            ..Line::default()
        };
        sorted(
            self.choices(&line)
                .into_iter()
                .skip(1)
                .flat_map(|choice| choice.rows)
                .collect(),
        )
    }
}

/// Settles the digits of the open lines that stop above rows which differ: each line bears the dearest.
pub fn settle_digits(
    program: &Program,
    parcel: &mut Parcel,
    open: &[bool],
) -> Result<Vec<OpenDigits>, Overflow> {
    let mut found = Vec::new();
    // the tables say the same of the same digits and origin, whatever the line
    let mut of_goods: BTreeMap<(String, String), Vec<Choice>> = BTreeMap::new();
    // what the parcel comes to as its lines stand: the dearest of one line is where the next begins
    let mut standing: Option<Paid> = None;
    for at in (0..parcel.lines.len()).filter(|at| open.get(*at) == Some(&true)) {
        let line = &parcel.lines[at];
        let goods = (line.commodity.clone(), line.origin.clone());
        let digits = line.commodity.clone();
        let choices = of_goods
            .entry(goods)
            .or_insert_with(|| program.choices(line));
        if choices.len() < 2 {
            continue;
        }
        let mut paid = Vec::with_capacity(choices.len());
        for (nth, choice) in choices.iter().enumerate() {
            // the line's own digits stand first
            paid.push(match standing.take().filter(|_| nth == 0) {
                Some(known) => known,
                None => weigh(program, parcel, at, &choice.commodity)?,
            });
        }
        let weighed: Vec<Weighed> = paid.iter().map(|paid| paid.of_line(at)).collect();
        let dearest = dearest(&weighed);
        choices[dearest]
            .commodity
            .clone_into(&mut parcel.lines[at].commodity);
        standing = Some(paid.swap_remove(dearest));
        let Some((least, most)) = range(&weighed) else {
            continue;
        };
        if least != most {
            let usual = weighed
                .first()
                .filter(|own| !own.gap)
                .map_or(least, |own| own.sum);
            let others = choices
                .iter()
                .zip(&weighed)
                .filter(|(_, weighed)| weighed.sum != usual);
            let rows = others.flat_map(|(choice, _)| choice.rows.clone()).collect();
            found.push(OpenDigits {
                at,
                digits,
                rows: sorted(rows),
                hangs: most.minus(least)?,
            });
        }
    }
    Ok(found)
}

/// What the parcel comes to with other digits of a line; the parcel is afterwards as it was.
fn weigh(
    program: &Program,
    parcel: &mut Parcel,
    at: usize,
    commodity: &str,
) -> Result<Paid, Overflow> {
    let own = std::mem::replace(&mut parcel.lines[at].commodity, commodity.to_owned());
    let ungranted = grant(program, parcel)?;
    let found = paid(program, parcel)?;
    for line in ungranted {
        parcel.lines[line].preference = true;
    }
    parcel.lines[at].commodity = own;
    Ok(found)
}

/// The dearest, of equals one that is known whole, of those the first.
fn dearest(weighed: &[Weighed]) -> usize {
    let rank = |at: usize| weighed.get(at).map(|w| (w.sum, !w.gap));
    (0..weighed.len()).fold(0, |best, at| if rank(at) > rank(best) { at } else { best })
}

/// The cheapest and the dearest of those that are known whole, or of all where none is.
fn range(weighed: &[Weighed]) -> Option<(Dec, Dec)> {
    let all_open = weighed.iter().all(|w| w.gap);
    let sums = || weighed.iter().filter(|w| all_open || !w.gap).map(|w| w.sum);
    sums().min().zip(sums().max())
}

fn sorted(mut rows: Vec<Ranked>) -> Vec<RowRef> {
    rows.sort();
    rows.dedup();
    rows.into_iter().map(|(_, row)| row).collect()
}

/// What is left of digits when noughts at their end are taken off, longest first, in the lengths that headings have: six digits,
/// eight, ten.
pub(super) fn cuts(digits: &str) -> impl Iterator<Item = &str> {
    let kept = digits.trim_end_matches('0').len();
    let lengths = (kept.max(SUBHEADING)..digits.len())
        .rev()
        .filter(|length| length % 2 == 0);
    lengths.filter_map(move |length| digits.get(..length))
}
