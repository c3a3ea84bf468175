//! Rows of `destinations.csv` and `border_freight.csv`: whose money and whose exchange a country's customs uses, and
//! how much of the freight counts up to its border.

use super::coin::currency;
use super::stamp::{PROVENANCE, Rule};
use crate::text::words::{one_of, word_of};
use crate::text::{Columns, Problems, Row};
use crate::units::{Country, Currency, Percent};

/// How a country's customs converts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum CustomsExchange {
    /// By its own published table.
    AsListed,
    /// By the Union's monthly rate.
    EcbMonth,
    /// By the market rate.
    Market,
}

/// What a country calls its tax on goods.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[expect(missing_docs, reason = "named as in the tables")]
pub enum TaxName {
    #[default]
    Vat,
    Gst,
}

const TAX_NAMES: [(&str, TaxName); 2] = [("VAT", TaxName::Vat), ("GST", TaxName::Gst)];

impl TaxName {
    /// Its word.
    pub(crate) fn name(self) -> &'static str {
        word_of(&TAX_NAMES, self)
    }
}

/// A country goods can be sent to.
#[derive(Debug, Clone)]
pub struct Destination {
    /// The country.
    pub country: Country,
    /// Its money.
    pub currency: Currency,
    /// The customs group it belongs to; empty for none.
    pub group: String,
    /// How its customs converts.
    pub(crate) exchange: CustomsExchange,
    /// What it calls its tax on goods.
    pub(crate) tax_name: TaxName,
    /// The folder whose tables of goods it takes under its own; empty for none.
    pub(crate) tariff_of: String,
    /// The folder whose customs rates of exchange it takes beside those of its law; empty for none.
    pub(crate) exchange_of: String,
}

impl Rule for Destination {
    const COLUMNS: Columns = Columns {
        needed: &["country", "currency"],
        optional: &[
            "group",
            "customs_exchange",
            "tax_name",
            "tariff_of",
            "exchange_of",
        ],
        shared: PROVENANCE,
    };

    fn read(row: &Row<'_>, problems: &mut Problems) -> Option<Destination> {
        let words = [
            ("as-listed", CustomsExchange::AsListed),
            ("ecb-month", CustomsExchange::EcbMonth),
            ("market", CustomsExchange::Market),
        ];
        let country = row.cell("country").needed(problems, |text| {
            Country::own(text).map_or_else(|| country(text), Ok)
        });
        let currency = row.cell("currency").needed(problems, currency);
        let exchange = row
            .cell("customs_exchange")
            .optional(problems, |t| one_of(&words, t))
            .unwrap_or(CustomsExchange::Market);
        let tax_name = row
            .cell("tax_name")
            .optional(problems, |t| one_of(&TAX_NAMES, t))
            .unwrap_or_default();
        let [group, tariff_of, exchange_of] =
            ["group", "tariff_of", "exchange_of"].map(|name| row.cell(name).text().to_owned());
        Some(Destination {
            country: country?,
            currency: currency?,
            group,
            exchange,
            tax_name,
            tariff_of,
            exchange_of,
        })
    }

    fn key(&self) -> String {
        self.country.to_string()
    }
}

/// The share of the freight that counts up to the border.
#[derive(Debug, Clone)]
pub(crate) struct BorderFreight {
    /// The destination, or `*`.
    pub(crate) country: String,
    /// The channel, or `*`.
    pub(crate) channel: String,
    /// The country of dispatch, or `*`.
    pub(crate) dispatch: String,
    /// The share.
    pub(crate) percent: Percent,
}

impl Rule for BorderFreight {
    const COLUMNS: Columns = Columns {
        needed: &["country", "channel", "dispatch", "percent"],
        optional: &[],
        shared: PROVENANCE,
    };

    fn read(row: &Row<'_>, problems: &mut Problems) -> Option<BorderFreight> {
        let percent = row
            .cell("percent")
            .needed(problems, |t| Percent::parse(t, 100));
        let country = row.cell("country").needed(problems, land);
        let channel = row.cell("channel").needed(problems, channel);
        let dispatch = row.cell("dispatch").needed(problems, land);
        Some(BorderFreight {
            country: country?,
            channel: channel?,
            dispatch: dispatch?,
            percent: percent?,
        })
    }

    fn key(&self) -> String {
        format!("{} {} {}", self.country, self.channel, self.dispatch)
    }
}

/// A country code.
pub(super) fn country(text: &str) -> Result<Country, String> {
    Country::parse(text).ok_or_else(|| "expected a country code of ISO 3166-1".to_owned())
}

/// A country by code or name, a group of countries in capital letters, or `*`.
pub(super) fn land(text: &str) -> Result<String, String> {
    let group = text.len() >= 2
        && text
            .bytes()
            .all(|b| b.is_ascii_uppercase() || b.is_ascii_digit() || b == b'_' || b == b'-');
    if text == "*" {
        return Ok(text.to_owned());
    }
    match Country::parse(text) {
        Some(country) => Ok(country.code().to_owned()),
        None if group => Ok(text.to_owned()),
        None => Err(
            "expected a country such as `TW`, a group of countries in capital letters, or `*`"
                .to_owned(),
        ),
    }
}

/// A channel, or `*`.
pub(super) fn channel(text: &str) -> Result<String, String> {
    one_of(
        &[("post", "post"), ("courier", "courier"), ("*", "*")],
        text,
    )
    .map(str::to_owned)
}
