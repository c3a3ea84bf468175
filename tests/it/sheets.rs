//! Books that are one spreadsheet, as people save them, and the workbook of a calculation read back.

use std::path::Path;

use calamine::{Data, Reader, Xlsx};
use rust_xlsxwriter::{Format, Workbook};

use crate::kit;

/// A book with a merged title, blank rows, days as serials and as text, and decimal commas.
fn saved(path: &Path) {
    let mut book = Workbook::new();
    let day = Format::new().set_num_format("yyyy-mm-dd");
    let parts = book.add_worksheet();
    parts.set_name("Parts").unwrap();
    parts
        .merge_range(
            0,
            0,
            0,
            4,
            "What I want to order",
            &Format::new().set_bold(),
        )
        .unwrap();
    for (col, name) in (0..).zip([
        "part", "place", "seller", "price", "currency", "dispatch", "mass_g", "seen",
    ]) {
        parts.write(2, col, name).unwrap();
    }
    for (row, part, place, price, mass) in [
        (3, "Lowtide wheels", "wheels", "250,50", 1500.0),
        (6, "Gannet saddle", "saddle", "49,95", 181.5),
    ] {
        for (col, text) in (0..).zip([part, place, "Taolin", price, "USD", "TW"]) {
            parts.write(row, col, text).unwrap();
        }
        parts.write(row, 6, mass).unwrap();
    }
    parts.write_with_format(3, 7, 46_280.0, &day).unwrap();
    parts.write(6, 7, "2026-09-15").unwrap();
    let settings = book.add_worksheet();
    settings.set_name("settings").unwrap();
    for (row, (name, value)) in (0..).zip([
        ("setting", "value"),
        ("destination", "GB"),
        ("date", "2026-09-23"),
    ]) {
        settings.write(row, 0, name).unwrap();
        settings.write(row, 1, value).unwrap();
    }
    book.save(path).unwrap();
}

#[test]
fn a_saved_spreadsheet_costs_what_its_tables_cost() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("my bike.xlsx");
    saved(&file);
    let plain = folder.path().join("plain");
    std::fs::create_dir(&plain).unwrap();
    let parts = "part,place,seller,price,currency,dispatch,mass_g,seen\n\
        Lowtide wheels,wheels,Taolin,250.50,USD,TW,1500,2026-09-15\nGannet saddle,saddle,Taolin,49.95,USD,TW,181.5,2026-09-15\n";
    std::fs::write(plain.join("parts.csv"), parts).unwrap();
    std::fs::write(
        plain.join("settings.csv"),
        "setting,value\ndestination,GB\ndate,2026-09-23\n",
    )
    .unwrap();
    let totals = |book: &Path| {
        let ran = kit::landwaiter(&["cost", book.to_str().unwrap(), "--format", "json"]);
        assert_eq!(ran.status, 0, "{}", ran.stderr);
        let json: serde_json::Value = serde_json::from_str(&ran.stdout).unwrap();
        (json["totals"].clone(), ran.stderr)
    };
    let ((sheets, said), (tables, _)) = (totals(&file), totals(&plain));
    assert_eq!(sheets, tables);
    assert_ne!(sheets["landed"], "0.00");
    for words in [
        "above the header, and not read: `What I want to order` (row 1)",
        "2 blank rows are skipped: 5 and 6",
    ] {
        assert!(said.contains(words), "{said}");
    }
}

#[test]
fn a_calculation_is_live_and_its_names_are_text() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path();
    std::fs::write(
        book.join("parts.csv"),
        "part,place,seller,price,currency,dispatch\n=cmd()|1!A1,wheels,+1+1,250.00,USD,TW\n<script>alert(1)</script>,saddle,+1+1,50.00,USD,TW\n",
    )
    .unwrap();
    std::fs::write(
        book.join("settings.csv"),
        "setting,value\ndestination,GB\ndate,2026-09-23\n",
    )
    .unwrap();
    let file = book.join("sum.xlsx");
    assert_eq!(
        kit::landwaiter(&[
            "report",
            book.to_str().unwrap(),
            "-o",
            file.to_str().unwrap()
        ])
        .status,
        0
    );
    let mut sheets: Xlsx<_> = calamine::open_workbook(&file).unwrap();
    let goods = sheets.worksheet_range("inputs").unwrap();
    let names: Vec<&Data> = goods.rows().skip(3).filter_map(|row| row.first()).collect();
    assert_eq!(names[1], &Data::String("=cmd()|1!A1".to_owned()));
    assert_eq!(
        names[0],
        &Data::String("<script>alert(1)</script>".to_owned())
    );
    let formulas = sheets.worksheet_formula("inputs").unwrap();
    assert!(
        !formulas
            .used_cells()
            // the seller's own sheet may be named, in quotes
            .map(|(_, _, text)| text.replace("'+1+1'!", ""))
            .any(|text| text.contains("cmd") || text.contains("1+1"))
    );
    let ran = kit::landwaiter(&["cost", book.to_str().unwrap(), "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&ran.stdout).unwrap();
    let total = sheets.worksheet_range("total").unwrap();
    let last = total
        .rows()
        .find(|row| row[0] == Data::String("together".to_owned()))
        .unwrap();
    assert_eq!(
        format!("{:.2}", last[11].to_string().parse::<f64>().unwrap()),
        json["totals"]["landed"].as_str().unwrap()
    );
    let live = sheets
        .worksheet_formula("+1+1")
        .unwrap()
        .used_cells()
        .filter(|(_, _, text)| !text.is_empty())
        .count();
    assert!(live > 200, "{live} formulas");
    assert!(
        total
            .rows()
            .any(|row| row[0] == Data::String("What is fixed here, and why".to_owned()))
    );
}
