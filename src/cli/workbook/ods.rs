//! The sheets of an .ods (`OpenDocument` 1.3, part 3): one document of all tables, in which rows and cells may stand for many.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use super::Refusal;
use super::bounds::{Budget, Filling, MOST_COLUMNS, MOST_LETTERS, MOST_LOOKS, MOST_ROWS};
use super::digits::{hundredfold, likely_day, read};
use super::look::{sign_beside, unit_beside};
use super::pack::Pack;
use super::xml::{Piece, Tag, Xml};
use crate::book::{Leaf, Value, is_table};

/// What holds cells and is no part of a table: changes that were tracked, copies of other files, notes, drawings.
const ASIDE: [&str; 6] = [
    "tracked-changes",
    "dde-links",
    "annotation",
    "shapes",
    "forms",
    "named-expressions",
];

/// What the looks of cells and tables say.
#[derive(Default)]
struct Looks {
    /// The look being read, with the one it follows.
    open: Option<(String, String)>,
    struck: BTreeMap<String, bool>,
    hidden: BTreeSet<String>,
}

/// The sheets in their order; of those that are no tables only whether something stands in them.
pub(super) fn leaves<'a>(pack: &Pack<'a>, budget: &'a Budget) -> Result<Vec<Leaf>, Refusal> {
    let mut xml = Xml::new(pack.file("content.xml", budget)?);
    let (mut looks, mut found) = (Looks::default(), Vec::new());
    loop {
        let (table, aside) = match xml.next()? {
            Piece::Open(tag) if tag.is("table") => {
                let style = tag.get("style-name").unwrap_or_default();
                (
                    Some((
                        tag.get("name").unwrap_or_default(),
                        looks.hidden.contains(&style),
                    )),
                    false,
                )
            }
            Piece::Open(tag) => {
                looks.read(&tag)?;
                (None, ASIDE.iter().any(|name| tag.is(name)))
            }
            Piece::End => return Ok(found),
            _ => (None, false),
        };
        if aside {
            xml.skip()?;
        }
        if let Some((name, hidden)) = table {
            if found.len() >= MOST_COLUMNS {
                return Err(format!("it has more than {MOST_COLUMNS} sheets").into());
            }
            let mut leaf = if is_table(&name) {
                let mut sheet = Reading::new(&name, &looks, budget);
                sheet.all(&mut xml)?;
                sheet.filling.leaf
            } else {
                let full = says_something(&mut xml)?;
                let rows = if full {
                    vec![vec![Value::Text("…".to_owned())]]
                } else {
                    Vec::new()
                };
                Leaf {
                    name,
                    rows,
                    ..Leaf::default()
                }
            };
            leaf.hidden = hidden;
            found.push(leaf);
        }
    }
}

/// Reads to the end of a table, and says whether a cell of it has a value.
fn says_something(xml: &mut Xml<'_>) -> Result<bool, String> {
    let mut found = false;
    loop {
        match xml.next()? {
            Piece::Open(tag) => found = found || tag.get("value-type").is_some(),
            Piece::Close(end) if end.is("table") => return Ok(found),
            Piece::End => return Ok(found),
            _ => {}
        }
    }
}

impl Looks {
    fn read(&mut self, tag: &Tag<'_>) -> Result<(), String> {
        if tag.is("style") {
            let name = tag.get("name").unwrap_or_default();
            let parent = tag.get("parent-style-name").unwrap_or_default();
            if self.struck.get(&parent).copied().unwrap_or(false) {
                self.struck.insert(name.clone(), true);
            }
            self.open = Some((name, parent));
        } else if let Some((name, _)) = &self.open {
            if let Some(line) = tag
                .get("text-line-through-style")
                .or_else(|| tag.get("text-line-through-type"))
            {
                self.struck.insert(name.clone(), line != "none");
            }
            if tag.get("display").is_some_and(|shown| shown == "false") {
                self.hidden.insert(name.clone());
            }
        }
        if self.struck.len().max(self.hidden.len()) > MOST_LOOKS {
            return Err(format!("it defines more than {MOST_LOOKS} looks of cells"));
        }
        Ok(())
    }

    fn strike(&self, name: &str) -> bool {
        self.struck.get(name).copied().unwrap_or(false)
    }
}

/// A table being read.
struct Reading<'l, 'b> {
    filling: Filling<'b>,
    looks: &'l Looks,
    /// The look of the cells of a column where they have none of their own.
    struck_columns: Vec<bool>,
    row: usize,
    column: usize,
    /// The row's own.
    struck_row: Option<bool>,
    row_times: usize,
    hidden_row: bool,
    /// Values of the row.
    cells: Vec<Repeated>,
}

