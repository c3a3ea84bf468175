//! Views as plain text for a terminal, as Markdown, and as CSV.
//!
//! Text is made to fit a hundred columns: columns of words are broken over lines and names are cut, figures never.

use tabled::builder::Builder;
use tabled::settings::object::Columns;
use tabled::settings::style::HorizontalLine;
use tabled::settings::{Alignment, Padding, Style, Theme};

use super::view::{Block, Cell, Grid, View};
use crate::text::{begins_formula, guarded_within, is_number, visible_json};
use crate::units::MONTHS;

/// The widest line of a terminal's table.
const WIDEST: usize = 100;

/// A view as plain text; `colour` strikes out what is not due.
pub fn text(view: &View, colour: bool) -> String {
    let view = view.visible();
    let mut out = String::new();
    for block in &view.blocks {
        match block {
            Block::Sentence(text) => out.push_str(&(wrap(text, "") + "\n")),
            Block::Heading(text) => out.push_str(&format!("\n{text}\n")),
            Block::Table(grid) => {
                let grid = grid.on_screen.as_deref().unwrap_or(grid);
                out.push_str(&if grid.stacked {
                    format!("\n{}", stacked(grid, colour))
                } else {
                    format!("\n{}\n", ruled(grid, colour))
                });
            }
            Block::Notes(lines) => lines
                .iter()
                .for_each(|line| out.push_str(&format!("{}\n", wrap(&format!("- {line}"), "  ")))),
        }
    }
    out
}

/// Breaks a line at blanks so that it fits the page.
fn wrap(line: &str, indent: &str) -> String {
    wrap_to(line, indent, WIDEST)
}

/// Breaks a line at blanks so that it fits a width; blanks at its start stay.
fn wrap_to(line: &str, indent: &str, widest: usize) -> String {
    let words = line.trim_start_matches(' ');
    let mut out = line[..line.len() - words.len()].to_owned();
    let mut width = out.len();
    let mut fresh = true;
    for word in words.split(' ') {
        let length = word.chars().count();
        if !fresh && width + 1 + length > widest {
            out.push('\n');
            out.push_str(indent);
            width = indent.len();
        } else if !fresh {
            out.push(' ');
            width += 1;
        }
        out.push_str(word);
        width += length;
        fresh = false;
    }
    out
}

/// A table too wide for a terminal: a row's name and what it says on one line, the rest below.
fn stacked(grid: &Grid, colour: bool) -> String {
    let mut out = String::new();
    for row in &grid.rows {
        let [name, says, rest @ ..] = row.as_slice() else {
            row.iter()
                .for_each(|heading| out.push_str(&format!("{}\n", heading.as_str())));
            continue;
        };
        let says = match says {
            Cell::NotDue(text) if colour => format!("\u{1b}[9m{text}\u{1b}[0m"),
            Cell::NotDue(text) => format!("({text})"),
            cell => cell.as_str().to_owned(),
        };
        let rest: Vec<&str> = rest
            .iter()
            .map(Cell::as_str)
            .filter(|text| !text.is_empty())
            .collect();
        out.push_str(&format!(
            "{}\n",
            wrap(format!("{}  {says}", name.as_str()).trim_end(), "      ")
        ));
        if !rest.is_empty() {
            out.push_str(&format!(
                "{}\n",
                wrap(&format!("      {}", rest.join("; ")), "      ")
            ));
        }
    }
    out
}

