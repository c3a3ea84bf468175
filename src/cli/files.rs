//! Reading books and folders of tables, and starting new ones.

use std::fs;
use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};

use super::beside::tidy;
use super::target::{is_given_open, is_standard_input, not_a_file};
use super::write::{Change, Door, Over};
use crate::book::{BookFile, TABLES};
use crate::bulk::heads_a_list;
use crate::report::made_here;
use crate::tables::File;
use crate::text::{Diagnostic, Location, Problems, words};

/// What can be done with a pipe where one file is asked for.
const HAND_IT: &str =
    "save what comes through it to a file, or hand it to standard input, named `-`";

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
                "a book is a folder of tables or a parts.csv; `landwaiter new DIR` starts one",
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

/// All that comes through standard input.
fn standard_input(problems: &mut Problems) -> Option<Vec<u8>> {
    let mut bytes = Vec::new();
    let read = std::io::stdin().lock().read_to_end(&mut bytes);
    read.map_err(|error| problems.push(unreadable("standard input", &error)))
        .ok()
        .map(|_| bytes)
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

/// Whether a name is that of a workbook that can be a book.
pub(super) fn is_spreadsheet(name: &str) -> bool {
    Path::new(name)
        .extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("xlsx") || e.eq_ignore_ascii_case("ods"))
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
    let ending = Path::new(name)
        .extension()
        .map(|e| e.to_string_lossy().to_lowercase());
    ending.is_some_and(|e| {
        matches!(
            e.as_str(),
            "csv" | "tsv" | "tab" | "xls" | "xlsx" | "ods" | "numbers"
        )
    })
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

/// A folder of tables that lies in the book and is named by nothing; that is said.
pub(super) fn unnamed_rates(book: &str, problems: &mut Problems) {
    let folder = Path::new(book).join("rates");
    if folder.is_dir() {
        let shown = if book == "." {
            "rates".to_owned()
        } else {
            folder.to_string_lossy().replace('\\', "/")
        };
        let what = format!("the folder {} is not read", words::quoted(&shown));
        problems
            .push(Diagnostic::warning(what).help("add the row `rates,rates` to `settings.csv`"));
    }
}

/// Reads the folder of one jurisdiction, which lies in the folder of tables that is `shown`.
fn jurisdiction(
    folder: &Path,
    (shown, name): (&str, &str),
    found: &mut Vec<File>,
    problems: &mut Problems,
) {
    for file in names_in(folder, problems) {
        let (place, below) = (folder.join(&file), format!("{shown}/{name}/{file}"));
        if place.is_dir() {
            problems.push(too_deep(shown, name, &below));
        } else {
            let table = format!("{name}/{file}");
            table_of_rates(&place, &below, &table, found, problems);
        }
    }
}

/// Reads a folder of the user's own tables: files at its top, and one folder for each jurisdiction.
pub(super) fn rates(path: &Path, problems: &mut Problems) -> Vec<File> {
    let shown = path.to_string_lossy().replace('\\', "/");
    let mut found = Vec::new();
    if !path.is_dir() {
        let what = format!("there is no folder of tables at {}", words::quoted(&shown));
        let help = "`rates` in settings.csv is taken from the book's folder, `--rates` from here";
        problems.push(Diagnostic::error(what).help(help));
        return found;
    }
    tidy(path);
    for name in names_in(path, problems) {
        let (inner, below) = (path.join(&name), format!("{shown}/{name}"));
        if !inner.is_dir() {
            table_of_rates(&inner, &below, &name, &mut found, problems);
        } else if is_table(&name) {
            let what = format!(
                "the folder {} has the name of a table and is not read: a table is a file",
                words::quoted(&below)
            );
            problems.push(
                Diagnostic::warning(what)
                    .help("put the file in its place, or give the folder another name"),
            );
        } else {
            jurisdiction(&inner, (&shown, &name), &mut found, problems);
        }
    }
    if found.is_empty() && !problems.refuse() {
        let what = format!(
            "the folder {} holds no table: nothing of it is read",
            words::quoted(&shown)
        );
        problems.push(
            Diagnostic::warning(what).help(
                "tables have the names of the built-in ones: `freight.csv`, `gb/charges.csv`",
            ),
        );
    }
    found
}

/// A folder within a folder of tables: within a country's, or within one that is no country's, whose own folders were meant.
fn too_deep(rates: &str, folder: &str, below: &str) -> Diagnostic {
    let is_country =
        crate::units::Country::parse(folder).is_some() || folder.eq_ignore_ascii_case("eu");
    if is_country {
        let what = format!(
            "the folder {} lies inside the folder of a country and is not read",
            words::quoted(below)
        );
        return Diagnostic::warning(what).help(format!(
            "put its tables into {} itself",
            words::quoted(folder)
        ));
    }
    let what = format!(
        "the folder {} lies inside {}, which is of no country, and is not read",
        words::quoted(below),
        words::quoted(folder)
    );
    let inner = below.rsplit('/').next().unwrap_or(below);
    let help = format!(
        "put {} into {} itself, or name `{rates}/{folder}` as the folder of tables",
        words::quoted(inner),
        words::quoted(rates)
    );
    Diagnostic::warning(what).help(help)
}

/// Takes a table, and names a file that is none; `.md` files are notes to be written beside tables.
fn table_of_rates(
    place: &Path,
    shown: &str,
    name: &str,
    found: &mut Vec<File>,
    problems: &mut Problems,
) {
    if is_table(name) {
        add(place, shown, name, found, problems);
    } else if !has_ending(name, &["md"]) {
        let unread = Diagnostic::warning("not a table of rates: the file is not read")
            .at(Location::line(shown.into(), 1));
        problems.push(unread.note("tables of rates are `.csv` files, or `.tsv` with tabs"));
    }
}

/// Whether a name is that of a table in text.
pub(super) fn is_table(name: &str) -> bool {
    has_ending(name, &["csv", "tsv", "tab"])
}

fn has_ending(name: &str, endings: &[&str]) -> bool {
    Path::new(name).extension().is_some_and(|own| {
        endings
            .iter()
            .any(|ending| own.eq_ignore_ascii_case(ending))
    })
}

fn add(place: &Path, shown: &str, name: &str, found: &mut Vec<File>, problems: &mut Problems) {
    if let Some(bytes) = read_file(place, shown, problems) {
        found.push(File {
            path: shown.to_owned(),
            name: name.to_owned(),
            bytes: bytes.into(),
            users: true,
        });
    }
}

/// The names in a folder, sorted; hidden ones are left alone.
fn names_in(folder: &Path, problems: &mut Problems) -> Vec<String> {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) => {
            problems.push(unreadable(&folder.to_string_lossy(), &error));
            return Vec::new();
        }
    };
    let mut names: Vec<String> = entries
        .filter_map(|e| Some(e.ok()?.file_name().to_string_lossy().into_owned()))
        .filter(|n| !n.starts_with('.'))
        .collect();
    names.sort();
    names
}

