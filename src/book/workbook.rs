//! A book in one spreadsheet file: each table a sheet of the table's name, as people save them.
//!
//! Sheets come here as rows of cells; here they become the text that a file of the table would hold, row for line, so that
//! a problem names the sheet and its row. Titles above the header and blank rows are skipped, and that is said.

use super::leaf::{Leaf, Unit, Value, first_text, is_blank, plain};
use super::{BookFile, TABLES, columns_of};
use crate::text::words::{count, few, letters, list, nearest, quoted};
use crate::text::{Columns, Diagnostic, Location, Problems};
use crate::units::{Currency, Dec, number};

/// Columns that hold days.
const DAYS: [&str; 7] = [
    "seen",
    "ordered",
    "arrived",
    "valid_from",
    "valid_to",
    "date",
    "arrival",
];

/// Columns, and settings, in which a number may be a percentage: a spreadsheet keeps 2.5 % as 0.025.
const PERCENTS: [&str; 6] = [
    "percent",
    "chance",
    "insurance",
    "handling",
    "prices_include",
    "card_fee",
];

/// Columns, and settings, with amounts in the destination's money, whatever currency their row names.
const OWN_AMOUNTS: [&str; 5] = ["paid", "resale", "handling", "budget", "worth_per_kg"];

/// Columns with amounts in the currency of their row, or of its seller.
const AMOUNTS: [&str; 8] = [
    "price",
    "amount",
    "max_off",
    "min_spend",
    "freight",
    "insurance",
    "free_freight_over",
    "return_freight",
];

/// Columns, and settings, in grams and in kilograms.
const GRAMS: [&str; 4] = ["mass_g", "packed_g", "scale_g", "max_mass_g"];
const KILOGRAMS: [&str; 2] = ["limit_kg", "rider_kg"];

/// Whether a sheet of this name is a table of a book.
pub(crate) fn is_table(name: &str) -> bool {
    TABLES.contains(&name.trim().to_lowercase().as_str())
}

/// The files of a book that a spreadsheet stands for; sheets that are no tables are named and not read.
pub(crate) fn tables(path: &str, leaves: &[Leaf], problems: &mut Problems) -> Vec<BookFile> {
    let mut found: Vec<BookFile> = Vec::new();
    let mut unread = Vec::new();
    for leaf in leaves {
        let table = leaf.name.trim().to_lowercase();
        let known = TABLES.into_iter().find(|known| *known == table);
        let Some((table, columns)) = known.and_then(|table| Some((table, columns_of(table)?)))
        else {
            // What `new --workbook` writes for its own lists.
            if leaf.name != "lists" && leaf.rows.iter().flatten().any(|cell| *cell != Value::Empty)
            {
                unread.push(leaf.name.as_str());
            }
            continue;
        };
        let shown = format!("{path}, sheet {}", leaf.name);
        if found.iter().any(|file| file.table == table) {
            problems.push(
                Diagnostic::error(format!("two sheets are called `{table}`"))
                    .at(Location::line(shown.into(), 1)),
            );
            continue;
        }
        let text = text_of(&shown, &columns, leaf, problems);
        found.push(BookFile {
            path: shown,
            table: table.to_owned(),
            bytes: text.into_bytes(),
        });
    }
    if !unread.is_empty() && !found.is_empty() {
        problems.push(unread_sheets(path, &unread));
    }
    found
}

fn unread_sheets(path: &str, unread: &[&str]) -> Diagnostic {
    let names: Vec<String> = unread.iter().map(|name| quoted(name)).collect();
    let verb = if unread.len() == 1 { "is" } else { "are" };
    let what = format!(
        "no table of a book, and not read: {} {verb} left alone",
        list(&names, "and")
    );
    let warning = Diagnostic::warning(what).at(Location::line(path.into(), 1));
    match unread
        .iter()
        .find_map(|name| nearest(&name.to_lowercase(), TABLES))
    {
        Some(near) => warning.help(format!("a sheet of this name is called `{near}`")),
        None => warning.note(format!("the tables are {}", TABLES.join(", "))),
    }
}

