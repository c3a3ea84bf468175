//! `sellers.csv`: who sends, from where, how, and what their prices hold. Its columns may stand in `parts.csv` instead.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::answers::Cells;
use super::read::{amount, country, currency, doubt_share, sheet, whole, yes_no};
use super::{BookFile, part};
use crate::text::words::{self, one_of};
use crate::text::{Cell, Columns, Problems, Sheet, Spot};
use crate::units::number::{self, Style};
use crate::units::{Country, Currency, Dec, Percent};

/// Who sent it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "named as in the tables")]
pub enum Sender {
    Business,
    Marketplace,
    Private,
    Gift,
}

/// The senders by their words.
pub(crate) const SENDERS: [(&str, Sender); 4] = [
    ("business", Sender::Business),
    ("marketplace", Sender::Marketplace),
    ("private", Sender::Private),
    ("gift", Sender::Gift),
];

impl Sender {
    /// Its word.
    pub(crate) fn name(self) -> &'static str {
        words::word_of(&SENDERS, self)
    }
}

/// How it travels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "named as in the tables")]
pub enum Channel {
    Post,
    Courier,
}

/// The channels by their words.
pub(crate) const CHANNELS: [(&str, Channel); 2] =
    [("post", Channel::Post), ("courier", Channel::Courier)];

impl Channel {
    /// Its word.
    pub(crate) fn name(self) -> &'static str {
        words::word_of(&CHANNELS, self)
    }
}

/// What carrying costs.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Freight {
    /// Nobody has said.
    #[default]
    Unknown,
    /// A flat amount in the seller's money.
    Amount(Dec),
    /// A schedule of `freight.csv`.
    Schedule(String),
}

/// What insuring costs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Insurance {
    /// A flat amount in the seller's money.
    Amount(Dec),
    /// A percentage of goods and freight.
    Share(Percent),
}

/// What tax the seller's prices hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Included {
    /// None.
    Nothing,
    /// The destination's, taken at the sale.
    SaleTax,
    /// The seller's own, taken off for export.
    Own(Percent),
}

/// A carrier's own fee, in the destination's money.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HandlingFee {
    /// Of duty, remedies and tax.
    pub(crate) percent: Percent,
    /// At least this; the whole fee where there is no percentage.
    pub(crate) least: Dec,
}

impl HandlingFee {
    /// Reads `12.00` or `2.5 % min 12.50`. A sign or code beside the amount is left to [`HandlingFee::signs`].
    pub(crate) fn parse(text: &str, style: Style) -> Result<HandlingFee, String> {
        let expected = || {
            "expected a fee such as `12.00` or `2.5 % min 12.50`, in the destination's money"
                .to_owned()
        };
        let read = |text: &str| {
            number::typed(text.trim(), style)
                .ok()
                .filter(|n| !n.is_negative())
                .ok_or_else(expected)
        };
        let money = |text: &str| {
            number::money(text.trim(), style)
                .ok()
                .map(|(n, _)| n)
                .filter(|n| !n.is_negative())
                .ok_or_else(expected)
        };
        match text.split_once('%') {
            None => Ok(HandlingFee {
                percent: Percent::ZERO,
                least: money(text)?,
            }),
            Some((percent, rest)) => {
                let least = match rest.trim().strip_prefix("min") {
                    Some(least) => money(least)?,
                    None if rest.trim().is_empty() => Dec::ZERO,
                    None => return Err(expected()),
                };
                let percent = read(percent)
                    .ok()
                    .filter(|p| *p <= Dec::HUNDRED)
                    .ok_or_else(expected)?;
                Ok(HandlingFee {
                    percent: Percent(percent),
                    least,
                })
            }
        }
    }

    /// What the sign or code beside its amount can stand for; empty where there is none.
    pub(crate) fn signs(text: &str, style: Style) -> Vec<Currency> {
        let amount = text.rsplit_once('%').map_or(text, |(_, rest)| {
            rest.trim().strip_prefix("min").unwrap_or("")
        });
        number::money(amount.trim(), style)
            .map(|(_, signs)| signs)
            .unwrap_or_default()
    }
}

