//! From the price tags to the door, charge by charge.

use super::axis::Axis;
use super::bars::{Columns, Piece, bar, columns, pieces};
use super::foot::Foot;
use super::palette::Thing;
use super::sketch::{Picture, Shape, Sketch};
use crate::report::redact::Figures;
use crate::report::shown::ShownLanded;
use crate::units::{Dec, Overflow, ShownMoney};

/// From the price tags to the door: each charge begins where the sum before it ends.
pub(crate) fn by_charge(
    landed: &ShownLanded<'_>,
    figures: &Figures,
    shape: Shape,
    foot: &Foot,
) -> Result<Picture, Overflow> {
    let total = landed.totals.landed()?;
    let all = pieces(&landed.totals.amounts, figures.show.tax())?;
    let all: Vec<_> = all
        .into_iter()
        .filter(|(_, _, amount)| !amount.is_zero())
        .collect();
    let steps = steps(landed, &all)?;
    let title = on_top(landed, &all, figures)?;
    let mut sketch = Sketch::new(shape, &title, foot);
    let lines = Lines::new(&sketch, steps.len() + 1);
    let longest = total.max(landed.totals.tags).amount().max(Dec::ONE);
    let axis = Axis::new(Dec::ZERO, longest, lines.from, lines.to)?;
    let (mut y, mut sum) = (sketch.top, ShownMoney::ZERO);
    let mut table = Vec::new();
    for step in &steps {
        let after = sum.plus(step.2)?;
        let ends = (axis.at(sum.amount())?, axis.at(after.amount())?);
        let figure = figures.amount(step.2);
        lines.step(&mut sketch, y, step, (ends, &figure));
        table.push(vec![step.1.to_owned(), figure]);
        sum = after;
        y += lines.row;
    }
    let c = &lines.columns;
    sketch.line((c.left, y), (c.right, y), "line");
    let lands_at = if figures.hidden.is_some() {
        figures.amount(Dec::HUNDRED)
    } else {
        figures.amount(total)
    };
    let (last, whole) = ("landed cost", (y + lines.over, lines.high()));
    bar(
        &mut sketch,
        c,
        y,
        lines.words(),
        last,
        &lands_at,
        "ink bold",
    );
    stacked(&mut sketch, (&axis, lines.from), whole, &all, figures)?;
    table.push(vec![last.to_owned(), lands_at]);
    let said: Vec<String> = table.iter().map(|row| row.join(" ")).collect();
    let alt = format!(
        "Steps from the price tags to the landed cost: {}.",
        said.join(", ")
    );
    Ok(sketch.done(
        "by-charge",
        title,
        alt,
        (vec!["what".to_owned(), "amount".to_owned()], table),
        y + lines.row + 40,
    ))
}

/// Where the rows lie: a name beside its bar, or, where a row is high, over it, so that the bar has the whole width.
struct Lines {
    columns: Columns,
    /// From where to where bars may reach.
    from: i64,
    to: i64,
    row: i64,
    /// How far under the top of its row a bar begins.
    over: i64,
}

impl Lines {
    fn new(sketch: &Sketch, rows: usize) -> Lines {
        let letter = sketch.letter;
        let columns = columns(sketch, letter * 15 / 2, letter * 13 / 2);
        let tall = sketch.shape == Shape::Tall;
        let row = sketch.bottom.map_or(columns.row, |bottom| {
            let row = (bottom - sketch.top) / i64::try_from(rows).unwrap_or(8);
            if tall { row } else { row.min(columns.row * 2) }
        });
        let stacked = tall && row >= columns.row * 5 / 4;
        let (from, to) = if stacked {
            (columns.left, columns.right)
        } else {
            (columns.bars, columns.end)
        };
        let over = if stacked { letter * 3 / 2 } else { 0 };
        Lines {
            columns,
            from,
            to,
            row,
            over,
        }
    }

    /// How high the line of a name is.
    fn words(&self) -> i64 {
        if self.over > 0 { self.over } else { self.row }
    }

