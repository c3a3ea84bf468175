//! Quotation marks as they stand in a line: where its fields lie, and a mark that does not do what its writer meant.

use std::ops::Range;

/// The text up to its first line end.
pub(super) fn first_line(text: &str) -> &str {
    &text[..memchr::memchr2(b'\n', b'\r', text.as_bytes()).unwrap_or(text.len())]
}

/// The first quotation mark of a record that is not closed, is closed within its field, or opens after a blank; a mark
/// within a bare field stands for itself.
pub(super) fn stray_mark(record: &str, delimiter: u8) -> Option<(usize, &'static str)> {
    let bytes = record.as_bytes();
    let mut field = 0;
    loop {
        let mark = field + memchr::memchr(b'"', &bytes[field..])?;
        let start = memchr::memrchr3(delimiter, b'\n', b'\r', &bytes[field..mark])
            .map_or(field, |at| field + at + 1);
        let before = &bytes[start..mark];
        if before.is_empty() {
            field = match after_quoted(bytes, delimiter, mark) {
                Ok(next) => next?,
                Err(stray) => return Some(stray),
            };
        } else if before.iter().all(|byte| *byte == b' ') {
            return Some((
                mark,
                "a blank stands before the quotation mark that opens the field",
            ));
        } else {
            field = mark + memchr::memchr3(delimiter, b'\n', b'\r', &bytes[mark..])? + 1;
        }
    }
}

/// Where the field after a quoted one begins, if there is one more.
fn after_quoted(
    bytes: &[u8],
    delimiter: u8,
    mut opened: usize,
) -> Result<Option<usize>, (usize, &'static str)> {
    loop {
        let Some(within) = memchr::memchr(b'"', &bytes[opened + 1..]) else {
            return Err((
                opened,
                "a quotation mark is opened here and not closed before the file ends",
            ));
        };
        let mut at = opened + 1 + within + 1;
        while bytes
            .get(at)
            .is_some_and(|byte| matches!(byte, b' ' | b'\t') && *byte != delimiter)
        {
            at += 1;
        }
        match bytes.get(at) {
            None => return Ok(None),
            Some(b'"') => opened = at,
            Some(byte) if *byte == delimiter || matches!(byte, b'\n' | b'\r') => {
                return Ok(Some(at + 1));
            }
            Some(_) => return Err((at, "text follows a quotation mark that closes the field")),
        }
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

/// The n-th field of a line.
pub(super) fn field_of(line: &str, delimiter: u8, index: usize) -> Option<Range<usize>> {
    if line.contains('"') {
        return fields_of(line, delimiter).get(index).cloned();
    }
    let mut ends = memchr::memchr_iter(delimiter, line.as_bytes()).chain([line.len()]);
    let start = if index == 0 {
        0
    } else {
        ends.nth(index - 1).filter(|end| *end < line.len())? + 1
    };
    ends.next().map(|end| start..end)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where a reader that takes one byte after another stands.
    #[derive(Clone, Copy, PartialEq, Eq)]
    enum At {
        Start,
        Bare,
        Quoted(usize),
        Closed,
    }

    /// The same as [`stray_mark`], byte by byte.
    fn stray_by_bytes(record: &str, delimiter: u8) -> Option<usize> {
        let (mut state, mut blank) = (At::Start, false);
        for (at, byte) in record.bytes().enumerate() {
            let ends = byte == delimiter || byte == b'\n' || byte == b'\r';
            state = match (state, byte) {
                (At::Quoted(_), b'"') => At::Closed,
                (At::Quoted(_), _) => state,
                (At::Closed, b'"') => At::Quoted(at),
                (_, _) if ends => At::Start,
                (At::Closed, b' ' | b'\t') => At::Closed,
                (At::Closed, _) => return Some(at),
                (At::Start, b'"') if blank => return Some(at),
                (At::Start, b'"') => At::Quoted(at),
                (At::Start, b' ') => At::Start,
                _ => At::Bare,
            };
            blank = state == At::Start && byte == b' ';
        }
        if let At::Quoted(at) = state {
            Some(at)
        } else {
            None
        }
    }

    /// Every text of up to five of the bytes that matter is read as it is byte by byte.
    #[test]
    fn marks_are_found_as_byte_by_byte() {
        const BYTES: [char; 6] = ['"', ',', ' ', '\t', '\n', 'x'];
        let mut texts = vec![String::new()];
        for _ in 0..5 {
            texts = texts
                .iter()
                .flat_map(|text| BYTES.map(|byte| format!("{text}{byte}")))
                .collect();
            for text in &texts {
                for delimiter in [b',', b'\t'] {
                    assert_eq!(
                        stray_mark(text, delimiter).map(|(at, _)| at),
                        stray_by_bytes(text, delimiter),
                        "{text:?}"
                    );
                }
                let fields = fields_of(text, b',');
                assert!(
                    (0..9).all(|index| field_of(text, b',', index) == fields.get(index).cloned()),
                    "{text:?}"
                );
            }
        }
    }
}
