//! Japanese customs' weekly list, published as a page to print: read as a CSV typed from it, or made of it by another program.

use super::korea::run_together;
use super::{File, Imported, Publication, bad_rate, currency, for_one};
use crate::tables::Use;
use crate::text::{Problems, words};
use crate::units::{Currency, Date};

const SOURCE: &str = "Japan Customs: foreign exchange rates of the week";

/// Where the columns of the list are.
struct Header {
    /// How many columns there are.
    width: usize,
    code: usize,
    /// Yen for one unit, and for a hundred of those that are quoted so.
    one: Option<usize>,
    hundred: Option<usize>,
}

/// Whether one of the first lines heads the list.
pub(super) fn is_csv(text: &str) -> bool {
    text.lines().take(20).any(|line| header(line).is_some())
}

/// A header line: a column for the code (`ISO`), and the yen for one or for a hundred (`yen per 1`, `yen per 100`).
fn header(line: &str) -> Option<Header> {
    let names: Vec<String> = cells(line).iter().map(|name| name.to_lowercase()).collect();
    let yen = |ending: &str| {
        names.iter().position(|name| {
            name.contains("yen") && name.trim_end_matches([')', '.']).ends_with(ending)
        })
    };
    let (one, hundred) = (yen(" 1"), yen(" 100"));
    let code = names.iter().position(|name| name.contains("iso"))?;
    (one.is_some() || hundred.is_some()).then_some(Header {
        width: names.len(),
        code,
        one,
        hundred,
    })
}

fn cells(line: &str) -> Vec<&str> {
    let mark = [';', '\t']
        .into_iter()
        .find(|mark| line.contains(*mark))
        .unwrap_or(',');
    line.split(mark)
        .map(|cell| cell.trim().trim_matches('"').trim())
        .collect()
}

/// The week stands in a line before the header (`2026-08-16 to 2026-08-22`) or in the file's name
/// (`kouji-rate20260816-20260822`).
pub(super) fn csv(file: &File<'_>, problems: &mut Problems) -> Option<Publication> {
    let Some((from, to)) = file
        .text
        .lines()
        .take(20)
        .find_map(week)
        .or_else(|| week_of_name(&file.path))
    else {
        let how = "write its first and its last day in a line before the header, such as `2026-08-16 to 2026-08-22`";
        problems.push(file.error(1, "the week of the rates is missing").help(how));
        return None;
    };
    let mut lines = file
        .text
        .lines()
        .enumerate()
        .skip_while(|(_, line)| header(line).is_none());
    let columns = header(lines.next()?.1)?;
    let (mut rates, mut unknown) = (Vec::new(), Vec::new());
    for (at, line) in lines.filter(|(_, line)| !line.trim().is_empty()) {
        let cells = cells(line);
        if cells.len() != columns.width {
            // A decimal comma would part a rate in two.
            problems.push(file.error(
                at + 1,
                format!(
                    "the line has {} fields, the header {}",
                    cells.len(),
                    columns.width
                ),
            ));
            continue;
        }
        let cell = |at: Option<usize>| at.and_then(|at| cells.get(at)).copied().unwrap_or_default();
        let code = cell(Some(columns.code));
        let (printed, units) = if cell(columns.one).is_empty() {
            (cell(columns.hundred), "100")
        } else {
            (cell(columns.one), "1")
        };
        let Some(base) = currency(code, &mut unknown) else {
            if code.is_empty() {
                problems.push(file.error(
                    at + 1,
                    format!("the line has no code of ISO 4217: {}", words::quoted(line)),
                ));
            }
            continue;
        };
        match for_one(printed, units) {
            Some(rate) => rates.push((
                at + 1,
                Imported {
                    usage: Use::Customs,
                    base,
                    quote: Currency::JPY,
                    rate,
                    from,
                    to: Some(to),
                },
            )),
            None => problems.push(file.error(at + 1, bad_rate(code, printed))),
        }
    }
    let rates = super::one_of_each(rates, file, problems);
    Some(Publication {
        kind: "Japanese customs' rates of one week",
        source: SOURCE,
        folder: "jp",
        rates,
        unknown,
    })
}

/// `2026-08-16 to 2026-08-22`, with anything before it.
fn week(line: &str) -> Option<(Date, Date)> {
    let line = line.trim_matches([',', ';', '\t', '"', ' ', '#']);
    let (first, last) = line.split_once(" to ")?;
    let first = first.split([' ', ',']).next_back()?;
    let last = last.split([' ', ',']).next()?;
    let (first, last) = (Date::parse(first).ok()?, Date::parse(last).ok()?);
    (first <= last).then_some((first, last))
}

fn week_of_name(path: &str) -> Option<(Date, Date)> {
    let runs = path.split(|c: char| !c.is_ascii_digit());
    let digits: Vec<&str> = runs.filter(|run| run.len() == 8).collect();
    let [.., first, last] = digits.as_slice() else {
        return None;
    };
    let (first, last) = (run_together(first)?, run_together(last)?);
    (first <= last).then_some((first, last))
}
