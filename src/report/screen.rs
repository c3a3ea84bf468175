//! Views as text for a terminal, made to fit its width.
//!
//! Nothing is cut: columns of words wrap; where the figures of a table leave too little room for names, each name gets a line of its
//! own above its figures; where the figures alone are too wide, each stands on its own line behind its heading.

use std::borrow::Cow;

use unicode_width::UnicodeWidthStr;

use super::view::{Block, Cell, Grid, Said, View, is_figures};

/// The narrowest and the widest that text is made for.
const WIDTHS: (usize, usize) = (60, 160);

/// What is known of the terminal, and how much of a view is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Screen {
    /// Columns of the terminal.
    width: usize,
    /// Whether text is coloured.
    colour: bool,
    /// Whether lines and signs are drawn in ASCII.
    ascii: bool,
    /// Whether what stands behind `--more` is shown.
    more: bool,
}

impl Default for Screen {
    fn default() -> Screen {
        Screen::of(80)
    }
}

impl Screen {
    /// A screen of this many columns, without colour; beyond what text is made for the nearest width counts.
    pub fn of(columns: usize) -> Screen {
        Screen {
            width: columns.clamp(WIDTHS.0, WIDTHS.1),
            colour: false,
            ascii: false,
            more: false,
        }
    }

    /// The same with what stands behind `--more`, or without it.
    #[must_use]
    pub fn with_more(self, more: bool) -> Screen {
        Screen { more, ..self }
    }

    /// The same in colour, or without it.
    #[must_use]
    pub fn in_colour(self, colour: bool) -> Screen {
        Screen { colour, ..self }
    }

    /// The same with lines and signs in ASCII, or not.
    #[must_use]
    pub fn in_ascii(self, ascii: bool) -> Screen {
        Screen { ascii, ..self }
    }

    fn painted(&self, style: &str, text: &str) -> String {
        if self.colour && !text.is_empty() {
            format!("\u{1b}[{style}m{text}\u{1b}[0m")
        } else {
            text.to_owned()
        }
    }
}

/// ANSI styles: what answers the question, what a caution costs, what is not due.
const ANSWER: &str = "1";
const RED: &str = "31";
const STRUCK: &str = "9";

/// A view as plain text for a screen.
pub fn text(view: &View, screen: &Screen) -> String {
    let view = view.visible();
    let mut out = String::new();
    blocks(&view.blocks, screen, &mut out);
    if screen.ascii {
        out = in_ascii(&out);
    }
    out
}

fn blocks(list: &[Block], screen: &Screen, out: &mut String) {
    let mut headed = false;
    for block in list {
        // a heading stands on its table
        let above = if headed { "" } else { "\n" };
        headed = matches!(block, Block::Heading(_));
        match block {
            Block::Answer(text) => out.push_str(&paragraph(text, ANSWER, screen)),
            Block::Sentence(text) => out.push_str(&(wrap(text, "", screen.width) + "\n")),
            Block::Heading(text) => {
                out.push_str(&format!("\n{}\n", wrap(text, "", screen.width)));
            }
            Block::Table(grid) => {
                let shorter = grid.on_screen.as_deref().filter(|_| !screen.more);
                let grid = shorter.unwrap_or(grid);
                out.push_str(&if grid.stacked {
                    format!("{above}{}", stacked(grid, screen))
                } else {
                    format!("{above}{}\n", table(grid, screen))
                });
            }
            Block::Notes(lines) => lines.iter().for_each(|line| {
                out.push_str(&(wrap(&format!("- {line}"), "  ", screen.width) + "\n"));
            }),
            Block::Cautions(said) => out.push_str(&cautions(said, screen)),
            Block::More(hidden) if screen.more => blocks(hidden, screen, out),
            Block::Brief(shown) if !screen.more => blocks(shown, screen, out),
            Block::More(_) | Block::Brief(_) => {}
        }
    }
}

/// A paragraph in one style, which ends and begins anew at each line.
fn paragraph(text: &str, style: &str, screen: &Screen) -> String {
    wrap(text, "", screen.width)
        .lines()
        .map(|line| screen.painted(style, line) + "\n")
        .collect()
}

/// How many cautions a screen shows unless all are asked for.
const SHOWN: usize = 5;

/// The cautions: what each costs to the left, what it is and what to do beside it.
fn cautions(said: &[Said], screen: &Screen) -> String {
    let most = if screen.more { said.len() } else { SHOWN };
    let (shown, rest) = said.split_at(most.min(said.len()));
    let column = shown
        .iter()
        .map(|one| width(&one.amount))
        .max()
        .unwrap_or(0);
    let indent = " ".repeat(column + 4);
    let mut out = String::new();
    for one in shown {
        let said = match one.id {
            id if screen.more && !id.is_empty() => format!("{} [{id}]", one.text),
            _ => one.text.clone(),
        };
        let text = wrap_from(&said, &indent, screen.width, column + 4);
        let pad = " ".repeat(column - width(&one.amount) + 2);
        out.push_str(&format!(
            "{pad}{}  {text}\n",
            screen.painted(RED, &one.amount)
        ));
    }
    if !rest.is_empty() {
        let what = if rest.len() == 1 {
            "is one more"
        } else {
            "are"
        };
        let number = if rest.len() == 1 {
            String::new()
        } else {
            format!(" {} more", rest.len())
        };
        out.push_str(&wrap(
            &format!("There {what}{number}: `--more` shows every caution."),
            "",
            screen.width,
        ));
        out.push('\n');
    }
    out
}

