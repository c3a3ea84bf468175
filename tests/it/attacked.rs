//! What an attack on the program found, each once more: files made to cost much, files that never end, and what was lost or
//! shown as it should not be.

use std::fs;
use std::path::Path;
use std::process::{Output, Stdio};

use crate::harness::landwaiter;
use crate::writes::{PARTS, RECEIPTS, ROW, SETTINGS, command, folder, left_behind};

fn output(folder: &Path, args: &[&str]) -> (i32, String, String) {
    said(command(folder, args).output().unwrap())
}

fn said(output: Output) -> (i32, String, String) {
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (
        output.status.code().expect("a status, not a signal"),
        text(output.stdout),
        text(output.stderr),
    )
}

/// `cost` of one file to Great Britain, within 300 MB of addresses and so many seconds of the processor; status and complaints.
#[cfg(unix)]
fn bounded(name: &str, bytes: &[u8], seconds: u32) -> (i32, String) {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join(name), bytes).unwrap();
    let run = format!(
        "ulimit -v 307200; ulimit -t {seconds}; exec '{}' cost {name} --to GB --on 2026-09-23",
        env!("CARGO_BIN_EXE_landwaiter")
    );
    let output = std::process::Command::new("sh")
        .args(["-c", &run])
        .current_dir(dir.path())
        .output()
        .unwrap();
    (
        output.status.code().unwrap_or(-1),
        String::from_utf8(output.stderr).unwrap(),
    )
}

#[cfg(unix)]
fn pipe(path: &Path) {
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    assert!(
        std::process::Command::new("mkfifo")
            .arg(path)
            .status()
            .unwrap()
            .success()
    );
}

#[cfg(unix)]
#[test]
fn a_pipe_named_like_a_workbook_is_not_waited_for() {
    let folder = folder(&[("book/receipts.csv", RECEIPTS.as_bytes())]);
    pipe(&folder.path().join("book/book.xlsx"));
    for args in [
        &["cost", "book"][..],
        &["cost", "book/book.xlsx"],
        &["settle", "book", "--add", ROW],
    ] {
        let (status, _, err) = output(folder.path(), args);
        assert!(
            status == 1 && err.contains("expected a file: this is a pipe"),
            "{args:?}: {err}"
        );
        // what lies in a book cannot be handed to standard input
        assert_eq!(
            err.contains("named `-`"),
            args[1] == "book/book.xlsx",
            "{err}"
        );
    }
    assert_eq!(
        fs::read_to_string(folder.path().join("book/receipts.csv")).unwrap(),
        RECEIPTS
    );
}

#[cfg(unix)]
#[test]
fn a_published_file_may_come_through_standard_input() {
    let folder = folder(&[]);
    let at = folder.path();
    pipe(&at.join("ecb.csv"));
    let (status, _, err) = output(at, &["rates", "import", "ecb.csv"]);
    assert!(
        status == 1 && err.contains("hand it to standard input, named `-`"),
        "{err}"
    );
    for (args, base) in [
        (&["rates", "import", "-"][..], "rates"),
        (&["rates", "update", "-", "--book", "book"], "book/rates"),
    ] {
        let mut child = command(at, args)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        std::io::Write::write_all(
            &mut child.stdin.take().unwrap(),
            b"Date,USD,\n2026-09-22,1.1712,\n",
        )
        .unwrap();
        let (status, _, err) = said(child.wait_with_output().unwrap());
        assert_eq!(status, 0, "{args:?}: {err}");
        let table = fs::read_to_string(at.join(base).join("exchange.csv")).unwrap();
        assert!(table.contains("1.1712"), "{table}");
    }
}

