//! What pictures of bars have in common: the pieces of a sum, the columns of a sheet, a name and a figure beside a bar.

use super::palette::Thing;
use super::sketch::{Hang, Sketch, fitted};
use crate::report::shown::ShownSums;
use crate::units::{Overflow, ShownMoney};

/// A piece of a sum: what it is, what it is called, and how much.
pub(super) type Piece = (Thing, &'static str, ShownMoney);

/// The pieces a pound goes to, in the order of the sum.
pub(super) fn pieces(a: &ShownSums, tax: &'static str) -> Result<Vec<Piece>, Overflow> {
    Ok(vec![
        (Thing::Goods, "goods", a.net_goods()?),
        (Thing::Freight, "shipping", a.freight.plus(a.insurance)?),
        (Thing::Duty, "duty", a.duty),
        (Thing::Remedy, "anti-dumping", a.remedy),
        (Thing::Tax, tax, a.tax()?),
        (Thing::Handling, "handling fee", a.handling),
        (Thing::CardFee, "card fee", a.card_fee),
    ])
}

/// The columns of a picture of bars.
#[derive(Clone, Copy)]
pub(super) struct Columns {
    pub(super) left: i64,
    pub(super) bars: i64,
    pub(super) end: i64,
    pub(super) right: i64,
    pub(super) row: i64,
}

/// Columns with so much room for names and for figures.
pub(super) fn columns(sketch: &Sketch, names: i64, figures: i64) -> Columns {
    let (left, right) = (sketch.margin(), sketch.width - sketch.margin());
    Columns {
        left,
        bars: left + names,
        end: right - figures,
        right,
        row: sketch.letter * 2,
    }
}

/// A name to the left and a figure to the right of a bar.
pub(super) fn bar(
    sketch: &mut Sketch,
    c: &Columns,
    y: i64,
    row: i64,
    name: &str,
    figure: &str,
    class: &str,
) {
    let base = y + row / 2 + sketch.letter * 7 / 20;
    let name = fitted(name, c.bars - c.left - 60, sketch.letter);
    sketch.text((c.left, base), &name, class, Hang::Start);
    sketch.text((c.right, base), figure, class, Hang::End);
}