/// A table between rules, figures to the right.
fn ruled(grid: &Grid, colour: bool) -> String {
    let width = grid.header.len();
    let widths = widths(grid);
    let mut builder = Builder::default();
    let cell = |cell: &Cell, at: usize| {
        let text = match cell {
            Cell::Text(text) if at == 0 => shortened(text, widths[0]),
            Cell::Text(text) => wrap_to(text, "", widths[at]),
            other => other.as_str().to_owned(),
        };
        match cell {
            Cell::NotDue(_) if colour => format!("\u{1b}[9m{text}\u{1b}[0m"),
            Cell::NotDue(_) => format!("({text})"),
            _ => text,
        }
    };
    builder.push_record(grid.header.iter().cloned());
    for row in grid.rows.iter().chain(&grid.foot) {
        let padded = (0..width).map(|at| row.get(at).map_or(String::new(), |c| cell(c, at)));
        builder.push_record(padded);
    }
    let mut table = builder.build();
    let mut theme = Theme::from_style(Style::empty());
    let line = || HorizontalLine::full('─', '─', '─', '─');
    theme.insert_horizontal_line(1, line());
    if grid.foot.is_some() {
        theme.insert_horizontal_line(grid.rows.len() + 1, line());
    }
    table.with(theme).with(Padding::new(0, 2, 0, 0));
    for at in 0..width {
        if is_figures(grid, at) {
            table.modify(Columns::one(at), Alignment::right());
        }
    }
    let text = table.to_string();
    text.lines()
        .map(without_edge)
        .collect::<Vec<_>>()
        .join("\n")
}

/// Rules bring an edge to the left and the right of a table, which a ledger has no need of.
fn without_edge(line: &str) -> &str {
    let line = line.strip_prefix([' ', '─']).unwrap_or(line).trim_end();
    line.strip_suffix("───").unwrap_or(line)
}

fn is_figures(grid: &Grid, at: usize) -> bool {
    grid.rows
        .iter()
        .chain(&grid.foot)
        .any(|row| matches!(row.get(at), Some(Cell::Number(_) | Cell::NotDue(_))))
}

/// How wide each column may be for the whole to fit: the widest column of words gives way first, down to what can be
/// read, then the names in the first. Figures are never cut.
fn widths(grid: &Grid) -> Vec<usize> {
    const WORDS: usize = 20;
    const NAMES: usize = 24;
    const LEAST: usize = 12;
    let columns = 0..grid.header.len();
    let mut widths: Vec<usize> = columns.clone().map(|at| widest(grid, at)).collect();
    let words: Vec<bool> = columns.map(|at| at > 0 && !is_figures(grid, at)).collect();
    let bound = if words.contains(&true) { NAMES } else { LEAST };
    while widths.iter().map(|width| width + 2).sum::<usize>() > WIDEST {
        let least = |at: usize| if at == 0 { bound } else { WORDS };
        let giving =
            (0..widths.len()).filter(|at| (*at == 0 || words[*at]) && widths[*at] > least(*at));
        let Some(at) = giving.max_by_key(|at| (widths[*at], *at)) else {
            break;
        };
        widths[at] -= 1;
    }
    widths
}

/// How wide a column is when nothing is broken or cut.
fn widest(grid: &Grid, at: usize) -> usize {
    let length = |text: &str| text.chars().count();
    let cells = grid
        .rows
        .iter()
        .chain(&grid.foot)
        .filter_map(|row| row.get(at))
        .map(|c| length(c.as_str()));
    cells
        .chain(
            grid.header
                .get(at)
                .into_iter()
                .flat_map(|h| h.lines())
                .map(length),
        )
        .max()
        .unwrap_or(0)
}

/// A name cut to a width; what stands after a stroke tells parcels of one seller apart and stays.
fn shortened(text: &str, width: usize) -> String {
    let length = text.chars().count();
    if length <= width {
        return text.to_owned();
    }
    let label = text
        .rsplit_once('/')
        .and_then(|(_, label)| label.split(" (").next())
        .map(|label| format!("/{label}"));
    let tail = label
        .filter(|label| label.chars().count() + 4 < width)
        .unwrap_or_default();
    let kept: String = text
        .chars()
        .take(width.saturating_sub(1 + tail.chars().count()))
        .collect();
    format!("{}…{tail}", kept.trim_end())
}

/// A view as Markdown.
pub(crate) fn markdown(view: &View) -> String {
    let view = view.visible();
    let mut out = String::new();
    for block in &view.blocks {
        match block {
            Block::Sentence(text) => out.push_str(&format!("{}\n\n", escaped(text))),
            Block::Heading(text) => out.push_str(&format!("### {}\n\n", escaped(text))),
            Block::Table(grid) => out.push_str(&(piped(grid) + "\n")),
            Block::Notes(lines) => {
                lines
                    .iter()
                    .for_each(|line| out.push_str(&format!("- {}\n", escaped(line))));
                out.push('\n');
            }
        }
    }
    out
}

