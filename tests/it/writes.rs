//! What the program writes: nothing is lost, nothing of the user's is overwritten, nothing else in a file changes, whatever
//! stands in the way.

use std::fs::{self, File};
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::time::Duration;

use crate::kit::home;

pub(crate) const PARTS: &str = "\
part,place,standing,seller,price,currency,dispatch,freight,mass_g,channel,transit_days
Bar,handlebar,in-hand,Alder Cycle,120.00,USD,TW,18.00,260,post,10
Stem,stem,in-hand,Alder Cycle,60.00,USD,TW,18.00,120,post,10
";
pub(crate) const SETTINGS: &str = "setting,value\ndestination,GB\ndate,2026-09-23\nkind,gravel\n";
pub(crate) const RECEIPTS: &str =
    "consignment,charge,amount,currency,date\nAlder Cycle,duty,5.00,GBP,2026-10-01\n";
pub(crate) const ROW: &str = "receipts,Alder Cycle,handling,8.00,GBP,2026-10-01";
const ROWS: &str = "receipts,Alder Cycle,tax_at_border,20.00,GBP,2026-10-01";
const WEIGHED: &str = "weighings,Bar,271,1,,2026-10-05";
const LIST: &str = "date,seller,price,commodity,dispatch,currency\n2026-03-02,Alder,25.00,871491,CN,USD\n2026-03-02,Alder,x,871491,CN,USD\n";

/// A folder with a book in `book`, and more files.
pub(crate) fn folder(more: &[(&str, &[u8])]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let book: [(&str, &[u8]); 2] = [
        ("book/parts.csv", PARTS.as_bytes()),
        ("book/settings.csv", SETTINGS.as_bytes()),
    ];
    for (name, bytes) in book.iter().chain(more) {
        let path = folder.path().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, bytes).unwrap();
    }
    folder
}

/// Runs the program in a folder.
pub(crate) fn command(folder: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_landwaiter"));
    command
        .args(args)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .stdin(Stdio::null());
    command
}

fn run(folder: &Path, args: &[&str]) -> (i32, String) {
    said(command(folder, args).output().unwrap())
}

fn said(output: Output) -> (i32, String) {
    (
        output.status.code().expect("a status, not a signal"),
        String::from_utf8(output.stderr).unwrap(),
    )
}

#[track_caller]
fn refused(folder: &Path, args: &[&str], why: &str) {
    let (status, err) = run(folder, args);
    assert!(
        status == 1 && err.contains(why),
        "{args:?}: {status}\n{err}"
    );
    assert_eq!(left_behind(folder), Vec::<String>::new());
}

#[track_caller]
fn done(folder: &Path, args: &[&str]) {
    let (status, err) = run(folder, args);
    assert_eq!(status, 0, "{args:?}\n{err}");
    assert_eq!(left_behind(folder), Vec::<String>::new());
}

fn read(folder: &Path, name: &str) -> String {
    fs::read_to_string(folder.join(name)).unwrap()
}

/// Hidden files in a folder and the folders in it.
pub(crate) fn left_behind(folder: &Path) -> Vec<String> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap().map(Result::unwrap) {
        let name = entry.file_name().into_string().unwrap();
        if entry.file_type().unwrap().is_dir() {
            found.extend(left_behind(&entry.path()));
        } else if name.starts_with('.') {
            found.push(name);
        }
    }
    found
}

/// Rows added with `settle --add`.
fn add<'a>(rows: &[&'a str]) -> Vec<&'a str> {
    let mut args = vec!["settle", "book", "--day", "2026-10-20"];
    rows.iter().for_each(|row| args.extend(["--add", row]));
    args
}

