//! `settle --add`: rows written into the tables of a book, all of them or none, and only when the book reads well with them and
//! can be settled.

use std::fs;
use std::path::{Path, PathBuf};

use super::args::CommonArgs;
use super::case::{Answer, Answered, Case, read_files, refused, sound, tell, write};
use super::exit::Exit;
use super::target::{is_standard_input, other_names};
use super::undoing::{self, Noted, Wrote};
use super::write::{Change, Door, Over};
use super::{book_files, files, world};
use crate::book::BookFile;
use crate::landed::Jurisdiction;
use crate::settle::{ADDABLE, added, columns};
use crate::text::{Diagnostic, Location, Problems, words};

/// Adds the rows and answers; where anything is refused, nothing is written.
pub(super) fn add(
    asked: &CommonArgs,
    rows: &[String],
    question: impl Fn(&Case, &Jurisdiction<'_>) -> Answered,
) -> Exit {
    let mut problems = Problems::new();
    match written(asked, rows, question, &mut problems) {
        Ok(answer) => {
            tell(problems);
            let exit = write(&answer, asked);
            if exit != Exit::Done {
                world::complain("The rows are added all the same: do not add them again.\n");
            }
            exit
        }
        Err(more) => {
            problems.extend(more);
            let exit = refused(problems);
            world::complain("Nothing was added.\n");
            exit
        }
    }
}

/// The answer to the book with the rows, once they are written.
fn written(
    asked: &CommonArgs,
    rows: &[String],
    question: impl Fn(&Case, &Jurisdiction<'_>) -> Answered,
    problems: &mut Problems,
) -> Result<Answer, Problems> {
    let folder = Path::new(&asked.book);
    if folder.is_file() && files::is_spreadsheet(&asked.book) {
        return Err(into_workbook(asked, rows, problems));
    }
    if is_standard_input(&asked.book) || (folder.exists() && !folder.is_dir()) {
        return Err(Problems::from(no_folder()));
    }
    let paths = ADDABLE.map(|table| folder.join(format!("{table}.csv")));
    let journal = undoing::place(folder);
    let door = if folder.is_dir() {
        Door::open(paths.iter().chain([&journal]).map(PathBuf::as_path))?
    } else {
        Door::none()
    };
    // read under the lock: what another run has just added is there
    let mut found = book_files::book(&asked.book, problems);
    if problems.refuse() {
        return Err(Problems::new());
    }
    let before = found.clone();
    for at in 0..rows.len() {
        problems.keep(with_row(folder, (rows, at), &mut found));
    }
    if problems.refuse() {
        return Err(Problems::new());
    }
    let case = read_files(asked, &found, problems).filter(|_| !problems.refuse());
    let Some(case) = case else {
        return Err(Problems::new());
    };
    let jurisdiction = Jurisdiction::open(&case.tables, &case.ask)?;
    problems.also(&jurisdiction.warnings);
    sound(&case, &jurisdiction)?;
    let answer = question(&case, &jurisdiction)?;
    let linked = put((&door, folder), rows, &before, &found)?;
    linked
        .into_iter()
        .for_each(|warning| problems.push(warning));
    Ok(answer)
}

/// Puts the tables that have changed into their places, each with a copy of what it was beside it, once the journal tells of them. What
/// is to be said of
/// those that have another name still.
fn put(
    (door, folder): (&Door, &Path),
    rows: &[String],
    before: &[BookFile],
    now: &[BookFile],
) -> Result<Vec<Diagnostic>, Problems> {
    let old = |file: &BookFile| before.iter().find(|old| old.table == file.table);
    let changed: Vec<&BookFile> = now
        .iter()
        .filter(|file| old(file).is_none_or(|old| old.bytes != file.bytes))
        .collect();
    let mut copies = Vec::new();
    for file in &changed {
        let copied = old(file).map(|old| copy(Path::new(&file.path), &old.bytes));
        copies.extend(copied.transpose()?);
    }
    let linked = changed
        .iter()
        .filter_map(|file| still_the_old(Path::new(&file.path)));
    let linked: Vec<Diagnostic> = linked.collect();
    let aside = copies.iter().map(|copy| {
        Over::Table(copy.over.as_deref()).into_change(&copy.path, &copy.bytes, Some(&copy.of))
    });
    let tables = changed.iter().map(|file| {
        let read = old(file).map(|old| old.bytes.as_slice());
        Over::Table(read).into_change(Path::new(&file.path), &file.bytes, None)
    });
    let noted = noted(folder, rows, &changed, old)?;
    let aside: Vec<Change<'_>> = aside.chain([noted.change()]).collect();
    door.put_together(&aside, &tables.collect::<Vec<_>>())?;
    Ok(linked)
}

/// The journal with the change.
fn noted<'a>(
    folder: &Path,
    rows: &[String],
    changed: &[&BookFile],
    old: impl Fn(&BookFile) -> Option<&'a BookFile>,
) -> Result<Noted, Diagnostic> {
    let typed: Vec<String> = rows
        .iter()
        .map(|row| format!("--add \"{}\"", row.replace('"', "\\\"")))
        .collect();
    let wrote: Vec<Wrote<'_>> = changed
        .iter()
        .map(|file| Wrote {
            path: Path::new(&file.path),
            old: old(file).map(|old| old.bytes.as_slice()),
            new: &file.bytes,
        })
        .collect();
    Noted::of(folder, &format!("settle {}", typed.join(" ")), &wrote)
}

/// A table with other names, by hard links: they lead to the table as it was, once a new file has taken its place.
fn still_the_old(path: &Path) -> Option<Diagnostic> {
    let (names, verb) = match other_names(path) {
        0 => return None,
        1 => ("another name".to_owned(), "leads"),
        many => (format!("{many} other names"), "lead"),
    };
    let table = words::quoted(&path.to_string_lossy());
    let what =
        format!("{table} had {names} by hard links, which {verb} to the table without these rows");
    Some(
        Diagnostic::warning(what)
            .help("link it again, or use symbolic links, which lead to the new table"),
    )
}

/// Rows are added to a book that is a folder, and nowhere else.
fn no_folder() -> Diagnostic {
    let what = "a row can be added only to a book that is a folder of tables";
    Diagnostic::error(what).help("say the folder, as in `landwaiter settle DIR --add ...`")
}

/// A workbook is left as it is: where each row is to be typed is said.
fn into_workbook(asked: &CommonArgs, rows: &[String], problems: &mut Problems) -> Problems {
    let mut found = book_files::book(&asked.book, problems);
    let mut refusals = Problems::new();
    for (at, row) in rows.iter().enumerate() {
        let known: Vec<&str> = found.iter().map(|file| file.table.as_str()).collect();
        let missing = ADDABLE
            .into_iter()
            .find(|table| is_for(row, table) && !known.contains(table));
        let Some(table) = missing else {
            refusals.extend(
                with_row(Path::new("."), (rows, at), &mut found)
                    .err()
                    .map(Problems::from)
                    .unwrap_or_default(),
            );
            continue;
        };
        let what = format!(
            "the workbook {} has no sheet `{table}`, and is left as it is",
            words::quoted(&asked.book)
        );
        let help = format!(
            "add a sheet `{table}` with the columns {}, and type below them: {}",
            list_of_columns(table),
            words::quoted(cells(row))
        );
        refusals.push(Diagnostic::error(what).help(help));
    }
    refusals
}

fn list_of_columns(table: &str) -> String {
    let named: Vec<String> = columns(table)
        .iter()
        .map(|name| format!("`{name}`"))
        .collect();
    words::list(&named, "and")
}

/// Whether a typed row is for a table.
fn is_for(row: &str, table: &str) -> bool {
    let name = row.split(',').next().unwrap_or_default().trim();
    name == table || table.strip_suffix('s') == Some(name)
}

/// The cells of a typed row, without the name of its table.
fn cells(row: &str) -> &str {
    row.split_once(',').map_or("", |(_, cells)| cells)
}

/// Adds one row to its table among the files of the book.
fn with_row(
    folder: &Path,
    (rows, at): (&[String], usize),
    found: &mut Vec<BookFile>,
) -> Result<(), Diagnostic> {
    let row = rows.get(at).map_or("", String::as_str);
    let (table, bytes) = added(row, |table| {
        found
            .iter()
            .find(|file| file.table == table)
            .map(|file| file.bytes.clone())
    })?;
    let Some(file) = found.iter_mut().find(|file| file.table == table) else {
        let path = folder
            .join(format!("{table}.csv"))
            .to_string_lossy()
            .into_owned();
        found.push(BookFile {
            path,
            table: table.to_owned(),
            bytes,
        });
        return Ok(());
    };
    if let Some((workbook, sheet)) = file.path.rsplit_once(", sheet ") {
        let before = rows
            .iter()
            .take(at)
            .filter(|other| is_for(other, table))
            .count();
        let next = String::from_utf8_lossy(&file.bytes).lines().count() + 1 + before;
        let what = format!(
            "this table is a sheet of {}, which is left as it is",
            words::quoted(workbook)
        );
        let help = format!(
            "type it there, into row {next} of the sheet {}: {}",
            words::quoted(sheet),
            words::quoted(cells(row))
        );
        return Err(Diagnostic::error(what)
            .at(Location::line(file.path.as_str().into(), next))
            .help(help));
    }
    file.bytes = bytes;
    Ok(())
}

/// A copy of a table as it was.
struct Copy {
    /// Where it goes.
    path: PathBuf,
    bytes: Vec<u8>,
    /// What stands there.
    over: Option<Vec<u8>>,
    /// What it is a copy of.
    of: PathBuf,
}

/// A copy of a table under its name with `.old` behind it, or `.old2` and so on: over an older copy, all of which the table still
/// holds, and over nothing else.
fn copy(path: &Path, bytes: &[u8]) -> Result<Copy, Diagnostic> {
    const MOST: u32 = 999;
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    for number in 1..=MOST {
        let number = if number == 1 {
            String::new()
        } else {
            number.to_string()
        };
        let place = path.with_file_name(format!("{name}.old{number}"));
        let made = |over| Copy {
            path: place.clone(),
            bytes: bytes.to_vec(),
            over,
            of: path.to_owned(),
        };
        let Ok(found) = fs::symlink_metadata(&place) else {
            return Ok(made(None));
        };
        if found.is_file() && !found.permissions().readonly() {
            let there = fs::read(&place)
                .ok()
                .filter(|there| bytes.starts_with(there));
            if there.is_some() {
                return Ok(made(there));
            }
        }
    }
    Err(Diagnostic::error(format!(
        "there is no room for another copy of {}",
        words::quoted(&path.to_string_lossy())
    ))
    .help("move the copies whose names end in `.old` and a number away"))
}
