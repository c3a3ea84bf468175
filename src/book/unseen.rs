//! What a spreadsheet keeps from the eye and is read all the same: rows and columns that are hidden or struck out, said once.

use std::collections::BTreeSet;

use super::leaf::{Leaf, Value, is_blank};
use crate::text::words::{few, letters, list};
use crate::text::{Diagnostic, Location, Problems};

/// Warns of what of a table is hidden or struck out.
pub(super) fn warn(
    shown: &str,
    leaf: &Leaf,
    header: usize,
    names: &[String],
    problems: &mut Problems,
) {
    if leaf.hidden {
        let place = Location::line(shown.into(), header + 1);
        problems.push(Diagnostic::warning("this sheet is hidden, and read all the same").at(place));
    }
    let rows: BTreeSet<usize> = (header..leaf.rows.len())
        .filter(|at| leaf.rows.get(*at).is_some_and(|row| !is_blank(row)))
        .collect();
    let hidden = Unseen {
        rows: leaf
            .hidden_rows
            .iter()
            .copied()
            .filter(|row| rows.contains(row))
            .collect(),
        columns: leaf
            .hidden_columns
            .iter()
            .copied()
            .filter(|at| names.get(*at).is_some_and(|name| !name.is_empty()))
            .collect(),
        cells: BTreeSet::new(),
    };
    let struck = struck(leaf, &rows);
    let filter = "a row that is not to count is deleted; a filter does not take it out";
    let delete = "delete what is not to count; what is bought already is told by `standing`";
    for (what, unseen, help) in [("hidden", hidden, filter), ("struck out", struck, delete)] {
        // where it is said is the first row that is named; columns are at the header
        let at = Location::line(shown.into(), unseen.first_row().unwrap_or(header) + 1);
        let said = unseen.said();
        if !said.is_empty() {
            let text = format!("{what}, and read all the same: {said}");
            problems.push(Diagnostic::warning(text).at(at).help(help));
        }
    }
}

/// What is not seen, or seen as if it did not count.
#[derive(Default)]
struct Unseen {
    rows: BTreeSet<usize>,
    columns: BTreeSet<usize>,
    cells: BTreeSet<(usize, usize)>,
}

impl Unseen {
    fn first_row(&self) -> Option<usize> {
        self.rows
            .iter()
            .copied()
            .chain(self.cells.iter().map(|(row, _)| *row))
            .min()
    }

    fn said(&self) -> String {
        let named = |one: &str, many: &str, all: Vec<String>| match all.len() {
            0 => None,
            1 => Some(format!("{one} {}", all.concat())),
            _ => Some(format!("{many} {}", few(&all))),
        };
        let rows = named(
            "row",
            "rows",
            self.rows.iter().map(|row| (row + 1).to_string()).collect(),
        );
        let columns = named(
            "column",
            "columns",
            self.columns.iter().map(|column| letters(*column)).collect(),
        );
        let cells = named(
            "cell",
            "cells",
            self.cells
                .iter()
                .map(|(row, column)| format!("{}{}", letters(*column), row + 1))
                .collect(),
        );
        let all: Vec<String> = [rows, columns, cells].into_iter().flatten().collect();
        list(&all, "and")
    }
}

/// Struck cells, as whole rows and columns where every cell of them with something in it is struck.
fn struck(leaf: &Leaf, rows: &BTreeSet<usize>) -> Unseen {
    let full = |row: usize, column: usize| {
        leaf.rows
            .get(row)
            .and_then(|cells| cells.get(column))
            .is_some_and(|cell| *cell != Value::Empty)
    };
    let cells: BTreeSet<(usize, usize)> = leaf
        .struck
        .iter()
        .copied()
        .filter(|(row, _)| rows.contains(row))
        .collect();
    let width = |row: usize| leaf.rows.get(row).map_or(0, Vec::len);
    let mut found = Unseen::default();
    let struck_rows: BTreeSet<usize> = cells.iter().map(|(row, _)| *row).collect();
    found.rows = struck_rows
        .into_iter()
        .filter(|row| (0..width(*row)).all(|at| !full(*row, at) || cells.contains(&(*row, at))))
        .collect();
    let below: Vec<usize> = rows.iter().copied().skip(1).collect();
    let struck_columns: BTreeSet<usize> = cells
        .iter()
        .filter(|(row, _)| !found.rows.contains(row))
        .map(|(_, column)| *column)
        .collect();
    let whole = |column: usize| {
        below
            .iter()
            .all(|row| !full(*row, column) || cells.contains(&(*row, column)))
    };
    found.columns = struck_columns
        .into_iter()
        .filter(|column| whole(*column))
        .collect();
    found.cells = cells
        .into_iter()
        .filter(|(row, column)| !found.rows.contains(row) && !found.columns.contains(column))
        .collect();
    found
}
