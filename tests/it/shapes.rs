//! The shapes that rules of import take, as tests/data/oracles/rule_shapes.csv lists them: each is written as rows of the tables
//! for a made-up destination and comes to a figure published somewhere or worked out beside it. A test bears its shape's id.

mod duty;
mod exchange;
mod fee;
mod mechanisms;
mod rounding;
mod tax;
mod threshold;
mod value;

use crate::kit::records;

const SOURCES: [&str; 7] = [
    include_str!("shapes/value.rs"),
    include_str!("shapes/threshold.rs"),
    include_str!("shapes/duty.rs"),
    include_str!("shapes/tax.rs"),
    include_str!("shapes/fee.rs"),
    include_str!("shapes/rounding.rs"),
    include_str!("shapes/exchange.rs"),
];

/// What the tables cannot say, and why.
const NOT_EXPRESSIBLE: [(&str, &str); 2] = [
    (
        "T11",
        "a limit looks at one consignment, which is one seller's parcel: parcels of several senders, or of one day, are not added up",
    ),
    (
        "E1",
        "customs converts by the rate of the day of arrival alone: a rate of the day of export or of shipment cannot be asked for",
    ),
];

/// At least so many must be expressible.
const LEAST: usize = 61;

#[test]
fn every_shape_is_tried_or_has_its_reason() {
    let ids: Vec<String> = records(include_str!("../data/oracles/rule_shapes.csv"))
        .iter()
        .map(|row| row[0].to_owned())
        .collect();
    let tried = |id: &str| {
        let test = format!("#[test]\nfn {}() {{\n", id.to_lowercase());
        SOURCES
            .iter()
            .filter(|source| source.contains(&test))
            .count()
    };
    let reasons = |id: &str| {
        NOT_EXPRESSIBLE
            .iter()
            .filter(|(other, _)| *other == id)
            .count()
    };
    for id in &ids {
        assert_eq!(tried(id) + reasons(id), 1, "{id}: one test, or one reason");
    }
    let expressible = ids.iter().filter(|id| tried(id) == 1).count();
    println!(
        "{expressible} of {} shapes are tried; not expressible:",
        ids.len()
    );
    NOT_EXPRESSIBLE
        .iter()
        .for_each(|(id, why)| println!("  {id}: {why}"));
    assert_eq!(expressible + NOT_EXPRESSIBLE.len(), 67);
    assert!(expressible >= LEAST, "{expressible}");
}
