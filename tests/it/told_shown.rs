//! What `settle` and `leeway` show in another money adds up there; the table of charges names the parcel in every row.

use landwaiter::units::{Dec, number};
use serde_json::Value;

use crate::kit;

fn dec(text: &str) -> Dec {
    let bare = text.replace(',', "");
    match bare.strip_prefix(['-', '+']) {
        Some(rest) if bare.starts_with('-') => number::plain(rest).unwrap().negated(),
        Some(rest) => number::plain(rest).unwrap(),
        None => number::plain(&bare).unwrap(),
    }
}

fn at(value: &Value, name: &str) -> Dec {
    dec(value[name].as_str().unwrap_or_else(|| panic!("{name} of {value}")))
}

fn total(of: impl IntoIterator<Item = Dec>) -> Dec {
    Dec::total(of).unwrap()
}

fn run(command: &str, money: &str, format: &str) -> String {
    let words = format!("{command} examples/after-delivery --in {money} --format {format}");
    let mut args: Vec<&str> = words.split(' ').collect();
    if command == "settle" {
        args.extend(["--day", "2026-11-02"]);
    }
    let ran = kit::landwaiter(&args);
    assert_eq!(ran.status, 0, "{}", ran.stderr);
    ran.stdout
}

fn json(command: &str, money: &str) -> Value {
    serde_json::from_str(&run(command, money, "json")).unwrap()
}

#[test]
fn a_settlement_in_another_money_adds_up_there() {
    for money in ["EUR", "JPY", "USD", "GBP"] {
        let found = json("settle", money);
        let parcels = found["consignments"].as_array().unwrap();
        let charges: Vec<&Value> =
            parcels.iter().flat_map(|p| p["charges"].as_array().unwrap()).filter(|c| !c["charged"].is_null()).collect();
        assert!(charges.len() > 15);
        for charge in &charges {
            let differs = at(charge, "charged").minus(at(charge, "estimated")).unwrap();
            assert_eq!(at(charge, "difference"), differs, "{money}: {charge}");
            let causes = total(charge["causes"].as_array().unwrap().iter().map(|cause| at(cause, "amount")));
            assert_eq!(causes.plus(at(charge, "unexplained")).unwrap(), differs, "{money}: {charge}");
        }
        for name in ["estimated", "charged", "difference", "unexplained"] {
            assert_eq!(at(&found["totals"], name), total(charges.iter().map(|charge| at(charge, name))), "{name} in {money}");
        }
        let causes = total(found["causes"].as_array().unwrap().iter().map(|cause| at(cause, "amount")));
        assert_eq!(causes, at(&found["totals"], "difference"), "causes in {money}");
        for list in ["sellers", "charges"] {
            let records = found["history"][list].as_array().unwrap();
            for name in ["estimated", "charged"] {
                assert_eq!(total(records.iter().map(|r| at(r, name))), at(&found["totals"], name), "{list}, {name} in {money}");
            }
        }
        headline(&found, money);
    }
}

/// The sentence that comes first says the totals.
fn headline(found: &Value, money: &str) {
    let text = run("settle", money, "markdown");
    let first = text.lines().next().unwrap();
    let t = &found["totals"];
    let digits = if money == "JPY" { 0 } else { 2 };
    let (charged, estimated, difference) = (at(t, "charged"), at(t, "estimated"), at(t, "difference"));
    let sign = if difference.is_positive() { "+" } else { "" };
    let says = format!(
        "Charged {} {money} so far where {} was reckoned: {sign}{},",
        charged.grouped(digits),
        estimated.grouped(digits),
        difference.grouped(digits)
    );
    assert!(first.starts_with(&says), "{first}\n{says}");
}

#[test]
fn leeway_in_another_money_shows_the_differences_of_what_it_shows() {
    for money in ["EUR", "JPY"] {
        let found = json("leeway", money);
        for driver in found["drivers"].as_array().unwrap() {
            assert_eq!(at(driver, "effect"), at(driver, "total_high").minus(at(driver, "total_low")).unwrap(), "{money}: {driver}");
        }
        let sure = &found["assurance"];
        assert_eq!(at(sure, "set_aside"), at(sure, "total").minus(at(&found, "spent")).unwrap(), "{money}");
        let text = run("leeway", money, "markdown");
        let rows: Vec<Vec<&str>> = text
            .lines()
            .skip_while(|line| !line.starts_with("| so many outcomes"))
            .skip(2)
            .take_while(|line| line.starts_with('|'))
            .map(|line| line.trim_matches('|').split('|').map(str::trim).collect())
            .collect();
        assert!(rows.len() >= 5, "{text}");
        for row in rows {
            assert_eq!(dec(row[2]), dec(row[1]).minus(at(&found, "cost")).unwrap(), "{money}: {row:?}");
        }
    }
}

#[test]
fn every_charge_of_a_settlement_as_csv_names_its_parcel() {
    let text = run("settle", "GBP", "csv");
    let charges = text.split("# charges\n").nth(1).unwrap().split("\n\n").next().unwrap();
    let header = charges.lines().next().unwrap();
    assert!(header.ends_with(",parcel"), "{header}");
    let rows = kit::records(charges);
    let of = |parcel: &str| rows.iter().filter(|row| &row[row.len() - 1] == parcel).count();
    assert!(rows.iter().all(|row| !row[0].is_empty() && !row[row.len() - 1].is_empty()), "{charges}");
    assert!(of("Taolin Parts House") > 2 && of("Taolin Parts House/summer") > 0 && of("Weihu Composite Works") > 5, "{charges}");
}
