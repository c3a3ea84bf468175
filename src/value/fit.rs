//! Whether parts fit one another: all parts that state one key must have a common value. Several rows at one place of a joint,
//! such as a front and a rear rotor, are not joined to one another: each must suit a part on the other side.
//!
//! A plain check of what parts say of themselves. It never calls a part safe, and what nobody has said stays unknown.

use std::collections::BTreeMap;

use crate::book::{FitValue, Part};
use crate::landed::{Cautions, Jurisdiction, Saying};
use crate::tables::FitRow;
use crate::text::{Diagnostic, Problems, words};
use crate::units::{Dec, number};

/// Parts that state one key and have no common value.
#[derive(Debug, Clone)]
pub(crate) struct Clash<'a> {
    /// The key.
    pub(crate) key: &'a str,
    /// The parts, by name: two that do not agree, or more where only all together do not.
    pub(crate) parts: Vec<&'a Part>,
    /// The joint, from the tables; empty for a key they do not know.
    pub(crate) joint: String,
    /// What it asks.
    pub(crate) text: String,
}

impl Clash<'_> {
    /// In words: ``rear_axle, the joint rear hub - frame: `A` says 12x142, `B` says 12x148``.
    pub(crate) fn words(&self) -> String {
        let text = if self.text.is_empty() {
            String::new()
        } else {
            format!(" ({})", self.text.trim_end_matches('.'))
        };
        format!("{}{text}", self.short())
    }

    /// The same without what the joint asks.
    pub(crate) fn short(&self) -> String {
        let says = |part: &&Part| {
            Some(format!(
                "{} says {}",
                words::quoted(&part.name),
                value_words(part.fits.get(self.key)?)
            ))
        };
        let said: Vec<String> = self.parts.iter().filter_map(says).collect();
        let joint = if self.joint.is_empty() {
            String::new()
        } else {
            format!(", the joint {}", self.joint)
        };
        format!("{}{joint}: {}", self.key, said.join(", "))
    }
}

/// A joint of which one side has said nothing.
#[derive(Debug, Clone)]
pub(crate) struct Unknown<'a> {
    /// The joint.
    pub(crate) row: &'a FitRow,
    /// The part that has said something.
    pub(crate) said: &'a Part,
    /// The part that has not.
    pub(crate) silent: &'a Part,
}

impl Unknown<'_> {
    /// In words: what is to be found out.
    pub(crate) fn words(&self) -> String {
        let (said, silent) = (
            words::quoted(&self.said.name),
            words::quoted(&self.silent.name),
        );
        format!(
            "{silent} does not say its `{}`, and {said} does: find out before ordering",
            self.row.key
        )
    }
}

/// Says which parts of a build do not fit one another.
pub(crate) fn say_clashes(
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) {
    for clash in clashes(rows, jurisdiction) {
        let saying = Saying::new("Parts of the build do not fit one another")
            .so("Choose parts that fit before you order.")
            .costs_unknown();
        cautions.say("clash", saying, &[&clash.words()]);
    }
}

/// Every clash among rows, by key.
pub(crate) fn clashes<'a>(rows: &[&'a Part], jurisdiction: &Jurisdiction<'a>) -> Vec<Clash<'a>> {
    let mut by_key: BTreeMap<&str, Vec<&Part>> = BTreeMap::new();
    for row in rows {
        row.fits
            .keys()
            .for_each(|key| by_key.entry(key).or_default().push(row));
    }
    let mut found = Vec::new();
    for (key, mut parts) in by_key {
        parts.sort_by(|a, b| a.name.cmp(&b.name));
        let row = in_force(jurisdiction).find(|row| row.key == key);
        let clash = |parts: Vec<&'a Part>| Clash {
            key,
            parts,
            joint: row.map(|row| row.joint.clone()).unwrap_or_default(),
            text: row.map(|row| row.text.clone()).unwrap_or_default(),
        };
        let sides = sides(&parts, row);
        let own: Vec<Vec<&Part>> = pairs(key, &sides);
        let several = sides.iter().any(|side| side.len() > 1);
        let all: Vec<&FitValue> = parts.iter().filter_map(|part| part.fits.get(key)).collect();
        if own.is_empty() && !several && !agree(&all) {
            found.push(clash(parts));
        } else {
            found.extend(own.into_iter().map(clash));
        }
    }
    found
}

