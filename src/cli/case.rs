//! A book, its tables and the question, read; the answer and the problems, told.

use super::args::{CommonArgs, Format};
use super::exit::Exit;
use super::reads::Reads;
use super::{book_files, rate_files, world};
use crate::book::{Book, BookFile, Settings};
use crate::landed::{Bill, Jurisdiction, Question, check_places, lost_apart};
use crate::report::{self, Show, View};
use crate::tables::{File, Tables};
use crate::text::{Diagnostic, Problems, Severity, draw};
use crate::units::Currency;
use std::borrow::Cow;
use std::mem::ManuallyDrop;
use std::path::{Path, PathBuf};

/// What a command answers with: a view, and the same for programs.
pub(super) struct Answer {
    pub(super) view: View,
    pub(super) json: serde_json::Value,
}

impl Answer {
    /// With the trails of these bills, where they were asked for.
    pub(super) fn with_trails(mut self, asked: &CommonArgs, bills: &[Bill], show: &Show) -> Answer {
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
    pub(super) ask: Question,
}

pub(super) type Answered = Result<Answer, Problems>;

/// Reads everything a command needs, and keeps every problem it meets.
pub(super) fn read(asked: &CommonArgs, problems: &mut Problems) -> Option<Case> {
    asked
        .settings()
        .map_err(|error| problems.push(Diagnostic::error(error)))
        .ok()?;
    let files = book_files::book(&asked.book, problems);
    if problems.refuse() {
        return None;
    }
    read_files(asked, &files, problems)
}

/// The same for a book whose files are at hand.
pub(super) fn read_files(
    asked: &CommonArgs,
    files: &[BookFile],
    problems: &mut Problems,
) -> Option<Case> {
    let flags = asked
        .settings()
        .map_err(|error| problems.push(Diagnostic::error(error)))
        .ok()?;
    with_files(asked, flags, files, files, Clone::clone, problems)
}

/// As [`read`], for what others will see: rows are named by their file alone, and those of one's own rules by their folder too,
/// so that nobody is shown where the book lies.
pub(super) fn read_for_others(asked: &CommonArgs, problems: &mut Problems) -> Option<Case> {
    let flags = asked
        .settings()
        .map_err(|error| problems.push(Diagnostic::error(error)))
        .ok()?;
    let files = book_files::book(&asked.book, problems);
    if problems.refuse() {
        return None;
    }
    let bare: Vec<BookFile> = files
        .iter()
        .map(|file| BookFile {
            path: name_of(&file.path, 1),
            ..file.clone()
        })
        .collect();
    with_files(
        asked,
        flags,
        &files,
        &bare,
        |file| File {
            path: name_of(&file.path, file.name.matches('/').count() + 2),
            ..file.clone()
        },
        problems,
    )
}

/// The last names of a path.
fn name_of(path: &str, names: usize) -> String {
    let all: Vec<&str> = path.split('/').collect();
    all.get(all.len().saturating_sub(names)..)
        .unwrap_or_default()
        .join("/")
}

fn with_files(
    asked: &CommonArgs,
    flags: Settings,
    files: &[BookFile],
    shown: &[BookFile],
    own: impl Fn(&File) -> File,
    problems: &mut Problems,
) -> Option<Case> {
    let book = Book::read(shown, problems);
    let tables = Tables::load(
        own_tables(asked, &book, files, problems)
            .iter()
            .map(own)
            .collect(),
        problems,
    );
    let mut settings = book.settings.clone();
    settings.overlay(flags);
    let ask = problems.keep(Question::new(&settings, world::today()))?;
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
    })
}

pub(super) fn tables(
    asked: &CommonArgs,
    book: &Book,
    files: &[BookFile],
    problems: &mut Problems,
) -> Tables {
    Tables::load(own_tables(asked, book, files, problems), problems)
}

/// The files of one's own rules.
fn own_tables(
    asked: &CommonArgs,
    book: &Book,
    files: &[BookFile],
    problems: &mut Problems,
) -> Vec<File> {
    match own_folder(asked, book, files) {
        Some(path) => rate_files::rates(&path, problems),
        None => {
            rate_files::unnamed_rates(&asked.book, problems);
            Vec::new()
        }
    }
}

