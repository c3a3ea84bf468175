//! How much of a spreadsheet is read: more columns, rows, cells or text than any book has, and far less than a computer can
//! hold. A sheet is filled cell by cell, and each cell is counted before it is kept.

use std::cell::Cell;

use super::Refusal;
use crate::book::{Leaf, Value};
use crate::text::words::letters;

/// Columns of a sheet.
pub(super) const MOST_COLUMNS: usize = 256;
/// Rows of a sheet.
pub(super) const MOST_ROWS: usize = 20_000;
/// Cells of all sheets, empty ones between others among them.
const MOST_CELLS: usize = 400_000;
/// Letters of one cell, as spreadsheet programs have it.
pub(super) const MOST_LETTERS: usize = 32_767;
/// Bytes of text of all cells.
const MOST_TEXT: usize = 16 << 20;
/// Bytes that are unpacked, all files of the package together.
pub(super) const MOST_UNPACKED: u64 = 64 << 20;
/// How many times its size a file of the package may unpack to, beyond the first [`FREE`] bytes.
pub(super) const MOST_RATIO: u64 = 200;
/// Bytes that may be unpacked from however few.
pub(super) const FREE: u64 = 1 << 20;
/// Bytes of one tag, or of one text between two.
pub(super) const MOST_TAG: u64 = 1 << 20;
/// How deep tags may be nested.
pub(super) const MOST_DEPTH: usize = 200;
/// Tags of all files that are read: however short they are, each takes its time.
pub(super) const MOST_TAGS: u64 = 4_000_000;
/// Files in the package.
pub(super) const MOST_FILES: usize = 4096;
/// Looks of cells that a workbook defines: spreadsheet programs write 65,490 at most.
pub(super) const MOST_LOOKS: usize = 70_000;

/// What has been used of the bounds of a workbook.
#[derive(Debug, Default)]
pub(super) struct Budget {
    cells: Cell<usize>,
    text: Cell<usize>,
    pub(super) unpacked: Cell<u64>,
    tags: Cell<u64>,
}

impl Budget {
    /// Counts a tag.
    pub(super) fn tag(&self) -> Result<(), String> {
        self.tags.set(self.tags.get() + 1);
        if self.tags.get() > MOST_TAGS {
            Err(format!("it has more than {MOST_TAGS} tags"))
        } else {
            Ok(())
        }
    }
}

/// A sheet that is being filled.
pub(super) struct Filling<'b> {
    pub(super) leaf: Leaf,
    budget: &'b Budget,
}

impl<'b> Filling<'b> {
    pub(super) fn new(name: &str, budget: &'b Budget) -> Filling<'b> {
        Filling {
            leaf: Leaf {
                name: name.to_owned(),
                ..Leaf::default()
            },
            budget,
        }
    }

    /// A sheet that is filled on.
    pub(super) fn around(leaf: Leaf, budget: &'b Budget) -> Filling<'b> {
        Filling { leaf, budget }
    }

    /// A refusal that names this sheet and a row, counted from zero.
    pub(super) fn refuse(&self, row: usize, what: impl Into<String>) -> Refusal {
        Refusal {
            sheet: Some((self.leaf.name.clone(), row.saturating_add(1))),
            what: what.into(),
        }
    }

    /// Puts a value into a cell, both counted from zero; an empty one may be formatted, however far out it lies.
    pub(super) fn put(
        &mut self,
        row: usize,
        column: usize,
        value: Value,
        struck: bool,
    ) -> Result<(), Refusal> {
        if value == Value::Empty {
            return Ok(());
        }
        if self.holds(row, column) {
            return Err(self.refuse(
                row,
                format!("cell {}{} is there twice", letters(column), row + 1),
            ));
        }
        self.replace(row, column, value, struck)
    }

    /// Whether something stands in a cell.
    fn holds(&self, row: usize, column: usize) -> bool {
        self.leaf
            .rows
            .get(row)
            .and_then(|cells| cells.get(column))
            .is_some_and(|cell| *cell != Value::Empty)
    }

    /// Puts a value into a cell, whatever stands in it.
    pub(super) fn replace(
        &mut self,
        row: usize,
        column: usize,
        value: Value,
        struck: bool,
    ) -> Result<(), Refusal> {
        self.fits(row, column, &value)?;
        self.count(row, column, &value)?;
        if self.leaf.rows.len() <= row {
            self.leaf.rows.resize_with(row + 1, Vec::new);
        }
        if let Some(cells) = self.leaf.rows.get_mut(row) {
            if cells.len() <= column {
                cells.resize(column + 1, Value::Empty);
            }
            if let Some(cell) = cells.get_mut(column) {
                *cell = value;
            }
        }
        if struck {
            self.leaf.struck.push((row, column));
        }
        Ok(())
    }

    /// Refuses a value that lies beyond the columns or rows that are read, or is longer than a cell's may be.
    pub(super) fn fits(&self, row: usize, column: usize, value: &Value) -> Result<(), Refusal> {
        if column >= MOST_COLUMNS {
            let what = format!(
                "something stands in {}, beyond the {MOST_COLUMNS} columns that are read",
                named(column)
            );
            return Err(self.refuse(row, what));
        }
        if row >= MOST_ROWS {
            return Err(self.refuse(
                row,
                format!(
                    "something stands in row {}, beyond the {MOST_ROWS} rows that are read",
                    row + 1
                ),
            ));
        }
        let text = text_in(value);
        if text.len() > MOST_LETTERS && text.chars().nth(MOST_LETTERS).is_some() {
            let what = format!(
                "cell {}{} holds more than {MOST_LETTERS} letters",
                letters(column),
                row + 1
            );
            return Err(self.refuse(row, what));
        }
        Ok(())
    }

    /// Counts a cell, and the empty ones before it that its row grows by.
    fn count(&self, row: usize, column: usize, value: &Value) -> Result<(), Refusal> {
        let length = self.leaf.rows.get(row).map_or(0, Vec::len);
        let cells = self.budget.cells.get() + (column + 1).saturating_sub(length);
        if cells > MOST_CELLS {
            return Err(self.refuse(
                row,
                format!(
                    "it has more cells than the {MOST_CELLS} that are read, empty ones counted"
                ),
            ));
        }
        self.budget.cells.set(cells);
        let all = self.budget.text.get() + text_in(value).len();
        if all > MOST_TEXT {
            return Err(self.refuse(
                row,
                format!("its cells hold more than {} MiB of text", MOST_TEXT >> 20),
            ));
        }
        self.budget.text.set(all);
        Ok(())
    }
}

/// The text that a value holds.
fn text_in(value: &Value) -> &str {
    match value {
        Value::Text(text)
        | Value::Fault(text)
        | Value::Number(text, _)
        | Value::Percent(text)
        | Value::Money(text, _) => text,
        _ => "",
    }
}

/// A column by its letters; one far beyond those that spreadsheets have, in words.
fn named(column: usize) -> String {
    if column < 20_000 {
        format!("column {}", letters(column))
    } else {
        "a column that no spreadsheet has".to_owned()
    }
}
