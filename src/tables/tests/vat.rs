//! The rates of value added tax that the rows hold for every period.

use crate::abroad::{built_in, day, oracle};
use crate::small::dec;
use crate::units::{Country, Date, Dec};

/// The rate that the rows themselves hold for goods at large on a day.
fn written(to: &str, on: Date) -> Vec<Dec> {
    let tables = built_in();
    let destination = &tables
        .destination(Country::parse(to).unwrap(), day("2026-11-20"))
        .unwrap()
        .rule;
    let mut problems = crate::text::Problems::new();
    let law = tables.law(destination, &mut problems);
    let everywhere = |row: &&crate::tables::Dated<crate::tables::TaxRow>| {
        row.rule.tax == "vat" && row.rule.region.is_empty() && row.rule.commodity == "*"
    };
    let rows = law
        .taxes
        .iter()
        .filter(everywhere)
        .filter(|row| row.rule.country == to && row.stamp.in_force(on));
    rows.map(|row| row.rule.percent.0).collect()
}

#[test]
fn every_period_stands_in_the_rows() {
    let mut days = 0;
    for row in oracle("vat_standard_rates_by_date.csv")
        .iter()
        .filter(|row| row["country"] != "LI")
    {
        let until = if row["to"].is_empty() {
            "2026-11-25"
        } else {
            &row["to"]
        };
        for on in [row["from"].as_str(), until] {
            assert_eq!(
                written(&row["country"], day(on)),
                [dec(&row["standard_rate"])],
                "{} on {on}",
                row["country"]
            );
            days += 1;
        }
    }
    assert!(days > 80, "{days} days compared");
}
