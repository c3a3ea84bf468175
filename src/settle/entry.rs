//! A row added to `receipts.csv` or `weighings.csv`, as it is typed: which table it is for, and what stands in which column. How it is
//! written is the book's matter, and writing it is not done here.

use std::collections::BTreeSet;

use crate::book::edit::{Edit, Value};
use crate::book::{Book, Part};
use crate::text::{Diagnostic, words};
use crate::units::number;

/// The tables a row can be added to.
const TABLES: [&str; 2] = ["receipts", "weighings"];

/// The columns in which cells are given.
fn columns(table: &str) -> &'static [&'static str] {
    if table == "weighings" {
        &["what", "mass_g", "scale_g", "basis", "date"]
    } else {
        &[
            "consignment",
            "charge",
            "amount",
            "currency",
            "date",
            "part",
        ]
    }
}

/// The table and the cells of a row as typed: `receipts,Nagihama Cycle,handling,12.00,GBP,2026-10-04`.
fn cells(typed: &str) -> Result<(&'static str, Vec<String>), Diagnostic> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(typed.as_bytes());
    let mut record = csv::StringRecord::new();
    let read = reader.read_record(&mut record).unwrap_or(false);
    let usage =
        || {
            let row = |table: &str| format!("{table},{}", columns(table).join(","));
            Diagnostic::error(format!("{} is not a row to add", words::quoted(typed))).help(
                format!("expected `{}` or `{}`", row("receipts"), row("weighings")),
            )
        };
    let table = record.get(0).and_then(|name| {
        TABLES
            .into_iter()
            .find(|t| *t == name || t.strip_suffix('s') == Some(name))
    });
    let (Some(table), true) = (table, read) else {
        return Err(usage());
    };
    if typed.contains(['\n', '\r']) || !(2..=columns(table).len() + 1).contains(&record.len()) {
        return Err(usage());
    }
    Ok((table, record.iter().skip(1).map(str::to_owned).collect()))
}

/// The parcels of a seller under whose own name nothing travels, as each has a label; none where the name is a parcel's, or nobody's.
pub(super) fn labelled(book: &Book, seller: &str) -> Vec<String> {
    let own = book
        .paid_for()
        .filter(|row| row.seller.as_deref() == Some(seller));
    let ids: BTreeSet<String> = own.filter_map(Part::consignment).collect();
    if ids.contains(seller) {
        Vec::new()
    } else {
        ids.into_iter().collect()
    }
}

/// A typed row with the whole name of its parcel. Where a seller is named and its only parcel has a label, that parcel is meant; of
/// several nobody can know which.
pub(crate) fn with_parcel(typed: &str, book: &Book) -> Result<String, Diagnostic> {
    let (table, mut cells) = cells(typed)?;
    let Some(named) = cells.first_mut().filter(|_| table == "receipts") else {
        return Ok(typed.to_owned());
    };
    match labelled(book, named).as_slice() {
        [] => Ok(typed.to_owned()),
        [one] => {
            named.clone_from(one);
            Ok(row_of(table, &cells))
        }
        several => {
            let what = format!(
                "{} has {} parcels, and the receipt is of one of them",
                words::quoted(named),
                several.len()
            );
            let names: Vec<String> = several.iter().map(|id| words::quoted(id)).collect();
            Err(Diagnostic::error(what).help(format!(
                "say which in its place: {}",
                words::list(&names, "or")
            )))
        }
    }
}

/// A row as it would be typed.
fn row_of(table: &str, cells: &[String]) -> String {
    let cell = |cell: &str| {
        if cell.contains([',', '"']) {
            format!("\"{}\"", cell.replace('"', "\"\""))
        } else {
            cell.to_owned()
        }
    };
    let all = std::iter::once(table).chain(cells.iter().map(String::as_str));
    all.map(cell).collect::<Vec<_>>().join(",")
}

/// Columns in which a number stands.
const NUMBERS: [&str; 3] = ["amount", "mass_g", "scale_g"];

/// The table that a typed row goes to, and the edit that adds it there.
pub(crate) fn added(typed: &str) -> Result<(&'static str, Edit), Diagnostic> {
    let (table, cells) = cells(typed)?;
    // a column that this row has no cell for, and that most rows leave empty, need not be there
    let known = columns(table).iter().take(cells.len().max(5));
    let row = known.enumerate().map(|(at, name)| {
        let cell = cells.get(at).cloned().unwrap_or_default();
        let value = if NUMBERS.contains(name) && number::plain(&cell).is_ok() {
            Value::Number(cell)
        } else {
            Value::Text(cell)
        };
        ((*name).to_owned(), value)
    });
    Ok((table, Edit::Add(row.collect())))
}
