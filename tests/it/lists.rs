//! Price lists through the program: what is written, and what happens to lines that cannot be priced.

use crate::harness::{Ran, landwaiter};
use crate::kit;

const HEADER: &str = "line_id,date,seller,dispatch,currency,price,quantity,mass_g,commodity,origin,discount_percent\n";
const GOOD: &str = "1,2026-03-02,Alder,CN,USD,25.00,1,300,8714911089,TW,5.0\n2,2026-03-02,Birch,TW,USD,480.50,2,900,8714911089,TW,\n";

fn list(more: impl AsRef<[u8]>) -> Vec<u8> {
    [HEADER.as_bytes(), GOOD.as_bytes(), more.as_ref()].concat()
}

fn bulk(list: Vec<u8>, flags: &str) -> Ran {
    landwaiter(&format!("bulk offers.csv --to GB {flags}"))
        .file("offers.csv", list)
        .go()
}

/// The line that is bad, and what is said of it; the two good ones before it are written.
#[track_caller]
fn refused(bad: impl AsRef<[u8]>, said: &str) {
    for flags in ["", "--jobs 2"] {
        let ran = bulk(list(bad.as_ref()), flags).ends(1);
        assert!(
            ran.err.contains("offers.csv:4") && ran.err.contains(said),
            "{}",
            ran.err
        );
        assert!(ran.err.contains("1 line was not priced"), "{}", ran.err);
        let ids: Vec<&str> = ran
            .out
            .lines()
            .map(|line| line.split(',').next().unwrap())
            .collect();
        assert_eq!(
            ids,
            ["line_id", "1", "2"],
            "{bad:?}",
            bad = String::from_utf8_lossy(&bad.as_ref()[..40.min(bad.as_ref().len())])
        );
    }
}

#[test]
fn every_line_comes_back_as_it_came_with_its_amounts() {
    let text = "note,line_id,date,seller,price,commodity,dispatch,currency\n\"a, b\",1,2026-03-02,Alder,25.00,871491,CN,USD\n\n\"say \"\"x\"\"\nagain\",2,2026-03-02,Alder,25.00,871491,CN,USD\r\n";
    let ran = landwaiter("bulk - --to GB").stdin(text).go().ends(0);
    let lines: Vec<&str> = ran.out.lines().collect();
    assert!(
        lines[0].starts_with(
            "note,line_id,date,seller,price,commodity,dispatch,currency,goods,discount,freight,"
        ),
        "{}",
        lines[0]
    );
    assert!(
        lines[1].starts_with("\"a, b\",1,2026-03-02,Alder,25.00,871491,CN,USD,"),
        "{}",
        lines[1]
    );
    assert_eq!(
        (lines[2], &lines[3][..9]),
        ("\"say \"\"x\"\"", "again\",2,")
    );
    assert_eq!(
        lines[1].split_once("USD").unwrap().1,
        lines[3].split_once("USD").unwrap().1
    );
}

#[test]
fn a_list_cut_short_is_refused_at_its_line() {
    refused(
        "3,2026-03-02,Ald",
        "the line has 3 fields, the header 11; the list ends within this line: was it cut short?",
    );
    refused(
        "3,2026-03-02,\"Ald",
        "a quotation mark is opened and never closed: the list was cut short",
    );
}

#[test]
fn a_whole_last_line_without_a_line_end_is_priced_and_doubted() {
    let ran = bulk(
        list("3,2026-03-02,Alder,CN,USD,25.00,1,300,8714911089,TW,5"),
        "",
    )
    .ends(0);
    assert_eq!(ran.out.lines().count(), 4);
    assert!(
        ran.err
            .contains("warning: the list ends without a line end")
            && ran.err.contains("offers.csv:4"),
        "{}",
        ran.err
    );
}

