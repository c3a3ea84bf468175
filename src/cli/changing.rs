//! The one door through which commands change a book: the folder is locked, the book is read under the lock, edited, read again and
//! asked; only when it reads well, is sound and answers is the change noted in the journal and written, all of it or none.

use std::fs;
use std::path::{Path, PathBuf};

use super::case::{Answer, Answered, Case, read_files, refused, sound, tell, write};
use super::common_args::CommonArgs;
use super::exit::Exit;
use super::target::{is_standard_input, other_names};
use super::undoing::{self, Noted, Wrote};
use super::write::{Change, Door, Over};
use super::{book_files, files, world};
use crate::book::edit::{Edit, Find, Value, edited};
use crate::book::{BookFile, TABLES};
use crate::landed::Jurisdiction;
use crate::steps::Edits;
use crate::text::{Diagnostic, Location, Problems, words};

/// A command that changes a book: what it is called, and what it says where nothing comes of it.
pub(super) struct Order<'a> {
    /// The book, the flags and the form of the answer.
    pub(super) asked: &'a CommonArgs,
    /// The command as typed, for the journal.
    pub(super) command: String,
    /// How the command looks with the folder of a book, for whoever named something else.
    pub(super) example: &'static str,
    /// Whether each table is kept beside the new one as it was.
    pub(super) copies: bool,
    /// The line where nothing was written.
    pub(super) nothing: &'static str,
    /// The line where the tables are written and the answer is not.
    pub(super) all_the_same: &'static str,
}

/// A book before a change, under the lock.
pub(super) struct Before<'a> {
    asked: &'a CommonArgs,
    files: &'a [BookFile],
}

impl Before<'_> {
    /// The book with its tables, read; what is only a warning is said of the book after the change.
    pub(super) fn case(&self) -> Result<Case, Problems> {
        let mut problems = Problems::new();
        let case = read_files(self.asked, self.files, &mut problems);
        case.filter(|_| !problems.refuse()).ok_or(problems)
    }
}

