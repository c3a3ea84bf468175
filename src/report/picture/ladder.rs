//! The ladder: upgrades in the order in which money buys grams, each rung starting where the one below it ends. Where the
//! ladder takes no gram off, the upgrades stand for themselves: each bar begins at zero, and nothing is added up.

use super::axis::Axis;
use super::foot::Foot;
use super::palette::Thing;
use super::sketch::{Hang, Picture, Shape, Sketch, fitted, width_of, wrap};
use crate::rank::{Ranked, Ranking};
use crate::report::redact::Figures;
use crate::text::words::list;
use crate::units::{Dec, Grams, Overflow};
use crate::value::Quadrant;

/// One rung.
#[derive(Debug, Clone)]
pub(crate) struct Rung {
    /// What is bought.
    pub(crate) what: String,
    /// What it adds to the bill.
    pub(crate) cost: Dec,
    /// The grams it takes off.
    pub(crate) saved: Grams,
    /// Money for a kilogram; none where nothing is paid for it.
    pub(crate) per_kg: Option<Dec>,
}

/// Rungs in their order.
#[derive(Debug, Clone, Default)]
pub(crate) struct Ladder {
    /// The rungs.
    pub rungs: Vec<Rung>,
    /// Whether each was calculated given those before; else each stands on its own.
    pub(crate) climbed: bool,
}

