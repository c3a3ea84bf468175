//! Countries by their ISO 3166-1 codes, taken by code or by the names people type.

use std::fmt;
use std::sync::OnceLock;

/// A country code, or `EU` and other group names where a table allows them.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Country([u8; 2]);

struct Known {
    code: Country,
    names: Vec<&'static str>,
}

fn table() -> &'static [Known] {
    static TABLE: OnceLock<Vec<Known>> = OnceLock::new();
    TABLE.get_or_init(|| {
        let rows = include_str!("countries.csv")
            .lines()
            .filter(|line| !line.starts_with('#'))
            .skip(1);
        let known = rows.filter_map(|line| {
            let mut cells = line.split(',');
            let code = Country(cells.next()?.as_bytes().try_into().ok()?);
            let names = cells
                .flat_map(|cell| cell.split('|'))
                .map(|name| name.trim_matches('"').trim());
            Some(Known {
                code,
                names: names.filter(|name| !name.is_empty()).collect(),
            })
        });
        known.collect()
    })
}

impl Country {
    /// Finds a country by code or name, in any case.
    pub fn parse(text: &str) -> Option<Country> {
        if text.len() == 2 {
            let code: [u8; 2] = text.to_ascii_uppercase().as_bytes().try_into().ok()?;
            if table()
                .binary_search_by_key(&code, |known| known.code.0)
                .is_ok()
            {
                return Some(Country(code));
            }
        }
        let named = table().iter().find(|known| {
            known
                .names
                .iter()
                .any(|name| name.eq_ignore_ascii_case(text))
        });
        named.map(|known| known.code)
    }

    /// A code that ISO 3166-1 leaves to its users, `XA` to `XZ`, for a territory without one; `XI` is Northern Ireland.
    pub(crate) fn own(text: &str) -> Option<Country> {
        let code: [u8; 2] = text.to_ascii_uppercase().as_bytes().try_into().ok()?;
        let [first, second] = code;
        let own = first == b'X' && second.is_ascii_uppercase() && Country::parse(text).is_none();
        own.then_some(Country(code))
    }

    /// The two letters.
    pub fn code(&self) -> &str {
        std::str::from_utf8(&self.0).unwrap_or("??")
    }

    /// Its plain English name.
    pub(crate) fn name(self) -> &'static str {
        let known = table().iter().find(|known| known.code == self);
        known
            .and_then(|known| known.names.first().copied())
            .unwrap_or("your own destination")
    }

    /// Its name within a sentence: `the United Kingdom`.
    pub(crate) fn in_words(self) -> String {
        let name = self.name();
        if takes_the(name) {
            format!("the {name}")
        } else {
            name.to_owned()
        }
    }

    /// Every code and name, for suggestions.
    pub(crate) fn all_names() -> impl Iterator<Item = &'static str> {
        table()
            .iter()
            .flat_map(|known| std::iter::once(known.code.code()).chain(known.names.iter().copied()))
    }
}

/// Whether a country's English name has `the` before it: unions, republics and islands by their common noun, and some others.
fn takes_the(name: &str) -> bool {
    const OTHERS: [&str; 8] = [
        "Bahamas",
        "Comoros",
        "Gambia",
        "Maldives",
        "Netherlands",
        "Caribbean Netherlands",
        "Philippines",
        "Seychelles",
    ];
    let islands = name.ends_with(" Islands") && !name.contains("Island and ");
    islands
        || ["United ", "Isle of "]
            .iter()
            .any(|start| name.starts_with(start))
        || name.contains("Republic")
        || [" Territory", " Territories"]
            .iter()
            .any(|end| name.ends_with(end))
        || OTHERS.contains(&name)
}

impl fmt::Display for Country {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

impl fmt::Debug for Country {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn some_names_have_the_before_them_in_a_sentence() {
        let said = |code: &str| {
            Country::parse(code)
                .map(Country::in_words)
                .unwrap_or_default()
        };
        for (code, words) in [
            ("GB", "the United Kingdom"),
            ("US", "the United States"),
            ("AE", "the United Arab Emirates"),
            ("IM", "the Isle of Man"),
            ("NL", "the Netherlands"),
            ("FO", "the Faroe Islands"),
            ("TC", "the Turks and Caicos Islands"),
            ("CZ", "Czechia"),
            ("DE", "Germany"),
            ("JE", "Jersey"),
            ("NZ", "New Zealand"),
            ("HM", "Heard Island and McDonald Islands"),
        ] {
            assert_eq!(said(code), words);
        }
    }
}