/// A sheet as the text of its table: fields divided by tabs, each row on the line of its number.
fn text_of(shown: &str, columns: &Columns, leaf: &Leaf, problems: &mut Problems) -> String {
    let header = leaf
        .rows
        .iter()
        .position(|row| is_header(row, columns))
        .unwrap_or(0);
    let names: Vec<String> = leaf
        .rows
        .get(header)
        .map(|row| row.iter().map(column_name).collect())
        .unwrap_or_default();
    let mut out = String::new();
    let mut titles = Vec::new();
    let mut blank = Vec::new();
    let page = Page {
        shown,
        columns,
        names: &names,
    };
    let has_values = names.iter().any(|name| name == "value");
    super::unseen::warn(shown, leaf, header, &names, problems);
    let last = leaf
        .rows
        .iter()
        .rposition(|row| !is_blank(row))
        .unwrap_or(0);
    for (at, row) in leaf.rows.iter().enumerate().take(last + 1) {
        if is_blank(row) {
            if at > header {
                blank.push(at + 1);
            }
        } else if at < header {
            titles.extend(
                row.iter()
                    .find_map(first_text)
                    .map(|text| (at + 1, format!("{} (row {})", quoted(&text), at + 1))),
            );
        } else if let Some(note) = note_of(row) {
            out.push_str(&note);
        } else {
            // once for each row: the name may be long, and the columns many
            let setting = row
                .first()
                .filter(|_| has_values)
                .map(column_name)
                .unwrap_or_default();
            for index in 0..row.len().max(names.len()) {
                out.push_str(if index == 0 { "" } else { "\t" });
                if row.get(index).is_some_and(|cell| *cell != Value::Empty) {
                    out.push_str(&page.field(row, (index, at), &setting, problems));
                }
            }
        }
        out.push('\n');
    }
    if let Some((first, _)) = titles.first() {
        let named: Vec<&str> = titles.iter().map(|(_, title)| title.as_str()).collect();
        let what = format!("above the header, and not read: {}", list(&named, "and"));
        problems.push(Diagnostic::warning(what).at(Location::line(shown.into(), *first)));
    }
    if let Some(first) = blank.first() {
        let named: Vec<String> = blank.iter().map(ToString::to_string).collect();
        let what = format!(
            "{} skipped: {}",
            count(blank.len(), "blank row is", "blank rows are"),
            few(&named)
        );
        problems.push(Diagnostic::warning(what).at(Location::line(shown.into(), *first)));
    }
    out
}

/// A header names at least one needed column, and more columns than it names other things.
fn is_header(row: &[Value], columns: &Columns) -> bool {
    let names = row.iter().map(column_name);
    let names: Vec<String> = names.filter(|name| !name.is_empty()).collect();
    let hits = names.iter().filter(|name| is_known(name, columns)).count();
    let is_needed = |name: &String| columns.needed.contains(&name.as_str());
    names.iter().any(is_needed) && hits * 2 >= names.len()
}

fn is_known(name: &str, columns: &Columns) -> bool {
    name == "note"
        || [columns.needed, columns.optional, columns.shared]
            .iter()
            .any(|list| list.contains(&name))
}

fn column_name(cell: &Value) -> String {
    plain(cell).trim().to_lowercase().replace([' ', '\n'], "_")
}

/// A row that begins with `#` is a note.
fn note_of(row: &[Value]) -> Option<String> {
    let first = first_text(row.first()?)?;
    first.starts_with('#').then(|| one_line(&first))
}

fn one_line(text: &str) -> String {
    text.replace(['\n', '\r', '\t'], " ")
}

/// A sheet whose header is known.
struct Page<'a> {
    shown: &'a str,
    columns: &'a Columns,
    names: &'a [String],
}

