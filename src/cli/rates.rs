//! `rates`: the rules in force, and what is missing in them.

use super::case::{refused, tables, tell, write};
use super::common_args::CommonArgs;
use super::exit::Exit;
use super::{book_files, world};
use crate::answer::rates as rules;
use crate::book::Book;
use crate::landed::{Jurisdiction, Question};
use crate::text::{Diagnostic, Problems};
use std::path::Path;

pub(super) fn rates(asked: &CommonArgs, gaps: Option<i64>) -> Exit {
    let mut problems = Problems::new();
    let Some(flags) = problems.keep(asked.settings().map_err(Diagnostic::error)) else {
        return refused(problems);
    };
    let in_book = asked.of.book != "." || Path::new("parts.csv").is_file();
    let files = if in_book {
        book_files::book(&asked.of.book, &mut problems)
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
            write(&rules(&jurisdiction, &ask, gaps, asked.shape()), asked)
        }
        Err(more) => {
            problems.extend(more);
            refused(problems)
        }
    }
}
