//! Conversions through the euro with the reference rates of 44 days. Source: ECB statistics (rates unmodified); the expected amounts were
//! computed with Python's decimal arithmetic.

use landwaiter::tables::{File, Tables, Use};
use landwaiter::text::{Problems, draw};
use landwaiter::units::{Currency, Date, Mode};

use super::{exact, rows};

/// The extract as rows of `exchange.csv`; money that is no longer listed is left out.
fn tables() -> Tables {
    let text = include_str!("../../data/oracles/ecb_rates_extract.csv");
    let mut out = String::from(
        "# source = European Central Bank, reference rates\nuse,base,quote,rate,valid_from\n",
    );
    for row in rows(text) {
        let quoted = row
            .iter()
            .filter(|(name, rate)| Currency::parse(name).is_some() && *rate != "N/A");
        quoted.for_each(|(name, rate)| {
            out.push_str(&format!("market,EUR,{name},{rate},{}\n", row["date"]))
        });
    }
    let file = File {
        path: "rates/exchange.csv".to_owned(),
        name: "exchange.csv".to_owned(),
        bytes: out.into_bytes().into(),
        users: false,
    };
    let mut problems = Problems::new();
    let tables = Tables::of(vec![file], &mut problems);
    assert!(problems.is_empty(), "{}", draw(&problems, false));
    tables
}

#[test]
fn every_conversion_through_the_euro() {
    let (tables, rows) = (
        tables(),
        rows(include_str!(
            "../../data/oracles/ecb_cross_conversion_expected.csv"
        )),
    );
    assert_eq!(rows.len(), 254);
    let (mut rounded_rate, mut rounded_step) = (0, 0);
    for row in &rows {
        let money = |name: &str| Currency::parse(&row[name]).unwrap();
        let (from, to, day) = (
            money("from"),
            money("to"),
            Date::parse(&row["date"]).unwrap(),
        );
        let quote = tables
            .exchange
            .quote(Use::Market, from, to, day)
            .unwrap()
            .unwrap();
        assert!(
            quote.day.is_none_or(|found| found == day),
            "a rate of the day itself: {row:?}"
        );
        let found = quote
            .rate
            .convert(exact(&row["amount"]))
            .unwrap()
            .round_to(to.digits(), Mode::HalfUp);
        assert_eq!(found, exact(&row["expected_half_up"]), "{row:?}");
        rounded_rate += usize::from(found != exact(&row["if_cross_rate_rounded_to_4dp"]));
        rounded_step += usize::from(found != exact(&row["if_euro_step_rounded_to_cents"]));
    }
    println!(
        "exchange: {} of {} reproduced exactly",
        rows.len(),
        rows.len()
    );
    println!(
        "  a cross rate of four decimals would be wrong in {rounded_rate}, a step rounded to cents in {rounded_step}"
    );
    assert!(
        rounded_rate > 0 && rounded_step > 0,
        "the vectors tell the right way from the wrong ones"
    );
}
