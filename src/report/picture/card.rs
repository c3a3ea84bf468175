//! A card to be told from: a line for each thing, its figure at the right or, where both are long, under it.

use super::foot::Foot;
use super::sketch::{Hang, Picture, Shape, Sketch, fitted, width_of, wrap};

/// The name of its file.
pub(crate) const CARD: &str = "telling";

/// How a card is set: the height of its lettering, and of its lines.
struct Set {
    size: i64,
    line: i64,
}

/// Draws the card.
pub(crate) fn card(lines: &[[String; 2]], shape: Shape, foot: &Foot) -> Picture {
    let title = "The build in one go".to_owned();
    let mut sketch = Sketch::new(shape, &title, foot);
    let (left, right) = (sketch.margin(), sketch.width - sketch.margin());
    let set = set(&sketch, lines, right - left);
    let mut y = sketch.top + set.line;
    for [what, figure] in lines {
        let beside =
            width_of(what, set.size) + width_of(figure, set.size) + set.size <= right - left;
        let names = if beside {
            vec![what.clone()]
        } else {
            wrap(what, right - left, set.size)
        };
        for (nth, name) in names.iter().enumerate() {
            if nth > 0 {
                y += set.line;
            }
            let name = fitted(name, right - left, set.size);
            sketch.text_sized((left, y), &name, "ink", Hang::Start, set.size);
        }
        if !beside {
            y += set.line;
        }
        let figure = fitted(figure, right - left, set.size);
        sketch.text_sized((right, y), &figure, "ink bold", Hang::End, set.size);
        sketch.line((left, y + set.line / 4), (right, y + set.line / 4), "rule");
        y += set.line * 5 / 4;
    }
    let said: Vec<String> = lines.iter().map(|line| line.join(": ")).collect();
    let alt = format!("The build in figures: {}.", said.join("; "));
    let table = lines.iter().map(|line| line.to_vec()).collect();
    let head = vec!["what".to_owned(), "figure".to_owned()];
    sketch.done(CARD, title, alt, (head, table), y)
}

/// How large the lettering can be so that all lines have room.
fn set(sketch: &Sketch, lines: &[[String; 2]], width: i64) -> Set {
    let height = |size: i64| -> i64 {
        let rows = lines.iter().map(|[what, figure]| {
            let beside = width_of(what, size) + width_of(figure, size) + size <= width;
            let own = if beside {
                1
            } else {
                wrap(what, width, size).len() + 1
            };
            i64::try_from(own).unwrap_or(1) * (size * 3 / 2) + size * 3 / 8
        });
        rows.sum()
    };
    let mut size = sketch.letter;
    while size > 60
        && sketch
            .bottom
            .is_some_and(|bottom| height(size) > bottom - sketch.top)
    {
        size -= 5;
    }
    Set {
        size,
        line: size * 3 / 2,
    }
}
