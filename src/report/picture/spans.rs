//! Bars to both sides of zero: how much less and how much more the total may be, and what came against what was told.

use super::axis::Axis;
use super::foot::Foot;
use super::palette::Thing;
use super::sketch::{Hang, Picture, Shape, Sketch, fitted, width_of};
use crate::report::difference::signed;
use crate::report::redact::Figures;
use crate::units::{Dec, Overflow};

/// Something that moves the total: from where to where.
#[derive(Debug, Clone)]
pub(crate) struct Driver {
    /// What it is, in words.
    pub(crate) what: String,
    /// From where to where it is taken to lie.
    pub(crate) assumed: String,
    /// The total at its low end.
    pub(crate) low: Dec,
    /// The total at its high end.
    pub(crate) high: Dec,
}

/// Two figures of one thing: expected and charged, claimed and weighed.
#[derive(Debug, Clone)]
pub(crate) struct Pair {
    /// What it is.
    pub(crate) what: String,
    /// What was said before.
    pub(crate) told: Dec,
    /// What came.
    pub(crate) found: Dec,
}

/// How high a row is at least whose name stands over its bar, in tenths of a line.
const STACKED: i64 = 24;

/// Where the rows of a drawing lie: a name beside its bar, or over it where there is height for that.
struct Rows {
    left: i64,
    right: i64,
    /// From where to where bars may reach.
    bars: (i64, i64),
    height: i64,
    stacked: bool,
    shown: usize,
}

impl Rows {
    /// In a wide picture a name stands beside its bar, as far as it is shorter than nearly half of the sheet.
    fn new(sketch: &Sketch, all: &[Swing]) -> Rows {
        let (left, right, size) = (
            sketch.margin(),
            sketch.width - sketch.margin(),
            sketch.letter,
        );
        let stacked = sketch.shape != Shape::Wide;
        let least = if stacked { STACKED } else { 14 };
        let most = sketch.bottom.map_or(12, |bottom| {
            usize::try_from((bottom - sketch.top) * 10 / (size * least)).unwrap_or(1)
        });
        let shown = all.len().min(most.max(1));
        let rows = i64::try_from(shown).unwrap_or(1).max(1);
        let height = sketch.bottom.map_or(size * 3, |bottom| {
            let height = (bottom - sketch.top) / rows;
            if sketch.shape == Shape::Tall {
                height
            } else {
                height.min(size * 5)
            }
        });
        let names = if stacked {
            0
        } else {
            let widest = all.iter().map(|one| width_of(&one.what, size)).max();
            (widest.unwrap_or(0) + size / 2).min((right - left) * 9 / 20)
        };
        Rows {
            left,
            right,
            bars: (left + names, right),
            height,
            stacked,
            shown,
        }
    }

    /// Writes a name, and at the end of its line what belongs to it where that has room; returned is where its bar lies: from
    /// the top, and how high.
    fn name(&self, sketch: &mut Sketch, y: i64, one: &Swing) -> (i64, i64) {
        let (size, name) = (sketch.letter, one.what.as_str());
        if self.stacked {
            let room = self.right - self.left;
            let name = fitted(name, room, size);
            sketch.text((self.left, y + size * 11 / 10), &name, "ink", Hang::Start);
            let small = sketch.small();
            if width_of(&name, size) + width_of(&one.beside, small) + size < room {
                let at = (self.right, y + size * 11 / 10);
                sketch.text_sized(at, &one.beside, "faint", Hang::End, small);
            }
            // a bar grows with its row
            let high = self.height - size * 17 / 10;
            (y + size * 3 / 2, high.clamp(size * 3 / 4, size * 3))
        } else {
            let name = fitted(name, self.bars.0 - self.left - size / 3, size);
            sketch.text(
                (self.left, y + self.height / 2 + size * 7 / 20),
                &name,
                "ink",
                Hang::Start,
            );
            (y + self.height / 5, self.height * 3 / 5)
        }
    }
}

/// One bar beside the middle of a drawing, or one on each side of it.
struct Swing {
    what: String,
    /// What is written at the end of the line of the name.
    beside: String,
    low: Dec,
    high: Dec,
}

