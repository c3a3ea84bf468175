//! `rates/CHANGES.md`: what changed in law since the tables of that day, destination by destination.

use std::collections::{BTreeMap, BTreeSet};

use landwaiter::tables::{File, built_in};

use crate::kit::home;

/// Columns that say where a row comes from and how sure it is, and not what the law is.
const NO_LAW: [&str; 7] = [
    "source", "dated", "checked", "evidence", "note", "after", "dispute",
];

/// A digest by FNV-1a with 64 bits (Fowler, Noll and Vo; RFC 9923): stable from build to build.
fn fnv(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

/// The law of a table, without regard to the order of rows and columns.
fn law_of(file: &File) -> String {
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .flexible(true)
        .from_reader(file.bytes.as_ref());
    let header = reader.headers().unwrap().clone();
    let row = |record: csv::StringRecord| {
        let cells = header
            .iter()
            .zip(record.iter())
            .filter(|(name, cell)| !cell.is_empty() && !NO_LAW.contains(name));
        let mut cells: Vec<String> = cells.map(|(name, cell)| format!("{name}={cell}")).collect();
        cells.sort_unstable();
        cells.join(";") + "\n"
    };
    let mut rows: Vec<String> = reader
        .records()
        .map(|record| row(record.unwrap()))
        .collect();
    rows.sort_unstable();
    rows.concat()
}

/// A digest of each folder of law.
fn digests() -> BTreeMap<String, String> {
    let mut texts: BTreeMap<String, String> = BTreeMap::new();
    for file in built_in() {
        if let Some((folder, table)) = file.name.split_once('/') {
            texts
                .entry(folder.to_owned())
                .or_default()
                .push_str(&format!("{table}\n{}", law_of(&file)));
        }
    }
    texts
        .into_iter()
        .map(|(folder, text)| (folder, format!("{:016x}", fnv(text.as_bytes()))))
        .collect()
}

/// Digests by folder out of a file: of the law, and where there is one of the sentence that tells it.
fn read(name: &str) -> BTreeMap<String, (String, String)> {
    let text = std::fs::read_to_string(home().join("tests/data").join(name)).unwrap_or_default();
    let lines = text.lines().filter(|line| !line.starts_with('#')).skip(1);
    let fields = lines.map(|line| line.split(',').map(str::to_owned).collect::<Vec<String>>());
    fields
        .map(|f| {
            (
                f[0].clone(),
                (f[1].clone(), f.get(2).cloned().unwrap_or_default()),
            )
        })
        .collect()
}

/// The law of the tables of 25 November 2026.
fn base() -> BTreeMap<String, String> {
    let base: BTreeMap<String, String> = read("law-2026-11-25.csv")
        .into_iter()
        .map(|(folder, (law, _))| (folder, law))
        .collect();
    assert!(base.len() > 10 && base.contains_key("gb"), "{base:?}");
    base
}

fn page() -> String {
    std::fs::read_to_string(home().join("rates/CHANGES.md")).unwrap()
}

/// What the page says since that day, by the folder named in brackets.
fn entries(page: &str) -> BTreeMap<String, String> {
    let since = page
        .split("\n## ")
        .find(|part| part.starts_with("Since 25 November 2026"))
        .unwrap_or_default();
    let named = |entry: &str| {
        Some(
            entry
                .split_once("**")?
                .0
                .rsplit_once('(')?
                .1
                .trim_end_matches(')')
                .to_owned(),
        )
    };
    since
        .split("\n- **")
        .skip(1)
        .filter_map(|entry| Some((named(entry)?, entry.trim_end().to_owned())))
        .collect()
}

/// Folders whose law changed without a sentence, and sentences without a change.
fn untold(
    base: &BTreeMap<String, String>,
    now: &BTreeMap<String, String>,
    page: &str,
) -> Vec<String> {
    let changed: BTreeSet<&str> = now
        .iter()
        .filter(|(folder, law)| base.get(*folder) != Some(law))
        .map(|(f, _)| f.as_str())
        .collect();
    let entries = entries(page);
    let told: BTreeSet<&str> = entries
        .keys()
        .map(String::as_str)
        .filter(|name| !name.contains(".csv"))
        .collect();
    let want = |folder: &&str| {
        format!(
            "write a sentence for `{folder}` into rates/CHANGES.md: its law is not that of 25 November 2026"
        )
    };
    let idle = |folder: &&str| {
        format!(
            "`{folder}` has a sentence in rates/CHANGES.md, and its law is that of 25 November 2026"
        )
    };
    changed
        .difference(&told)
        .map(want)
        .chain(told.difference(&changed).map(idle))
        .collect()
}

/// Folders whose law is not the one that was told: with the sentence left as it was, or with another one that was not noted yet.
fn told_of_old(
    told: &BTreeMap<String, (String, String)>,
    now: &BTreeMap<String, String>,
    page: &str,
) -> (Vec<String>, Vec<String>) {
    let entries = entries(page);
    let other = |folder: &&String| now.get(*folder) != told.get(*folder).map(|(law, _)| law);
    let folders: BTreeSet<&String> = now.keys().chain(told.keys()).collect();
    let untouched = |folder: &String| {
        digest_of(&entries, folder)
            == told
                .get(folder)
                .map(|(_, text)| text.clone())
                .unwrap_or_default()
    };
    let (same, new): (Vec<&String>, Vec<&String>) = folders
        .into_iter()
        .filter(other)
        .partition(|folder| untouched(folder));
    let owned = |all: Vec<&String>| all.into_iter().cloned().collect();
    (owned(same), owned(new))
}

/// A digest of a folder's sentence; empty without one.
fn digest_of(entries: &BTreeMap<String, String>, folder: &str) -> String {
    entries
        .get(folder)
        .map(|text| format!("{:016x}", fnv(text.as_bytes())))
        .unwrap_or_default()
}

/// Every folder whose law is another one than at the last version has a sentence, and no other has.
#[test]
fn every_change_of_law_is_told() {
    assert_eq!(
        fnv(b"foobar"),
        0x8594_4171_f739_67e8,
        "the published test value"
    );
    assert_eq!(untold(&base(), &digests(), &page()), Vec::<String>::new());
    for (folder, entry) in entries(&page()) {
        assert!(entry.ends_with('.'), "a whole sentence: {folder}: {entry}");
        let tables = ["_", "<=", ">=", "&"]
            .into_iter()
            .find(|word| entry.contains(word));
        assert_eq!(
            tables, None,
            "words of the tables are not a buyer's: {folder}: {entry}"
        );
    }
}

/// One more rate of one folder, and a page without a folder's sentence, are both found.
#[test]
fn a_change_that_is_not_told_is_found() {
    let (base, now, page) = (base(), digests(), page());
    let mut without = page.clone();
    let entry = entries(&page).remove("us").unwrap();
    without = without.replace(&format!("- **{entry}"), "");
    assert_ne!(without, page);
    let found = untold(&base, &now, &without);
    assert!(
        found.len() == 1 && found[0].contains("write a sentence for `us`"),
        "{found:?}"
    );
    let mut more = now.clone();
    more.insert("zz".to_owned(), "0".to_owned());
    let found = untold(&base, &more, &page);
    assert!(
        found.len() == 1 && found[0].contains("write a sentence for `zz`"),
        "{found:?}"
    );
    let found = untold(&now, &now, &page);
    assert!(
        found
            .iter()
            .any(|line| line.starts_with("`gb` has a sentence")),
        "{found:?}"
    );
    let file = |text: &str| File {
        path: String::new(),
        name: "zz/taxes".to_owned(),
        bytes: text.as_bytes().to_vec().into(),
        users: false,
    };
    let one = law_of(&file("tax,percent,source\nvat,20,a\n"));
    assert_eq!(
        one,
        law_of(&file("tax,percent,source\nvat,20,b\n")),
        "a source is no law"
    );
    assert_ne!(
        one,
        law_of(&file("tax,percent,source\nvat,21,a\n")),
        "a rate is"
    );
}

/// Whoever changes the law of a folder again writes what changed into its sentence: `tests/data/law-told.csv` holds a digest of the
/// law that each sentence tells, and of the sentence.
#[test]
fn law_that_changes_again_after_it_was_told_is_asked_for() {
    let again = "then run `UPDATE_EXPECTED=1 cargo test --test it -- law_that_changes_again`";
    let (now, page) = (digests(), page());
    let (untouched, noted) = told_of_old(&read("law-told.csv"), &now, &page);
    let write =
        |folder: &String| format!("write a sentence for `{folder}` into rates/CHANGES.md, {again}");
    assert!(
        untouched.is_empty(),
        "{:#?}",
        untouched.iter().map(write).collect::<Vec<_>>()
    );
    if std::env::var_os("UPDATE_EXPECTED").is_some() {
        let entries = entries(&page);
        let lines = now
            .iter()
            .map(|(folder, law)| format!("{folder},{law},{}\n", digest_of(&entries, folder)));
        let head = "# Which law rates/CHANGES.md tells: FNV-1a digests, written by tests/it/world/changes.rs.\nfolder,law,sentence\n";
        std::fs::write(
            home().join("tests/data/law-told.csv"),
            lines.fold(head.to_owned(), |text, line| text + &line),
        )
        .unwrap();
    } else {
        assert!(
            noted.is_empty(),
            "{noted:?} have a new sentence in rates/CHANGES.md: {again}"
        );
    }

    let mut changed = now.clone();
    changed.insert("us".to_owned(), "0".to_owned());
    let told: BTreeMap<String, (String, String)> = now
        .iter()
        .map(|(folder, law)| {
            (
                folder.clone(),
                (law.clone(), digest_of(&entries(&page), folder)),
            )
        })
        .collect();
    assert_eq!(
        told_of_old(&told, &changed, &page),
        (vec!["us".to_owned()], vec![]),
        "the law changed, the sentence did not"
    );
    let mended = page.replacen(
        "**United States (us)**: ",
        "**United States (us)**: Something changed. ",
        1,
    );
    assert_eq!(
        told_of_old(&told, &changed, &mended),
        (vec![], vec!["us".to_owned()]),
        "both changed"
    );
    assert_eq!(
        told_of_old(&told, &now, &mended),
        (vec![], vec![]),
        "a sentence may be written better at any time"
    );
}