#[test]
fn what_is_no_line_of_the_list_is_refused_at_its_line() {
    refused(
        "3,2026-03-02,Alder,CN,USD,25.00,1,300,8714911089,TW,5,6\n9\n",
        "the line has 12 fields, the header 11",
    );
    refused(
        b"3,2026-03-02,Al\xe9,CN,USD,25.00,1,300,8714911089,TW,5\n",
        "the line is not UTF-8 text: byte 16 of it is 0xE9",
    );
    refused(
        "3,2026-03-02,Alder,CN,XQQ,25.00,1,300,8714911089,TW,5\n",
        "`currency` is `XQQ`",
    );
    refused(
        "3,2026-03-02,Alder,CN,USD,25.001,1,300,8714911089,TW,5\n",
        "`price` is `25.001`",
    );
    refused(
        "3,2026-02-30,Alder,CN,USD,25.00,1,300,8714911089,TW,5\n",
        "`date` is `2026-02-30`",
    );
    refused(
        "3,03/04/2026,Alder,CN,USD,25.00,1,300,8714911089,TW,5\n",
        "can be read as 2026-04-03 or as 2026-03-04",
    );
    refused(
        "3,2026-03-02,Alder,CN,USD,25.00,1,300,8714911089,XX,5\n",
        "`origin` is `XX`",
    );
}

#[test]
fn a_field_over_a_mebibyte_is_refused_at_its_line() {
    let long = "x".repeat(1 << 20);
    let line = |more: &str| {
        format!(
            "3,2026-03-02,{long}{more},CN,USD,25.00,1,300,8714911089,TW,5\n4,2026-03-02,Alder,CN,USD,25.00,1,300,8714911089,TW,5\n"
        )
    };
    refused(line("x"), "a field is longer than 1 MiB");
    refused(
        format!("3,2026-03-02,\"{}", long.repeat(6)),
        "a field is longer than 1 MiB",
    );
    assert_eq!(bulk(list(line("")), "").ends(0).out.lines().count(), 5);
}

#[test]
fn an_unknown_currency_far_down_leaves_all_lines_before_it() {
    let wrong = kit::share(700_000, 70_000);
    let mut text = HEADER.to_owned();
    for line in 2..=wrong + 2 {
        let currency = if line == wrong { "QQQ" } else { "USD" };
        text.push_str(&format!(
            "{line},2026-03-02,Alder,CN,{currency},25.00,1,300,8714911089,TW,5\n"
        ));
    }
    let ran = bulk(text.into_bytes(), "--jobs 2").ends(1);
    assert!(
        ran.err.contains(&format!("offers.csv:{wrong}")) && ran.err.contains("`currency` is `QQQ`"),
        "{}",
        ran.err
    );
    assert_eq!(ran.out.lines().count() as u64, wrong - 1);
    assert!(
        ran.out
            .lines()
            .last()
            .unwrap()
            .starts_with(&format!("{},", wrong - 1))
    );
}

#[test]
fn bad_lines_go_to_a_second_file_with_their_reasons() {
    let bad = "3,2026-03-02,Alder,CN,XQQ,25.00,1,300,8714911089,TW,5\n4,2026-03-02,Alder,CN,USD,30.00,1,300,8714911089,TW,5\n5,x\n6,2026-03-02,Alder,CN,USD,31.00,1,300,8714911089,TW,5\n";
    for flags in ["--keep-going bad.csv", "--keep-going bad.csv --jobs 3"] {
        let ran = bulk(list(bad), flags).ends(1);
        assert_eq!(
            ran.out.lines().map(|line| &line[..2]).collect::<Vec<_>>(),
            ["li", "1,", "2,", "4,", "6,"]
        );
        assert!(ran.err.contains("2 lines were not priced"), "{}", ran.err);
        let left = ran.left("bad.csv");
        let lines: Vec<&str> = left.lines().collect();
        assert_eq!(lines[0], format!("line,reason,{}", HEADER.trim_end()));
        assert!(
            lines[1].starts_with("4,\"`currency` is `XQQ`: expected"),
            "{left}"
        );
        assert!(
            lines[1].ends_with(",3,2026-03-02,Alder,CN,XQQ,25.00,1,300,8714911089,TW,5"),
            "{left}"
        );
        assert_eq!(
            (lines[2], lines.len()),
            ("6,\"the line has 2 fields, the header 11\",5,x", 3)
        );
    }
}

