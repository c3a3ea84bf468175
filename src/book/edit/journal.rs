//! The journal that stands beside the tables of a book: what each command wrote, so that it can be taken back. It is a table of text
//! like the others, with a row for each file that a change touched, and holds of that file the place, the text before and after, and
//! its length with its check sum before and after.
//!
//! An entry is written before the tables are, and goes after they are as they were: a run that is killed in between leaves an entry
//! whose files are still, or again, as before. Such an entry counts as not made.

use std::sync::Arc;

use super::Splice;
use crate::text::check_sum::check_sum;
use crate::text::written::{Line, Written};
use crate::text::{Diagnostic, Location, words};

/// The name of its file, without the ending.
pub const JOURNAL: &str = "journal";

/// What stands above its rows.
const NOTE: &str = "# What landwaiter wrote into these tables, the last change at the end; `landwaiter undo` takes it back.\n";

/// Its columns.
const COLUMNS: [&str; 9] = [
    "change", "date", "command", "file", "at", "before", "after", "was", "is",
];

/// How a file that is not there is told.
const NONE: &str = "none";

/// What one change did to one file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// The number of the change; several files that one command wrote share it.
    pub change: u32,
    /// The day.
    pub date: String,
    /// What was asked for.
    pub command: String,
    /// The file's name, without its folder.
    pub file: String,
    /// What differs.
    pub splice: Splice,
    /// How the file was before, by [`state_of`].
    pub was: String,
    /// How it was afterwards.
    pub is: String,
}

/// A journal as it was read.
#[derive(Debug)]
pub struct Journal {
    bytes: Vec<u8>,
    written: Written,
    entries: Vec<Entry>,
}

/// What a file is known by: its length and its check sum.
pub fn state_of(file: Option<&[u8]>) -> String {
    file.map_or_else(
        || NONE.to_owned(),
        |bytes| format!("{}-{:08x}", bytes.len(), check_sum(bytes)),
    )
}

impl Journal {
    /// Reads a journal; none when there is none yet.
    pub fn read(path: &str, bytes: Option<&[u8]>) -> Result<Journal, Diagnostic> {
        let bytes = bytes.unwrap_or_default().to_vec();
        let written = Written::of(path, &bytes)?;
        if written.header.is_some() && written.names != COLUMNS {
            let what = format!(
                "this is not a journal of landwaiter, which has the columns {}",
                COLUMNS.join(", ")
            );
            return Err(Diagnostic::error(what)
                .at(Location::line(Arc::from(path), 1))
                .help("give the file another name: changes of the tables beside it are noted in `journal.csv`"));
        }
        let entry = |line: &Line| {
            entry(line).ok_or_else(|| {
                Diagnostic::error("this is not a row that landwaiter wrote into its journal")
                    .at(written.place(line, None))
                    .help("delete the row: the change that it told of, and those before, can then not be taken back")
            })
        };
        let entries = written.rows.iter().map(entry).collect::<Result<_, _>>()?;
        Ok(Journal {
            bytes,
            written,
            entries,
        })
    }

    /// The number of the next change.
    pub fn next(&self) -> u32 {
        self.entries
            .last()
            .map_or(1, |last| last.change.saturating_add(1))
    }

    /// What the last change did, file by file; nothing when there is none.
    pub fn last(&self) -> &[Entry] {
        let number = self.entries.last().map_or(0, |last| last.change);
        let earlier = self
            .entries
            .iter()
            .rposition(|entry| entry.change != number);
        let from = earlier.map_or(0, |at| at + 1);
        &self.entries[from..]
    }

    /// The journal without the last change.
    pub fn without_last(&self) -> Result<Journal, Diagnostic> {
        let kept = self.entries.len() - self.last().len();
        let mut text = self.written.text.clone();
        for line in self.written.rows.iter().skip(kept).rev() {
            text.replace_range(line.start..line.next, "");
        }
        let bytes = self.written.with_text(&self.bytes, &text);
        Journal::read("", Some(&bytes))
    }

    /// The journal without changes at its end whose files are all as they were before: those were not made, or were taken back.
    pub fn without_unmade(self, state: impl Fn(&str) -> String) -> Result<Journal, Diagnostic> {
        let mut journal = self;
        while !journal.last().is_empty()
            && journal
                .last()
                .iter()
                .all(|entry| state(&entry.file) == entry.was)
        {
            journal = journal.without_last()?;
        }
        Ok(journal)
    }

    /// The bytes of the journal.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// The bytes of the journal with more entries.
    pub fn with(&self, entries: &[Entry]) -> Vec<u8> {
        let text = &self.written.text;
        let mut more = String::new();
        if self.written.header.is_none() {
            more.push_str(if text.is_empty() { NOTE } else { "" });
            more.push_str(&format!("{}\n", COLUMNS.join(",")));
        }
        for entry in entries {
            more.push_str(&row(entry, self.written.delimiter));
        }
        let joint = if text.is_empty() || text.ends_with(['\n', '\r']) {
            ""
        } else {
            "\n"
        };
        self.written
            .with_text(&self.bytes, &format!("{text}{joint}{more}"))
    }
}

