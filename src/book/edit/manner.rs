//! How a column writes: with quotation marks or without, with a decimal comma or a point. A new cell is written as its neighbours
//! are.

use super::Value;
use crate::text::written::{Line, Written};
use crate::units::number::{self, Style};

/// The manner of one column.
pub(super) struct Manner {
    delimiter: char,
    style: Style,
    quoted: bool,
    comma: bool,
}

impl Manner {
    /// Without anything to go by.
    pub(super) fn plain(table: &Written) -> Manner {
        Manner {
            delimiter: table.delimiter,
            style: table.style,
            quoted: false,
            comma: false,
        }
    }

    /// As the cells of a column are written. A column without decimals goes by the whole table.
    pub(super) fn of(table: &Written, column: usize) -> Manner {
        let said = |row: &'_ Line| !row.said(column).is_empty();
        let mut rows = table.rows.iter().filter(|row| said(row)).peekable();
        let own = rows.peek().is_some();
        let quoted = own && rows.all(|row| is_quoted(table, row, column));
        let marks = |columns: std::ops::Range<usize>| {
            let cells = table
                .rows
                .iter()
                .flat_map(|row| columns.clone().map(|at| row.said(at)));
            let (mut commas, mut points) = (0_usize, 0_usize);
            for cell in cells.filter(|cell| number::money(cell, table.style).is_ok()) {
                commas += usize::from(is_decimal(cell, ',', '.'));
                points += usize::from(is_decimal(cell, '.', ','));
            }
            (commas + points > 0).then_some(commas > points)
        };
        let comma = table.style == Style::CommaToo
            && marks(column..column + 1)
                .or_else(|| marks(0..table.names.len()))
                .unwrap_or(false);
        Manner {
            quoted,
            comma,
            ..Manner::plain(table)
        }
    }

    /// As the names of the header are written.
    pub(super) fn of_header(table: &Written) -> Manner {
        let quoted = table.header.as_ref().is_some_and(|header| {
            (0..header.fields.len()).all(|column| is_quoted(table, header, column))
        });
        Manner {
            quoted,
            ..Manner::plain(table)
        }
    }

    /// The text of a value, as a cell of the column is to say it.
    pub(super) fn text(&self, value: &Value) -> Result<String, String> {
        let text = match value {
            Value::Number(text) if !text.trim().is_empty() => return self.number(text.trim()),
            Value::Text(text) | Value::Number(text) => text.trim(),
        };
        if text.contains('\0') {
            return Err("the sign with the number 0 cannot stand in a table of text".to_owned());
        }
        Ok(text.replace("\r\n", "\n").replace('\r', "\n"))
    }

    /// A number with the column's decimal mark, and a zero behind it where it could be read two ways.
    fn number(&self, text: &str) -> Result<String, String> {
        let value = number::plain(text)?;
        let marked = if self.comma {
            text.replace('.', ",")
        } else {
            text.to_owned()
        };
        let longer = format!("{marked}0");
        let reads =
            |text: &&String| number::typed(text, self.style).is_ok_and(|read| read == value);
        [&marked, &longer]
            .into_iter()
            .find(reads)
            .cloned()
            .ok_or_else(|| {
                format!("`{text}` cannot be written so that it is read as the same number here")
            })
    }

    /// Whether a cell says the value already: the same text, or the same number however it is written.
    pub(super) fn says(&self, found: &str, value: &Value) -> bool {
        match value {
            Value::Number(text) if !text.trim().is_empty() => {
                let wanted = number::plain(text.trim());
                wanted.is_ok() && number::typed(found, self.style) == wanted
            }
            _ => self.text(value).is_ok_and(|text| text == found),
        }
    }

    /// A field that takes the place of another: quoted if that was, with the blanks that stood around a bare one.
    pub(super) fn in_place_of(&self, old: &str, text: &str, first: bool) -> String {
        let bare = old.trim();
        if bare.starts_with('"') || (bare.is_empty() && self.quoted && !text.is_empty()) {
            return in_marks(text);
        }
        if self.must(text, first) {
            return in_marks(text);
        }
        if bare.is_empty() {
            return text.to_owned();
        }
        let lead = old.len() - old.trim_start().len();
        let tail = old.trim_end().len();
        format!("{}{text}{}", &old[..lead], &old[tail..])
    }

    /// A field where none was; a bare one stays empty where nothing is said.
    pub(super) fn new_field(&self, text: &str, first: bool) -> String {
        if self.must(text, first) || (self.quoted && !text.is_empty()) {
            in_marks(text)
        } else {
            text.to_owned()
        }
    }

    /// Whether a text is read as it is only within quotation marks. The first of a row must not begin like a note.
    fn must(&self, text: &str, first: bool) -> bool {
        text.contains([self.delimiter, '"', '\n']) || (first && text.starts_with('#'))
    }
}

fn in_marks(text: &str) -> String {
    format!("\"{}\"", text.replace('"', "\"\""))
}

fn is_quoted(table: &Written, row: &Line, column: usize) -> bool {
    row.fields
        .get(column)
        .is_some_and(|field| table.text[field.clone()].starts_with('"'))
}

/// Whether a mark divides the decimals of a number: it stands there once, and behind the other one.
fn is_decimal(cell: &str, mark: char, other: char) -> bool {
    cell.matches(mark).count() == 1 && cell.rfind(mark) > cell.rfind(other)
}
