//! Flags that do nothing in a command are refused and named, and `bulk` writes no bad lines where a book would read them.

use super::harness::{Run, landwaiter};

const SETTINGS: &str = "setting,value\ndestination,GB\ndate,2026-10-21\n";
const PARTS: &str =
    "part,place,seller,price,currency,dispatch,mass_g\nSaddle,saddle,Taolin,40.00,GBP,TW,200\n";

#[test]
fn a_flag_that_does_nothing_is_refused_and_named() {
    for (command, flag) in [
        ("check b --in EUR", "`--in`"),
        ("b --worth 3", "`--worth`"),
        (
            "check b --budget 100 --worth 3",
            "`--budget` and `--worth` do nothing in `check`",
        ),
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
        let ran = landwaiter(command)
            .file("b/settings.csv", SETTINGS)
            .file("b/parts.csv", PARTS)
            .go()
            .ends(2);
        assert!(
            ran.err.contains(flag) && ran.out.is_empty(),
            "{command}: {}",
            ran.err
        );
    }
    // What a command uses stays: formats of `check` and `rates`, limits of `cost`, the climb of `rank`.
    for command in [
        "b --in EUR --budget 100",
        "check b --format json",
        "rates b --format json",
        "cost b --in EUR --budget 100 --max-mass 9000",
        "leeway b --budget 100 --max-mass 9000",
        "rank b --budget 100 --max-mass 9000 --worth 3 --rider-kg 70 --rider-watts 200",
        "compare b --in EUR --basis ride",
        "settle b --basis ride --in EUR",
    ] {
        landwaiter(command)
            .file("b/settings.csv", SETTINGS)
            .file("b/parts.csv", PARTS)
            .go()
            .ends(0);
    }
}

#[test]
fn bad_lines_are_not_written_where_the_book_would_read_them() {
    let list = "date,seller,price,commodity,currency,dispatch\n2026-10-21,Taolin,x,871495,GBP,TW\n";
    for name in ["sub.xlsx", "bad.ODS", "receipts.csv"] {
        let ran = landwaiter(&format!("bulk l.csv b --keep-going b/{name}"))
            .file("b/settings.csv", SETTINGS)
            .file("l.csv", list)
            .go();
        let ran = ran.ends(1);
        assert!(
            ran.err.contains("it would be a table of the book"),
            "{name}: {}",
            ran.err
        );
        assert!(!ran.has(&format!("b/{name}")), "{name}");
    }
    // A book of one file lies in a folder that is a book as well.
    let run = landwaiter("bulk l.csv b/parts.csv --to GB --keep-going b/sellers.csv")
        .file("b/parts.csv", PARTS)
        .file("l.csv", list);
    let ran = run.go().ends(1);
    assert!(
        ran.err.contains("it would be a table of the book") && !ran.has("b/sellers.csv"),
        "{}",
        ran.err
    );
    // Another name, and another folder, are taken.
    for name in ["b/bad.csv", "sub.xlsx"] {
        let ran = landwaiter(&format!("bulk l.csv b --keep-going {name}"))
            .file("b/settings.csv", SETTINGS)
            .file("l.csv", list)
            .go()
            .ends(1);
        assert!(ran.has(name), "{name}: {}", ran.err);
    }
}

const BAD: &str =
    "date,seller,price,commodity,currency,dispatch\n2026-10-21,Taolin,x,871495,GBP,TW\n";

const STEP: &str = "schedule,dispatch,destination,channel,up_to_g,price,currency,valid_from\npost,TW,GB,*,500,5.00,GBP,2026-01-01\n";

/// A list with a bad line beside a book; its settings may name a folder of tables.
fn bad_list(flags: &str, settings: &str) -> Run {
    landwaiter(&format!("bulk l.csv b {flags}"))
        .file("b/settings.csv", settings)
        .file("l.csv", BAD)
}

