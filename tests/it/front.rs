//! The front door: the sum of the crate's own documentation, asked of the library and of the program, is one sum.

use std::io::Write;
use std::process::{Command, Stdio};

use landwaiter::cost;
use landwaiter::tables::Tables;
use landwaiter::text::Problems;

use crate::harness::landwaiter;
use crate::kit;

const PARTS: &str = "\
part,place,seller,price,currency,dispatch
Spindrift 28 wheels,wheels,Taolin Parts House,250.00,USD,TW
";

const SETTINGS: &str = "setting,value\ndestination,GB\ndate,2026-10-21\n";

#[test]
fn six_columns_are_a_book() {
    let tables = Tables::load(Vec::new(), &mut Problems::new());
    let book = kit::book(&[("settings", SETTINGS), ("parts", PARTS)]);
    let landed = cost(&book, &tables, &kit::ask(&book)).unwrap();
    let sums = &landed.totals.amounts;
    // 250 / 1.1234 * 0.83825 is paid. Customs converts by its own rate of October, 250 / 1.3456 = 185.79: 4 % of it, cut, 7.43;
    // 20 % of both, cut, 38.64; the least fee of a courier.
    let parts = [sums.goods, sums.duty, sums.tax_at_border, sums.handling].map(|sum| sum.fixed(2));
    assert_eq!(parts, ["186.54", "7.43", "38.64", "12.00"]);
    assert_eq!(landed.totals.landed().unwrap().fixed(2), "244.61");
    let nothing = [
        sums.discount,
        sums.freight,
        sums.insurance,
        sums.remedy,
        sums.tax_at_sale,
        sums.card_fee,
    ];
    assert!(nothing.iter().all(|sum| sum.is_zero()));
}

#[test]
fn the_crates_page_shows_this_book() {
    let page = std::fs::read_to_string(kit::home().join("src/lib.rs")).unwrap();
    let shown: String = page
        .lines()
        .filter_map(|line| line.strip_prefix("//! "))
        .map(|line| format!("{line}\n"))
        .collect();
    assert!(
        shown.contains(PARTS),
        "the documentation shows another book than this test"
    );
    assert!(shown.contains("\"244.61\""));
}

#[test]
fn the_program_says_the_same() {
    let mut command = Command::new(env!("CARGO_BIN_EXE_landwaiter"));
    command.args([
        "cost",
        "-",
        "--to",
        "GB",
        "--on",
        "2026-10-21",
        "--format",
        "json",
    ]);
    let mut child = command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child
        .stdin
        .take()
        .unwrap()
        .write_all(PARTS.as_bytes())
        .unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(json["format"], "landwaiter.cost/1");
    assert_eq!(json["totals"]["landed"], "244.61");
    assert_eq!(json["consignments"][0]["lines"][0]["landed"], "244.61");
}

/// The heading of the tax is a word of the destination's row, a user's row too.
#[test]
fn the_tax_is_called_what_the_destinations_row_says() {
    let heading = |to: &str, own: &str| {
        let run = landwaiter(&format!(
            "cost parts.csv --to {to} --on 2026-10-21 --rates own --format csv"
        ));
        let dear = PARTS.replace("250.00", "950.00");
        let ran = run
            .file("parts.csv", dear)
            .file("own/destinations.csv", own)
            .go()
            .ends(0);
        ["VAT", "GST"].map(|word| ran.out.split([',', '\n']).any(|cell| cell == word))
    };
    let (vat, gst) = ([true, false], [false, true]);
    let other = "country,currency,group,customs_exchange,tax_name,valid_from\nDK,DKK,EU,ecb-month,GST,2021-01-01\n";
    for (to, word) in [
        ("DK", vat),
        ("CA", gst),
        ("AU", gst),
        ("NZ", gst),
        ("SG", gst),
        ("GB", vat),
    ] {
        assert_eq!(
            heading(to, "country,currency,valid_from\nAQ,USD,2021-01-01\n"),
            word,
            "{to}"
        );
    }
    assert_eq!(heading("DK", other), gst);
    let run = landwaiter("cost parts.csv --to GB --rates own").file("parts.csv", PARTS);
    let ran = run
        .file(
            "own/destinations.csv",
            "country,currency,tax_name,valid_from\nAQ,USD,GSTT,2021-01-01\n",
        )
        .go()
        .ends(1);
    assert!(
        ran.err
            .contains("`tax_name` is `GSTT`: expected VAT or GST; did you mean `GST`?"),
        "{}",
        ran.err
    );
}
