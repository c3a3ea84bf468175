//! `rates import` and `rates update`: published files of exchange rates, read into the user's own tables.

use std::path::{Path, PathBuf};

use super::args::Asked;
use super::case::{refused, tell};
use super::exit::Exit;
use super::write::{Change, Door, Over};
use super::{files, world};
use crate::landed::{Desk, Landed};
use crate::report;
use crate::tables::Differing;
use crate::text::{Diagnostic, Problems, decode, encode_like, visible};

const USE_THEM: &str = "Name the folder in `settings.csv` as `rates`, or with `--rates`, and they are used.\n";

/// Rates so many of which are named.
const NAMED: usize = 6;

/// Rates that the user's table has otherwise than the published file: they stand, and it is said how to take the others.
fn warning(differing: &[Differing], target: &Path) -> Option<Diagnostic> {
    let one = |d: &Differing| format!("{} of {}: {} in the table, {} in the file", d.what, d.day, d.kept, d.published);
    let mut named: Vec<String> = differing.iter().take(NAMED).map(one).collect();
    if differing.len() > NAMED {
        named.push(format!("and {} more", differing.len() - NAMED));
    }
    let target = target.to_string_lossy();
    let what = format!("{target} has other rates than the file, and they are left as they are: {}", named.join("; "));
    let help = format!("to take those of the file, delete these rows from {target} and import the file again");
    (!differing.is_empty()).then(|| Diagnostic::warning(what).help(help))
}

/// Adds a published file to the user's own tables: all of it, or nothing.
pub(super) fn import(file: &str, rates: &str) -> Exit {
    let mut problems = Problems::new();
    match taken(file, rates, &mut problems).filter(|_| !problems.refuse()) {
        None => refused(problems),
        Some(text) => {
            tell(problems);
            world::print(&format!("{}{USE_THEM}", visible(&text)))
        }
    }
}

/// Adds published files to the tables of a book's own, one after another, and says what that moves in the book.
pub(super) fn update(list: &[String], book: &str, rates: Option<&str>) -> Exit {
    let mut problems = Problems::new();
    let folder = rates.map_or_else(|| super::case::folder_of_tables(book), PathBuf::from);
    let folder = folder.to_string_lossy();
    let reckoned = || landed(&Asked::of(book, Some(&folder)));
    let before = if Path::new(&*folder).is_dir() { reckoned() } else { landed(&Asked::of(book, None)) };
    let mut text = String::new();
    for file in list {
        match taken(file, &folder, &mut problems) {
            Some(told) => text.push_str(&told),
            None => return refused(problems),
        }
    }
    text.push_str(&report::moved_text(before.as_ref(), reckoned().as_ref()));
    tell(problems);
    world::print(&visible(&text))
}

/// What a book lands at; none where it cannot be reckoned, which `check` and `cost` say.
fn landed(asked: &Asked) -> Option<Landed> {
    let mut problems = Problems::new();
    let case = super::case::read(asked, &mut problems).filter(|_| !problems.refuse())?;
    let desk = Desk::open(&case.tables, &case.ask).ok()?;
    crate::landed::cost_at(&case.book, &desk).ok()
}

/// One published file, put into the table it belongs to: market rates into `exchange.csv`, customs rates into the folder of
/// the country whose customs published them. What is to be said of it.
fn taken(file: &str, rates: &str, problems: &mut Problems) -> Option<String> {
    let (shown, bytes) = files::read_named(file, problems)?;
    let publication = crate::tables::import(&shown, &bytes, problems).filter(|_| !problems.refuse())?;
    let target = Path::new(rates).join(publication.folder).join("exchange.csv");
    let door = problems.keep(Door::open([target.as_path()]))?;
    let read = if target.exists() { files::read_file(&target, &target.to_string_lossy(), problems) } else { None };
    let old = read.as_ref().and_then(|bytes| problems.keep(decode(&target.to_string_lossy(), bytes)));
    if problems.refuse() {
        return None;
    }
    let (text, days) = match crate::tables::merge(old.as_deref(), &publication) {
        Ok(merged) => merged,
        Err(why) => {
            let shown = crate::text::words::quoted(&target.to_string_lossy());
            problems.push(Diagnostic::error(format!("{shown} is left as it is: {why}")));
            return None;
        }
    };
    if !days.is_empty() {
        // what was there stays to the byte
        let added = old.as_ref().and_then(|old| text.strip_prefix(old.as_str()));
        let bytes = match (&read, added) {
            (Some(read), Some(added)) => [read.as_slice(), &encode_like(read, added)].concat(),
            _ => text.into_bytes(),
        };
        let change = Change { path: target.clone(), bytes, over: Over::Table(read.as_deref()), like: None };
        problems.keep(door.put(&[change]));
    }
    if problems.refuse() {
        return None;
    }
    let differing = old.as_ref().map(|old| crate::tables::differing(old, &publication)).unwrap_or_default();
    warning(&differing, &target).into_iter().for_each(|warning| problems.push(warning));
    Some(report::import_text(&publication, &days, differing.len(), &target.to_string_lossy()))
}