    /// How high a bar may be.
    fn high(&self) -> i64 {
        self.row - self.over
    }

    /// One charge between two ends, with a line down to where the next one begins.
    fn step(
        &self,
        sketch: &mut Sketch,
        y: i64,
        (thing, name, _): &Piece,
        ((from, to), figure): ((i64, i64), &str),
    ) {
        bar(sketch, &self.columns, y, self.words(), name, figure, "ink");
        let (top, high) = (y + self.over + self.high() / 6, self.high() * 2 / 3);
        let size = ((to - from).abs().max(12), high);
        let said = format!("{name}: {figure}");
        sketch.segment((from.min(to), top), size, thing.class(), &said);
        sketch.line((to, top), (to, top + self.row + high), "rule");
    }
}

/// The whole as one bar: what adds to it, one after another, from where bars begin.
fn stacked(
    sketch: &mut Sketch,
    (axis, begin): (&Axis, i64),
    (y, row): (i64, i64),
    all: &[Piece],
    figures: &Figures,
) -> Result<(), Overflow> {
    let mut x = begin;
    let mut run = ShownMoney::ZERO;
    for (thing, name, amount) in all.iter().filter(|(_, _, amount)| amount.is_positive()) {
        run = run.plus(*amount)?;
        let to = axis.at(run.amount())?;
        let said = format!("{name}: {}", figures.amount(*amount));
        sketch.segment(
            (x, y + row / 6),
            (to - x, row * 2 / 3),
            thing.class(),
            &said,
        );
        sketch.line((to, y + row / 6), (to, y + row * 5 / 6), "gap");
        x = to;
    }
    Ok(())
}

/// What comes on top of the price, as a heading: `106 of the 164 on top is VAT`. Where something comes off the tags as well, both
/// sums stand there to the penny, as what is left of them is what the landed cost is said to be above the tags.
fn on_top(landed: &ShownLanded<'_>, all: &[Piece], figures: &Figures) -> Result<String, Overflow> {
    let charges = || all.iter().filter(|(thing, ..)| *thing != Thing::Goods);
    let largest = charges().max_by_key(|(_, _, amount)| *amount);
    let Some((thing, name, most)) = largest.filter(|_| figures.hidden.is_none()) else {
        return Ok("From the price tags to the door".to_owned());
    };
    let sum = ShownMoney::total(charges().map(|(_, _, amount)| *amount))?;
    let name = match thing {
        Thing::Remedy => "anti-dumping duty",
        Thing::Freight => "shipping",
        Thing::Handling => "the handling fee",
        Thing::CardFee => "the card fee",
        _ => name,
    };
    let off = landed.off_the_tags()?;
    if off.is_negative() {
        let (off, sum) = (figures.amount(off.abs()), figures.amount(sum));
        let most = figures.amount(*most);
        return Ok(if charges().count() == 1 {
            format!("{sum} on top, all of it {name}; {off} off the tags")
        } else {
            format!("{sum} on top, {most} of it {name}; {off} off the tags")
        });
    }
    let round = |amount: ShownMoney| figures.show.whole(amount);
    Ok(if charges().count() == 1 {
        format!("All of the {} on top is {name}", round(sum))
    } else {
        format!("{} of the {} on top is {name}", round(*most), round(sum))
    })
}

/// From the tags as typed: what codes and a seller's own tax take off stands before the charges.
fn steps(landed: &ShownLanded<'_>, pieces: &[Piece]) -> Result<Vec<Piece>, Overflow> {
    let off = landed.off_the_tags()?;
    if off.is_zero() {
        return Ok(pieces.to_vec());
    }
    let begin = [
        (Thing::Goods, "price tags", landed.totals.tags),
        (Thing::Goods, "off the tags", off),
    ];
    Ok(begin
        .into_iter()
        .chain(
            pieces
                .iter()
                .copied()
                .filter(|(thing, ..)| *thing != Thing::Goods),
        )
        .collect())
}
