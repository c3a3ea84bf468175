//! The ladder: upgrades in the order in which money buys grams, each rung starting where the one below it ends.

use super::axis::Axis;
use super::foot::Foot;
use super::palette::Thing;
use super::sketch::{Hang, Picture, Shape, Sketch, fitted};
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
pub fn ladder(rungs: &[Rung], shown: usize, figures: &Figures, shape: Shape, foot: &Foot) -> Result<Picture, Overflow> {
    let title = "The ladder: where the next money buys most grams".to_owned();
    let mut sketch = Sketch::new(shape, &title, foot);
    let (left, right) = (sketch.margin(), sketch.width - sketch.margin());
    let size = sketch.letter;
    let whole = Grams::total(rungs.iter().map(|r| r.saved))?;
    let count = i64::try_from(rungs.len()).unwrap_or(1).max(1);
    let row = sketch.bottom.map_or(size * 3, |bottom| ((bottom - sketch.top - size * 3) / count).min(size * 8));
    let axis = Axis::new(Dec::ZERO, whole.0, left, right)?;
    let base = sketch.top + row * count;
    for mark in axis.marks(5)? {
        let x = axis.at(mark)?;
        sketch.line((x, base), (x, base + size / 3), "line");
        sketch.text(
            (x, base + size * 3 / 2),
            &mark.grouped(0),
            "faint",
            if mark.is_zero() {
                Hang::Start
            } else if x + size * 3 / 2 > right {
                Hang::End
            } else {
                Hang::Middle
            },
        );
    }
    sketch.text((right, base + size * 11 / 4), "grams taken off, together", "faint", Hang::End);
    let (mut run, mut spent, mut y) = (Dec::ZERO, Dec::ZERO, sketch.top);
    let mut table = Vec::new();
    for rung in rungs.iter().take(shown) {
        let (from, next) = (axis.at(run)?, run.plus(rung.saved.0)?);
        let to = axis.at(next)?;
        sketch.rect((from, y + size * 8 / 5), ((to - from).max(12), row - size * 2), Thing::Upgrade.class());
        let grams = rung.saved.0.grouped(0);
        let figure = if rung.cost.is_positive() {
            format!("{grams} g for {}", figures.amount(rung.cost))
        } else {
            format!("{grams} g, and {} less", figures.amount(rung.cost.abs()))
        };
        let figure = rung.per_kg.map_or(figure.clone(), |per_kg| format!("{figure}, {} a kg", figures.amount(per_kg)));
        let room = right - left - super::sketch::width_of(&figure, size) - size;
        sketch.text((left, y + size * 6 / 5), &fitted(&rung.what, room, size), "ink bold", Hang::Start);
        sketch.text((right, y + size * 6 / 5), &figure, "ink", Hang::End);
        (run, spent) = (next, spent.plus(rung.cost)?);
        table.push(vec![
            rung.what.clone(),
            rung.saved.0.grouped(rung.saved.0.decimals().min(1)),
            figures.amount(rung.cost),
            rung.per_kg.map_or("-".to_owned(), |per_kg| figures.amount(per_kg)),
            run.grouped(run.decimals().min(1)),
            figures.amount(spent),
        ]);
        y += row;
    }
    sketch.line((left, base), (right, base), "line");
    let named: Vec<&str> = rungs.iter().take(shown).map(|r| r.what.as_str()).collect();
    let alt = format!("Steps in the order of cost for each gram: {}.", named.join(", then "));
    let header = ["step", "saves g", "adds", "per kg", "g together", "spent together"].map(str::to_owned).to_vec();
    let name = if shown < rungs.len() { format!("ladder-{shown}") } else { "ladder".to_owned() };
    Ok(sketch.done(&name, title, alt, (header, table), base + size * 3))
}
