//! The ladder: upgrades in the order in which money buys grams, each rung starting where the one below it ends.

use super::axis::Axis;
use super::foot::Foot;
use super::palette::Thing;
use super::sketch::{Hang, Picture, Shape, Sketch, fitted, width_of};
use crate::rank::Ranking;
use crate::report::veil::Figures;
use crate::units::{Dec, Grams, Overflow};
use crate::value::Quadrant;

/// One rung.
#[derive(Debug, Clone)]
pub struct Rung {
    /// What is bought.
    pub what: String,
    /// What it adds to the bill.
    pub cost: Dec,
    /// The grams it takes off.
    pub saved: Grams,
    /// Money for a kilogram; none where nothing is paid for it.
    pub per_kg: Option<Dec>,
}

/// Rungs in their order.
#[derive(Debug, Clone, Default)]
pub struct Ladder {
    /// The rungs.
    pub rungs: Vec<Rung>,
    /// Whether each was reckoned given those before; else each stands by itself.
    pub climbed: bool,
}

impl Ladder {
    /// With the steps that a picture of a shape has no room for as one at the end.
    pub fn folded(mut self, shape: Shape) -> Result<Ladder, Overflow> {
        let most = match shape {
            Shape::Wide => 5,
            Shape::Square => 8,
            Shape::Page | Shape::Tall => 12,
        };
        if self.rungs.len() > most {
            let rest = self.rungs.split_off(most - 1);
            self.rungs.push(Rung {
                what: format!("{} more steps", rest.len()),
                cost: Dec::total(rest.iter().map(|rung| rung.cost))?,
                saved: Grams::total(rest.iter().map(|rung| rung.saved))?,
                per_kg: None,
            });
        }
        Ok(self)
    }
}

/// The rungs of a ranking: everything that takes grams off, cheapest kilogram first, each place once.
pub fn rungs(ranking: &Ranking) -> Result<Vec<Rung>, Overflow> {
    let mut found: Vec<Rung> = Vec::new();
    let mut replaced: Vec<&String> = Vec::new();
    for option in ranking.options.iter().filter(|o| matches!(o.difference.quadrant(), Quadrant::TradeOff | Quadrant::Better)) {
        if option.difference.saved.0.is_positive() && !option.replaces.iter().any(|part| replaced.contains(&part)) {
            replaced.extend(&option.replaces);
            found.push(Rung {
                what: option.part.clone(),
                cost: option.difference.cost,
                saved: option.difference.saved,
                per_kg: option.difference.per_kg()?,
            });
        }
    }
    found.sort_by(|a, b| a.per_kg.cmp(&b.per_kg).then(a.what.cmp(&b.what)));
    Ok(found)
}

/// Draws the first `shown` rungs on axes that are fixed by all of them.
pub fn ladder(ladder: &Ladder, shown: usize, figures: &Figures, shape: Shape, foot: &Foot) -> Result<Picture, Overflow> {
    let rungs = &ladder.rungs;
    let title = if ladder.climbed { "The ladder of next best steps" } else { "Upgrades by cost per gram" };
    let mut sketch = Sketch::new(shape, title, foot);
    let right = sketch.width - sketch.margin();
    let size = sketch.letter;
    let whole = Grams::total(rungs.iter().map(|r| r.saved))?;
    let count = i64::try_from(rungs.len()).unwrap_or(1).max(1);
    // A name and what it brings stand beside each other where there is room, else one over the other.
    let stacked =
        rungs.iter().any(|rung| width_of(&rung.what, size) + width_of(&figure(rung, figures), size) > (right - sketch.margin()) * 4 / 5);
    let lines = if stacked { 2 } else { 1 };
    let least = size * (9 + 7 * lines) / 5;
    let row = sketch.bottom.map_or(least, |bottom| ((bottom - sketch.top - size * 2) / count).min(size * 6));
    let axis = Axis::new(Dec::ZERO, whole.0, sketch.margin(), right)?;
    let base = sketch.top + row * count;
    grams_axis(&mut sketch, &axis, base)?;
    let (mut run, mut spent, mut y) = (Dec::ZERO, Dec::ZERO, sketch.top);
    let mut table = Vec::new();
    for rung in rungs.iter().take(shown) {
        let next = run.plus(rung.saved.0)?;
        let under = size * 7 * lines / 5 + size / 5;
        let (from, to) = (axis.at(run)?, axis.at(next)?);
        sketch.rect(
            (from, y + under),
            ((to - from).max(12), (row - under - size * 2 / 5).clamp(size / 3, size * 3 / 2)),
            Thing::Upgrade.class(),
        );
        words(&mut sketch, rung, figures, y, stacked);
        (run, spent) = (next, spent.plus(rung.cost)?);
        table.push(vec![
            rung.what.clone(),
            rung.saved.grouped(),
            figures.amount(rung.cost),
            rung.per_kg.map_or("-".to_owned(), |per_kg| figures.amount(per_kg)),
            Grams(run).grouped(),
            figures.amount(spent),
        ]);
        y += row;
    }
    let named: Vec<&str> = rungs.iter().take(shown).map(|r| r.what.as_str()).collect();
    let order = if ladder.climbed { "each reckoned given those before" } else { "each reckoned by itself" };
    let alt = format!("Steps in the order of cost for each gram, {order}: {}.", named.join(", then "));
    let header = ["step", "saves g", "adds", "per kg", "g together", "spent together"].map(str::to_owned).to_vec();
    let name = if shown < rungs.len() { format!("ladder-{shown}") } else { "ladder".to_owned() };
    Ok(sketch.done(&name, title.to_owned(), alt, (header, table), base + size * 2))
}

/// What a rung brings.
fn figure(rung: &Rung, figures: &Figures) -> String {
    let grams = rung.saved.0.grouped(0);
    let figure = if rung.cost.is_positive() {
        format!("{grams} g for {}", figures.amount(rung.cost))
    } else {
        format!("{grams} g, and {} less", figures.amount(rung.cost.abs()))
    };
    rung.per_kg.map_or(figure.clone(), |per_kg| format!("{figure}, {} a kg", figures.amount(per_kg)))
}

fn words(sketch: &mut Sketch, rung: &Rung, figures: &Figures, y: i64, stacked: bool) {
    let (left, right, size) = (sketch.margin(), sketch.width - sketch.margin(), sketch.letter);
    let figure = figure(rung, figures);
    let room = if stacked { right - left } else { right - left - width_of(&figure, size) - size };
    sketch.text((left, y + size * 6 / 5), &fitted(&rung.what, room * 9 / 10, size), "ink bold", Hang::Start);
    if stacked {
        sketch.text((left, y + size * 13 / 5), &fitted(&figure, room, size), "ink", Hang::Start);
    } else {
        sketch.text((right, y + size * 6 / 5), &figure, "ink", Hang::End);
    }
}

/// The scale of grams under the rungs.
fn grams_axis(sketch: &mut Sketch, axis: &Axis, base: i64) -> Result<(), Overflow> {
    let (left, right, size) = (sketch.margin(), sketch.width - sketch.margin(), sketch.letter);
    for mark in axis.marks(5)? {
        let x = axis.at(mark)?;
        let hang = if mark.is_zero() {
            Hang::Start
        } else if x + size * 3 / 2 > right {
            Hang::End
        } else {
            Hang::Middle
        };
        sketch.line((x, base), (x, base + size / 3), "line");
        sketch.text((x, base + size * 3 / 2), &format!("{} g", mark.grouped(0)), "faint", hang);
    }
    sketch.line((left, base), (right, base), "line");
    Ok(())
}