impl Page<'_> {
    /// One cell as a field, in a row that may set a setting; what cannot be taken as it stands is a problem of its row.
    fn field(
        &self,
        row: &[Value],
        (index, at): (usize, usize),
        setting: &str,
        problems: &mut Problems,
    ) -> String {
        let cell = row.get(index).unwrap_or(&Value::Empty);
        let own = self.names.get(index).map_or("", String::as_str);
        let name = if own == "value" { setting } else { own };
        let mut refuse = |what: &str, help: &str| {
            let place = Location::line(self.shown.into(), at + 1);
            let error = Diagnostic::error(format!(
                "`{own}` (cell {}{}) {what}",
                letters(index),
                at + 1
            ))
            .at(place);
            problems.push(if help.is_empty() {
                error
            } else {
                error.help(help)
            });
        };
        let text = match cell {
            Value::Fault(_) | Value::Unreckoned if !is_known(own, self.columns) => String::new(),
            Value::Fault(text) => {
                refuse(&format!("is {}: the cell holds an error", quoted(text)), "");
                String::new()
            }
            Value::Unreckoned => {
                let help = "open the file in a spreadsheet program and save it there, or write the figure itself";
                refuse("is a formula whose result is not in the file", help);
                String::new()
            }
            Value::Number(_, Some(day)) if DAYS.contains(&name) => day.clone(),
            Value::Number(digits, _) if PERCENTS.contains(&name) && is_fraction(digits) => {
                let what = format!(
                    "is {}: a spreadsheet keeps 1 % as 0.01, so this may be a percentage or a number",
                    quoted(digits)
                );
                refuse(
                    &what,
                    "format the cell as a percentage, or write it as text with its sign, such as `2.5 %`",
                );
                digits.clone()
            }
            Value::Number(digits, _) => unmistakable(digits),
            Value::Percent(digits) => format!("{} %", unmistakable(digits)),
            Value::Money(digits, sign) => self.amount(row, name, digits, sign),
            Value::Mass(digits, unit) => {
                mass(digits, *unit, name).unwrap_or_else(|(what, help)| {
                    refuse(&what, help);
                    digits.clone()
                })
            }
            other => one_line(&plain(other)),
        };
        if text.contains('"') || text.starts_with('#') {
            format!("\"{}\"", text.replace('"', "\"\""))
        } else {
            text.trim().to_owned()
        }
    }

    /// An amount with the currency it is formatted in, so that whoever reads it refuses another one than its own: its row's, its
    /// seller's or the destination's. A sign that several currencies share says nothing where the row names one of them.
    fn amount(&self, row: &[Value], name: &str, digits: &str, sign: &str) -> String {
        let digits = unmistakable(digits);
        let at = self.names.iter().position(|name| name == "currency");
        let stated = at.and_then(|at| {
            if let Value::Text(text) = row.get(at)? {
                Currency::parse(text.trim())
            } else {
                None
            }
        });
        let own = OWN_AMOUNTS.contains(&name);
        match Currency::readings(sign).as_slice() {
            [] => digits,
            _ if !own && !AMOUNTS.contains(&name) => digits,
            [one] => format!("{digits} {one}"),
            several if !own && stated.is_some_and(|stated| several.contains(&stated)) => digits,
            _ => format!("{digits} {sign}"),
        }
    }
}

/// A mass in the unit of its column; a column that holds none takes the figure as it stands. The error is what cannot be taken, and
/// what to do.
fn mass(digits: &str, unit: Unit, name: &str) -> Result<String, (String, &'static str)> {
    let grams = GRAMS.contains(&name);
    if !grams && !KILOGRAMS.contains(&name) {
        return Ok(unmistakable(digits));
    }
    let scaled = match unit {
        Unit::Gram if grams => Some(digits.to_owned()),
        Unit::Kilogram if !grams => Some(digits.to_owned()),
        Unit::Kilogram => number::plain(digits)
            .and_then(|kg| kg.times(Dec::THOUSAND).map_err(|e| e.to_string()))
            .ok()
            .map(|g| g.to_string()),
        Unit::Gram | Unit::Imperial(_) => None,
    };
    scaled.map(|digits| unmistakable(&digits)).ok_or_else(|| {
        let shown = if let Unit::Imperial(unit) = unit {
            unit
        } else {
            "g"
        };
        let help = if grams {
            "give the mass in grams"
        } else {
            "give the mass in kilograms"
        };
        (
            format!("is formatted in {shown}, and is {}", quoted(digits)),
            help,
        )
    })
}

/// Above zero and below one.
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
        row.iter()
            .map(|text| {
                if text.is_empty() {
                    Value::Empty
                } else {
                    Value::Text((*text).to_owned())
                }
            })
            .collect()
    }

    #[test]
    fn rows_keep_their_numbers() {
        let mut rows = vec![
            words(&["My next bike"]),
            words(&[]),
            words(&["part", "price", "seen"]),
        ];
        rows.push(vec![
            Value::Text("wheel\nset".into()),
            Value::Number("1.234".into(), None),
            Value::Number("46285".into(), Some("2026-09-20".into())),
        ]);
        let mut problems = Problems::new();
        let found = tables(
            "b.ods",
            &[Leaf {
                name: "Parts".into(),
                rows,
                ..Leaf::default()
            }],
            &mut problems,
        );
        assert_eq!(
            String::from_utf8(found[0].bytes.clone()).unwrap(),
            "\n\npart\tprice\tseen\nwheel set\t1.2340\t2026-09-20\n"
        );
        assert_eq!(found[0].path, "b.ods, sheet Parts");
        let said: Vec<_> = problems.iter().map(|p| p.message.as_str()).collect();
        assert_eq!(
            said,
            ["above the header, and not read: `My next bike` (row 1)"]
        );
    }

    #[test]
    fn a_percentage_is_not_guessed() {
        let rows = vec![
            words(&["seller", "insurance"]),
            vec![
                Value::Text("Taolin".into()),
                Value::Number("0.01".into(), None),
            ],
        ];
        let mut problems = Problems::new();
        tables(
            "b.xlsx",
            &[Leaf {
                name: "sellers".into(),
                rows,
                ..Leaf::default()
            }],
            &mut problems,
        );
        assert!(problems.refuse());
    }
}
