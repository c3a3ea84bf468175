//! A book, its tables and the question: read out of what a door has found, and complete.

use std::borrow::Cow;

use crate::book::{Book, BookFile, Settings};
use crate::landed::{Jurisdiction, Question, cost_at, lost_apart};
use crate::report::Show;
use crate::tables::{File, Tables, Use};
use crate::text::{Diagnostic, Problems, Severity};
use crate::units::{Currency, Date};

/// A book, its tables and the question, read and complete.
pub(crate) struct Case {
    pub(crate) book: Book,
    pub(crate) tables: Tables,
    pub(crate) ask: Question,
    /// The day on which it is asked.
    pub(crate) today: Date,
}

/// What a case is read from.
pub(crate) struct Input<'a> {
    /// The tables of the book, under the names that are to be shown.
    pub(crate) files: &'a [BookFile],
    /// The settings that were asked for, which go before those of the book.
    pub(crate) flags: Settings,
    pub(crate) today: Date,
}

/// Reads everything a command needs, and keeps every problem it meets; `own` finds the files of one's own rules for the book.
pub(crate) fn read(
    input: Input<'_>,
    own: impl FnOnce(&Book, &mut Problems) -> Vec<File>,
    problems: &mut Problems,
) -> Option<Case> {
    let book = Book::read(input.files, problems);
    let tables = Tables::load(own(&book, problems), problems);
    let mut settings = book.settings.clone();
    settings.overlay(input.flags);
    let ask = problems.keep(Question::new(&settings, input.today))?;
    // What is lost or went back is out of the build before anything looks at it.
    let jurisdiction = if book.receipts.is_empty() {
        None
    } else {
        Jurisdiction::open(&tables, &ask).ok()
    };
    let lost = jurisdiction.and_then(|jurisdiction| match lost_apart(&book, &jurisdiction) {
        Cow::Owned(book) => Some(book),
        Cow::Borrowed(_) => None,
    });
    Some(Case {
        book: lost.unwrap_or(book),
        tables,
        ask,
        today: input.today,
    })
}

/// Opens the jurisdiction. Where a row of `destinations.csv` could not be read, that there are no rules for a destination which has no row is
/// no second problem.
pub(crate) fn open<'c>(case: &'c Case, problems: &mut Problems) -> Option<Jurisdiction<'c>> {
    let Case { tables, ask, .. } = case;
    let unread = |problem: &Diagnostic| {
        let there = problem
            .place
            .as_ref()
            .is_some_and(|place| place.path.ends_with("destinations.csv"));
        there && problem.severity == Severity::Error
    };
    match Jurisdiction::open(tables, ask) {
        Ok(jurisdiction) => Some(jurisdiction),
        Err(_) if tables.destination(ask.to, ask.date).is_none() && problems.iter().any(unread) => {
            None
        }
        Err(more) => {
            problems.extend(more);
            None
        }
    }
}

/// Whether the build is one: what `check` refuses every command refuses, beside all else that it finds.
pub(crate) fn sound(case: &Case, jurisdiction: &Jurisdiction<'_>) -> Result<(), Problems> {
    let mut problems = crate::value::refusals(&case.book, jurisdiction);
    if !problems.refuse() {
        return Ok(());
    }
    if let Err(more) = cost_at(&case.book, jurisdiction) {
        problems.extend(more);
    }
    Err(problems.sorted())
}

/// How amounts are shown: in the currency that was asked for, else in the destination's own.
pub(crate) fn show(case: &Case, own: Currency) -> Result<Show, Problems> {
    let currency = case.ask.shown.unwrap_or(own);
    let mut problems = Problems::new();
    let found = case
        .tables
        .exchange
        .quote(Use::Market, own, currency, case.ask.date)?;
    match found {
        Some(quote) => {
            let destination = case.tables.destination(case.ask.to, case.ask.date);
            Ok(Show {
                currency,
                rate: quote.rate,
                tax: destination.map(|row| row.rule.tax_name).unwrap_or_default(),
            })
        }
        None => {
            problems.push(crate::landed::no_rate(own, currency, case.ask.date));
            Err(problems)
        }
    }
}
