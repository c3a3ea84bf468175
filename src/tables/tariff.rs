//! Rows of `tariff.csv`, `taxes.csv`: percentages by goods, origin and day; and where a charge takes its rate from.

use std::fmt;

use super::after::{After, read_after};
use super::coin::currency;
use super::destination::land;
use super::law_names;
use super::stamp::{PROVENANCE, Rule};
use super::when::When;
use crate::text::{Columns, Problems, Row};
use crate::units::{Currency, Dec, Percent, number};

/// Where a charge's percentage comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum RateFrom {
    /// The first of these tariff layers that has a rate for the line.
    Tariff(Vec<String>),
    /// A tax of `taxes.csv`.
    Taxes(String),
}

impl RateFrom {
    pub(super) fn parse(text: &str) -> Result<RateFrom, String> {
        let expected =
            || "expected `tariff:LAYER`, `tariff:LAYER + LAYER` or `taxes:NAME`".to_owned();
        let (table, names) = text.split_once(':').ok_or_else(expected)?;
        let names: Vec<String> = names.split(" + ").map(|n| n.trim().to_owned()).collect();
        match (table, names.as_slice()) {
            _ if names.iter().any(String::is_empty) => Err(expected()),
            ("tariff", _) => Ok(RateFrom::Tariff(names)),
            ("taxes", [name]) => Ok(RateFrom::Taxes(name.clone())),
            _ => Err(expected()),
        }
    }
}

impl fmt::Display for RateFrom {
    /// As in the tables: `tariff:preference + mfn`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            RateFrom::Tariff(layers) => write!(f, "tariff:{}", layers.join(" + ")),
            RateFrom::Taxes(tax) => write!(f, "taxes:{tax}"),
        }
    }
}

/// One rate of duty.
#[derive(Debug, Clone)]
pub(crate) struct TariffRow {
    /// The layer: layers add up, they do not compete.
    pub(crate) layer: String,
    /// The first digits of the goods, or `*`.
    pub(crate) commodity: String,
    /// A country, a group of countries, or `*`.
    pub(crate) origin: String,
    /// Percent of the sum the charge names.
    pub(crate) percent: Option<Percent>,
    /// An amount for each kilogram.
    pub(crate) per_kg: Option<Dec>,
    /// An amount for each piece.
    pub(crate) per_piece: Option<Dec>,
    /// The currency of those amounts.
    pub(crate) currency: Option<Currency>,
    /// When it applies.
    pub(crate) when: When,
    /// What is known of the days after it ended.
    pub(crate) after: After,
}

impl Rule for TariffRow {
    const COLUMNS: Columns = Columns {
        needed: &["layer", "commodity", "origin"],
        optional: &[
            "percent",
            "per_kg",
            "per_piece",
            "currency",
            "when",
            "after",
        ],
        shared: PROVENANCE,
    };

    fn read(row: &Row<'_>, problems: &mut Problems) -> Option<TariffRow> {
        let commodity = row.cell("commodity").needed(problems, prefix);
        let percent = row
            .cell("percent")
            .optional(problems, |t| Percent::parse(t, 1000));
        let per_kg = row.cell("per_kg").optional(problems, zero_or_more);
        let per_piece = row.cell("per_piece").optional(problems, zero_or_more);
        let currency = row.cell("currency").optional(problems, currency);
        if ["percent", "per_kg", "per_piece"]
            .iter()
            .all(|name| row.cell(name).is_empty())
        {
            problems.push(
                row.cell("percent")
                    .error("expected a rate: a percentage, or an amount per kilogram or piece"),
            );
        }
        if (per_kg.is_some() || per_piece.is_some()) && currency.is_none() {
            problems.push(
                row.cell("currency")
                    .error("expected the currency of the amount"),
            );
        }
        let layer = row.cell("layer").needed(problems, word);
        let origin = row.cell("origin").needed(problems, land);
        let when = row
            .cell("when")
            .optional(problems, When::parse)
            .unwrap_or_default();
        let after = read_after(row, After::Unknown, problems);
        Some(TariffRow {
            layer: layer?,
            commodity: commodity?,
            origin: origin?,
            percent,
            per_kg,
            per_piece,
            currency,
            when,
            after,
        })
    }

    fn key(&self) -> String {
        let when = self.when.to_string();
        [&*self.layer, &self.commodity, &self.origin, &when].join(" ")
    }

    fn titled(&self) -> String {
        let goods = law_names::made_in(&law_names::goods_near(&self.commodity), &self.origin);
        format!("{}, {goods}", law_names::duty(&self.layer))
    }
}

/// One rate of tax.
#[derive(Debug, Clone)]
pub(crate) struct TaxRow {
    /// The tax.
    pub(crate) tax: String,
    /// The country.
    pub(crate) country: String,
    /// The region whose row replaces the country's; empty for the whole country.
    pub(crate) region: String,
    /// The first digits of the goods, or `*`.
    pub(crate) commodity: String,
    /// Percent of the sum the charge names.
    pub(crate) percent: Percent,
    /// What is known of the days after it ended.
    pub(crate) after: After,
}

impl Rule for TaxRow {
    const COLUMNS: Columns = Columns {
        needed: &["tax", "country", "commodity", "percent"],
        optional: &["region", "after"],
        shared: PROVENANCE,
    };

    fn read(row: &Row<'_>, problems: &mut Problems) -> Option<TaxRow> {
        let tax = row.cell("tax").needed(problems, word);
        let country = row.cell("country").needed(problems, land);
        let commodity = row.cell("commodity").needed(problems, prefix);
        let percent = row
            .cell("percent")
            .needed(problems, |t| Percent::parse(t, 1000));
        let region = row.cell("region").text().to_owned();
        let after = read_after(row, After::Unknown, problems);
        Some(TaxRow {
            tax: tax?,
            country: country?,
            region,
            commodity: commodity?,
            percent: percent?,
            after,
        })
    }

    fn key(&self) -> String {
        [&*self.tax, &self.country, &self.region, &self.commodity].join(" ")
    }

    fn titled(&self) -> String {
        format!(
            "{}, {}",
            law_names::tax(&self.tax),
            law_names::goods_near(&self.commodity)
        )
    }
}

/// The first digits of a commodity code, or `*`.
fn prefix(text: &str) -> Result<String, String> {
    let digits = (2..=10).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit());
    if digits || text == "*" {
        Ok(text.to_owned())
    } else {
        Err("expected 2 to 10 digits of a commodity code, or `*`".to_owned())
    }
}

fn zero_or_more(text: &str) -> Result<Dec, String> {
    let amount = number::plain(text)?;
    if amount.is_negative() {
        Err("expected 0 or more: a duty takes money and never gives any".to_owned())
    } else {
        Ok(amount)
    }
}

fn word(text: &str) -> Result<String, String> {
    if text.is_empty() {
        Err("expected a word".to_owned())
    } else {
        Ok(text.to_owned())
    }
}
