//! What can be priced: the page `rates/COVERAGE.md`, written from the tables.

use crate::abroad::{self, built_in, day, expect};
use crate::made;
use crate::report::coverage_page::coverage_page;
use crate::tables::Tables;
use crate::text::draw;

/// The page of the whole run, and the lines of a share of the destinations in a short one.
#[test]
fn the_page_of_coverage_is_what_the_tables_say() {
    let page = |tables: &Tables| {
        coverage_page(tables, day("2026-11-25"))
            .unwrap_or_else(|problems| panic!("{}", draw(&problems, false)))
    };
    if made::share(1, 0) == 1 || std::env::var_os("UPDATE_EXPECTED").is_some() {
        return expect("rates/COVERAGE.md", &page(built_in()));
    }
    let mut some = abroad::tables(&[]);
    let chosen: Vec<usize> = made::one_in(6, 0..some.destinations.len()).collect();
    // the others stay, as members of their groups, and have no rules on that day
    for (_, row) in some
        .destinations
        .iter_mut()
        .enumerate()
        .filter(|(at, _)| !chosen.contains(at))
    {
        row.stamp.span.to = Some(day("2026-11-24"));
    }
    let in_force = some
        .destinations
        .iter()
        .filter(|row| row.stamp.in_force(day("2026-11-25")))
        .count();
    let (part, kept) = (
        page(&some),
        std::fs::read_to_string(made::home().join("rates/COVERAGE.md")).unwrap(),
    );
    let lines: Vec<&str> = part
        .lines()
        .filter(|line| line.starts_with("| ") && !line.starts_with("| to "))
        .collect();
    assert!(in_force > 4 && lines.len() >= 2 * in_force, "{part}");
    for line in lines {
        assert!(
            kept.lines().any(|other| other == line),
            "rates/COVERAGE.md does not have this line:\n{line}"
        );
    }
}

/// What stands in the page of countries without a group, counted from the cells of their tables by nothing but their own marks.
#[test]
fn what_rows_rest_on_is_what_their_cells_say() {
    let page = std::fs::read_to_string(crate::made::home().join("rates/COVERAGE.md")).unwrap();
    let rests = page
        .split("\n## ")
        .find(|part| part.starts_with("What the rows rest on"))
        .unwrap();
    for folder in ["nz", "za", "in", "mx", "kr"] {
        let (mut known, mut oldest) = ([0, 0, 0], String::from("9999"));
        for table in [
            "charges",
            "reliefs",
            "tariff",
            "taxes",
            "codes",
            "assemblies",
        ] {
            let path = crate::made::home().join(format!("rates/{folder}/{table}.csv"));
            let Ok(text) = std::fs::read_to_string(path) else {
                continue;
            };
            let mut reader = csv::ReaderBuilder::new()
                .comment(Some(b'#'))
                .flexible(true)
                .from_reader(text.as_bytes());
            let header = reader.headers().unwrap().clone();
            for record in reader.records().map(Result::unwrap) {
                let cell = |name: &str| {
                    header
                        .iter()
                        .position(|column| column == name)
                        .and_then(|at| record.get(at))
                        .unwrap_or("")
                };
                let counts = matches!(cell("certainty"), "" | "certain" | "disputed");
                let begun = cell("valid_from") <= "2026-11-25";
                let lasts = cell("valid_to").is_empty() || cell("valid_to") >= "2026-11-25";
                if counts && begun && lasts {
                    known[["read", "inferred", "recalled"]
                        .iter()
                        .position(|word| *word == cell("evidence"))
                        .unwrap()] += 1;
                    oldest = oldest.min(
                        if cell("dated").is_empty() {
                            "9999"
                        } else {
                            cell("dated")
                        }
                        .to_owned(),
                    );
                }
            }
        }
        let to = folder.to_uppercase();
        let line = rests
            .lines()
            .find(|line| line.starts_with(&format!("| {to} ")))
            .unwrap();
        let cells: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
        assert_eq!(
            cells[1..4],
            known.map(|number: i32| number.to_string()),
            "{to}: {line}"
        );
        assert!(cells[6].starts_with(&oldest), "{to}: {oldest}: {line}");
    }
}