/// Reads one file, shown under a name of its own.
pub(super) fn read_file(place: &Path, shown: &str, problems: &mut Problems) -> Option<Vec<u8>> {
    if let Some(other) = not_a_file(place) {
        problems.push(other.at(Location::line(shown.into(), 1)));
        return None;
    }
    fs::read(place)
        .map_err(|error| problems.push(unreadable(shown, &error)))
        .ok()
}

/// Reads a file that was named, or standard input, and says under which name it is shown.
pub(super) fn read_named(path: &str, problems: &mut Problems) -> Option<(String, Vec<u8>)> {
    if is_standard_input(path) {
        return standard_input(problems).map(|bytes| ("standard input".to_owned(), bytes));
    }
    if let Some(other) = not_a_file(Path::new(path)) {
        problems.push(other.at(Location::line(path.into(), 1)).help(HAND_IT));
        return None;
    }
    read_file(Path::new(path), path, problems).map(|bytes| (path.to_owned(), bytes))
}

/// Reads a spreadsheet file, unless it is larger than one is.
fn read_workbook(place: &Path, shown: &str, problems: &mut Problems) -> Option<Vec<u8>> {
    if let Some(other) = not_a_file(place) {
        problems.push(other.at(Location::line(shown.into(), 1)));
        return None;
    }
    let mut bytes = Vec::new();
    let most = super::workbook::MOST_BYTES;
    match fs::File::open(place).and_then(|file| file.take(most + 1).read_to_end(&mut bytes)) {
        Err(error) => problems.push(unreadable(shown, &error)),
        Ok(_) if u64::try_from(bytes.len()).is_ok_and(|length| length > most) => {
            problems.push(super::workbook::too_large(shown));
        }
        Ok(_) => return Some(bytes),
    }
    None
}

