//! What was read, put into the user's own `exchange.csv`.

use std::collections::{BTreeMap, BTreeSet};

use super::{Imported, Publication, same_figure};
use crate::tables::Use;
use crate::units::Date;

/// A rate that the user's table has for a day, and the published file has otherwise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Differing {
    /// What it is for and of what: `market,EUR,USD`.
    pub(crate) what: String,
    /// Its first day.
    pub(crate) day: Date,
    /// As the table has it.
    pub(crate) kept: String,
    /// As it is published.
    pub(crate) published: String,
}

/// Rates that the text of a user's `exchange.csv` has otherwise than what was read: the table's stand until their rows are changed.
pub(crate) fn differing(old: &str, publication: &Publication) -> Vec<Differing> {
    let mark = mark_of(old);
    let rows = records(old, mark);
    let columns = columns_of(&rows);
    let Some(at) = columns.iter().position(|c| c == "rate") else {
        return Vec::new();
    };
    let known: BTreeMap<String, &str> = rows
        .iter()
        .skip(1)
        .filter_map(|cells| Some((key_of(cells, &columns), cells.get(at)?.as_str())))
        .collect();
    let one = |rate: &Imported| {
        let cells: Vec<String> = columns
            .iter()
            .map(|column| cell(column, rate, publication.source, mark))
            .collect();
        let kept = *known.get(&key_of(&cells, &columns))?;
        // a decimal comma stands where the separator is none
        let figure = if mark == ',' {
            kept.to_owned()
        } else {
            kept.replace(',', ".")
        };
        (!same_figure(&figure, &rate.rate)).then(|| Differing {
            what: format!(
                "{},{},{}",
                cell("use", rate, "", mark),
                rate.base,
                rate.quote
            ),
            day: rate.from,
            kept: kept.to_owned(),
            published: rate.rate.clone(),
        })
    };
    publication.rates.iter().filter_map(one).collect()
}

fn mark_of(text: &str) -> char {
    let header = text
        .lines()
        .find(|l| !l.starts_with('#') && !l.trim().is_empty())
        .unwrap_or_default();
    [';', '\t']
        .into_iter()
        .find(|mark| header.contains(*mark))
        .unwrap_or(',')
}

fn columns_of(rows: &[Vec<String>]) -> Vec<String> {
    let columns = rows.first().cloned().unwrap_or_default();
    columns
        .iter()
        .map(|c| c.trim_start_matches('\u{feff}').to_lowercase())
        .collect()
}

/// Adds rates to the text of a user's `exchange.csv`, keeping every line that is there; a rate for a key and day that
/// is there already is left as it is. Returns the new text and the days that are new; the error says what the file lacks.
pub(crate) fn merge(
    old: Option<&str>,
    publication: &Publication,
) -> Result<(String, Vec<Date>), String> {
    const HEADER: &str = "use,base,quote,rate,valid_from,valid_to,source\n";
    let mut text = old
        .filter(|old| !old.trim().is_empty())
        .map_or_else(|| HEADER.to_owned(), str::to_owned);
    let end = if text.contains("\r\n") { "\r\n" } else { "\n" };
    if !text.ends_with('\n') {
        text.push_str(end);
    }
    let mark = mark_of(&text);
    let rows = records(&text, mark);
    let columns = columns_of(&rows);
    if let Some(wanting) = ["use", "base", "quote", "rate", "valid_from"]
        .iter()
        .find(|name| !columns.iter().any(|c| c == *name))
    {
        return Err(format!(
            "it has no column `{wanting}`, so nothing can be added to it"
        ));
    }
    let known: BTreeSet<String> = rows
        .iter()
        .skip(1)
        .map(|cells| key_of(cells, &columns))
        .collect();
    let mut days = BTreeSet::new();
    for rate in &publication.rates {
        let cells: Vec<String> = columns
            .iter()
            .map(|column| cell(column, rate, publication.source, mark))
            .collect();
        if !known.contains(&key_of(&cells, &columns)) {
            text.push_str(&(cells.join(&mark.to_string()) + end));
            days.insert(rate.from);
        }
    }
    Ok((text, days.into_iter().collect()))
}

fn cell(column: &str, rate: &Imported, source: &str, mark: char) -> String {
    match column {
        "use" if rate.usage == Use::Market => "market".to_owned(),
        "use" => "customs".to_owned(),
        "base" => rate.base.to_string(),
        "quote" => rate.quote.to_string(),
        "rate" => rate.rate.clone(),
        "valid_from" => rate.from.to_string(),
        "valid_to" => rate.to.map(|d| d.to_string()).unwrap_or_default(),
        "source" => source.replace(mark, " "),
        "evidence" => "read".to_owned(),
        "certainty" => "certain".to_owned(),
        _ => String::new(),
    }
}

/// The records of a table without its notes, cells trimmed.
fn records(text: &str, mark: char) -> Vec<Vec<String>> {
    let delimiter = u8::try_from(mark).unwrap_or(b',');
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .has_headers(false)
        .comment(Some(b'#'))
        .delimiter(delimiter)
        .from_reader(text.as_bytes());
    reader
        .records()
        .map_while(Result::ok)
        .map(|row| row.iter().map(|cell| cell.trim().to_owned()).collect())
        .collect()
}

/// What a rate is for and its first day, however the day is written.
fn key_of(cells: &[String], columns: &[String]) -> String {
    let cell = |name: &str| {
        columns
            .iter()
            .position(|c| c == name)
            .and_then(|at| cells.get(at))
            .map_or("", String::as_str)
    };
    let day = Date::parse(cell("valid_from"))
        .map_or_else(|_| cell("valid_from").to_owned(), |day| day.to_string());
    format!(
        "{},{},{},{day}",
        cell("use"),
        cell("base").to_uppercase(),
        cell("quote").to_uppercase()
    )
}
