//! What a landed sum does not hold: duties and fees that ended or have no rate, freight and prices that are not known. Whoever
//! shows the sum in a table of its own shows these rows beside it.

use super::view::{Cell, Grid};
use crate::landed::{Landed, lacking};
use crate::text::words::list;

/// One thing that is not in the sum.
pub(super) struct Lack {
    /// Lasting name for programs, as cautions have it.
    pub(super) id: &'static str,
    /// What it is.
    pub(super) what: String,
    /// The parcels and parts it is about.
    pub(super) about: String,
}

/// Everything that is not in the sum of a build, in the order in which it was said.
pub(super) fn lacks(landed: &Landed) -> Vec<Lack> {
    let said = lacking(&landed.cautions);
    let mut found: Vec<Lack> = said
        .map(|caution| Lack {
            id: caution.id,
            what: caution.text.clone(),
            about: list(&caution.about, "and"),
        })
        .collect();
    for (id, what, about) in [
        (
            "price-open",
            "no price is told yet, so that the part is not in the total",
            &landed.open,
        ),
        (
            "paid-unknown",
            "what was paid is not known and not in the total",
            &landed.totals.paid_unknown,
        ),
    ] {
        if !about.is_empty() {
            found.push(Lack {
                id,
                what: what.to_owned(),
                about: list(about, "and"),
            });
        }
    }
    found
}

/// The same as a table; without rows where nothing lacks.
pub(super) fn grid(landed: &Landed) -> Grid {
    let mut grid = Grid::new("not in the sums", &["id", "what", "about"]);
    grid.rows = lacks(landed)
        .into_iter()
        .map(|lack| {
            vec![
                Cell::text(lack.id),
                Cell::text(lack.what),
                Cell::text(lack.about),
            ]
        })
        .collect();
    grid
}