/// 90 each: apart under the limit of Great Britain, together over it.
#[test]
fn adjacent_lines_of_a_consignment_are_one_parcel() {
    let header = "consignment,date,seller,dispatch,currency,price,commodity,origin\n";
    let line = |label: &str| format!("{label},2026-03-02,Alder,CN,GBP,90.00,8714911089,TW\n");
    let text = [
        header.to_owned(),
        line("a"),
        line("a"),
        line("b"),
        line(""),
        line(""),
    ]
    .concat();
    let ran = landwaiter("bulk - --to GB").stdin(text).go().ends(0);
    let mut reader = csv::Reader::from_reader(ran.out.as_bytes());
    let at = reader
        .headers()
        .unwrap()
        .iter()
        .position(|name| name == "intrinsic_value")
        .unwrap();
    let values: Vec<String> = reader
        .records()
        .map(|row| row.unwrap()[at].to_owned())
        .collect();
    assert_eq!(values, ["180.00", "180.00", "90.00", "90.00", "90.00"]);
}

#[test]
fn a_consignment_that_comes_back_is_an_error_at_its_line() {
    let header = "consignment,date,seller,dispatch,currency,price,commodity\n";
    let line = |label: &str| format!("{label},2026-03-02,Alder,CN,GBP,90.00,8714911089\n");
    let text = [
        header.to_owned(),
        line("a"),
        line("b"),
        line("a"),
        line("c"),
    ]
    .concat();
    let ran = landwaiter("bulk - --to GB")
        .stdin(text.clone())
        .go()
        .ends(1);
    assert!(
        ran.err.contains("standard input:4") && ran.err.contains("consignment `a` comes back"),
        "{}",
        ran.err
    );
    assert_eq!(ran.out.lines().count(), 3);
    let ran = landwaiter("bulk - --to GB --keep-going bad.csv --jobs 2")
        .stdin(text)
        .go()
        .ends(1);
    assert_eq!(
        (ran.out.lines().count(), ran.left("bad.csv").lines().count()),
        (4, 2)
    );
    let far: String = (0..6000).map(|at| line(&format!("p{at}"))).collect();
    let text = [header, &far, &line("p17")].concat();
    let ran = landwaiter("bulk - --to GB").stdin(text).go().ends(1);
    assert!(
        ran.err.contains("standard input:6002") && ran.err.contains("`p17` comes back"),
        "{}",
        ran.err
    );
}

#[test]
fn threads_change_nothing_in_what_is_written() {
    let mut text = HEADER.to_owned();
    for line in 0..9000 {
        let seller = ["Alder", "Birch", "Cedar"][line % 3];
        text.push_str(&format!(
            "{line},2026-0{}-11,{seller},CN,USD,{}.{:02},2,300,8714911089,TW,5\n",
            line % 9 + 1,
            line % 977,
            line % 100
        ));
    }
    let one = bulk(text.clone().into_bytes(), "").ends(0);
    for jobs in ["--jobs 2", "--jobs 5"] {
        assert!(
            bulk(text.clone().into_bytes(), jobs).ends(0).out == one.out,
            "{jobs}"
        );
    }
}

