//! Published files of exchange rates, read as they are: the European Central Bank's daily and historical CSV, the
//! British customs authority's monthly CSV in both layouts, and its XML.
//!
//! Every bad line is reported and then nothing is taken: a half-read file of rates is worse than none.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::exchange::Use;
use crate::text::{Diagnostic, Place, Problems, words};
use crate::units::{Currency, Date, Dec, number};

/// One rate of a published file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Imported {
    /// What it is for.
    pub usage: Use,
    /// One of this …
    pub base: Currency,
    /// … is so many of that.
    pub quote: Currency,
    /// As printed.
    pub rate: String,
    /// Its first day.
    pub from: Date,
    /// Its last day; none for a market rate, which serves until the next.
    pub to: Option<Date>,
}

/// What a file was found to be.
#[derive(Debug, Clone)]
pub struct Publication {
    /// In words.
    pub kind: &'static str,
    /// What stands behind its rows.
    pub source: &'static str,
    /// Its rates.
    pub rates: Vec<Imported>,
    /// Codes in it that are not money of ISO 4217 today, which were passed over.
    pub unknown: Vec<String>,
}

const ECB: &str = "ECB statistics: euro foreign exchange reference rates";
const HMRC: &str = "HM Revenue and Customs: monthly exchange rates for customs and VAT";

/// Reads a published file, finding out by itself which it is.
pub fn import(path: &str, bytes: &[u8], problems: &mut Problems) -> Option<Publication> {
    let text = decode(path, bytes, problems)?;
    let file = File { path: Arc::from(path), text: &text };
    let head = text.lines().next().unwrap_or("").trim_start_matches('\u{feff}').to_ascii_lowercase();
    let found = if text.trim_start().starts_with('<') {
        customs_xml(&file, problems)
    } else if head.starts_with("date,") {
        ecb(&file, problems)
    } else if head.contains("currency units per") || head.starts_with("period,") {
        customs_csv(&file, problems)
    } else {
        let what = "not a file of rates that is known here";
        let known = "known are the European Central Bank's eurofxref.csv and eurofxref-hist.csv and the British customs authority's monthly CSV and XML";
        problems.push(Diagnostic::error(what).at(Place::line(file.path.clone(), 1)).note(known));
        return None;
    };
    if problems.refuse() {
        return None;
    }
    if found.as_ref().is_some_and(|publication| publication.rates.is_empty()) {
        problems.push(Diagnostic::error("the file holds no rates").at(Place::line(file.path.clone(), 1)));
        return None;
    }
    found
}

struct File<'a> {
    path: Arc<str>,
    text: &'a str,
}

impl File<'_> {
    fn error(&self, line: usize, what: impl Into<String>) -> Diagnostic {
        let text = self.text.lines().nth(line.saturating_sub(1)).unwrap_or("");
        Diagnostic::error(what).at(Place::within(self.path.clone(), line, text, 0..text.len()))
    }
}

/// UTF-8, or the older files' ISO 8859-1, in which every byte is a character.
fn decode(path: &str, bytes: &[u8], problems: &mut Problems) -> Option<String> {
    if bytes.contains(&0) {
        return problems.keep(crate::text::decode(path, bytes));
    }
    Some(match std::str::from_utf8(bytes) {
        Ok(text) => text.trim_start_matches('\u{feff}').to_owned(),
        Err(_) => bytes.iter().map(|byte| char::from(*byte)).collect(),
    })
}

/// `Date,USD,JPY,…,` with a trailing comma; `N/A` where there is none; newest first or one line only.
fn ecb(file: &File<'_>, problems: &mut Problems) -> Option<Publication> {
    let mut lines = file.text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty());
    let (_, header) = lines.next()?;
    let codes: Vec<&str> = header.split(',').skip(1).map(str::trim).collect();
    let mut unknown = Vec::new();
    let known: Vec<Option<Currency>> = codes.iter().map(|code| currency(code, &mut unknown)).collect();
    let mut rates = Vec::new();
    for (at, line) in lines {
        let cells: Vec<&str> = line.split(',').map(str::trim).collect();
        let day = match Date::parse(cells.first().copied().unwrap_or("")) {
            Ok(day) => day,
            Err(expected) => {
                problems
                    .push(file.error(at + 1, format!("the day is {}: {expected}", words::quoted(cells.first().copied().unwrap_or("")))));
                continue;
            }
        };
        if cells.len() != codes.len() + 1 {
            problems.push(file.error(at + 1, format!("the line has {} fields, the header {}", cells.len(), codes.len() + 1)));
            continue;
        }
        for ((cell, quote), code) in cells.iter().skip(1).zip(&known).zip(&codes) {
            match (quote, *cell) {
                (None, _) | (_, "N/A") => {}
                (Some(quote), rate) if is_rate(rate) => {
                    rates.push(Imported {
                        usage: Use::Market,
                        base: Currency::EUR,
                        quote: *quote,
                        rate: rate.to_owned(),
                        from: day,
                        to: None,
                    });
                }
                (Some(_), cell) => problems.push(file.error(at + 1, bad_rate(code, cell))),
            }
        }
    }
    let kind = if rates.iter().all(|r| Some(r.from) == rates.first().map(|r| r.from)) {
        "the European Central Bank's reference rates of one day"
    } else {
        "the European Central Bank's reference rates, history"
    };
    Some(Publication { kind, source: ECB, rates, unknown })
}

