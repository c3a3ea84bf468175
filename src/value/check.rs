//! All that `check` asks of a build's places and joints, at once.

use super::bike::{as_order, is_abroad};
use super::{bench, fit, pieces, scale, slips};
use crate::book::{Book, Part};
use crate::landed::{Jurisdiction, check_places, check_schedules};
use crate::text::{Problems, Severity};

/// Looks at the places and the joints of a book's build: problems go to the list, holes are returned.
pub(crate) fn check(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    problems: &mut Problems,
) -> bench::Findings {
    check_places(book, jurisdiction, problems);
    schedules(book, jurisdiction, problems);
    unknown_choices(jurisdiction, problems);
    let findings = bench::check(book, jurisdiction, problems);
    let rows: Vec<&Part> = bench::build_rows(book, jurisdiction, false);
    fit::check(&rows, jurisdiction, problems);
    let build: Vec<&Part> = book.build().collect();
    pieces::ask(book, jurisdiction, problems);
    scale::ask(book, problems);
    slips::ask(
        book,
        &bench::Bench::lay(&build, jurisdiction),
        jurisdiction,
        problems,
    );
    findings
}

/// Freight schedules that no table has: of the parcels of every row, on the bike or not, and of bikes from abroad.
fn schedules(book: &Book, jurisdiction: &Jurisdiction<'_>, problems: &mut Problems) {
    let rows: Vec<&Part> = book.parts.iter().collect();
    check_schedules(book, &rows, jurisdiction, problems);
    let abroad = book
        .bikes
        .iter()
        .filter(|bike| is_abroad(bike, book, jurisdiction));
    for order in abroad.filter_map(|bike| as_order(bike, book, jurisdiction)) {
        check_schedules(
            &order,
            &order.parts.iter().collect::<Vec<_>>(),
            jurisdiction,
            problems,
        );
    }
}

/// Choices that no rule asks for, and values that none asks about: they change nothing.
fn unknown_choices(jurisdiction: &Jurisdiction<'_>, problems: &mut Problems) {
    for unknown in jurisdiction.unknown_choices() {
        problems.push(unknown.problem(Severity::Warning));
    }
}

/// What refuses a book whatever is asked of it: places filled twice, and parts that do not fit. Every command that calculates a
/// build asks, so that all of them and `check` end alike.
pub(crate) fn refusals(book: &Book, jurisdiction: &Jurisdiction<'_>) -> Problems {
    let mut met = Problems::new();
    check(book, jurisdiction, &mut met);
    let mut refusals = Problems::new();
    met.iter()
        .filter(|problem| problem.severity == Severity::Error)
        .for_each(|problem| refusals.push(problem.clone()));
    refusals
}
