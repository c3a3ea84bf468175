//! Figures printed elsewhere, reproduced: worked sums of Great Britain through the front door, exchange, rounding, codes, a card purchase.
//! The files and their licences: tests/data/oracles/README.md. The frontier's cases are tried in `frontier`, beside their module.

use std::collections::BTreeMap;

use landwaiter::units::Dec;

mod card;
mod codes;
mod exchange;
mod great_britain;
mod rounding;

/// The rows of an outside file, cells by column.
fn rows(text: &str) -> Vec<BTreeMap<String, String>> {
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    reader.deserialize().map(Result::unwrap).collect()
}

/// A decimal with any number of places, as `-0.004` or `1E-28`; the program's own door for numbers takes at most ten.
fn exact(text: &str) -> Dec {
    let (digits, power) = text.split_once('E').map_or((text, 0), |(digits, power)| {
        (digits, power.parse::<i32>().unwrap())
    });
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
    let units: i128 = format!("{whole}{fraction}").parse().unwrap();
    let decimals = i32::try_from(fraction.len()).unwrap() - power;
    Dec::from_units(units, u32::try_from(decimals).unwrap()).unwrap()
}
