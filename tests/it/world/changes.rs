//! `rates/CHANGES.md`: what changed in law since the tables of that day, destination by destination.

use std::collections::{BTreeMap, BTreeSet};

use landwaiter::tables::{File, built_in};

use crate::kit::home;

/// Columns that say where a row comes from and not what the law is.
const NO_LAW: [&str; 6] = ["source", "dated", "checked", "evidence", "note", "after"];

/// A digest by FNV-1a with 64 bits (Fowler, Noll and Vo; RFC 9923): stable from build to build.
fn fnv(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3))
}

/// The law of a table, without regard to the order of rows and columns.
fn law_of(file: &File) -> String {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).flexible(true).from_reader(file.bytes.as_ref());
    let header = reader.headers().unwrap().clone();
    let row = |record: csv::StringRecord| {
        let cells = header.iter().zip(record.iter()).filter(|(name, cell)| !cell.is_empty() && !NO_LAW.contains(name));
        let mut cells: Vec<String> = cells.map(|(name, cell)| format!("{name}={cell}")).collect();
        cells.sort_unstable();
        cells.join(";") + "\n"
    };
    let mut rows: Vec<String> = reader.records().map(|record| row(record.unwrap())).collect();
    rows.sort_unstable();
    rows.concat()
}

/// A digest of each folder of law.
fn digests() -> BTreeMap<String, String> {
    let mut texts: BTreeMap<String, String> = BTreeMap::new();
    for file in built_in() {
        if let Some((folder, table)) = file.name.split_once('/') {
            texts.entry(folder.to_owned()).or_default().push_str(&format!("{table}\n{}", law_of(&file)));
        }
    }
    texts.into_iter().map(|(folder, text)| (folder, format!("{:016x}", fnv(text.as_bytes())))).collect()
}

/// Every folder whose law is another one than at the last version has a sentence, and no other has.
#[test]
fn every_change_of_law_since_the_last_version_is_told() {
    assert_eq!(fnv(b"foobar"), 0x8594_4171_f739_67e8, "the published test value");
    let before = std::fs::read_to_string(home().join("tests/data/law-2026-11-25.csv")).unwrap();
    let before: BTreeMap<&str, &str> =
        before.lines().filter(|line| !line.starts_with('#')).skip(1).filter_map(|l| l.split_once(',')).collect();
    assert!(before.len() > 10 && before.contains_key("gb"), "{before:?}");
    let now = digests();
    let changed: BTreeSet<&str> =
        now.iter().filter(|(f, d)| before.get(f.as_str()) != Some(&d.as_str())).map(|(f, _)| f.as_str()).collect();
    let page = std::fs::read_to_string(home().join("rates/CHANGES.md")).unwrap();
    let since = page.split("\n## ").find(|part| part.starts_with("Since 25 November 2026")).unwrap_or_default();
    let told = |line: &'_ str| Some(line.strip_prefix("- **")?.split_once("**")?.0.rsplit_once('(')?.1.trim_end_matches(')').to_owned());
    let told: BTreeSet<String> = since.lines().filter_map(told).filter(|name| !name.contains(".csv")).collect();
    assert_eq!(changed, told.iter().map(String::as_str).collect(), "left: folders whose law changed; right: folders with a sentence");
    for entry in since.split("\n- **").skip(1) {
        assert!(entry.trim_end().ends_with('.'), "a whole sentence: {entry}");
    }
}
