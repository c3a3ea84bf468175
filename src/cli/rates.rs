//! `rates`: the rules in force, and what is missing in them.

use super::args::{CommonArgs, Format};
use super::case::{Answer, refused, tables, tell, write};
use super::exit::Exit;
use super::{book_files, world};
use crate::book::Book;
use crate::landed::{Jurisdiction, Question};
use crate::report::{self, Listing};
use crate::text::{Diagnostic, Problems};
use std::path::Path;

pub(super) fn rates(asked: &CommonArgs, gaps: Option<i64>) -> Exit {
    let mut problems = Problems::new();
    let Some(flags) = problems.keep(asked.settings().map_err(Diagnostic::error)) else {
        return refused(problems);
    };
    let in_book = asked.book != "." || Path::new("parts.csv").is_file();
    let files = if in_book {
        book_files::book(&asked.book, &mut problems)
    } else {
        Vec::new()
    };
    if problems.refuse() {
        return refused(problems);
    }
    let book = if in_book {
        Book::read(&files, &mut problems)
    } else {
        Book::default()
    };
    let tables = tables(asked, &book, &files, &mut problems);
    let mut settings = book.settings.clone();
    settings.overlay(flags);
    let Some(ask) = problems
        .keep(Question::new(&settings, world::today()))
        .filter(|_| !problems.refuse())
    else {
        return refused(problems);
    };
    match Jurisdiction::open(&tables, &ask) {
        Ok(jurisdiction) => {
            problems.also(&jurisdiction.warnings);
            tell(problems);
            write(&told(&jurisdiction, &ask, gaps, asked), asked)
        }
        Err(more) => {
            problems.extend(more);
            refused(problems)
        }
    }
}

/// What the tables hold, or what is missing in them and what is older than a number of days.
fn told(
    jurisdiction: &Jurisdiction<'_>,
    ask: &Question,
    gaps: Option<i64>,
    asked: &CommonArgs,
) -> Answer {
    match gaps {
        Some(older_than) => {
            let gaps = crate::landed::gaps(jurisdiction, older_than);
            Answer {
                view: report::gaps_view(&gaps, ask, listing(asked)),
                json: report::gaps_json(&gaps, ask),
            }
        }
        None => Answer {
            view: report::rates_view(jurisdiction, ask, listing(asked)),
            json: report::rates_json(jurisdiction, ask),
        },
    }
}

/// How much is shown. A program reads rows: its formats have them all, and only them.
fn listing(asked: &CommonArgs) -> Listing {
    match (asked.format == Format::Table, asked.trail, asked.more) {
        (false, ..) => Listing::Table,
        (true, true, _) => Listing::WithPlaces,
        (true, false, true) => Listing::Rows,
        (true, false, false) => Listing::Summary,
    }
}