impl Ladder {
    /// With the steps that a picture of a shape has no room for as one at the end; what stands on its own is not added up, and
    /// the last are left out.
    pub(crate) fn folded(mut self, shape: Shape) -> Result<Ladder, Overflow> {
        let most = match shape {
            Shape::Wide => 5,
            Shape::Square => 8,
            Shape::Page | Shape::Tall => 12,
        };
        if !self.climbed {
            self.rungs.truncate(most);
        }
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

/// The upgrades of a ranking, each on its own: everything that is sure to take grams off, cheapest kilogram first.
pub(crate) fn rungs(ranking: &Ranking) -> Result<Vec<Rung>, Overflow> {
    let mut found: Vec<Rung> = Vec::new();
    let up = |option: &&Ranked| {
        matches!(
            option.difference.quadrant(),
            Quadrant::TradeOff | Quadrant::Better
        ) && !option.last
    };
    for option in ranking
        .options
        .iter()
        .filter(up)
        .filter(|option| option.difference.saved.0.is_positive())
    {
        found.push(Rung {
            what: option.title(),
            cost: option.difference.cost,
            saved: option.difference.saved,
            per_kg: option.difference.per_kg()?,
        });
    }
    found.sort_by(|a, b| a.per_kg.cmp(&b.per_kg).then(a.what.cmp(&b.what)));
    Ok(found)
}

/// How high a rung is drawn, and on how many lines its words stand. A name and what it brings stand beside each other where
/// there is room, else one over the other where the picture is high enough for that.
fn heights(
    rungs: &[Rung],
    figures: &Figures,
    (width, size): (i64, i64),
    room: Option<i64>,
) -> (i64, i64) {
    let least = |lines: i64| size * (9 + 7 * lines) / 5;
    let is_long = |rung: &Rung| {
        width_of(&rung.what, size) + width_of(&figure(rung, figures), size) > width * 4 / 5
    };
    let stacked = rungs.iter().any(is_long) && room.is_none_or(|room| room >= least(2));
    let lines = if stacked { 2 } else { 1 };
    (room.unwrap_or(least(lines)), lines)
}

/// What the table under the picture says of a rung; what a kilogram costs only where prices are open.
fn cells(rung: &Rung, figures: &Figures, open: bool) -> Vec<String> {
    let mut cells = vec![
        rung.what.clone(),
        rung.saved.grouped(),
        figures.amount(rung.cost),
    ];
    if open {
        let per_kg = rung.per_kg.map(|per_kg| figures.amount(per_kg));
        cells.push(per_kg.unwrap_or_else(|| "-".to_owned()));
    }
    cells
}

/// The header of that table.
fn header(climbed: bool, open: bool) -> Vec<String> {
    let mut header = vec![if climbed { "step" } else { "upgrade" }, "saves g", "adds"];
    header.extend(open.then_some("per kg"));
    if climbed {
        header.push("g together");
        header.extend(open.then_some("spent together"));
    }
    header.into_iter().map(str::to_owned).collect()
}

/// The first rung that takes grams off, as a heading.
fn finding(ladder: &Ladder, figures: &Figures) -> String {
    let word = if ladder.climbed {
        "Next step"
    } else {
        "Most grams for the money"
    };
    let mut rungs = ladder.rungs.iter();
    match rungs.find(|rung| rung.saved.0.is_positive()) {
        Some(rung) if figures.hidden.is_none() => {
            let grams = rung.saved.0.grouped(0);
            let cost = figures.show.whole(rung.cost.abs());
            let beside = if rung.cost.is_positive() {
                format!("{grams} g for {cost}")
            } else {
                format!("{grams} g, and {cost} less")
            };
            format!("{word}: {}, {beside}", rung.what)
        }
        Some(rung) => format!("{word}: {}", rung.what),
        None => "Upgrades, each added to the order".to_owned(),
    }
}

/// The picture in words.
fn alt(ladder: &Ladder, shown: usize) -> String {
    let rungs = ladder.rungs.iter().take(shown);
    let named: Vec<&str> = rungs.map(|rung| rung.what.as_str()).collect();
    if ladder.climbed {
        format!(
            "Steps in the order of cost for each gram, each given those before: {}.",
            named.join(", then ")
        )
    } else {
        format!(
            "Upgrades in the order of cost for each gram, each added to the order and not to one another: {}.",
            list(&named, "and")
        )
    }
}

/// Draws the first `shown` rungs on axes that are fixed by all of them.
pub(crate) fn ladder(
    ladder: &Ladder,
    shown: usize,
    figures: &Figures,
    shape: Shape,
    foot: &Foot,
) -> Result<Picture, Overflow> {
    let rungs = &ladder.rungs;
    let title = finding(ladder, figures);
    let mut sketch = Sketch::new(shape, &title, foot);
    let right = sketch.width - sketch.margin();
    let size = sketch.letter;
    let saved = || rungs.iter().map(|rung| rung.saved);
    let longest = if ladder.climbed {
        Grams::total(saved())?
    } else {
        saved().max().unwrap_or(Grams::ZERO)
    };
    // Under the scale what stands on its own says so.
    let under_scale = if ladder.climbed {
        size * 2
    } else {
        size * 9 / 2
    };
    let count = i64::try_from(rungs.len()).unwrap_or(1).max(1);
    let room = sketch
        .bottom
        .map(|bottom| (bottom - sketch.top - under_scale) / count)
        .map(|room| {
            if shape == Shape::Tall {
                room
            } else {
                room.min(size * 6)
            }
        });
    let (row, lines) = heights(rungs, figures, (right - sketch.margin(), size), room);
    let stacked = lines == 2;
    let axis = Axis::new(Dec::ZERO, longest.0, sketch.margin(), right)?;
    let base = sketch.top + row * count;
    grams_axis(&mut sketch, &axis, base)?;
    if !ladder.climbed {
        let small = sketch.small();
        let mut y = base + size * 14 / 5;
        for line in wrap(BY_ITSELF, right - sketch.margin(), small) {
            sketch.text_sized((sketch.margin(), y), &line, "faint", Hang::Start, small);
            y += small * 6 / 5;
        }
    }
    let (mut run, mut spent, mut y) = (Dec::ZERO, Dec::ZERO, sketch.top);
    // where prices are hidden, what a rung adds is told once: neither by the kilogram nor added up
    let open = figures.hidden.is_none();
    let mut table = Vec::new();
    for rung in rungs.iter().take(shown) {
        let next = if ladder.climbed {
            run.plus(rung.saved.0)?
        } else {
            rung.saved.0
        };
        let under = size * 7 * lines / 5 + size / 5;
        let (from, to) = (axis.at(run)?, axis.at(next)?);
        let said = format!("{}: {}", rung.what, figure(rung, figures));
        sketch.segment(
            (from, y + under),
            (
                (to - from).max(12),
                (row - under - size * 2 / 5).clamp(size / 3, size * 3 / 2),
            ),
            Thing::Upgrade.class(),
            &said,
        );
        words(&mut sketch, rung, figures, y, stacked);
        let mut cells = cells(rung, figures, open);
        if ladder.climbed {
            (run, spent) = (next, spent.plus(rung.cost)?);
            cells.push(Grams(run).grouped());
            cells.extend(open.then(|| figures.amount(spent)));
        }
        table.push(cells);
        y += row;
    }
    let alt = alt(ladder, shown);
    let header = header(ladder.climbed, open);
    let name = if shown < rungs.len() {
        format!("ladder-{shown}")
    } else {
        "ladder".to_owned()
    };
    Ok(sketch.done(&name, title, alt, (header, table), base + under_scale))
}

/// Said on the picture of upgrades that no ladder joins.
const BY_ITSELF: &str = "the ladder ends before them: each added to the order, none to another";

/// What a rung brings.
fn figure(rung: &Rung, figures: &Figures) -> String {
    let grams = rung.saved.0.grouped(0);
    let figure = if rung.cost.is_positive() {
        format!("{grams} g for {}", figures.amount(rung.cost))
    } else {
        format!("{grams} g, and {} less", figures.amount(rung.cost.abs()))
    };
    rung.per_kg.map_or(figure.clone(), |per_kg| {
        format!("{figure}, {} a kg", figures.amount(per_kg))
    })
}

fn words(sketch: &mut Sketch, rung: &Rung, figures: &Figures, y: i64, stacked: bool) {
    let (left, right, size) = (
        sketch.margin(),
        sketch.width - sketch.margin(),
        sketch.letter,
    );
    let figure = figure(rung, figures);
    let room = if stacked {
        right - left
    } else {
        right - left - width_of(&figure, size) - size
    };
    sketch.text(
        (left, y + size * 6 / 5),
        &fitted(&rung.what, room * 9 / 10, size),
        "ink bold",
        Hang::Start,
    );
    if stacked {
        sketch.text(
            (left, y + size * 13 / 5),
            &fitted(&figure, room, size),
            "ink",
            Hang::Start,
        );
    } else {
        sketch.text((right, y + size * 6 / 5), &figure, "ink", Hang::End);
    }
}

/// The scale of grams under the rungs.
fn grams_axis(sketch: &mut Sketch, axis: &Axis, base: i64) -> Result<(), Overflow> {
    let (left, right, size) = (
        sketch.margin(),
        sketch.width - sketch.margin(),
        sketch.letter,
    );
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
        sketch.text(
            (x, base + size * 3 / 2),
            &format!("{} g", mark.grouped(0)),
            "faint",
            hang,
        );
    }
    sketch.line((left, base), (right, base), "line");
    Ok(())
}
