//! `rates`: the rules in force, and what is missing in them.

use super::args::{Asked, Format};
use super::case::{Answer, refused, tables, tell, write};
use super::exit::Exit;
use super::{files, world};
use crate::book::Book;
use crate::landed::{Ask, Desk};
use crate::report::{self};
use crate::text::{Diagnostic, Problems};
use std::path::Path;

pub(super) fn rates(asked: &Asked, gaps: Option<i64>, more: bool) -> Exit {
    let mut problems = Problems::new();
    let Some(flags) = problems.keep(asked.settings().map_err(Diagnostic::error)) else {
        return refused(problems);
    };
    let in_book = asked.book != "." || Path::new("parts.csv").is_file();
    let files = if in_book {
        files::book(&asked.book, &mut problems)
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
        .keep(Ask::new(&settings, world::today()))
        .filter(|_| !problems.refuse())
    else {
        return refused(problems);
    };
    match Desk::open(&tables, &ask) {
        Ok(desk) => {
            problems.also(&desk.warnings);
            tell(problems);
            // a program reads rows: its formats have them all
            let more = more || asked.format != Format::Table;
            write(&told(&desk, &ask, gaps, more), asked.format)
        }
        Err(more) => {
            problems.extend(more);
            refused(problems)
        }
    }
}

/// What the tables hold, or what is missing in them and older than so many days.
fn told(desk: &Desk<'_>, ask: &Ask, gaps: Option<i64>, more: bool) -> Answer {
    match gaps {
        Some(older_than) => {
            let gaps = crate::landed::gaps(desk, older_than);
            Answer {
                view: report::gaps_view(&gaps, ask),
                json: report::gaps_json(&gaps, ask),
            }
        }
        None => Answer {
            view: report::rates_view(desk, ask, more),
            json: report::rates_json(desk, ask),
        },
    }
}
