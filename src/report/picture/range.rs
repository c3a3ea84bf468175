//! How far the landed cost can move: the range in which nine of ten outcomes lie, the landed cost in it, the budget's mark, and
//! the same without what is disputed.

use super::axis::Axis;
use super::foot::Foot;
use super::palette::Thing;
use super::sketch::{Hang, Picture, Shape, Sketch, width_of};
use crate::report::redact::Figures;
use crate::units::{Dec, Overflow};

/// A cost, and the sums between which it is 90 % likely to be.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Reach {
    /// What `cost` says.
    pub(crate) cost: Dec,
    /// One outcome of twenty is below.
    pub(crate) low: Dec,
    /// One outcome of twenty is above.
    pub(crate) high: Dec,
}

/// The range of a landed cost, in the destination's money.
#[derive(Debug, Clone)]
pub(crate) struct Spread {
    /// As it is counted.
    pub(crate) counted: Reach,
    /// With what is disputed decided otherwise, and what that is called: `without the anti-dumping duty`.
    pub(crate) otherwise: Option<(String, Reach)>,
    /// The budget.
    pub(crate) budget: Option<Dec>,
}

impl Spread {
    /// Whether there is anything to draw: a cost that cannot move and has no budget has no range.
    pub(crate) fn is_drawn(&self) -> bool {
        let moves = |reach: &Reach| reach.low != reach.high;
        moves(&self.counted) || self.otherwise.is_some() || self.budget.is_some()
    }

    fn reaches(&self) -> impl Iterator<Item = Reach> {
        let otherwise = self.otherwise.iter().map(|(_, reach)| *reach);
        std::iter::once(self.counted).chain(otherwise)
    }

    /// All sums that are drawn must have room on the axis.
    fn axis(&self, left: i64, right: i64) -> Result<Axis, Overflow> {
        let sums: Vec<Dec> = self
            .reaches()
            .flat_map(|reach| [reach.cost, reach.low, reach.high])
            .chain(self.budget)
            .collect();
        let low = sums.iter().copied().min().unwrap_or(Dec::ZERO);
        let high = sums.iter().copied().max().unwrap_or(Dec::ONE);
        Axis::new(low, high, left, right)
    }

    /// The range in words.
    pub(crate) fn alt(&self, figures: &Figures) -> String {
        let said = |reach: &Reach| {
            format!(
                "90 % likely between {} and {}",
                figures.amount(reach.low),
                figures.money(reach.high)
            )
        };
        let otherwise = self
            .otherwise
            .as_ref()
            .map_or(String::new(), |(what, reach)| {
                format!("; {what} {}, {}", figures.money(reach.cost), said(reach))
            });
        let budget = self.budget.map_or(String::new(), |most| {
            format!("; the budget is {}", figures.money(most))
        });
        format!(
            "Landed cost {}, {}{otherwise}{budget}.",
            figures.money(self.counted.cost),
            said(&self.counted)
        )
    }
}

/// The range alone, for the page.
pub(crate) fn range(spread: &Spread, figures: &Figures) -> Result<Picture, Overflow> {
    let mut sketch = Sketch::new(Shape::Page, "", &Foot::default());
    let thick = sketch.letter * 3 / 5;
    let sides = (sketch.margin(), sketch.width - sketch.margin());
    let end = draw(&mut sketch, spread, (thick, sides), figures)?;
    let table = (Vec::new(), Vec::new());
    Ok(sketch.done("range", String::new(), spread.alt(figures), table, end + 60))
}

/// Draws a range from the sheet's top between two sides, its bars so thick; returned is where it ends.
pub(super) fn draw(
    sketch: &mut Sketch,
    spread: &Spread,
    (thick, sides): (i64, (i64, i64)),
    figures: &Figures,
) -> Result<i64, Overflow> {
    let size = sketch.letter;
    let axis = spread.axis(sides.0 + size, sides.1 - size)?;
    let mut y = sketch.top;
    let named = spread.otherwise.as_ref().map(|(what, _)| what.as_str());
    for (at, reach) in spread.reaches().enumerate() {
        let (low, high, cost) = (
            axis.at(reach.low)?,
            axis.at(reach.high)?,
            axis.at(reach.cost)?,
        );
        let words = match named.filter(|_| at > 0) {
            Some(what) => format!("{what} {}", figures.amount(reach.cost)),
            None => "90 % likely in this range".to_owned(),
        };
        let start = low.min(sides.1 - width_of(&words, size)).max(sides.0);
        sketch.text((start, y + size), &words, "faint", Hang::Start);
        y += size * 3 / 2;
        // The budget's mark stands at the first bar alone, its name over it.
        if let Some(most) = spread.budget.filter(|_| at == 0) {
            let (x, name) = (axis.at(most)?, format!("budget {}", figures.amount(most)));
            row_of_labels(sketch, (y + size * 4 / 5, sides), &[(x, name, "ink")]);
            y += size * 7 / 5;
            sketch.line(
                (x, y - size * 2 / 5),
                (x, y + thick + size / 5),
                "line dash",
            );
        }
        let class = if at == 0 { Thing::Build } else { Thing::Goods }.class();
        let said = format!(
            "{words}: {} to {}",
            figures.amount(reach.low),
            figures.amount(reach.high)
        );
        sketch.segment((low, y), ((high - low).max(24), thick), class, &said);
        sketch.line((cost, y - size / 4), (cost, y + thick + size / 4), "line");
        if low != high {
            let ends = [(low, reach.low), (high, reach.high)];
            row_of_labels(
                sketch,
                (y + thick + size * 6 / 5, sides),
                &ends.map(|(x, sum)| (x, figures.amount(sum), "ink")),
            );
        }
        y += thick + size * 9 / 5;
    }
    Ok(y)
}

/// Labels on one line, each over or under its point as far as the others and the sides leave it room.
fn row_of_labels(
    sketch: &mut Sketch,
    (y, sides): (i64, (i64, i64)),
    labels: &[(i64, String, &str)],
) {
    let size = sketch.letter;
    // what is written may be a little wider than it is taken to be
    let (right, gap) = (sides.1 - size / 2, size / 2);
    let widths: Vec<i64> = labels
        .iter()
        .map(|(_, text, _)| width_of(text, size))
        .collect();
    let mut starts = Vec::with_capacity(labels.len());
    let mut free = sides.0;
    for ((x, ..), width) in labels.iter().zip(&widths) {
        let start = (x - width / 2).max(free);
        starts.push(start);
        free = start + width + gap;
    }
    let mut end = right;
    for (start, width) in starts.iter_mut().zip(&widths).rev() {
        *start = (*start).min(end - width);
        end = *start - gap;
    }
    for ((_, text, class), start) in labels.iter().zip(starts) {
        sketch.text((start, y), text, class, Hang::Start);
    }
}
