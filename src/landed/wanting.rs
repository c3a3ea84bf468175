//! Facts of a part that the rows of a destination ask for and nobody has told: what to say, so that a rate is found.

use std::collections::{BTreeMap, BTreeSet};

use super::jurisdiction::Jurisdiction;
use crate::tables::{Condition, Op, RateFrom, RowRef, Subject, When};
use crate::text::words;
use crate::units::{Date, number};

/// The facts that are known about a part, by name.
type Told = BTreeMap<String, String>;

/// The facts wanted, each with the values that rows know.
type Wanted = BTreeMap<String, BTreeSet<String>>;

/// What to say of a part at these places, taken for these digits, so that the rows which owe it a rate of duty find one: nothing
/// where a row that asks for no more serves it, or where none would serve it whatever is said.
pub(super) fn wanted(
    jurisdiction: &Jurisdiction<'_>,
    places: &[String],
    commodity: &str,
    told: &Told,
    (day, owing): (Date, &[&RowRef]),
) -> String {
    let codes = jurisdiction
        .law
        .codes
        .iter()
        .filter(|row| row.stamp.in_force(day) && places.contains(&row.rule.place));
    let of_place = lacking(
        codes
            .map(|row| &row.rule.when)
            .filter(|when| jurisdiction.can_hold(when)),
        told,
    );
    let mut wanted = of_place;
    for layer in owing_layers(jurisdiction, owing) {
        let rates = jurisdiction.law.tariff.iter().filter(|row| {
            row.stamp.in_force(day)
                && row.rule.layer == layer
                && (commodity.starts_with(&row.rule.commodity) || row.rule.commodity == "*")
        });
        let whens = rates.map(|row| &row.rule.when);
        for (name, values) in lacking(whens.filter(|when| jurisdiction.can_hold(when)), told) {
            wanted.entry(name).or_default().extend(values);
        }
    }
    in_words(&wanted)
}

/// `` `garment` (jersey or shorts) and `material` (cotton or wool) ``.
fn in_words(wanted: &Wanted) -> String {
    let one = |(name, values): (&String, &BTreeSet<String>)| {
        if values.is_empty() {
            return format!("`{name}`");
        }
        let values: Vec<&String> = values.iter().collect();
        format!("`{name}` ({})", words::list(&values, "or"))
    };
    words::list(&wanted.iter().map(one).collect::<Vec<_>>(), "and")
}

/// What the conditions of rows that serve alike ask for; nothing where one of them holds as far as facts of the part go. Rows that
/// the known facts speak against are not asked, unless the facts speak against all.
fn lacking<'a>(whens: impl Iterator<Item = &'a When>, told: &Told) -> Wanted {
    let mut sides: Vec<Vec<(&str, &Condition)>> = Vec::new();
    for when in whens {
        for side in &when.any {
            sides.push(
                side.iter()
                    .filter(|c| !holds(c, told))
                    .filter_map(|c| Some((fact(c)?, c)))
                    .collect(),
            );
        }
        if when.is_always() || sides.iter().any(Vec::is_empty) {
            return Wanted::new();
        }
    }
    let open =
        |side: &&Vec<(&str, &Condition)>| side.iter().all(|(name, _)| !told.contains_key(*name));
    let any_open = sides.iter().any(|side| open(&side));
    let mut wanted = Wanted::new();
    for (name, condition) in sides
        .iter()
        .filter(|side| !any_open || open(side))
        .flatten()
    {
        let values = wanted.entry((*name).to_owned()).or_default();
        if condition.op == Op::Equal {
            values.insert(condition.word.clone());
        }
    }
    wanted
}

/// The fact of the part that a condition looks at.
fn fact(condition: &Condition) -> Option<&str> {
    if let Subject::Trait(name) = &condition.subject {
        Some(name)
    } else {
        None
    }
}

/// Whether a condition holds as far as facts of the part go; what looks at anything else may hold.
fn holds(condition: &Condition, told: &Told) -> bool {
    let Some(name) = fact(condition) else {
        return true;
    };
    let Some(value) = told.get(name) else {
        return condition.op == Op::Unequal;
    };
    match (number::plain(value).ok(), condition.number) {
        (Some(value), Some(figure)) => condition.op.holds(&value, &figure),
        _ => condition.op.holds(value.as_str(), condition.word.as_str()),
    }
}

/// The layers of the tariff that owe a line a rate of duty and have none: the last one of each of these rows.
fn owing_layers<'a>(jurisdiction: &'a Jurisdiction<'_>, owing: &[&RowRef]) -> Vec<&'a str> {
    let rows = jurisdiction.law.charges.iter();
    let asked = rows.filter(|row| owing.contains(&&row.stamp.row));
    let last = asked.filter_map(|row| match &row.rule.rate_from {
        Some(RateFrom::Tariff(names)) => names.last().map(String::as_str),
        _ => None,
    });
    last.collect()
}
