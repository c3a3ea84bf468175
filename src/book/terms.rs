//! On what terms a seller sends: who it is, how its parcels travel, what carrying and insuring cost, what its prices hold.

use super::read::amount;
use crate::text::words;
use crate::text::{Cell, Problems};
use crate::units::number::{self, Style};
use crate::units::{Currency, Dec, Percent};

/// Who sent it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Sender {
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
pub(crate) enum Channel {
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
pub(crate) enum Freight {
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
pub(crate) enum Insurance {
    /// A flat amount in the seller's money.
    Amount(Dec),
    /// A percentage of goods and freight.
    Share(Percent),
}

/// What tax the seller's prices hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Included {
    /// None.
    Nothing,
    /// The destination's, taken at the sale.
    SaleTax,
    /// The seller's own, taken off for export.
    Own(Percent),
}

/// A carrier's own fee, in the destination's money.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct HandlingFee {
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
        return Ok(upper);
    }
    let known = words::list(&TERMS, "or");
    Err(format!("expected terms of Incoterms 2020: {known}"))
}
