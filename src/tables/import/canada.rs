//! Canadian dollars for one unit of each currency: the Bank of Canada's market rates in CSV and JSON, and the customs
//! authority's own rates in JSON.

use serde_json::Value;

use super::{File, Imported, Publication, bad_rate, currency, is_rate};
use crate::tables::Use;
use crate::text::{Problems, words};
use crate::units::{Currency, Date};

const BANK: &str = "Bank of Canada: daily exchange rates";
const CUSTOMS: &str = "Canada Border Services Agency: exchange rates";

/// Whether the first lines are those of the Bank's CSV: a preface, `OBSERVATIONS`, then `date,FXUSDCAD,…`.
pub(super) fn is_csv(text: &str) -> bool {
    text.lines().take(400).any(|line| pairs(line).is_some())
}

/// The pairs of a header line `date,FXAUDCAD,FXUSDCAD`.
fn pairs(line: &str) -> Option<Vec<String>> {
    let cells: Vec<String> = line
        .split(',')
        .map(|cell| cell.trim().trim_matches('"').to_owned())
        .collect();
    let whole = cells.first()?.eq_ignore_ascii_case("date")
        && cells.iter().skip(1).any(|cell| base_of(cell).is_some());
    whole.then_some(cells)
}

/// `USD` of `FXUSDCAD`.
fn base_of(name: &str) -> Option<&str> {
    name.strip_prefix("FX")?
        .strip_suffix("CAD")
        .filter(|code| code.len() == 3)
}

/// The Bank's CSV.
pub(super) fn csv(file: &File<'_>, problems: &mut Problems) -> Option<Publication> {
    let mut lines = file
        .text
        .lines()
        .enumerate()
        .skip_while(|(_, line)| pairs(line).is_none());
    let header = pairs(lines.next()?.1)?;
    let (mut rates, mut unknown) = (Vec::new(), Vec::new());
    for (at, line) in lines.filter(|(_, line)| !line.trim().is_empty()) {
        let cells: Vec<&str> = line
            .split(',')
            .map(|cell| cell.trim().trim_matches('"'))
            .collect();
        if cells.len() != header.len() {
            let (own, wanted) = (cells.len(), header.len());
            let what = format!("the line has {own} fields, the header {wanted}");
            problems.push(file.error(at + 1, what));
            continue;
        }
        let day = cells.first().copied().unwrap_or_default();
        for (name, rate) in header
            .iter()
            .zip(&cells)
            .skip(1)
            .filter(|(_, rate)| !rate.is_empty())
        {
            one(
                file,
                at + 1,
                name,
                day,
                rate,
                &mut rates,
                &mut unknown,
                problems,
            );
        }
    }
    Some(Publication {
        kind: "the Bank of Canada's daily rates",
        source: BANK,
        folder: "",
        rates,
        unknown,
    })
}

#[expect(
    clippy::too_many_arguments,
    reason = "two readers hand over the same cells"
)]
fn one(
    file: &File<'_>,
    line: usize,
    name: &str,
    day: &str,
    rate: &str,
    rates: &mut Vec<Imported>,
    unknown: &mut Vec<String>,
    problems: &mut Problems,
) {
    let Some(code) = base_of(name) else {
        problems.push(file.error(
            line,
            format!("{} is not a series such as `FXUSDCAD`", words::quoted(name)),
        ));
        return;
    };
    let from = match Date::parse(day) {
        Ok(from) => from,
        Err(expected) => {
            problems.push(file.error(
                line,
                format!("the day is {}: {expected}", words::quoted(day)),
            ));
            return;
        }
    };
    let Some(base) = currency(code, unknown) else {
        return;
    };
    if is_rate(rate) {
        rates.push(Imported {
            usage: Use::Market,
            base,
            quote: Currency::CAD,
            rate: rate.to_owned(),
            from,
            to: None,
        });
    } else {
        problems.push(file.error(line, bad_rate(code, rate)));
    }
}

