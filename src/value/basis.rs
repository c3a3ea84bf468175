//! One basis for masses: what a bike weighs in the showroom, in a race, as it is ridden, and the grams between them.

use std::collections::BTreeMap;

use super::bench::{There, there};
use crate::book::Part;
use crate::landed::{Jurisdiction, basis_rows, basis_steps};
use crate::tables::{BasisRow, RowRef};
use crate::text::words;
use crate::units::{BASES, Basis, Dec, Grams, Overflow};

/// A mass that is known between two ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Span {
    /// The least.
    pub(crate) low: Grams,
    /// The likely one.
    pub(crate) likely: Grams,
    /// The most.
    pub(crate) high: Grams,
}

impl Span {
    /// A mass that is known.
    pub(crate) fn exactly(mass: Grams) -> Span {
        Span {
            low: mass,
            likely: mass,
            high: mass,
        }
    }

    /// Whether both ends are one.
    pub(crate) fn is_exact(&self) -> bool {
        self.low == self.high
    }

    fn plus(self, other: Span) -> Result<Span, Overflow> {
        Ok(Span {
            low: self.low.plus(other.low)?,
            likely: self.likely.plus(other.likely)?,
            high: self.high.plus(other.high)?,
        })
    }

    /// Taken off instead of added: the most is now the least.
    fn turned(self) -> Span {
        let off = |mass: Grams| Grams(mass.0.negated());
        Span {
            low: off(self.high),
            likely: off(self.likely),
            high: off(self.low),
        }
    }
}

/// Grams added on the way from one basis to another, or taken off.
#[derive(Debug, Clone)]
pub struct Step {
    /// What, in words.
    pub text: String,
    /// The place it lies at; empty for none.
    pub(crate) place: String,
    /// Grams, below zero where they are taken off.
    pub(crate) grams: Span,
    /// The part whose own mass stands in place of the range.
    pub(crate) own: Option<String>,
    /// The table's row.
    pub row: RowRef,
}

/// A mass brought to another basis.
#[derive(Debug, Clone)]
pub struct Converted {
    /// The mass.
    pub(crate) mass: Span,
    /// How it came about.
    pub steps: Vec<Step>,
}

/// Masses of a build's own parts by place: the part and its mass.
pub(crate) type Own = BTreeMap<String, (String, Grams)>;

/// The masses of a build's own parts, by the places they fill alone.
pub(crate) fn own_parts(rows: &[&Part]) -> Result<Own, Overflow> {
    let mut found = Own::new();
    let mut names: Vec<&&Part> = rows.iter().collect();
    names.sort_by(|a, b| a.name.cmp(&b.name));
    for row in names {
        let ([place], Some(mass)) = (row.places.as_slice(), row.total_mass()) else {
            continue;
        };
        match found.get_mut(place) {
            None => {
                found.insert(place.clone(), (row.name.clone(), mass));
            }
            Some((name, sum)) => {
                *sum = sum.plus(mass)?;
                *name = format!("{name} + {}", row.name);
            }
        }
    }
    Ok(found)
}

