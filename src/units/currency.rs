//! Currencies by their ISO 4217 codes and minor units, and the signs people type.

use std::fmt;
use std::sync::OnceLock;

/// A currency of ISO 4217.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Currency([u8; 3]);

/// `code,digits`, sorted by code; metals and test codes have no digits and are not money here.
fn table() -> &'static [(Currency, u32)] {
    static TABLE: OnceLock<Vec<(Currency, u32)>> = OnceLock::new();
    TABLE.get_or_init(|| {
        let rows = include_str!("iso4217.csv").lines().filter_map(|line| {
            let (code, digits) = line.split_once(',')?;
            Some((
                Currency(code.as_bytes().try_into().ok()?),
                digits.trim().parse().ok()?,
            ))
        });
        rows.collect()
    })
}

/// Signs that stand for one currency, and those that stand for several.
const SIGNS: [(&str, &[&str]); 13] = [
    ("£", &["GBP"]),
    ("€", &["EUR"]),
    ("US$", &["USD"]),
    ("C$", &["CAD"]),
    ("CA$", &["CAD"]),
    ("A$", &["AUD"]),
    ("NZ$", &["NZD"]),
    ("NT$", &["TWD"]),
    ("S$", &["SGD"]),
    ("HK$", &["HKD"]),
    ("$", &["USD", "AUD", "CAD", "NZD", "SGD", "HKD", "TWD"]),
    ("¥", &["JPY", "CNY"]),
    ("kr", &["SEK", "NOK", "DKK"]),
];

/// Names of currencies that are neither codes nor signs of a price, in capitals: what people type where a code is asked for.
const NAMES: [(&str, &[&str]); 33] = [
    ("RMB", &["CNY"]),
    ("CNH", &["CNY"]),
    ("YUAN", &["CNY"]),
    ("RENMINBI", &["CNY"]),
    ("CN¥", &["CNY"]),
    ("元", &["CNY"]),
    ("YEN", &["JPY"]),
    ("JP¥", &["JPY"]),
    ("円", &["JPY"]),
    ("AU$", &["AUD"]),
    ("CAN$", &["CAD"]),
    ("CDN", &["CAD"]),
    ("CDN$", &["CAD"]),
    ("SG$", &["SGD"]),
    ("HK", &["HKD"]),
    ("NTD", &["TWD"]),
    ("NTD$", &["TWD"]),
    ("USD$", &["USD"]),
    ("US", &["USD"]),
    ("UKP", &["GBP"]),
    ("STG", &["GBP"]),
    ("POUND", &["GBP"]),
    ("POUNDS", &["GBP"]),
    ("EURO", &["EUR"]),
    ("EUROS", &["EUR"]),
    ("WON", &["KRW"]),
    ("₩", &["KRW"]),
    ("FR", &["CHF"]),
    ("SFR", &["CHF"]),
    ("DOLLAR", &["USD", "AUD", "CAD", "NZD", "SGD", "HKD", "TWD"]),
    (
        "DOLLARS",
        &["USD", "AUD", "CAD", "NZD", "SGD", "HKD", "TWD"],
    ),
    ("KRONER", &["NOK", "DKK"]),
    ("KRONOR", &["SEK"]),
];

impl Currency {
    /// The pound sterling.
    pub const GBP: Currency = Currency(*b"GBP");
    /// The euro.
    pub(crate) const EUR: Currency = Currency(*b"EUR");
    /// The Canadian dollar.
    pub(crate) const CAD: Currency = Currency(*b"CAD");
    /// The Swiss franc.
    pub(crate) const CHF: Currency = Currency(*b"CHF");
    /// The yen.
    pub(crate) const JPY: Currency = Currency(*b"JPY");
    /// The won of South Korea.
    pub(crate) const KRW: Currency = Currency(*b"KRW");

    /// Finds a code, in either case.
    pub fn parse(text: &str) -> Option<Currency> {
        let code: [u8; 3] = text.to_ascii_uppercase().as_bytes().try_into().ok()?;
        table()
            .binary_search_by_key(&code, |(known, _)| known.0)
            .is_ok()
            .then_some(Currency(code))
    }

    /// The currencies a sign or code can stand for; empty when it is neither.
    pub(crate) fn readings(sign: &str) -> Vec<Currency> {
        if let Some(code) = Currency::parse(sign) {
            return vec![code];
        }
        let is_sign = |known: &str| known.eq_ignore_ascii_case(sign);
        let known = SIGNS.iter().find(|(known, _)| is_sign(known));
        known
            .map(|(_, codes)| codes.iter().filter_map(|c| Currency::parse(c)).collect())
            .unwrap_or_default()
    }

    /// The currencies that a text which is no code may mean: by its sign, or by a name that people use; empty when by neither.
    pub(crate) fn meant(text: &str) -> Vec<Currency> {
        let bare = text.trim().trim_end_matches('.').trim_end();
        let upper = bare.to_uppercase();
        let signs = Currency::readings(bare);
        let named = || NAMES.iter().find(|(name, _)| *name == upper);
        if signs.is_empty() {
            named()
                .map(|(_, codes)| codes.iter().filter_map(|c| Currency::parse(c)).collect())
                .unwrap_or_default()
        } else {
            signs
        }
    }

    /// Decimals of its minor unit.
    pub fn digits(self) -> u32 {
        let found = table()
            .binary_search_by_key(&self, |(known, _)| *known)
            .ok()
            .and_then(|at| table().get(at));
        found.map_or(2, |(_, digits)| *digits)
    }

    /// The three letters.
    pub(crate) fn code(&self) -> &str {
        std::str::from_utf8(&self.0).unwrap_or("???")
    }

    /// Every code, for suggestions.
    pub(crate) fn codes() -> impl Iterator<Item = &'static str> {
        table().iter().map(|(known, _)| known.code())
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

impl fmt::Debug for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}
