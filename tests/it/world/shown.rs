//! `rates`, `rates --gaps`, and what `cost` says of the tables it rests on.

use std::fs;

use super::{ask, bill, built_in, program};

fn out(arguments: &[&str]) -> String {
    let output = program().args(arguments).output().unwrap();
    assert!(
        output.status.success(),
        "{arguments:?}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).unwrap()
}

fn json(arguments: &[&str]) -> serde_json::Value {
    serde_json::from_str(&out(&[arguments, &["--format", "json"]].concat())).unwrap()
}

#[test]
fn the_rows_fit_a_screen_for_every_law() {
    for to in crate::kit::one_in(
        3,
        [
            "AU", "CA-BC", "CH", "DE", "GB", "IT", "JP", "KR", "NO", "NZ", "SG", "US",
        ],
    ) {
        for arguments in [
            vec!["rates", "--to", to, "--on", "2026-11-25"],
            vec!["rates", "--more", "--to", to, "--on", "2026-11-25"],
            vec!["rates", "--gaps", "--to", to, "--on", "2026-11-25"],
        ] {
            let text = out(&arguments);
            let wide: Vec<&str> = text
                .lines()
                .filter(|line| line.chars().count() > 100)
                .collect();
            assert!(wide.is_empty(), "{arguments:?}: {wide:?}");
            assert!(
                !text.contains("Tariff(") && !text.contains("Taxes("),
                "{arguments:?}"
            );
            assert!(!text.contains('…'), "{arguments:?}: nothing is cut off");
        }
    }
}

/// The trail's words, the sources and the names of a whole build fit as well.
#[test]
fn what_a_build_shows_fits_a_screen() {
    let book = crate::harness::project("examples/gravel-build");
    let book = book.to_str().unwrap();
    for arguments in [
        vec!["cost", book, "--trail"],
        vec!["cost", book, "--in", "JPY"],
        vec!["compare", book],
        vec!["rank", book],
    ] {
        let text = out(&arguments);
        let wide: Vec<&str> = text
            .lines()
            .filter(|line| line.chars().count() > 100)
            .collect();
        assert!(wide.is_empty(), "{arguments:?}: {wide:?}");
    }
}

#[test]
fn a_row_is_told_with_its_rate_days_marks_and_place() {
    let text = out(&["rates", "--to", "IT", "--on", "2026-11-25", "--trail"]);
    let lines: Vec<&str> = text.lines().collect();
    let at = lines
        .iter()
        .position(|line| line.starts_with("  tariff_duty"))
        .unwrap();
    let told = lines[at..at + 4]
        .iter()
        .map(|line| line.trim())
        .collect::<Vec<_>>()
        .join(" ");
    let row = "tariff_duty  duty: tariff:mfn of customs_value when given = no & preference = no & to != NL & to != SE & to != DK ";
    let told = told.strip_prefix(row).unwrap_or_else(|| panic!("{told}"));
    let marks = "from 2021-01-01; read 2026-11-25; text of 2013-10-09; rates/eu/charges.csv:22; Reg. (EU) 952/2013";
    assert!(told.starts_with(marks), "{told}");
    assert!(text.contains("  vat IT *  22 %"), "{text}");
}

/// The Union's folder holds rows of single members: nothing of one is told, said to change, or counted at another.
#[test]
fn rows_of_other_members_stay_away() {
    let summary = out(&["rates", "--to", "IT", "--on", "2026-07-20"]);
    assert!(
        summary.contains("2 EUR") && !summary.contains("RON") && !summary.contains("Netherlands"),
        "{summary}"
    );
    for text in [
        out(&["rates", "--more", "--to", "IT", "--on", "2026-07-20"]),
        out(&[
            "rates",
            "--gaps",
            "--to",
            "IT",
            "--on",
            "2026-07-20",
            "--format",
            "csv",
        ]),
    ] {
        assert!(text.contains("fee_parcel_it"), "{text}");
        for other in [
            "fee_parcel_ro",
            "fee_post_de",
            "to = NL",
            "vat DE",
            "not_levied_de",
        ] {
            assert!(!text.contains(other), "{other}");
        }
    }
    let parts = "part,place,seller,price,currency,dispatch,origin,freight,channel\nBar,handlebar,Shop,100,EUR,TW,TW,0,post\n";
    for (to, other) in [("IT", "_ro"), ("RO", "_it"), ("SE", "_de")] {
        let bill = bill(parts, built_in(), &ask(to, "2026-06-20", &[]));
        let named = bill
            .trail
            .iter()
            .map(|step| &step.id)
            .find(|id| id.ends_with(other));
        assert_eq!(named, None, "{to}");
        let said = bill
            .cautions
            .iter()
            .map(|caution| &caution.text)
            .find(|text| text.contains(&format!("{other}`")));
        assert_eq!(said, None, "{to}");
    }
    let changes = bill(parts, built_in(), &ask("RO", "2026-06-20", &[]));
    assert!(
        changes
            .cautions
            .iter()
            .any(|caution| caution.text.contains("fee_parcel_ro")),
        "its own are said"
    );
}

#[test]
fn the_same_for_programs() {
    let rows = json(&["rates", "--to", "AU", "--on", "2026-11-25"]);
    assert_eq!(rows["format"], "landwaiter.rates/1");
    let row = rows["rows"]
        .as_array()
        .unwrap()
        .iter()
        .find(|row| row["rule"] == "tariff_duty")
        .unwrap();
    assert_eq!(
        row["says"],
        "duty: tariff:mfn of customs_value when preference = no"
    );
    assert_eq!(row["evidence"], "inferred");
    let gaps = json(&["rates", "--gaps", "--to", "NZ", "--on", "2026-11-25"]);
    assert_eq!(gaps["format"], "landwaiter.gaps/1");
    let missing: Vec<&str> = gaps["gaps"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|gap| gap["why"] == "missing")
        .filter_map(|gap| gap["what"].as_str())
        .collect();
    assert_eq!(
        missing.len(),
        2,
        "what is missing alike is said once: {missing:?}"
    );
    assert!(
        missing[1].starts_with("rate of duty on frame, fork, "),
        "{missing:?}"
    );
    let fresh = json(&[
        "rates",
        "--gaps",
        "--to",
        "IT",
        "--on",
        "2026-11-25",
        "--older-than",
        "30000",
    ]);
    assert!(
        fresh["gaps"]
            .as_array()
            .unwrap()
            .iter()
            .all(|gap| gap["why"] != "old"),
        "nothing is so old"
    );
}

#[test]
fn a_cost_says_what_its_tables_rest_on() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("parts.csv");
    fs::write(&book, "part,place,seller,price,currency,dispatch,origin,freight\nFrame,frame,Shop,1000,EUR,TW,TW,20\n").unwrap();
    let book = book.to_str().unwrap();
    let text =
        out(&["cost", book, "--to", "NO", "--on", "2026-11-20", "--more"]).replace('\n', " ");
    assert!(
        text.contains("Tables: 49 rows in force, 0 from memory, 0 disputed, oldest source of 2012-12-10, market rates to 2026-10-30;"),
        "{text}"
    );
    assert!(
        text.contains("`landwaiter rates --gaps` lists them."),
        "{text}"
    );
    let tables = &json(&["cost", book, "--to", "NO", "--on", "2026-11-20"])["tables"];
    assert_eq!(
        tables.to_string(),
        r#"{"in_force":49,"recalled":0,"disputed":0,"oldest_dated":"2012-12-10","oldest_checked":"2026-11-25","exchange_to":"2026-10-30"}"#
    );
}