/// Parts that state a key, by the side of the joint they are on: those at one place of it share a side, every other part is
/// one on its own.
fn sides<'a>(parts: &[&'a Part], row: Option<&FitRow>) -> Vec<Vec<&'a Part>> {
    let side = |part: &Part| {
        row.and_then(|row| {
            row.between
                .iter()
                .position(|place| part.places.contains(place))
        })
    };
    let mut sides: Vec<(Option<usize>, Vec<&Part>)> = Vec::new();
    for part in parts {
        let own = side(part);
        match sides
            .iter_mut()
            .find(|(other, _)| own.is_some() && *other == own)
        {
            Some((_, together)) => together.push(part),
            None => sides.push((own, vec![part])),
        }
    }
    sides.into_iter().map(|(_, together)| together).collect()
}

/// Parts that suit nothing on another side, each with a part of that side, by name.
fn pairs<'a>(key: &str, sides: &[Vec<&'a Part>]) -> Vec<Vec<&'a Part>> {
    let suits = |one: &Part, other: &Part| {
        let both: Vec<&FitValue> = [one, other]
            .into_iter()
            .filter_map(|part| part.fits.get(key))
            .collect();
        agree(&both)
    };
    let mut found: Vec<Vec<&Part>> = Vec::new();
    for (at, side) in sides.iter().enumerate() {
        for (_, other) in sides.iter().enumerate().filter(|(beside, _)| *beside != at) {
            for part in side
                .iter()
                .filter(|part| !other.iter().any(|o| suits(part, o)))
            {
                let mut pair: Vec<&Part> = other.iter().take(1).copied().chain([*part]).collect();
                pair.sort_by(|a, b| a.name.cmp(&b.name));
                if !found
                    .iter()
                    .any(|seen| seen.iter().zip(&pair).all(|(a, b)| a.name == b.name))
                {
                    found.push(pair);
                }
            }
        }
    }
    found.sort_by(|a, b| {
        a.iter()
            .map(|part| &part.name)
            .cmp(b.iter().map(|part| &part.name))
    });
    found
}

/// Joints of which one side says something and the other does not.
pub(crate) fn unknowns<'a>(rows: &[&'a Part], jurisdiction: &Jurisdiction<'a>) -> Vec<Unknown<'a>> {
    let mut found = Vec::new();
    for row in in_force(jurisdiction) {
        let [one, other] = row.between.as_slice() else {
            continue;
        };
        for (from, to) in [(one, other), (other, one)] {
            let at = |place: &String, says: bool| {
                let mut here: Vec<&Part> = rows
                    .iter()
                    .filter(|part| {
                        part.places.contains(place) && part.fits.contains_key(&row.key) == says
                    })
                    .copied()
                    .collect();
                here.sort_by(|a, b| a.name.cmp(&b.name));
                here.into_iter().next()
            };
            if let Some((said, silent)) = at(from, true)
                .zip(at(to, false))
                .filter(|(said, silent)| said.name != silent.name)
            {
                found.push(Unknown { row, said, silent });
            }
        }
    }
    found
}

/// What `check` says about joints: a clash is an error, an unknown that blocks a warning, a mistyped key a warning.
pub(crate) fn check<'a>(
    rows: &[&'a Part],
    jurisdiction: &Jurisdiction<'a>,
    problems: &mut Problems,
) {
    for clash in clashes(rows, jurisdiction) {
        let cell = clash.parts.last().map(|part| part.at.cell("fits"));
        let what = format!("these parts do not fit: {}", clash.words());
        let others: Vec<String> = clash
            .parts
            .iter()
            .map(|part| format!("{} is at {}", words::quoted(&part.name), part.at.place()))
            .collect();
        let problem = Diagnostic::error(what).note(others.join("; "));
        problems.push(cell.map_or(problem.clone(), |cell| problem.at(cell.place())));
    }
    for unknown in unknowns(rows, jurisdiction)
        .into_iter()
        .filter(|unknown| unknown.row.blocks)
    {
        let problem = Diagnostic::warning(unknown.words())
            .at(unknown.silent.at.place())
            .note(unknown.row.text.clone());
        problems.push(problem);
    }
    let known: Vec<&str> = in_force(jurisdiction).map(|row| row.key.as_str()).collect();
    for row in rows {
        for key in row.fits.keys().filter(|key| !known.contains(&key.as_str())) {
            if let Some(near) = words::nearest(key, known.iter().copied()) {
                let what = format!("the tables know no joint {}", words::quoted(key));
                problems.push(
                    row.at
                        .cell("fits")
                        .error(what)
                        .as_warning()
                        .help(format!("did you mean `{near}`?")),
                );
            }
        }
    }
}

