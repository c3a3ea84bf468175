//! Currencies of ISO 4217 with their minor units (list of 2026-01-01, in a package of the public domain) and countries of ISO 3166-1
//! (Debian's iso-codes, LGPL-2.1+; codes are facts).

use landwaiter::units::{Country, Currency};

use super::rows;

#[test]
fn every_currency_has_its_minor_units() {
    let rows = rows(include_str!("../../data/oracles/iso4217_minor_units.csv"));
    assert_eq!(rows.len(), 178);
    for row in &rows {
        let found = Currency::parse(&row["code"]).map(|currency| currency.digits().to_string());
        let listed = Some(row["iso_minor_units"].clone()).filter(|digits| !digits.is_empty());
        assert_eq!(
            found, listed,
            "{}: metals, funds without a unit and test codes are no money here",
            row["code"]
        );
    }
    println!("currencies: {} of {} as listed", rows.len(), rows.len());
}

#[test]
fn every_country_is_known() {
    let rows = rows(include_str!("../../data/oracles/iso3166_alpha2.csv"));
    assert_eq!(rows.len(), 249);
    for row in &rows {
        let code = &row["alpha2"];
        assert_eq!(
            Country::parse(code)
                .map(|country| country.code().to_owned())
                .as_ref(),
            Some(code)
        );
    }
    println!("countries: {} of {} known", rows.len(), rows.len());
}
