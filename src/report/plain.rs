//! Words for what rows of the tables name: days, countries, amounts and rates.

use crate::tables::{Op, TariffRow};
use crate::units::{Country, Currency, Dec, Money};

/// How a day is compared, in a word.
pub(super) fn day_word(op: Op) -> &'static str {
    match op {
        Op::Equal => "on",
        Op::Unequal => "not on",
        Op::Below => "before",
        Op::AtMost => "up to",
        Op::Above => "after",
        Op::AtLeast => "from",
    }
}

/// Where a row stands, without the folders of the book it is in: what is handed to others says nothing of the machine it was made on,
/// and has room. Rows of the tables keep theirs.
pub(super) fn row_place(row: &str) -> &str {
    let is_row = [".csv", ".xlsx", ".ods"]
        .iter()
        .any(|end| row.contains(end));
    if !is_row || row.starts_with("rates/") {
        return row;
    }
    let name = row.rfind(['/', '\\']).map_or(0, |at| at + 1);
    row.get(name..).unwrap_or(row)
}

/// A country or a group of countries by name.
pub(super) fn place(code: &str) -> String {
    match code {
        "EU" => "the European Union".to_owned(),
        "*" => "anywhere".to_owned(),
        code => Country::parse(code).map_or_else(|| code.to_owned(), Country::in_words),
    }
}

/// An amount of a row; the bare figure where the row names no currency.
pub(super) fn money(amount: Dec, currency: Option<Currency>) -> String {
    currency.map_or_else(
        || amount.to_string(),
        |currency| Money::new(amount, currency).to_string(),
    )
}

/// A rate of duty, each of its parts by the unit it is charged on; a kilogram is called as the reader is used to.
pub(super) fn rate_by(row: &TariffRow, kilogram: &str) -> String {
    let each = |amount: Option<Dec>, unit: &str| {
        amount.map(|amount| format!("{} a {unit}", money(amount, row.currency)))
    };
    let parts = [
        row.percent.map(|percent| percent.to_string()),
        each(row.per_kg, kilogram),
        each(row.per_piece, "piece"),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(" + ")
}

/// Money that parts are often paid in.
const MONEY: [(&str, &str); 20] = [
    ("AUD", "Australian dollar"),
    ("BRL", "Brazilian real"),
    ("CAD", "Canadian dollar"),
    ("CHF", "Swiss franc"),
    ("CNY", "Chinese yuan"),
    ("DKK", "Danish krone"),
    ("EUR", "Euro"),
    ("GBP", "Pound sterling"),
    ("HKD", "Hong Kong dollar"),
    ("INR", "Indian rupee"),
    ("JPY", "Japanese yen"),
    ("KRW", "Korean won"),
    ("MXN", "Mexican peso"),
    ("NOK", "Norwegian krone"),
    ("NZD", "New Zealand dollar"),
    ("PLN", "Polish zloty"),
    ("SEK", "Swedish krona"),
    ("SGD", "Singapore dollar"),
    ("USD", "US dollar"),
    ("ZAR", "South African rand"),
];

/// The price of a currency, by its name where it is often met: `US dollar (USD)`.
pub(super) fn exchange_of(code: &str) -> String {
    MONEY.iter().find(|(known, _)| *known == code).map_or_else(
        || format!("Exchange rate of {code}"),
        |(code, name)| format!("{name} ({code})"),
    )
}