/// One seller.
#[derive(Debug, Clone)]
pub struct Seller {
    /// Its name.
    pub(crate) name: String,
    /// The country parcels leave from.
    pub(crate) dispatch: Option<Country>,
    /// What it is paid in.
    pub currency: Option<Currency>,
    /// Who it is.
    pub(crate) sender: Option<Sender>,
    /// What carrying costs.
    pub(crate) freight: Freight,
    /// Goods of so much, and of more, travel free.
    pub(crate) free_freight_over: Option<Dec>,
    /// What insuring costs.
    pub(crate) insurance: Option<Insurance>,
    /// Whether it takes the destination's tax.
    pub(crate) collects_tax: Option<bool>,
    /// What tax its prices hold.
    pub(crate) prices_include: Included,
    /// Incoterms; empty for charges at the door.
    pub(crate) terms: String,
    /// How its parcels travel.
    pub(crate) channel: Option<Channel>,
    /// Who carries them.
    pub carrier: String,
    /// The carrier's own fee.
    pub(crate) handling: Option<HandlingFee>,
    /// The row that gives it.
    pub(crate) handling_at: Option<Spot>,
    /// Days on the way.
    pub(crate) transit_days: Option<u32>,
    /// What sending back costs, in the seller's money.
    pub(crate) return_freight: Option<Dec>,
    /// Where it was first read.
    pub(crate) at: Spot,
    /// The columns that its rows state, even where they could not be read.
    pub(crate) stated: Vec<&'static str>,
}

impl Seller {
    /// Whether the price holds all charges at the door: delivered, duty paid.
    pub(crate) fn pays_duty(&self) -> bool {
        self.terms == "DDP"
    }

    /// Whether a row states this column, even if it could not be read.
    pub(super) fn states(&self, column: &str) -> bool {
        self.stated.contains(&column)
    }
}

/// The columns of `sellers.csv` beside the name.
pub(super) const OWN: [&str; 14] = [
    "dispatch",
    "currency",
    "sender",
    "freight",
    "free_freight_over",
    "insurance",
    "collects_tax",
    "prices_include",
    "terms",
    "channel",
    "carrier",
    "handling",
    "transit_days",
    "return_freight",
];

pub(super) const COLUMNS: Columns = Columns {
    needed: &["seller"],
    optional: &OWN,
    shared: &[],
};

/// Reads the sellers from their own table and from the rows of parts that name them; and whether a row of either was lost.
pub(super) fn read(
    file: Option<&BookFile>,
    parts: &Arc<Sheet>,
    problems: &mut Problems,
) -> (BTreeMap<String, Seller>, bool) {
    let mut found: BTreeMap<String, Cells> = BTreeMap::new();
    let mut lost = parts.lost_rows();
    if let Some(file) = file {
        let own = sheet(file, &COLUMNS, problems);
        lost = lost || own.lost_rows();
        for spot in Spot::rows(&own) {
            let name = spot.cell("seller");
            if name.is_empty() {
                problems.push(name.error("expected a name"));
            } else if found.contains_key(name.text()) {
                let first = found
                    .get(name.text())
                    .and_then(|cells| cells.first())
                    .map(|spot| spot.place().to_string())
                    .unwrap_or_default();
                problems.push(name.error(format!(
                    "expected one row for each seller: this one stands at {first} too"
                )));
            } else {
                let name = name.text().to_owned();
                found.insert(
                    name,
                    Cells {
                        own: Some(spot),
                        ..Cells::default()
                    },
                );
            }
        }
    }
    for spot in Spot::rows(parts) {
        let name = part::seller_of(&spot);
        if let Some(name) = name {
            found.entry(name).or_default().rows.push(spot);
        }
    }
    let mut read = BTreeMap::new();
    for (name, mut cells) in found {
        cells.settle();
        let seller = words::hinting(!problems.too_many(), || one(name.clone(), &cells, problems));
        let seller = seller.filter(|_| !problems.too_many());
        read.extend(seller.map(|seller| (name, seller)));
    }
    (read, lost)
}