/// A value, kept once for all the cells beside one another that hold it.
struct Repeated {
    columns: Range<usize>,
    value: Value,
    /// Whether it is struck out, when its cell or its row says so.
    struck: Option<bool>,
}

/// A cell being read.
struct Content {
    kind: String,
    value: Option<String>,
    currency: Option<String>,
    formula: bool,
    fault: bool,
    times: usize,
    struck: Option<bool>,
}

impl<'l, 'b> Reading<'l, 'b> {
    fn new(name: &str, looks: &'l Looks, budget: &'b Budget) -> Reading<'l, 'b> {
        Reading {
            filling: Filling::new(name, budget),
            looks,
            struck_columns: Vec::new(),
            row: 0,
            column: 0,
            struck_row: None,
            row_times: 1,
            hidden_row: false,
            cells: Vec::new(),
        }
    }

    fn refuse(&self, why: impl Into<String>) -> Refusal {
        self.filling.refuse(self.row, why)
    }

    fn all(&mut self, xml: &mut Xml<'_>) -> Result<(), Refusal> {
        loop {
            let (mut cell, mut aside) = (None, false);
            match xml.next().map_err(|why| self.refuse(why))? {
                Piece::Open(tag) if tag.is("table-column") => self.columns(&tag),
                Piece::Open(tag) if tag.is("table-row") => self.begin_row(&tag),
                Piece::Open(tag) if tag.is("table-cell") || tag.is("covered-table-cell") => {
                    cell = Some(self.begun(&tag));
                }
                Piece::Open(tag) => aside = ASIDE.iter().any(|name| tag.is(name)),
                Piece::Close(end) if end.is("table-row") => self.end_row()?,
                Piece::Close(end) if end.is("table") => return Ok(()),
                Piece::End => return Ok(()),
                _ => {}
            }
            if aside {
                xml.skip().map_err(|why| self.refuse(why))?;
            }
            if let Some(cell) = cell {
                let shown = shown(xml).map_err(|why| self.refuse(why))?;
                self.take(cell, &shown)?;
            }
        }
    }

    fn columns(&mut self, tag: &Tag<'_>) {
        let times = times(tag, "number-columns-repeated");
        let from = self.struck_columns.len();
        let to = from.saturating_add(times).min(MOST_COLUMNS);
        let struck = self
            .looks
            .strike(&tag.get("default-cell-style-name").unwrap_or_default());
        self.struck_columns.resize(to, struck);
        if is_hidden(tag) {
            self.filling.leaf.hidden_columns.extend(from..to);
        }
    }

    fn begin_row(&mut self, tag: &Tag<'_>) {
        self.column = 0;
        self.cells.clear();
        self.row_times = times(tag, "number-rows-repeated");
        self.hidden_row = is_hidden(tag);
        self.struck_row = tag
            .get("default-cell-style-name")
            .map(|name| self.looks.strike(&name));
    }

    fn begun(&self, tag: &Tag<'_>) -> Content {
        let value = [
            "value",
            "date-value",
            "time-value",
            "boolean-value",
            "string-value",
        ]
        .iter()
        .find_map(|name| tag.get(name));
        Content {
            kind: tag
                .get_prefixed("office:value-type")
                .or_else(|| tag.get("value-type"))
                .unwrap_or_default(),
            value,
            currency: tag.get("currency"),
            formula: tag.get("formula").is_some(),
            fault: tag
                .get_prefixed("calcext:value-type")
                .is_some_and(|kind| kind == "error"),
            times: times(tag, "number-columns-repeated"),
            struck: tag.get("style-name").map(|name| self.looks.strike(&name)),
        }
    }

    /// Keeps a cell of the row as often as it stands for one; empty ones are only counted.
    fn take(&mut self, content: Content, shown: &str) -> Result<(), Refusal> {
        let (times, own) = (content.times, content.struck.or(self.struck_row));
        let value = value(content, shown);
        if value == Value::Empty {
            self.column = self.column.saturating_add(times);
            return Ok(());
        }
        self.filling.fits(self.row, self.column, &value)?;
        let to = self.column.saturating_add(times);
        if to > MOST_COLUMNS {
            return self
                .filling
                .fits(self.row, self.column.max(MOST_COLUMNS), &value);
        }
        self.cells.push(Repeated {
            columns: self.column..to,
            value,
            struck: own,
        });
        self.column = to;
        Ok(())
    }

