//! One card for a post: the landed cost as a big number, what it is made of, and how far it can move.

use super::foot::Foot;
use super::range::{Spread, draw};
use super::sketch::{Hang, Picture, Shape, Sketch, width_of};
use crate::report::redact::Figures;
use crate::units::Overflow;

/// What a card says.
#[derive(Debug, Clone)]
pub(crate) struct BigNumber {
    /// The finding: how much more than the price tags.
    pub(crate) title: String,
    /// The big number.
    pub(crate) sum: String,
    /// Up to four figures, each with its name.
    pub(crate) figures: Vec<(&'static str, String)>,
}

/// Draws it as a card. On the page there is none: it begins with the same.
pub(crate) fn big_number(
    card: &BigNumber,
    spread: Option<&Spread>,
    figures: &Figures,
    shape: Shape,
    foot: &Foot,
) -> Result<Picture, Overflow> {
    let mut sketch = Sketch::new(shape, &card.title, foot);
    let (edge, size) = (sketch.margin(), sketch.letter);
    let bottom = sketch.bottom.unwrap_or(sketch.top + size * 20);
    // Under the number a wide card has the figures at the left and the range at the right, every other one over the other.
    let side = shape == Shape::Wide;
    let room = sketch.width - 2 * edge;
    let mut big = if side { size * 4 } else { size * 5 };
    while width_of(&card.sum, big) > room && big > size {
        big -= size / 4;
    }
    let tall = shape == Shape::Tall;
    let figure = if tall { size * 2 } else { size * 3 / 2 };
    let step = figure + size * 9 / 5;
    let thick = if tall { size * 2 } else { size * 4 / 5 };
    let reaches = spread.map_or(0, |spread| if spread.otherwise.is_some() { 2 } else { 1 });
    let range = reaches * (thick + size * 33 / 10) + size * 7 / 5;
    let under = if side {
        range.max(2 * step)
    } else {
        range + 2 * step
    };
    // What is left over is shared out, so that a card is full.
    let air = ((bottom - sketch.top - big - under) / 3).max(0);
    let base = sketch.top + air / 2 + big * 4 / 5;
    sketch.text_sized((edge, base), &card.sum, "ink bold", Hang::Start, big);
    sketch.top = base + big / 5 + air;
    let figures_wide = if side && spread.is_some() {
        room * 2 / 5
    } else {
        room
    };
    let left = if side {
        edge + figures_wide + size
    } else {
        edge
    };
    let sides = (left, edge + room);
    if let Some(spread) = spread {
        draw(&mut sketch, spread, (thick, sides), figures)?;
    }
    for (at, (name, text)) in (0..).zip(&card.figures) {
        let (x, row) = (edge + at % 2 * (figures_wide / 2), at / 2);
        let y = bottom - (2 - row) * step + size;
        sketch.text((x, y), name, "faint", Hang::Start);
        let under = (x, y + figure + size / 4);
        sketch.text_sized(under, text, "ink bold", Hang::Start, figure);
    }
    let said = card
        .figures
        .iter()
        .map(|(name, figure)| format!("{name} {figure}"));
    let alt = format!(
        "Landed cost {}. {}. {}",
        card.sum,
        said.collect::<Vec<_>>().join(", "),
        spread.map(|spread| spread.alt(figures)).unwrap_or_default()
    );
    let header = vec!["what".to_owned(), "figure".to_owned()];
    let rows = card
        .figures
        .iter()
        .map(|(name, figure)| vec![(*name).to_owned(), figure.clone()]);
    let table = (header, rows.collect());
    Ok(sketch.done(
        "card",
        card.title.clone(),
        alt.trim_end().to_owned(),
        table,
        bottom,
    ))
}
