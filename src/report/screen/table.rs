//! Tables on a terminal: columns of words wrap until the whole fits, then names stand above their figures, then each figure stands on
//! a line of its own.

use std::borrow::Cow;

use super::wrap::{width, wrap};
use super::{STRUCK, Screen};
use crate::report::view::{Cell, Grid, is_figures};

/// A table whose rows each stand over several lines: the name and what it says on one line, the rest below.
pub(super) fn stacked(grid: &Grid, screen: &Screen) -> String {
    let mut out = String::new();
    let line = |text: &str| wrap(text, "      ", screen.width) + "\n";
    for row in &grid.rows {
        let [name, says, rest @ ..] = row.as_slice() else {
            row.iter()
                .for_each(|heading| out.push_str(&format!("{}\n", heading.as_str())));
            continue;
        };
        let says = shown(says, screen);
        let rest: Vec<&str> = rest
            .iter()
            .map(Cell::as_str)
            .filter(|text| !text.is_empty())
            .collect();
        out.push_str(&line(format!("{}  {says}", name.as_str()).trim_end()));
        if !rest.is_empty() {
            out.push_str(&line(&format!("      {}", rest.join("; "))));
        }
    }
    out
}

/// A cell as it is written; what is not due is struck out, or in parentheses.
fn shown<'c>(cell: &'c Cell, screen: &Screen) -> Cow<'c, str> {
    match cell {
        Cell::NotDue(text) if screen.colour => screen.painted(STRUCK, text).into(),
        Cell::NotDue(text) => format!("({text})").into(),
        cell => cell.as_str().into(),
    }
}

/// Columns between two columns of a table.
const GAP: usize = 2;

/// The narrowest that a column of words is made, so that it can be read.
const NARROWEST: usize = 14;

/// A table as it is drawn: how wide each of its columns is, and which of them hold figures.
struct Ruled<'g> {
    grid: &'g Grid,
    widths: Vec<usize>,
    figures: Vec<bool>,
    /// Whether the first column stands on lines of its own, above the others.
    above: bool,
    screen: &'g Screen,
}

/// Where the lines of a cell stand in a row that has more of them: a header stands just above its figures.
#[derive(Clone, Copy)]
enum Stands {
    Above,
    Below,
}

/// A table between rules, figures to the right.
pub(super) fn table(grid: &Grid, screen: &Screen) -> String {
    let columns = 0..grid.header.len();
    let widths: Vec<usize> = columns.clone().map(|at| widest(grid, at)).collect();
    let figures = columns.map(|at| is_figures(grid, at)).collect();
    let mut ruled = Ruled {
        grid,
        widths,
        figures,
        above: false,
        screen,
    };
    if ruled.fit() {
        return ruled.drawn();
    }
    ruled.above = true;
    if ruled.fit() {
        return ruled.drawn();
    }
    listed(grid, screen)
}

impl Ruled<'_> {
    /// Makes columns of words narrower until the whole fits, the widest first; says whether it does.
    fn fit(&mut self) -> bool {
        while self.whole() > self.screen.width {
            let first = usize::from(self.above);
            let giving = (first..self.widths.len())
                .filter(|at| (*at == 0 || !self.figures[*at]) && self.widths[*at] > NARROWEST);
            let Some(at) = giving.max_by_key(|at| (self.widths[*at], *at)) else {
                return false;
            };
            self.widths[at] -= 1;
        }
        true
    }

    /// How wide the columns are that stand beside each other.
    fn whole(&self) -> usize {
        let beside = &self.widths[usize::from(self.above).min(self.widths.len())..];
        let indent = if self.above { GAP } else { 0 };
        indent + beside.iter().sum::<usize>() + GAP * beside.len().saturating_sub(1)
    }

    /// All lines: the header, a rule, the rows, and below another rule the foot.
    fn drawn(&self) -> String {
        let names = self
            .grid
            .header
            .iter()
            .map(|name| Cell::text(name.as_str()))
            .collect::<Vec<_>>();
        let mut lines = self.row(&names, Stands::Below);
        let rule = "─".repeat(self.whole());
        lines.push(rule.clone());
        lines.extend(
            self.grid
                .rows
                .iter()
                .flat_map(|row| self.row(row, Stands::Above)),
        );
        if let Some(foot) = &self.grid.foot {
            lines.push(rule);
            lines.extend(self.row(foot, Stands::Above));
        }
        lines.join("\n")
    }

    /// The lines of one row; a row of one cell is a heading across.
    fn row(&self, row: &[Cell], stands: Stands) -> Vec<String> {
        if let [heading] = row {
            return lines_of(heading.as_str(), self.screen.width);
        }
        let mut lines = Vec::new();
        let first = usize::from(self.above);
        if let (true, Some(name)) = (self.above, row.first()) {
            lines.extend(lines_of(name.as_str(), self.screen.width));
        }
        let cells: Vec<(usize, Vec<String>)> = (first..self.widths.len())
            .map(|at| {
                (
                    at,
                    row.get(at).map_or(Vec::new(), |cell| self.cell(cell, at)),
                )
            })
            .collect();
        let height = cells
            .iter()
            .map(|(_, lines)| lines.len())
            .max()
            .unwrap_or(0);
        for at in 0..height {
            let mut line = " ".repeat(if self.above { GAP } else { 0 });
            for (column, of) in &cells {
                let from = match stands {
                    Stands::Above => 0,
                    Stands::Below => height - of.len(),
                };
                let text = at
                    .checked_sub(from)
                    .and_then(|at| of.get(at))
                    .map_or("", String::as_str);
                self.add(text, *column, &mut line);
            }
            lines.push(line.trim_end().to_owned());
        }
        lines
    }

    /// A cell, broken into lines as wide as its column.
    fn cell(&self, cell: &Cell, at: usize) -> Vec<String> {
        match cell {
            Cell::Text(text) if !text.is_empty() => lines_of(text, self.widths[at]),
            Cell::Empty => Vec::new(),
            other => vec![shown(other, self.screen).into_owned()],
        }
    }

    /// Adds what a cell says in one line, padded to its column.
    fn add(&self, text: &str, column: usize, line: &mut String) {
        let pad = " ".repeat(self.widths[column].saturating_sub(visible_width(text)));
        if self.figures[column] {
            line.push_str(&pad);
            line.push_str(text);
        } else {
            line.push_str(text);
            line.push_str(&pad);
        }
        line.push_str(&" ".repeat(GAP));
    }
}
/// A text broken into lines of this width; what begins with blanks goes on under its first letter, and two columns further.
fn lines_of(text: &str, widest: usize) -> Vec<String> {
    let indent = match text.len() - text.trim_start_matches(' ').len() {
        0 => String::new(),
        blanks => " ".repeat(blanks + GAP),
    };
    text.split('\n')
        .flat_map(|line| {
            wrap(line, &indent, widest)
                .lines()
                .map(str::to_owned)
                .collect::<Vec<_>>()
        })
        .collect()
}
/// The width of a text, apart from styles.
fn visible_width(text: &str) -> usize {
    match text
        .strip_prefix("\u{1b}[9m")
        .and_then(|text| text.strip_suffix("\u{1b}[0m"))
    {
        Some(inner) => width(inner),
        None => width(text),
    }
}