/// JSON: the Bank's `observations`, or customs' `ForeignExchangeRates`.
pub(super) fn json(file: &File<'_>, problems: &mut Problems) -> Option<Publication> {
    let whole: Value = match serde_json::from_str(file.text) {
        Ok(whole) => whole,
        Err(error) => {
            problems.push(file.error(
                error.line().max(1),
                format!("the file is not whole JSON: {error}"),
            ));
            return None;
        }
    };
    if let Some(observations) = whole.get("observations").and_then(Value::as_array) {
        return Some(observed(file, observations, problems));
    }
    if let Some(listed) = whole.get("ForeignExchangeRates").and_then(Value::as_array) {
        return Some(listed_by_customs(file, listed, problems));
    }
    problems.push(super::unknown(file));
    None
}

/// `{"d": "2026-09-22", "FXUSDCAD": {"v": "1.4064"}}` for each day.
fn observed(file: &File<'_>, observations: &[Value], problems: &mut Problems) -> Publication {
    let (mut rates, mut unknown) = (Vec::new(), Vec::new());
    for (at, observation) in observations.iter().enumerate() {
        let day = text(observation, "d");
        let series = observation
            .as_object()
            .into_iter()
            .flatten()
            .filter(|(name, _)| *name != "d");
        for (name, value) in series {
            let line = line_with(file, &[&day, name], at);
            one(
                file,
                line,
                name,
                &day,
                &text(value, "v"),
                &mut rates,
                &mut unknown,
                problems,
            );
        }
    }
    Publication {
        kind: "the Bank of Canada's daily rates, JSON",
        source: BANK,
        folder: "",
        rates,
        unknown,
    }
}

/// `{"FromCurrency": {"Value": "USD"}, "ToCurrency": {"Value": "CAD"}, "Rate": "1.4064", "ExchangeRateEffectiveTimestamp": …}`.
fn listed_by_customs(file: &File<'_>, listed: &[Value], problems: &mut Problems) -> Publication {
    let (mut rates, mut unknown) = (Vec::new(), Vec::new());
    for (at, item) in listed.iter().enumerate() {
        let side = |name: &str| {
            item.get(name)
                .map(|side| text(side, "Value"))
                .unwrap_or_default()
        };
        let (from, to, rate) = (side("FromCurrency"), side("ToCurrency"), text(item, "Rate"));
        let day = |name: &str| Date::parse(text(item, name).get(..10).unwrap_or_default()).ok();
        let line = line_with(file, &[&from], at);
        let Some(first) = day("ExchangeRateEffectiveTimestamp") else {
            problems.push(
                file.error(line, format!("the rate of {from} has no `ExchangeRateEffectiveTimestamp` such as `2026-09-22T00:00:00`")),
            );
            continue;
        };
        let last = day("ExchangeRateExpiryTimestamp")
            .filter(|last| *last >= first && last.year() < 9000)
            .unwrap_or(first);
        let Some((base, quote)) = currency(&from, &mut unknown)
            .zip(currency(&to, &mut unknown))
            .filter(|(base, quote)| base != quote)
        else {
            continue;
        };
        if is_rate(&rate) {
            rates.push(Imported {
                usage: Use::Customs,
                base,
                quote,
                rate,
                from: first,
                to: Some(last),
            });
        } else {
            problems.push(file.error(line, bad_rate(&from, &rate)));
        }
    }
    Publication {
        kind: "Canadian customs' exchange rates",
        source: CUSTOMS,
        folder: "ca",
        rates,
        unknown,
    }
}

/// A member that is text; a number keeps its digits.
fn text(value: &Value, name: &str) -> String {
    match value.get(name) {
        Some(Value::String(text)) => text.trim().to_owned(),
        Some(other) => other.to_string(),
        None => String::new(),
    }
}

/// The line on which the words of an item first stand together, else its number among the items.
fn line_with(file: &File<'_>, words: &[&str], at: usize) -> usize {
    let holds = |line: &str| {
        words
            .iter()
            .all(|word| !word.is_empty() && line.contains(word))
    };
    file.text.lines().position(holds).unwrap_or(at) + 1
}
