//! What plans weigh: the sum of their parts, and once the whole bike was weighed the scale's figure, with what plans differ by.

use std::collections::BTreeSet;

use crate::book::{Book, Part, Standing};
use crate::landed::{Cautions, Jurisdiction, carried, counts};
use crate::units::{Dec, Grams, Mode, Overflow};
use crate::value::scale::{OnScale, weighed};

/// How the masses of plans come about, in tenths of a gram.
#[derive(Debug, Clone, Default)]
pub(super) struct Masses {
    /// The whole bike on the scale; none when it was not weighed, or the reading cannot be used.
    pub(super) scale: Option<OnScale>,
    /// What is carried through to every plan: the scale's figure less the sum of the build's parts, else what the basis adds for
    /// the rider.
    pub(super) beside: i64,
    /// Parts of a weighed build whose own mass is not known: whoever sells them, their grams lay on the scale.
    on_the_scale: BTreeSet<String>,
}

impl Masses {
    /// Looks at a book's weighings; what must be said of them goes to the cautions.
    pub(super) fn look(
        book: &Book,
        jurisdiction: &Jurisdiction<'_>,
        cautions: &mut Cautions,
    ) -> Result<Masses, Overflow> {
        let Some(scale) = weighed(book, jurisdiction, cautions)? else {
            let rider = carried(jurisdiction.ask.basis, jurisdiction)?
                .map_or(0, |[_, likely, _]| tenths(likely));
            return Ok(Masses {
                beside: rider,
                ..Masses::default()
            });
        };
        let unknown = book
            .build()
            .filter(|row| !row.is_open() && row.total_mass().is_none());
        let mut masses = Masses {
            on_the_scale: unknown.map(|row| row.name.clone()).collect(),
            beside: 0,
            scale: Some(scale),
        };
        let sum: i64 = book.build().map(|row| masses.of(row, jurisdiction)).sum();
        masses.beside = masses
            .scale
            .as_ref()
            .map_or(0, |scale| tenths(scale.likely()) - sum);
        Ok(masses)
    }

    /// What the build weighs as it stands: as the scale said, else as added up.
    pub(super) fn build(
        &self,
        book: &Book,
        jurisdiction: &Jurisdiction<'_>,
    ) -> Result<Grams, Overflow> {
        if let Some(scale) = &self.scale {
            return Ok(scale.likely());
        }
        let parts = book
            .build()
            .filter(|row| counts(row, jurisdiction))
            .filter_map(Part::total_mass);
        Grams::total(parts)?.plus(Grams(Dec::new(self.beside, 1)))
    }

    /// The same where it is known: none for a part that counts and has no mass of its own.
    pub(super) fn known(&self, row: &Part, jurisdiction: &Jurisdiction<'_>) -> Option<i64> {
        let counted = counts(row, jurisdiction) && row.standing != Standing::Bundled;
        let unknown = row.total_mass().is_none() || self.on_the_scale.contains(&row.name);
        (!(counted && unknown)).then(|| self.of(row, jurisdiction))
    }

    /// What a row adds on the basis asked for.
    pub(super) fn of(&self, row: &Part, jurisdiction: &Jurisdiction<'_>) -> i64 {
        let known = row
            .total_mass()
            .filter(|_| counts(row, jurisdiction) && !self.on_the_scale.contains(&row.name));
        known.map_or(0, tenths)
    }

    /// The first of the rows that an option would replace whose grams are on the scale and are not known by themselves: what
    /// would be saved cannot be said.
    pub(super) fn unknown<'a>(
        &self,
        mut replaced: impl Iterator<Item = &'a Part>,
    ) -> Option<String> {
        let row = replaced.find(|row| self.on_the_scale.contains(&row.name))?;
        Some(format!(
            "the bike was weighed with {}, whose own mass is not known",
            row.name
        ))
    }
}

/// A mass in tenths of a gram.
fn tenths(mass: Grams) -> i64 {
    mass.0.round_to(1, Mode::HalfUp).small_units(1).unwrap_or(0)
}
