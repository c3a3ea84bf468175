//! The Union's customs rate of a month: the European Central Bank's of the second-last Wednesday of the month before.

use crate::abroad::{ask, bill, built_in, day, oracle};
use crate::landed::Jurisdiction;
use crate::landed::jurisdiction::customs_wednesday;
use crate::small::home;
use crate::text::draw;
use crate::units::Currency;

#[test]
fn the_wednesday_of_every_month() {
    let months = oracle("eu_customs_month_rates_derived.csv");
    assert_eq!(months.len(), 107);
    for row in &months {
        let wednesday = day(&row["second_last_wednesday"]);
        for date in [
            format!("{}-01", row["month"]),
            format!("{}-28", row["month"]),
        ] {
            assert_eq!(customs_wednesday(day(&date)), wednesday, "{date}");
        }
    }
}

/// The built-in rates begin with 2025, so the first month whose Wednesday is among them is February 2025.
#[test]
fn the_rates_of_every_month_in_the_tables() {
    let asked = ask("DE", "2026-11-20", &[]);
    let jurisdiction = Jurisdiction::open(built_in(), &asked)
        .unwrap_or_else(|problems| panic!("{}", draw(&problems, false)));
    let mut compared = 0;
    for row in oracle("eu_customs_month_rates_derived.csv")
        .iter()
        .filter(|row| row["month"].as_str() >= "2025-02")
    {
        for code in ["USD", "GBP", "CNY", "JPY", "CHF", "SEK", "KRW", "HKD"] {
            let currency = Currency::parse(code).unwrap();
            for date in [
                format!("{}-01", row["month"]),
                format!("{}-28", row["month"]),
            ] {
                let quote = jurisdiction
                    .month_rate(currency, day(&date))
                    .unwrap()
                    .unwrap_or_else(|| panic!("no rate of {code} for {date}"));
                assert_eq!(
                    quote.figures,
                    [format!("1 EUR = {} {code}", row[code])],
                    "{date}"
                );
                assert_eq!(quote.day, Some(day(&row["date_used"])), "{date}");
                compared += 1;
            }
        }
    }
    assert_eq!(compared, 22 * 8 * 2);
}

/// A month whose Wednesday lies before the built-in rates has no month rate, and no other is passed off as one.
#[test]
fn a_month_before_the_tables_has_none() {
    let asked = ask("DE", "2026-11-20", &[]);
    let jurisdiction = Jurisdiction::open(built_in(), &asked)
        .unwrap_or_else(|problems| panic!("{}", draw(&problems, false)));
    let dollar = Currency::parse("USD").unwrap();
    assert!(
        jurisdiction
            .month_rate(dollar, day("2025-01-15"))
            .unwrap()
            .is_none()
    );
    let stood_in = jurisdiction
        .customs_rate(dollar, day("2025-01-15"))
        .unwrap();
    assert!(stood_in.stands_in);
}

/// The month of the arrival decides: one order, two months, two customs values; what is paid stays the same.
#[test]
fn the_arrival_decides_the_month() {
    let parts = "part,place,seller,price,currency,dispatch,origin,freight\nFrame,frame,Shop,1000,USD,TW,TW,0\n";
    let of = |arrival: &str| {
        bill(
            parts,
            built_in(),
            &ask("IE", "2026-08-25", &[("arrival", arrival)]),
        )
    };
    let (august, september) = (of("2026-08-31"), of("2026-09-01"));
    assert_eq!(august.amounts.goods, september.amounts.goods);
    assert_eq!(august.customs_value, home("876.58"), "1000 / 1.1408");
    assert_eq!(september.customs_value, home("861.70"), "1000 / 1.1605");
}
