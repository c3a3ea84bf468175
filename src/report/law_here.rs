//! The law of a destination on a day, as the summary of `rates` looks at it: rows that count, and when they hold.

use super::law_when::{Sides, sides};
use crate::landed::{Jurisdiction, Question};
use crate::tables::{Charge, Dated, Provenance, Rule, When};

/// A destination on a day.
#[derive(Clone, Copy)]
pub(super) struct Here<'a, 'd> {
    pub(super) jurisdiction: &'a Jurisdiction<'d>,
    pub(super) ask: &'a Question,
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
            self.jurisdiction.group(),
            &self.ask.date.to_string(),
        )
    }

    /// The charges that can hold here, with when they do.
    pub(super) fn charges(self) -> impl Iterator<Item = (&'a Charge, &'a Provenance, Sides)> {
        let told =
            move |row: &'a Dated<Charge>| (&row.rule, &row.stamp, self.sides(&row.rule.when));
        self.rows(&self.jurisdiction.law.charges)
            .map(told)
            .filter(|(.., when)| !when.is_empty())
    }
}
