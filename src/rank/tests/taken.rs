//! Steps of a ranking that are taken: the book costs and weighs what was foretold, to the penny, and nothing typed is lost.

use std::collections::BTreeSet;

use super::text;
use crate::book::Book;
use crate::landed::{Jurisdiction, cost_at};
use crate::made;
use crate::rank::rank_at;
use crate::steps::{Edits, take};
use crate::text::{Problems, draw};
use crate::units::Grams;

/// The cells of a table, row by row, by column.
fn cells(table: &str) -> Vec<Vec<(String, String)>> {
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let header = reader.headers().unwrap().clone();
    let row = |row: csv::StringRecord| {
        let cells = header.iter().zip(row.iter());
        let cells = cells.map(|(column, cell)| (column.to_owned(), cell.to_owned()));
        cells.collect()
    };
    reader.records().map(|one| row(one.unwrap())).collect()
}

/// Whatever stood in a cell stands there still, but for what a row is and which parcel it travels in.
#[track_caller]
fn nothing_is_lost(old: &str, new: &str) {
    let (old, new) = (cells(old), cells(new));
    assert_eq!(old.len(), new.len());
    for (old, new) in old.iter().zip(&new) {
        for (column, cell) in old.iter().filter(|(_, cell)| !cell.is_empty()) {
            let now = new.iter().find(|(name, _)| name == column).unwrap();
            let kept = now.1 == *cell || ["role", "parcel"].contains(&column.as_str());
            assert!(kept, "{column}: {cell} became {} of {new:?}", now.1);
        }
    }
}

/// A book of these tables after edits, and its table of parts.
fn book_with(tables: &[(&str, &str)], edits: &Edits) -> (Book, String) {
    let files = crate::steps::changed(tables, edits);
    let mut problems = Problems::new();
    let book = Book::read(&files, &mut problems);
    assert!(!problems.refuse(), "{}", draw(&problems, false));
    let parts = files.into_iter().find(|file| file.table == "parts");
    (book, String::from_utf8(parts.unwrap().bytes).unwrap())
}

/// What was taken of one book: how many options, other offers among them, and parts that went apart.
#[derive(Debug, Default)]
struct Tried {
    options: usize,
    offers: usize,
    apart: usize,
    cured: usize,
}

fn every_step_holds(number: u64, tried: &mut Tried) {
    let typed = text(number, 8, 18);
    let tables = made::borrowed(&typed);
    let (_, parts) = tables.iter().find(|(name, _)| *name == "parts").unwrap();
    let book = made::taken(&tables);
    let ask = made::ask(&book);
    let jurisdiction = Jurisdiction::open(made::built_in(), &ask).unwrap();
    let mass = cost_at(&book, &jurisdiction).unwrap().totals.mass;
    let ranking = rank_at(&book, &jurisdiction).unwrap();
    let mut seen = BTreeSet::new();
    for option in ranking.options.iter().filter(|one| seen.insert(&one.row)) {
        let about = format!("book {number}: {}", option.title());
        let (edits, taken) =
            match take(&book, &jurisdiction, &option.part, option.seller.as_deref()) {
                Ok(made) => made,
                Err(why) => {
                    let alike = why
                        .iter()
                        .all(|one| one.message.contains("cannot be told apart"));
                    assert!(alike, "{about}: {why:?}");
                    continue;
                }
            };
        let (now, table) = book_with(&tables, &edits);
        let totals = cost_at(&now, &jurisdiction)
            .unwrap_or_else(|why| panic!("{about}: {}", draw(&why, false)))
            .totals;
        assert_eq!(
            totals.landed().unwrap().amount(),
            taken.foretold().unwrap(),
            "{about}"
        );
        let usual = Grams::total(option.usual.iter().map(crate::rank::Cure::mass)).unwrap();
        let foretold = mass.minus(option.difference.saved).unwrap();
        assert_eq!(totals.mass, foretold.minus(usual).unwrap(), "{about}");
        nothing_is_lost(parts, &table);
        tried.options += 1;
        tried.offers += usize::from(option.offer);
        tried.apart += option.labels.len();
        tried.cured += option.usual.len();
    }
}

#[test]
fn what_is_taken_costs_and_weighs_what_was_foretold() {
    let mut tried = Tried::default();
    for number in 0..made::share(300, 2) {
        every_step_holds(number + made::seed(), &mut tried);
    }
    assert!(
        tried.options > 15 && tried.offers > 1 && tried.apart > 1,
        "{tried:?}"
    );
}