fn piped(grid: &Grid) -> String {
    let width = grid.header.len();
    let rule = (0..width).map(|at| if is_figures(grid, at) { "---:" } else { "---" });
    let mut out = format!(
        "| {} |\n| {} |\n",
        one_line(&grid.header).join(" | "),
        rule.collect::<Vec<_>>().join(" | ")
    );
    for row in grid.rows.iter().chain(&grid.foot) {
        let cells = (0..width).map(|at| match row.get(at) {
            Some(Cell::NotDue(text)) => format!("~~{}~~", escaped(text)),
            Some(cell) => escaped(cell.as_str()),
            None => String::new(),
        });
        out.push_str(&format!("| {} |\n", cells.collect::<Vec<_>>().join(" | ")));
    }
    out
}

/// A header set over two lines, on one.
fn one_line(header: &[String]) -> Vec<String> {
    header
        .iter()
        .map(|name| name.replace("-\n", "-").replace('\n', " "))
        .collect()
}

/// Characters that Markdown or HTML would read.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '|' | '*' | '_' | '\\' | '[' | ']' => {
                out.push('\\');
                out.push(c);
            }
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '\n' => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// What programs read: JSON in which whatever is not seen is shown by JSON's own escapes.
pub(crate) fn json(value: &serde_json::Value) -> String {
    visible_json(serde_json::to_string_pretty(value).unwrap_or_default()) + "\n"
}

/// The tables of a view as CSV, one after another; several have a line with their name before each. Text that a
/// spreadsheet would take for a formula is kept from being one.
pub(crate) fn csv(view: &View) -> String {
    let view = view.visible();
    let grids: Vec<&Grid> = view
        .blocks
        .iter()
        .filter_map(|b| {
            if let Block::Table(grid) = b {
                Some(grid)
            } else {
                None
            }
        })
        .collect();
    let mut out = String::new();
    for (at, grid) in grids.iter().enumerate() {
        if grids.len() > 1 {
            out.push_str(&format!(
                "{}# {}\n",
                if at > 0 { "\n" } else { "" },
                grid.name
            ));
        }
        let mut writer = csv::WriterBuilder::new()
            .flexible(true)
            .from_writer(Vec::new());
        let mut write = |cells: Vec<String>| writer.write_record(&cells).is_ok();
        write(
            one_line(&grid.header)
                .into_iter()
                .chain(grid.heading.map(str::to_owned))
                .collect(),
        );
        let (mut over, mut first) = (Cell::Empty, Cell::Empty);
        for row in &grid.rows {
            match (row.as_slice(), grid.heading) {
                ([heading], Some(_)) => (over, first) = (heading.clone(), Cell::Empty),
                ([name, rest @ ..], Some(_)) if row.len() == grid.header.len() => {
                    // what stands over several lines is one thing
                    first = if name.as_str().is_empty() {
                        first
                    } else {
                        name.clone()
                    };
                    write(
                        std::iter::once(&first)
                            .chain(rest)
                            .chain([&over])
                            .map(guarded)
                            .collect(),
                    );
                }
                _ if row.len() == grid.header.len() => {
                    write(row.iter().map(guarded).collect());
                }
                _ => {}
            }
        }
        out.push_str(
            &writer
                .into_inner()
                .map(|bytes| String::from_utf8_lossy(&bytes).into_owned())
                .unwrap_or_default(),
        );
    }
    out
}

fn guarded(cell: &Cell) -> String {
    match cell {
        Cell::Text(text) if is_figure(text) => text.trim().to_owned(),
        Cell::Text(text) if begins_formula(text) => {
            format!("'{}", guarded_within(text.trim_start()))
        }
        Cell::Text(text) if is_changed(text.trim()) => format!("'{}", text.trim()),
        Cell::Text(text) => guarded_within(text.trim_start()).into_owned(),
        Cell::Number(text) => text.replace(',', ""),
        Cell::NotDue(_) | Cell::Empty => String::new(),
    }
}

