//! The journal beside the tables of a book, written by what writes them; and `undo`, which takes the last change in it back.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::case::refused;
use super::exit::Exit;
use super::files::read_file;
use super::target::is_standard_input;
use super::world;
use super::write::{Change, Door, Over};
use crate::book::TABLES;
use crate::book::edit::{Back, Entry, JOURNAL, Journal, Splice, state_of, taken_back};
use crate::text::{Diagnostic, Problems, words};

/// Where the journal of a folder is.
pub(super) fn place(folder: &Path) -> PathBuf {
    folder.join(format!("{JOURNAL}.csv"))
}

/// A table that a command is about to write: where, what it was, what it will be.
pub(super) struct Wrote<'a> {
    pub(super) path: &'a Path,
    pub(super) old: Option<&'a [u8]>,
    pub(super) new: &'a [u8],
}

/// The journal of a folder with one change more. It is written before the tables are: what a killed run noted and did not write
/// counts for nothing.
pub(super) struct Noted {
    path: PathBuf,
    old: Option<Vec<u8>>,
    new: Vec<u8>,
}

impl Noted {
    /// Notes what a command writes. The folder is locked.
    pub(super) fn of(
        folder: &Path,
        command: &str,
        files: &[Wrote<'_>],
    ) -> Result<Noted, Diagnostic> {
        let path = place(folder);
        let old = bytes_of(&path)?;
        let journal =
            Journal::read(&path.to_string_lossy(), old.as_deref())?.without_unmade(|file| {
                state_of(bytes_of(&folder.join(file)).ok().flatten().as_deref())
            })?;
        let entry = |file: &Wrote<'_>| {
            let splice = Splice::of(file.old.unwrap_or_default(), file.new)
                .ok_or_else(|| Diagnostic::defect("a table was written that is no text"))?;
            Ok(Entry {
                change: journal.next(),
                date: world::today().to_string(),
                command: command.to_owned(),
                file: name_of(file.path),
                splice,
                was: state_of(file.old),
                is: state_of(Some(file.new)),
            })
        };
        let entries: Result<Vec<Entry>, Diagnostic> = files.iter().map(entry).collect();
        Ok(Noted {
            new: journal.with(&entries?),
            path,
            old,
        })
    }

    /// The file to be written.
    pub(super) fn change(&self) -> Change<'_> {
        Over::Table(self.old.as_deref()).into_change(&self.path, &self.new, None)
    }
}

fn name_of(path: &Path) -> String {
    let name = path.file_name().unwrap_or_default();
    name.to_string_lossy().into_owned()
}

/// What a file holds; none when there is none.
fn bytes_of(path: &Path) -> Result<Option<Vec<u8>>, Diagnostic> {
    match fs::metadata(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        _ => {}
    }
    let mut problems = Problems::new();
    let read = read_file(path, &path.to_string_lossy(), &mut problems);
    let problem = problems.iter().next().cloned();
    problem.map_or(Ok(read), Err)
}

/// Takes the last change back and says so.
pub(super) fn undo(book: &str) -> Exit {
    match undone(book) {
        Ok(said) => world::print(&said),
        Err(problems) => {
            let exit = refused(problems);
            world::complain("Nothing was taken back.\n");
            exit
        }
    }
}

/// A file that a change is taken back in.
struct Undone {
    path: PathBuf,
    now: Option<Vec<u8>>,
    back: Back,
}

fn undone(book: &str) -> Result<String, Problems> {
    let folder = Path::new(book);
    if is_standard_input(book) || !folder.is_dir() {
        let what = "a change can be taken back only in a book that is a folder of tables";
        let help = "say the folder, as in `landwaiter undo DIR`";
        return Err(Diagnostic::error(what).help(help).into());
    }
    let path = place(folder);
    let tables = TABLES.map(|table| folder.join(format!("{table}.csv")));
    let door = Door::open(tables.iter().chain([&path]).map(PathBuf::as_path))?;
    let noted = bytes_of(&path)?;
    let journal = Journal::read(&path.to_string_lossy(), noted.as_deref())?;
    let last = journal.last();
    let Some(first) = last.first() else {
        let what = format!(
            "there is nothing to take back: {} notes no change",
            words::quoted(&path.to_string_lossy())
        );
        return Err(Diagnostic::error(what).into());
    };
    let mut problems = Problems::new();
    let files: Vec<Undone> = last
        .iter()
        .filter_map(|entry| problems.keep(looked_up(folder, entry)))
        .collect();
    if problems.refuse() {
        return Err(problems);
    }
    put_back(&door, &files)?;
    let rest = journal.without_last()?;
    let change = Over::Table(noted.as_deref()).into_change(&path, rest.bytes(), None);
    door.put(&[change])?;
    Ok(told(first, &files, &rest))
}

/// What becomes of the file of an entry. A journal is a file that anybody may change: it leads to nothing but tables.
fn looked_up(folder: &Path, entry: &Entry) -> Result<Undone, Diagnostic> {
    let table = entry.file.strip_suffix(".csv");
    if !table.is_some_and(|table| TABLES.contains(&table)) {
        let what = format!("{} is not a table of a book", words::quoted(&entry.file));
        let help = "somebody changed `journal.csv`: delete the rows of its last change";
        return Err(Diagnostic::error(what).help(help));
    }
    let path = folder.join(&entry.file);
    let now = bytes_of(&path)?;
    let back = taken_back(entry, &path.to_string_lossy(), now.as_deref())?;
    Ok(Undone { path, now, back })
}

/// The bytes that a file gets back.
fn change_of(file: &Undone) -> Option<Change<'_>> {
    match &file.back {
        Back::Bytes(bytes) => {
            let over = Over::Table(file.now.as_deref());
            Some(over.into_change(&file.path, bytes, None))
        }
        Back::Gone | Back::Already => None,
    }
}

/// Writes the tables as they were; what the change had made goes.
fn put_back(door: &Door, files: &[Undone]) -> Result<(), Diagnostic> {
    let tables: Vec<Change<'_>> = files.iter().filter_map(change_of).collect();
    if !tables.is_empty() {
        door.put_together(&[], &tables)?;
    }
    for file in files.iter().filter(|file| file.back == Back::Gone) {
        door.remove(&file.path, file.now.as_deref().unwrap_or_default())?;
    }
    Ok(())
}

/// What was done, in words.
fn told(change: &Entry, files: &[Undone], rest: &Journal) -> String {
    let mut said = format!("Taken back: {}, of {}.\n", change.command, change.date);
    for file in files {
        let name = words::quoted(&file.path.to_string_lossy());
        said.push_str(&match file.back {
            Back::Bytes(_) => format!("{name} is as it was before.\n"),
            Back::Gone => format!("{name}, which it had made, is gone.\n"),
            Back::Already => format!("{name} was as before already.\n"),
        });
    }
    said.push_str(if rest.last().is_empty() {
        "No earlier change is noted.\n"
    } else {
        "`landwaiter undo` takes the change before it back.\n"
    });
    said
}
