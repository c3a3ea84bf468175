//! The page of coverage: for every destination, what a part of each place sent from and made in each country rests on.

use std::collections::BTreeMap;

use super::law_page::notes_of;
use crate::book::Settings;
use crate::landed::{
    Coverage, Gap, Jurisdiction, Known, Question, Why, coverage, gaps, rows_in_force,
};
use crate::tables::{Evidence, Provenance, Tables};
use crate::text::words::{count, list};
use crate::text::{Diagnostic, Problems};
use crate::units::Date;

/// Places that stand for the rest.
const PLACES: [&str; 8] = [
    "frame",
    "fork",
    "wheels",
    "crankset",
    "handlebar",
    "saddle",
    "tyre",
    "chain",
];

/// Countries parts are sent from.
const DISPATCH: [&str; 6] = ["CN", "TW", "JP", "DE", "GB", "US"];

/// The region asked for where tax depends on one.
const REGIONS: [(&str, &str); 2] = [("BR", "SP"), ("CA", "ON")];

/// One destination's findings: for each country of dispatch, each place's.
struct Row {
    to: String,
    name: &'static str,
    cells: Vec<Vec<Coverage>>,
    rests: Rests,
}

/// How the rows in force at a destination are known.
struct Rests {
    read: usize,
    inferred: usize,
    recalled: usize,
    disputed: usize,
    missing: Vec<String>,
    oldest: Option<(Date, String)>,
}

impl Rests {
    fn of(jurisdiction: &Jurisdiction<'_>, on: Date) -> Rests {
        let rows: Vec<(String, &Provenance)> = rows_in_force(jurisdiction, on).collect();
        let known = |evidence: Evidence| {
            rows.iter()
                .filter(|(_, stamp)| stamp.evidence == evidence)
                .count()
        };
        let duty = |gap: &Gap| gap.why == Why::Missing && gap.what.starts_with("rate of duty");
        Rests {
            read: known(Evidence::Read),
            inferred: known(Evidence::Inferred),
            recalled: known(Evidence::Recalled),
            disputed: rows.iter().filter(|(_, stamp)| stamp.disputed()).count(),
            missing: gaps(jurisdiction, i64::MAX)
                .into_iter()
                .filter(duty)
                .map(|gap| gap.what)
                .collect(),
            oldest: rows
                .iter()
                .filter_map(|(name, stamp)| Some((stamp.dated?, name.clone())))
                .min(),
        }
    }
}

/// The page as Markdown, for a day.
pub(crate) fn coverage_page(tables: &Tables, on: Date) -> Result<String, Problems> {
    let found = tables
        .destinations
        .iter()
        .filter(|d| d.stamp.in_force(on))
        .map(|d| row(tables, d.rule.country.code(), on));
    let rows = found.collect::<Result<Vec<Row>, Problems>>()?;
    let mut out = format!("# Coverage\n\n{}\n\n", legend(&rows, on));
    out.push_str(&format!(
        "| to | {} |\n|---|{}\n",
        DISPATCH.map(|from| format!("from {from}")).join(" | "),
        "---|".repeat(DISPATCH.len())
    ));
    for row in &rows {
        let cells: Vec<String> = row.cells.iter().map(|places| cell(places)).collect();
        out.push_str(&format!(
            "| {} {} | {} |\n",
            row.to,
            row.name,
            cells.join(" | ")
        ));
    }
    out.push_str(&rests(&rows));
    out.push_str(&missing_rates(&rows, tables));
    out.push_str(&memory(&rows));
    Ok(out)
}

fn row(tables: &Tables, country: &str, on: Date) -> Result<Row, Problems> {
    let region = REGIONS
        .iter()
        .find(|(of, _)| *of == country)
        .map(|(_, region)| format!("-{region}"))
        .unwrap_or_default();
    let to = format!("{country}{region}");
    let mut settings = Settings {
        date: Some(on),
        ..Settings::default()
    };
    let one = |error: Diagnostic| {
        let mut problems = Problems::new();
        problems.push(error);
        problems
    };
    settings
        .set("destination", &to)
        .map_err(|error| one(Diagnostic::error(error)))?;
    let ask = Question::new(&settings, on).map_err(one)?;
    let jurisdiction = Jurisdiction::open(tables, &ask)?;
    let cells = DISPATCH
        .iter()
        .map(|from| {
            PLACES
                .iter()
                .map(|place| coverage(&jurisdiction, place, from))
                .collect()
        })
        .collect();
    Ok(Row {
        to,
        name: ask.to.name(),
        cells,
        rests: Rests::of(&jurisdiction, on),
    })
}

fn legend(rows: &[Row], on: Date) -> String {
    let mut counts: BTreeMap<Known, usize> = BTreeMap::new();
    for one in rows.iter().flat_map(|row| row.cells.iter().flatten()) {
        *counts.entry(one.known).or_default() += 1;
    }
    let of = |known| counts.get(&known).copied().unwrap_or(0);
    let all: usize = counts.values().sum();
    format!(
        "What a part sent to each destination on {on} can be priced from. For each of {} places ({}) and each of {} countries one part is \
         priced that is sent from and made there, 1,500 EUR, by courier; looked at are duty, anti-dumping, tax and how much of the freight \
         counts up to the border, not fees.\n\n\
         - `read`: every row that acted was read in its source or follows from what was read: {}\n\
         - `memory`: a row that acted is from memory: {}\n\
         - `gap`: a rate of duty is missing, and every total says so: {}\n\
         - `home`: no border is crossed: {}\n\n\
         {} in all, {}. A cell with more than one finding names the places. Written by the tests, not by hand.",
        PLACES.len(),
        PLACES.join(", "),
        DISPATCH.len(),
        of(Known::Read),
        of(Known::Recalled),
        of(Known::Gap),
        of(Known::Home),
        count(all, "combination", "combinations"),
        count(rows.len(), "destination", "destinations"),
    )
}

