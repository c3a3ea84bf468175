//! A book in one spreadsheet file: each table a sheet of the table's name, as people save them.
//!
//! Sheets come here as rows of cells; here they become the text that a file of the table would hold, row for line, so that
//! a problem names the sheet and its row. Titles above the header and blank rows are skipped, and that is said.

use super::{BookFile, TABLES, columns_of};
use crate::text::words::{count, few, list, nearest, quoted};
use crate::text::{Columns, Diagnostic, Place, Problems};

/// One cell of a sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Value {
    /// Nothing.
    Empty,
    /// Text as typed.
    Text(String),
    /// A number, in decimal digits; and the day it would be as a date.
    Number(String, Option<String>),
    /// A day: `2026-09-23`.
    Day(String),
    /// An error, as the spreadsheet shows it.
    Fault(String),
}

/// One sheet: its name and its rows from the first.
#[derive(Debug, Clone)]
pub struct Leaf {
    /// As on its tab.
    pub name: String,
    /// Rows of cells.
    pub rows: Vec<Vec<Value>>,
}

/// Columns that hold days.
const DAYS: [&str; 7] = ["seen", "ordered", "arrived", "valid_from", "valid_to", "date", "arrival"];

/// Columns, and settings, in which a number may be a percentage: a spreadsheet keeps 2.5 % as 0.025.
const PERCENTS: [&str; 6] = ["percent", "chance", "insurance", "handling", "prices_include", "card_fee"];

/// The files of a book that a spreadsheet stands for; sheets that are no tables are named and not read.
pub fn tables(path: &str, leaves: &[Leaf], problems: &mut Problems) -> Vec<BookFile> {
    let mut found: Vec<BookFile> = Vec::new();
    let mut unread = Vec::new();
    for leaf in leaves {
        let table = leaf.name.trim().to_lowercase();
        let known = TABLES.into_iter().find(|known| *known == table);
        let Some((table, columns)) = known.and_then(|table| Some((table, columns_of(table)?))) else {
            // What `new --workbook` writes for its own lists.
            if leaf.name != "lists" && leaf.rows.iter().flatten().any(|cell| *cell != Value::Empty) {
                unread.push(leaf.name.as_str());
            }
            continue;
        };
        let shown = format!("{path}, sheet {}", leaf.name);
        if found.iter().any(|file| file.table == table) {
            problems.push(Diagnostic::error(format!("two sheets are called `{table}`")).at(Place::line(shown.into(), 1)));
            continue;
        }
        let text = text_of(&shown, &columns, leaf, problems);
        found.push(BookFile { path: shown, table: table.to_owned(), bytes: text.into_bytes() });
    }
    if !unread.is_empty() && !found.is_empty() {
        problems.push(unread_sheets(path, &unread));
    }
    found
}

fn unread_sheets(path: &str, unread: &[&str]) -> Diagnostic {
    let names: Vec<String> = unread.iter().map(|name| quoted(name)).collect();
    let verb = if unread.len() == 1 { "is" } else { "are" };
    let what = format!("no table of a book, and not read: {} {verb} left alone", list(&names, "and"));
    let warning = Diagnostic::warning(what).at(Place::line(path.into(), 1));
    match unread.iter().find_map(|name| nearest(&name.to_lowercase(), TABLES)) {
        Some(near) => warning.help(format!("a sheet of this name is called `{near}`")),
        None => warning.note(format!("the tables are {}", TABLES.join(", "))),
    }
}

/// A sheet as the text of its table: fields divided by tabs, each row on the line of its number.
fn text_of(shown: &str, columns: &Columns, leaf: &Leaf, problems: &mut Problems) -> String {
    let header = leaf.rows.iter().position(|row| is_header(row, columns)).unwrap_or(0);
    let names: Vec<String> = leaf.rows.get(header).map(|row| row.iter().map(column_name).collect()).unwrap_or_default();
    let mut out = String::new();
    let mut titles = Vec::new();
    let mut blank = Vec::new();
    let last = leaf.rows.iter().rposition(|row| !is_blank(row)).unwrap_or(0);
    for (at, row) in leaf.rows.iter().enumerate().take(last + 1) {
        if is_blank(row) {
            if at > header {
                blank.push((at + 1).to_string());
            }
        } else if at < header {
            titles.extend(row.iter().find_map(first_text).map(|text| format!("{} (row {})", quoted(&text), at + 1)));
        } else if let Some(note) = note_of(row) {
            out.push_str(&note);
        } else {
            let fields: Vec<String> = (0..row.len().max(names.len())).map(|i| field(row, i, &names, (shown, at), problems)).collect();
            out.push_str(&fields.join("\t"));
        }
        out.push('\n');
    }
    if !titles.is_empty() {
        let what = format!("above the header, and not read: {}", list(&titles, "and"));
        problems.push(Diagnostic::warning(what).at(Place::line(shown.into(), 1)));
    }
    if !blank.is_empty() {
        let what = format!("{} skipped: {}", count(blank.len(), "blank row is", "blank rows are"), few(&blank));
        problems.push(Diagnostic::warning(what).at(Place::line(shown.into(), header + 1)));
    }
    out
}