/// An entry as a row.
fn row(entry: &Entry, delimiter: char) -> String {
    let cells = [
        entry.change.to_string(),
        entry.date.clone(),
        bracketed(&entry.command),
        entry.file.clone(),
        entry.splice.at.to_string(),
        bracketed(&entry.splice.before),
        bracketed(&entry.splice.after),
        entry.was.clone(),
        entry.is.clone(),
    ];
    let quoted = |cell: &String| {
        if cell.contains([delimiter, '"']) {
            format!("\"{}\"", cell.replace('"', "\"\""))
        } else {
            cell.clone()
        }
    };
    let cells: Vec<String> = cells.iter().map(quoted).collect();
    format!("{}\n", cells.join(&delimiter.to_string()))
}

/// A row as an entry.
fn entry(line: &Line) -> Option<Entry> {
    Some(Entry {
        change: line.said(0).parse().ok()?,
        date: line.said(1).to_owned(),
        command: bare(line.said(2))?,
        file: line.said(3).to_owned(),
        splice: Splice {
            at: line.said(4).parse().ok()?,
            before: bare(line.said(5))?,
            after: bare(line.said(6))?,
        },
        was: line.said(7).to_owned(),
        is: line.said(8).to_owned(),
    })
}

/// A text on one line between brackets, so that blanks at its ends stay and no spreadsheet takes it for a number or a formula.
fn bracketed(text: &str) -> String {
    let inner = text
        .replace('\\', "\\\\")
        .replace('\n', "\\n")
        .replace('\r', "\\r");
    format!("[{inner}]")
}

/// The text between brackets.
fn bare(cell: &str) -> Option<String> {
    let inner = cell.strip_prefix('[')?.strip_suffix(']')?;
    let (mut text, mut letters) = (String::with_capacity(inner.len()), inner.chars());
    while let Some(letter) = letters.next() {
        text.push(match letter {
            '\\' => match letters.next()? {
                'n' => '\n',
                'r' => '\r',
                '\\' => '\\',
                _ => return None,
            },
            other => other,
        });
    }
    Some(text)
}

/// What becomes of a file when an entry is taken back.
#[derive(Debug, PartialEq, Eq)]
pub enum Back {
    /// It gets these bytes.
    Bytes(Vec<u8>),
    /// It goes: the change had made it.
    Gone,
    /// It is as it was before already.
    Already,
}

/// Takes an entry back in the file as it is now; refused, with what differs, where it is neither as the change left it nor as it was
/// before.
pub fn taken_back(entry: &Entry, path: &str, now: Option<&[u8]>) -> Result<Back, Diagnostic> {
    let state = state_of(now);
    if state == entry.was {
        return Ok(Back::Already);
    }
    let differs = || differs(entry, path, now);
    if state != entry.is {
        return Err(differs());
    }
    if entry.was == NONE {
        return Ok(Back::Gone);
    }
    let bytes = now.and_then(|now| entry.splice.back(now));
    bytes
        .filter(|bytes| state_of(Some(bytes)) == entry.was)
        .map(Back::Bytes)
        .ok_or_else(differs)
}

/// Why an entry cannot be taken back.
fn differs(entry: &Entry, path: &str, now: Option<&[u8]>) -> Diagnostic {
    let refused = |what: String, line: usize| {
        let what = format!(
            "the change of {} by {} cannot be taken back: {what}",
            entry.date,
            words::quoted(&entry.command)
        );
        Diagnostic::error(what)
            .at(Location::line(Arc::from(path), line))
            .help(format!(
                "make the file as the change left it, or take the change out by hand and delete the rows of change {} from `journal.csv`",
                entry.change
            ))
    };
    let Some(now) = now else {
        return refused("the file is not there any more".to_owned(), 1);
    };
    let line = now
        .get(..entry.splice.at)
        .and_then(|before| crate::text::decode("", before).ok())
        .map_or(1, |before| before.matches('\n').count() + 1);
    let left = entry.is.split('-').next().unwrap_or_default();
    let length = if left == now.len().to_string() {
        format!("it has {left} bytes as then, but not the same")
    } else {
        format!("it had {left} bytes then and has {} now", now.len())
    };
    let there = entry.splice.back(now).is_some();
    let piece = if there {
        "what the change wrote still stands there, and something else differs"
    } else {
        "what the change wrote does not stand where it stood"
    };
    refused(
        format!("the file was changed since by something else ({length}; {piece})"),
        line,
    )
}
