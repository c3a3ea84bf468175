//! What the outputs show in another money adds up there, and "the price tags" are the tags as they were typed.

use landwaiter::units::{Dec, number};
use serde_json::Value;

use crate::harness::landwaiter;
use crate::kit;

fn dec(text: &str) -> Dec {
    number::plain(&text.replace(',', "")).unwrap()
}

fn at(value: &Value, name: &str) -> Dec {
    let text = value[name].as_str().unwrap();
    match text.strip_prefix('-') {
        Some(rest) => dec(rest).negated(),
        None => dec(text),
    }
}

fn total(of: impl IntoIterator<Item = Dec>) -> Dec {
    Dec::total(of).unwrap()
}

const CHARGES: [&str; 11] = [
    "goods",
    "discount",
    "freight",
    "insurance",
    "duty",
    "remedy",
    "tax",
    "tax_at_sale",
    "tax_at_border",
    "handling",
    "card_fee",
];

/// `goods - discount + freight + insurance + duty + remedy + tax + handling + card_fee = landed`.
fn row_adds_up(value: &Value) {
    let plus = [
        "goods",
        "freight",
        "insurance",
        "duty",
        "remedy",
        "tax",
        "handling",
        "card_fee",
    ];
    let sum = total(plus.iter().map(|name| at(value, name)))
        .minus(at(value, "discount"))
        .unwrap();
    assert_eq!(sum, at(value, "landed"), "{value}");
}

#[test]
fn json_in_another_money_adds_up_lines_to_parcels_to_totals() {
    for (book, money) in [
        ("gravel-build", "EUR"),
        ("gravel-build", "JPY"),
        ("after-delivery", "EUR"),
        ("first-build", "USD"),
    ] {
        let ran = kit::landwaiter(&[
            "cost",
            &format!("examples/{book}"),
            "--in",
            money,
            "--format",
            "json",
        ]);
        let json: Value = serde_json::from_str(&ran.stdout).unwrap();
        let parcels = json["consignments"].as_array().unwrap();
        row_adds_up(&json["totals"]);
        for parcel in parcels {
            row_adds_up(parcel);
            let lines = parcel["lines"].as_array().unwrap();
            lines.iter().for_each(row_adds_up);
            for name in CHARGES.iter().chain(&["landed"]) {
                assert_eq!(
                    at(parcel, name),
                    total(lines.iter().map(|line| at(line, name))),
                    "{name} of {}",
                    parcel["id"]
                );
            }
        }
        let held = total(
            json["held"]
                .as_array()
                .unwrap()
                .iter()
                .filter(|h| !h["paid"].is_null())
                .map(|h| at(h, "paid")),
        );
        for name in CHARGES.iter().chain(&["landed"]) {
            let beside = if matches!(*name, "goods" | "landed") {
                held
            } else {
                Dec::ZERO
            };
            let sum = total(parcels.iter().map(|parcel| at(parcel, name)))
                .plus(beside)
                .unwrap();
            assert_eq!(
                at(&json["totals"], name),
                sum,
                "{name} of {book} in {money}"
            );
        }
        let to_pay = at(&json["totals"], "to_pay_seller")
            .plus(at(&json["totals"], "to_pay_carrier"))
            .unwrap();
        assert_eq!(at(&json["totals"], "to_pay"), to_pay);
    }
}

/// The rows of a table in Markdown, header first, without the strokes.
fn table(text: &str, begin: &str) -> Vec<Vec<String>> {
    let lines = text
        .lines()
        .skip_while(|line| !line.starts_with(&format!("| {begin} ")));
    let cells = |line: &str| {
        line.trim_matches('|')
            .split(" | ")
            .map(|cell| cell.trim().to_owned())
            .collect::<Vec<_>>()
    };
    lines
        .take_while(|line| line.starts_with('|'))
        .map(cells)
        .collect()
}

fn figure(cell: &str) -> Dec {
    let bare = cell.trim_matches('~');
    match bare.strip_prefix('-') {
        Some(rest) => dec(rest).negated(),
        None if bare.is_empty() || bare.starts_with(char::is_alphabetic) => Dec::ZERO,
        None => dec(bare),
    }
}

#[test]
fn tables_in_another_money_add_up() {
    let ran = |format: &str| {
        kit::landwaiter(&[
            "cost",
            "examples/gravel-build",
            "--in",
            "EUR",
            "--format",
            format,
        ])
        .stdout
    };
    let text = ran("markdown");
    let parcels = table(&text, "parcel");
    let (foot, rows) = parcels[2..].split_last().unwrap();
    assert_eq!(foot[0], "Total");
    for column in 1..foot.len() {
        assert_eq!(
            figure(&foot[column]),
            total(rows.iter().map(|row| figure(&row[column]))),
            "column {column}"
        );
    }
    for row in rows.iter().chain([foot]) {
        let (landed, charges) = row[1..].split_last().unwrap();
        assert_eq!(
            figure(landed),
            total(charges.iter().map(|cell| figure(cell))),
            "{row:?}"
        );
    }
    let parts = table(&text, "Part");
    let together = total(parts[2..].iter().map(|row| figure(row.last().unwrap())));
    assert_eq!(
        figure(foot.last().unwrap()),
        together,
        "parts add up to the total"
    );
    let headline = text.lines().next().unwrap();
    assert!(
        headline.starts_with(&format!("Landed cost {} EUR:", foot.last().unwrap())),
        "{headline}"
    );
    let csv = ran("csv");
    let first = csv.split("\n\n").next().unwrap();
    for record in kit::records(first) {
        let cells: Vec<&str> = record.iter().skip(1).collect();
        let (landed, charges) = cells.split_last().unwrap();
        assert_eq!(
            figure(landed),
            total(charges.iter().map(|cell| figure(cell))),
            "{record:?}"
        );
    }
}

