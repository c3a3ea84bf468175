//! The column `after`: what is known of the days after a duty, tax or fee whose last row ended.

use std::collections::BTreeMap;

use super::stamp::{Certainty, Dated, Rule};
use crate::text::words::one_of;
use crate::text::{Problems, Row};
use crate::units::Date;

/// What is known of the days after a row that ended and that no row follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum After {
    /// Nothing: something may be due, and that is said.
    Unknown,
    /// It simply ended, or another row says what followed.
    Nothing,
}

const AFTERS: [(&str, After); 2] = [("unknown", After::Unknown), ("nothing", After::Nothing)];

/// The word in `after`, or what it is where none is written.
pub(super) fn read_after(row: &Row<'_>, usual: After, problems: &mut Problems) -> After {
    row.cell("after")
        .optional(problems, |text| one_of(&AFTERS, text))
        .unwrap_or(usual)
}

/// Rows that another row of their kind follows have their word: that row. A row that was struck down follows too.
pub(super) fn settle_after<R: Rule>(
    rows: &mut [Dated<R>],
    key: impl Fn(&R) -> String,
    after: impl Fn(&mut R) -> &mut After,
) {
    let mut reach: BTreeMap<String, Option<Date>> = BTreeMap::new();
    for row in rows.iter().filter(|row| row.stamp.span.to.is_some()) {
        reach.insert(key(&row.rule), row.stamp.span.to);
    }
    if reach.is_empty() {
        return;
    }
    for row in rows
        .iter()
        .filter(|row| row.stamp.certainty != Certainty::Announced)
    {
        if let Some(last) = reach.get_mut(&key(&row.rule)) {
            *last = last.zip(row.stamp.span.to).map(|(last, to)| last.max(to));
        }
    }
    for row in rows.iter_mut() {
        let Some(to) = row.stamp.span.to else {
            continue;
        };
        if reach
            .get(&key(&row.rule))
            .is_some_and(|last| last.is_none_or(|last| last > to))
        {
            *after(&mut row.rule) = After::Nothing;
        }
    }
}