#[test]
fn bad_lines_are_not_written_where_the_rates_are_read() {
    let named = format!("{SETTINGS}rates,mine\n");
    for (settings, flags, place) in [
        (SETTINGS, "", "b/rates/freight.csv"),
        (SETTINGS, "", "b/rates/xx/tariff.csv"),
        (SETTINGS, "", "b/../b/rates/gb/Charges.TSV"),
        (&named, "", "b/mine/exchange.csv"),
        (&named, "", "b/mine/gb/tariff.csv"),
        (SETTINGS, "--rates other", "other/places.csv"),
        (&named, "--rates other", "b/mine/places.csv"),
    ] {
        let run = bad_list(&format!("{flags} --keep-going {place}"), settings);
        let ran = run
            .file("b/mine/freight.csv", STEP)
            .file("other/freight.csv", STEP)
            .go()
            .ends(1);
        assert!(
            ran.err.contains("among the tables of rates") && ran.out.is_empty(),
            "{place}: {}\n{}",
            ran.err,
            ran.out
        );
        assert!(!ran.has(place), "{place} was made");
    }
    // The folder is not made either, and a folder that is no folder of tables is taken.
    assert!(
        !bad_list("--keep-going b/rates/gb/tariff.csv", SETTINGS)
            .go()
            .ends(1)
            .has("b/rates")
    );
    for place in [
        "b/bad/tariff.csv",
        "b/rates/gb/deeper/tariff.csv",
        "rates/tariff.csv",
    ] {
        let ran = bad_list(&format!("--keep-going {place}"), SETTINGS)
            .go()
            .ends(1);
        assert!(ran.has(place), "{place}: {}", ran.err);
    }
}

/// A country's folder may be a link, and the bad lines may be sent to where it leads.
#[cfg(unix)]
#[test]
fn bad_lines_are_not_written_behind_a_link_of_the_rates() {
    let run = bad_list("--rates mine --keep-going law/tariff.csv", SETTINGS)
        .file("mine/freight.csv", STEP)
        .file("law/notes.md", "");
    let run = run.link("../law", "mine/gb");
    let ran = run.go().ends(1);
    assert!(
        ran.err.contains("among the tables of rates") && !ran.has("law/tariff.csv"),
        "{}",
        ran.err
    );
}

#[cfg(unix)]
#[test]
fn bad_lines_do_not_stand_in_the_result() {
    let folder = tempfile::tempdir().unwrap();
    let result = folder.path().join("result.csv");
    let kept = |file: &str| bad_list(&format!("--keep-going {file}"), SETTINGS);
    for name in [result.to_str().unwrap(), "/dev/stdout", "/dev/fd/1"] {
        let (status, err) = kept(name).go_into(std::fs::File::create(&result).unwrap());
        assert!(
            status == 1 && err.contains("the result goes there"),
            "{name}: {err}"
        );
        assert_eq!(
            std::fs::read_to_string(&result).unwrap(),
            "",
            "nothing is written before it is refused"
        );
    }
    // A pipe is the same place under its own name too; two that write to nowhere are not in each other's way.
    assert!(
        kept("/dev/stdout")
            .go()
            .ends(1)
            .err
            .contains("the result goes there")
    );
    let (status, err) = kept("/dev/null").go_into(
        std::fs::File::options()
            .write(true)
            .open("/dev/null")
            .unwrap(),
    );
    assert!(
        status == 1 && err.contains("1 line was not priced"),
        "{err}"
    );
}

/// A folder that holds a book as tables is given no workbook, and one that holds a workbook no tables: each table would stand
/// there twice, and no command would read the book again.
#[cfg(feature = "pages")]
#[test]
fn no_second_book_is_begun_in_a_folder() {
    let tables = |args: &str| {
        landwaiter(args)
            .file("b/settings.csv", SETTINGS)
            .file("b/parts.csv", PARTS)
            .go()
    };
    for args in [
        "new b --kind road --workbook",
        "new b/other.xlsx --kind road --workbook",
    ] {
        let ran = tables(args).ends(1);
        assert!(
            ran.err.contains("`b` holds a book already, in `parts.csv`"),
            "{args}: {}",
            ran.err
        );
        assert!(
            !ran.has("b/book.xlsx") && !ran.has("b/other.xlsx"),
            "{args}"
        );
    }
    let workbook = std::fs::read(
        landwaiter("new a --kind road --workbook")
            .go()
            .ends(0)
            .path("a/book.xlsx"),
    )
    .unwrap();
    for args in [
        "new b --kind road",
        "new b/other.xlsx --kind road --workbook",
    ] {
        let ran = landwaiter(args).file("b/book.xlsx", &workbook).go().ends(1);
        assert!(
            ran.err.contains("`b` holds a book already, in `book.xlsx`") && !ran.has("b/parts.csv"),
            "{args}: {}",
            ran.err
        );
    }
    // The workbook of a report is no book, and tables of their own names are joined by those that are not there.
    let report = std::fs::read(tables("report b -o sum.xlsx").ends(0).path("sum.xlsx")).unwrap();
    assert!(
        landwaiter("new b --kind road")
            .file("b/sum.xlsx", &report)
            .go()
            .ends(0)
            .has("b/parts.csv")
    );
    assert!(
        landwaiter("new b --kind road")
            .file("b/sellers.csv", "seller\n")
            .go()
            .ends(0)
            .has("b/parts.csv")
    );
}
