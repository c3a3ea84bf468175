//! What `settle` and `leeway` show in another money adds up there; the table of charges names the parcel in every row.

use landwaiter::tables::Use;
use landwaiter::units::{Currency, Date, Dec, Mode, number};
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
    dec(value[name]
        .as_str()
        .unwrap_or_else(|| panic!("{name} of {value}")))
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
        let charges: Vec<&Value> = parcels
            .iter()
            .flat_map(|p| p["charges"].as_array().unwrap())
            .filter(|c| !c["charged"].is_null())
            .collect();
        assert!(charges.len() > 15);
        for charge in &charges {
            let differs = at(charge, "charged")
                .minus(at(charge, "estimated"))
                .unwrap();
            assert_eq!(at(charge, "difference"), differs, "{money}: {charge}");
            let causes = total(
                charge["causes"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .map(|cause| at(cause, "amount")),
            );
            assert_eq!(
                causes.plus(at(charge, "unexplained")).unwrap(),
                differs,
                "{money}: {charge}"
            );
        }
        for name in ["estimated", "charged", "difference", "unexplained"] {
            assert_eq!(
                at(&found["totals"], name),
                total(charges.iter().map(|charge| at(charge, name))),
                "{name} in {money}"
            );
        }
        let causes = total(
            found["causes"]
                .as_array()
                .unwrap()
                .iter()
                .map(|cause| at(cause, "amount")),
        );
        assert_eq!(
            causes,
            at(&found["totals"], "difference"),
            "causes in {money}"
        );
        for list in ["sellers", "charges"] {
            let records = found["history"][list].as_array().unwrap();
            for name in ["estimated", "charged"] {
                assert_eq!(
                    total(records.iter().map(|r| at(r, name))),
                    at(&found["totals"], name),
                    "{list}, {name} in {money}"
                );
            }
        }
        headline(&found, money);
    }
}

/// Converted once, and not charge by charge.
#[test]
fn the_totals_of_a_settlement_are_those_of_its_own_money() {
    let (tables, own) = (kit::built_in(), json("settle", "GBP"));
    let day = Date::parse(own["date"].as_str().unwrap()).unwrap();
    for (money, digits) in [("EUR", 2), ("JPY", 0), ("USD", 2), ("KRW", 0)] {
        let to = Currency::parse(money).unwrap();
        let rate = tables
            .exchange
            .quote(Use::Market, Currency::GBP, to, day)
            .unwrap()
            .unwrap()
            .rate;
        let found = json("settle", money);
        for name in ["estimated", "difference"] {
            let once = rate
                .convert(at(&own["totals"], name))
                .unwrap()
                .round_to(digits, Mode::HalfUp);
            assert_eq!(at(&found["totals"], name), once, "{name} in {money}");
        }
    }
}

/// The sellers' rows add up to what JSON says of all of them.
#[test]
fn the_sellers_of_a_settlement_add_up_in_every_money() {
    for money in ["GBP", "EUR", "JPY"] {
        let found = json("settle", money);
        let text = run("settle", money, "csv");
        let sellers = text
            .split("# sellers\n")
            .nth(1)
            .unwrap()
            .split("\n\n")
            .next()
            .unwrap();
        let rows = kit::records(sellers);
        assert!(rows.len() >= 4, "{sellers}");
        for (column, name) in [(1, "estimated"), (2, "charged"), (3, "difference")] {
            assert_eq!(
                total(rows.iter().map(|row| dec(&row[column]))),
                at(&found["totals"], name),
                "{money} {name}: {sellers}"
            );
        }
    }
}

/// The sentence that comes first says the totals.
fn headline(found: &Value, money: &str) {
    let text = run("settle", money, "markdown");
    let first = text.lines().next().unwrap();
    let t = &found["totals"];
    let digits = if money == "JPY" { 0 } else { 2 };
    let (charged, estimated, difference) =
        (at(t, "charged"), at(t, "estimated"), at(t, "difference"));
    let word = if difference.is_negative() {
        "less"
    } else {
        "more"
    };
    let says = format!(
        "Charged {} {money} so far; {} was estimated: {} {word}.",
        charged.grouped(digits),
        estimated.grouped(digits),
        difference.abs().grouped(digits)
    );
    assert!(first.starts_with(&says), "{first}\n{says}");
}

