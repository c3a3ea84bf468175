//! Published files of exchange rates, read as they are: which publication a file is, and what all of them share.
//!
//! Every bad line is reported and then nothing is taken: a half-read file of rates is worse than none. Each publisher has
//! a file of its own in this room; [`merge`] puts what was read into the user's own table.

mod britain;
mod canada;
mod europe;
mod japan;
mod korea;
mod merge;
mod norway;
mod switzerland;

use std::sync::Arc;

use super::Use;
use crate::text::{Diagnostic, Location, Problems, words};
use crate::units::{Currency, Date, Dec, number};

pub(crate) use merge::{Differing, differing, merge};

/// One rate of a published file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Imported {
    /// What it is for.
    pub(crate) usage: Use,
    /// One of this …
    pub(crate) base: Currency,
    /// … is worth the rate in this currency.
    pub(crate) quote: Currency,
    /// As printed.
    pub(crate) rate: String,
    /// Its first day.
    pub(crate) from: Date,
    /// Its last day; none for a market rate, which serves until the next.
    pub(crate) to: Option<Date>,
}

/// What a file was found to be.
#[derive(Debug, Clone)]
pub(crate) struct Publication {
    /// In words.
    pub(crate) kind: &'static str,
    /// What stands behind its rows.
    pub(crate) source: &'static str,
    /// The folder of the customs authority whose rates they are, such as `gb`; empty for market rates.
    pub(crate) folder: &'static str,
    /// Its rates.
    pub(crate) rates: Vec<Imported>,
    /// Codes in it that are not money of ISO 4217 today, which were passed over.
    pub(crate) unknown: Vec<String>,
}

/// What is read, for the message about a file that is not.
const KNOWN: &str = "These are read: the European Central Bank's eurofxref files (CSV and XML, daily and history), the British customs \
authority's monthly CSV and XML, the Bank of Canada's CSV and JSON, Canadian customs' JSON, Norges Bank's CSV, Swiss customs' XML, Korean \
customs' XML, and Japanese customs' weekly list typed as CSV";

/// What can be done without such a file.
const BY_HAND: &str = "any other rate is one row of `exchange.csv` in your folder of rates, under \
`use,base,quote,rate,valid_from,source`: `market,EUR,TWD,36.50,2026-10-30,my bank`";

/// Reads a published file, finding out on its own which it is.
pub(crate) fn import(path: &str, bytes: &[u8], problems: &mut Problems) -> Option<Publication> {
    let text = decode(path, bytes, problems)?;
    let file = File {
        path: Arc::from(path),
        text: &text,
    };
    let found = read(&file, problems);
    if problems.refuse() {
        return None;
    }
    if found
        .as_ref()
        .is_some_and(|publication| publication.rates.is_empty())
    {
        problems.push(
            Diagnostic::error("the file holds no rates").at(Location::line(file.path.clone(), 1)),
        );
        return None;
    }
    found
}

/// Asks each publisher's reader in turn whether the file is its own, by the words that its first lines hold.
fn read(file: &File<'_>, problems: &mut Problems) -> Option<Publication> {
    let start = file.text.trim_start();
    let head = file
        .text
        .lines()
        .next()
        .unwrap_or_default()
        .to_ascii_lowercase();
    if start.starts_with('<') {
        return xml(file, problems);
    }
    if start.starts_with('{') {
        return canada::json(file, problems);
    }
    if canada::is_csv(file.text) {
        return canada::csv(file, problems);
    }
    if norway::is_csv(&head) {
        return norway::csv(file, problems);
    }
    if japan::is_csv(file.text) {
        return japan::csv(file, problems);
    }
    if head.starts_with("date,") {
        return europe::csv(file, problems);
    }
    if head.contains("currency units per") || head.starts_with("period,") {
        return britain::csv(file, problems);
    }
    problems.push(unknown(file));
    None
}