/// The British monthly CSV: the layout with `Start date` and `End date` (whose header differs in case over the years), or
/// the one with `Period`.
fn customs_csv(file: &File<'_>, problems: &mut Problems) -> Option<Publication> {
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(file.text.as_bytes());
    let header: Vec<String> = reader.headers().ok()?.iter().map(|h| h.trim().to_ascii_lowercase()).collect();
    let column = |names: &[&str]| header.iter().position(|h| names.iter().any(|name| h.starts_with(name)));
    let code = column(&["currency code", "currencycode"])?;
    let rate = column(&["currency units per", "ratenew"])?;
    let (period, start, end) = (column(&["period"]), column(&["start date"]), column(&["end date"]));
    let (mut rates, mut unknown) = (Vec::new(), Vec::new());
    for record in reader.records() {
        let Ok(record) = record else {
            problems.push(file.error(1, "the file is not CSV to its end"));
            break;
        };
        let line =
            file.text[..record.position().map_or(0, |p| usize::try_from(p.byte()).unwrap_or(0)).min(file.text.len())].matches('\n').count()
                + 1;
        let cell = |at: Option<usize>| at.and_then(|at| record.get(at)).unwrap_or("").trim();
        if record.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        let span = match period {
            Some(_) => month(cell(period)),
            None => Date::parse(&day_first(cell(start))).ok().zip(Date::parse(&day_first(cell(end))).ok()),
        };
        one_month_rate(file, line, cell(Some(code)), cell(Some(rate)), span, &mut rates, &mut unknown, problems);
    }
    Some(Publication {
        kind: "the British customs authority's monthly rates",
        source: HMRC,
        rates: one_of_each(rates, file, problems),
        unknown,
    })
}

/// The British monthly XML: `exchangeRateMonthList` with its `Period`, and an `exchangeRate` for each country.
fn customs_xml(file: &File<'_>, problems: &mut Problems) -> Option<Publication> {
    let document = match roxmltree::Document::parse(file.text) {
        Ok(document) => document,
        Err(error) => {
            let line = usize::try_from(error.pos().row).unwrap_or(1);
            problems.push(file.error(line, format!("the file is not whole XML: {error}")));
            return None;
        }
    };
    let root = document.root_element();
    let span = root.attribute("Period").and_then(month);
    if span.is_none() {
        problems.push(file.error(1, "expected `exchangeRateMonthList` with a `Period` such as `01/Feb/2020 to 29/Feb/2020`"));
        return None;
    }
    let (mut rates, mut unknown) = (Vec::new(), Vec::new());
    for item in root.children().filter(|node| node.has_tag_name("exchangeRate")) {
        let text = |name: &str| item.children().find(|n| n.has_tag_name(name)).and_then(|n| n.text()).unwrap_or("").trim();
        let line = usize::try_from(document.text_pos_at(item.range().start).row).unwrap_or(1);
        one_month_rate(file, line, text("currencyCode"), text("rateNew"), span, &mut rates, &mut unknown, problems);
    }
    Some(Publication {
        kind: "the British customs authority's monthly rates, XML",
        source: HMRC,
        rates: one_of_each(rates, file, problems),
        unknown,
    })
}

#[expect(clippy::too_many_arguments, reason = "two readers hand over the same cells")]
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
    let Some(quote) = currency(code, unknown) else { return };
    if !is_rate(rate) {
        problems.push(file.error(line, bad_rate(code, rate)));
    } else if quote != Currency::GBP {
        rates.push((line, Imported { usage: Use::Customs, base: Currency::GBP, quote, rate: rate.to_owned(), from, to: Some(to) }));
    }
}