#[test]
fn several_rows_are_all_added_or_none() {
    let folder = folder(&[("book/receipts.csv", RECEIPTS.as_bytes())]);
    let at = folder.path();
    refused(
        at,
        &add(&[ROW, "receipts,Nobody,handling,1,GBP,2026-10-01"]),
        "Nothing was added.",
    );
    refused(
        at,
        &add(&[ROW, "weighings,Nothing,1"]),
        "Nothing was added.",
    );
    // Of no table, and with a cell too many: what cannot be written is not left out either.
    refused(
        at,
        &add(&[ROW, "reciepts,Alder Cycle,handling,1.00,GBP,2026-10-01"]),
        "Nothing was added.",
    );
    refused(
        at,
        &add(&[
            "receipts,Alder Cycle,handling,1.00,GBP,2026-10-01,,,,,x",
            ROW,
        ]),
        "Nothing was added.",
    );
    assert_eq!(read(at, "book/receipts.csv"), RECEIPTS);
    assert!(!at.join("book/weighings.csv").exists() && !at.join("book/receipts.csv.old").exists());
    refused(
        at,
        &["settle", "-", "--add", ROW],
        "a book that is a folder of tables",
    );
    done(at, &add(&[ROW, WEIGHED, ROWS]));
    let rows = format!("{RECEIPTS}{}\n{}\n", &ROW[9..], &ROWS[9..]);
    assert_eq!(read(at, "book/receipts.csv"), rows);
    assert_eq!(
        read(at, "book/weighings.csv"),
        format!("what,mass_g,scale_g,basis,date\n{}\n", &WEIGHED[10..])
    );
    assert_eq!(read(at, "book/receipts.csv.old"), RECEIPTS);
}

/// A book that reads well and cannot be settled: the command ends with an error, so a row written all the same would stand
/// twice after the next try.
#[test]
fn nothing_is_added_to_a_book_that_cannot_be_settled() {
    let folder = folder(&[
        ("book/receipts.csv", RECEIPTS.as_bytes()),
        ("book/settings.csv", b"setting,value\ndate,2026-09-23\n"),
    ]);
    refused(folder.path(), &add(&[ROW]), "Nothing was added.");
    assert_eq!(read(folder.path(), "book/receipts.csv"), RECEIPTS);
}

/// Another run holds the folder, adds a row and lets go: what waited reads the table again.
#[test]
fn a_run_that_waited_keeps_what_another_wrote_meanwhile() {
    let folder = folder(&[("book/receipts.csv", RECEIPTS.as_bytes())]);
    let lock = File::open(folder.path().join("book")).unwrap();
    lock.lock().unwrap();
    let mut waiting = command(folder.path(), &add(&[ROW]))
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    std::thread::sleep(Duration::from_millis(1500));
    assert_eq!(
        read(folder.path(), "book/receipts.csv"),
        RECEIPTS,
        "it waits"
    );
    let other = format!("{RECEIPTS}{}\n", &ROWS[9..]);
    fs::write(folder.path().join("book/receipts.csv"), &other).unwrap();
    drop(lock);
    assert!(waiting.wait().unwrap().success());
    assert_eq!(
        read(folder.path(), "book/receipts.csv"),
        format!("{other}{}\n", &ROW[9..])
    );
}

/// What a killed run left in a folder that the next run reads is cleared away by it, and a row that was on its way with another
/// goes to its place; what another run is writing stays.
#[test]
fn a_run_that_only_reads_clears_away_what_a_killed_one_left() {
    let row = format!("{RECEIPTS}{}\n", &ROW[9..]);
    let list = ".landwaiter-7-1.new\treceipts.csv\tnone\nend\n";
    let left: [(&str, &[u8]); 6] = [
        ("book/.landwaiter-7-0.new", b"half of a ta"),
        ("book/.landwaiter-7-1.new", row.as_bytes()),
        ("book/.landwaiter-7-2.list", list.as_bytes()),
        ("book/.landwaiter-8-0.new", b"busy"),
        ("book/.landwaiter-notes.new", b"mine"),
        ("own/.landwaiter-7-0.new", b"half"),
    ];
    let folder = folder(&left);
    let at = folder.path();
    let busy = File::open(at.join("book/.landwaiter-8-0.new")).unwrap();
    busy.lock().unwrap();
    let (status, err) = run(at, &["cost", "book", "--rates", "own"]);
    assert_eq!(status, 0, "{err}");
    assert_eq!(read(at, "book/receipts.csv"), row);
    let mut names = left_behind(at);
    names.sort();
    assert_eq!(names, [".landwaiter-8-0.new", ".landwaiter-notes.new"]);
}

