//! The mark that every file of a report carries, so that a later report may take its place and no other file is taken for one.
//!
//! A mark ends in a check sum of the rest of the file: where it no longer agrees, somebody has put work of their own into the file.

use std::path::Path;

use crate::text::check_sum::sum_of;

/// What stands in the page and in the pictures: digits for the check sum, until the file is whole.
pub(super) const MADE_BY: &str = "landwaiter 00000000";

/// What stands before the check sum in a page, in a picture, and in the last line of a text.
const PAGE: &[u8] = b"<meta name=\"generator\" content=\"landwaiter ";
const PICTURE: &[u8] = b"<metadata>landwaiter ";
const LAST_LINE: &[u8] = b"Reckoned with landwaiter (check sum ";

/// The kind and the text of a chunk of a PNG, before the check sum. Behind that the chunk has a sum of its own.
const CHUNK: &[u8] = b"tEXtSoftware\0landwaiter ";

/// The comment at the end of a workbook, which is a ZIP archive, before the check sum. Programs that save the workbook again drop
/// it: then it holds somebody's own work.
const ARCHIVE: &[u8] = b"Made by landwaiter ";

/// Digits of a check sum.
const DIGITS: usize = 8;

/// The header with which a file of bad lines begins.
pub(crate) const BAD_LINES: &str = "line,reason,";

/// Whether a report made this file, and nobody changed it since; `name` says by its ending what kind of file it is.
pub(crate) fn made_here(name: &str, bytes: &[u8]) -> bool {
    let ending = Path::new(name)
        .extension()
        .map(|ending| ending.to_string_lossy().to_lowercase())
        .unwrap_or_default();
    let (before, length) = match ending.as_str() {
        "html" | "htm" => (PAGE, DIGITS),
        "svg" => (PICTURE, DIGITS),
        "png" => (CHUNK, DIGITS + 4),
        "xlsx" => (ARCHIVE, DIGITS),
        "txt" => (LAST_LINE, DIGITS),
        _ => return false,
    };
    let Some(at) = place_of_sum(bytes, before) else {
        return false;
    };
    bytes.get(at..at + DIGITS) == Some(digits_without(bytes, at, length).as_slice())
}

/// Where the check sum of a file begins: behind the first mark in a page or a picture, which both name nothing before, and behind
/// the last in others.
fn place_of_sum(bytes: &[u8], before: &[u8]) -> Option<usize> {
    let last = [ARCHIVE, LAST_LINE].contains(&before);
    let at = if last {
        memchr::memmem::rfind(bytes, before)
    } else {
        memchr::memmem::find(bytes, before)
    };
    at.map(|at| at + before.len())
}

/// The digits of the check sum of a file without the `length` bytes at this place.
fn digits_without(bytes: &[u8], at: usize, length: usize) -> Vec<u8> {
    let (before, after) = (
        bytes.get(..at).unwrap_or_default(),
        bytes.get(at + length..).unwrap_or_default(),
    );
    format!("{:08x}", sum_of(before.iter().chain(after))).into_bytes()
}

/// A page or a picture with its check sum in its mark.
fn sealed(mut text: String, before: &[u8]) -> String {
    if let Some(at) = place_of_sum(text.as_bytes(), before) {
        let digits = digits_without(text.as_bytes(), at, DIGITS);
        text.replace_range(at..at + DIGITS, &String::from_utf8_lossy(&digits));
    }
    text
}

/// A page with its check sum.
pub(super) fn seal_page(text: String) -> String {
    sealed(text, PAGE)
}

/// A picture with its check sum.
pub(super) fn seal_picture(text: String) -> String {
    sealed(text, PICTURE)
}

/// A text with the mark as its last line.
pub(super) fn mark_text(text: &str) -> String {
    sealed(
        format!("{text}{}00000000).\n", String::from_utf8_lossy(LAST_LINE)),
        LAST_LINE,
    )
}

/// Whether `bulk` made this file of bad lines.
pub(crate) fn is_bad_lines(_: &str, bytes: &[u8]) -> bool {
    bytes.starts_with(BAD_LINES.as_bytes())
}

/// A workbook with the mark: a comment behind the end of the archive, its length in the two bytes before.
#[cfg(feature = "pages")]
pub(super) fn mark_workbook(mut bytes: Vec<u8>) -> Vec<u8> {
    let length = u16::try_from(ARCHIVE.len() + DIGITS)
        .unwrap_or(0)
        .to_le_bytes();
    if bytes.ends_with(&[0, 0]) {
        bytes.truncate(bytes.len() - 2);
        bytes.extend(length);
        bytes.extend(ARCHIVE);
        bytes.extend(digits_without(&bytes, bytes.len(), 0));
    }
    bytes
}

/// A PNG with the mark: a chunk of text behind the first chunk, which is always of the same length.
#[cfg(feature = "pages")]
pub(super) fn mark_png(mut bytes: Vec<u8>) -> Vec<u8> {
    const HEAD: usize = 8 + 4 + 4 + 13 + 4;
    if bytes.len() > HEAD {
        let length = u32::try_from(CHUNK.len() + DIGITS - 4)
            .unwrap_or(0)
            .to_be_bytes();
        bytes.splice(HEAD..HEAD, length.into_iter().chain(CHUNK.iter().copied()));
        let at = HEAD + length.len() + CHUNK.len();
        let digits = digits_without(&bytes, at, 0);
        let sum = sum_of(CHUNK.iter().chain(&digits)).to_be_bytes();
        bytes.splice(at..at, digits.into_iter().chain(sum));
    }
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_without_the_mark_or_of_another_kind_is_not_ours() {
        let words = mark_text("On a day.\n");
        assert!(made_here("words.txt", words.as_bytes()), "{words}");
        for (name, text) in [
            ("words.txt", "On a day.\n"),
            ("words.txt", "On a day.\nReckoned with landwaiter.\n"),
            (
                "words.txt",
                "On a day.\nReckoned with landwaiter (check sum ",
            ),
            ("words.txt", &format!("{words}My own words.\n")),
            ("words.txt", &format!("My own words.\n{words}")),
            ("words.txt", &words.replace("day", "way")),
            ("page.html", &words),
            ("page.html", "<p>landwaiter</p>"),
            ("book.xlsx", "PK"),
            ("notes", &words),
        ] {
            assert!(!made_here(name, text.as_bytes()), "{name}: {text}");
        }
    }

    /// One letter of each kind of file changed, somewhere before the mark and somewhere behind it, and it is no file of ours.
    #[test]
    fn a_file_that_was_changed_is_no_longer_ours() {
        let page = format!("<p>a</p><meta name=\"generator\" content=\"{MADE_BY}\"><p>b</p>");
        let picture = format!("<svg><title>a</title><metadata>{MADE_BY}</metadata>b</svg>");
        #[allow(unused_mut, reason = "without pages there are two kinds fewer")]
        let mut files = vec![
            ("p.html", seal_page(page).into_bytes()),
            ("p.svg", seal_picture(picture).into_bytes()),
        ];
        #[cfg(feature = "pages")]
        files.extend([
            ("p.png", mark_png(vec![b'a'; 60])),
            ("p.xlsx", mark_workbook(b"PK a\0\0".to_vec())),
        ]);
        for (name, bytes) in files {
            assert!(
                made_here(name, &bytes),
                "{name}: {}",
                String::from_utf8_lossy(&bytes)
            );
            for at in [3, bytes.len() - 1] {
                let mut changed = bytes.clone();
                changed[at] ^= 1;
                assert!(!made_here(name, &changed), "{name} at {at}");
            }
        }
    }
}