    /// Puts the row into the sheet as often as it stands for one.
    fn end_row(&mut self) -> Result<(), Refusal> {
        let last = self.row.saturating_add(self.row_times);
        if !self.cells.is_empty() {
            for row in self.row..last.min(MOST_ROWS + 1) {
                for Repeated {
                    columns,
                    value,
                    struck,
                } in &self.cells
                {
                    for column in columns.clone() {
                        let struck = struck
                            .or(self.struck_columns.get(column).copied())
                            .unwrap_or(false);
                        self.filling.put(row, column, value.clone(), struck)?;
                    }
                }
                if self.hidden_row {
                    self.filling.leaf.hidden_rows.push(row);
                }
            }
        }
        self.row = last;
        self.cells.clear();
        Ok(())
    }
}

/// How often something stands for one; once, when nothing is said.
fn times(tag: &Tag<'_>, name: &str) -> usize {
    tag.number(name).unwrap_or(1).max(1)
}

fn is_hidden(tag: &Tag<'_>) -> bool {
    tag.get("visibility")
        .is_some_and(|state| matches!(state.as_str(), "collapse" | "filter"))
}

/// What a cell shows: its paragraphs, notes and drawings left out.
fn shown(xml: &mut Xml<'_>) -> Result<String, String> {
    let mut found = String::new();
    let mut begun = false;
    loop {
        let mut aside = false;
        let text = match xml.next()? {
            Piece::Text(text) if begun => text.into_owned(),
            Piece::Open(tag) if tag.is("p") => {
                let joint = if begun { "\n" } else { "" };
                begun = true;
                joint.to_owned()
            }
            Piece::Open(tag) if tag.is("s") => " ".repeat(times(&tag, "c").min(MOST_LETTERS)),
            Piece::Open(tag) if tag.is("tab") => "\t".to_owned(),
            Piece::Open(tag) if tag.is("line-break") => "\n".to_owned(),
            Piece::Open(tag) => {
                aside = ASIDE.iter().any(|name| tag.is(name)) || tag.is("table");
                String::new()
            }
            Piece::Close(end) if end.is("table-cell") || end.is("covered-table-cell") => {
                return Ok(found);
            }
            Piece::End => return Ok(found),
            _ => String::new(),
        };
        if found.len() <= 4 * MOST_LETTERS {
            found.push_str(&text);
        }
        if aside {
            xml.skip()?;
        }
    }
}

/// A cell's value as its kind has it.
fn value(content: Content, shown: &str) -> Value {
    let text = shown.trim();
    if content.fault || (content.formula && is_fault(text)) {
        return Value::Fault(text.to_owned());
    }
    let digits = || content.value.as_deref().and_then(read);
    match content.kind.as_str() {
        "percentage" => digits().map_or(Value::Unreckoned, |digits| {
            Value::Percent(hundredfold(&digits))
        }),
        "float" | "currency" => match (
            digits(),
            content.currency.clone().or_else(|| sign_beside(text)),
        ) {
            (Some(digits), Some(sign)) => Value::Money(digits, sign),
            (Some(digits), None) if unit_beside(text).is_some() => {
                unit_beside(text).map_or(Value::Empty, |unit| Value::Mass(digits, unit))
            }
            (Some(digits), None) => {
                let day = likely_day(&digits, false);
                Value::Number(digits, day)
            }
            (None, _) => Value::Unreckoned,
        },
        "date" => {
            let day = content.value.unwrap_or_default();
            Value::Day(day.get(..10).unwrap_or(&day).to_owned())
        }
        "boolean" => Value::Text(
            if content.value.as_deref() == Some("true") {
                "yes"
            } else {
                "no"
            }
            .to_owned(),
        ),
        "" if content.formula => Value::Unreckoned,
        _ if text.is_empty() => match content.value.filter(|value| !value.trim().is_empty()) {
            Some(value) => Value::Text(value),
            None => Value::Empty,
        },
        _ => Value::Text(shown.to_owned()),
    }
}

/// Whether a shown text is the name of an error: `#REF!`, `#N/A`, `Err:502`.
fn is_fault(text: &str) -> bool {
    let coded = text
        .strip_prefix("Err:")
        .is_some_and(|code| !code.is_empty() && code.bytes().all(|b| b.is_ascii_digit()));
    coded
        || [
            "#REF!", "#N/A", "#VALUE!", "#DIV/0!", "#NAME?", "#NUM!", "#NULL!",
        ]
        .contains(&text)
}
