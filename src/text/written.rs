//! A table as it is written: every row with the place of each of its fields in the file's text, for those who change a cell and leave
//! all else as it is. The fields themselves are read by the splitter that reads every table; a row whose fields are not found
//! where the splitter found them is told as one that cannot be changed.

use std::ops::Range;
use std::sync::Arc;

use super::columns::Columns;
pub(crate) use super::columns::plain_name;
use super::diagnostic::{Diagnostic, Location};
use super::marks::{first_line, stray_mark};
use super::sheet::{delimiter_of, line_feeds};
use super::source::{decode, encode_like};
use super::split::split;
use super::words::leads_to;
use crate::units::number::Style;

/// A table's text, and where its rows and fields stand.
#[derive(Debug)]
pub(crate) struct Written {
    path: Arc<str>,
    /// The bytes before the text: the mark of the byte order.
    base: usize,
    /// The text as the file has it.
    pub(crate) text: String,
    /// What divides the fields.
    pub(crate) delimiter: char,
    /// How numbers may be written here.
    pub(crate) style: Style,
    /// The row of names; none where the file has none yet.
    pub(crate) header: Option<Line>,
    /// The names of the header, as they are looked for.
    pub(crate) names: Vec<String>,
    /// The rows below the header.
    pub(crate) rows: Vec<Line>,
}

/// A row as it is written.
#[derive(Debug, Clone)]
pub(crate) struct Line {
    /// Its line, from 1.
    pub(crate) number: usize,
    /// Where it begins.
    pub(crate) start: usize,
    /// Where its last field ends.
    pub(crate) end: usize,
    /// Where the next line begins.
    pub(crate) next: usize,
    /// Where each field stands, with its quotation marks and the blanks around it.
    pub(crate) fields: Vec<Range<usize>>,
    /// What each field says, quotation marks undone.
    pub(crate) values: Vec<String>,
    /// Why it cannot be changed, and where that stands.
    fault: Option<(usize, &'static str)>,
}

impl Line {
    /// What a field says without blanks at its ends; nothing where the row has no such field.
    pub(crate) fn said(&self, index: usize) -> &str {
        self.values.get(index).map_or("", |value| value.trim())
    }
}

impl Written {
    /// Finds out where everything stands.
    pub(crate) fn of(path: &str, bytes: &[u8]) -> Result<Written, Diagnostic> {
        let text = decode(path, bytes)?;
        let base = bytes.len().saturating_sub(encode_like(bytes, &text).len());
        // byte for byte as long, so that what stands somewhere in one stands there in the other
        let fed = line_feeds(text.clone());
        let delimiter = delimiter_of(&fed);
        let (records, fields) = split(&fed, delimiter);
        let mut rows: Vec<Line> = records
            .iter()
            .map(|record| {
                let values = fields.of(record).map(str::to_owned).collect();
                line((&text, delimiter), (record.line, record.start), values)
                    .stray_in(&fed[record.start..record.end], delimiter)
            })
            .collect();
        let header = (!rows.is_empty()).then(|| rows.remove(0));
        let names = header.as_ref().map_or(Vec::new(), |header| {
            header.values.iter().map(|name| plain_name(name)).collect()
        });
        Ok(Written {
            path: Arc::from(path),
            base,
            text,
            delimiter: char::from(delimiter),
            style: if delimiter == b',' {
                Style::Point
            } else {
                Style::CommaToo
            },
            header,
            names,
            rows,
        })
    }

    /// Which field of a row stands in a column.
    pub(crate) fn column(&self, name: &str) -> Option<usize> {
        self.names.iter().position(|known| known == name)
    }

    /// The bytes of the file with another text, which is written as this one is.
    pub(crate) fn with_text(&self, bytes: &[u8], text: &str) -> Vec<u8> {
        let mut new = bytes.get(..self.base).unwrap_or_default().to_vec();
        new.extend(encode_like(bytes, text));
        new
    }

    /// At which byte of the file a place of the text stands.
    pub(crate) fn byte_of(&self, bytes: &[u8], at: usize) -> usize {
        let before = self.text.get(..at).unwrap_or_default();
        self.base + encode_like(bytes, before).len()
    }

