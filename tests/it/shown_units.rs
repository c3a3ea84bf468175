//! Workbooks: masses in the unit that a cell is shown with, places of what is said, and where a row is to be typed.

use super::harness::{Ran, landwaiter};
use super::package::{archive, n, o, ods, ods_rows, rows, s, xlsx_parts};

/// Looks of the test's workbooks: kilograms, grams, pounds, kilograms shown of a figure in grams.
const KG: usize = 6;
const G: usize = 7;
const LB: usize = 8;
const THOUSANDTHS: usize = 9;

fn header() -> Vec<String> {
    [
        "part", "place", "seller", "price", "currency", "dispatch", "mass_g",
    ]
    .map(s)
    .to_vec()
}

fn part(mass: String) -> Vec<String> {
    let mut cells = ["Saddle", "saddle", "Taolin"].map(s).to_vec();
    cells.extend([n("40", 0), s("GBP"), s("TW"), mass]);
    cells
}

fn with_mass(mass: String) -> Ran {
    let sheet = rows(&[header(), part(mass)]);
    let book = archive(&xlsx_parts(&[("parts", &sheet)]));
    landwaiter("cost b.xlsx --to GB --on 2026-10-21 --format json")
        .file("b.xlsx", book)
        .go()
}

#[test]
fn a_mass_is_read_in_the_unit_that_its_cell_is_shown_with() {
    for (cell, grams) in [
        (n("0.2", KG), "200"),
        (n("215.5", G), "215.5"),
        (n("200", 0), "200"),
        (n("200", THOUSANDTHS), "200"),
    ] {
        let json = with_mass(cell.clone()).ends(0).json();
        assert_eq!(json["totals"]["mass_g"], grams, "{cell}");
    }
    let refused = with_mass(n("0.5", LB)).ends(1);
    assert!(
        refused
            .err
            .contains("`mass_g` (cell G2) is formatted in lb, and is `0.5`"),
        "{}",
        refused.err
    );
    assert!(
        refused.err.contains("give the mass in grams"),
        "{}",
        refused.err
    );
}

#[test]
fn a_mass_of_an_ods_is_read_in_the_unit_that_is_shown() {
    let number = |value: &str, shown: &str| {
        format!(
            "<table:table-cell office:value-type=\"float\" office:value=\"{value}\"><text:p>{shown}</text:p></table:table-cell>"
        )
    };
    let names = [
        "part", "place", "seller", "price", "currency", "dispatch", "mass_g",
    ]
    .map(o)
    .to_vec();
    for (value, shown) in [("0.2", "0.2 kg"), ("200", "200 g"), ("200", "200")] {
        let mut cells = ["Saddle", "saddle", "Taolin"].map(o).to_vec();
        cells.extend([
            number("40", "40.00"),
            o("GBP"),
            o("TW"),
            number(value, shown),
        ]);
        let book = ods(&[("parts", &ods_rows(&[names.clone(), cells]))]);
        let json = landwaiter("cost b.ods --to GB --on 2026-10-21 --format json")
            .file("b.ods", book)
            .go()
            .ends(0)
            .json();
        assert_eq!(json["totals"]["mass_g"], "200", "{shown}");
    }
}

#[test]
fn what_is_said_of_a_row_stands_at_that_row() {
    let struck: Vec<String> = vec![n("1", 3), n("2", 3)];
    let sheet = rows(&[header(), part(n("200", 0)), struck]);
    let book = archive(&xlsx_parts(&[("parts", &sheet)]));
    let ran = landwaiter("cost b.xlsx --to GB --on 2026-10-21")
        .file("b.xlsx", book)
        .go();
    let said = ran
        .err
        .split("warning: struck out, and read all the same: row 3")
        .nth(1)
        .unwrap();
    assert!(
        said.trim_start()
            .starts_with("--> b.xlsx, sheet parts, row 3"),
        "{}",
        ran.err
    );
}

#[test]
fn a_row_is_to_be_typed_into_its_own_sheet_at_its_first_free_row() {
    let parts = rows(&[header(), part(n("200", 0))]);
    let receipts = rows(&[["consignment", "charge", "amount", "currency", "date"]
        .map(s)
        .to_vec()]);
    let row = "receipts,Taolin,handling,8.00,GBP,2026-11-01";
    let settle = |sheets: &[(&str, &str)]| {
        let args = format!("settle b.xlsx --to GB --on 2026-10-21 --add {row} --add {row}");
        landwaiter(&args)
            .file("b.xlsx", archive(&xlsx_parts(sheets)))
            .go()
            .ends(1)
    };
    let ran = settle(&[("parts", &parts), ("receipts", &receipts)]);
    for at in [
        "into row 2 of the sheet `receipts`",
        "into row 3 of the sheet `receipts`",
    ] {
        assert!(ran.err.replace("\n    ", " ").contains(at), "{}", ran.err);
    }
    assert!(!ran.err.contains("weighings"), "{}", ran.err);
    let ran = settle(&[("parts", &parts)]);
    assert!(
        ran.err.contains("has no sheet `receipts`") && ran.err.contains("`consignment`"),
        "{}",
        ran.err
    );
}

#[test]
fn a_workbook_without_parts_is_told_so_and_not_of_a_file() {
    let sheet = rows(&[
        ["seller", "dispatch"].map(s).to_vec(),
        ["Taolin", "TW"].map(s).to_vec(),
    ]);
    let ran = landwaiter("cost b.xlsx --to GB")
        .file("b.xlsx", archive(&xlsx_parts(&[("sellers", &sheet)])))
        .go()
        .ends(1);
    assert!(
        ran.err
            .contains("there is no sheet `parts` in the workbook `b.xlsx`")
            && !ran.err.contains("parts.csv"),
        "{}",
        ran.err
    );
}

#[test]
fn a_folder_with_the_name_of_a_workbook_is_no_table() {
    let parts = "part,place,seller,price,currency,dispatch\nSaddle,saddle,Taolin,40.00,GBP,TW\n";
    let run = landwaiter("cost --to GB --on 2026-10-21")
        .file("parts.csv", parts)
        .file("old.xlsx/note.txt", "mine\n");
    let ran = run.go().ends(0);
    assert!(
        ran.err
            .contains("the folder `old.xlsx` has the name of a workbook and is not read"),
        "{}",
        ran.err
    );
}

#[test]
fn a_new_workbook_with_the_name_of_one_is_that_file() {
    let ran = landwaiter("new mine/nb.xlsx --kind road --workbook")
        .go()
        .ends(0);
    assert!(
        ran.out.starts_with("Made mine/nb.xlsx: a road bike"),
        "{}",
        ran.out
    );
    assert!(ran.has("mine/nb.xlsx") && !ran.has("mine/nb.xlsx/book.xlsx"));
    let refused = landwaiter("new nb.xlsx --kind road").go().ends(1);
    assert!(
        refused.err.contains("say `--workbook`") && !refused.has("nb.xlsx"),
        "{}",
        refused.err
    );
}