#[test]
fn a_workbook_is_read_by_its_name_only() {
    let ran = landwaiter("cost - --to GB")
        .stdin(&b"PK\x03\x04\x14\0\0\0 and so on"[..])
        .go()
        .ends(1);
    assert!(
        ran.err
            .starts_with("error: expected `parts.csv` as text: this is packed as a workbook is\n"),
        "{}",
        ran.err
    );
    assert!(
        ran.err.contains("whose name ends in `.xlsx` or `.ods`"),
        "{}",
        ran.err
    );
    assert_eq!(ran.err.matches("error: ").count(), 1, "{}", ran.err);
}

#[cfg(feature = "pages")]
mod workbooks {
    use super::bounded;
    use crate::package::{archive, member, n, o, ods, ods_rows, rows, s, xlsx_parts};

    const HEADER: [&str; 6] = ["part", "place", "seller", "price", "currency", "dispatch"];

    /// A header of 256 columns.
    fn wide() -> String {
        let notes = (0..250).map(|at| format!("note{at}"));
        let cells: String = HEADER
            .iter()
            .map(|name| s(name))
            .chain(notes.map(|name| s(&name)))
            .collect();
        format!("<row>{cells}</row>")
    }

    fn workbook(rows: &str, text: &str) -> Vec<u8> {
        let mut parts =
            xlsx_parts(&[("parts", &format!("<sheetData>{}{rows}</sheetData>", wide()))]);
        parts.push(member(
            "xl/sharedStrings.xml",
            format!("<sst><si><t>{text}</t></si></sst>").as_bytes(),
        ));
        archive(&parts)
    }

    /// The first cell of each row was copied for every column: 32,767 letters, 256 times, for each of 60 rows.
    #[cfg(unix)]
    #[test]
    fn a_long_name_before_many_columns_is_looked_at_once() {
        let rows = "<row><c t=\"s\"><v>0</v></c></row>".repeat(60);
        let (status, err) = bounded("b.xlsx", &workbook(&rows, &"A".repeat(32_767)), 5);
        assert!(
            status == 1 && err.contains("`place` is empty"),
            "{status}: {err}"
        );
    }

    /// No spreadsheet program writes one cell twice; a million of one are no work.
    #[cfg(unix)]
    #[test]
    fn a_cell_that_is_there_twice_is_refused() {
        let cell = |look: &str, value: &str| format!("<c r=\"B3\" {look}><v>{value}</v></c>");
        for twice in [
            cell("", "1").repeat(2),
            cell("t=\"s\"", "0").repeat(2),
            cell("t=\"s\"", "0") + &cell("", "1"),
        ] {
            let (status, err) =
                bounded("b.xlsx", &workbook(&format!("<row>{twice}</row>"), "a"), 5);
            assert!(
                status == 1 && err.contains("cell B3 is there twice"),
                "{twice}: {err}"
            );
        }
        let once = rows(&[
            HEADER.map(s).to_vec(),
            ["Heath saddle", "saddle", "Taolin"]
                .map(s)
                .into_iter()
                .chain([n("58", 0)])
                .collect(),
        ]);
        let (_, err) = bounded("b.xlsx", &archive(&xlsx_parts(&[("parts", &once)])), 5);
        assert!(!err.contains("twice"), "{err}");
    }

    /// A cell that stands for 256 was copied 256 times before its length was looked at, which took more than 300 MB.
    #[cfg(unix)]
    #[test]
    fn a_cell_that_stands_for_many_is_measured_before_it_is_copied() {
        let text = format!(
            "{}</text:p><text:p>{}",
            "y".repeat(131_000),
            "0123456789".repeat(100_000)
        );
        let many = o(&text).replace(
            "<table:table-cell",
            "<table:table-cell table:number-columns-repeated=\"256\"",
        );
        // so much that is not packed well that the whole does not unpack to more than 200 times its size
        let pad: String = (1..4_000_u64)
            .map(|at| format!("{:x}", at.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 32))
            .collect();
        let pad = format!("<!--{pad}-->");
        let book = ods(&[(
            "parts",
            &(ods_rows(&[HEADER.map(o).to_vec(), vec![many]]) + &pad),
        )]);
        let (status, err) = bounded("b.ods", &book, 5);
        assert!(
            status == 1 && err.contains("cell A2 holds more than 32767 letters"),
            "{status}: {err}"
        );
    }
}

