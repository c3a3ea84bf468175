//! `undo` takes back what was written last, then what was written before that, byte for byte; and refuses, with what differs, where
//! somebody else changed a table since.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use crate::steps::{run, tables};
use crate::writes::{RECEIPTS, ROW, folder};

const WEIGHED: &str = "weighings,Bar,271,1,,2026-10-05";
const MORE: &str = "receipts,Alder Cycle,tax_at_border,20.00,GBP,2026-10-01";

/// The tables of the book with their bytes, without the copies that `settle --add` leaves.
fn originals(at: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut all = tables(at);
    all.retain(|name, _| !name.contains(".old"));
    all
}

#[track_caller]
fn add(at: &Path, rows: &[&str]) {
    let mut args = vec!["settle", "book", "--day", "2026-10-20"];
    rows.iter().for_each(|row| args.extend(["--add", row]));
    let (status, _, err) = run(at, &args);
    assert_eq!(status, 0, "{err}");
}

#[track_caller]
fn undo(at: &Path) -> String {
    let (status, said, err) = run(at, &["undo", "book"]);
    assert_eq!((status, err.as_str()), (0, ""));
    said
}

#[track_caller]
fn refused(at: &Path, why: &str) {
    let (before, journal) = (originals(at), fs::read(at.join("book/journal.csv")).ok());
    let (status, _, err) = run(at, &["undo", "book"]);
    assert!(status == 1 && err.contains(why), "{status}: {err}");
    assert!(err.ends_with("Nothing was taken back.\n"), "{err}");
    assert_eq!(originals(at), before);
    assert_eq!(fs::read(at.join("book/journal.csv")).ok(), journal);
}

#[test]
fn the_last_change_is_taken_back_and_then_the_one_before() {
    let wide: Vec<u8> = [0xFF, 0xFE]
        .into_iter()
        .chain(
            "# mine\r\nconsignment;amount;charge;currency;date\r\nAlder Cycle;5,00;duty;GBP;2026-10-01"
                .encode_utf16()
                .flat_map(u16::to_le_bytes),
        )
        .collect();
    let folder = folder(&[("book/receipts.csv", &wide)]);
    let at = folder.path();
    let first = originals(at);
    refused(at, "there is nothing to take back");
    add(at, &[ROW]);
    let second = originals(at);
    add(at, &[MORE, WEIGHED]);
    assert!(second["receipts.csv"] != first["receipts.csv"] && originals(at) != second);
    let (status, _, err) = run(at, &["check", "book"]);
    assert!(status == 0 && !err.contains("journal"), "{err}");
    let said = undo(at);
    assert!(
        said.starts_with(&format!(
            "Taken back: settle --add \"{MORE}\" --add \"{WEIGHED}\", of "
        )) && said.contains("`book/receipts.csv` is as it was before.")
            && said.contains("`book/weighings.csv`, which it had made, is gone.")
            && said.ends_with("`landwaiter undo` takes the change before it back.\n"),
        "{said}"
    );
    assert_eq!(originals(at), second);
    assert!(undo(at).ends_with("No earlier change is noted.\n"));
    assert_eq!(originals(at), first);
    refused(at, "there is nothing to take back");
    add(at, &[ROW]);
    assert_eq!(originals(at), second);
}

#[test]
fn what_somebody_changed_since_is_left_and_said() {
    let folder = folder(&[("book/receipts.csv", RECEIPTS.as_bytes())]);
    let at = folder.path();
    add(at, &[ROW, WEIGHED]);
    let path = at.join("book/receipts.csv");
    let written = fs::read(&path).unwrap();
    let mine = [&written[..], b"# mine\n"].concat();
    fs::write(&path, &mine).unwrap();
    refused(at, "what the change wrote still stands there");
    fs::write(&path, RECEIPTS.replace("5.00", "6.00")).unwrap();
    refused(at, "what the change wrote does not stand where it stood");
    fs::remove_file(&path).unwrap();
    refused(at, "the file is not there any more");
    fs::write(&path, &written).unwrap();
    undo(at);
    assert_eq!(fs::read(&path).unwrap(), RECEIPTS.as_bytes());
    assert!(!at.join("book/weighings.csv").exists());
}

/// A run that was killed wrote the journal, and not the tables; or took the tables back, and not the journal.
#[test]
fn a_change_that_was_noted_and_not_made_counts_for_nothing() {
    let folder = folder(&[("book/receipts.csv", RECEIPTS.as_bytes())]);
    let at = folder.path();
    add(at, &[ROW]);
    let before = originals(at);
    add(at, &[MORE]);
    fs::write(at.join("book/receipts.csv"), &before["receipts.csv"]).unwrap();
    add(at, &[MORE]);
    let journal = fs::read_to_string(at.join("book/journal.csv")).unwrap();
    assert_eq!(journal.matches(MORE).count(), 1, "{journal}");
    fs::write(at.join("book/receipts.csv"), &before["receipts.csv"]).unwrap();
    assert!(undo(at).contains("was as before already"));
    assert_eq!(originals(at), before);
    undo(at);
    assert_eq!(originals(at)["receipts.csv"], RECEIPTS.as_bytes());
}

#[test]
fn a_journal_leads_to_nothing_but_originals() {
    let folder = folder(&[
        ("book/receipts.csv", RECEIPTS.as_bytes()),
        ("mine.csv", b"mine"),
    ]);
    let at = folder.path();
    add(at, &[ROW]);
    let path = at.join("book/journal.csv");
    let journal = fs::read_to_string(&path).unwrap();
    fs::write(&path, journal.replace(",receipts.csv,", ",../mine.csv,")).unwrap();
    refused(at, "`../mine.csv` is not a table of a book");
    fs::write(&path, "date,what\n2026-10-20,rode to work\n").unwrap();
    refused(at, "this is not a journal of landwaiter");
    let args = ["settle", "book", "--day", "2026-10-20", "--add", MORE];
    let (status, _, err) = run(at, &args);
    assert!(
        status == 1 && err.contains("not a journal of landwaiter"),
        "{err}"
    );
    let (status, _, err) = run(at, &["undo", "book/parts.csv"]);
    assert!(status == 1 && err.contains("a folder of tables"), "{err}");
}
