//! All that `check` asks of a build's places and joints, at once.

use super::{bench, fit};
use crate::book::{Book, Part};
use crate::landed::Desk;
use crate::text::Problems;

/// Looks at the places and the joints of a book's build: problems go to the list, holes are returned.
pub fn check(book: &Book, desk: &Desk<'_>, problems: &mut Problems) -> bench::Findings {
    let findings = bench::check(book, desk, problems);
    let rows: Vec<&Part> = bench::build_rows(book, desk, false);
    fit::check(&rows, desk, problems);
    findings
}