fn word(known: Known) -> &'static str {
    match known {
        Known::Home => "home",
        Known::Read => "read",
        Known::Recalled => "memory",
        Known::Gap => "gap",
    }
}

/// One word where all places agree, else the places of each but the commonest.
fn cell(places: &[Coverage]) -> String {
    let mut by: BTreeMap<Known, Vec<&str>> = BTreeMap::new();
    for (place, one) in PLACES.iter().zip(places) {
        by.entry(one.known).or_default().push(place);
    }
    let commonest = by
        .iter()
        .max_by_key(|(_, names)| names.len())
        .map(|(known, _)| *known);
    let part = |(known, names): (&Known, &Vec<&str>)| {
        if Some(*known) == commonest {
            word(*known).to_owned()
        } else {
            format!("{}: {}", word(*known), names.join(", "))
        }
    };
    let mut parts: Vec<String> = by
        .iter()
        .filter(|(known, _)| Some(**known) == commonest)
        .map(part)
        .collect();
    parts.extend(
        by.iter()
            .filter(|(known, _)| Some(**known) != commonest)
            .map(part),
    );
    parts.join("; ")
}

/// How many rows of each destination were read, and how old the oldest text is.
fn rests(rows: &[Row]) -> String {
    let mut out = String::from(
        "\n## What the rows rest on\n\nRows in force on that day. The date of the oldest source is the text's own, with the row that rests on it.\n\n\
         | to | read | inferred | from memory | disputed | missing | oldest source |\n|---|---|---|---|---|---|---|\n",
    );
    for row in rows {
        let r = &row.rests;
        let missing = if r.missing.is_empty() {
            "nothing".to_owned()
        } else {
            r.missing.join("; ")
        };
        let oldest = r
            .oldest
            .as_ref()
            .map(|(day, name)| format!("{day} (`{name}`)"))
            .unwrap_or_default();
        let (read, inferred, recalled, disputed) = (r.read, r.inferred, r.recalled, r.disputed);
        out.push_str(&format!(
            "| {} {} | {read} | {inferred} | {recalled} | {disputed} | {missing} | {oldest} |\n",
            row.to, row.name
        ));
    }
    out
}

/// Every gap with its reason, places and countries gathered, and what the table of rates says about it.
fn missing_rates(rows: &[Row], tables: &Tables) -> String {
    let mut out = String::from("\n## Gaps\n\n");
    let before = out.len();
    for row in rows {
        let found = gathered(row, Known::Gap);
        for (why, (places, countries)) in &found {
            let (places, countries) = (list(places, "and"), list(countries, "and"));
            out.push_str(&format!(
                "- {} {}: {places} from {countries}: no rate for {why}\n",
                row.to, row.name
            ));
        }
        let folder = row.to.get(..2).unwrap_or_default().to_lowercase();
        let notes = notes_of(tables, &format!("{folder}/tariff.csv"));
        for (_, note) in notes.iter().filter(|_| !found.is_empty()) {
            out.push_str(&format!("\n  {note}\n"));
        }
    }
    if out.len() == before {
        out.push_str("None.\n");
    }
    out
}

/// Every row from memory that acted; places, countries and destinations of one row gathered.
fn memory(rows: &[Row]) -> String {
    let mut found: Vec<(String, Vec<&str>)> = Vec::new();
    for row in rows {
        for (why, (places, countries)) in gathered(row, Known::Recalled) {
            let places = if places.len() == PLACES.len() {
                "every place".to_owned()
            } else {
                list(&places, "and")
            };
            let text = format!("{why}: {places} from {}", list(&countries, "and"));
            match found.iter_mut().find(|(known, _)| *known == text) {
                Some((_, to)) => to.push(&row.to),
                None => found.push((text, vec![&row.to])),
            }
        }
    }
    let lines = found
        .iter()
        .map(|(text, to)| format!("- {text}, to {}\n", list(to, "and")));
    format!("\n## From memory\n\n{}", lines.collect::<String>())
}

type Gathered<'a> = BTreeMap<String, (Vec<&'a str>, Vec<&'a str>)>;

fn gathered(row: &Row, wanted: Known) -> Gathered<'_> {
    let mut found: Gathered<'_> = BTreeMap::new();
    for (country, places) in DISPATCH.iter().zip(&row.cells) {
        for (place, one) in PLACES
            .iter()
            .zip(places)
            .filter(|(_, one)| one.known == wanted)
        {
            let why = list(&one.why, "and");
            let why = if wanted == Known::Gap {
                format!("{} in {why}", one.commodity)
            } else {
                why
            };
            let (places, countries) = found.entry(why).or_default();
            if !places.contains(place) {
                places.push(place);
            }
            if !countries.contains(country) {
                countries.push(country);
            }
        }
    }
    found
}