/// The folder of one's own rules: the one that the command line names, else the one that the settings do.
fn own_folder(asked: &CommonArgs, book: &Book, files: &[BookFile]) -> Option<PathBuf> {
    let flag = asked.rates.as_ref().map(PathBuf::from);
    flag.or_else(|| {
        book.settings
            .rates
            .as_ref()
            .map(|setting| beside(files, setting))
    })
}

/// What a later run reads as tables: those of the book, and the folders of rates that the command line and the settings name.
pub(super) fn reads(asked: &CommonArgs, book: &Book, files: &[BookFile]) -> Reads {
    let setting = book
        .settings
        .rates
        .as_ref()
        .map(|setting| beside(files, setting));
    Reads::new(
        &asked.book,
        own_folder(asked, book, files).into_iter().chain(setting),
    )
}

/// The folder of a book's own tables: the one that its settings name, else `rates` in the book.
pub(super) fn folder_of_tables(book: &str) -> PathBuf {
    let mut problems = Problems::new();
    let files = book_files::book(book, &mut problems);
    let named = Book::read(&files, &mut problems).settings.rates;
    let folder = if Path::new(book).is_dir() {
        PathBuf::from(book)
    } else {
        Path::new(book)
            .parent()
            .map(Path::to_path_buf)
            .unwrap_or_default()
    };
    named.map_or_else(|| folder.join("rates"), |named| beside(&files, &named))
}

/// A folder named in `settings.csv` is taken from where that file stands.
fn beside(files: &[BookFile], folder: &str) -> PathBuf {
    let settings = files
        .iter()
        .find(|f| f.table == "settings")
        .map(|f| Path::new(&f.path));
    settings
        .and_then(Path::parent)
        .map_or_else(|| PathBuf::from(folder), |parent| parent.join(folder))
}

/// Reads, answers, and writes; problems go to standard error.
pub(super) fn answer(
    asked: &CommonArgs,
    question: impl Fn(&Case, &Jurisdiction<'_>, &CommonArgs) -> Answered,
) -> Exit {
    let mut problems = Problems::new();
    let Some(case) = read(asked, &mut problems) else {
        return refused(problems);
    };
    // the process ends with the answer: tables and rules prepared for days are not taken apart piece by piece before
    let case = ManuallyDrop::new(case);
    if problems.refuse() {
        // all that is wrong is said at once
        if let Some(jurisdiction) = open(&case, &mut problems) {
            check_places(&case.book, &jurisdiction, &mut problems);
        }
        return refused(problems);
    }
    let answered = Jurisdiction::open(&case.tables, &case.ask).and_then(|jurisdiction| {
        let jurisdiction = ManuallyDrop::new(jurisdiction);
        problems.also(&jurisdiction.warnings);
        sound(&case, &jurisdiction)?;
        question(&case, &jurisdiction, asked)
    });
    match answered {
        Ok(answer) => {
            tell(problems);
            write(&answer, asked)
        }
        Err(more) => {
            problems.extend(more);
            refused(problems)
        }
    }
}

/// Opens the jurisdiction. Where a row of `destinations.csv` could not be read, that there are no rules for a destination which has no row is
/// no second problem.
pub(super) fn open<'c>(case: &'c Case, problems: &mut Problems) -> Option<Jurisdiction<'c>> {
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
pub(super) fn sound(case: &Case, jurisdiction: &Jurisdiction<'_>) -> Result<(), Problems> {
    let mut problems = crate::value::refusals(&case.book, jurisdiction);
    if !problems.refuse() {
        return Ok(());
    }
    if let Err(more) = crate::landed::cost_at(&case.book, jurisdiction) {
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

pub(super) fn write(answer: &Answer, asked: &CommonArgs) -> Exit {
    world::print(&match asked.format {
        Format::Table => report::text(&answer.view, &world::screen().with_more(asked.more)),
        Format::Markdown => report::markdown(&answer.view),
        Format::Csv => report::csv(&answer.view),
        Format::Json => report::json(&answer.json),
    })
}

pub(super) fn show(case: &Case, own: Currency) -> Result<Show, Problems> {
    let currency = case.ask.shown.unwrap_or(own);
    let mut problems = Problems::new();
    let found =
        case.tables
            .exchange
            .quote(crate::tables::Use::Market, own, currency, case.ask.date)?;
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