/// Draws bars to both sides of zero, each with its figures at its ends; returned is where they end.
fn swings(
    sketch: &mut Sketch,
    all: &[Swing],
    middle: &str,
    shown: &dyn Fn(Dec) -> String,
) -> Result<i64, Overflow> {
    let size = sketch.letter;
    if !middle.is_empty() {
        sketch.top += size * 3 / 2;
    }
    let rows = Rows::new(sketch, all);
    let all = all.get(..rows.shown).unwrap_or(all);
    let figure = |amount: Dec| signed(&shown(amount));
    let ends = || all.iter().flat_map(|one| [one.low, one.high]);
    let widest = ends()
        .map(|end| width_of(&figure(end), size))
        .max()
        .unwrap_or(0)
        + size;
    let (low, high) = (
        ends().min().unwrap_or(Dec::ZERO).min(Dec::ZERO),
        ends().max().unwrap_or(Dec::ZERO).max(Dec::ZERO),
    );
    let axis = Axis::new(low, high, rows.bars.0 + widest, rows.bars.1 - widest)?;
    let zero = axis.at(Dec::ZERO)?;
    if !middle.is_empty() {
        let half = width_of(middle, size) / 2;
        let x = zero.clamp(rows.left + half, (rows.right - half).max(rows.left + half));
        sketch.text((x, sketch.top - size / 2), middle, "ink bold", Hang::Middle);
    }
    let mut y = sketch.top;
    for one in all {
        let (top, high) = rows.name(sketch, y, one);
        for end in [one.low, one.high].into_iter().filter(|end| !end.is_zero()) {
            let to = axis.at(end)?;
            let class = if end.is_negative() {
                Thing::Tax
            } else {
                Thing::Handling
            }
            .class();
            let said = format!("{}: {}", one.what, figure(end));
            sketch.segment(
                (zero.min(to), top),
                ((to - zero).abs().max(12), high),
                class,
                &said,
            );
            let outwards = if end.is_negative() {
                Hang::End
            } else {
                Hang::Start
            };
            let x = if outwards == Hang::End {
                to - 50
            } else {
                to + 50
            };
            let base = top + high / 2 + size * 7 / 20;
            sketch.text((x, base), &figure(end), "ink", outwards);
        }
        if one.low.is_zero() && one.high.is_zero() {
            let base = top + high / 2 + size * 7 / 20;
            sketch.text((zero + 50, base), &shown(Dec::ZERO), "faint", Hang::Start);
        }
        sketch.line(
            (zero, top - size / 5),
            (zero, top + high + size / 5),
            "line",
        );
        y += rows.height;
    }
    Ok(y)
}

/// What moves the total most: how much less and how much more it is at the ends of each unknown.
pub(crate) fn drivers(
    list: &[Driver],
    total: Dec,
    figures: &Figures,
    shape: Shape,
    foot: &Foot,
) -> Result<Picture, Overflow> {
    let own = figures.as_it_is();
    let apart = |end: Dec| figures.show.difference(end, total);
    let title = match list.first() {
        Some(first) => {
            let swing = figures.show.difference(first.high, first.low)?;
            format!(
                "Largest unknown: {}, worth {}",
                first.what,
                own.amount(swing)
            )
        }
        None => "What moves the total".to_owned(),
    };
    let mut sketch = Sketch::new(shape, &title, foot);
    let swing = |driver: &Driver| {
        Ok(Swing {
            what: driver.what.clone(),
            beside: driver.assumed.clone(),
            low: apart(driver.low)?.min(Dec::ZERO),
            high: apart(driver.high)?.max(Dec::ZERO),
        })
    };
    let all = list
        .iter()
        .map(swing)
        .collect::<Result<Vec<_>, Overflow>>()?;
    let middle = format!("total {}", figures.amount(total));
    let end = swings(&mut sketch, &all, &middle, &|amount| own.amount(amount))?;
    let alt = format!(
        "Bars to both sides of the total of {}: how much less and how much more it is at the ends of each unknown.",
        figures.money(total)
    );
    let ends = [
        "what",
        "assumed",
        "total at its low end",
        "total at its high end",
    ];
    let header = ends.map(str::to_owned).to_vec();
    let row = |d: &Driver| {
        vec![
            d.what.clone(),
            d.assumed.clone(),
            figures.amount(d.low),
            figures.amount(d.high),
        ]
    };
    let rows = list.iter().map(row).collect();
    Ok(sketch.done("drivers", title, alt, (header, rows), end + 40))
}

/// What is compared in pairs.
pub(crate) struct Told<'a> {
    /// For file names and anchors.
    pub(crate) name: &'a str,
    /// The heading.
    pub(crate) title: String,
    /// What the first and the second figure are called.
    pub(crate) words: (&'a str, &'a str),
    /// How figures are written.
    pub(crate) shown: &'a dyn Fn(Dec) -> String,
}

/// The differences between what was said before and what came, the largest first. Where there are too many, those that differ
/// least are left to the table.
pub(crate) fn pairs(
    told: &Told<'_>,
    list: &[Pair],
    shape: Shape,
    foot: &Foot,
) -> Result<Picture, Overflow> {
    let (words, shown) = (told.words, told.shown);
    let mut sketch = Sketch::new(shape, &told.title, foot);
    let mut all = Vec::with_capacity(list.len());
    for pair in list {
        let apart = pair.found.minus(pair.told)?;
        all.push(Swing {
            what: pair.what.clone(),
            beside: format!("{} {}", words.0, shown(pair.told)),
            low: apart.min(Dec::ZERO),
            high: apart.max(Dec::ZERO),
        });
    }
    let size_of = |one: &Swing| one.low.abs().max(one.high);
    all.sort_by(|a, b| size_of(b).cmp(&size_of(a)).then(a.what.cmp(&b.what)));
    let end = swings(&mut sketch, &all, "", shown)?;
    let alt = format!(
        "The differences between {} and {}, the largest first: to the left is less, to the right more.",
        words.0, words.1
    );
    let header = ["what", words.0, words.1, "difference"]
        .map(str::to_owned)
        .to_vec();
    let row = |pair: &Pair| {
        let apart = pair.found.minus(pair.told)?;
        Ok(vec![
            pair.what.clone(),
            shown(pair.told),
            shown(pair.found),
            signed(&shown(apart)),
        ])
    };
    let rows = list.iter().map(row).collect::<Result<Vec<_>, Overflow>>()?;
    Ok(sketch.done(told.name, told.title.clone(), alt, (header, rows), end + 40))
}