#[test]
fn a_page_in_another_money_says_what_cost_says_and_its_parts_add_up() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("page.html");
    let ran = kit::landwaiter(&[
        "report",
        "examples/gravel-build",
        "--in",
        "EUR",
        "-o",
        file.to_str().unwrap(),
    ]);
    assert_eq!(ran.status, 0, "{}", ran.stderr);
    let page = std::fs::read_to_string(file).unwrap();
    let cost = kit::landwaiter(&["cost", "examples/gravel-build", "--in", "EUR"]).stdout;
    let headline = cost.lines().next().unwrap();
    assert_eq!(kit::heading(&page), headline);
    let parts = page
        .split("aria-label=\"By part\"")
        .nth(1)
        .unwrap()
        .split("</table>")
        .next()
        .unwrap();
    let last = |row: &str| {
        row.split("<td class=\"n sum\">")
            .nth(1)
            .and_then(|cell| cell.split('<').next())
            .map(str::to_owned)
    };
    let sums: Vec<Dec> = parts
        .split("<tr>")
        .filter_map(last)
        .filter(|cell| cell != "not known")
        .map(|cell| figure(&cell))
        .collect();
    assert!(sums.len() > 20, "{sums:?}");
    assert!(
        headline.contains(&format!("Landed cost {} EUR", total(sums).grouped(2))),
        "{headline}"
    );
}

/// What is compared, ranked and planned in another money is the difference of what is shown.
#[test]
fn differences_in_another_money_are_those_of_the_figures_shown() {
    let json = |command: &str| -> Value {
        serde_json::from_str(
            &kit::landwaiter(&[
                command,
                "examples/gravel-build",
                "--in",
                "EUR",
                "--format",
                "json",
            ])
            .stdout,
        )
        .unwrap()
    };
    let compared = json("compare");
    for bike in compared["bikes"].as_array().unwrap() {
        assert_eq!(
            at(bike, "cost_difference"),
            at(&compared["build"], "replacement")
                .minus(at(bike, "price"))
                .unwrap(),
            "{}",
            bike["bike"]
        );
    }
    let ladder = &json("rank")["ladder"];
    let steps = ladder["steps"].as_array().unwrap();
    for pair in steps.windows(2) {
        assert_eq!(
            at(&pair[1], "dC"),
            at(&pair[1], "total").minus(at(&pair[0], "total")).unwrap()
        );
    }
    assert!(steps.len() > 1);
    assert_eq!(
        at(ladder, "cost_difference"),
        total(steps.iter().map(|step| at(step, "dC")))
    );
}

/// Two tags of 122.00 with 22 % of the seller's own tax in them, 10 % off by a code: the tags are 244.00; exported they are
/// 244.00 × 0.9 / 1.22 = 180.00, so that what is added is counted from 244.00 and not from 180.00.
#[test]
fn the_price_tags_are_the_tags_as_typed() {
    let book = |flags: &str| {
        landwaiter(&format!("cost --on 2026-09-23 --to GB {flags}"))
            .file("parts.csv", "part,place,seller,price,quantity,mass_g,origin\nShelf tyre,tyre,Valle Sole,122.00,2,400,TH\n")
            .file("sellers.csv", "seller,dispatch,currency,freight,prices_include,channel\nValle Sole,IT,GBP,0,22,post\n")
            .file("discounts.csv", "code,seller,scope,percent\nTEN,Valle Sole,basket,10\n")
            .go()
            .ends(0)
    };
    let json = book("--format json").json();
    assert_eq!(at(&json["totals"], "price_tags"), dec("244.00"));
    assert_eq!(
        at(&json["totals"], "goods")
            .minus(at(&json["totals"], "discount"))
            .unwrap(),
        dec("180.00")
    );
    let landed = at(&json["totals"], "landed");
    let more = landed.minus(dec("244.00")).unwrap();
    let word = if more.is_negative() { "less" } else { "more" };
    let said = format!(
        "Landed cost {} GBP: {} (5 %) {word} than the price tags.",
        landed.grouped(2),
        more.abs().grouped(2)
    );
    assert!(book("").out.starts_with(&said), "{said}\n{}", book("").out);
}

#[test]
fn the_picture_begins_at_the_price_tags() {
    let pictures = kit::report("examples/gravel-build", kit::As::Pictures, &[]);
    let picture = &pictures["by-charge.svg"];
    let cost = kit::landwaiter(&["cost", "examples/gravel-build", "--format", "json"]);
    let json: Value = serde_json::from_str(&cost.stdout).unwrap();
    let tags = at(&json["totals"], "price_tags").grouped(2);
    assert!(
        picture.contains("price tags") && picture.contains(&tags),
        "{tags}"
    );
    assert!(picture.contains("off the tags"));
}

/// In `rank` it is what an upgrade adds in parcels of its own; what is calculated with the order is nowhere called so.
#[test]
fn alone_means_one_thing() {
    let words = kit::landwaiter(&["help", "words"]).stdout;
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains("alone, together") && words.contains("in parcels of its own"),
        "{words}"
    );
    let rank = kit::landwaiter(&["rank", "examples/gravel-build", "--more"]).stdout;
    assert!(
        rank.split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
            .contains("Alone: in parcels of its own."),
        "{rank}"
    );
    let pictures = kit::report("examples/gravel-build", kit::As::Pictures, &[]);
    for name in ["ladder.svg", "words.txt"] {
        let text = &pictures[name];
        assert!(!text.contains("by itself"), "{name}");
        assert!(
            text.contains("added to the order"),
            "{name} says how it is reckoned"
        );
    }
}
