//! `rates`: the rules in force, what is missing in them, and published files read into one's own.

use super::args::{Asked, Format};
use super::case::{Answer, refused, tables, tell, write};
use super::exit::Exit;
use super::write::{Change, Door, Over};
use super::{files, world};
use crate::book::Book;
use crate::landed::{Ask, Desk};
use crate::report::{self};
use crate::tables::Differing;
use crate::text::{Diagnostic, Problems, decode, encode_like};
use std::path::Path;

pub(super) fn rates(asked: &Asked, gaps: Option<i64>, more: bool) -> Exit {
    let mut problems = Problems::new();
    let flags = match asked.settings() {
        Ok(flags) => flags,
        Err(error) => {
            problems.push(Diagnostic::error(error));
            return refused(problems);
        }
    };
    let in_book = asked.book != "." || Path::new("parts.csv").is_file();
    let files = if in_book { files::book(&asked.book, &mut problems) } else { Vec::new() };
    if problems.refuse() {
        return refused(problems);
    }
    let book = if in_book { Book::read(&files, &mut problems) } else { Book::default() };
    let tables = tables(asked, &book, &files, &mut problems);
    let mut settings = book.settings.clone();
    settings.overlay(flags);
    let Some(ask) = problems.keep(Ask::new(&settings, world::today())).filter(|_| !problems.refuse()) else { return refused(problems) };
    match Desk::open(&tables, &ask) {
        Ok(desk) => {
            desk.warnings.iter().for_each(|warning| problems.push(warning.clone()));
            tell(problems);
            let answer = match gaps {
                Some(older_than) => {
                    let gaps = crate::landed::gaps(&desk, older_than);
                    Answer { view: report::gaps_view(&gaps, &ask), json: report::gaps_json(&gaps, &ask) }
                }
                None => {
                    // a program reads rows: its formats have them all
                    let more = more || asked.format != Format::Table;
                    Answer { view: report::rates_view(&desk, &ask, more), json: report::rates_json(&desk, &ask) }
                }
            };
            write(&answer, asked.format)
        }
        Err(more) => {
            problems.extend(more);
            refused(problems)
        }
    }
}

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
    let target = Path::new(rates).join("exchange.csv");
    let bytes = files::read_file(Path::new(file), file, &mut problems);
    let publication = bytes.and_then(|bytes| crate::tables::import(file, &bytes, &mut problems));
    let Some(publication) = publication.filter(|_| !problems.refuse()) else { return refused(problems) };
    let Some(door) = problems.keep(Door::open([target.as_path()])) else { return refused(problems) };
    let read = if target.exists() { files::read_file(&target, &target.to_string_lossy(), &mut problems) } else { None };
    let old = read.as_ref().and_then(|bytes| problems.keep(decode(&target.to_string_lossy(), bytes)));
    if problems.refuse() {
        return refused(problems);
    }
    let (text, days) = match crate::tables::merge(old.as_deref(), &publication) {
        Ok(merged) => merged,
        Err(why) => {
            let shown = crate::text::words::quoted(&target.to_string_lossy());
            problems.push(Diagnostic::error(format!("{shown} is left as it is: {why}")));
            return refused(problems);
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
        return refused(problems);
    }
    let differing = old.as_ref().map(|old| crate::tables::differing(old, &publication)).unwrap_or_default();
    warning(&differing, &target).into_iter().for_each(|warning| problems.push(warning));
    tell(problems);
    world::print(&report::import_text(&publication, &days, differing.len(), &target.to_string_lossy()))
}