/// A day the tables do not reach is refused or said, never priced in silence.
#[test]
fn days_outside_the_tables() {
    let folder = tempfile::tempdir().unwrap();
    let parts = "part,place,standing,seller,parcel,price,currency,dispatch,origin,freight\n\
        Frame,frame,in-hand,Shop,old,1000,EUR,TW,TW,20\n";
    fs::write(folder.path().join("parts.csv"), parts).unwrap();
    let book = folder.path().to_str().unwrap();
    let ids = |arrived: &str, on: &str| {
        fs::write(
            folder.path().join("parcels.csv"),
            format!("seller,parcel,ordered,arrived\nShop,old,{arrived},{arrived}\n"),
        )
        .unwrap();
        let cost = json(&["cost", book, "--to", "DE", "--on", on]);
        let cautions = cost["cautions"].as_array().unwrap().iter();
        cautions
            .map(|caution| caution["id"].as_str().unwrap().to_owned())
            .collect::<Vec<_>>()
    };
    assert!(ids("2019-05-06", "2026-11-20").contains(&"before-tables".to_owned()));
    let inside = ids("2024-05-06", "2026-11-20");
    assert!(
        !inside
            .iter()
            .any(|id| id == "before-tables" || id == "after-tables"),
        "{inside:?}"
    );
    assert!(ids("2028-03-01", "2028-03-01").contains(&"after-tables".to_owned()));
    let early = program()
        .args(["cost", book, "--to", "DE", "--on", "2019-05-06"])
        .output()
        .unwrap();
    assert_eq!(early.status.code(), Some(1));
    assert!(
        String::from_utf8_lossy(&early.stderr)
            .contains("there are no rules for Germany (DE) on 2019-05-06")
    );
}
