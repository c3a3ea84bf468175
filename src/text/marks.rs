//! Quotation marks as they stand in a line: where its fields lie, and a mark that does not do what its writer meant.

use std::ops::Range;

/// Where a reader of records stands.
#[derive(Clone, Copy, PartialEq, Eq)]
enum At {
    Start,
    Bare,
    Quoted(usize),
    Closed,
}

/// The first quotation mark of a record that is not closed, is closed within its field, or opens after a blank; a mark
/// within a bare field stands for itself.
pub(super) fn stray_mark(record: &str, delimiter: u8) -> Option<(usize, &'static str)> {
    let mut state = At::Start;
    let mut blank = false;
    for (at, byte) in record.bytes().enumerate() {
        let ends = byte == delimiter || byte == b'\n' || byte == b'\r';
        state = match (state, byte) {
            (At::Quoted(_), b'"') => At::Closed,
            (At::Quoted(_), _) => state,
            (At::Closed, b'"') => At::Quoted(at),
            (_, _) if ends => At::Start,
            (At::Closed, b' ' | b'\t') => At::Closed,
            (At::Closed, _) => return Some((at, "text follows a quotation mark that closes the field")),
            (At::Start, b'"') if blank => return Some((at, "a blank stands before the quotation mark that opens the field")),
            (At::Start, b'"') => At::Quoted(at),
            (At::Start, b' ') => At::Start,
            _ => At::Bare,
        };
        blank = state == At::Start && byte == b' ';
    }
    match state {
        At::Quoted(at) => Some((at, "a quotation mark is opened here and not closed before the file ends")),
        _ => None,
    }
}

/// The fields of a line, quotation marks included.
pub(super) fn fields_of(line: &str, delimiter: u8) -> Vec<Range<usize>> {
    let (mut found, mut start, mut inside) = (Vec::new(), 0, false);
    for (at, byte) in line.bytes().enumerate() {
        if byte == b'"' && line.as_bytes().get(start) == Some(&b'"') {
            inside = !inside;
        } else if byte == delimiter && !inside {
            found.push(start..at);
            start = at + 1;
        }
    }
    found.push(start..line.len());
    found
}
