//! Edits that leave a table as it was: the bytes of a table and a wish in, the new bytes out, in which nothing differs but what was
//! wished. Notes, blank lines, the order of columns, quotation marks, separators, decimal commas, line ends and columns that are
//! not known here all stay, because the old text is kept and only cut open where a cell changes.
//!
//! No edit is handed out before its outcome has been read again: what comes out says what was wished, and all other cells say what
//! they said. Owns no files: locks, writing and the clock are for whoever calls.

mod finding;
mod intent;
mod journal;
mod manner;
mod splice;

pub use self::{
    journal::{Back, Entry, JOURNAL, Journal, state_of, taken_back},
    splice::Splice,
};

use std::ops::Range;
use std::sync::Arc;

use self::intent::Intent;
use self::manner::Manner;
use super::{BookFile, columns_of};
use crate::text::written::{Line, Written};
use crate::text::{Columns, Diagnostic, Location, words};

/// What a cell is to say.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Value {
    /// This text; blanks at its ends are left out, as they are in reading.
    Text(String),
    /// This number, given with a point, in the way in which the column writes numbers.
    Number(String),
}

/// Which row is meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Find {
    /// The row that begins on this line, from 1.
    Line(usize),
    /// The only row whose cells say this, by column.
    Key(Vec<(String, String)>),
}

/// A change of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Edit {
    /// Cells of a row say something else, by column; a column that the table lacks is added behind the others.
    Set(Find, Vec<(String, Value)>),
    /// A row is added at the end; a table that is empty gets these columns.
    Add(Vec<(String, Value)>),
    /// A row goes.
    Remove(Find),
}

/// A table after an edit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Edited {
    /// All of it.
    pub bytes: Vec<u8>,
    /// What differs, so that it can be taken back.
    pub change: Splice,
}

/// The table after an edit. The file's `bytes` are empty where the table is not there yet.
pub fn edited(file: &BookFile, edit: &Edit) -> Result<Edited, Diagnostic> {
    let columns = columns_of(&file.table).ok_or_else(|| {
        Diagnostic::error(format!(
            "{} is not a table of a book",
            words::quoted(&file.table)
        ))
    })?;
    if file.path.contains(", sheet ") || file.bytes.starts_with(b"PK\x03\x04") {
        return Err(in_workbook(file));
    }
    let old = Written::of(&file.path, &file.bytes)?;
    let mut desk = Desk {
        file,
        columns,
        intent: Intent::of(&old),
        old,
        cuts: Vec::new(),
        added: Vec::new(),
    };
    match edit {
        Edit::Set(find, cells) => desk.set(find, cells)?,
        Edit::Add(cells) => desk.add(cells)?,
        Edit::Remove(find) => desk.remove(find)?,
    }
    desk.finish()
}

/// A workbook is left as it is.
fn in_workbook(file: &BookFile) -> Diagnostic {
    let what = "this table lies in a workbook, in which formulas and formats hang together: it is left as it is";
    Diagnostic::error(what)
        .at(Location::line(Arc::from(file.path.as_str()), 1))
        .help("change the cell in the spreadsheet, or save the sheet as a table of its own, in CSV")
}

/// A table on which an edit is being made.
struct Desk<'a> {
    file: &'a BookFile,
    columns: Columns,
    old: Written,
    /// What all cells are to say afterwards.
    intent: Intent,
    /// What is cut out of the text, and what is put there.
    cuts: Vec<(Range<usize>, String)>,
    /// The columns that are added.
    added: Vec<&'static str>,
}

