//! Standard rates of value added tax by country and day, as a parcel bears them.

use std::collections::BTreeMap;

use landwaiter::tables::Tables;
use landwaiter::units::{Country, Date, Dec, HomeMoney, Mode};

use super::{ask, bill, built_in, day, dec, oracle, tables};

/// Euro rates of a day in 2020, so that limits in euro can be turned into the money of members without it before the
/// built-in rates begin; one for one, for no limit is near.
const EARLIER: &str = "use,base,quote,rate,valid_from\n\
    market,EUR,SEK,1,2016-01-01\nmarket,EUR,DKK,1,2016-01-01\nmarket,EUR,PLN,1,2016-01-01\nmarket,EUR,CZK,1,2016-01-01\n\
    market,EUR,HUF,1,2016-01-01\nmarket,EUR,RON,1,2016-01-01\nmarket,EUR,GBP,1,2016-01-01\n";

/// The tax of a parcel of goods far above every limit, out of a hundred of what it is taken on.
fn borne(tables: &Tables, to: &str, on: Date, money: &str) -> Dec {
    let parts = format!(
        "part,place,seller,price,currency,dispatch,origin,freight\nFrame,frame,Shop,100000,{money},US,US,0\n"
    );
    let bill = bill(&parts, tables, &ask(to, &on.to_string(), &[]));
    let base =
        HomeMoney::total([bill.amounts.goods, bill.amounts.duty, bill.amounts.remedy]).unwrap();
    bill.amounts
        .tax_at_border
        .times(Dec::new(100, 0))
        .unwrap()
        .over(base.amount())
        .unwrap()
        .amount()
        .round_to(2, Mode::HalfUp)
}

#[test]
fn both_sides_of_every_change() {
    let tables = tables(&[("exchange.csv", EARLIER)]);
    let begins: BTreeMap<Country, Date> = tables
        .destinations
        .iter()
        .filter_map(|row| Some((row.rule.country, row.stamp.span.from?)))
        .collect();
    let (mut days, mut earlier, mut elsewhere) = (0, Vec::new(), Vec::new());
    let rows = oracle("vat_standard_rates_by_date.csv");
    assert_eq!(rows.len(), 45);
    for row in &rows {
        let code = row["country"].as_str();
        let Some(begin) = Country::parse(code).and_then(|country| begins.get(&country)) else {
            elsewhere.push(code.to_owned());
            continue;
        };
        let money = tables
            .destination(Country::parse(code).unwrap(), day("2026-11-20"))
            .unwrap()
            .rule
            .currency;
        let until = if row["to"].is_empty() {
            day("2026-11-20")
        } else {
            day(&row["to"])
        };
        if until < *begin {
            earlier.push(format!("{code} {} to {until}", row["from"]));
            continue;
        }
        for on in [day(&row["from"]).max(*begin), until] {
            assert_eq!(
                borne(&tables, code, on, &money.to_string()),
                dec(&row["standard_rate"]),
                "{code} on {on}"
            );
            days += 1;
        }
    }
    println!(
        "{days} days compared; before the tables begin: {}; no destination: {}",
        earlier.join(", "),
        elsewhere.join(", ")
    );
    assert_eq!(
        elsewhere, [""; 0],
        "every country of the list is a destination"
    );
    let ended: Vec<&str> = earlier.iter().map(|text| &text[..2]).collect();
    assert_eq!(
        ended,
        ["DE", "DE", "GR", "IE", "RO"],
        "periods that ended before 2021-01-01"
    );
}

/// The days on either side of a change, with the built-in tables alone.
#[test]
fn the_latest_changes_with_the_tables_as_shipped() {
    for (to, money, before, after, rates) in [
        ("EE", "EUR", "2025-06-30", "2025-07-01", ["22", "24"]),
        ("RO", "RON", "2025-07-31", "2025-08-01", ["19", "21"]),
        ("FI", "EUR", "2024-08-31", "2024-09-01", ["24", "25.5"]),
        ("SK", "EUR", "2024-12-31", "2025-01-01", ["20", "23"]),
        ("CH", "CHF", "2023-12-31", "2024-01-01", ["7.7", "8.1"]),
        ("LU", "EUR", "2022-12-31", "2023-01-01", ["17", "16"]),
        ("IE", "EUR", "2021-02-28", "2021-03-01", ["21", "23"]),
    ] {
        assert_eq!(
            borne(built_in(), to, day(before), money),
            dec(rates[0]),
            "{to} on {before}"
        );
        assert_eq!(
            borne(built_in(), to, day(after), money),
            dec(rates[1]),
            "{to} on {after}"
        );
    }
}
