//! Norges Bank's market rates in CSV: kroner for one, a hundred or a thousand units of each currency.

use super::{File, Imported, Publication, bad_rate, currency, for_one};
use crate::tables::Use;
use crate::text::{Problems, words};
use crate::units::Date;

const SOURCE: &str = "Norges Bank: exchange rates";

/// Whether a header line has the columns that are asked for.
pub(super) fn is_csv(head: &str) -> bool {
    [
        "base_cur",
        "quote_cur",
        "unit_mult",
        "time_period",
        "obs_value",
    ]
    .iter()
    .all(|name| head.contains(name))
}

/// Columns by name, separated as the bank was asked to; `UNIT_MULT` 2 is a rate for a hundred units.
pub(super) fn csv(file: &File<'_>, problems: &mut Problems) -> Option<Publication> {
    let header = file.text.lines().next()?;
    let mark = [';', '\t']
        .into_iter()
        .find(|mark| header.contains(*mark))
        .unwrap_or(',');
    let delimiter = u8::try_from(mark).ok()?;
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .delimiter(delimiter)
        .from_reader(file.text.as_bytes());
    let names: Vec<String> = reader
        .headers()
        .ok()?
        .iter()
        .map(|name| name.trim().to_ascii_uppercase())
        .collect();
    let column = |name: &str| names.iter().position(|own| own == name);
    let needed = [
        "BASE_CUR",
        "QUOTE_CUR",
        "UNIT_MULT",
        "TIME_PERIOD",
        "OBS_VALUE",
    ]
    .map(column);
    let (mut rates, mut unknown) = (Vec::new(), Vec::new());
    for (at, record) in reader.records().enumerate() {
        let Ok(record) = record else {
            problems.push(file.error(at + 2, "the file is not CSV to its end"));
            break;
        };
        let [base, quote, power, day, printed] =
            needed.map(|at| at.and_then(|at| record.get(at)).unwrap_or_default().trim());
        let Some((base, quote)) = currency(base, &mut unknown).zip(currency(quote, &mut unknown))
        else {
            continue;
        };
        let from = match Date::parse(day) {
            Ok(from) => from,
            Err(expected) => {
                problems.push(file.error(
                    at + 2,
                    format!("the day is {}: {expected}", words::quoted(day)),
                ));
                continue;
            }
        };
        let units = power
            .parse::<usize>()
            .ok()
            .filter(|power| *power <= 6)
            .map(|power| format!("1{}", "0".repeat(power)));
        let Some(units) = units else {
            problems.push(file.error(
                at + 2,
                format!(
                    "`UNIT_MULT` is {}: expected a whole number from 0 to 6",
                    words::quoted(power)
                ),
            ));
            continue;
        };
        match for_one(&without_thousands_marks(printed), &units) {
            Some(rate) => rates.push(Imported {
                usage: Use::Market,
                base,
                quote,
                rate,
                from,
                to: None,
            }),
            None => problems.push(file.error(at + 2, bad_rate(base.code(), printed))),
        }
    }
    Some(Publication {
        kind: "Norges Bank's exchange rates",
        source: SOURCE,
        folder: "",
        rates,
        unknown,
    })
}

/// `1,057.20` as `1057.20`: in this publication a comma before three digits and a point parts thousands.
fn without_thousands_marks(printed: &str) -> String {
    match printed.split_once('.') {
        Some((whole, rest))
            if whole.contains(',') && whole.split(',').skip(1).all(|group| group.len() == 3) =>
        {
            format!("{}.{rest}", whole.replace(',', ""))
        }
        _ => printed.to_owned(),
    }
}
