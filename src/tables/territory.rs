//! Rows of `territories.csv`: parts of a country, or lands with a code of their own, for which a country's law does not hold as
//! it stands.

use super::stamp::{Dated, PROVENANCE, Rule};
use crate::text::words::one_of;
use crate::text::{Columns, Problems, Row};
use crate::units::{Country, Date};

/// A territory, and whether it is calculated.
#[derive(Debug, Clone)]
pub(crate) struct Territory {
    /// The country under whose code or postcodes it is found.
    pub(crate) country: Country,
    /// Its region within the country; empty where the law of the country holds, or where it has a code of its own.
    pub(crate) region: String,
    /// Its name.
    pub(crate) name: String,
    /// The postcodes that lie in it, or how they begin, in capitals and without spaces.
    pub(crate) postcodes: Vec<String>,
    /// Whether it is calculated; where it is not, it is refused by name.
    pub(crate) covered: bool,
    /// What is to be said: why it is refused, or what is left open.
    pub(crate) reason: String,
}

impl Rule for Territory {
    const COLUMNS: Columns = Columns {
        needed: &["country", "name", "covered", "reason"],
        optional: &["region", "postcodes"],
        shared: PROVENANCE,
    };

    fn read(row: &Row<'_>, problems: &mut Problems) -> Option<Territory> {
        let country = row
            .cell("country")
            .needed(problems, super::destination::country);
        let covered = row.cell("covered").needed(problems, |text| {
            one_of(&[("yes", true), ("no", false)], text)
        });
        let reason = row.cell("reason");
        if covered == Some(false) && reason.is_empty() {
            problems.push(reason.error("expected the reason why nothing is calculated for it"));
        }
        Some(Territory {
            country: country?,
            region: row.cell("region").text().to_ascii_uppercase(),
            name: row.cell("name").text().to_owned(),
            postcodes: row
                .cell("postcodes")
                .text()
                .split_whitespace()
                .map(plain)
                .collect(),
            covered: covered?,
            reason: reason.text().to_owned(),
        })
    }

    fn titled(&self) -> String {
        format!("territories, {}", self.name)
    }

    fn key(&self) -> String {
        let more = if self.region.is_empty() {
            self.name.as_str()
        } else {
            self.region.as_str()
        };
        format!("{} {more}", self.country)
    }
}

/// A postcode without spaces and hyphens, in capitals.
fn plain(text: &str) -> String {
    text.chars()
        .filter(char::is_ascii_alphanumeric)
        .map(|c| c.to_ascii_uppercase())
        .collect()
}

/// How rows may write a postcode: as it is given, and without up to three letters before its digits, which are the country's own
/// (`D-27498`) unless rows have them (`BT1 1AA`).
fn readings(postcode: &str) -> Vec<String> {
    let plain = plain(postcode);
    let digits = plain.trim_start_matches(|c: char| c.is_ascii_alphabetic());
    let letters = plain.len() - digits.len();
    let of_country = (1..=3).contains(&letters) && !digits.is_empty();
    let without = of_country.then(|| digits.to_owned());
    std::iter::once(plain).chain(without).collect()
}

/// The territory that a country, a region or a postcode leads to on a day.
pub(super) fn find<'a>(
    rows: &'a [Dated<Territory>],
    (country, region, postcode): (Country, &str, &str),
    day: Date,
) -> Option<&'a Dated<Territory>> {
    let here = || {
        rows.iter()
            .filter(move |row| row.rule.country == country && row.stamp.in_force(day))
    };
    if !region.is_empty() {
        // its code, else its name or the beginning of its postcodes, as people write it: `IT-LIVIGNO`, `FR-971`
        let named = |row: &&Dated<Territory>| {
            plain(&row.rule.name) == plain(region)
                || row.rule.postcodes.iter().any(|code| code == region)
        };
        return here()
            .find(|row| row.rule.region == region)
            .or_else(|| here().find(named));
    }
    let readings = readings(postcode);
    let fits = |row: &&Dated<Territory>| {
        row.rule
            .postcodes
            .iter()
            .filter(|start| readings.iter().any(|one| one.starts_with(start.as_str())))
            .map(String::len)
            .max()
    };
    let by_postcode = here()
        .filter_map(|row| Some((fits(&row)?, row)))
        .max_by_key(|(length, _)| *length);
    by_postcode
        .map(|(_, row)| row)
        .or_else(|| here().find(|row| row.rule.region.is_empty() && row.rule.postcodes.is_empty()))
}
