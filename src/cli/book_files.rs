//! The files of a book: a folder of tables, a workbook, or parts alone; what lies beside them and is not read is said.

use std::fs;
use std::io::{BufRead, BufReader, Read};
use std::path::Path;

use super::beside::tidy;
use super::files::{
    HAND_IT, has_ending, is_spreadsheet, is_table, names_in, read_file, read_workbook,
    standard_input,
};
use super::target::{is_given_open, is_standard_input, not_a_file};
use crate::book::edit::JOURNAL;
use crate::book::{BookFile, TABLES};
use crate::bulk::heads_a_list;
use crate::report::made_here;
use crate::text::{Diagnostic, Location, Problems, words};

/// Reads the files of a book.
pub(super) fn book(path: &str, problems: &mut Problems) -> Vec<BookFile> {
    if is_standard_input(path) {
        return standard_input(problems)
            .map(|bytes| parts("standard input", bytes, problems))
            .unwrap_or_default();
    }
    let place = Path::new(path);
    if let Some(other) = not_a_file(place) {
        problems.push(other.at(Location::line(path.into(), 1)).help(HAND_IT));
        return Vec::new();
    }
    if is_given_open(place) {
        return read_file(place, path, problems)
            .map(|bytes| parts(path, bytes, problems))
            .unwrap_or_default();
    }
    if place.is_file() && is_spreadsheet(path) {
        let bytes = read_workbook(place, path, problems);
        let found = bytes
            .map(|bytes| super::workbook::tables(path, &bytes, problems))
            .unwrap_or_default();
        if found.is_empty() && !problems.refuse() {
            problems.push(
                Diagnostic::error("no sheet of this file is a table of a book")
                    .at(Location::line(path.into(), 1)),
            );
        }
        return found;
    }
    if place.is_file() {
        beside(place, problems);
        return read_file(place, path, problems)
            .map(|bytes| parts(path, bytes, problems))
            .unwrap_or_default();
    }
    if !place.is_dir() {
        let missing = Diagnostic::error(format!("there is no book at {}", words::quoted(path)));
        if let Some(near) = super::args::near_command(path) {
            problems.push(missing.help(format!("did you mean the command `landwaiter {near}`?")));
            return Vec::new();
        }
        problems.push(
            missing.help(
                "a book is a folder of tables or a parts.csv; `landwaiter new DIR --kind road` starts one",
            ),
        );
        return Vec::new();
    }
    folder(place, path, problems)
}

/// A book of parts alone; a workbook is none, and is known by the name of its file.
fn parts(shown: &str, bytes: Vec<u8>, problems: &mut Problems) -> Vec<BookFile> {
    if bytes.starts_with(b"PK\x03\x04") {
        let what = "expected `parts.csv` as text: this is packed as a workbook is";
        let help = "a workbook is read from a file whose name ends in `.xlsx` or `.ods`, and not from standard input";
        problems.push(
            Diagnostic::error(what)
                .at(Location::line(shown.into(), 1))
                .help(help),
        );
        return Vec::new();
    }
    vec![BookFile {
        path: shown.to_owned(),
        table: "parts".to_owned(),
        bytes,
    }]
}

/// A folder that has the name of a workbook.
fn no_workbook(shown: &str) -> Diagnostic {
    let what = format!(
        "the folder {} has the name of a workbook and is not read",
        words::quoted(shown)
    );
    Diagnostic::warning(what).help("name the folder itself to read it as a book")
}

/// The tables of a workbook that lies in the folder of a book. One that a report made is no part of the book.
fn beside_tables(place: &Path, name: &str, shown: &str, problems: &mut Problems) -> Vec<BookFile> {
    let read = read_workbook(place, shown, problems).filter(|bytes| !made_here(name, bytes));
    let Some(bytes) = read else {
        return Vec::new();
    };
    let sheets = super::workbook::tables(shown, &bytes, problems);
    if sheets.is_empty() {
        problems.push(unread(name, shown));
    }
    sheets
}