#[test]
fn leeway_in_another_money_shows_the_differences_of_what_it_shows() {
    for money in kit::one_in(2, ["EUR", "JPY"]) {
        let found = json("leeway", money);
        for driver in found["drivers"].as_array().unwrap() {
            assert_eq!(
                at(driver, "effect"),
                at(driver, "total_high")
                    .minus(at(driver, "total_low"))
                    .unwrap(),
                "{money}: {driver}"
            );
        }
        let sure = &found["assurance"];
        assert_eq!(
            at(sure, "set_aside"),
            at(sure, "total").minus(at(&found, "spent")).unwrap(),
            "{money}"
        );
        let text = run("leeway", money, "markdown");
        let rows: Vec<Vec<&str>> = text
            .lines()
            .skip_while(|line| !line.starts_with("| chance |"))
            .skip(2)
            .take_while(|line| line.starts_with('|'))
            .map(|line| line.trim_matches('|').split('|').map(str::trim).collect())
            .collect();
        assert!(rows.len() >= 5, "{text}");
        for row in rows {
            assert_eq!(
                dec(row[2]),
                dec(row[1]).minus(at(&found, "cost")).unwrap(),
                "{money}: {row:?}"
            );
        }
    }
}

#[test]
fn every_charge_of_a_settlement_as_csv_names_its_parcel() {
    let text = run("settle", "GBP", "csv");
    let charges = text
        .split("# charges\n")
        .nth(1)
        .unwrap()
        .split("\n\n")
        .next()
        .unwrap();
    let header = charges.lines().next().unwrap();
    assert!(header.ends_with(",parcel"), "{header}");
    let rows = kit::records(charges);
    let of = |parcel: &str| {
        rows.iter()
            .filter(|row| &row[row.len() - 1] == parcel)
            .count()
    };
    assert!(
        rows.iter()
            .all(|row| !row[0].is_empty() && !row[row.len() - 1].is_empty()),
        "{charges}"
    );
    assert!(
        of("Taolin Parts House") > 2
            && of("Taolin Parts House/summer") > 0
            && of("Weihu Composite Works") > 5,
        "{charges}"
    );
}

#[test]
fn a_return_in_another_money_adds_up_there() {
    for money in ["USD", "JPY", "EUR", "GBP"] {
        let asked = [
            "return",
            "examples/after-delivery",
            "--part",
            "Saltmarsh frame",
            "--day",
            "2026-11-25",
            "--in",
            money,
            "--format",
        ];
        let show = |format: &str| {
            let ran = kit::landwaiter(&[&asked[..], &[format]].concat());
            assert_eq!(ran.status, 0, "{}", ran.stderr);
            ran.stdout
        };
        let found: Value = serde_json::from_str(&show("json")).unwrap();
        let charges = found["charges"].as_array().unwrap();
        assert_eq!(
            at(&found, "landed"),
            total(charges.iter().map(|charge| at(charge, "paid"))),
            "{money}"
        );
        let of = |word: &str| {
            total(
                charges
                    .iter()
                    .filter(|charge| charge["comes_back"] == word)
                    .map(|charge| at(charge, "amount")),
            )
        };
        let freight = if found["freight_back"].is_null() {
            Dec::ZERO
        } else {
            at(&found, "freight_back")
        };
        assert_eq!(
            at(&found, "surely_back"),
            of("yes").minus(freight).unwrap(),
            "{money}"
        );
        assert_eq!(at(&found, "possibly_back"), of("possible"), "{money}");
        assert_eq!(
            at(&found, "lost"),
            at(&found, "landed")
                .minus(at(&found, "surely_back"))
                .unwrap(),
            "{money}"
        );
        let goods = charges
            .iter()
            .find(|charge| charge["charge"] == "goods")
            .unwrap();
        assert_eq!(at(&found["refund"], "then"), at(goods, "paid"), "{money}");
        let moved = at(&found["refund"], "now")
            .minus(at(&found["refund"], "then"))
            .unwrap();
        assert_eq!(at(&found["refund"], "exchange"), moved, "{money}");
        let lost = at(&found, "lost").grouped(if money == "JPY" { 0 } else { 2 });
        assert!(
            show("table").contains(&format!("lose {lost} {money}")),
            "{money}: {lost}"
        );
    }
}

