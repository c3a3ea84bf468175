//! `rates import` and `rates update`: published files of exchange rates, read into the user's own tables.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::case::{refused, tell};
use super::common_args::CommonArgs;
use super::exit::Exit;
use super::write::{Change, Door, Over};
use super::{files, world};
use crate::landed::{Jurisdiction, Landed};
use crate::report;
use crate::tables::{Differing, Publication};
use crate::text::{Diagnostic, Problems, decode, encode_like, visible};

const USE_THEM: &str =
    "Name the folder in `settings.csv` as `rates`, or with `--rates`, and they are used.\n";

/// At most this many rates are named.
const NAMED: usize = 6;

/// Rates that the user's table has otherwise than the published file: they stand, and it is said how to take the others.
fn warning(differing: &[Differing], target: &Path) -> Option<Diagnostic> {
    let one = |d: &Differing| {
        format!(
            "{} of {}: {} in the table, {} in the file",
            d.what, d.day, d.kept, d.published
        )
    };
    let mut named: Vec<String> = differing.iter().take(NAMED).map(one).collect();
    if differing.len() > NAMED {
        named.push(format!("and {} more", differing.len() - NAMED));
    }
    let target = target.to_string_lossy();
    let what = format!(
        "{target} has other rates than the file, and they are left as they are: {}",
        named.join("; ")
    );
    let help = format!(
        "to take those of the file, delete these rows from {target} and import the file again"
    );
    (!differing.is_empty()).then(|| Diagnostic::warning(what).help(help))
}

/// Adds a published file to the user's own tables: all of it, or nothing.
pub(super) fn import(file: &str, rates: &str) -> Exit {
    let mut problems = Problems::new();
    let read = published(file, &mut problems);
    match read.and_then(|publication| taken(&[publication], rates, &mut problems)) {
        None => refused(problems),
        Some(text) => {
            tell(problems);
            world::print(&format!("{}{USE_THEM}", visible(&text)))
        }
    }
}

/// Adds published files to the tables of a book's own, all of them or none, and says what that moves in the book.
pub(super) fn update(list: &[String], book: &str, rates: Option<&str>) -> Exit {
    let mut problems = Problems::new();
    let folder = rates.map_or_else(|| super::case::folder_of_tables(book), PathBuf::from);
    let folder = folder.to_string_lossy();
    let reckoned = || landed(&CommonArgs::of(book, Some(&folder)));
    let before = if Path::new(&*folder).is_dir() {
        reckoned()
    } else {
        landed(&CommonArgs::of(book, None))
    };
    // every file is read before the first table is touched, so that one that cannot be read leaves all tables as they were
    let read: Vec<Publication> = list
        .iter()
        .filter_map(|file| published(file, &mut problems))
        .collect();
    if problems.refuse() {
        return refused(problems);
    }
    let Some(mut text) = taken(&read, &folder, &mut problems) else {
        return refused(problems);
    };
    text.push_str(&report::moved_text(before.as_ref(), reckoned().as_ref()));
    tell(problems);
    world::print(&visible(&text))
}

/// What a book lands at; none where it cannot be calculated, which `check` and `cost` say.
fn landed(asked: &CommonArgs) -> Option<Landed> {
    let mut problems = Problems::new();
    let case = super::case::read(asked, &mut problems).filter(|_| !problems.refuse())?;
    let jurisdiction = Jurisdiction::open(&case.tables, &case.ask).ok()?;
    crate::landed::cost_at(&case.book, &jurisdiction).ok()
}

/// A published file as it is read; nothing is written.
fn published(file: &str, problems: &mut Problems) -> Option<Publication> {
    let (shown, bytes) = files::read_named(file, problems)?;
    let mut own = Problems::new();
    let found = crate::tables::import(&shown, &bytes, &mut own);
    let sound = !own.refuse();
    problems.extend(own);
    found.filter(|_| sound)
}

/// A table of the user's, as it stands and as it becomes.
struct Table {
    read: Option<Vec<u8>>,
    old: Option<String>,
    now: Option<String>,
}

impl Table {
    fn read(target: &Path, problems: &mut Problems) -> Table {
        let shown = target.to_string_lossy();
        let read = if target.exists() {
            files::read_file(target, &shown, problems)
        } else {
            None
        };
        let old = read
            .as_ref()
            .and_then(|bytes| problems.keep(decode(&shown, bytes)));
        Table {
            now: old.clone(),
            old,
            read,
        }
    }

    /// What is to be written, where anything is new; what was there stays to the byte.
    fn bytes(&self) -> Option<Vec<u8>> {
        let now = self.now.as_ref().filter(|_| self.now != self.old)?;
        let added = self
            .old
            .as_ref()
            .and_then(|old| now.strip_prefix(old.as_str()));
        Some(match (&self.read, added) {
            (Some(read), Some(added)) => [read.as_slice(), &encode_like(read, added)].concat(),
            _ => now.clone().into_bytes(),
        })
    }
}

/// A table into which nothing is put, and why.
fn left_alone(target: &Path, why: &str) -> Diagnostic {
    let shown = crate::text::words::quoted(&target.to_string_lossy());
    Diagnostic::error(format!("{shown} is left as it is: {why}"))
}

/// Published rates, put into the tables they belong to: market rates into `exchange.csv`, customs rates into the folder of the
/// country whose customs published them. All tables are written, or none. What is to be said of it.
fn taken(list: &[Publication], rates: &str, problems: &mut Problems) -> Option<String> {
    let target = |publication: &Publication| {
        Path::new(rates)
            .join(publication.folder)
            .join("exchange.csv")
    };
    let targets: Vec<PathBuf> = list.iter().map(target).collect();
    let door = problems.keep(Door::open(targets.iter().map(PathBuf::as_path)))?;
    let mut tables: BTreeMap<&PathBuf, Table> = BTreeMap::new();
    let (mut told, mut warnings) = (String::new(), Vec::new());
    for (publication, target) in list.iter().zip(&targets) {
        let table = tables
            .entry(target)
            .or_insert_with(|| Table::read(target, problems));
        if problems.refuse() {
            return None;
        }
        let merged = crate::tables::merge(table.now.as_deref(), publication);
        let (text, days) = problems.keep(merged.map_err(|why| left_alone(target, &why)))?;
        let differing = match &table.now {
            Some(now) => crate::tables::differing(now, publication),
            None => Vec::new(),
        };
        warnings.extend(warning(&differing, target));
        let target = target.to_string_lossy();
        told.push_str(&report::import_text(
            publication,
            &days,
            differing.len(),
            &target,
        ));
        if !days.is_empty() {
            table.now = Some(text);
        }
    }
    let written = tables
        .iter()
        .filter_map(|(path, table)| Some((*path, table, table.bytes()?)));
    let changes: Vec<Change<'_>> = written
        .map(|(path, table, bytes)| Change {
            path: path.clone(),
            bytes,
            over: Over::Table(table.read.as_deref()),
            like: None,
        })
        .collect();
    if !changes.is_empty() {
        problems.keep(door.put_together(&[], &changes))?;
    }
    warnings
        .into_iter()
        .for_each(|warning| problems.push(warning));
    Some(told)
}
