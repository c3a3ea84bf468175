//! The European Central Bank's reference rates: market rates of one euro, as `eurofxref` files in CSV and XML, of one day
//! or of a history.

use super::{File, Imported, Publication, bad_rate, currency, is_rate, line_of};
use crate::tables::Use;
use crate::text::{Problems, words};
use crate::units::{Currency, Date};

const SOURCE: &str = "ECB statistics: euro foreign exchange reference rates";

/// `Date,USD,JPY,…,` with a trailing comma; `N/A` where there is none; newest first or one line only.
pub(super) fn csv(file: &File<'_>, problems: &mut Problems) -> Option<Publication> {
    let mut lines = file
        .text
        .lines()
        .enumerate()
        .filter(|(_, line)| !line.trim().is_empty());
    let (_, header) = lines.next()?;
    let codes: Vec<&str> = header.split(',').skip(1).map(str::trim).collect();
    let mut unknown = Vec::new();
    let known: Vec<Option<Currency>> = codes
        .iter()
        .map(|code| currency(code, &mut unknown))
        .collect();
    let mut rates = Vec::new();
    for (at, line) in lines {
        let cells: Vec<&str> = line.split(',').map(str::trim).collect();
        let day = match Date::parse(cells.first().copied().unwrap_or("")) {
            Ok(day) => day,
            Err(expected) => {
                problems.push(file.error(
                    at + 1,
                    format!(
                        "the day is {}: {expected}",
                        words::quoted(cells.first().copied().unwrap_or(""))
                    ),
                ));
                continue;
            }
        };
        if cells.len() != codes.len() + 1 {
            problems.push(file.error(
                at + 1,
                format!(
                    "the line has {} fields, the header {}",
                    cells.len(),
                    codes.len() + 1
                ),
            ));
            continue;
        }
        for ((cell, quote), code) in cells.iter().skip(1).zip(&known).zip(&codes) {
            match (quote, *cell) {
                (None, _) | (_, "N/A") => {}
                (Some(quote), rate) if is_rate(rate) => rates.push(of_day(*quote, rate, day)),
                (Some(_), cell) => problems.push(file.error(at + 1, bad_rate(code, cell))),
            }
        }
    }
    Some(publication(rates, unknown))
}

/// `Envelope`, in it `Cube time="2026-10-30"` for each day, in these `Cube currency="USD" rate="1.1172"`.
pub(super) fn xml(
    file: &File<'_>,
    document: &roxmltree::Document<'_>,
    problems: &mut Problems,
) -> Publication {
    let (mut rates, mut unknown) = (Vec::new(), Vec::new());
    for cube in document
        .descendants()
        .filter(|node| node.attribute("time").is_some())
    {
        let time = cube.attribute("time").unwrap_or_default();
        let day = match Date::parse(time) {
            Ok(day) => day,
            Err(expected) => {
                problems.push(file.error(
                    line_of(document, cube),
                    format!("the day is {}: {expected}", words::quoted(time)),
                ));
                continue;
            }
        };
        for item in cube.children().filter(roxmltree::Node::is_element) {
            let (code, rate) = (
                item.attribute("currency").unwrap_or_default(),
                item.attribute("rate").unwrap_or_default(),
            );
            match currency(code, &mut unknown) {
                _ if code.is_empty() => problems.push(file.error(
                    line_of(document, item),
                    "expected a `currency` and a `rate`",
                )),
                None => {}
                Some(quote) if is_rate(rate) => rates.push(of_day(quote, rate, day)),
                Some(_) => problems.push(file.error(line_of(document, item), bad_rate(code, rate))),
            }
        }
    }
    publication(rates, unknown)
}

fn of_day(quote: Currency, rate: &str, day: Date) -> Imported {
    Imported {
        usage: Use::Market,
        base: Currency::EUR,
        quote,
        rate: rate.to_owned(),
        from: day,
        to: None,
    }
}

fn publication(rates: Vec<Imported>, unknown: Vec<String>) -> Publication {
    let kind = if rates
        .iter()
        .all(|r| Some(r.from) == rates.first().map(|r| r.from))
    {
        "the European Central Bank's reference rates of one day"
    } else {
        "the European Central Bank's reference rates, history"
    };
    Publication {
        kind,
        source: SOURCE,
        folder: "",
        rates,
        unknown,
    }
}