/// Byte-order mark, notes, separator, decimal comma, line ends and the lack of the last one stay; so does UTF-16, and the line ends
/// of old.
#[test]
fn nothing_else_in_a_table_changes_when_a_row_is_added() {
    let wide = |text: &str| {
        [0xFF, 0xFE]
            .into_iter()
            .chain(text.encode_utf16().flat_map(u16::to_le_bytes))
            .collect::<Vec<u8>>()
    };
    let text =
        "# mine\r\ncharge;consignment;date;amount;currency\r\nduty;Alder Cycle;2026-10-01;5,00;GBP";
    let added = "\r\nhandling;Alder Cycle;2026-10-01;8,00;GBP";
    let old_mac =
        "# mine\rconsignment,charge,amount,currency,date\rAlder Cycle,duty,5.00,GBP,2026-10-01\r";
    let marked = |text: &str| [b"\xef\xbb\xbf", text.as_bytes()].concat();
    for (before, after) in [
        (marked(text), marked(&format!("{text}{added}"))),
        (wide(text), wide(&format!("{text}{added}"))),
        (old_mac.into(), format!("{old_mac}{}\r", &ROW[9..]).into()),
    ] {
        let folder = folder(&[("book/receipts.csv", &before)]);
        done(folder.path(), &add(&[ROW]));
        assert!(
            fs::read(folder.path().join("book/receipts.csv")).unwrap() == after,
            "{}",
            read(folder.path(), "book/receipts.csv")
        );
        assert_eq!(
            fs::read(folder.path().join("book/receipts.csv.old")).unwrap(),
            before
        );
    }
}

#[test]
fn a_name_that_begins_like_a_note_is_added_as_a_name() {
    let folder = folder(&[(
        "book/parts.csv",
        PARTS.replace("Bar,", "\"#1 bar\",").as_bytes(),
    )]);
    done(folder.path(), &add(&["weighings,#1 bar,271,1,,2026-10-05"]));
    assert!(
        read(folder.path(), "book/weighings.csv").ends_with("\n\"#1 bar\",271,1,,2026-10-05\n")
    );
}

/// The copy of what was there takes no other file's place: the user's own is left, and a copy that the table still holds makes room.
#[test]
fn a_copy_takes_the_place_of_no_file_of_the_users() {
    let folder = folder(&[
        ("book/receipts.csv", RECEIPTS.as_bytes()),
        ("book/receipts.csv.old", b"last year's, all I have\n"),
    ]);
    let at = folder.path();
    done(at, &add(&[ROW]));
    assert_eq!(
        read(at, "book/receipts.csv.old"),
        "last year's, all I have\n"
    );
    assert_eq!(read(at, "book/receipts.csv.old2"), RECEIPTS);
    done(at, &add(&[ROWS]));
    assert_eq!(
        read(at, "book/receipts.csv.old2"),
        format!("{RECEIPTS}{}\n", &ROW[9..])
    );
    assert!(!at.join("book/receipts.csv.old3").exists());
}

#[cfg(unix)]
#[test]
fn links_stay_links_and_lead_to_what_is_written() {
    let scale = "what,mass_g,scale_g,basis,date\n";
    let folder = folder(&[
        ("elsewhere/mine.csv", RECEIPTS.as_bytes()),
        ("elsewhere/scale.csv", scale.as_bytes()),
    ]);
    let at = folder.path();
    std::os::unix::fs::symlink("../elsewhere/mine.csv", at.join("book/receipts.csv")).unwrap();
    std::os::unix::fs::symlink("../elsewhere/scale.csv", at.join("book/weighings.csv")).unwrap();
    done(at, &add(&[ROW]));
    done(at, &add(&[WEIGHED]));
    for name in ["book/receipts.csv", "book/weighings.csv"] {
        assert!(at.join(name).is_symlink(), "{name}");
    }
    assert_eq!(
        read(at, "elsewhere/mine.csv"),
        format!("{RECEIPTS}{}\n", &ROW[9..])
    );
    assert!(read(at, "elsewhere/scale.csv").ends_with("\nBar,271,1,,2026-10-05\n"));
    std::os::unix::fs::symlink("page.html", at.join("link.html")).unwrap();
    done(at, &["report", "book", "-o", "link.html"]);
    assert!(at.join("link.html").is_symlink() && at.join("page.html").is_file());
}

