//! What a run reads as tables: where nothing else may be written, so that no later run takes it for a table.

use std::path::{Component, Path, PathBuf};

use super::files::{is_spreadsheet, is_table};
use super::target::{folder_of, identity};
use crate::book::TABLES;

/// The folders whose files are read as tables.
pub(super) struct Reads {
    /// The folder of the book, or the one in which its only file lies.
    book: PathBuf,
    /// The folders of tables of rates: those that are read, and those that `settings.csv` needs only name.
    rates: Vec<PathBuf>,
}

impl Reads {
    /// What a book reads, and what its folders of rates do.
    pub(super) fn new(book: &str, rates: impl IntoIterator<Item = PathBuf>) -> Reads {
        let place = Path::new(book);
        let folder = if place.is_file() {
            folder_of(place)
        } else {
            place
        };
        let rates = rates
            .into_iter()
            .chain([folder.join("rates")])
            .map(|folder| settled(&folder))
            .collect();
        Reads {
            book: folder.to_owned(),
            rates,
        }
    }

    /// Why a file of this name, links followed, would be read as a table by a later run.
    pub(super) fn would_read(&self, place: &Path) -> Option<&'static str> {
        let name = place.file_name()?.to_string_lossy();
        let folder = settled(folder_of(place));
        let of_book = is_spreadsheet(&name)
            || name
                .strip_suffix(".csv")
                .is_some_and(|table| TABLES.contains(&table));
        if of_book && identity(&folder).is_some() && identity(&folder) == identity(&self.book) {
            return Some("it would be a table of the book; say another name, such as `bad.csv`");
        }
        let of_rates = is_table(&name) && self.rates.iter().any(|rates| holds(rates, &folder));
        of_rates.then_some("it would lie among the tables of rates, where the next run looks for tables; say another folder")
    }
}

/// Whether a folder is one of tables of rates, or one of its own folders, which may be a link to it.
fn holds(rates: &Path, folder: &Path) -> bool {
    if folder == rates || folder.parent() == Some(rates) {
        return true;
    }
    let inner = std::fs::read_dir(rates)
        .into_iter()
        .flatten()
        .filter_map(Result::ok);
    inner
        .map(|entry| entry.path())
        .filter(|path| path.is_dir())
        .any(|path| settled(&path) == folder)
}

/// The one name of a folder, whether it is there or not: links followed as far as there are any, no steps up left.
fn settled(folder: &Path) -> PathBuf {
    let whole = std::path::absolute(folder).unwrap_or_else(|_| folder.to_owned());
    let mut at = PathBuf::new();
    for part in whole.components() {
        if part == Component::ParentDir {
            at.pop();
        } else {
            at.push(part);
            at = at.canonicalize().unwrap_or(at);
        }
    }
    at
}
