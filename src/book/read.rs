//! Readers of cells that several tables of a book share.

use std::sync::Arc;

use super::BookFile;
use crate::text::{Cell, Columns, Diagnostic, Problems, Sheet, Spot, words};
use crate::units::{Country, Currency, Dec, Grams, Percent, number};

/// Reads a file of a book into a sheet whose rows outlive it.
pub(super) fn sheet(file: &BookFile, columns: &Columns, problems: &mut Problems) -> Arc<Sheet> {
    let sheet = Sheet::read(&file.path, &file.bytes, columns, problems);
    if memchr::memchr(b'"', &file.bytes).is_some() {
        one_line_names(&sheet, problems);
    }
    Arc::new(sheet)
}

/// Columns with names, of parts, sellers, parcels, bikes and codes.
const NAMES: [&str; 11] = [
    "part",
    "seller",
    "parcel",
    "bike",
    "code",
    "comes_with",
    "needs",
    "consignment",
    "what",
    "carrier",
    "group",
];

/// A name stands on one line; a note may have several.
fn one_line_names(sheet: &Sheet, problems: &mut Problems) {
    for row in sheet.rows() {
        for cell in NAMES
            .map(|name| row.cell(name))
            .iter()
            .filter(|cell| cell.text().contains(['\n', '\r']))
        {
            problems.push(
                cell.error("expected a name on one line")
                    .help("a line break may stand in `note` alone"),
            );
        }
    }
}

/// A country by code or name.
pub(super) fn country(text: &str) -> Result<Country, String> {
    Country::parse(text).ok_or_else(|| {
        let expected = "expected a country, such as `TW` or `Taiwan`";
        words::nearest(text, Country::all_names()).map_or(expected.to_owned(), |near| {
            format!("{expected}; did you mean `{near}`?")
        })
    })
}

/// A country of delivery, or a code of the user's own.
pub(super) fn destination(text: &str) -> Result<Country, String> {
    Country::own(text).map_or_else(|| country(text), Ok)
}

/// A currency by code.
pub(super) fn currency(text: &str) -> Result<Currency, String> {
    Currency::parse(text).ok_or_else(|| {
        let expected = "expected a currency code of ISO 4217, such as `USD`";
        match Currency::meant(text).as_slice() {
            [] => words::nearest(text, Currency::codes()).map_or(expected.to_owned(), |near| {
                format!("{expected}; did you mean `{near}`?")
            }),
            meant => {
                let codes: Vec<String> = meant.iter().map(|money| format!("`{money}`")).collect();
                format!("{expected}; did you mean {}?", words::list(&codes, "or"))
            }
        }
    })
}

/// An amount of zero or more that may carry a currency; the sign must agree with the column, or stand for it.
pub(super) fn amount(
    cell: &Cell<'_>,
    currency: Option<Currency>,
    problems: &mut Problems,
) -> Option<(Dec, Option<Currency>)> {
    let (value, readings) = cell.optional(problems, |text| number::money(text, cell.style()))?;
    if value.is_negative() {
        problems.push(cell.error("expected an amount of 0 or more"));
        return None;
    }
    let money = currency.or(if let [one] = readings[..] {
        Some(one)
    } else {
        None
    });
    if let Some(money) = money.filter(|money| value.decimals() > money.digits()) {
        problems.push(cell.error(match money.digits() {
            0 => format!("expected no decimals: {money} has none"),
            digits => format!("expected at most {digits} decimals, as {money} has"),
        }));
        return None;
    }
    match (readings.as_slice(), currency) {
        ([], known) => Some((value, known)),
        (several, Some(known)) if several.contains(&known) => Some((value, Some(known))),
        ([one], None) => Some((value, Some(*one))),
        (several, None) => {
            let codes: Vec<&str> = several.iter().map(Currency::code).collect();
            problems.push(cell.error(format!(
                "the sign can stand for {}: expected the code in `currency`",
                words::list(&codes, "or")
            )));
            None
        }
        (_, Some(known)) => {
            problems.push(cell.error(format!(
                "expected an amount in {known}, the currency of this row"
            )));
            None
        }
    }
}