fn unreadable(shown: &str, error: &std::io::Error) -> Diagnostic {
    let why = match error.kind() {
        std::io::ErrorKind::NotFound => "there is no such file".to_owned(),
        std::io::ErrorKind::PermissionDenied => "the system does not allow it".to_owned(),
        _ => error.to_string(),
    };
    Diagnostic::error(format!("cannot be read: {why}")).at(Location::line(shown.into(), 1))
}

/// Makes a folder and writes new files into it, all of them or none; a file that is there already is left alone and refused.
pub(super) fn write_new(dir: &str, files: Vec<(&str, Vec<u8>)>, problems: &mut Problems) {
    let dir = PathBuf::from(dir);
    let paths: Vec<PathBuf> = files.iter().map(|(name, _)| dir.join(name)).collect();
    let Some(door) = problems.keep(Door::open(paths.iter().map(PathBuf::as_path))) else {
        return;
    };
    for path in paths.iter().filter(|path| path.exists()) {
        problems.push(Diagnostic::error(format!(
            "{} is there already and is left as it is",
            words::quoted(&path.to_string_lossy())
        )));
    }
    if let Some(other) = names_in(&dir, problems)
        .into_iter()
        .find(|name| !is_named(&files, name) && doubles(&dir, name, &files))
    {
        let names: Vec<String> = files.iter().map(|(name, _)| words::quoted(name)).collect();
        let what = format!(
            "{} holds a book already, in {}: a table stands once in a book, and {} would hold it again",
            words::quoted(&dir.to_string_lossy()),
            words::quoted(&other),
            words::list(&names, "and")
        );
        problems.push(Diagnostic::error(what).help("say another folder"));
    }
    if problems.refuse() {
        return;
    }
    let new = |((_, bytes), path)| Change {
        path,
        bytes,
        over: Over::Nothing,
        like: None,
    };
    let changes: Vec<Change<'_>> = files.into_iter().zip(paths).map(new).collect();
    problems.keep(door.put_together(&[], &changes));
}

fn is_named(files: &[(&str, Vec<u8>)], name: &str) -> bool {
    files.iter().any(|(new, _)| *new == name)
}

/// Whether a file in a folder and new ones would hold the same tables of a book: a workbook holds all of them, but for one that a
/// report made, which no book is read from.
fn doubles(dir: &Path, name: &str, new: &[(&str, Vec<u8>)]) -> bool {
    let place = dir.join(name);
    if !place.is_file() {
        return false;
    }
    if is_spreadsheet(name) {
        let read = read_workbook(&place, name, &mut Problems::new());
        return !read.is_some_and(|bytes| made_here(name, &bytes));
    }
    let is_table = name
        .strip_suffix(".csv")
        .is_some_and(|table| TABLES.contains(&table));
    is_table && new.iter().any(|(new, _)| is_spreadsheet(new))
}

/// Opens a list for reading, with its size when it has one.
pub(super) fn stream(list: &str) -> Result<(Box<dyn Read + Send>, Option<u64>), Diagnostic> {
    if is_standard_input(list) {
        return Ok((Box::new(std::io::stdin()), None));
    }
    let file = fs::File::open(list).map_err(|error| unreadable(list, &error))?;
    let size = file
        .metadata()
        .ok()
        .filter(fs::Metadata::is_file)
        .map(|m| m.len());
    Ok((Box::new(file), size))
}