    /// A row as a place, or one of its fields.
    pub(crate) fn place(&self, line: &Line, column: Option<usize>) -> Location {
        let field = column.and_then(|index| line.fields.get(index));
        let at = field.map_or(line.start, |field| field.start);
        let mut place = self.located(line, at, field.map_or(0, ExactSizeIterator::len));
        place.column = column.and_then(|index| self.names.get(index).cloned());
        place
    }

    /// Why a row cannot be changed, if it cannot.
    pub(crate) fn fault(&self, line: &Line) -> Option<Diagnostic> {
        let (at, what) = line.fault?;
        let width = self.text[at..].chars().next().map_or(0, char::len_utf8);
        Some(
            Diagnostic::error(format!("the row cannot be changed: {what}"))
                .at(self.located(line, at, width))
                .help("mend the row in an editor first"),
        )
    }

    fn located(&self, line: &Line, at: usize, width: usize) -> Location {
        let before = &self.text[..at];
        let begins = before.rfind(['\n', '\r']).map_or(0, |end| end + 1);
        let number = line.number + super::source::line_ends(&self.text.as_bytes()[line.start..at]);
        let text = first_line(&self.text[begins..]);
        let from = (at - begins).min(text.len());
        let to = (from + width).min(text.len());
        Location::within(self.path.clone(), number, text, from..to)
    }
}

impl Line {
    /// The same with what a stray quotation mark does to it.
    fn stray_in(mut self, record: &str, delimiter: u8) -> Line {
        if let Some((at, what)) = stray_mark(record, delimiter) {
            self.fault = Some((self.start + at, what));
        }
        self
    }
}

/// Finds the fields of a row.
fn line(
    (text, delimiter): (&str, u8),
    (number, start): (usize, usize),
    values: Vec<String>,
) -> Line {
    let bytes = text.as_bytes();
    let (mut fields, mut at) = (Vec::new(), start);
    let end = loop {
        let end = field_end(bytes, at, delimiter);
        fields.push(at..end);
        if bytes.get(end) != Some(&delimiter) {
            break end;
        }
        at = end + 1;
    };
    let next = match bytes.get(end..) {
        Some([b'\r', b'\n', ..]) => end + 2,
        Some([_, ..]) => end + 1,
        _ => end,
    };
    let agrees = fields.len() == values.len()
        && fields
            .iter()
            .zip(&values)
            .all(|(field, value)| unquoted(&text[field.clone()]).trim() == value.trim());
    let fault = (!agrees).then_some((start, "it is not clear where its cells begin and end"));
    Line {
        number,
        start,
        end,
        next,
        fields,
        values,
        fault,
    }
}

/// Where a field ends: at the separator, the line end or the end.
fn field_end(bytes: &[u8], mut at: usize, delimiter: u8) -> usize {
    if bytes.get(at) == Some(&b'"') {
        at += 1;
        loop {
            match (bytes.get(at), bytes.get(at + 1)) {
                (None, _) => return at,
                (Some(b'"'), Some(b'"')) => at += 2,
                (Some(b'"'), _) => break,
                _ => at += 1,
            }
        }
    }
    let rest = &bytes[at..];
    at + memchr::memchr3(delimiter, b'\n', b'\r', rest).unwrap_or(rest.len())
}

/// A field without the quotation marks around it, those within it made single; lone carriage returns as they are read.
fn unquoted(field: &str) -> String {
    let kept = field.trim_end_matches([' ', '\t']);
    let inner = kept
        .strip_prefix('"')
        .and_then(|rest| rest.strip_suffix('"'));
    match inner {
        Some(inner) => line_feeds(inner.replace("\"\"", "\"")),
        None => field.to_owned(),
    }
}

/// Which known column a typed name means: its own name, or a second name of it.
pub(crate) fn column_meant(typed: &str, columns: &Columns) -> Option<&'static str> {
    let name = plain_name(typed);
    let known: Vec<&'static str> = columns.all().chain(["note"]).collect();
    known
        .iter()
        .find(|known| **known == name)
        .copied()
        .or_else(|| leads_to(typed, &known))
}
