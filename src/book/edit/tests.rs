//! Tests of edits, by what they ask, with what they share.

mod by_hand;
mod journal;
mod random;

use super::*;

/// Texts of cells, the awkward ones among them.
const WORDS: [&str; 16] = [
    "Bar",
    "Stem",
    "Größe 54",
    "27.5\" tyre",
    "a,b",
    "a;b",
    "#1 bar",
    "x\ty",
    "say \"so\"",
    "12.50",
    "1299",
    "TW",
    "日本",
    "one\ntwo",
    "- ",
    "",
];

fn table(table: &str, text: &str) -> BookFile {
    BookFile {
        path: format!("{table}.csv"),
        table: table.to_owned(),
        bytes: text.into(),
    }
}

fn text(value: &str) -> Value {
    Value::Text(value.to_owned())
}

fn number(value: &str) -> Value {
    Value::Number(value.to_owned())
}

fn key(column: &str, value: &str) -> Find {
    Find::Key(vec![(column.to_owned(), value.to_owned())])
}

fn set_one(find: Find, column: &str, value: Value) -> Edit {
    Edit::Set(find, vec![(column.to_owned(), value)])
}
