//! Flags that do nothing in a command are refused and named, and `bulk` writes no bad lines where a book would read them.

use super::harness::landwaiter;

const SETTINGS: &str = "setting,value\ndestination,GB\ndate,2026-10-21\n";
const PARTS: &str = "part,place,seller,price,currency,dispatch,mass_g\nSaddle,saddle,Taolin,40.00,GBP,TW,200\n";

#[test]
fn a_flag_that_does_nothing_is_refused_and_named() {
    for (command, flag) in [
        ("check b --in EUR", "`--in`"),
        ("b --in EUR", "`--in`"),
        ("check b --budget 100 --worth 3", "`--budget` and `--worth` do nothing in `check`"),
        ("rates b --in EUR", "`--in`"),
        ("rates b --budget 100", "`--budget`"),
        ("rates b --card-fee 2", "`--card-fee`"),
        ("settle b --budget 100", "`--budget`"),
        ("settle b --max-mass 9000", "`--max-mass`"),
        ("return b --part Saddle --budget 100", "`--budget`"),
        ("compare b --budget 100", "`--budget`"),
        ("report b -o x.html --format json", "`--format`"),
        ("report b -o x.html --format=table", "`--format`"),
    ] {
        let ran = landwaiter(command).file("b/settings.csv", SETTINGS).file("b/parts.csv", PARTS).go().ends(2);
        assert!(ran.err.contains(flag) && ran.out.is_empty(), "{command}: {}", ran.err);
    }
    // What a command uses stays: formats of `check` and `rates`, limits of `cost`, the climb of `rank`.
    for command in [
        "check b --format json",
        "rates b --format json",
        "cost b --in EUR --budget 100 --max-mass 9000",
        "leeway b --budget 100 --max-mass 9000",
        "rank b --budget 100 --max-mass 9000 --worth 3 --rider-kg 70 --rider-watts 200",
        "compare b --in EUR --basis ride",
        "settle b --basis ride --in EUR",
    ] {
        landwaiter(command).file("b/settings.csv", SETTINGS).file("b/parts.csv", PARTS).go().ends(0);
    }
}

#[test]
fn bad_lines_are_not_written_where_the_book_would_read_them() {
    let list = "date,seller,price,commodity,currency,dispatch\n2026-10-21,Taolin,x,871495,GBP,TW\n";
    for name in ["sub.xlsx", "bad.ODS", "receipts.csv"] {
        let ran = landwaiter(&format!("bulk l.csv b --keep-going b/{name}")).file("b/settings.csv", SETTINGS).file("l.csv", list).go();
        let ran = ran.ends(1);
        assert!(ran.err.contains("it would be a table of the book"), "{name}: {}", ran.err);
        assert!(!ran.has(&format!("b/{name}")), "{name}");
    }
    // Another name, and another folder, are taken.
    for name in ["b/bad.csv", "sub.xlsx"] {
        let ran =
            landwaiter(&format!("bulk l.csv b --keep-going {name}")).file("b/settings.csv", SETTINGS).file("l.csv", list).go().ends(1);
        assert!(ran.has(name), "{name}: {}", ran.err);
    }
}