/// The tables that lie in a folder, by their names; what looks like one and is not read is said.
fn folder(place: &Path, path: &str, problems: &mut Problems) -> Vec<BookFile> {
    tidy(place);
    let mut found = Vec::new();
    for name in names_in(place, problems) {
        let shown = if path == "." {
            name.clone()
        } else {
            format!("{}/{name}", path.trim_end_matches('/'))
        };
        match name.strip_suffix(".csv") {
            Some(table) if TABLES.contains(&table) => {
                let read = read_file(&place.join(&name), &shown, problems);
                found.extend(read.map(|bytes| BookFile {
                    path: shown,
                    table: table.to_owned(),
                    bytes,
                }));
            }
            _ if is_spreadsheet(&name) && place.join(&name).is_dir() => {
                problems.push(no_workbook(&shown));
            }
            _ if is_spreadsheet(&name) => {
                found.extend(beside_tables(&place.join(&name), &name, &shown, problems));
            }
            // what was written into the tables is told there, and is no table of the book
            Some(JOURNAL) => {}
            _ if looks_like_a_table(&name) => {
                let problem = unread(&name, &shown);
                let list = problem.help.is_none() && is_list(&place.join(&name));
                problems.push(if list {
                    problem.help("a price list is priced by `landwaiter bulk LIST BOOK`")
                } else {
                    problem
                });
            }
            _ => {}
        }
    }
    twice(&found, problems);
    found
}

/// A table stands once in a book: as a file, or as a sheet of one spreadsheet.
fn twice(found: &[BookFile], problems: &mut Problems) {
    for (at, file) in found.iter().enumerate() {
        if let Some(other) = found[..at].iter().find(|other| other.table == file.table) {
            let what = format!(
                "expected one table `{}` in this book: {} is another",
                file.table,
                words::quoted(&other.path)
            );
            problems.push(Diagnostic::error(what).at(Location::line(file.path.as_str().into(), 1)));
        }
    }
}

/// Whether a file may have been meant as a table: by its ending, whatever its name.
fn looks_like_a_table(name: &str) -> bool {
    is_table(name) || has_ending(name, &["xls", "xlsx", "ods", "numbers"])
}

/// Whether a file begins as a price list does; what is no plain file is not opened, as it may never answer.
fn is_list(place: &Path) -> bool {
    let Some(file) = place
        .is_file()
        .then(|| fs::File::open(place).ok())
        .flatten()
    else {
        return false;
    };
    let mut header = Vec::new();
    // A header is no longer than this.
    let read = BufReader::new(file.take(4096)).read_until(b'\n', &mut header);
    read.is_ok() && heads_a_list(&String::from_utf8_lossy(&header))
}

fn unread(name: &str, shown: &str) -> Diagnostic {
    let unread = Diagnostic::warning("not a table of a book: the file is not read")
        .at(Location::line(shown.into(), 1));
    let stem = Path::new(name)
        .file_stem()
        .map(|s| s.to_string_lossy().to_lowercase())
        .unwrap_or_default();
    match words::nearest(&stem, TABLES) {
        Some(near) => unread.help(format!("a table of this name is called `{near}.csv`")),
        None => unread.note(format!(
            "the tables are {}",
            TABLES.map(|t| format!("{t}.csv")).join(", ")
        )),
    }
}

/// A book of one file leaves the tables beside it unread; that is said.
fn beside(place: &Path, problems: &mut Problems) {
    let folder = place
        .parent()
        .filter(|p| !p.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    let own = place
        .file_name()
        .map(|n| n.to_string_lossy().into_owned())
        .unwrap_or_default();
    let others: Vec<String> = TABLES
        .iter()
        .map(|t| format!("{t}.csv"))
        .filter(|n| *n != own && folder.join(n).is_file())
        .collect();
    if !others.is_empty() {
        let what = format!(
            "beside this file, and not read: {}",
            words::list(&others, "and")
        );
        let shown = place.to_string_lossy();
        problems.push(
            Diagnostic::warning(what)
                .at(Location::line((*shown).into(), 1))
                .help("name the folder to read the whole book"),
        );
    }
}
