//! A cell knows its text and its place, and makes errors about itself. This file and `sheet` name each other, which no two others of
//! this room do: a cell borrows from its sheet, and a sheet hands out its rows.

use std::sync::Arc;

use super::diagnostic::{Diagnostic, Location, Problems};
use super::sheet::Sheet;
use super::split::Record;
use super::words::quoted;
use crate::units::number::Style;

/// One row of a sheet.
#[derive(Clone, Copy)]
pub(crate) struct Row<'a> {
    pub(super) sheet: &'a Sheet,
    pub(super) record: &'a Record,
}

impl<'a> Row<'a> {
    /// The cell in the named column; empty when the file has no such column.
    pub(crate) fn cell(&self, column: &'static str) -> Cell<'a> {
        let index = self.sheet.index_of(column);
        let text = trim(
            index
                .and_then(|i| self.sheet.fields.get(self.record, i))
                .unwrap_or(""),
        );
        Cell {
            row: *self,
            column,
            index,
            text,
        }
    }

    /// The row's line, from 1.
    pub(crate) fn line(&self) -> usize {
        self.record.line
    }

    /// The whole row as a place.
    pub(crate) fn place(&self) -> Location {
        let text = self.sheet.line_text(self.record);
        let end = text.len();
        Location::within(self.sheet.path.clone(), self.record.line, text, 0..end)
    }

    /// How this file writes numbers.
    pub(crate) fn style(&self) -> Style {
        self.sheet.style
    }
}

/// The text without blanks at its ends; nearly all begin and end with a letter or a digit.
fn trim(text: &str) -> &str {
    match text.as_bytes() {
        [] => text,
        [first, .., last] if first.is_ascii_graphic() && last.is_ascii_graphic() => text,
        _ => text.trim(),
    }
}

/// A row that outlives the reading: it keeps its sheet, and can still complain about its cells.
#[derive(Clone)]
pub(crate) struct Spot {
    sheet: Arc<Sheet>,
    index: usize,
}

impl Spot {
    /// Every row of a sheet.
    pub(crate) fn rows(sheet: &Arc<Sheet>) -> impl Iterator<Item = Spot> + '_ {
        (0..sheet.len()).map(|index| Spot {
            sheet: sheet.clone(),
            index,
        })
    }

    /// Which row of its sheet it is, from 0.
    pub(crate) fn number(&self) -> usize {
        self.index
    }

    /// A cell of the row.
    pub(crate) fn cell(&self, column: &'static str) -> Cell<'_> {
        self.sheet.row(self.index).cell(column)
    }

    /// Whether its table has the column.
    pub(crate) fn has(&self, column: &str) -> bool {
        self.sheet.index_of(column).is_some()
    }

    /// The row itself.
    pub(crate) fn row(&self) -> Row<'_> {
        self.sheet.row(self.index)
    }

    /// Where it stands.
    pub(crate) fn place(&self) -> Location {
        self.row().place()
    }

    /// Its line alone, of which no text is shown.
    pub(crate) fn line(&self) -> Location {
        Location::line(self.sheet.path.clone(), self.row().line())
    }
}

impl std::fmt::Debug for Spot {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.place())
    }
}

/// One cell.
#[derive(Clone, Copy)]
pub(crate) struct Cell<'a> {
    row: Row<'a>,
    column: &'static str,
    index: Option<usize>,
    text: &'a str,
}

impl<'a> Cell<'a> {
    /// Its text, trimmed.
    pub(crate) fn text(&self) -> &'a str {
        self.text
    }

    /// Its text, unless empty.
    pub(crate) fn some(&self) -> Option<&'a str> {
        (!self.text.is_empty()).then_some(self.text)
    }

    /// Whether nothing is written.
    pub(crate) fn is_empty(&self) -> bool {
        self.text.is_empty()
    }

    /// The same cell, with nothing in it.
    pub(crate) fn emptied(&self) -> Cell<'a> {
        Cell { text: "", ..*self }
    }

    /// How this file writes numbers.
    pub(crate) fn style(&self) -> Style {
        self.row.style()
    }

    /// Where it stands.
    pub(crate) fn place(&self) -> Location {
        let sheet = self.row.sheet;
        let line = sheet.line_text(self.row.record);
        let span = self
            .index
            .map_or(0..line.len(), |i| sheet.field_span(line, i));
        let mut place = Location::within(sheet.path.clone(), self.row.record.line, line, span);
        place.column = Some(self.column.to_owned());
        place
    }

    /// An error about it: what was found, then what was expected.
    pub(crate) fn error(&self, expected: impl AsRef<str>) -> Diagnostic {
        let found = match self.index {
            None => "not among the columns".to_owned(),
            Some(_) if self.text.is_empty() => "empty".to_owned(),
            Some(_) => quoted(self.text),
        };
        Diagnostic::error(format!(
            "`{}` is {found}: {}",
            self.column,
            expected.as_ref()
        ))
        .at(self.place())
    }

    /// Reads it by a function whose error says what was expected.
    pub(crate) fn read<T>(
        &self,
        reader: impl FnOnce(&'a str) -> Result<T, String>,
    ) -> Result<T, Diagnostic> {
        reader(self.text).map_err(|expected| self.error(expected))
    }

    /// Reads it when it is not empty, keeping any problem.
    pub(crate) fn optional<T>(
        &self,
        problems: &mut Problems,
        reader: impl FnOnce(&'a str) -> Result<T, String>,
    ) -> Option<T> {
        if self.is_empty() {
            return None;
        }
        problems.keep(self.read(reader))
    }

    /// Reads it whether empty or not, keeping any problem.
    pub(crate) fn needed<T>(
        &self,
        problems: &mut Problems,
        reader: impl FnOnce(&'a str) -> Result<T, String>,
    ) -> Option<T> {
        problems.keep(self.read(reader))
    }
}
