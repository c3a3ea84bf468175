//! Rows that count beside each other: those from memory and those that were read, reliefs and what stands in the place of the duty.

use std::collections::BTreeMap;

use crate::made::built_in;
use crate::tables::{Evidence, File, Law, Provenance, Tables};
use crate::text::Problems;

/// Rows of one key that count on one day, of which one was read and another is from memory: key, row, row.
fn memory_beside_text(law: &Law) -> Vec<String> {
    let mut rows: BTreeMap<String, Vec<&Provenance>> = BTreeMap::new();
    let mut add = |key: String, stamp| rows.entry(key).or_default().push(stamp);
    law.tariff.iter().for_each(|r| {
        add(
            format!(
                "tariff {} {} {}",
                r.rule.layer, r.rule.commodity, r.rule.origin
            ),
            &r.stamp,
        )
    });
    law.taxes.iter().for_each(|r| {
        add(
            format!(
                "tax {} {} {} {}",
                r.rule.tax, r.rule.country, r.rule.region, r.rule.commodity
            ),
            &r.stamp,
        )
    });
    law.charges
        .iter()
        .for_each(|r| add(format!("charge {} {}", r.rule.id, r.rule.when), &r.stamp));
    law.reliefs.iter().for_each(|r| {
        add(
            format!("relief {} {} {}", r.rule.id, r.rule.tests, r.rule.when),
            &r.stamp,
        )
    });
    let mut found = Vec::new();
    for (key, stamps) in rows {
        let of = |evidence| {
            stamps
                .iter()
                .copied()
                .filter(move |stamp| stamp.counts() && stamp.evidence == evidence)
        };
        for recalled in of(Evidence::Recalled) {
            let beside = of(Evidence::Read).find(|read| read.span.overlaps(&recalled.span));
            found.extend(beside.map(|read| {
                format!(
                    "{key}: {} is from memory and counts beside {}, which was read",
                    recalled.row, read.row
                )
            }));
        }
    }
    found
}

#[test]
fn no_row_from_memory_counts_beside_a_row_that_was_read() {
    let tables = built_in();
    let (mut found, mut rates) = (Vec::new(), 0);
    for destination in &tables.destinations {
        let law = tables.law(&destination.rule, &mut Problems::new());
        rates += law.tariff.len();
        found.extend(memory_beside_text(&law));
    }
    assert!(rates > 2000, "{rates} rows were looked at");
    assert!(found.is_empty(), "{}", found.join("\n"));
    // a table that has such a row is found out
    let tariff = "layer,commodity,origin,percent,when,valid_from,valid_to,evidence,source\n\
        mfn,871491,*,4,,2020-01-01,,read,a text\nmfn,871491,*,5,trait.finish = raw,2024-01-01,,recalled,nothing\n\
        mfn,871492,*,4,,2020-01-01,2023-12-31,recalled,nothing\nmfn,871492,*,5,,2024-01-01,,read,a text\n";
    let file = |name: &str, text: &str| File {
        path: format!("rates/{name}"),
        name: name.to_owned(),
        bytes: text.as_bytes().to_vec().into(),
        users: false,
    };
    let made = Tables::of(
        vec![
            file(
                "destinations.csv",
                "country,currency,valid_from,source\nAQ,EUR,2020-01-01,a test\n",
            ),
            file("aq/tariff.csv", tariff),
        ],
        &mut Problems::new(),
    );
    let law = made.law(&made.destinations[0].rule, &mut Problems::new());
    let found = memory_beside_text(&law);
    assert!(
        found.len() == 1 && found[0].contains("tariff mfn 871491 *"),
        "{found:?}"
    );
}

/// The 3 EUR per item and the relief that puts them in the place of the tariff must meet at one sum, at every destination: at two
/// rates a parcel between them would bear both duties, or none. The round sums of Sweden and Denmark are in their own money, in both
/// rows alike (`law_read_again::a_parcel_between_the_two_swedish_limits_is_disputed` and its Danish twin).
#[test]
fn what_is_relieved_and_what_stands_in_its_place_share_a_limit() {
    let tables = built_in();
    let mut looked_at = 0;
    for destination in tables
        .destinations
        .iter()
        .filter(|d| d.rule.group == "EU" || d.rule.country.code() == "XI")
    {
        let law = tables.law(&destination.rule, &mut Problems::new());
        let charges = law
            .charges
            .iter()
            .filter(|r| r.rule.id == "flat_item_duty")
            .flat_map(|r| r.rule.when.conditions());
        let charges = charges.filter_map(|c| c.currency);
        let reliefs = law
            .reliefs
            .iter()
            .filter(|r| ["low_value_duty", "flat_replaces_tariff"].contains(&r.rule.id.as_str()));
        for coin in charges.chain(reliefs.map(|r| r.rule.currency)) {
            assert!(
                ["EUR@october", "SEK", "DKK"].contains(&coin.to_string().as_str()),
                "{}: {coin}",
                destination.rule.country
            );
            looked_at += 1;
        }
    }
    assert!(looked_at > 28 * 5, "{looked_at}");
}