/// A figure of an unknown that is a sum at home is shown in the money of the others; one in another money names it.
#[test]
fn the_figures_of_unknowns_are_in_the_money_shown_or_name_theirs() {
    let ask = |more: &str| {
        let run = crate::harness::landwaiter(&format!("leeway . --to GB --on 2026-10-05 {more}"))
            .file("parts.csv", "part,place,seller,price,currency,dispatch,mass_g\nHill saddle,saddle,Ridgeway,300.00,USD,TW,180\n")
            .file("sellers.csv", "seller,dispatch,currency,freight,channel\nRidgeway,TW,USD,20,courier\n")
            .file("unknowns.csv", "what,low,likely,high,chance\nfreight:Ridgeway,15,20,30,\nevent:missed,10,20,40,50 %\n");
        run.go().ends(0).out
    };
    let plain = ask("--more");
    let row = |text: &str, name: &str| {
        text.lines()
            .find(|line| line.starts_with(name))
            .unwrap_or_else(|| panic!("{name}: {text}"))
            .to_owned()
    };
    let fields = |line: &str| {
        line.split("  ")
            .map(str::trim)
            .filter(|f| !f.is_empty())
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    assert_eq!(
        fields(&row(&plain, "Shipping, Ridgeway"))[1..4],
        ["15 USD", "20 USD", "30 USD"]
    );
    assert_eq!(fields(&row(&plain, "missed"))[1..4], ["10", "20", "40"]);
    let yen = ask("--in JPY --more");
    assert_eq!(
        fields(&row(&yen, "Shipping, Ridgeway"))[1..4],
        ["15 USD", "20 USD", "30 USD"]
    );
    let high = fields(&row(&yen, "missed"))[3]
        .replace(',', "")
        .parse::<u32>()
        .unwrap();
    assert!(
        (6_000..12_000).contains(&high),
        "40 pounds are some 8,000 yen: {high}"
    );
    let json: Value = serde_json::from_str(&ask("--in JPY --format json")).unwrap();
    let units: Vec<_> = json["drivers"]
        .as_array()
        .unwrap()
        .iter()
        .map(|d| (d["what"].clone(), d["unit"].clone()))
        .collect();
    assert!(
        units.contains(&("freight:Ridgeway".into(), "USD".into()))
            && units.contains(&("event:missed".into(), "GBP".into())),
        "{units:?}"
    );
}

/// What an option adds is the difference of two totals that are both on the screen, here and in the ladder.
#[test]
fn what_an_option_adds_is_the_same_in_the_ranking_and_on_the_ladder() {
    let ran = kit::landwaiter(&[
        "rank",
        "examples/gravel-build",
        "--in",
        "JPY",
        "--format",
        "json",
    ]);
    let json: Value = serde_json::from_str(&ran.stdout).unwrap();
    let (option, step) = (&json["options"][0], &json["ladder"]["steps"][0]);
    assert_eq!(option["part"], step["part"]);
    assert_eq!(option["together"], step["dC"]);
    assert_eq!(
        at(step, "total").minus(at(&json, "landed")).unwrap(),
        at(step, "dC")
    );
    let net = at(option, "net_benefit");
    assert_eq!(net, at(option, "together").negated(), "it saves no grams");
}
