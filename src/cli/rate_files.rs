//! The files of a folder of the user's own tables of rates.

use std::path::Path;

use super::beside::tidy;
use super::files::{has_ending, is_table, names_in, read_file};
use crate::tables::File;
use crate::text::{Diagnostic, Location, Problems, words};

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