/// An amount of zero or more in the destination's money. Whether its sign or code is that money's is asked where the destination
/// is known.
pub(super) fn own_amount(cell: &Cell<'_>, problems: &mut Problems) -> Option<Dec> {
    let readings = number::money(cell.text(), cell.style())
        .map(|(_, readings)| readings)
        .unwrap_or_default();
    let shared = readings.into_iter().max_by_key(|money| money.digits());
    amount(cell, shared, problems).map(|(value, _)| value)
}

/// A mass of zero or more with at most one decimal.
pub(super) fn grams(cell: &Cell<'_>, problems: &mut Problems) -> Option<Grams> {
    let lettered = |text: &str| text.chars().any(char::is_alphabetic);
    let value = cell.optional(problems, |text| match number::typed(text, cell.style()) {
        Err(_) if lettered(text) => {
            Err("expected grams as a number without a unit, such as `180` or `11.5`".to_owned())
        }
        other => other,
    })?;
    if !value.is_positive() {
        problems.push(
            cell.error("expected more than 0 grams")
                .help("leave the cell empty when the mass is not known"),
        );
    } else if value.decimals() > 1 {
        problems.push(cell.error("expected grams with at most one decimal"));
    } else if value > Dec::from(1_000_000_u32) {
        problems.push(cell.error("expected at most a million grams"));
    } else {
        return Some(Grams(value));
    }
    None
}

/// A decimal of zero or more.
pub(super) fn positive(cell: &Cell<'_>, problems: &mut Problems) -> Option<Dec> {
    let value = cell.optional(problems, |text| number::typed(text, cell.style()))?;
    if value.is_negative() {
        problems.push(cell.error("expected 0 or more"));
        return None;
    }
    Some(value)
}

/// A whole number within limits.
pub(super) fn whole(text: &str, least: u32, most: u32) -> Result<u32, String> {
    let digits = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    let read = text
        .parse()
        .ok()
        .filter(|n| digits && (least..=most).contains(n));
    read.ok_or_else(|| format!("expected a whole number from {least} to {most}"))
}

/// A name that is not among the known ones, with the nearest that is.
pub(super) fn unknown<'a>(
    cell: &Cell<'_>,
    expected: impl AsRef<str>,
    known: impl IntoIterator<Item = &'a str>,
) -> Diagnostic {
    let unknown = cell.error(expected);
    match words::nearest(cell.text(), known) {
        Some(near) => unknown.help(format!("did you mean `{near}`?")),
        None => unknown,
    }
}

/// `yes` or `no`.
pub(super) fn yes_no(text: &str) -> Result<bool, String> {
    words::one_of(&[("yes", true), ("no", false)], text)
}

/// Names joined by ` + `; a text that is a known name whole is taken whole.
pub(super) fn names(text: &str, known: &[&str]) -> Vec<String> {
    if text.is_empty() {
        Vec::new()
    } else if known.contains(&text) {
        vec![text.to_owned()]
    } else {
        let names = text.split(" + ").map(|name| name.trim().to_owned());
        names.filter(|name| !name.is_empty()).collect()
    }
}

/// Warns of a percentage below 1 without its sign: it may be meant as a share of one.
pub(super) fn doubt_share(cell: &Cell<'_>, problems: &mut Problems) {
    if let (Some(share), Ok(read)) = (
        Percent::of_share(cell.text(), cell.style()),
        Percent::typed(cell.text(), 100, cell.style()),
    ) {
        let help = format!("write `{}` if {share} is meant, or `{read}`", share.0);
        problems.push(
            cell.error(format!("read as {read}, and not as {share}"))
                .as_warning()
                .help(help),
        );
    }
}

/// The seller a row names.
pub(super) fn seller_of(spot: &Spot) -> Option<String> {
    spot.cell("seller").some().map(str::to_owned)
}