/// How wide a column is when nothing in it is broken: its cells, and the words of its header. Headings across are no part of it.
fn widest(grid: &Grid, at: usize) -> usize {
    let rows = grid
        .rows
        .iter()
        .chain(&grid.foot)
        .filter(|row| row.len() > 1 || grid.header.len() == 1);
    let cells = rows.filter_map(|row| row.get(at)).map(|cell| match cell {
        Cell::NotDue(text) => width(text) + 2,
        other => width(other.as_str()),
    });
    let header = grid
        .header
        .get(at)
        .into_iter()
        .flat_map(|name| name.lines())
        .map(width);
    cells.chain(header).max().unwrap_or(0)
}

/// A table whose figures alone are too wide: each row is a name, and below it what each column says.
fn listed(grid: &Grid, screen: &Screen) -> String {
    let mut lines = Vec::new();
    for row in grid.rows.iter().chain(&grid.foot) {
        let Some((name, rest)) = row.split_first() else {
            continue;
        };
        lines.extend(lines_of(name.as_str(), screen.width));
        for (cell, header) in rest.iter().zip(grid.header.iter().skip(1)) {
            if !cell.as_str().is_empty() {
                let text = format!("  {}: {}", header.replace('\n', " "), shown(cell, screen));
                lines.extend(lines_of(&text, screen.width));
            }
        }
    }
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::screen::text;
    use crate::report::screen::wrap::tests::widest_line;
    use crate::report::view::View;

    /// A table of three parcels with figures.
    fn grid() -> Grid {
        let row = |name: &str, goods: &str| {
            let figures = [goods, "77.35", "264.47", "155.40", "1,956.18"];
            std::iter::once(Cell::text(name))
                .chain(figures.map(Cell::number))
                .collect::<Vec<_>>()
        };
        Grid {
            rows: vec![
                row("Weihu Composite Works of the Northern Harbour", "1,432.44"),
                row("Merlaro", "8.00"),
            ],
            foot: Some(row("Total", "1,440.44")),
            ..Grid::new(
                "parcels",
                &["Parcel", "Goods", "Shipping", "Duties", "VAT", "Landed"],
            )
        }
    }

    fn shown_at(columns: usize) -> String {
        let mut view = View::default();
        view.table(grid());
        text(&view, &Screen::of(columns))
    }

    #[test]
    fn names_wrap_and_figures_stay_whole() {
        let shown = shown_at(72);
        assert!(widest_line(&shown) <= 72, "{shown}");
        assert!(shown.contains("Weihu Composite Works"), "{shown}");
        assert!(shown.contains("the Northern"), "{shown}");
        assert_eq!(shown.matches("1,956.18").count(), 3, "{shown}");
        // where there is room the table is as wide as what it holds
        assert_eq!(
            widest_line(&shown_at(160)),
            45 + 2 + 8 + 2 + 8 + 2 + 6 + 2 + 6 + 2 + 8
        );
    }

    #[test]
    fn names_stand_above_figures_that_leave_no_room() {
        let mut grid = grid();
        for row in grid.rows.iter_mut().chain(&mut grid.foot) {
            row[1] = Cell::number("1,432,000.44");
        }
        let mut view = View::default();
        view.table(grid);
        let shown = text(&view, &Screen::of(60));
        assert!(widest_line(&shown) <= 60, "{shown}");
        assert!(
            shown
                .lines()
                .any(|line| line == "Weihu Composite Works of the Northern Harbour"),
            "{shown}"
        );
        assert!(
            shown.lines().any(|line| line.starts_with("  1,432,000.44")),
            "{shown}"
        );
    }

    #[test]
    fn figures_too_wide_for_any_line_are_listed() {
        let header = ["Name", "One of them", "Another of them", "A third of them"];
        let figures = ["1,234,567,890,123.45"; 3].map(Cell::number);
        let mut view = View::default();
        view.table(Grid {
            rows: vec![
                std::iter::once(Cell::text("Frame"))
                    .chain(figures)
                    .collect(),
            ],
            ..Grid::new("wide", &header)
        });
        let shown = text(&view, &Screen::of(60));
        assert!(widest_line(&shown) <= 60, "{shown}");
        assert!(
            shown.contains("  Another of them: 1,234,567,890,123.45\n"),
            "{shown}"
        );
    }
}
