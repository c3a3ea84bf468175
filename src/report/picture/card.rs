//! A card to be told from: a line for each thing, its figure at the right or, where both are long, under it.

use super::foot::Foot;
use super::sketch::{Hang, Picture, Shape, Sketch, fitted, width_of, wrap};

/// The name of its file.
pub(crate) const CARD: &str = "telling";

/// How a card is set: the height of its lettering and of its lines, how far apart its rows stand, and where each column ends.
struct Set {
    size: i64,
    line: i64,
    apart: i64,
    columns: Vec<usize>,
}

/// Draws the card.
pub(crate) fn card(lines: &[[String; 2]], shape: Shape, foot: &Foot) -> Picture {
    let title = "The build in one go".to_owned();
    let mut sketch = Sketch::new(shape, &title, foot);
    let set = set(&sketch, lines);
    let width = column_width(&sketch, set.columns.len());
    let (mut left, mut begin, mut end) = (sketch.margin(), 0, sketch.top);
    for until in &set.columns {
        let mut y = sketch.top + set.line;
        for line in lines.get(begin..*until).unwrap_or_default() {
            y = row(&mut sketch, line, (left, left + width), y, &set);
        }
        (begin, end) = (*until, end.max(y));
        left += width + sketch.letter * 3;
    }
    let said: Vec<String> = lines.iter().map(|line| line.join(": ")).collect();
    let alt = format!("The build in figures: {}.", said.join("; "));
    let table = lines.iter().map(|line| line.to_vec()).collect();
    let head = vec!["what".to_owned(), "figure".to_owned()];
    sketch.done(CARD, title, alt, (head, table), end)
}

/// One row, its figure at the right, or under it where both are long; returned is where the next one stands.
fn row(
    sketch: &mut Sketch,
    [what, figure]: &[String; 2],
    (left, right): (i64, i64),
    mut y: i64,
    set: &Set,
) -> i64 {
    let room = right - left;
    let names = names(what, figure, room, set.size);
    let beside = is_beside(what, figure, room, set.size);
    for (nth, name) in names.iter().enumerate() {
        if nth > 0 {
            y += set.line;
        }
        let name = fitted(name, room, set.size);
        sketch.text_sized((left, y), &name, "ink", Hang::Start, set.size);
    }
    if !beside {
        y += set.line;
    }
    let figure = fitted(figure, room, set.size);
    sketch.text_sized((right, y), &figure, "ink bold", Hang::End, set.size);
    let rule = y + set.line / 4 + set.apart / 2;
    sketch.line((left, rule), (right, rule), "rule");
    y + set.line * 5 / 4 + set.apart
}

/// Whether a name and its figure have room on one line.
fn is_beside(what: &str, figure: &str, width: i64, size: i64) -> bool {
    width_of(what, size) + width_of(figure, size) + size <= width
}

/// The lines of a name.
fn names(what: &str, figure: &str, width: i64, size: i64) -> Vec<String> {
    if is_beside(what, figure, width, size) {
        vec![what.to_owned()]
    } else {
        wrap(what, width, size)
    }
}

/// How high a row is.
fn height([what, figure]: &[String; 2], width: i64, size: i64) -> i64 {
    let under = usize::from(!is_beside(what, figure, width, size));
    let rows = names(what, figure, width, size).len() + under;
    i64::try_from(rows).unwrap_or(1) * (size * 3 / 2) + size * 3 / 8
}

/// The width of each of a number of columns.
fn column_width(sketch: &Sketch, columns: usize) -> i64 {
    let all = sketch.width - 2 * sketch.margin();
    if columns < 2 {
        all
    } else {
        (all - sketch.letter * 3) / 2
    }
}

/// Where the first of two columns ends so that both are about as high, and how high the higher one is.
fn halves(lines: &[[String; 2]], width: i64, size: i64) -> (usize, i64) {
    let heights: Vec<i64> = lines.iter().map(|line| height(line, width, size)).collect();
    let all: i64 = heights.iter().sum();
    let mut first = 0;
    let mut best = (lines.len(), all);
    for (at, height) in heights.iter().enumerate() {
        first += height;
        let higher = first.max(all - first);
        if higher < best.1 {
            best = (at + 1, higher);
        }
    }
    best
}

/// How large the lettering can be so that all lines have room: on a tall card up to half as large again as elsewhere, as far as no
/// figure then leaves the line of its name; on a wide one in two columns where one would make it small. What is left of the height
/// goes between the rows.
fn set(sketch: &Sketch, lines: &[[String; 2]]) -> Set {
    let room = sketch.bottom.map(|bottom| bottom - sketch.top);
    let width = column_width(sketch, 1);
    let one = |size: i64| {
        let all = lines.iter().map(|line| height(line, width, size)).sum();
        (vec![lines.len()], all)
    };
    let two = |size: i64| {
        let (first, higher) = halves(lines, column_width(sketch, 2), size);
        (vec![first, lines.len()], higher)
    };
    let largest = |columns: &dyn Fn(i64) -> (Vec<usize>, i64), from: i64| {
        let mut size = from;
        while size > 60 && room.is_some_and(|room| columns(size).1 > room) {
            size -= 5;
        }
        size
    };
    let mut most = sketch.letter;
    let beside = |size: i64| {
        let on_one_line = |[what, figure]: &&[String; 2]| is_beside(what, figure, width, size);
        lines.iter().filter(on_one_line).count()
    };
    while sketch.shape == Shape::Tall
        && most < sketch.letter * 3 / 2
        && beside(most + 5) == beside(sketch.letter)
    {
        most += 5;
    }
    let size = largest(&one, most);
    let (size, (columns, used)) = if sketch.shape == Shape::Wide && size < sketch.letter {
        let size = largest(&two, most);
        (size, two(size))
    } else {
        (size, one(size))
    };
    let rows = i64::try_from(lines.len()).unwrap_or(1).max(1);
    let left = room.map_or(0, |room| (room - used).max(0));
    let apart = if columns.len() > 1 {
        0
    } else {
        (left / rows).min(size * 3)
    };
    Set {
        size,
        line: size * 3 / 2,
        apart,
        columns,
    }
}
