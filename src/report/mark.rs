//! The mark that every file of a report carries, so that a later report may take its place and no other file is taken for one.

use std::path::Path;

/// What stands in the page and in the pictures.
pub(super) const MADE_BY: &str = "landwaiter";

/// What stands at the end of a text.
pub(super) const LAST_LINE: &str = "Reckoned with landwaiter.\n";

/// The comment at the end of a workbook, which is a ZIP archive. Programs that save the workbook again drop it: then it holds
/// somebody's own work.
const ARCHIVE: &[u8] = b"Made by landwaiter";

/// The header with which a file of bad lines begins.
pub const BAD_LINES: &str = "line,reason,";

/// Whether a report made this file; `name` says by its ending what kind of file it is.
pub fn made_here(name: &str, bytes: &[u8]) -> bool {
    let holds = |text: &str| memchr::memmem::find(bytes, text.as_bytes()).is_some();
    let ending = Path::new(name).extension().map(|ending| ending.to_string_lossy().to_lowercase()).unwrap_or_default();
    match ending.as_str() {
        "html" | "htm" => holds(&format!("<meta name=\"generator\" content=\"{MADE_BY}\">")),
        "svg" => holds(&format!("<metadata>{MADE_BY}</metadata>")),
        "png" => memchr::memmem::find(bytes, &software()).is_some(),
        "xlsx" => bytes.ends_with(ARCHIVE),
        "txt" => bytes.ends_with(LAST_LINE.as_bytes()),
        _ => false,
    }
}

/// Whether `bulk` made this file of bad lines.
pub fn is_bad_lines(_: &str, bytes: &[u8]) -> bool {
    bytes.starts_with(BAD_LINES.as_bytes())
}

/// A workbook with the mark: a comment behind the end of the archive, its length in the two bytes before.
#[cfg(feature = "pages")]
pub(super) fn mark_workbook(mut bytes: Vec<u8>) -> Vec<u8> {
    let length = u16::try_from(ARCHIVE.len()).unwrap_or(0).to_le_bytes();
    if bytes.ends_with(&[0, 0]) {
        bytes.truncate(bytes.len() - 2);
        bytes.extend(length);
        bytes.extend(ARCHIVE);
    }
    bytes
}

/// A PNG with the mark: a chunk of text behind the first chunk, which is always of the same length.
#[cfg(feature = "pages")]
pub(super) fn mark_png(mut bytes: Vec<u8>) -> Vec<u8> {
    const HEAD: usize = 8 + 4 + 4 + 13 + 4;
    if bytes.len() > HEAD {
        let mut chunk = Vec::new();
        let software = software();
        chunk.extend(u32::try_from(software.len() - 4).unwrap_or(0).to_be_bytes());
        chunk.extend(&software);
        chunk.extend(check_sum(&software).to_be_bytes());
        bytes.splice(HEAD..HEAD, chunk);
    }
    bytes
}

/// The kind and the text of the chunk.
fn software() -> Vec<u8> {
    format!("tEXtSoftware\0{MADE_BY}").into_bytes()
}

/// The check sum of PNG and ZIP: CRC-32 (ISO/IEC 15948, annex D).
pub fn check_sum(bytes: &[u8]) -> u32 {
    let step = |sum: u32| if sum & 1 == 1 { (sum >> 1) ^ 0xEDB8_8320 } else { sum >> 1 };
    !bytes.iter().fold(u32::MAX, |sum, byte| (0..8).fold(sum ^ u32::from(*byte), |sum, _| step(sum)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The check value that publications of CRC-32 give for the nine digits.
    #[test]
    fn the_check_sum_is_the_published_one() {
        assert_eq!(check_sum(b"123456789"), 0xCBF4_3926);
    }

    #[test]
    fn a_file_without_the_mark_or_of_another_kind_is_not_ours() {
        assert!(made_here("words.txt", b"On a day.\nReckoned with landwaiter.\n"));
        for (name, text) in [
            ("words.txt", "On a day.\n"),
            ("words.txt", "Reckoned with landwaiter.\nMy own words.\n"),
            ("page.html", "Reckoned with landwaiter.\n"),
            ("page.html", "<p>landwaiter</p>"),
            ("book.xlsx", "PK"),
            ("notes", "Reckoned with landwaiter.\n"),
        ] {
            assert!(!made_here(name, text.as_bytes()), "{name}: {text}");
        }
    }
}
