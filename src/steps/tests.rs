//! Tests of the steps, by what they ask.

mod placed;
mod receive;
mod seen;
mod weigh;

use crate::book::edit::edited;
use crate::book::{Book, BookFile};
use crate::made;
use crate::steps::Edits;
use crate::text::Diagnostic;

/// A book of these tables; warnings are no matter here.
fn book_of(tables: &[(&str, &str)]) -> Book {
    made::taken(tables)
}

/// The table that edits change, after them.
fn after(tables: &[(&str, &str)], edits: &Edits) -> String {
    let found = changed(tables, edits);
    let file = found.into_iter().find(|file| file.table == edits[0].0);
    String::from_utf8(file.unwrap().bytes).unwrap()
}

/// The files of these tables, after edits.
pub(crate) fn changed(tables: &[(&str, &str)], edits: &Edits) -> Vec<BookFile> {
    let mut files = made::files(tables);
    for (table, edit) in edits {
        if !files.iter().any(|file| file.table == *table) {
            files.push(BookFile {
                path: format!("{table}.csv"),
                table: (*table).to_owned(),
                bytes: Vec::new(),
            });
        }
        let file = files.iter_mut().find(|file| file.table == *table).unwrap();
        file.bytes = edited(file, edit).unwrap().bytes;
    }
    files
}

/// A wish is refused, and says why.
#[track_caller]
fn refused(edits: Result<Edits, Diagnostic>, why: &str) {
    let found = edits.unwrap_err();
    assert!(found.message.contains(why), "{}", found.message);
    assert!(
        found.help.is_some() || !why.contains("there is no"),
        "{found:?}"
    );
}