/// Which XML it is, by its first element.
fn xml(file: &File<'_>, problems: &mut Problems) -> Option<Publication> {
    let document = match roxmltree::Document::parse(file.text) {
        Ok(document) => document,
        Err(error) => {
            let line = usize::try_from(error.pos().row).unwrap_or(1);
            problems.push(file.error(line, format!("the file is not whole XML: {error}")));
            return None;
        }
    };
    let names: Vec<&str> = document
        .descendants()
        .filter(roxmltree::Node::is_element)
        .map(|node| node.tag_name().name())
        .take(40)
        .collect();
    match names.first().copied().unwrap_or_default() {
        "wechselkurse" => switzerland::xml(file, &document, problems),
        "Envelope" if names.contains(&"Cube") => Some(europe::xml(file, &document, problems)),
        "trifFxrtInfoQryRtnVo" | "response" if names.contains(&"currSgn") => {
            Some(korea::xml(file, &document, problems))
        }
        "exchangeRateMonthList" => britain::xml(file, &document, problems),
        _ => {
            problems.push(unknown(file));
            None
        }
    }
}

fn unknown(file: &File<'_>) -> Diagnostic {
    Diagnostic::error("not a file of rates that is known here")
        .at(Location::line(file.path.clone(), 1))
        .note(KNOWN)
        .help(BY_HAND)
}

struct File<'a> {
    path: Arc<str>,
    text: &'a str,
}

impl File<'_> {
    fn error(&self, line: usize, what: impl Into<String>) -> Diagnostic {
        let text = self.text.lines().nth(line.saturating_sub(1)).unwrap_or("");
        Diagnostic::error(what).at(Location::within(
            self.path.clone(),
            line,
            text,
            0..text.len(),
        ))
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

/// A currency stands once for each of its countries; two different rates of one are an error.
fn one_of_each(
    rates: Vec<(usize, Imported)>,
    file: &File<'_>,
    problems: &mut Problems,
) -> Vec<Imported> {
    let mut found: Vec<Imported> = Vec::new();
    for (line, rate) in rates {
        match found
            .iter()
            .find(|r| (r.base, r.quote, r.from) == (rate.base, rate.quote, rate.from))
        {
            None => found.push(rate),
            Some(other) if same_figure(&other.rate, &rate.rate) => {}
            Some(other) => problems.push(file.error(
                line,
                format!(
                    "a second rate of {} to {}: {} beside {}",
                    rate.base, rate.quote, rate.rate, other.rate
                ),
            )),
        }
    }
    found
}

fn same_figure(one: &str, other: &str) -> bool {
    number::plain(one).ok() == number::plain(other).ok()
}

/// The line a node of a document begins on.
fn line_of(document: &roxmltree::Document<'_>, node: roxmltree::Node<'_, '_>) -> usize {
    usize::try_from(document.text_pos_at(node.range().start).row).unwrap_or(1)
}

/// The text of a node's child, whatever name space it is in.
fn child_text<'a>(node: roxmltree::Node<'a, '_>, name: &str) -> &'a str {
    node.children()
        .find(|child| child.tag_name().name() == name)
        .and_then(|child| child.text())
        .unwrap_or_default()
        .trim()
}

/// A rate that is printed for a hundred or a thousand units, as the rate of one: the decimal point moves, nothing is rounded.
fn for_one(printed: &str, units: &str) -> Option<String> {
    let rate = number::plain(printed)
        .ok()
        .filter(|rate| rate.is_positive())?;
    let mut one = rate;
    let mut left = units.strip_prefix('1')?;
    while let Some(rest) = left.strip_prefix('0') {
        one = one.times(Dec::new(1, 1)).ok()?;
        left = rest;
    }
    left.is_empty().then(|| {
        if one == rate {
            printed.to_owned()
        } else {
            one.to_string()
        }
    })
}

fn is_rate(text: &str) -> bool {
    number::plain(text).is_ok_and(|n: Dec| n.is_positive())
}

fn bad_rate(code: &str, cell: &str) -> String {
    format!(
        "the rate of {code} is {}: expected a decimal number above 0",
        words::quoted(cell)
    )
}

/// A code of today's list; others are noted once.
fn currency(code: &str, unknown: &mut Vec<String>) -> Option<Currency> {
    let found = Currency::parse(code);
    if found.is_none() && !code.is_empty() && !unknown.contains(&code.to_owned()) {
        unknown.push(code.to_owned());
    }
    found
}
