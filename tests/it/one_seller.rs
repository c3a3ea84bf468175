//! Rows of one seller that say different things: one wrong cell is one error, wherever it stands.

use super::harness::landwaiter;

/// The errors of a book whose rows say these things in one column, each as its line and what is said.
fn errors(column: &str, cells: &[&str], own: Option<&str>) -> Vec<String> {
    let places = ["frame", "fork", "stem", "saddle"];
    let rows = places
        .iter()
        .zip(cells)
        .map(|(place, cell)| format!("My {place},{place},Skerry Supply,60.00,GBP,460,{cell}\n"));
    let parts = format!(
        "part,place,seller,price,currency,mass_g,{column}\n{}",
        rows.collect::<String>()
    );
    let run = landwaiter("check b")
        .file(
            "b/settings.csv",
            "setting,value\ndestination,GB\ndate,2026-10-21\n",
        )
        .file("b/parts.csv", &parts);
    let run = match own {
        Some(cell) => run.file(
            "b/sellers.csv",
            format!("seller,dispatch,{column}\nSkerry Supply,TW,{cell}\n"),
        ),
        None if column == "dispatch" => run,
        None => run.file("b/sellers.csv", "seller,dispatch\nSkerry Supply,TW\n"),
    };
    let ran = run.go().ends(1);
    let line = |at: usize, lines: &[&str]| {
        let place = lines
            .iter()
            .skip(at)
            .find_map(|line| line.split_once("--> b/"))
            .map(|(_, place)| place.to_owned());
        format!(
            "{} {}",
            place.unwrap_or_default(),
            lines[at].trim_start_matches("error: ")
        )
    };
    let lines: Vec<&str> = ran.err.lines().collect();
    (0..lines.len())
        .filter(|at| lines[*at].starts_with("error: "))
        .map(|at| line(at, &lines))
        .collect()
}

/// The only error, which is at this line and says this.
#[track_caller]
fn only(column: &str, cells: &[&str], own: Option<&str>, line: &str, said: &str) {
    let found = errors(column, cells, own);
    let [one] = found.as_slice() else {
        panic!("{column} {cells:?} {own:?}: {found:?}")
    };
    assert!(
        one.starts_with(line) && one.contains(said),
        "{column} {cells:?}: {one}"
    );
}

#[test]
fn a_wrong_freight_is_one_error() {
    // A cell that cannot be read is no name of a schedule that others are held against.
    only(
        "freight",
        &["Free", "12.00", "12.00"],
        None,
        "parts.csv:2:",
        "expected an amount such as",
    );
    only(
        "freight",
        &["12 EUR", "12.00"],
        None,
        "parts.csv:2:",
        "expected an amount in GBP",
    );
    only(
        "freight",
        &["-3", "12.00", "12.00"],
        None,
        "parts.csv:2:",
        "0 or more",
    );
    // Nor is a name that no table has, beside an amount; and most rows go before the first.
    only(
        "freight",
        &["twelve", "12.00"],
        None,
        "parts.csv:2:",
        "expected `12.00` as at b/parts.csv:3",
    );
    only(
        "freight",
        &["10.00", "12.00", "12.00"],
        None,
        "parts.csv:2:",
        "expected `12.00` as at b/parts.csv:3",
    );
    only(
        "freight",
        &["12.00", "10.00", "12.00"],
        None,
        "parts.csv:3:",
        "expected `12.00` as at b/parts.csv:2",
    );
    // As many of both: the first is taken at its word.
    only(
        "freight",
        &["10.00", "12.00"],
        None,
        "parts.csv:3:",
        "expected `10.00` as at b/parts.csv:2",
    );
    // The seller's own table goes before all rows, unless it cannot be read.
    only(
        "freight",
        &["12.00", "9.00"],
        Some("12.00"),
        "parts.csv:3:",
        "expected `12.00` as at b/sellers.csv:2",
    );
    only(
        "freight",
        &["12.00", "12.00"],
        Some("Free"),
        "sellers.csv:2:",
        "expected an amount such as",
    );
}

#[test]
fn a_wrong_country_is_one_error() {
    only(
        "dispatch",
        &["CN", "TW", "TW", "TW"],
        None,
        "parts.csv:2:",
        "expected `TW` as at b/parts.csv:3",
    );
    only(
        "dispatch",
        &["Atlantis", "TW", "Taiwan"],
        None,
        "parts.csv:2:",
        "`Atlantis`",
    );
}
