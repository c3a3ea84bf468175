//! What a build weighs on the basis asked for: its parts at places that the basis counts, and what it adds beyond any place.

use super::jurisdiction::Jurisdiction;
use crate::book::{MassKind, Part, Standing};
use crate::tables::{BasisRow, Dated, RowRef};
use crate::units::{Basis, Grams, Overflow};

/// Parts on the bike that the basis does not count: they are in no weight that is told.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Aside {
    /// Their names.
    pub(crate) parts: Vec<String>,
    /// What they weigh, as far as that is known.
    pub(crate) mass: Grams,
}

/// Whether a row is on the bike: tools, fluids, shop work and spares carry money and no mass.
pub(crate) fn on_the_bike(row: &Part, jurisdiction: &Jurisdiction<'_>) -> bool {
    row.places
        .iter()
        .any(|place| jurisdiction.place(place).is_some_and(|p| !p.is_workshop()))
}

/// Whether a row's mass counts: it is on the bike, at a place that the basis asked for counts.
pub(crate) fn counts(row: &Part, jurisdiction: &Jurisdiction<'_>) -> bool {
    row.places.iter().any(|place| {
        jurisdiction
            .place(place)
            .is_some_and(|p| !p.is_workshop() && p.counts_in(jurisdiction.ask.basis))
    })
}

/// What rows weigh on the basis asked for.
#[derive(Debug, Clone, Default)]
pub(super) struct Masses {
    /// All parts that the basis counts, with what it adds for the rider.
    pub(crate) mass: Grams,
    /// How much of it was weighed.
    pub(crate) weighed: Grams,
    /// What the basis adds for the rider, where it counts that.
    pub(crate) rider: Option<[Grams; 3]>,
    /// Parts on the bike that the basis does not count.
    pub(crate) aside: Aside,
    /// Parts without a mass.
    pub(crate) unknown: Vec<String>,
}

/// What rows weigh on the basis asked for, with what it adds for the rider.
pub(super) fn masses(rows: &[&Part], jurisdiction: &Jurisdiction<'_>) -> Result<Masses, Overflow> {
    let rider = carried(jurisdiction.ask.basis, jurisdiction)?;
    let mut found = Masses {
        mass: rider.map_or(Grams::ZERO, |[_, likely, _]| likely),
        rider,
        ..Masses::default()
    };
    for row in rows.iter().filter(|row| on_the_bike(row, jurisdiction)) {
        if counts(row, jurisdiction) {
            found.count(row)?;
        } else {
            found.set_aside(row)?;
        }
    }
    found.aside.parts.sort();
    found.unknown.sort();
    Ok(found)
}

impl Masses {
    /// Adds a row that the basis counts; what comes in the box of another row may be without a mass of its own.
    fn count(&mut self, row: &Part) -> Result<(), Overflow> {
        let Some(mass) = row.total_mass() else {
            if row.standing != Standing::Bundled {
                self.unknown.push(row.name.clone());
            }
            return Ok(());
        };
        self.mass = self.mass.plus(mass)?;
        if row.mass_kind == MassKind::Weighed {
            self.weighed = self.weighed.plus(mass)?;
        }
        Ok(())
    }

    /// Names a row that the basis does not count, with its mass where that is known.
    fn set_aside(&mut self, row: &Part) -> Result<(), Overflow> {
        if let Some(mass) = row.total_mass() {
            self.aside.mass = self.aside.mass.plus(mass)?;
        }
        self.aside.parts.push(row.name.clone());
        Ok(())
    }
}

/// What a basis counts beyond any place, such as what the rider carries: the least, the likely and the most. It goes on one bike as
/// on another.
pub(crate) fn carried(
    basis: Basis,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<[Grams; 3]>, Overflow> {
    let mut sum: Option<[Grams; 3]> = None;
    for (lower, upper) in basis_steps(Basis::Showroom, basis) {
        for (rule, _) in basis_rows(lower, upper, jurisdiction)
            .into_iter()
            .filter(|(rule, _)| rule.place.is_empty())
        {
            let own = [rule.grams.low, rule.grams.likely, rule.grams.high];
            let mut added = sum.unwrap_or_default();
            for (all, grams) in added.iter_mut().zip(own) {
                *all = all.plus(Grams(grams))?;
            }
            sum = Some(added);
        }
    }
    Ok(sum)
}

/// The steps between neighbouring bases on the way, each from the lighter to the heavier.
pub(crate) fn basis_steps(from: Basis, to: Basis) -> Vec<(Basis, Basis)> {
    let (low, high) = (from.min(to), from.max(to));
    let all = [
        (Basis::Showroom, Basis::Racing),
        (Basis::Racing, Basis::Ride),
    ];
    all.into_iter()
        .filter(|(lower, upper)| low <= *lower && *upper <= high)
        .collect()
}

/// The rows of such a step in force: a kind's own row stands before the row of all kinds.
pub(crate) fn basis_rows<'a>(
    lower: Basis,
    upper: Basis,
    jurisdiction: &Jurisdiction<'a>,
) -> Vec<(&'a BasisRow, &'a RowRef)> {
    let kind = jurisdiction.ask.kind.as_str();
    let here = |row: &BasisRow| row.from == lower.name() && row.to == upper.name();
    let rows = || {
        jurisdiction
            .tables
            .basis
            .iter()
            .filter(move |row| row.stamp.in_force(jurisdiction.ask.date) && here(&row.rule))
    };
    let own = |row: &&'a Dated<BasisRow>| {
        row.rule.kind == kind
            || (row.rule.kind == "*"
                && !rows().any(|o| o.rule.kind == kind && o.rule.adjustment == row.rule.adjustment))
    };
    rows()
        .filter(own)
        .map(|row| (&row.rule, &row.stamp.row))
        .collect()
}
