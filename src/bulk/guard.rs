//! Cells of a list that a spreadsheet would take for formulas, and characters that are not seen, made harmless in what is
//! written. A block of ordinary lines is known by its bytes alone, and costs one look.

use std::borrow::Cow;

use crate::text::{begins_formula, guarded_within, is_number, is_unseen, visible};

/// Whether some cell of these lines may have to be guarded: bytes beyond printable ASCII, or the beginning of a formula at the
/// beginning of a cell. Without branches, so that it keeps pace with memory.
#[expect(
    clippy::needless_bitwise_bool,
    reason = "without branches the loop takes many bytes at once"
)]
pub(crate) fn may_need_guard(bytes: &[u8]) -> bool {
    let starts = |byte: u8| (byte == b'=') | (byte == b'+') | (byte == b'-') | (byte == b'@');
    let strange = |byte: u8| ((byte < b' ') & (byte != b'\n')) | (byte > b'~');
    let opens = |byte: u8| {
        (byte == b',') | (byte == b'\n') | (byte == b'"') | (byte == b' ') | (byte == b';')
    };
    let first = bytes
        .first()
        .is_some_and(|byte| starts(*byte) | strange(*byte));
    let pairs = bytes.iter().zip(bytes.get(1..).unwrap_or_default());
    pairs.fold(first, |found, (before, byte)| {
        found | strange(*byte) | (opens(*before) & starts(*byte))
    })
}

/// A line with its formulas and its unseen characters made harmless; line ends stay, and bytes that are no text.
pub(crate) fn guarded(line: &[u8]) -> Cow<'_, [u8]> {
    if !may_need_guard(line) {
        return Cow::Borrowed(line);
    }
    let mut out = Vec::with_capacity(line.len() + 8);
    let mut at = 0;
    loop {
        let end = cell_end(line, at);
        cell(line.get(at..end).unwrap_or_default(), &mut out);
        if end >= line.len() {
            return Cow::Owned(out);
        }
        out.push(b',');
        at = end + 1;
    }
}

/// Where the cell that begins here ends: at a comma outside quotation marks, or with the line.
fn cell_end(line: &[u8], at: usize) -> usize {
    let mut inside = false;
    let opened = line.get(at) == Some(&b'"');
    let rest = line.iter().enumerate().skip(at);
    for (place, byte) in rest {
        match byte {
            b'"' if opened => inside = !inside,
            b',' if !inside => return place,
            _ => {}
        }
    }
    line.len()
}

/// Writes one cell, quotation marks and all.
fn cell(raw: &[u8], out: &mut Vec<u8>) {
    let text = raw.strip_prefix(b"\"").unwrap_or(raw);
    if text.len() < raw.len() {
        out.push(b'"');
    }
    // what stands before the first byte that is no text says how the cell begins
    let known = text.utf8_chunks().next().map_or("", |chunk| chunk.valid());
    let first = known.split(';').next().unwrap_or_default();
    if text.starts_with(b"\t")
        || text.starts_with(b"\r")
        || (begins_formula(known) && !is_number(first))
    {
        out.push(b'\'');
    }
    for chunk in text.utf8_chunks() {
        // line ends within a cell are its own, and stay as they are
        let text = chunk.valid();
        let lines: Vec<_> = if text.chars().any(is_unseen) {
            text.split("\r\n").map(visible).collect()
        } else {
            vec![text.into()]
        };
        out.extend_from_slice(guarded_within(&lines.join("\r\n")).as_bytes());
        out.extend_from_slice(chunk.invalid());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formulas_are_guarded_and_numbers_are_not() {
        for (line, safe) in [
            ("Birch,12.50,=1+1", "Birch,12.50,'=1+1"),
            ("=cmd()|1!A1,-5,+3.5", "'=cmd()|1!A1,-5,+3.5"),
            ("\"=SUM(1,2)\",\"a,=b\",@x", "\"'=SUM(1,2)\",\"a,=b\",'@x"),
            ("-5.00.1,-,+49 1", "'-5.00.1,'-,'+49 1"),
            ("Größe,a-b, =x", "Größe,a-b,' =x"),
            (
                "a\u{202e}b,\"two\r\nlines\"",
                "a\\u{202e}b,\"two\r\nlines\"",
            ),
            ("\tx,\u{1b}[2J", "'\\tx,\\u{1b}[2J"),
            ("2026-09-23,Birch & Co,12", "2026-09-23,Birch & Co,12"),
            ("＝1+1,a＝b, ＋1", "'＝1+1,a＝b,' ＋1"),
            (
                "－5,＠x,\u{3000}=x,\u{a0}=x",
                "'－5,'＠x,'\u{3000}=x,'\u{a0}=x",
            ),
            ("\t=x,\"\r=x\", \t-y", "'\\t=x,\"'\\r=x\",' \\t-y"),
            // a program that parts cells by semicolons would find a formula behind one, whatever the quotation marks say
            (
                "Birch;=1+1,\"x; @y\",8;-5,;-z",
                "Birch;'=1+1,\"x;' @y\",8;-5,;'-z",
            ),
            ("-5;=x,\"two\r\n=lines\"", "-5;'=x,\"two\r\n'=lines\""),
            ("\"\"=x, \"=y\"", "\"'\"=x,' \"=y\""),
        ] {
            assert_eq!(String::from_utf8_lossy(&guarded(line.as_bytes())), safe);
        }
        assert_eq!(guarded(b"\xff,=1"), &b"\xff,'=1"[..]);
        assert_eq!(guarded(b"\xff;=1,=\xff"), &b"\xff;'=1,'=\xff"[..]);
    }

    #[test]
    fn an_ordinary_block_is_known_at_once() {
        assert!(!may_need_guard(
            b"2026-09-23,Birch,12.50\n2026-09-24,Kelp-Wood,3\n"
        ));
        for strange in [
            "=1\n",
            "a,=1\n",
            "a;=1\n",
            "a\n@b\n",
            "a,\u{e9}\n",
            "a\tb\n",
            "a, -b\n",
        ] {
            assert!(may_need_guard(strange.as_bytes()), "{strange}");
        }
    }
}