/// A row of good parts below a header of these columns.
fn below(header: &str) -> String {
    format!(
        "part,place,seller,price,currency,dispatch,{header}\nHeath saddle,saddle,Taolin,58.00,GBP,GB\n"
    )
}

#[test]
fn a_header_of_many_columns_is_refused_in_one_sentence() {
    let names = |count: usize| {
        (0..count)
            .map(|at| format!("col{at}"))
            .collect::<Vec<_>>()
            .join(",")
    };
    let said = |count: usize| {
        landwaiter("cost . --to GB --on 2026-09-23")
            .file("parts.csv", below(&names(count)))
            .go()
    };
    let refused = said(20_000).ends(1).err;
    assert!(
        refused.starts_with(
            "error: the first line has 20006 columns: expected a header of at most 1024\n"
        ),
        "{refused}"
    );
    assert_eq!(refused.matches("error: ").count(), 1, "{refused}");
    let taken = said(1018).ends(0).err;
    assert!(
        taken.contains("column `col0` is not known here and is not read"),
        "{taken}"
    );
    assert!(taken.contains("and 999 more warnings"), "{taken}");
}

#[test]
fn a_column_that_stands_twice_is_found_wherever_it_stands() {
    let ran = landwaiter("cost . --to GB --on 2026-09-23")
        .file("parts.csv", below("mass_g,own,mass_g,"))
        .go()
        .ends(1);
    assert!(
        ran.err
            .contains("expected each column once: `mass_g` stands twice\n --> parts.csv:1:54"),
        "{}",
        ran.err
    );
}

/// The nearest word was looked for in every row, and thrown away for all but the first: 20,000 rows took ten seconds.
#[cfg(unix)]
#[test]
fn hints_are_not_worked_out_for_errors_that_are_only_counted() {
    let rows = 20_000;
    let text = format!(
        "part,place,seller,price,currency,dispatch\n{}",
        "p1,nowhere,S,abc,XXX,Qatarr\n".repeat(rows)
    );
    let (status, err) = bounded("parts.csv", text.as_bytes(), 6);
    assert_eq!(status, 1, "{err}");
    assert!(err.contains("did you mean `Qatar`?"), "{err}");
    let more: usize = err
        .lines()
        .find_map(|line| line.strip_prefix("and ")?.split(' ').next()?.parse().ok())
        .unwrap();
    assert!(more + 20 >= 2 * rows, "every error is counted: {err}");
}

/// A line of the user's own at the top, in the middle or at the end of a report's file: the file stays, and the report says so.
#[test]
fn what_was_changed_in_a_report_is_kept() {
    let folder = folder(&[]);
    let at = folder.path();
    let report = || output(at, &["report", "book"]);
    assert_eq!(report().0, 0);
    let words = at.join("book/report/words.txt");
    let told = fs::read_to_string(&words).unwrap();
    for mine in [
        format!("My own words.\n{told}"),
        told.replace(" pounds", " quid"),
        format!("{told}My own words.\n"),
    ] {
        assert_ne!(mine, told);
        fs::write(&words, &mine).unwrap();
        let (status, _, err) = report();
        assert!(
            status == 1 && err.contains("landwaiter did not make it, or it was changed since"),
            "{err}"
        );
        assert_eq!(fs::read_to_string(&words).unwrap(), mine);
    }
    fs::write(&words, &told).unwrap();
    let picture = at.join("book/report/by-part.svg");
    let drawn = fs::read_to_string(&picture).unwrap();
    fs::write(&picture, drawn.replace("</svg>", "<text>mine</text></svg>")).unwrap();
    assert_eq!(report().0, 1);
    fs::write(&picture, drawn).unwrap();
    let (status, _, err) = report();
    assert_eq!((status, left_behind(at)), (0, vec![]), "{err}");
}

