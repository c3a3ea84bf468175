//! A text split into records and fields, quotation marks undone. What a record means is the sheet's matter.
//!
//! All fields stand one after another in one string. A record whose quotation marks stand around whole fields, or that has none, is
//! cut at its separators. The splitting machine, which looks at each byte, reads all others, and whole texts with carriage returns,
//! so that what a stray mark does is its matter alone. It is built once for each separator and set back for
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
        let line_feeds_alone = memchr::memchr(b'\r', text.as_bytes()).is_none();
        split_by(reader, text, delimiter, line_feeds_alone)
    })
}

fn split_by(
    reader: &mut Reader,
    text: &str,
    delimiter: u8,
    cutting: bool,
) -> (Vec<Record>, Fields) {
    let bytes = text.as_bytes();
    // no field is longer than what it was read from, and each ends at a separator, a line end or the end
    let count = |byte| memchr::memchr_iter(byte, bytes).count();
    let most = count(delimiter) + count(b'\n') + count(b'\r') + 2;
    let (mut out, mut ends) = (vec![0; bytes.len() + 1], vec![0; most]);
    let (mut at, mut line, mut counted) = (0, 1, 0);
    let (mut filled, mut closed) = (0, 0);
    let mut found = Vec::with_capacity(line_feeds(bytes) + 1);
    loop {
        let (before, first) = (at, closed);
        let (out_left, ends_left) = (&mut out[filled..], &mut ends[closed..]);
        // the machine takes the first record, where it also looks for a mark of the byte order
        let cut = if cutting && before > 0 {
            let start = skip_notes(text, before);
            if start == bytes.len() {
                break;
            }
            cut(&bytes[start..], delimiter, out_left, ends_left)
                .map(|(took, wrote, ended)| (true, start - before + took, wrote, ended))
        } else {
            None
        };
        let (whole, took, wrote, ended) =
            cut.unwrap_or_else(|| record(reader, &bytes[at..], out_left, ends_left));
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

/// Cuts the record at the start of these bytes: the bytes read, the bytes written and the fields ended. None where a quotation mark
/// is not at the end of a field.
fn cut(
    bytes: &[u8],
    delimiter: u8,
    out: &mut [u8],
    ends: &mut [usize],
) -> Option<(usize, usize, usize)> {
    let (mut at, mut wrote, mut ended) = (0, 0, 0);
    loop {
        let rest = &bytes[at..];
        let (field, width) = if rest.first() == Some(&b'"') {
            let length = memchr::memchr(b'"', &rest[1..])?;
            (&rest[1..=length], length + 2)
        } else {
            let length = field_length(rest, delimiter);
            (&rest[..length], length)
        };
        out[wrote..wrote + field.len()].copy_from_slice(field);
        wrote += field.len();
        ends[ended] = wrote;
        ended += 1;
        at += width + 1;
        match rest.get(width) {
            None => return Some((at - 1, wrote, ended)),
            Some(b'\n') => return Some((at, wrote, ended)),
            Some(byte) if *byte == delimiter => {}
            Some(_) => return None,
        }
    }
}

/// How far it is to the end of a field, or to a quotation mark. Most fields are a word, which ends before a search has begun.
fn field_length(rest: &[u8], delimiter: u8) -> usize {
    const WORD: usize = 16;
    let ends = |byte: &u8| *byte == delimiter || *byte == b'\n' || *byte == b'"';
    let (word, more) = rest.split_at(rest.len().min(WORD));
    word.iter().position(ends).unwrap_or_else(|| {
        let more_length = memchr::memchr3(delimiter, b'\n', b'"', more);
        word.len() + more_length.unwrap_or(more.len())
    })
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cut_records_are_those_of_the_machine() {
        const LETTERS: [&str; 9] = ["a", "b", ",", ",", "\"", "\"", "\n", "#", " "];
        let mut seed = 1_u64;
        for _ in 0..60_000 {
            let mut text = String::from("one,two\n");
            for _ in 0..14 {
                seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                text.push_str(LETTERS[usize::try_from((seed >> 33) % 9).unwrap()]);
            }
            let read = |cutting| {
                let (records, fields) = split_by(&mut machine(b','), &text, b',', cutting);
                let told = |r: &Record| {
                    let own: Vec<String> = fields.of(r).map(str::to_owned).collect();
                    (r.line, r.start, r.end, own)
                };
                records.iter().map(told).collect::<Vec<_>>()
            };
            assert_eq!(read(true), read(false), "{text:?}");
        }
    }
}
