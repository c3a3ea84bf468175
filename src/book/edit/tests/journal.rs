//! Changes taken back by the journal, and the journal itself.

use super::super::*;

fn noted(file: &str, was: Option<&str>, is: &str) -> Entry {
    Entry {
        change: 3,
        date: "2026-10-20".to_owned(),
        command: "settle --add \"x\"".to_owned(),
        file: file.to_owned(),
        splice: Splice::of(was.unwrap_or_default().as_bytes(), is.as_bytes()).unwrap(),
        was: state_of(was.map(str::as_bytes)),
        is: state_of(Some(is.as_bytes())),
    }
}

#[test]
fn a_change_is_taken_back_or_what_differs_is_said() {
    let entry = noted("receipts.csv", Some("a\nb\n"), "a\nc\nb\n");
    let back = |now: Option<&str>| taken_back(&entry, "receipts.csv", now.map(str::as_bytes));
    assert_eq!(
        back(Some("a\nc\nb\n")).unwrap(),
        Back::Bytes(b"a\nb\n".to_vec())
    );
    assert_eq!(back(Some("a\nb\n")).unwrap(), Back::Already);
    let made = noted("receipts.csv", None, "a\n");
    assert_eq!(taken_back(&made, "", Some(b"a\n")).unwrap(), Back::Gone);
    assert_eq!(taken_back(&made, "", None).unwrap(), Back::Already);
    for (now, why) in [
        (None, "not there any more"),
        (
            Some("a\nc\nb\nd\n"),
            "it had 6 bytes then and has 8 now; what the change wrote still stands there",
        ),
        (
            Some("a\nx\nb\n"),
            "it has 6 bytes as then, but not the same; what the change wrote does not stand",
        ),
    ] {
        let refused = back(now).unwrap_err();
        assert!(refused.message.contains(why), "{}", refused.message);
    }
}

#[test]
fn a_journal_keeps_its_entries_and_forgets_the_last() {
    let first = noted("receipts.csv", None, "a,\"b\"\r\n\\n ");
    let second = Entry {
        change: 4,
        ..noted("weighings.csv", Some("a\n"), "b\n")
    };
    let third = Entry {
        file: "receipts.csv".to_owned(),
        ..second.clone()
    };
    let both = [second, third];
    let empty = Journal::read("journal.csv", None).unwrap();
    assert_eq!((empty.next(), empty.last()), (1, &[][..]));
    let read = |bytes: Vec<u8>| Journal::read("journal.csv", Some(&bytes)).unwrap();
    let one = read(empty.with(std::slice::from_ref(&first)));
    let three = read(one.with(&both));
    assert_eq!((three.next(), three.last()), (5, &both[..]));
    let less = three.without_last().unwrap();
    assert_eq!((less.bytes(), less.last()), (one.bytes(), &[first][..]));
    // a change counts as not made when all its files are as they were
    let was = state_of(Some(b"a\n"));
    let half = |file: &str| {
        if file == "receipts.csv" {
            String::new()
        } else {
            was.clone()
        }
    };
    let kept = three.without_unmade(half).unwrap();
    assert_eq!(kept.last(), both);
    let less = kept.without_unmade(|_| was.clone()).unwrap();
    assert_eq!(less.bytes(), one.bytes());
    for (text, why) in [
        (
            "date,what\n2026-10-20,rode\n",
            "not a journal of landwaiter",
        ),
        (
            "change,date,command,file,at,before,after,was,is\n1,,,,,,,,\n",
            "not a row that landwaiter wrote",
        ),
    ] {
        let refused = Journal::read("journal.csv", Some(text.as_bytes())).unwrap_err();
        assert!(refused.message.contains(why), "{}", refused.message);
    }
}
