//! Two figures of one thing: how low and how high the total goes, what was told and what came.

use super::axis::Axis;
use super::foot::Foot;
use super::palette::Thing;
use super::sketch::{Hang, Picture, Shape, Sketch, fitted, width_of};
use crate::report::redact::Figures;
use crate::units::{Dec, Overflow};

/// Something that moves the total: from where to where.
#[derive(Debug, Clone)]
pub(crate) struct Driver {
    /// What it is, in words.
    pub(crate) what: String,
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
    fn new(sketch: &Sketch, count: usize, (names, figures): (i64, i64)) -> Rows {
        let (left, right, size) = (
            sketch.margin(),
            sketch.width - sketch.margin(),
            sketch.letter,
        );
        let most = sketch
            .bottom
            .map_or(12, |bottom| {
                usize::try_from((bottom - sketch.top) / (size * 7 / 5)).unwrap_or(1)
            })
            .max(1);
        let shown = count.min(most);
        let rows = i64::try_from(shown).unwrap_or(1).max(1);
        let height = sketch.bottom.map_or(size * 14 / 5, |bottom| {
            ((bottom - sketch.top) / rows).min(size * 5)
        });
        let stacked = height >= size * 14 / 5;
        let bars = if stacked {
            (left, right - size * figures)
        } else {
            (left + size * names, right - size * figures)
        };
        Rows {
            left,
            right,
            bars,
            height,
            stacked,
            shown,
        }
    }

