//! All that `check` asks of a build's places and joints, at once.

use super::{bench, fit, pieces, slips};
use crate::book::{Book, Part};
use crate::landed::Desk;
use crate::text::{Problems, Severity};

/// Looks at the places and the joints of a book's build: problems go to the list, holes are returned.
pub fn check(book: &Book, desk: &Desk<'_>, problems: &mut Problems) -> bench::Findings {
    let findings = bench::check(book, desk, problems);
    let rows: Vec<&Part> = bench::build_rows(book, desk, false);
    fit::check(&rows, desk, problems);
    let build: Vec<&Part> = book.build().collect();
    pieces::ask(book, desk, problems);
    slips::ask(book, &bench::Bench::lay(&build, desk), desk, problems);
    findings
}

/// What refuses a book whatever is asked of it: places filled twice, and parts that do not fit. Every command that reckons a
/// build asks, so that all of them and `check` end alike.
pub fn refusals(book: &Book, desk: &Desk<'_>) -> Problems {
    let mut met = Problems::new();
    check(book, desk, &mut met);
    let mut refusals = Problems::new();
    met.iter().filter(|problem| problem.severity == Severity::Error).for_each(|problem| refusals.push(problem.clone()));
    refusals
}