#[test]
fn nobody_reading_is_no_error() {
    let text: Vec<u8> = list(GOOD.repeat(5000));
    for flags in ["", "--jobs 2"] {
        assert_eq!(
            landwaiter(&format!("bulk offers.csv --to GB {flags}"))
                .file("offers.csv", &text)
                .go_unread(),
            0
        );
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_said_with_the_line() {
    for flags in ["", "--jobs 2"] {
        let full = std::fs::OpenOptions::new()
            .write(true)
            .open("/dev/full")
            .unwrap();
        let (status, err) = landwaiter(&format!("bulk offers.csv --to GB {flags}"))
            .file("offers.csv", list(""))
            .go_into(full);
        assert_eq!(status, 1, "{err}");
        assert!(
            err.contains("the result cannot be written from line 1 on: No space left on device"),
            "{err}"
        );
    }
    let ran = bulk(list("bad\n"), "--keep-going /dev/full").ends(1);
    assert!(
        ran.err.contains("`/dev/full` cannot be written"),
        "{}",
        ran.err
    );
}

/// The whole part of list price × rate is 2^63 - 1, and the discount brings the payment back below it: a share may not be
/// rounded up beyond what fits, and no other line waits for this one.
#[test]
fn a_price_at_the_end_of_64_bits_is_refused_and_the_others_go_on() {
    let header = "date,seller,price,commodity,dispatch,currency,quantity,discount_percent\n";
    let good = "2026-09-29,Nobody,25.00,871491,HU,EUR,1,\n";
    let text = [
        header,
        &good.repeat(3000),
        "2026-09-29,Nobody,251743327606713.68,871491,HU,EUR,1,50.0000\n",
        &good.repeat(9000),
    ]
    .concat();
    for flags in ["", "--jobs 2", "--jobs 8"] {
        let ran = landwaiter(&format!(
            "bulk offers.csv --to HU --keep-going bad.csv {flags}"
        ))
        .file("offers.csv", &text)
        .go()
        .ends(1);
        assert_eq!(ran.out.lines().count(), 12_001, "{flags}: {}", ran.err);
        assert!(ran.err.contains("1 line was not priced"), "{}", ran.err);
    }
}

/// Rows of one name may be of several kinds, each where its condition holds, and a row may round finer than to pence: what is
/// said of the parcel is what `cost` says.
#[test]
fn rows_of_several_kinds_and_fine_steps_cost_what_a_book_of_them_costs() {
    let head = "# source = invented\n# evidence = inferred\ncharge,kind,order,level,of,percent,round,when,valid_from\n";
    let pair = |one: &str, other: &str| {
        format!(
            "{head}own,{one},31,consignment,goods,10,half_up 0.01,goods > 1000 GBP,2021-01-01\nown,{other},31,consignment,goods,7,half_up 0.01,goods <= 1000 GBP,2021-01-01\n"
        )
    };
    let fine = format!("{head}own,fee,110,consignment,goods,1.2345,half_up 0.001,,2021-01-01\n");
    let kinds = ["fee", "duty", "tax", "value", "remedy", "sale-tax"];
    let pairs = kit::one_in(
        5,
        kinds
            .iter()
            .flat_map(|one| kinds.iter().map(move |other| pair(one, other))),
    );
    let sellers = "seller,dispatch,currency,freight,channel,handling\nAlder,CN,GBP,10,courier,10 % min 1.00\n";
    for charges in pairs.chain([fine]) {
        let with_book = |command: &str| {
            landwaiter(command)
                .file("mine/gb/charges.csv", &charges)
                .file("book/sellers.csv", sellers)
                .file(
                    "book/settings.csv",
                    "setting,value\ndestination,GB\ndate,2026-09-23\n",
                )
        };
        let offers = "date,seller,price,commodity,origin\n2026-09-23,Alder,500.00,87149110,CN\n";
        let bulk = with_book("bulk offers.csv book --rates mine")
            .file("offers.csv", offers)
            .go();
        let parts = "place,part,seller,price,commodity,origin,mass_g\nframe,Bare frame,Alder,500.00,87149110,CN,1500\n";
        let cost = with_book("cost book --rates mine --format json")
            .file("book/parts.csv", parts)
            .go();
        assert_eq!(
            (bulk.status, cost.status),
            (0, 0),
            "{charges}\n{}\n{}",
            bulk.err,
            cost.err
        );
        let landed = bulk
            .out
            .lines()
            .nth(1)
            .unwrap()
            .split(',')
            .nth_back(1)
            .unwrap()
            .to_owned();
        assert!(
            cost.out.contains(&format!("\"landed\": \"{landed}\"")),
            "{charges}\n{landed}\n{}",
            cost.out
        );
    }
}

/// The file of bad lines may not be the list: it would be gone before it is read.
#[test]
fn the_list_itself_is_no_place_for_its_bad_lines() {
    let text = list("bad\n");
    let ran = bulk(text.clone(), "--keep-going ./offers.csv").ends(1);
    assert!(
        ran.err
            .contains("`./offers.csv` cannot be written: it is the list itself"),
        "{}",
        ran.err
    );
    assert_eq!(ran.left("offers.csv").into_bytes(), text);
}

/// An empty line is no line, wherever in a consignment it stands and wherever a block of a thousand lines ends: three blocks end
/// at each of a pair's three lines.
#[test]
fn an_empty_line_does_not_part_a_consignment() {
    let mut text = String::from("consignment,date,seller,price,commodity,dispatch,currency\n");
    let pairs = kit::share(3000, 1050);
    for pair in 0..pairs {
        let line = format!("c{pair},2026-03-02,Alder,25.00,8714911089,TW,USD\n");
        text.push_str(&format!("{line}\n{line}"));
    }
    for flags in kit::one_in(2, ["--jobs 2", ""]) {
        let ran = landwaiter(&format!("bulk - --to GB {flags}"))
            .stdin(text.clone())
            .go()
            .ends(0);
        assert_eq!(ran.out.lines().count() as u64, 2 * pairs + 1, "{}", ran.err);
    }
}

#[test]
fn a_reason_names_its_column() {
    let text = "consignment,date,seller,price,commodity,dispatch,currency\nc,2026-03-02,Alder,25.00,871491,CN,USD\nc,2026-03-02,Birch,25.00,871491,CN,USD\n";
    let ran = landwaiter("bulk - --to GB --keep-going bad.csv")
        .stdin(text)
        .go()
        .ends(1);
    assert!(
        ran.left("bad.csv")
            .contains("3,\"`seller` differs from that of the first line of the consignment\",c,"),
        "{}",
        ran.left("bad.csv")
    );
}

/// A disk that fills up in the middle: what is said is the line from which on the result is missing, give or take the few
/// lines that were on their way.
#[cfg(target_os = "linux")]
#[test]
fn a_disk_that_fills_up_is_said_with_the_line_reached() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("offers.csv"), list(GOOD.repeat(9000))).unwrap();
    for jobs in [1, 2] {
        let limited = format!(
            "trap '' XFSZ; ulimit -f 1000; exec {} bulk offers.csv --to GB --jobs {jobs} > priced.csv",
            env!("CARGO_BIN_EXE_landwaiter")
        );
        let ran = std::process::Command::new("bash")
            .args(["-c", &limited])
            .current_dir(&folder)
            .output()
            .unwrap();
        let err = String::from_utf8(ran.stderr).unwrap();
        let line: usize = err
            .split("from line ")
            .nth(1)
            .unwrap_or(&err)
            .split(' ')
            .next()
            .unwrap()
            .parse()
            .unwrap();
        let whole = std::fs::read_to_string(folder.path().join("priced.csv"))
            .unwrap()
            .matches('\n')
            .count();
        assert_eq!(ran.status.code(), Some(1), "{err}");
        assert!(
            whole > 5000 && line <= whole + 1 && line + 30 > whole,
            "{err}{whole} lines were written whole"
        );
    }
}

#[test]
fn a_list_with_semicolons_is_told_what_is_expected() {
    let ran = landwaiter("bulk - --to GB")
        .stdin("date;seller;price;commodity\n2026-03-02;Alder;25,00;871491\n")
        .go();
    assert!(
        ran.status != 0
            && ran
                .err
                .contains("the columns are separated by semicolons: use commas"),
        "{}",
        ran.err
    );
}