#[test]
fn a_file_marked_read_only_is_left_alone() {
    let folder = folder(&[
        ("book/receipts.csv", RECEIPTS.as_bytes()),
        ("page.html", b""),
    ]);
    let at = folder.path();
    let rates = "use,base,quote,rate,valid_from,valid_to,source\n";
    fs::create_dir(at.join("rates")).unwrap();
    fs::write(at.join("rates/exchange.csv"), rates).unwrap();
    fs::write(at.join("ecb.csv"), "Date,USD,\n2026-09-22,1.1712,\n").unwrap();
    let files = ["book/receipts.csv", "page.html", "rates/exchange.csv"];
    for name in files {
        let mut marked = fs::metadata(at.join(name)).unwrap().permissions();
        marked.set_readonly(true);
        fs::set_permissions(at.join(name), marked).unwrap();
    }
    refused(at, &add(&[ROW]), "marked read-only");
    refused(
        at,
        &["report", "book", "-o", "page.html"],
        "marked read-only",
    );
    refused(at, &["rates", "import", "ecb.csv"], "marked read-only");
    assert_eq!(files.map(|name| read(at, name)), [RECEIPTS, "", rates]);
    assert!(
        !at.join("book/receipts.csv.old").exists(),
        "no copy of what stays as it is"
    );
}

#[test]
fn an_import_keeps_the_bytes_that_were_there() {
    let old = b"\xef\xbb\xbf# mine\r\nuse;base;quote;rate;valid_from;source\r\nmarket;EUR;USD;1.17;2026-09-21;me\r\n";
    let folder = folder(&[
        ("rates/exchange.csv", old),
        ("ecb.csv", b"Date,USD,\n2026-09-22,1.1712,\n"),
    ]);
    done(folder.path(), &["rates", "import", "ecb.csv"]);
    let now = fs::read(folder.path().join("rates/exchange.csv")).unwrap();
    assert!(
        now.starts_with(old) && now.ends_with(b"\r\n") && now.len() > old.len(),
        "{}",
        String::from_utf8_lossy(&now)
    );
}

#[test]
fn a_report_takes_the_place_of_a_report_only() {
    let mine: [(&str, &[u8]); 4] = [
        ("mine.xlsx", b"PK mine"),
        ("mine.html", b"<p>mine</p>"),
        ("pics/words.txt", b"my words\n"),
        ("pics/by-charge.png", b"mine"),
    ];
    let folder = folder(&mine);
    let at = folder.path();
    for args in [
        ["-o", "mine.xlsx"],
        ["-o", "mine.html"],
        ["--pictures", "pics"],
    ] {
        refused(
            at,
            &[&["report", "book"], &args[..]].concat(),
            "landwaiter did not make it",
        );
    }
    mine.iter()
        .for_each(|(name, bytes)| assert_eq!(&fs::read(at.join(name)).unwrap(), bytes, "{name}"));
    assert_eq!(
        fs::read_dir(at.join("pics")).unwrap().count(),
        2,
        "no picture is written when one cannot be"
    );
    for _ in 0..2 {
        done(at, &["report", "book"]);
        done(at, &["report", "book", "-o", "own.html"]);
        done(at, &["report", "book", "--pictures", "more"]);
    }
}

/// A workbook of a report may lie in the book: it is known by its mark, written again, and not read as tables.
#[cfg(feature = "pages")]
#[test]
fn a_report_as_a_workbook_may_lie_in_its_book() {
    let folder = folder(&[]);
    let at = folder.path();
    for _ in 0..2 {
        done(at, &["report", "book", "-o", "book/report.xlsx"]);
    }
    let (status, err) = run(at, &["cost", "book"]);
    assert!(status == 0 && !err.contains("report.xlsx"), "{err}");
}

/// A user's own workbook, from which the book is read.
#[cfg(feature = "pages")]
pub(crate) fn workbook(path: &Path, receipts: bool) {
    let mut book = rust_xlsxwriter::Workbook::new();
    let tables = [
        ("parts", PARTS),
        ("settings", SETTINGS),
        ("receipts", RECEIPTS),
    ];
    for (name, text) in tables.iter().take(if receipts { 3 } else { 2 }) {
        let sheet = book.add_worksheet();
        sheet.set_name(*name).unwrap();
        for (row, line) in (0..).zip(text.lines()) {
            for (col, cell) in (0..).zip(line.split(',')) {
                sheet.write(row, col, cell).unwrap();
            }
        }
    }
    book.save(path).unwrap();
}

#[cfg(feature = "pages")]
#[test]
fn a_report_never_takes_the_place_of_the_book_it_is_of() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book.xlsx");
    workbook(&path, true);
    let before = fs::read(&path).unwrap();
    refused(
        folder.path(),
        &["report", ".", "-o", "book.xlsx"],
        "landwaiter did not make it",
    );
    refused(
        folder.path(),
        &["report", "book.xlsx", "-o", "book.xlsx"],
        "landwaiter did not make it",
    );
    assert!(fs::read(&path).unwrap() == before);
}

