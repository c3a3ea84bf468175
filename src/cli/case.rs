//! A book, its tables and the question, read; the answer and the problems, told.

use super::common_args::CommonArgs;
use super::exit::Exit;
use super::reads::Reads;
use super::{book_files, rate_files, world};
pub(super) use crate::answer::{Answer, Answered, Case, sound};
use crate::answer::{Command, Format, Input, Status, Told};
use crate::book::{Book, BookFile, Settings};
use crate::plan::{Patient, Watch};
use crate::report;
use crate::tables::{File, Tables};
use crate::text::{Diagnostic, Problems, draw};
use std::path::{Path, PathBuf};

/// Reads everything a command needs, and keeps every problem it meets.
pub(super) fn read(asked: &CommonArgs, problems: &mut Problems) -> Option<Case> {
    asked
        .settings()
        .map_err(|error| problems.push(Diagnostic::error(error)))
        .ok()?;
    let files = book_files::book(&asked.of.book, problems);
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
    let files = book_files::book(&asked.of.book, problems);
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

fn with_files(
    asked: &CommonArgs,
    flags: Settings,
    files: &[BookFile],
    shown: &[BookFile],
    own: impl Fn(&File) -> File,
    problems: &mut Problems,
) -> Option<Case> {
    let input = Input {
        files: shown,
        flags,
        today: world::today(),
    };
    let own = |book: &Book, problems: &mut Problems| {
        let found = own_tables(asked, book, files, problems);
        found.iter().map(own).collect()
    };
    crate::answer::read(input, own, problems)
}

/// The last names of a path.
fn name_of(path: &str, names: usize) -> String {
    let all: Vec<&str> = path.split('/').collect();
    all.get(all.len().saturating_sub(names)..)
        .unwrap_or_default()
        .join("/")
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
            rate_files::unnamed_rates(&asked.of.book, problems);
            Vec::new()
        }
    }
}

/// The folder of one's own rules: the one that the command line names, else the one that the settings do.
fn own_folder(asked: &CommonArgs, book: &Book, files: &[BookFile]) -> Option<PathBuf> {
    let flag = asked.of.rates.as_ref().map(PathBuf::from);
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
        &asked.of.book,
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
pub(super) fn answer(asked: &CommonArgs, command: &Command<'_>) -> Exit {
    deliver(told(asked, command, &Patient), asked)
}

/// Reads and answers.
pub(super) fn told(asked: &CommonArgs, command: &Command<'_>, watch: &dyn Watch) -> Told {
    let mut problems = Problems::new();
    let case = read(asked, &mut problems);
    let told = crate::answer::answer(case.as_ref(), problems, command, asked.shape(), watch);
    // the process ends with the answer: its tables are not taken apart piece by piece before
    std::mem::forget(case);
    told
}

/// Writes what came of a command.
pub(super) fn deliver(told: Told, asked: &CommonArgs) -> Exit {
    tell(told.problems);
    world::complain(&told.closing);
    let written = told
        .answer
        .map_or(Exit::Done, |answer| write(&answer, asked));
    match (written, told.status) {
        (Exit::Done, Status::Refused) => Exit::Refused,
        (Exit::Done, Status::Nothing) => Exit::Nothing,
        (written, _) => written,
    }
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
    world::print(&match asked.shape().format {
        Format::Screen => report::text(&answer.view, &world::screen().with_more(asked.more)),
        Format::Markdown => report::markdown(&answer.view),
        Format::Csv => report::csv(&answer.view),
        Format::Json => report::json(&answer.json),
    })
}