/// Makes the changes and answers; where anything is refused, nothing is written. `make` says which changes the book gets, and what of
/// the book before is to be told; `question` is asked of the book that has them.
pub(super) fn change<T>(
    order: &Order<'_>,
    make: impl FnOnce(&Before<'_>) -> Result<(Edits, T), Problems>,
    question: impl FnOnce(&Case, &Jurisdiction<'_>, T) -> Answered,
) -> Exit {
    let mut problems = Problems::new();
    match written(order, make, question, &mut problems) {
        Ok(answer) => {
            tell(problems);
            let exit = write(&answer, order.asked);
            if exit != Exit::Done {
                world::complain(order.all_the_same);
            }
            exit
        }
        Err(more) => {
            problems.extend(more);
            let exit = refused(problems);
            world::complain(order.nothing);
            exit
        }
    }
}

/// The answer to the book with the changes, once they are written.
fn written<T>(
    order: &Order<'_>,
    make: impl FnOnce(&Before<'_>) -> Result<(Edits, T), Problems>,
    question: impl FnOnce(&Case, &Jurisdiction<'_>, T) -> Answered,
    problems: &mut Problems,
) -> Result<Answer, Problems> {
    let asked = order.asked;
    let folder = Path::new(&asked.of.book);
    let workbook = folder.is_file() && files::is_spreadsheet(&asked.of.book);
    if is_standard_input(&asked.of.book) || (folder.exists() && !folder.is_dir() && !workbook) {
        return Err(Problems::from(no_folder(order)));
    }
    let paths = TABLES.map(|table| folder.join(format!("{table}.csv")));
    let journal = undoing::place(folder);
    let door = if folder.is_dir() {
        Door::open(paths.iter().chain([&journal]).map(PathBuf::as_path))?
    } else {
        Door::none()
    };
    // read under the lock: what another run has just written is there
    let before = book_files::book(&asked.of.book, problems);
    if problems.refuse() {
        return Err(Problems::new());
    }
    let files = &before;
    let (edits, told) = make(&Before { asked, files })?;
    let place = if workbook {
        Place::Workbook(&asked.of.book)
    } else {
        Place::Folder(folder)
    };
    let found = all_edited(&edits, &before, place)?;
    let case = read_files(asked, &found, problems).filter(|_| !problems.refuse());
    let Some(case) = case else {
        return Err(Problems::new());
    };
    let jurisdiction = Jurisdiction::open(&case.tables, &case.ask)?;
    problems.also(&jurisdiction.warnings);
    sound(&case, &jurisdiction)?;
    let answer = question(&case, &jurisdiction, told)?;
    let linked = put((&door, folder), order, &before, &found)?;
    linked
        .into_iter()
        .for_each(|warning| problems.push(warning));
    Ok(answer)
}

/// Where a book lies.
#[derive(Clone, Copy)]
enum Place<'a> {
    Folder(&'a Path),
    Workbook(&'a str),
}

/// The files of a book with all edits, or why some cannot be made.
fn all_edited(
    edits: &Edits,
    before: &[BookFile],
    place: Place<'_>,
) -> Result<Vec<BookFile>, Problems> {
    let mut found = before.to_vec();
    let mut problems = Problems::new();
    for (at, (table, edit)) in edits.iter().enumerate() {
        let earlier = &edits[..at];
        problems.keep(one_edited((table, edit), earlier, &mut found, place));
    }
    if problems.refuse() {
        return Err(problems);
    }
    Ok(found)
}

fn one_edited(
    (table, edit): (&'static str, &Edit),
    earlier: &[(&'static str, Edit)],
    found: &mut Vec<BookFile>,
    place: Place<'_>,
) -> Result<(), Diagnostic> {
    if let Some(file) = found.iter_mut().find(|file| file.table == table) {
        if let Some((workbook, sheet)) = file.path.rsplit_once(", sheet ") {
            return Err(in_sheet(file, (workbook, sheet), edit, earlier));
        }
        file.bytes = edited(file, edit)?.bytes;
        return Ok(());
    }
    let folder = match place {
        Place::Folder(folder) => folder,
        Place::Workbook(name) => return Err(no_sheet(name, table, edit)),
    };
    let path = folder.join(format!("{table}.csv"));
    let mut file = BookFile {
        path: path.to_string_lossy().into_owned(),
        table: table.to_owned(),
        bytes: Vec::new(),
    };
    file.bytes = edited(&file, edit)?.bytes;
    found.push(file);
    Ok(())
}

/// A sheet is left as it is: where each change is to be typed is said.
fn in_sheet(
    file: &BookFile,
    (workbook, sheet): (&str, &str),
    edit: &Edit,
    earlier: &[(&'static str, Edit)],
) -> Diagnostic {
    let added = |edit: &Edit| matches!(edit, Edit::Add(_));
    let row = match edit {
        Edit::Set(Find::Line(line), _) | Edit::Remove(Find::Line(line)) => *line,
        _ => {
            let before = earlier
                .iter()
                .filter(|(table, edit)| *table == file.table && added(edit));
            String::from_utf8_lossy(&file.bytes).lines().count() + 1 + before.count()
        }
    };
    let what = format!(
        "this table is a sheet of {}, which is left as it is",
        words::quoted(workbook)
    );
    let typed = match edit {
        Edit::Add(cells) => words::quoted(&row_of(cells)),
        Edit::Set(_, cells) => cells_of(cells),
        Edit::Remove(_) => "nothing: the row goes".to_owned(),
    };
    let help = format!(
        "type it there, into row {row} of the sheet {}: {typed}",
        words::quoted(sheet),
    );
    Diagnostic::error(what)
        .at(Location::line(file.path.as_str().into(), row))
        .help(help)
}

/// A workbook without the sheet that a change is for.
fn no_sheet(workbook: &str, table: &str, edit: &Edit) -> Diagnostic {
    let what = format!(
        "the workbook {} has no sheet `{table}`, and is left as it is",
        words::quoted(workbook)
    );
    let (Edit::Add(cells) | Edit::Set(_, cells)) = edit else {
        return Diagnostic::error(what);
    };
    let named: Vec<String> = cells.iter().map(|(name, _)| format!("`{name}`")).collect();
    Diagnostic::error(what).help(format!(
        "add a sheet `{table}` with the columns {}, and type below them: {}",
        words::list(&named, "and"),
        words::quoted(&row_of(cells))
    ))
}

/// The text of a cell that is to be written.
fn text_of(value: &Value) -> &str {
    match value {
        Value::Text(text) | Value::Number(text) => text,
    }
}

/// Cells as somebody types them into a row, without empty ones at its end.
fn row_of(cells: &[(String, Value)]) -> String {
    let quoted = |(_, value): &(String, Value)| {
        let text = text_of(value);
        if text.contains([',', '"']) {
            format!("\"{}\"", text.replace('"', "\"\""))
        } else {
            text.to_owned()
        }
    };
    let cells: Vec<String> = cells.iter().map(quoted).collect();
    cells.join(",").trim_end_matches(',').to_owned()
}

/// Cells of a row that change, by column.
fn cells_of(cells: &[(String, Value)]) -> String {
    let told = |(name, value): &(String, Value)| match text_of(value) {
        "" => format!("`{name}` empty"),
        text => format!("{} in `{name}`", words::quoted(text)),
    };
    words::list(&cells.iter().map(told).collect::<Vec<_>>(), "and")
}

/// Puts the tables that have changed into their places, once the journal tells of them, and copies of what they were beside them where
/// the order asks for such. What is to be said of those that have another name still.
fn put(
    (door, folder): (&Door, &Path),
    order: &Order<'_>,
    before: &[BookFile],
    now: &[BookFile],
) -> Result<Vec<Diagnostic>, Problems> {
    let old = |file: &BookFile| before.iter().find(|old| old.table == file.table);
    let changed: Vec<&BookFile> = now
        .iter()
        .filter(|file| old(file).is_none_or(|old| old.bytes != file.bytes))
        .collect();
    let mut copies = Vec::new();
    for file in changed.iter().filter(|_| order.copies) {
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
    let noted = noted(folder, &order.command, &changed, old)?;
    let aside: Vec<Change<'_>> = aside.chain([noted.change()]).collect();
    door.put_together(&aside, &tables.collect::<Vec<_>>())?;
    Ok(linked)
}

/// The journal with the change.
fn noted<'a>(
    folder: &Path,
    command: &str,
    changed: &[&BookFile],
    old: impl Fn(&BookFile) -> Option<&'a BookFile>,
) -> Result<Noted, Diagnostic> {
    let wrote: Vec<Wrote<'_>> = changed
        .iter()
        .map(|file| Wrote {
            path: Path::new(&file.path),
            old: old(file).map(|old| old.bytes.as_slice()),
            new: &file.bytes,
        })
        .collect();
    Noted::of(folder, command, &wrote)
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
        format!("{table} had {names} by hard links, which {verb} to the table as it was before");
    Some(
        Diagnostic::warning(what)
            .help("link it again, or use symbolic links, which lead to the new table"),
    )
}

/// A change is written into a book that is a folder, and nowhere else.
fn no_folder(order: &Order<'_>) -> Diagnostic {
    let what = "a change can be written only into a book that is a folder of tables";
    Diagnostic::error(what).help(format!(
        "say the folder, as in `landwaiter {}`",
        order.example
    ))
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
