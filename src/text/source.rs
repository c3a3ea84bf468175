//! Bytes to text: UTF-8 and UTF-16, with or without a byte-order mark.

use std::sync::Arc;

use super::diagnostic::{Diagnostic, Location};

/// Decodes a file; the error names the line where it stops being text.
pub(crate) fn decode(path: &str, bytes: &[u8]) -> Result<String, Diagnostic> {
    match bytes {
        [0xEF, 0xBB, 0xBF, rest @ ..] => utf8(path, rest),
        [0xFF, 0xFE, rest @ ..] => utf16(path, rest, u16::from_le_bytes),
        [0xFE, 0xFF, rest @ ..] => utf16(path, rest, u16::from_be_bytes),
        [first, 0, ..] if *first != 0 => utf16(path, bytes, u16::from_le_bytes),
        [0, second, ..] if *second != 0 => utf16(path, bytes, u16::from_be_bytes),
        _ => utf8(path, bytes),
    }
}

/// A text as bytes in the manner of a file that it is added to: UTF-8, or UTF-16 of the file's byte order.
pub(crate) fn encode_like(file: &[u8], text: &str) -> Vec<u8> {
    let wide = |write: fn(u16) -> [u8; 2]| text.encode_utf16().flat_map(write).collect();
    match file {
        [0xFF, 0xFE, ..] => wide(u16::to_le_bytes),
        [0xFE, 0xFF, ..] => wide(u16::to_be_bytes),
        [first, 0, ..] if *first != 0 => wide(u16::to_le_bytes),
        [0, second, ..] if *second != 0 => wide(u16::to_be_bytes),
        _ => text.as_bytes().to_vec(),
    }
}

fn utf8(path: &str, bytes: &[u8]) -> Result<String, Diagnostic> {
    let refused = |at: usize| not_text(path, bytes, at);
    let text = std::str::from_utf8(bytes).map_err(|error| refused(error.valid_up_to()))?;
    match text.find('\0') {
        Some(at) => Err(refused(at)),
        None => Ok(text.to_owned()),
    }
}

fn not_text(path: &str, bytes: &[u8], at: usize) -> Diagnostic {
    let before = &bytes[..at];
    let line = line_ends(before) + 1;
    let start = before
        .iter()
        .rposition(|b| matches!(b, b'\n' | b'\r'))
        .map_or(0, |n| n + 1);
    let byte = bytes.get(at).copied().unwrap_or(0);
    let mut place = Location::line(Arc::from(path), line);
    place.characters_before = String::from_utf8_lossy(&bytes[start..at]).chars().count();
    Diagnostic::error(format!(
        "byte {} of the line is 0x{byte:02x}: expected text in UTF-8",
        at - start + 1
    ))
    .at(place)
    .help("save the file as UTF-8")
}

/// Line ends in a piece of a file; CRLF is one.
pub(super) fn line_ends(bytes: &[u8]) -> usize {
    (0..bytes.len())
        .filter(|&i| bytes[i] == b'\n' || (bytes[i] == b'\r' && bytes.get(i + 1) != Some(&b'\n')))
        .count()
}

fn utf16(path: &str, bytes: &[u8], read: fn([u8; 2]) -> u16) -> Result<String, Diagnostic> {
    let units = bytes.chunks_exact(2).map(|pair| read([pair[0], pair[1]]));
    let text: Result<String, _> = char::decode_utf16(units).collect();
    let whole = bytes.len().is_multiple_of(2);
    text.ok()
        .filter(|text| whole && !text.contains('\0'))
        .map(|t| t.trim_start_matches('\u{feff}').to_owned())
        .ok_or_else(|| {
            Diagnostic::error("the file begins like UTF-16 and does not go on like it")
                .at(Location::line(Arc::from(path), 1))
                .help("save the file as UTF-8")
        })
}
