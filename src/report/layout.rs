//! Views as Markdown, CSV and JSON, which are always whole. What a terminal shows is made in `screen`.

use super::view::{Block, Cell, Grid, Said, View, is_figures};
use crate::text::{begins_formula, guarded_within, is_number, visible_json};
use crate::units::MONTHS;

/// A view as Markdown.
pub(crate) fn markdown(view: &View) -> String {
    let view = view.visible();
    let mut out = String::new();
    for block in view.whole() {
        match block {
            Block::Answer(text) | Block::Sentence(text) => {
                out.push_str(&format!("{}\n\n", escaped(text)));
            }
            Block::Heading(text) => out.push_str(&format!("### {}\n\n", escaped(text))),
            Block::Table(grid) => out.push_str(&(piped(grid) + "\n")),
            Block::Notes(lines) => {
                lines
                    .iter()
                    .for_each(|line| out.push_str(&format!("- {}\n", escaped(line))));
                out.push('\n');
            }
            Block::Cautions(said) => out.push_str(&cautions(said)),
            Block::More(_) | Block::Brief(_) => {}
        }
    }
    out
}

/// Cautions as a list, each behind what it costs.
fn cautions(said: &[Said]) -> String {
    let line = |one: &Said| match one.amount.as_str() {
        "" => format!("- {}\n", escaped(&one.text)),
        amount => format!("- **{}** {}\n", escaped(amount), escaped(&one.text)),
    };
    said.iter().map(line).chain(["\n".to_owned()]).collect()
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
        .whole()
        .into_iter()
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
