//! What is disputed, with a chance, is an unknown among the others: a row with its effect and its share of the spread.
//!
//! A frame of 600.00 from China, ordered anew: the anti-dumping duty on it is disputed. It is in the cost by law; the sum without it
//! is told by `cost` as `landed_undisputed`.

use serde_json::Value;

use super::harness::{Ran, landwaiter};
use super::small::dec;

const PARTS: &str = "part,place,standing,seller,price,currency,dispatch,freight,mass_g,channel,transit_days\n\
    Frame,frame,to-order,Birk Frames,600.00,GBP,CN,0,1100,courier,10\n";
const HEAD: &str = "what,low,likely,high,chance\n";
const STILL: &str = "price,0,0,0,\nfreight,0,0,0,\nhandling,0,0,0,\n";

fn run(command: &str, unknowns: &str, setting: &str) -> Ran {
    let settings =
        format!("setting,value\ndestination,GB\ndate,2026-09-23\nkind,gravel\n{setting}");
    let run = landwaiter(command)
        .file("b/settings.csv", settings)
        .file("b/parts.csv", PARTS);
    run.file("b/unknowns.csv", format!("{HEAD}{unknowns}"))
        .go()
        .ends(0)
}

fn json(unknowns: &str, setting: &str) -> Value {
    run("leeway b --format json", unknowns, setting).json()
}

/// The row of what is disputed.
fn row(found: &Value) -> &Value {
    found["drivers"]
        .as_array()
        .unwrap()
        .iter()
        .find(|driver| driver["what"] == "disputed")
        .unwrap_or_else(|| panic!("no row: {found}"))
}

#[test]
fn what_is_disputed_has_a_row_of_its_own_on_every_screen() {
    let cost = run("cost b --format json", "", "").json();
    let (with, without) = (
        &cost["totals"]["landed"],
        &cost["totals"]["landed_undisputed"],
    );
    let apart = dec(with.as_str().unwrap())
        .minus(dec(without.as_str().unwrap()))
        .unwrap();
    assert!(apart.is_positive());
    let rows = format!("{STILL}disputed,,,,40 %\n");
    let found = json(&rows, "");
    let one = row(&found);
    assert_eq!(
        (
            &one["total_low"],
            &one["total_high"],
            &one["chance"],
            &one["shape"]
        ),
        (without, with, &"40".into(), &"either".into())
    );
    assert_eq!(
        (
            one["effect"].as_str().unwrap(),
            one["high"].as_str().unwrap(),
            one["low"].as_str().unwrap()
        ),
        (apart.fixed(2).as_str(), apart.fixed(2).as_str(), "0")
    );
    assert!(
        one["range"].as_str().unwrap().contains("unknowns.csv:5"),
        "{one}"
    );
    assert_eq!(one["share"], "100.0");
    // All low and all high are its two sums, as nothing else moves.
    assert_eq!((&found["all_low"], &found["all_high"]), (without, with));
    let text = run("leeway b --more", &rows, "").out;
    let line = text
        .lines()
        .find(|line| line.contains("What is disputed (40 % likely)"))
        .unwrap_or_else(|| panic!("{text}"));
    for shown in [
        "0.00",
        &apart.grouped(2),
        &dec(without.as_str().unwrap()).grouped(2),
        "100.0 %",
    ] {
        assert!(line.contains(shown), "{shown}: {line}");
    }
    assert!(
        text.contains("they add up to 100 %") && text.contains("it is charged or it is not"),
        "{text}"
    );
    let sheet = run("leeway b --format csv", &rows, "").out;
    let line = sheet
        .lines()
        .find(|line| line.starts_with("What is disputed (40 % likely),0.00,"))
        .unwrap_or_else(|| panic!("{sheet}"));
    assert!(
        line.ends_with(&format!(
            "{},{},{},100.0 %",
            without.as_str().unwrap(),
            with.as_str().unwrap(),
            apart.fixed(2)
        )),
        "{line}"
    );
    assert!(
        sheet.contains("\n5 %,") && !sheet.contains("\n'") && !sheet.contains(",'"),
        "a percentage is no formula: {sheet}"
    );
    // Without a chance the two stand beside each other, and there is no row.
    let beside = json(STILL, "");
    assert!(
        beside["drivers"]
            .as_array()
            .unwrap()
            .iter()
            .all(|driver| driver["what"] != "disputed"),
        "{beside}"
    );
}