    /// Writes a name; returned is where its bar lies: from the top, and how high.
    fn name(&self, sketch: &mut Sketch, y: i64, name: &str) -> (i64, i64) {
        let size = sketch.letter;
        if self.stacked {
            let name = fitted(name, self.right - self.left, size);
            sketch.text((self.left, y + size * 11 / 10), &name, "ink", Hang::Start);
            (
                y + size * 7 / 5,
                (self.height - size * 9 / 5).clamp(size, size * 9 / 5),
            )
        } else {
            let name = fitted(name, self.bars.0 - self.left - 60, size);
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

/// What moves the total most: the total at both ends of each unknown.
pub(crate) fn drivers(
    list: &[Driver],
    total: Dec,
    figures: &Figures,
    shape: Shape,
    foot: &Foot,
) -> Result<Picture, Overflow> {
    let title = "What moves the total".to_owned();
    let mut sketch = Sketch::new(shape, &title, foot);
    let size = sketch.letter;
    let rows = Rows::new(&sketch, list.len(), (12, 0));
    let low = list
        .iter()
        .map(|d| d.low)
        .chain([total])
        .min()
        .unwrap_or(total);
    let high = list
        .iter()
        .map(|d| d.high)
        .chain([total])
        .max()
        .unwrap_or(total);
    let axis = Axis::new(low, high, rows.bars.0 + size * 5, rows.bars.1 - size * 5)?;
    let middle = axis.at(total)?;
    let mut y = sketch.top;
    for driver in list.iter().take(rows.shown) {
        let (from, to) = (axis.at(driver.low)?, axis.at(driver.high)?);
        let (top, high) = rows.name(&mut sketch, y, &driver.what);
        sketch.rect((from, top), ((to - from).max(12), high), "faint");
        sketch.line((middle, top), (middle, top + high + size / 5), "line");
        let base = top + high / 2 + size * 7 / 20;
        sketch.text(
            (from.min(middle) - 50, base),
            &figures.amount(driver.low),
            "ink",
            Hang::End,
        );
        sketch.text(
            (to.max(middle) + 50, base),
            &figures.amount(driver.high),
            "ink",
            Hang::Start,
        );
        y += rows.height;
    }
    let alt = format!(
        "Bars around the total of {}: how low and how high it goes with each unknown.",
        figures.money(total)
    );
    let ends = ["what", "total at its low end", "total at its high end"];
    let header = ends.map(str::to_owned).to_vec();
    let row = |d: &Driver| {
        vec![
            d.what.clone(),
            figures.amount(d.low),
            figures.amount(d.high),
        ]
    };
    Ok(sketch.done(
        "drivers",
        title,
        alt,
        (header, list.iter().map(row).collect()),
        y + 40,
    ))
}

/// What is compared in pairs.
pub(crate) struct Told<'a> {
    /// For file names and anchors.
    pub(crate) name: &'a str,
    /// The heading.
    pub(crate) title: &'a str,
    /// What the first and the second figure are called.
    pub(crate) words: (&'a str, &'a str),
    /// How figures are written.
    pub(crate) shown: &'a dyn Fn(Dec) -> String,
}

/// Two bars for each thing: what was said before, pale and ending in a line, and what came, dark. Where there are too many,
/// those that differ least are left to the table.
pub(crate) fn pairs(
    told: &Told<'_>,
    list: &[Pair],
    shape: Shape,
    foot: &Foot,
) -> Result<Picture, Overflow> {
    let (words, shown) = (told.words, told.shown);
    let mut sketch = Sketch::new(shape, told.title, foot);
    let size = sketch.letter;
    legend(&mut sketch, words);
    let rows = Rows::new(&sketch, list.len(), (11, 10));
    let most = list
        .iter()
        .flat_map(|p| [p.told, p.found])
        .max()
        .unwrap_or(Dec::ONE)
        .max(Dec::ONE);
    let axis = Axis::new(Dec::ZERO, most, rows.bars.0, rows.bars.1)?;
    let mut y = sketch.top;
    for pair in drawn(list, rows.shown)? {
        let (top, high) = rows.name(&mut sketch, y, &pair.what);
        let (told, found) = (
            axis.at(pair.told.max(Dec::ZERO))?,
            axis.at(pair.found.max(Dec::ZERO))?,
        );
        sketch.rect((rows.bars.0, top), (told - rows.bars.0, high), "band");
        sketch.rect(
            (rows.bars.0, top + high / 4),
            (found - rows.bars.0, high / 2),
            Thing::Build.class(),
        );
        sketch.line((told, top), (told, top + high), "line");
        let figure = format!("{} / {}", shown(pair.told), shown(pair.found));
        sketch.text(
            (rows.right, top + high / 2 + size * 7 / 20),
            &figure,
            "ink",
            Hang::End,
        );
        y += rows.height;
    }
    let alt = format!(
        "For each: {} as a broad pale bar ending in a line, {} as a dark one within it.",
        words.0, words.1
    );
    let header = vec!["what".to_owned(), words.0.to_owned(), words.1.to_owned()];
    let row = |pair: &Pair| vec![pair.what.clone(), shown(pair.told), shown(pair.found)];
    Ok(sketch.done(
        told.name,
        told.title.to_owned(),
        alt,
        (header, list.iter().map(row).collect()),
        y + 40,
    ))
}

/// Those that differ most, in the order of the list.
fn drawn(list: &[Pair], shown: usize) -> Result<Vec<&Pair>, Overflow> {
    let mut apart = Vec::with_capacity(list.len());
    for (at, pair) in list.iter().enumerate() {
        apart.push((pair.found.minus(pair.told)?.abs(), at));
    }
    apart.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut kept: Vec<usize> = apart.into_iter().take(shown).map(|(_, at)| at).collect();
    kept.sort_unstable();
    Ok(kept.into_iter().filter_map(|at| list.get(at)).collect())
}

/// Which bar is which.
fn legend(sketch: &mut Sketch, words: (&str, &str)) {
    let (size, y) = (sketch.letter, sketch.top + sketch.letter / 2);
    let x = sketch.margin();
    sketch.rect((x, y - size * 3 / 4), (size, size * 4 / 5), "band");
    sketch.line(
        (x + size, y - size * 3 / 4),
        (x + size, y + size / 20),
        "line",
    );
    sketch.text((x + size * 7 / 5, y), words.0, "ink", Hang::Start);
    let x = x + size * 3 + width_of(words.0, size);
    sketch.rect(
        (x, y - size / 2),
        (size, size * 2 / 5),
        Thing::Build.class(),
    );
    sketch.text((x + size * 7 / 5, y), words.1, "ink", Hang::Start);
    sketch.top = y + size * 3 / 4;
}