/// Brings a mass from one basis to another. A part of `own` stands in place of the range of its place, both ways, so that
/// going there and back returns to the same figure. What cannot be converted is refused with the reason.
pub(crate) fn convert(
    mass: Grams,
    from: Option<Basis>,
    to: Basis,
    own: &Own,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Converted, String> {
    let from = from.ok_or_else(not_told)?;
    let mut converted = Converted {
        mass: Span::exactly(mass),
        steps: Vec::new(),
    };
    for (lower, upper) in basis_steps(from, to) {
        let rows = rows_of(lower, upper, jurisdiction);
        if rows.is_empty() {
            return Err(format!(
                "the tables hold no grams between {} and {} for a {} bike",
                lower.name(),
                upper.name(),
                jurisdiction.ask.kind
            ));
        }
        for (rule, row) in rows {
            let step = step(rule, row, own, from > to);
            converted.mass = converted
                .mass
                .plus(step.grams)
                .map_err(|overflow| overflow.to_string())?;
            converted.steps.push(step);
        }
    }
    Ok(converted)
}

/// Why a mass of which nobody told what was on the bike is not used.
pub(crate) fn not_told() -> String {
    let known: Vec<&str> = BASES.iter().map(|(name, _)| *name).collect();
    format!(
        "its basis is unknown: without knowing whether pedals were on ({}) its mass cannot be compared",
        words::list(&known, "or")
    )
}

/// What a build's own parts weigh on a basis: those at a place that the basis counts; and the names of those counted whose
/// mass is not known. A piece in another's box without a mass of its own lies in that part's.
pub(crate) fn mass_on(
    rows: &[&Part],
    basis: Basis,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<(Grams, Vec<String>), Overflow> {
    let mut sum = Grams::ZERO;
    let mut unknown = Vec::new();
    for row in counted(rows, basis, jurisdiction) {
        match row.total_mass() {
            Some(mass) => sum = sum.plus(mass)?,
            None if row.comes_with.is_some() => {}
            None => unknown.push(row.name.clone()),
        }
    }
    unknown.sort();
    Ok((sum, unknown))
}

/// Rows on the bike at a place that a basis counts.
pub(crate) fn counted<'a>(
    rows: &[&'a Part],
    basis: Basis,
    jurisdiction: &Jurisdiction<'_>,
) -> Vec<&'a Part> {
    let counts = |row: &&Part| {
        row.places.iter().any(|place| {
            jurisdiction
                .place(place)
                .is_some_and(|p| !p.is_workshop() && p.counts_in(basis))
        })
    };
    rows.iter().copied().filter(counts).collect()
}

/// The least that a bike may weigh to be raced, and the row that says so; only where a basis and a kind of bike have one.
pub(crate) fn racing_minimum<'a>(
    basis: Basis,
    jurisdiction: &Jurisdiction<'a>,
) -> Option<(Grams, &'a BasisRow)> {
    const ADJUSTMENT: &str = "racing-minimum";
    let here = |row: &BasisRow| {
        row.adjustment == ADJUSTMENT
            && row.to == basis.name()
            && (row.kind == "*" || row.kind == jurisdiction.ask.kind)
    };
    let found = jurisdiction
        .tables
        .basis
        .iter()
        .find(|row| row.stamp.in_force(jurisdiction.ask.date) && here(&row.rule))?;
    Some((Grams(found.rule.grams.likely), &found.rule))
}

/// What a basis counts beyond any place, such as what the rider carries: it goes on one bike as on another.
pub(crate) fn carried(
    basis: Basis,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<Span>, Overflow> {
    let of_rider = crate::landed::carried(basis, jurisdiction)?;
    Ok(of_rider.map(|[low, likely, high]| Span { low, likely, high }))
}

/// The rows of a step in force; a piece that the settings say is not there is left out.
fn rows_of<'a>(
    lower: Basis,
    upper: Basis,
    jurisdiction: &Jurisdiction<'a>,
) -> Vec<(&'a BasisRow, &'a RowRef)> {
    let not_there = |row: &BasisRow| {
        jurisdiction
            .place(&row.place)
            .is_some_and(|place| there(&place.when, &jurisdiction.ask.facts) == There::No)
    };
    basis_rows(lower, upper, jurisdiction)
        .into_iter()
        .filter(|(row, _)| !not_there(row))
        .collect()
}

fn step(rule: &BasisRow, row: &RowRef, own: &Own, off: bool) -> Step {
    let range = |figure: Dec| Grams(figure);
    let part = own.get(&rule.place).filter(|_| !rule.place.is_empty());
    let grams = match part {
        Some((_, mass)) => Span::exactly(*mass),
        None => Span {
            low: range(rule.grams.low),
            likely: range(rule.grams.likely),
            high: range(rule.grams.high),
        },
    };
    let text = if rule.text.is_empty() {
        rule.adjustment.clone()
    } else {
        rule.text.clone()
    };
    Step {
        text,
        place: rule.place.clone(),
        grams: if off { grams.turned() } else { grams },
        own: part.map(|(name, _)| name.clone()),
        row: row.clone(),
    }
}