/// An event of 90.00 one time in ten has a variance of 0.1 * 0.9 * 8,100 = 729; what is disputed 0.4 * 0.6 of its square.
#[test]
fn shares_of_the_spread_add_up_to_a_hundred() {
    let found = json(
        &format!("{STILL}event:Inspection,90,90,90,10 %\ndisputed,,,,40 %\n"),
        "",
    );
    let drivers = found["drivers"].as_array().unwrap();
    let share = |of: &Value| dec(of["share"].as_str().unwrap());
    let total = drivers
        .iter()
        .map(share)
        .try_fold(dec("0"), landwaiter::units::Dec::plus)
        .unwrap();
    assert_eq!(total, dec("100"));
    let apart = dec(row(&found)["effect"].as_str().unwrap());
    let own = apart.times(apart).unwrap().times(dec("0.24")).unwrap();
    let expected = own
        .times(dec("100"))
        .unwrap()
        .over(own.plus(dec("729")).unwrap())
        .unwrap();
    assert!(
        share(row(&found)).minus(expected).unwrap().abs() <= dec("0.1"),
        "{} and not {expected}",
        share(row(&found))
    );
    // Ranges have theirs too, and the rows add up with them.
    let whole = json("disputed,,,,40 %\n", "");
    let drivers = whole["drivers"].as_array().unwrap();
    assert!(drivers.len() > 2, "{whole}");
    assert_eq!(
        drivers
            .iter()
            .map(share)
            .try_fold(dec("0"), landwaiter::units::Dec::plus)
            .unwrap(),
        dec("100")
    );
    assert!(
        drivers
            .iter()
            .filter(|driver| share(driver).is_positive())
            .count()
            > 2,
        "{whole}"
    );
}

/// What is certain does not spread, and a duty that is only shown comes on top of the cost.
#[test]
fn a_chance_of_all_or_nothing_and_a_duty_that_is_only_shown() {
    for (chance, setting) in [
        ("0", ""),
        ("100 %", ""),
        ("0.5 %", ""),
        ("0", "remedies,show\n"),
        ("100 %", "remedies,show\n"),
        ("60 %", "remedies,show\n"),
    ] {
        let found = json(&format!("{STILL}disputed,,,,{chance}\n"), setting);
        let one = row(&found);
        let at = |share: &str| found["quantiles"][share].clone();
        let (low, high) = (&one["total_low"], &one["total_high"]);
        let cost = if setting.is_empty() { high } else { low };
        assert_eq!(
            (&found["cost"], one["likely"] == one["high"]),
            (cost, setting.is_empty()),
            "{chance} {setting}"
        );
        let expected = match chance {
            "0" | "0.5 %" => (low, low),
            "100 %" => (high, high),
            _ => (low, high),
        };
        assert_eq!(
            (&at("5"), &at("95")),
            expected,
            "{chance} {setting}: {found}"
        );
        assert_eq!(
            one["share"] == "0.0",
            chance == "0" || chance == "100 %",
            "{chance}: {one}"
        );
    }
}

/// Every row of the shipped tables that is disputed says in one sentence of its own what is disputed and who decides.
#[test]
fn every_disputed_row_says_both_readings_and_who_decides() {
    let mut seen = 0;
    for file in landwaiter::tables::built_in() {
        let text = String::from_utf8(file.bytes.to_vec()).unwrap();
        let table: String = text
            .lines()
            .filter(|line| !line.starts_with('#'))
            .map(|line| format!("{line}\n"))
            .collect();
        let mut reader = csv::ReaderBuilder::new()
            .flexible(true)
            .from_reader(table.as_bytes());
        let header = reader.headers().unwrap().clone();
        let column = |name: &str| header.iter().position(|one| one == name);
        let Some(certainty) = column("certainty") else {
            continue;
        };
        for row in reader.records().map(Result::unwrap) {
            let said = column("dispute").and_then(|at| row.get(at)).unwrap_or("");
            if row.get(certainty) != Some("disputed") {
                assert_eq!(said, "", "{}: {row:?}", file.path);
                continue;
            }
            seen += 1;
            let (length, sentences) = (said.chars().count(), said.matches(". ").count());
            assert!(
                (60..=200).contains(&length) && sentences == 0,
                "{}: {length} characters: {said}",
                file.path
            );
            assert!(
                said.starts_with(|first: char| first.is_uppercase() || first.is_numeric())
                    && (said.contains(" decides") || said.ends_with("; the courts decide."))
                    && said.ends_with('.'),
                "{}: {said}",
                file.path
            );
        }
    }
    assert!(seen > 150, "{seen}");
}