/// A currency stands once for each of its countries; two different rates of one are an error.
fn one_of_each(rates: Vec<(usize, Imported)>, file: &File<'_>, problems: &mut Problems) -> Vec<Imported> {
    let mut found: Vec<Imported> = Vec::new();
    for (line, rate) in rates {
        match found.iter().find(|r| r.quote == rate.quote && r.from == rate.from) {
            None => found.push(rate),
            Some(other) if same_figure(&other.rate, &rate.rate) => {}
            Some(other) => problems.push(file.error(line, format!("a second rate of {}: {} beside {}", rate.quote, rate.rate, other.rate))),
        }
    }
    found
}

fn same_figure(one: &str, other: &str) -> bool {
    number::plain(one).ok() == number::plain(other).ok()
}

fn is_rate(text: &str) -> bool {
    number::plain(text).is_ok_and(|n: Dec| n.is_positive())
}

fn bad_rate(code: &str, cell: &str) -> String {
    format!("the rate of {code} is {}: expected a decimal number above nought", words::quoted(cell))
}

/// A code of today's list; others are noted once.
fn currency(code: &str, unknown: &mut Vec<String>) -> Option<Currency> {
    let found = Currency::parse(code);
    if found.is_none() && !code.is_empty() && !unknown.contains(&code.to_owned()) {
        unknown.push(code.to_owned());
    }
    found
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

/// Adds rates to the text of a user's `exchange.csv`, keeping every line that is there; a rate for a key and day that
/// is there already is left as it is. Returns the new text and the days that are new; the error says what the file lacks.
pub fn merge(old: Option<&str>, publication: &Publication) -> Result<(String, Vec<Date>), String> {
    const HEADER: &str = "use,base,quote,rate,valid_from,valid_to,source\n";
    let mut text = old.filter(|old| !old.trim().is_empty()).map_or_else(|| HEADER.to_owned(), str::to_owned);
    let end = if text.contains("\r\n") { "\r\n" } else { "\n" };
    if !text.ends_with('\n') {
        text.push_str(end);
    }
    let header = text.lines().find(|l| !l.starts_with('#') && !l.trim().is_empty()).unwrap_or_default();
    let mark = [';', '\t'].into_iter().find(|mark| header.contains(*mark)).unwrap_or(',');
    let rows = records(&text, mark);
    let columns: Vec<String> = rows.first().cloned().unwrap_or_default();
    let columns: Vec<String> = columns.iter().map(|c| c.trim_start_matches('\u{feff}').to_lowercase()).collect();
    if let Some(wanting) = ["use", "base", "quote", "rate", "valid_from"].iter().find(|name| !columns.iter().any(|c| c == *name)) {
        return Err(format!("it has no column `{wanting}`, so nothing can be added to it"));
    }
    let known: BTreeSet<String> = rows.iter().skip(1).map(|cells| key_of(cells, &columns)).collect();
    let mut days = BTreeSet::new();
    for rate in &publication.rates {
        let cells: Vec<String> = columns.iter().map(|column| cell(column, rate, publication.source, mark)).collect();
        if !known.contains(&key_of(&cells, &columns)) {
            text.push_str(&(cells.join(&mark.to_string()) + end));
            days.insert(rate.from);
        }
    }
    Ok((text, days.into_iter().collect()))
}

fn cell(column: &str, rate: &Imported, source: &str, mark: char) -> String {
    match column {
        "use" if rate.usage == Use::Market => "market".to_owned(),
        "use" => "customs".to_owned(),
        "base" => rate.base.to_string(),
        "quote" => rate.quote.to_string(),
        "rate" => rate.rate.clone(),
        "valid_from" => rate.from.to_string(),
        "valid_to" => rate.to.map(|d| d.to_string()).unwrap_or_default(),
        "source" => source.replace(mark, " "),
        "evidence" => "read".to_owned(),
        "certainty" => "certain".to_owned(),
        _ => String::new(),
    }
}

/// The records of a table without its notes, cells trimmed.
fn records(text: &str, mark: char) -> Vec<Vec<String>> {
    let delimiter = u8::try_from(mark).unwrap_or(b',');
    let mut reader =
        csv::ReaderBuilder::new().flexible(true).has_headers(false).comment(Some(b'#')).delimiter(delimiter).from_reader(text.as_bytes());
    reader.records().map_while(Result::ok).map(|row| row.iter().map(|cell| cell.trim().to_owned()).collect()).collect()
}

/// What a rate is for and its first day, however the day is written.
fn key_of(cells: &[String], columns: &[String]) -> String {
    let cell = |name: &str| columns.iter().position(|c| c == name).and_then(|at| cells.get(at)).map_or("", String::as_str);
    let day = Date::parse(cell("valid_from")).map_or_else(|_| cell("valid_from").to_owned(), |day| day.to_string());
    format!("{},{},{},{day}", cell("use"), cell("base").to_uppercase(), cell("quote").to_uppercase())
}