#[cfg(feature = "pages")]
#[test]
fn a_row_for_a_workbook_is_refused_with_the_place_to_type_it() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("book")).unwrap();
    workbook(&folder.path().join("book/mine.xlsx"), true);
    refused(
        folder.path(),
        &add(&[ROW]),
        "type it there, into row 3 of the sheet `receipts`: `Alder Cycle,handling,8.00,GBP,2026-10-01`",
    );
    refused(
        folder.path(),
        &["settle", "book/mine.xlsx", "--add", ROW],
        "type it there, into row 3 of the sheet `receipts`",
    );
    assert_eq!(fs::read_dir(folder.path().join("book")).unwrap().count(), 1);
    done(folder.path(), &["cost", "book"]);
}

#[test]
fn bad_lines_take_the_place_of_bad_lines_only() {
    let folder = folder(&[
        (
            "book/sellers.csv",
            b"seller,dispatch,currency\nAlder,CN,USD\n",
        ),
        ("list.csv", LIST.as_bytes()),
        ("mine.txt", b"mine\n"),
    ]);
    let at = folder.path();
    let bulk = |list: &'static str, file: &'static str| {
        ["bulk", list, "book", "--to", "GB", "--keep-going", file]
    };
    refused(
        at,
        &bulk("list.csv", "book/sellers.csv"),
        "it would be a table of the book",
    );
    refused(
        at,
        &bulk("list.csv", "book/../book/receipts.csv"),
        "it would be a table of the book",
    );
    refused(
        at,
        &bulk("list.csv", "mine.txt"),
        "landwaiter did not make it",
    );
    refused(at, &bulk("list.csv", "./list.csv"), "it is the list itself");
    fs::hard_link(at.join("list.csv"), at.join("other.csv")).unwrap();
    refused(at, &bulk("list.csv", "other.csv"), "it is the list itself");
    #[cfg(unix)]
    for file in ["other.csv", "list.csv"] {
        let mut from_input = command(at, &bulk("-", file));
        let (status, err) = said(
            from_input
                .stdin(File::open(at.join("list.csv")).unwrap())
                .output()
                .unwrap(),
        );
        assert!(
            status == 1 && err.contains("it is the list itself"),
            "{err}"
        );
    }
    assert_eq!(
        (read(at, "list.csv"), read(at, "mine.txt")),
        (LIST.to_owned(), "mine\n".to_owned())
    );
    assert!(
        read(at, "book/sellers.csv").starts_with("seller,")
            && !at.join("book/receipts.csv").exists()
    );
    for _ in 0..2 {
        let (status, err) = run(at, &bulk("list.csv", "bad.csv"));
        assert!(
            status == 1 && err.contains("1 line was not priced"),
            "{err}"
        );
        assert_eq!(read(at, "bad.csv").lines().count(), 2);
    }
    let (_, err) = run(at, &bulk("bad.csv", "bad.csv"));
    assert!(
        err.contains("it is the list itself") || err.contains("error"),
        "{err}"
    );
    assert_eq!(read(at, "bad.csv").lines().count(), 2);
    assert_eq!(left_behind(at), Vec::<String>::new());
}