fn is_blank(row: &[Value]) -> bool {
    row.iter().all(|cell| first_text(cell).is_none())
}

fn first_text(cell: &Value) -> Option<String> {
    let text = plain(cell);
    let text = text.trim();
    (!text.is_empty()).then(|| text.to_owned())
}

/// A header names at least one needed column, and more columns than it names other things.
fn is_header(row: &[Value], columns: &Columns) -> bool {
    let names: Vec<String> = row.iter().map(column_name).filter(|name| !name.is_empty()).collect();
    let known =
        |name: &str| name == "note" || columns.needed.contains(&name) || columns.optional.contains(&name) || columns.shared.contains(&name);
    let hits = names.iter().filter(|name| known(name)).count();
    names.iter().any(|name| columns.needed.contains(&name.as_str())) && hits * 2 >= names.len()
}

fn column_name(cell: &Value) -> String {
    plain(cell).trim().to_lowercase().replace([' ', '\n'], "_")
}

/// A row that begins with `#` is a note.
fn note_of(row: &[Value]) -> Option<String> {
    let first = first_text(row.first()?)?;
    first.starts_with('#').then(|| one_line(&first))
}

fn plain(cell: &Value) -> String {
    match cell {
        Value::Empty => String::new(),
        Value::Text(text) | Value::Number(text, _) | Value::Day(text) | Value::Fault(text) => text.clone(),
    }
}

fn one_line(text: &str) -> String {
    text.replace(['\n', '\r', '\t'], " ")
}

/// One cell as a field; what cannot be taken as it stands is a problem of its row.
fn field(row: &[Value], index: usize, names: &[String], at: (&str, usize), problems: &mut Problems) -> String {
    let cell = row.get(index).unwrap_or(&Value::Empty);
    let own = names.get(index).map_or("", String::as_str);
    let setting = row.first().map(column_name).unwrap_or_default();
    let name = if own == "value" { setting.as_str() } else { own };
    let text = match cell {
        Value::Number(_, Some(day)) if DAYS.contains(&name) => day.clone(),
        Value::Number(digits, _) if PERCENTS.contains(&name) && is_fraction(digits) => {
            let what = format!("`{own}` is {}: a spreadsheet keeps 1 % as 0.01, so this may be a percentage or a number", quoted(digits));
            problems.push(sheet_error(what, at).help("write it as text with its sign, such as `2.5 %`, in a cell formatted as text"));
            digits.clone()
        }
        Value::Number(digits, _) => unmistakable(digits),
        Value::Fault(text) => {
            problems.push(sheet_error(format!("`{own}` is {}: the cell holds an error", quoted(text)), at));
            String::new()
        }
        other => one_line(&plain(other)),
    };
    if text.contains('"') || text.starts_with('#') { format!("\"{}\"", text.replace('"', "\"\"")) } else { text.trim().to_owned() }
}

fn sheet_error(what: String, at: (&str, usize)) -> Diagnostic {
    Diagnostic::error(what).at(Place::line(at.0.into(), at.1 + 1))
}

/// Above nought and below one.
fn is_fraction(digits: &str) -> bool {
    digits.starts_with("0.") && digits.bytes().any(|b| matches!(b, b'1'..=b'9'))
}

/// Three digits after a point could be thousands to a reader of decimal commas; a fourth says they are not.
fn unmistakable(digits: &str) -> String {
    match digits.split_once('.') {
        Some((_, fraction)) if fraction.len() == 3 => format!("{digits}0"),
        _ => digits.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(row: &[&str]) -> Vec<Value> {
        row.iter().map(|text| if text.is_empty() { Value::Empty } else { Value::Text((*text).to_owned()) }).collect()
    }

    #[test]
    fn rows_keep_their_numbers() {
        let mut rows = vec![words(&["My next bike"]), words(&[]), words(&["part", "price", "seen"])];
        rows.push(vec![
            Value::Text("wheel\nset".into()),
            Value::Number("1.234".into(), None),
            Value::Number("46285".into(), Some("2026-09-20".into())),
        ]);
        let mut problems = Problems::new();
        let found = tables("b.ods", &[Leaf { name: "Parts".into(), rows }], &mut problems);
        assert_eq!(String::from_utf8(found[0].bytes.clone()).unwrap(), "\n\npart\tprice\tseen\nwheel set\t1.2340\t2026-09-20\n");
        assert_eq!(found[0].path, "b.ods, sheet Parts");
        let said: Vec<_> = problems.iter().map(|p| p.message.as_str()).collect();
        assert_eq!(said, ["above the header, and not read: `My next bike` (row 1)"]);
    }

    #[test]
    fn a_percentage_is_not_guessed() {
        let rows = vec![words(&["seller", "insurance"]), vec![Value::Text("Taolin".into()), Value::Number("0.01".into(), None)]];
        let mut problems = Problems::new();
        tables("b.xlsx", &[Leaf { name: "sellers".into(), rows }], &mut problems);
        assert!(problems.refuse());
    }
}
