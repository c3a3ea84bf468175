//! What the cells of a table are to say after an edit, against which its outcome is held before anybody gets it.

use crate::text::written::Written;

/// The names of a table and the texts of all its cells.
pub(super) struct Intent {
    /// The names of the header.
    pub(super) names: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl Intent {
    /// What a table says now.
    pub(super) fn of(table: &Written) -> Intent {
        Intent {
            names: table.names.clone(),
            rows: table.rows.iter().map(|row| row.values.clone()).collect(),
        }
    }

    /// A cell is to say this.
    pub(super) fn set(&mut self, row: usize, column: usize, text: &str) {
        let Some(cells) = self.rows.get_mut(row) else {
            return;
        };
        if cells.len() <= column {
            cells.resize(column + 1, String::new());
        }
        text.clone_into(&mut cells[column]);
    }

    /// Whether nothing stands in a row.
    pub(super) fn is_blank(&self, row: usize) -> bool {
        self.rows
            .get(row)
            .is_some_and(|cells| cells.iter().all(|cell| cell.trim().is_empty()))
    }

    /// The names that are added.
    pub(super) fn name(&mut self, added: &[&'static str]) {
        self.names
            .extend(added.iter().map(|name| (*name).to_owned()));
    }

    /// One more row.
    pub(super) fn push(&mut self, cells: Vec<String>) {
        self.rows.push(cells);
    }

    /// One row less.
    pub(super) fn remove(&mut self, row: usize) {
        self.rows.remove(row);
    }

    /// Whether a table says this: a row may end in cells without text.
    pub(super) fn is_said_by(&self, table: &Written) -> bool {
        let alike = |wanted: &[String], found: &[String]| {
            let said = |cells: &[String], at: usize| {
                cells
                    .get(at)
                    .map_or(String::new(), |cell| cell.trim().to_owned())
            };
            (0..wanted.len().max(found.len())).all(|at| said(wanted, at) == said(found, at))
        };
        self.names == table.names
            && self.rows.len() == table.rows.len()
            && self
                .rows
                .iter()
                .zip(&table.rows)
                .all(|(wanted, found)| alike(wanted, &found.values))
    }
}