/// The disk is full behind so many kilobytes: nothing changes, nothing is left, and the next try works.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_leaves_nothing_in_the_way() {
    let notes: String = (0..100)
        .map(|n| format!("# note {n}: so that one kilobyte is too little\n"))
        .collect();
    let receipts = format!("{notes}{RECEIPTS}");
    let days: String = (1..=28)
        .flat_map(|d| (1..=9).map(move |m| format!("2026-0{m}-{d:02},1.1712,\n")))
        .collect();
    let bad = format!("{LIST}{}", "2026-03-02,Alder,x,871491,CN,USD\n".repeat(200));
    let folder = folder(&[
        ("book/receipts.csv", receipts.as_bytes()),
        ("ecb.csv", format!("Date,USD,\n{days}").as_bytes()),
        ("list.csv", bad.as_bytes()),
    ]);
    let at = folder.path();
    let commands: [Vec<&str>; 6] = [
        add(&[ROW, WEIGHED]),
        vec!["rates", "import", "ecb.csv"],
        vec!["report", "book", "-o", "page.html"],
        vec!["report", "book", "--pictures", "pics"],
        vec!["new", "started", "--kind", "road"],
        vec!["bulk", "list.csv", "--to", "GB", "--keep-going", "bad.csv"],
    ];
    for args in commands {
        let limited = format!(
            "trap '' XFSZ; ulimit -f 1; exec {} \"$@\" > /dev/null",
            env!("CARGO_BIN_EXE_landwaiter")
        );
        let mut full = Command::new("bash");
        full.args(["-c", &limited, "bash"])
            .args(&args)
            .current_dir(at)
            .env("NO_COLOR", "1")
            .stdin(Stdio::null());
        let (status, err) = said(full.output().unwrap());
        assert!(
            status == 1 && err.contains("cannot be written"),
            "{args:?}: {status} {err}"
        );
        // what could not be written was not there before
        assert!(!err.contains("as it was"), "{args:?}: {err}");
        assert_eq!(left_behind(at), Vec::<String>::new(), "{args:?}");
        assert_eq!(read(at, "book/receipts.csv"), receipts);
        for name in [
            "rates/exchange.csv",
            "page.html",
            "started/parts.csv",
            "bad.csv",
            "book/weighings.csv",
        ] {
            assert!(!at.join(name).exists(), "{args:?} left {name}");
        }
        let (status, err) = run(at, &args);
        assert_eq!(status, i32::from(args[0] == "bulk"), "{args:?}: {err}");
        for name in [
            "rates",
            "page.html",
            "started",
            "bad.csv",
            "book/weighings.csv",
            "pics",
        ] {
            let path = at.join(name);
            let _ = if path.is_dir() {
                fs::remove_dir_all(path)
            } else {
                fs::remove_file(path)
            };
        }
        fs::write(at.join("book/receipts.csv"), &receipts).unwrap();
        let _ = fs::remove_file(at.join("book/receipts.csv.old"));
    }
}

/// Whatever stands under the name of a table and is no file is refused at once.
#[cfg(unix)]
#[test]
fn a_pipe_or_a_device_named_like_a_table_is_not_waited_for() {
    let folder = folder(&[]);
    let at = folder.path();
    for name in ["book/receipts.csv", "alone.csv", "rates/exchange.csv"] {
        fs::create_dir_all(at.join(name).parent().unwrap()).unwrap();
        assert!(
            Command::new("mkfifo")
                .arg(at.join(name))
                .status()
                .unwrap()
                .success()
        );
    }
    std::os::unix::fs::symlink("/dev/zero", at.join("book/sellers.csv")).unwrap();
    refused(at, &["cost", "book"], "expected a file: this is a pipe");
    refused(at, &["cost", "book"], "expected a file: this is a device");
    refused(
        at,
        &["cost", "alone.csv", "--to", "GB"],
        "expected a file: this is a pipe",
    );
    refused(
        at,
        &["rates", "import", "alone.csv", "--rates", "own"],
        "expected a file: this is a pipe",
    );
    fs::remove_file(at.join("book/receipts.csv")).unwrap();
    fs::remove_file(at.join("book/sellers.csv")).unwrap();
    refused(
        at,
        &["cost", "book", "--rates", "rates"],
        "expected a file: this is a pipe",
    );
}

#[cfg(target_os = "linux")]
#[test]
fn standard_input_works_by_any_of_its_names() {
    let folder = folder(&[("list.csv", LIST.as_bytes())]);
    let of = |args: &[&str], input: &str| {
        let file = File::open(folder.path().join(input)).unwrap();
        let mut child = command(folder.path(), args)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        std::io::copy(&mut { file }, &mut child.stdin.take().unwrap()).unwrap();
        let output = child.wait_with_output().unwrap();
        (output.status.code(), output.stdout, output.stderr)
    };
    let cost = |name: &'static str| {
        of(
            &["cost", name, "--to", "GB", "--on", "2026-09-23"],
            "book/parts.csv",
        )
    };
    let bulk = |name: &'static str| of(&["bulk", name, "--to", "GB"], "list.csv");
    let (by_cost, by_bulk) = (cost("-"), bulk("-"));
    assert!(by_cost.0 == Some(0) && by_bulk.1.len() > 100);
    for name in ["/dev/stdin", "/proc/self/fd/0", "/dev/fd/0"] {
        assert!(cost(name) == by_cost && bulk(name) == by_bulk, "{name}");
    }
    let given = format!(
        "{} cost <(cat book/parts.csv) --to GB --on 2026-09-23",
        env!("CARGO_BIN_EXE_landwaiter")
    );
    let given = Command::new("bash")
        .args(["-c", &given])
        .current_dir(folder.path())
        .env("NO_COLOR", "1")
        .output()
        .unwrap();
    assert!(
        given.status.code() == Some(0) && given.stdout == by_cost.1,
        "what a shell hands over open is read"
    );
}

