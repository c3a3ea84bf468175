//! Upgrades as money against grams: what each adds to the order upwards, the grams it saves to the right.

use super::foot::Foot;
use super::naming::name_marks;
use super::palette::Thing;
use super::scatter::{Mark, axes, dots, field, square};
use super::sketch::{Picture, Shape, Sketch};
use crate::report::redact::Figures;
use crate::units::{Dec, Grams, Overflow};

/// One change.
#[derive(Debug, Clone)]
pub(crate) struct Upgrade {
    /// What is bought, and of whom where that is the change.
    pub(crate) what: String,
    /// The same without the seller, for the picture.
    pub(crate) short: String,
    /// What it adds to the bill.
    pub(crate) cost: Dec,
    /// The grams it takes off.
    pub(crate) saved: Grams,
    /// Whether the saving is too small to be sure of.
    pub(crate) doubtful: bool,
}

impl Upgrade {
    fn mark(&self, best: bool) -> Mark {
        Mark {
            name: self.short.clone(),
            price: self.cost,
            mass: self.saved,
            build: best,
            frontier: false,
        }
    }
}

/// Draws changes, the best first, under the advice as a heading.
pub(crate) fn upgrades(
    list: &[Upgrade],
    advice: &str,
    figures: &Figures,
    (shape, foot): (Shape, &Foot),
) -> Result<Picture, Overflow> {
    let mut sketch = Sketch::new(shape, advice, foot);
    let marks: Vec<Mark> = list
        .iter()
        .enumerate()
        .map(|(at, one)| one.mark(at == 0))
        .collect();
    // The build as it is: nothing more to pay, and no gram less.
    let still = Mark {
        name: String::new(),
        price: Dec::ZERO,
        mass: Grams::ZERO,
        build: false,
        frontier: false,
    };
    let field = field(&sketch, &[&marks[..], &[still]].concat(), None)?;
    axes(&mut sketch, &field, figures, ("adds", "saves, g"))?;
    let (x, y) = (field.x.at(Dec::ZERO)?, field.y.at(Dec::ZERO)?);
    sketch.line((field.left, y), (field.right, y), "line");
    sketch.line((x, field.top), (x, field.bottom), "line");
    let mut taken = vec![
        (field.left, y - 25, field.right, y + 25),
        (x - 25, field.top, x + 25, field.bottom),
    ];
    let dots = dots(&field, &marks, &mut taken)?;
    for ((one, mark), at) in list.iter().zip(&marks).zip(&dots) {
        let sure = if one.doubtful {
            ", too little to be sure of"
        } else {
            ""
        };
        let (cost, saved) = (figures.money(one.cost), one.saved.grouped());
        let said = format!("{}: adds {cost}, saves {saved} g{sure}", one.what);
        if mark.build {
            square(&mut sketch, *at, &said);
        } else {
            sketch.mark(*at, 62, Thing::Upgrade.class(), &said);
        }
        if one.doubtful {
            sketch.dot(*at, 30, "paper");
        }
    }
    name_marks(&mut sketch, &field, &marks, &dots, &taken);
    let alt = format!(
        "What each change adds to the order upwards, the grams it saves to the right; a square for the best. {advice}."
    );
    let header = ["change", "adds", "saves g"].map(str::to_owned).to_vec();
    let row = |one: &Upgrade| {
        vec![
            one.what.clone(),
            figures.amount(one.cost),
            one.saved.grouped(),
        ]
    };
    let table = (header, list.iter().map(row).collect());
    let height = field.bottom + sketch.letter * 3;
    Ok(sketch.done("upgrades", advice.to_owned(), alt, table, height))
}
