//! A book, its tables and the question, read; the answer and the problems, told.

use super::args::{Asked, Format};
use super::exit::Exit;
use super::{files, world};
use crate::book::{Book, BookFile};
use crate::landed::{Ask, Bill, Desk};
use crate::report::{self, Show, View};
use crate::tables::Tables;
use crate::text::{Diagnostic, Problems, draw};
use crate::units::Currency;
use std::path::{Path, PathBuf};

/// What a command answers with: a view, and the same for programs.
pub(super) struct Answer {
    pub(super) view: View,
    pub(super) json: serde_json::Value,
}

impl Answer {
    /// With the trails of these bills, where they were asked for.
    pub(super) fn with_trails(mut self, asked: &Asked, bills: &[Bill], show: &Show) -> Answer {
        if asked.trail {
            report::add_trails(bills, show, &mut self.view, &mut self.json);
        }
        self
    }
}

/// A book, its tables and the question, read and complete.
pub(super) struct Case {
    pub(super) book: Book,
    pub(super) tables: Tables,
    pub(super) ask: Ask,
}

pub(super) type Answered = Result<Answer, Problems>;

/// Reads everything a command needs, and keeps every problem it meets.
pub(super) fn read(asked: &Asked, problems: &mut Problems) -> Option<Case> {
    asked.settings().map_err(|error| problems.push(Diagnostic::error(error))).ok()?;
    let files = files::book(&asked.book, problems);
    if problems.refuse() {
        return None;
    }
    read_files(asked, &files, problems)
}

/// The same of a book whose files are at hand.
pub(super) fn read_files(asked: &Asked, files: &[BookFile], problems: &mut Problems) -> Option<Case> {
    let flags = asked.settings().map_err(|error| problems.push(Diagnostic::error(error))).ok()?;
    let book = Book::read(files, problems);
    let tables = tables(asked, &book, files, problems);
    let mut settings = book.settings.clone();
    settings.overlay(flags);
    let ask = problems.keep(Ask::new(&settings, world::today()))?;
    Some(Case { book, tables, ask })
}

pub(super) fn tables(asked: &Asked, book: &Book, files: &[BookFile], problems: &mut Problems) -> Tables {
    let own: Option<PathBuf> = match (&asked.rates, &book.settings.rates) {
        (Some(flag), _) => Some(PathBuf::from(flag)),
        (None, Some(setting)) => Some(beside(files, setting)),
        (None, None) => {
            files::unnamed_rates(&asked.book, problems);
            None
        }
    };
    let users = own.map(|path| files::rates(&path, problems)).unwrap_or_default();
    Tables::load(users, problems)
}

/// A folder named in `settings.csv` is taken from where that file stands.
fn beside(files: &[BookFile], folder: &str) -> PathBuf {
    let settings = files.iter().find(|f| f.table == "settings").map(|f| Path::new(&f.path));
    settings.and_then(Path::parent).map_or_else(|| PathBuf::from(folder), |parent| parent.join(folder))
}

/// Reads, answers, and writes; problems go to standard error.
pub(super) fn answer(asked: &Asked, question: impl Fn(&Case, &Desk<'_>, &Asked) -> Answered) -> Exit {
    let mut problems = Problems::new();
    let case = read(asked, &mut problems).filter(|_| !problems.refuse());
    let Some(case) = case else { return refused(problems) };
    let answered = Desk::open(&case.tables, &case.ask).and_then(|desk| {
        desk.warnings.iter().for_each(|warning| problems.push(warning.clone()));
        sound(&case, &desk)?;
        question(&case, &desk, asked)
    });
    match answered {
        Ok(answer) => {
            tell(problems);
            write(&answer, asked.format)
        }
        Err(more) => {
            problems.extend(more);
            refused(problems)
        }
    }
}

/// Whether the build is one: what `check` refuses every command refuses, beside all else that it finds.
pub(super) fn sound(case: &Case, desk: &Desk<'_>) -> Result<(), Problems> {
    let mut problems = crate::value::refusals(&case.book, desk);
    if !problems.refuse() {
        return Ok(());
    }
    if let Err(more) = crate::landed::cost_at(&case.book, desk) {
        problems.extend(more);
    }
    Err(problems.sorted())
}

pub(super) fn refused(problems: Problems) -> Exit {
    tell(problems);
    Exit::Refused
}

pub(super) fn tell(problems: Problems) {
    if !problems.is_empty() {
        world::complain(&draw(&problems.sorted(), world::colour_err()));
    }
}

pub(super) fn write(answer: &Answer, format: Format) -> Exit {
    world::print(&match format {
        Format::Table => report::text(&answer.view, world::colour_out()),
        Format::Markdown => report::markdown(&answer.view),
        Format::Csv => report::csv(&answer.view),
        Format::Json => report::json(&answer.json),
    })
}

pub(super) fn show(case: &Case, own: Currency) -> Result<Show, Problems> {
    let currency = case.ask.shown.unwrap_or(own);
    let mut problems = Problems::new();
    let found = case.tables.exchange.quote(crate::tables::Use::Market, own, currency, case.ask.date)?;
    match found {
        Some(quote) => {
            let destination = case.tables.destination(case.ask.to, case.ask.date);
            Ok(Show { currency, rate: quote.rate, tax: destination.map(|row| row.rule.tax_name).unwrap_or_default() })
        }
        None => {
            problems.push(crate::landed::no_rate(own, currency, case.ask.date));
            Err(problems)
        }
    }
}
