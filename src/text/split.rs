//! A text split into records and fields, quotation marks undone. What a record means is the sheet's matter.
//!
//! All fields stand one after another in one string. The splitting machine is built once for each separator and set back for
//! each file: building it takes longer than reading a small table. (A copy will not do: version 0.1.13 copies half of it.)

use std::cell::RefCell;
use std::ops::Range;

use csv_core::{ReadRecordResult, Reader, ReaderBuilder};

/// One record: its line, the bytes of the text it was read from, and which of the fields are its own.
#[derive(Debug)]
pub(super) struct Record {
    pub(super) line: usize,
    pub(super) start: usize,
    pub(super) end: usize,
    own: Range<usize>,
}

impl Record {
    /// How many fields it has.
    pub(super) fn len(&self) -> usize {
        self.own.len()
    }
}

/// The fields of all records of a text.
#[derive(Debug, Default)]
pub(super) struct Fields {
    text: String,
    ends: Vec<usize>,
}

impl Fields {
    /// A record's field by its place.
    pub(super) fn get(&self, record: &Record, index: usize) -> Option<&str> {
        let at = record.own.start + index;
        (at < record.own.end).then(|| self.at(at))
    }

    /// All fields of a record.
    pub(super) fn of<'a>(&'a self, record: &Record) -> impl Iterator<Item = &'a str> + use<'a> {
        record.own.clone().map(|at| self.at(at))
    }

    fn at(&self, at: usize) -> &str {
        let start = at.checked_sub(1).map_or(0, |before| self.ends[before]);
        &self.text[start..self.ends[at]]
    }
}

thread_local! {
    static COMMA: RefCell<Reader> = RefCell::new(machine(b','));
    static SEMICOLON: RefCell<Reader> = RefCell::new(machine(b';'));
    static TAB: RefCell<Reader> = RefCell::new(machine(b'\t'));
}

fn machine(delimiter: u8) -> Reader {
    ReaderBuilder::new()
        .delimiter(delimiter)
        .comment(Some(b'#'))
        .build()
}

/// Splits a text whose lines end in line feeds, with or without a carriage return before; records without text are left out.
pub(super) fn split(text: &str, delimiter: u8) -> (Vec<Record>, Fields) {
    let machine = match delimiter {
        b';' => &SEMICOLON,
        b'\t' => &TAB,
        _ => &COMMA,
    };
    machine.with_borrow_mut(|reader| {
        reader.reset();
        split_by(reader, text, delimiter)
    })
}

fn split_by(reader: &mut Reader, text: &str, delimiter: u8) -> (Vec<Record>, Fields) {
    let bytes = text.as_bytes();
    // no field is longer than what it was read from, and each ends at a separator, a line end or the end
    let most = memchr::memchr3_iter(delimiter, b'\n', b'\r', bytes).count() + 2;
    let (mut out, mut ends) = (vec![0; bytes.len() + 1], vec![0; most]);
    let (mut at, mut line, mut counted) = (0, 1, 0);
    let (mut filled, mut closed) = (0, 0);
    let mut found = Vec::with_capacity(line_feeds(bytes) + 1);
    loop {
        let (before, first) = (at, closed);
        let (whole, took, wrote, ended) = record(
            reader,
            &bytes[at..],
            &mut out[filled..],
            &mut ends[closed..],
        );
        if !whole {
            break;
        }
        at += took;
        let start = skip_notes(text, before);
        line += line_feeds(&bytes[counted..start]);
        counted = start;
        ends[first..first + ended]
            .iter_mut()
            .for_each(|end| *end += filled);
        let said = out[filled..filled + wrote]
            .iter()
            .any(|b| !b.is_ascii_whitespace());
        (filled, closed) = (filled + wrote, first + ended);
        if said {
            found.push(Record {
                line,
                start,
                end: at.max(start),
                own: first..closed,
            });
        }
    }
    out.truncate(filled);
    ends.truncate(closed);
    (
        found,
        Fields {
            text: String::from_utf8(out).unwrap_or_default(),
            ends,
        },
    )
}

/// Reads one record: whether there was one, and the bytes read, the bytes written and the fields ended.
fn record(
    reader: &mut Reader,
    input: &[u8],
    out: &mut [u8],
    ends: &mut [usize],
) -> (bool, usize, usize, usize) {
    let (mut took, mut wrote, mut ended) = (0, 0, 0);
    loop {
        let (result, read, written, closed) =
            reader.read_record(&input[took..], &mut out[wrote..], &mut ends[ended..]);
        (took, wrote, ended) = (took + read, wrote + written, ended + closed);
        match result {
            ReadRecordResult::InputEmpty => {}
            ReadRecordResult::Record => return (true, took, wrote, ended),
            ReadRecordResult::End
            | ReadRecordResult::OutputFull
            | ReadRecordResult::OutputEndsFull => return (false, took, wrote, ended),
        }
    }
}

/// Line feeds in a piece of the text.
fn line_feeds(bytes: &[u8]) -> usize {
    memchr::memchr_iter(b'\n', bytes).count()
}

/// Moves past blank lines and notes to where the record itself starts.
fn skip_notes(text: &str, mut at: usize) -> usize {
    loop {
        let rest = &text[at..];
        let step = rest.len() - rest.trim_start_matches(['\n', '\r']).len();
        at += step;
        if !text[at..].starts_with('#') {
            return at;
        }
        at += text[at..].find('\n').unwrap_or(text.len() - at);
    }
}
