//! The British customs authority's monthly rates: units of each currency for one pound, in the CSV's two layouts and in XML.

use super::{
    File, Imported, Publication, bad_rate, child_text, currency, is_rate, line_of, one_of_each,
};
use crate::tables::Use;
use crate::text::Problems;
use crate::units::{Currency, Date};

const SOURCE: &str = "HM Revenue and Customs: monthly exchange rates for customs and VAT";

/// The British monthly CSV: the layout with `Start date` and `End date` (whose header differs in case over the years), or
/// the one with `Period`.
pub(super) fn csv(file: &File<'_>, problems: &mut Problems) -> Option<Publication> {
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .from_reader(file.text.as_bytes());
    let header: Vec<String> = reader
        .headers()
        .ok()?
        .iter()
        .map(|h| h.trim().to_ascii_lowercase())
        .collect();
    let column = |names: &[&str]| {
        header
            .iter()
            .position(|h| names.iter().any(|name| h.starts_with(name)))
    };
    let code = column(&["currency code", "currencycode"])?;
    let rate = column(&["currency units per", "ratenew"])?;
    let (period, start, end) = (
        column(&["period"]),
        column(&["start date"]),
        column(&["end date"]),
    );
    let (mut rates, mut unknown) = (Vec::new(), Vec::new());
    for record in reader.records() {
        let Ok(record) = record else {
            problems.push(file.error(1, "the file is not CSV to its end"));
            break;
        };
        let line = file.text[..record
            .position()
            .map_or(0, |p| usize::try_from(p.byte()).unwrap_or(0))
            .min(file.text.len())]
            .matches('\n')
            .count()
            + 1;
        let cell = |at: Option<usize>| at.and_then(|at| record.get(at)).unwrap_or("").trim();
        if record.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        let span = match period {
            Some(_) => month(cell(period)),
            None => Date::parse(&day_first(cell(start)))
                .ok()
                .zip(Date::parse(&day_first(cell(end))).ok()),
        };
        one_month_rate(
            file,
            line,
            cell(Some(code)),
            cell(Some(rate)),
            span,
            &mut rates,
            &mut unknown,
            problems,
        );
    }
    Some(Publication {
        kind: "the British customs authority's monthly rates",
        source: SOURCE,
        folder: "gb",
        rates: one_of_each(rates, file, problems),
        unknown,
    })
}

/// The British monthly XML: `exchangeRateMonthList` with its `Period`, and an `exchangeRate` for each country.
pub(super) fn xml(
    file: &File<'_>,
    document: &roxmltree::Document<'_>,
    problems: &mut Problems,
) -> Option<Publication> {
    let root = document.root_element();
    let span = root.attribute("Period").and_then(month);
    if span.is_none() {
        problems.push(file.error(
            1,
            "expected `exchangeRateMonthList` with a `Period` such as `01/Feb/2020 to 29/Feb/2020`",
        ));
        return None;
    }
    let (mut rates, mut unknown) = (Vec::new(), Vec::new());
    for item in root
        .children()
        .filter(|node| node.has_tag_name("exchangeRate"))
    {
        let (code, rate) = (
            child_text(item, "currencyCode"),
            child_text(item, "rateNew"),
        );
        one_month_rate(
            file,
            line_of(document, item),
            code,
            rate,
            span,
            &mut rates,
            &mut unknown,
            problems,
        );
    }
    Some(Publication {
        kind: "the British customs authority's monthly rates, XML",
        source: SOURCE,
        folder: "gb",
        rates: one_of_each(rates, file, problems),
        unknown,
    })
}

#[expect(
    clippy::too_many_arguments,
    reason = "two readers hand over the same cells"
)]
fn one_month_rate(
    file: &File<'_>,
    line: usize,
    code: &str,
    rate: &str,
    span: Option<(Date, Date)>,
    rates: &mut Vec<(usize, Imported)>,
    unknown: &mut Vec<String>,
    problems: &mut Problems,
) {
    let Some((from, to)) = span.filter(|(from, to)| from <= to) else {
        problems.push(file.error(line, "expected the first and the last day of the rate"));
        return;
    };
    let Some(quote) = currency(code, unknown) else {
        return;
    };
    if !is_rate(rate) {
        problems.push(file.error(line, bad_rate(code, rate)));
    } else if quote != Currency::GBP {
        rates.push((
            line,
            Imported {
                usage: Use::Customs,
                base: Currency::GBP,
                quote,
                rate: rate.to_owned(),
                from,
                to: Some(to),
            },
        ));
    }
}

/// `01/Feb/2020 to 29/Feb/2020`.
fn month(text: &str) -> Option<(Date, Date)> {
    let (from, to) = text.split_once(" to ")?;
    let day = |text: &str| Date::parse(&text.trim().replace('/', " ")).ok();
    day(from).zip(day(to))
}

/// `01/02/2020` in these files is the first of February.
fn day_first(text: &str) -> String {
    text.replace('/', ".")
}
