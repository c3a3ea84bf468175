//! A plan written down: what it chose becomes the build, what it leaves out options.

use std::collections::{BTreeMap, BTreeSet};

use super::Edits;
use super::built::{Build, as_build};
use crate::book::{Book, Part};
use crate::plan::Plan;
use crate::text::Diagnostic;

/// The edits that make a plan the build of its book. Rows of which nothing is known yet stay where the plan puts nothing in their place.
pub(crate) fn plan(book: &Book, plan: &Plan) -> Result<Edits, Diagnostic> {
    let mut rows: BTreeSet<usize> = plan.rows.iter().map(|(row, _)| *row).collect();
    let own = |row: &&Part| rows.contains(&row.at.number());
    let old: BTreeSet<usize> = book.build().map(|row| row.at.number()).collect();
    let comes = book.parts.iter().filter(own);
    let filled: BTreeSet<&str> = comes
        .filter(|row| !old.contains(&row.at.number()))
        .flat_map(|row| row.places.iter().map(String::as_str))
        .collect();
    let stays = |row: &&Part| {
        row.is_open()
            && !row
                .places
                .iter()
                .any(|place| filled.contains(place.as_str()))
    };
    let open: Vec<usize> = book
        .build()
        .filter(stays)
        .map(|row| row.at.number())
        .collect();
    rows.extend(open);
    let by_number: BTreeMap<usize, &Part> = book
        .parts
        .iter()
        .map(|row| (row.at.number(), row))
        .collect();
    let apart = |(row, label): &&(usize, String)| {
        by_number.get(row).is_some_and(|part| part.parcel != *label)
    };
    let labels = plan.rows.iter().filter(apart).cloned().collect();
    as_build(book, &Build { rows, labels })
}