fn one(name: String, cells: &Cells, problems: &mut Problems) -> Option<Seller> {
    cells.disagreements(&name, problems);
    let at = cells.first()?.clone();
    let currency = cells
        .cell("currency")
        .and_then(|c| c.needed(problems, currency))
        .or_else(|| cells.sign_of_prices());
    let money = |column: &'static str, problems: &mut Problems| {
        amount(&cells.cell(column)?, currency, problems).map(|(value, _)| value)
    };
    let read_freight = freight(cells.cell("freight"), currency, problems);
    if let Some(cell) = cells.cell("prices_include") {
        doubt_share(&cell, problems);
    }
    Some(Seller {
        dispatch: cells
            .cell("dispatch")
            .and_then(|c| c.needed(problems, country)),
        currency,
        sender: cells
            .cell("sender")
            .and_then(|c| c.needed(problems, |t| one_of(&SENDERS, t))),
        freight: read_freight,
        free_freight_over: money("free_freight_over", problems),
        insurance: cells
            .cell("insurance")
            .and_then(|c| insurance(&c, currency, problems)),
        collects_tax: cells
            .cell("collects_tax")
            .and_then(|c| c.needed(problems, yes_no)),
        prices_include: cells
            .cell("prices_include")
            .and_then(|c| c.needed(problems, |t| included(t, c.style())))
            .unwrap_or(Included::Nothing),
        terms: cells
            .cell("terms")
            .and_then(|c| c.needed(problems, terms))
            .unwrap_or_default(),
        channel: cells
            .cell("channel")
            .and_then(|c| c.needed(problems, |t| one_of(&CHANNELS, t))),
        carrier: cells
            .cell("carrier")
            .map(|c| c.text().to_owned())
            .unwrap_or_default(),
        handling: cells
            .cell("handling")
            .and_then(|c| c.needed(problems, |t| HandlingFee::parse(t, c.style()))),
        handling_at: cells.row_with("handling").cloned(),
        transit_days: cells.cell("transit_days").and_then(|c| {
            c.needed(problems, |t| {
                whole(t, 0, 400).map_err(|e| e.replace("number", "number of days"))
            })
        }),
        return_freight: money("return_freight", problems),
        stated: OWN
            .into_iter()
            .filter(|column| cells.cell(column).is_some())
            .collect(),
        name,
        at,
    })
}

/// An amount, else the name of a schedule.
pub(super) fn freight(
    cell: Option<Cell<'_>>,
    currency: Option<Currency>,
    problems: &mut Problems,
) -> Freight {
    let Some(cell) = cell.filter(|cell| !cell.is_empty()) else {
        return Freight::Unknown;
    };
    let named = cell.text().starts_with(|c: char| c.is_ascii_lowercase())
        && number::money(cell.text(), cell.style()).is_err();
    if named {
        return Freight::Schedule(cell.text().to_owned());
    }
    if !cell.text().contains(|c: char| c.is_ascii_digit()) {
        problems
            .push(cell.error("expected an amount such as `12.00`, the name of a schedule in small letters, or `0` when carriage is free"));
        return Freight::Unknown;
    }
    amount(&cell, currency, problems).map_or(Freight::Unknown, |(value, _)| Freight::Amount(value))
}

/// An amount, or a percentage of goods and freight.
pub(super) fn insurance(
    cell: &Cell<'_>,
    currency: Option<Currency>,
    problems: &mut Problems,
) -> Option<Insurance> {
    if cell.text().ends_with('%') {
        return cell
            .needed(problems, |t| Percent::typed(t, 100, cell.style()))
            .map(Insurance::Share);
    }
    if !cell.text().contains(|c: char| c.is_ascii_digit()) {
        problems.push(cell.error("expected an amount such as `12.00`, or a percentage of goods and freight such as `1 %`"));
        return None;
    }
    amount(cell, currency, problems).map(|(value, _)| Insurance::Amount(value))
}

pub(super) fn included(text: &str, style: Style) -> Result<Included, String> {
    if text == "sale-tax" {
        return Ok(Included::SaleTax);
    }
    Percent::typed(text, 100, style)
        .map(Included::Own)
        .map_err(|_| "expected `sale-tax`, or the seller's own tax such as `19`".to_owned())
}

const TERMS: [&str; 11] = [
    "EXW", "FCA", "FAS", "FOB", "CFR", "CIF", "CPT", "CIP", "DAP", "DPU", "DDP",
];

pub(super) fn terms(text: &str) -> Result<String, String> {
    let upper = text.to_ascii_uppercase();
    if TERMS.contains(&upper.as_str()) {
        Ok(upper)
    } else {
        Err(format!(
            "expected terms of Incoterms 2020: {}",
            words::list(&TERMS, "or")
        ))
    }
}