/// Whether a text is a percentage, or a number that a spreadsheet keeps as it is written: neither is a formula, nor a name that would
/// become another. `007` and `1.50` would.
fn is_figure(text: &str) -> bool {
    let text = text.trim();
    let digits = text.strip_prefix('-').unwrap_or(text);
    let (whole, decimals) = digits.split_once('.').unwrap_or((digits, "1"));
    let kept =
        digits.len() <= 15 && (whole == "0" || !whole.starts_with('0')) && !decimals.ends_with('0');
    let bare = [digits.bytes().next(), digits.bytes().next_back()]
        .iter()
        .flatten()
        .all(u8::is_ascii_digit);
    is_number(text) && !text.contains('"') && (text.ends_with('%') || (kept && bare))
}

/// Whether a spreadsheet would take a name for a number or a day: `007`, `1E5`, `3-4`, `1/2`, `12 Dec`, `MAR1`. A day written
/// as `2026-09-23` may become a day.
fn is_changed(text: &str) -> bool {
    let is_iso = text.len() == 10
        && text.bytes().enumerate().all(|(at, b)| {
            if matches!(at, 4 | 7) {
                b == b'-'
            } else {
                b.is_ascii_digit()
            }
        });
    if is_iso || !text.bytes().any(|b| b.is_ascii_digit()) {
        return false;
    }
    let lower = text.to_ascii_lowercase();
    let figure = lower.starts_with(|c: char| c.is_ascii_digit());
    let named = |word: &str| {
        (3..=9).contains(&word.len())
            && word
                .get(..3)
                .is_some_and(|begin| MONTHS.iter().any(|m| m[..3].eq_ignore_ascii_case(begin)))
    };
    let month = |word: &str| word.is_empty() || (word == "e" && figure) || named(word);
    lower
        .bytes()
        .all(|b| b.is_ascii_alphanumeric() || b"-/.,: +%".contains(&b))
        && lower.split(|c: char| !c.is_ascii_alphabetic()).all(month)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_formula_is_guarded_however_it_is_written() {
        for (text, safe) in [
            ("=1", "'=1"),
            ("  ＝cmd()", "'＝cmd()"),
            ("＋1", "'＋1"),
            ("－x", "'－x"),
            ("＠x", "'＠x"),
            ("\u{a0}=x", "'=x"),
            ("\"=x", "'\"=x"),
            ("Saddle;=1", "Saddle;'=1"),
            ("Saddle; ＝1", "Saddle;' ＝1"),
            ("Saddle; 27.2", "Saddle; 27.2"),
        ] {
            assert_eq!(guarded(&Cell::text(text)), safe);
        }
        // A tab or a line end before the sign is shown by its number, which no formula begins with.
        let mut view = View::default();
        view.table(Grid {
            rows: vec![vec![Cell::text("\t=x"), Cell::text("\r=x")]],
            ..Grid::new("parts", &["part", "parcel"])
        });
        assert_eq!(csv(&view), "part,parcel\n\\t=x,\\r=x\n");
    }

    #[test]
    fn percentages_and_numbers_are_no_formulas() {
        for figure in [
            "5 %", "95%", "-5 %", "+3.0 %", "0.5 %", "5", "-5", "27.2", "0", "0.5",
        ] {
            assert_eq!(guarded(&Cell::text(figure)), figure);
        }
        // What would be another thing afterwards is guarded still, and what only begins as a number does.
        for text in [
            "007",
            "-007",
            "1.50",
            "+5",
            "5.",
            ".5",
            "1234567890123456",
            "-5 %+1",
            "-5 %;x",
            "-%",
            "1,5",
            "\"-5\"",
        ] {
            assert_eq!(guarded(&Cell::text(text)), format!("'{text}"));
        }
    }

    #[test]
    fn names_that_a_spreadsheet_would_change_are_guarded() {
        for changed in ["007", "1E5", "3-4", "1/2", "12 Dec", "MAR1", "1,5", "10:30"] {
            assert!(is_changed(changed), "{changed}");
        }
        for plain in [
            "2026-09-23",
            "Wheel 28",
            "E12",
            "March",
            "27.2 post",
            "rates/gb/charges.csv:14",
            "140mm",
            "",
        ] {
            assert!(!is_changed(plain), "{plain}");
        }
    }
}
