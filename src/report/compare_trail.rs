//! How the mass of every bike came to the basis of a comparison, step by step.

use super::difference::signed;
use super::view::{Cell, Grid};
use crate::compare::Comparison;
use crate::value::basis::Step;

/// Each bike as it was told, and every step by which its mass came to the basis.
pub(super) fn trail_of(comparison: &Comparison) -> Grid {
    let mut grid = Grid::new("masses", &["bike", "step", "g", "row"]);
    for against in &comparison.bikes {
        let bike = &against.reference;
        grid.rows.push(vec![
            Cell::text(&bike.name),
            Cell::text(format!("as told, {}", bike.told_basis.name())),
            Cell::number(bike.told.grouped()),
            Cell::text(&bike.row),
        ]);
        for step in &bike.mass.steps {
            grid.rows.push(vec![
                Cell::Empty,
                Cell::text(step_words(step)),
                Cell::number(signed(&step.grams.likely.grouped())),
                Cell::text(step.row.to_string()),
            ]);
        }
    }
    grid
}

fn step_words(step: &Step) -> String {
    match &step.own {
        Some(part) => format!("{}: the build's own, {part}", step.text),
        None if step.grams.is_exact() => step.text.clone(),
        None => format!(
            "{}: {} to {}",
            step.text,
            step.grams.low.grouped(),
            step.grams.high.grouped()
        ),
    }
}
