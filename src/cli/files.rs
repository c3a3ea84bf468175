//! Files read one by one, whatever they hold, and new ones written together.

use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};

use super::target::{is_standard_input, not_a_file};
use super::write::{Change, Door, Over};
use crate::book::TABLES;
use crate::report::made_here;
use crate::text::{Diagnostic, Location, Problems, words};

/// What can be done with a pipe where one file is asked for.
pub(super) const HAND_IT: &str =
    "save what comes through it to a file, or hand it to standard input, named `-`";

/// All that comes through standard input.
pub(super) fn standard_input(problems: &mut Problems) -> Option<Vec<u8>> {
    let mut bytes = Vec::new();
    let read = std::io::stdin().lock().read_to_end(&mut bytes);
    read.map_err(|error| problems.push(unreadable("standard input", &error)))
        .ok()
        .map(|_| bytes)
}

/// Whether a name is that of a workbook that can be a book.
pub(super) fn is_spreadsheet(name: &str) -> bool {
    has_ending(name, &["xlsx", "ods"])
}

/// Whether a name is that of a table in text.
pub(super) fn is_table(name: &str) -> bool {
    has_ending(name, &["csv", "tsv", "tab"])
}

/// Whether the name of a file has one of these endings, in small letters or capitals.
pub(super) fn has_ending(name: &str, endings: &[&str]) -> bool {
    Path::new(name).extension().is_some_and(|own| {
        endings
            .iter()
            .any(|ending| own.eq_ignore_ascii_case(ending))
    })
}

/// The names in a folder, sorted; hidden ones are left alone.
pub(super) fn names_in(folder: &Path, problems: &mut Problems) -> Vec<String> {
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
pub(super) fn read_workbook(place: &Path, shown: &str, problems: &mut Problems) -> Option<Vec<u8>> {
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

/// Makes a folder and writes new files into it, all of them or none. A file that is there already is left alone and refused, unless
/// it is `untouched`: as a start left it, with nothing typed into it.
pub(super) fn write_new(
    dir: &str,
    files: Vec<(&str, Vec<u8>)>,
    untouched: &dyn Fn(&str, &[u8]) -> bool,
    problems: &mut Problems,
) {
    let dir = PathBuf::from(dir);
    let paths: Vec<PathBuf> = files.iter().map(|(name, _)| dir.join(name)).collect();
    let Some(door) = problems.keep(Door::open(paths.iter().map(PathBuf::as_path))) else {
        return;
    };
    let mut there: Vec<Option<Vec<u8>>> = Vec::with_capacity(files.len());
    for ((name, _), path) in files.iter().zip(&paths) {
        let old = path.exists().then(|| std::fs::read(path).ok());
        let known = old.flatten().filter(|bytes| untouched(name, bytes));
        if path.exists() && known.is_none() {
            problems.push(
                Diagnostic::error(format!(
                    "{} is there already and is left as it is",
                    words::quoted(&path.to_string_lossy())
                ))
                .help("something was typed into it: say another folder, or move it away first"),
            );
        }
        there.push(known);
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
    let mut changes: Vec<Change<'_>> = Vec::with_capacity(files.len());
    for (((_, bytes), path), old) in files.into_iter().zip(paths).zip(&there) {
        let over = match old {
            Some(old) => Over::Table(Some(old)),
            None => Over::Nothing,
        };
        changes.push(Change {
            path,
            bytes,
            over,
            like: None,
        });
    }
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