fn in_force<'a>(jurisdiction: &Jurisdiction<'a>) -> impl Iterator<Item = &'a FitRow> {
    let day = jurisdiction.ask.date;
    jurisdiction
        .tables
        .fits
        .iter()
        .filter(move |row| row.stamp.in_force(day))
        .map(|row| &row.rule)
}

/// The joint of a key, if the tables know it.
pub(crate) fn joint<'a>(key: &str, jurisdiction: &Jurisdiction<'a>) -> Option<&'a FitRow> {
    in_force(jurisdiction).find(|row| row.key == key)
}

/// Whether one value suits all that was said.
pub(crate) fn agree(values: &[&FitValue]) -> bool {
    let mut choices = values.iter().filter_map(|value| {
        if let FitValue::Any(any) = value {
            Some(any)
        } else {
            None
        }
    });
    match choices.next() {
        Some(first) => first
            .iter()
            .any(|choice| values.iter().all(|value| suits(choice, value))),
        None => bounds_meet(values),
    }
}

/// Whether a value is among those that were said.
pub(crate) fn suits(choice: &str, value: &FitValue) -> bool {
    let figure = number::plain(choice).ok();
    match value {
        FitValue::Any(any) => any.iter().any(|other| same(choice, other)),
        FitValue::AtMost(most) => figure.is_some_and(|figure| figure <= *most),
        FitValue::AtLeast(least) => figure.is_some_and(|figure| figure >= *least),
    }
}

/// `27.2` and `27.20` are one value, and so are `CENTRE-LOCK` and `centre-lock`.
fn same(one: &str, other: &str) -> bool {
    let figures = number::plain(one).ok().zip(number::plain(other).ok());
    figures.map_or_else(
        || one.eq_ignore_ascii_case(other),
        |(one, other)| one == other,
    )
}

fn bounds_meet(values: &[&FitValue]) -> bool {
    let most: Option<Dec> = values
        .iter()
        .filter_map(|v| {
            if let FitValue::AtMost(most) = v {
                Some(*most)
            } else {
                None
            }
        })
        .min();
    let least: Option<Dec> = values
        .iter()
        .filter_map(|v| {
            if let FitValue::AtLeast(least) = v {
                Some(*least)
            } else {
                None
            }
        })
        .max();
    most.zip(least).is_none_or(|(most, least)| least <= most)
}

fn value_words(value: &FitValue) -> String {
    match value {
        FitValue::Any(any) => words::list(any, "or"),
        FitValue::AtMost(most) => format!("at most {most}"),
        FitValue::AtLeast(least) => format!("at least {least}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_meet_or_do_not() {
        let all = |texts: &[&str]| {
            texts
                .iter()
                .map(|t| FitValue::parse(t).unwrap())
                .collect::<Vec<_>>()
        };
        for (texts, meet) in [
            (&["12x142", "12x142"][..], true),
            (&["12x142", "12x148"][..], false),
            (&["140|160", "160"][..], true),
            (&["45", "<=48"][..], true),
            (&["45", "<=42"][..], false),
            (&["27.2", "27.20"][..], true),
            (&["<=42", ">=40"][..], true),
            (&["<=42", ">=44"][..], false),
            (&["a|b", "b|c", "a|c"][..], false),
            (&["wide", "<=42"][..], false),
        ] {
            let values = all(texts);
            assert_eq!(agree(&values.iter().collect::<Vec<_>>()), meet, "{texts:?}");
        }
    }
}
