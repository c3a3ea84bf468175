//! The law of a destination on a day, as the summary of `rates` looks at it: rows that count, and when they hold.

use super::law_when::{Sides, sides};
use crate::landed::{Ask, Desk};
use crate::tables::{Charge, Dated, Rule, Stamp, When};

/// A destination on a day.
#[derive(Clone, Copy)]
pub(super) struct Here<'a, 'd> {
    pub(super) desk: &'a Desk<'d>,
    pub(super) ask: &'a Ask,
}

impl<'a> Here<'a, '_> {
    /// The rows that count on the day.
    pub(super) fn rows<R: Rule>(self, rows: &'a [Dated<R>]) -> impl Iterator<Item = &'a Dated<R>> {
        let day = self.ask.date;
        rows.iter().filter(move |row| row.stamp.in_force(day))
    }

    /// When a row holds here; nothing where it never does for a private buyer.
    pub(super) fn sides(self, when: &When) -> Sides {
        sides(
            when,
            self.ask.to.code(),
            self.desk.group(),
            &self.ask.date.to_string(),
        )
    }

    /// The charges that can hold here, with when they do.
    pub(super) fn charges(self) -> impl Iterator<Item = (&'a Charge, &'a Stamp, Sides)> {
        let told =
            move |row: &'a Dated<Charge>| (&row.rule, &row.stamp, self.sides(&row.rule.when));
        self.rows(&self.desk.law.charges)
            .map(told)
            .filter(|(.., when)| !when.is_empty())
    }
}