#[test]
fn what_is_not_seen_in_a_name_is_shown() {
    let folder = folder(&[]);
    let (at, odd) = (folder.path(), "bo\u{1b}[31mok\u{202e}\n2");
    let book = at.join(odd);
    fs::create_dir(&book).unwrap();
    fs::write(book.join("parts.csv"), PARTS).unwrap();
    fs::write(book.join("settings.csv"), SETTINGS).unwrap();
    let (new, sheet) = (format!("{odd}-new"), format!("{odd}.xlsx"));
    let help = ["help", odd];
    for args in [
        &["report", odd][..],
        &["new", &new, "--kind", "road"],
        &["new", &sheet, "--kind", "road", "--workbook"],
        &help,
        &[odd, "parts"],
        &["cost", "--basis", odd],
        &["--x\u{202e}"],
    ] {
        let (_, out, err) = output(at, args);
        let told = out + &err;
        assert!(
            !told.contains(['\u{1b}', '\u{202e}']) && told.contains("\\u{202e}"),
            "{args:?}: {told:?}"
        );
    }
    let (_, out, _) = output(at, &["report", odd]);
    let out = out.replace('\n', " ");
    assert!(
        out.contains(" to bo\\u{1b}[31mok\\u{202e}\\n2/report."),
        "{out}"
    );
}

#[cfg(unix)]
#[test]
fn another_name_of_a_table_is_said() {
    let folder = folder(&[("book/receipts.csv", RECEIPTS.as_bytes())]);
    let at = folder.path();
    let add = || output(at, &["settle", "book", "--day", "2026-10-20", "--add", ROW]);
    fs::hard_link(at.join("book/receipts.csv"), at.join("other.csv")).unwrap();
    let (status, _, err) = add();
    assert_eq!(status, 0, "{err}");
    assert_eq!(
        err.matches("`book/receipts.csv` had another name by hard links, which leads to the table as it was before").count(),
        1,
        "{err}"
    );
    assert_eq!(fs::read_to_string(at.join("other.csv")).unwrap(), RECEIPTS);
    let again = output(
        at,
        &[
            "settle",
            "book",
            "--day",
            "2026-10-20",
            "--add",
            "weighings,Bar,271,1,,2026-10-05",
        ],
    );
    assert!(
        again.0 == 0 && !again.2.contains("hard link"),
        "{}",
        again.2
    );
}

#[cfg(unix)]
#[test]
fn a_refusal_says_only_what_can_be_done() {
    use std::os::unix::fs::PermissionsExt;
    let folder = folder(&[("book/receipts.csv", RECEIPTS.as_bytes())]);
    let at = folder.path();
    let table = at.join("book/receipts.csv");
    let add = || output(at, &["settle", "book", "--day", "2026-10-20", "--add", ROW]);
    fs::set_permissions(&table, fs::Permissions::from_mode(0o444)).unwrap();
    let (status, _, err) = add();
    assert!(
        status == 1 && err.contains("take the mark away") && !err.contains("another name"),
        "{err}"
    );
}

#[test]
fn a_name_in_a_table_of_rates_stands_on_one_line() {
    let header = "schedule,up_to_g,price,currency,valid_from,source\n";
    let said = |rows: &str| {
        landwaiter("cost . --to GB --on 2026-09-23 --rates own")
            .file("parts.csv", "part,place,seller,price,currency,dispatch\nHeath saddle,saddle,Taolin,58.00,GBP,GB\n")
            .file("own/freight.csv", format!("{header}{rows}"))
            .go()
    };
    let ran = said("\"two\nlines\",500,9.00,GBP,2026-01-01,my list\n").ends(1);
    assert!(
        ran.err.contains(
            "`schedule` is `two\\nlines`: expected a text on one line\n --> own/freight.csv:2:"
        ),
        "{}",
        ran.err
    );
    said("two-lines,500,9.00,GBP,2026-01-01,\"my\nlist\"\n").ends(0);
}