/// The sentence stands on the screen and in JSON, the row's name behind `--more`, and where it stands in its file with the working alone.
#[test]
fn a_disputed_duty_is_explained_by_its_table_and_not_by_its_place() {
    const SAID: &str = "By the text every importer without an authorisation owes it; many single private parcels are not charged (an inference); customs decides.";
    const NAME: &str = "United Kingdom, anti-dumping duty, frames from China";
    for command in ["cost b", "leeway b"] {
        let (text, more) = (
            run(command, STILL, ""),
            run(&format!("{command} --more"), STILL, ""),
        );
        let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat(&text.out).contains(SAID), "{command}: {}", text.out);
        assert!(
            flat(&more.out).contains(&format!("{NAME}: {SAID}")),
            "{}",
            more.out
        );
        assert!(!text.out.contains("tariff.csv:"), "{}", text.out);
        assert!(!more.out.contains("tariff.csv:"), "{}", more.out);
    }
    let json = run("cost b --format json", STILL, "").json();
    let disputed = &json["consignments"][0]["disputed"][0];
    assert_eq!(
        (&disputed["dispute"], &disputed["name"]),
        (&SAID.into(), &NAME.into())
    );
    let trail = run("cost b --trail", STILL, "").out;
    assert!(trail.contains("rates/gb/tariff.csv:"), "{trail}");
    for (shown, places) in [
        ("", false),
        (" --more", false),
        (" --trail", true),
        (" --format csv", true),
    ] {
        let rates = landwaiter(&format!("rates --to GB --on 2026-09-23{shown}"))
            .go()
            .ends(0)
            .out;
        assert_eq!(
            rates.contains("rates/gb/tariff.csv:"),
            places,
            "{shown}: {rates}"
        );
        let flat = rates.split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(flat.contains(SAID), !shown.is_empty(), "{shown}: {rates}");
    }
    let rates = landwaiter("rates --to GB --on 2026-09-23 --format json")
        .go()
        .ends(0)
        .json();
    let rows = rates["rows"].as_array().unwrap();
    assert!(
        rows.iter()
            .filter(|row| row["certainty"] == "disputed")
            .all(|row| row["dispute"].is_string())
    );
    assert!(rows.iter().any(|row| row["dispute"] == SAID));
}

/// A table of the user's need not explain itself, and its row goes by its own name.
#[test]
fn a_disputed_row_of_ones_own_needs_no_sentence() {
    let own = "layer,commodity,origin,percent,valid_from,certainty\nremedy,8714911039,CN,30,2021-01-01,disputed\n";
    let ran = |own: &str, command: &str| {
        landwaiter(command)
            .file(
                "b/settings.csv",
                "setting,value\ndestination,GB\ndate,2026-09-23\nkind,gravel\nrates,own\n",
            )
            .file("b/parts.csv", PARTS)
            .file("b/own/gb/tariff.csv", own)
            .go()
            .ends(0)
    };
    let text = ran(own, "cost b --more").out;
    assert!(
        text.contains("your own table, anti-dumping duty, frames from China"),
        "{text}"
    );
    assert!(
        text.contains("The anti-dumping duty is disputed. Keep this money aside"),
        "{text}"
    );
    let said = "I asked twice, and two offices gave two answers; customs decides.";
    let own = own
        .replace("certainty\n", "certainty,dispute\n")
        .replace("disputed\n", &format!("disputed,\"{said}\"\n"));
    let text = ran(&own, "cost b").out;
    assert!(
        text.split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
            .contains(said),
        "{text}"
    );
}