impl Desk<'_> {
    /// Sets cells of one row.
    fn set(&mut self, find: &Find, cells: &[(String, Value)]) -> Result<(), Diagnostic> {
        let row = self.row(find)?;
        let line = self.sound(row)?.clone();
        let mut behind = Vec::new();
        for (name, value) in cells {
            let at = self.column(name, value)?;
            let Some(at) = at else { continue };
            let manner = Manner::of(&self.old, at);
            let text = manner
                .text(value)
                .map_err(|why| self.refused(&line, at, &why))?;
            self.intent.set(row, at, &text);
            let Some(field) = line.fields.get(at) else {
                if !text.is_empty() {
                    behind.push((at, text));
                }
                continue;
            };
            if manner.says(line.said(at), value) {
                self.intent.set(row, at, line.said(at));
            } else {
                let old = &self.old.text[field.clone()];
                let put = manner.in_place_of(old, &text, field.start == line.start);
                self.cuts.push((field.clone(), put));
            }
        }
        if self.intent.is_blank(row) {
            let what = "the row would say nothing, and would not be read as one";
            return Err(Diagnostic::error(what)
                .at(self.old.place(&line, None))
                .help("remove the row"));
        }
        self.widen(Some((row, &behind)))
    }

    /// Adds a row at the end.
    fn add(&mut self, cells: &[(String, Value)]) -> Result<(), Diagnostic> {
        if self.old.header.is_none() {
            return self.begin(cells);
        }
        let mut given = Vec::new();
        for (name, value) in cells {
            if let Some(at) = self.column(name, value)? {
                let manner = Manner::of(&self.old, at);
                given.push((
                    at,
                    manner.text(value).map_err(|why| self.nowhere(name, &why))?,
                ));
            }
        }
        let width = self.old.names.len() + self.added.len();
        let mut values = vec![String::new(); width];
        for (at, text) in given {
            values[at] = text;
        }
        if values.iter().all(String::is_empty) {
            return Err(self.says_nothing());
        }
        let fields: Vec<String> = values
            .iter()
            .enumerate()
            .map(|(at, text)| Manner::of(&self.old, at).new_field(text, at == 0))
            .collect();
        let row = fields.join(&self.old.delimiter.to_string());
        self.widen(None)?;
        self.intent.push(values);
        let (text, end) = (&self.old.text, self.line_end());
        let put = if text.ends_with(['\n', '\r']) {
            format!("{row}{end}")
        } else {
            format!("{end}{row}")
        };
        self.cuts.push((text.len()..text.len(), put));
        Ok(())
    }

    /// Begins a table: a header of the columns given, then those that the table needs, and the first row.
    fn begin(&mut self, cells: &[(String, Value)]) -> Result<(), Diagnostic> {
        let mut values = Vec::new();
        for (name, value) in cells {
            let known = self.known(name)?;
            if !self.added.contains(&known) {
                self.added.push(known);
                let text = Manner::plain(&self.old).text(value);
                values.push(text.map_err(|why| self.nowhere(name, &why))?);
            }
        }
        for needed in self.columns.needed {
            if !self.added.contains(needed) {
                self.added.push(needed);
                values.push(String::new());
            }
        }
        if values.iter().all(String::is_empty) {
            return Err(self.says_nothing());
        }
        let manner = Manner::plain(&self.old);
        let fields: Vec<String> = values
            .iter()
            .enumerate()
            .map(|(at, text)| manner.new_field(text, at == 0))
            .collect();
        let (text, end) = (&self.old.text, self.line_end());
        let joint = if text.is_empty() || text.ends_with(['\n', '\r']) {
            ""
        } else {
            end
        };
        let put = format!(
            "{joint}{}{end}{}{end}",
            self.added.join(","),
            fields.join(",")
        );
        self.cuts.push((text.len()..text.len(), put));
        self.intent.name(&self.added);
        self.intent.push(values);
        Ok(())
    }

    /// Takes a row out, with its line end; a file that ended without one still does.
    fn remove(&mut self, find: &Find) -> Result<(), Diagnostic> {
        let row = self.row(find)?;
        let line = &self.old.rows[row];
        if let Some(fault) = self.old.fault(line) {
            return Err(fault);
        }
        let text = &self.old.text;
        let cut = if line.next == line.end {
            let before = text[..line.start].strip_suffix('\n');
            let kept = before.unwrap_or(&text[..line.start]);
            kept.strip_suffix('\r').unwrap_or(kept).len()..line.end
        } else {
            line.start..line.next
        };
        self.cuts.push((cut, String::new()));
        self.intent.remove(row);
        Ok(())
    }

    /// Widens the header by the columns that are added and each row as far as the header went, and a row that cells are put behind
    /// as far as it takes.
    fn widen(&mut self, filled: Option<(usize, &[(usize, String)])>) -> Result<(), Diagnostic> {
        let Some(header) = &self.old.header else {
            return Ok(());
        };
        let (divider, width) = (self.old.delimiter, header.fields.len());
        if !self.added.is_empty() {
            // a field beyond the header would be taken for one of the new column
            for row in 0..self.old.rows.len() {
                self.sound(row)?;
            }
            let manner = Manner::of_header(&self.old);
            let names = self
                .added
                .iter()
                .map(|name| format!("{divider}{}", manner.new_field(name, false)));
            self.cuts.push((header.end..header.end, names.collect()));
        }
        for (at, line) in self.old.rows.iter().enumerate() {
            let behind = filled
                .filter(|(row, _)| *row == at)
                .map_or(&[][..], |(_, behind)| behind);
            let most = behind
                .iter()
                .map(|(column, _)| column + 1)
                .max()
                .unwrap_or(0);
            let full = line.fields.len() >= width;
            let wide = if full {
                width + self.added.len()
            } else {
                line.fields.len()
            };
            let mut put = String::new();
            for column in line.fields.len()..wide.max(most) {
                put.push(divider);
                let text = behind.iter().rfind(|(own, _)| *own == column);
                put.push_str(&text.map_or(String::new(), |(_, text)| {
                    Manner::of(&self.old, column).new_field(text, false)
                }));
            }
            // a row that cannot be read is no better for it
            if !put.is_empty() && self.old.fault(line).is_none() {
                self.cuts.push((line.end..line.end, put));
            }
        }
        self.intent.name(&self.added);
        Ok(())
    }

    fn at_line(&self, number: usize) -> Location {
        Location::line(Arc::from(self.file.path.as_str()), number)
    }

    fn says_nothing(&self) -> Diagnostic {
        Diagnostic::error("the row says nothing, and would not be read as one").at(self.at_line(1))
    }

    /// What cannot be written into a cell that is there.
    fn refused(&self, line: &Line, column: usize, why: &str) -> Diagnostic {
        let mut place = self.old.place(line, Some(column));
        place.column = self.intent.names.get(column).cloned();
        Diagnostic::error(why).at(place)
    }

    /// What cannot be written into a cell that is not there yet.
    fn nowhere(&self, column: &str, why: &str) -> Diagnostic {
        let lines = self.old.text.lines().count();
        let mut place = self.at_line(lines + 1);
        place.column = Some(column.to_owned());
        Diagnostic::error(why).at(place)
    }

    /// How lines end here: as the last row does, or the header, or whatever stands in the file.
    fn line_end(&self) -> &'static str {
        let text = &self.old.text;
        let ends = [("\r\n", "\r\n"), ("\n", "\n"), ("\r", "\r")];
        let of = |line: &Line| {
            let end = &text[line.end..line.next];
            ends.iter()
                .find(|(_, own)| *own == end)
                .map(|(_, end)| *end)
        };
        let mut rows = self.old.rows.iter().rev().chain(&self.old.header);
        let any = || {
            ends.iter()
                .find(|(_, end)| text.contains(end))
                .map(|(_, end)| *end)
        };
        rows.find_map(of).or_else(any).unwrap_or("\n")
    }

    /// The new bytes, read again before they are handed out.
    fn finish(mut self) -> Result<Edited, Diagnostic> {
        self.cuts.sort_by_key(|(cut, _)| (cut.start, cut.end));
        let mut text = String::with_capacity(self.old.text.len() + 64);
        let mut at = 0;
        for (cut, put) in &self.cuts {
            text.push_str(self.old.text.get(at..cut.start).unwrap_or_default());
            text.push_str(put);
            at = cut.end;
        }
        text.push_str(self.old.text.get(at..).unwrap_or_default());
        let bytes = self.old.with_text(&self.file.bytes, &text);
        let new = Written::of(&self.file.path, &bytes)?;
        if !self.intent.is_said_by(&new) {
            let what = "the table cannot be changed so that only this cell or row of it differs";
            return Err(Diagnostic::error(what).at(self.at_line(1)).help(
                "look for a quotation mark that is not closed, or change the table in an editor",
            ));
        }
        let change = Splice::between(&self.old, &self.file.bytes, &text);
        Ok(Edited { bytes, change })
    }
}

#[cfg(test)]
mod tests;