/// How many columns of a terminal a text takes.
fn width(text: &str) -> usize {
    UnicodeWidthStr::width(text)
}

/// Breaks a line at blanks so that it fits a width; blanks at its start stay.
fn wrap(line: &str, indent: &str, widest: usize) -> String {
    wrap_from(line, indent, widest, 0)
}

/// The same for a line that begins at a column; a word that is longer than a whole line is broken within.
fn wrap_from(line: &str, indent: &str, widest: usize, column: usize) -> String {
    let words = line.trim_start_matches(' ');
    let mut out = line[..line.len() - words.len()].to_owned();
    let mut at = column + out.len();
    let mut fresh = true;
    for word in words.split(' ') {
        let length = width(word);
        if !fresh && at + 1 + length > widest {
            out.push('\n');
            out.push_str(indent);
            at = indent.len();
        } else if !fresh {
            out.push(' ');
            at += 1;
        }
        at = put(word, indent, widest, at, &mut out);
        fresh = false;
    }
    out
}

/// Adds a word at a column, broken where it passes the width; the column after it.
fn put(word: &str, indent: &str, widest: usize, from: usize, out: &mut String) -> usize {
    let mut at = from;
    let mut letter = [0; 4];
    for c in word.chars() {
        let wide = width(c.encode_utf8(&mut letter));
        if at + wide > widest && at > indent.len() {
            out.push('\n');
            out.push_str(indent);
            at = indent.len();
        }
        out.push(c);
        at += wide;
    }
    at
}

/// A table whose rows each stand over several lines: the name and what it says on one line, the rest below.
fn stacked(grid: &Grid, screen: &Screen) -> String {
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
fn table(grid: &Grid, screen: &Screen) -> String {
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

/// Lines, dashes and signs in the letters that every terminal has; what the user wrote stays as it is.
fn in_ascii(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '─' | '–' | '—' => out.push('-'),
            '×' => out.push('x'),
            '…' => out.push_str("..."),
            '’' => out.push('\''),
            '≥' => out.push_str(">="),
            '≤' => out.push_str("<="),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

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

    fn widest_line(text: &str) -> usize {
        text.lines().map(width).max().unwrap_or(0)
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

    #[test]
    fn a_word_longer_than_a_line_is_broken_within() {
        let mut view = View::default();
        view.say(format!("See {}.", "x".repeat(150)));
        let shown = text(&view, &Screen::of(60));
        assert_eq!(widest_line(&shown), 60);
        assert_eq!(shown.matches('x').count(), 150);
    }

    #[test]
    fn five_cautions_are_shown_and_the_others_counted() {
        let mut view = View::default();
        let said = |amount: &str| Said {
            amount: amount.to_owned(),
            text: "Ask the seller first.".to_owned(),
            id: "",
        };
        view.cautions(vec![
            said("510.03"),
            said("57.87"),
            said("3.20"),
            said("unknown"),
            said(""),
            said(""),
            said(""),
        ]);
        let shown = text(&view, &Screen::default());
        assert_eq!(shown.matches("Ask the seller").count(), 5, "{shown}");
        assert!(
            shown.contains("   510.03  Ask") && shown.contains("  unknown  Ask"),
            "{shown}"
        );
        assert!(
            shown.contains("There are 2 more: `--more` shows every caution."),
            "{shown}"
        );
        let whole = text(&view, &Screen::default().with_more(true));
        assert_eq!(whole.matches("Ask the seller").count(), 7, "{whole}");
    }

    #[test]
    fn what_is_brief_gives_way_to_the_whole() {
        let (mut view, mut brief, mut more) = (View::default(), View::default(), View::default());
        brief.say("The two largest.");
        more.say("All of them.");
        view.brief(brief);
        view.more(more);
        assert_eq!(text(&view, &Screen::default()), "The two largest.\n");
        let whole = text(&view, &Screen::default().with_more(true));
        assert_eq!(whole, "All of them.\n");
        assert_eq!(super::super::layout::markdown(&view), "All of them.\n\n");
    }

    #[test]
    fn signs_and_styles_are_those_the_terminal_has() {
        let mut view = View::default();
        view.answer("Landed cost 12.00 GBP – 2 × 3.");
        assert_eq!(
            text(&view, &Screen::default().in_ascii(true)),
            "Landed cost 12.00 GBP - 2 x 3.\n"
        );
        assert_eq!(
            text(&view, &Screen::default().in_colour(true)),
            "\u{1b}[1mLanded cost 12.00 GBP – 2 × 3.\u{1b}[0m\n"
        );
    }
}