/// The most memory a run took, in kilobytes, as far as it was seen before its end.
#[cfg(target_os = "linux")]
fn most_memory(mut child: std::process::Child) -> usize {
    let mut most = 0;
    while child.try_wait().unwrap().is_none() {
        let status = fs::read_to_string(format!("/proc/{}/status", child.id())).unwrap_or_default();
        let peak = status.lines().find_map(|line| {
            line.strip_prefix("VmHWM:")?
                .trim()
                .strip_suffix(" kB")?
                .parse()
                .ok()
        });
        most = most.max(peak.unwrap_or(0));
        std::thread::sleep(Duration::from_millis(5));
    }
    most
}

/// 200,000 bad rows take less than 100 MB: here a share of them, whose bound no run keeps that holds on to what is said of each
/// or to the rows. `LANDWAITER_ROWS=200000` makes it the whole number.
#[cfg(target_os = "linux")]
#[test]
fn bad_rows_are_counted_and_not_kept() {
    let rows = usize::try_from(crate::made::number("LANDWAITER_ROWS", 10_000)).unwrap();
    let bad: String = (0..rows)
        .map(|n| format!("Thing {n},saddle,Shop,x{n},GBX,TW,12g{n}\n"))
        .collect();
    let text = format!("part,place,seller,price,currency,dispatch,mass_g\n{bad}");
    let one = text.lines().take(2).collect::<Vec<_>>().join("\n");
    let folder = folder(&[
        ("bad/parts.csv", text.as_bytes()),
        ("one/parts.csv", one.as_bytes()),
    ]);
    let memory = |book: &str, to: &str| {
        let mut check = command(folder.path(), &["check", book, "--to", "GB"]);
        most_memory(
            check
                .stdout(Stdio::null())
                .stderr(File::create(folder.path().join(to)).unwrap())
                .spawn()
                .unwrap(),
        )
    };
    // What the program takes for itself, which is more in a build without optimisation.
    let itself = memory("one", "said-of-one");
    let most = memory("bad", "said");
    let said = read(folder.path(), "said");
    let last = said.lines().last().unwrap();
    let errors: usize = last.split(' ').next().unwrap().parse().unwrap();
    assert!(
        errors >= rows && last.contains("nothing is calculated until they are corrected"),
        "{last}"
    );
    assert!(
        said.contains(&format!("and {} more errors", errors - 20)),
        "{said}"
    );
    println!("{rows} bad rows: {most} kB, one: {itself} kB");
    // a few megabytes for the problems that are kept, whatever the number of rows; 100 MB in all for 200,000
    let kept = 6_000;
    assert!(
        itself > 0 && most < itself + kept + (100_000 - kept - itself) * rows / 200_000,
        "{most} kB, and {itself} kB for one row"
    );
    let (status, _) = run(folder.path(), &["check", "bad", "--to", "GB"]);
    let json = command(
        folder.path(),
        &["check", "bad", "--to", "GB", "--format", "json"],
    )
    .output()
    .unwrap();
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).unwrap();
    assert_eq!(
        (
            status,
            json["errors"].as_u64(),
            json["problems"].as_array().unwrap().len()
        ),
        (1, Some(errors as u64), 1000)
    );
}

/// The map names the pieces this rests on: every file that names a way to write is one of them.
#[test]
fn files_are_written_in_one_piece_of_the_code() {
    let mut writers = Vec::new();
    let mut folders = vec![home().join("src/cli")];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap().map(Result::unwrap) {
            if entry.path().is_dir() {
                folders.push(entry.path());
                continue;
            }
            let text = fs::read_to_string(entry.path()).unwrap();
            let code = text.split("#[cfg(test)]\nmod").next().unwrap();
            if [
                "fs::write",
                "File::create",
                "File::options",
                "OpenOptions",
                "fs::rename",
            ]
            .iter()
            .any(|way| code.contains(way))
            {
                writers.push(entry.file_name().into_string().unwrap());
            }
        }
    }
    writers.sort();
    assert_eq!(writers, ["beside.rs", "write.rs"]);
}
