//! Characters that are not seen, in cells: shown in every output; formulas in price lists; letters that pictures lack.

use crate::harness::{Run, landwaiter};
use crate::kit;

/// An escape that clears the screen, an override that turns the reading direction, and a blank without width.
const PARTS: &str = "part,place,seller,price,currency,dispatch,mass_g\n\
    \u{1b}[2J\u{1b}]0;pwn\u{7}Gannet saddle,saddle,Tao\u{202e}lin,58.00,USD,TW,194\n\
    Wind\u{200b}row bar,handlebar,Tao\u{202e}lin,72.00,USD,TW,236\n";

fn book(args: &str) -> Run {
    landwaiter(args).file("book/parts.csv", PARTS).file(
        "book/settings.csv",
        "setting,value\ndestination,GB\ndate,2026-09-23\n",
    )
}

/// Whether a character is not seen: controls, and marks of direction, blanks and joiners without width.
fn is_unseen(c: char) -> bool {
    let unseen = [
        '\u{200b}'..='\u{200f}',
        '\u{202a}'..='\u{202e}',
        '\u{2060}'..='\u{206f}',
    ];
    (c.is_control() && c != '\n') || c == '\u{feff}' || unseen.iter().any(|some| some.contains(&c))
}

#[track_caller]
fn seen(what: &str, text: &str) {
    if let Some(at) = text.find(is_unseen) {
        panic!(
            "{what}: {:?}",
            &text
                [text.floor_char_boundary(at.saturating_sub(30))..text.ceil_char_boundary(at + 30)]
        );
    }
}

#[test]
fn unseen_characters_are_shown_on_every_screen() {
    // Two of the four formats for each command, which ones the seed says; all of them in the whole run.
    let commands = [
        "cost",
        "cost --trail",
        "check",
        "compare",
        "rank",
        "leeway",
        "settle",
        "plan",
    ];
    for (at, command) in (kit::seed() % 2..).zip(commands) {
        let formats = (at..)
            .zip(["table", "markdown", "csv", "json"])
            .filter(|(at, _)| kit::share(0, at % 2) == 0);
        for (_, format) in formats {
            let words: Vec<&str> = command.split(' ').collect();
            let ran = book(&format!(
                "{} book {} --format {format}",
                words[0],
                words[1..].join(" ")
            ))
            .go();
            seen(&format!("{command} {format}"), &ran.out);
            seen(&format!("{command} {format}, messages"), &ran.err);
        }
    }
    let out = book("cost book").go().ends(0).out;
    assert!(
        out.contains("\\u{1b}[2J") && out.contains("Tao\\u{202e}lin"),
        "{out}"
    );
    let json = book("cost book --format json").go().ends(0);
    assert!(json.out.contains("Tao\\u202elin"), "{}", json.out);
    assert!(
        json.json().to_string().contains("Tao\u{202e}lin"),
        "what programs read is the name as it is"
    );
    let refused = book("cost book --to GB")
        .file("book/parts.csv", PARTS.replace("TW,194", "T\u{1b}[1mW,194"))
        .go()
        .ends(1);
    seen("an error with its line", &refused.err);
    assert!(refused.err.contains("\\u{1b}[1m"), "{}", refused.err);
}

#[test]
fn unseen_characters_are_shown_in_what_a_report_writes() {
    let ran = book("report book").go().ends(0);
    let mut looked_at = 0;
    seen("what is said of the files", &ran.out);
    for name in ran.names("book/report") {
        if name.rsplit('.').next() == Some("png") {
            continue;
        }
        let name = format!("book/report/{name}");
        seen(&name, &ran.left(&name));
        looked_at += 1;
    }
    assert!(looked_at >= 4, "{}", ran.out);
    assert!(
        ran.left("book/report/page.html")
            .contains("Tao\\u{202e}lin")
    );
}

/// The words to read aloud name the next step: a bar that is 100 g lighter.
#[test]
fn unseen_characters_are_shown_in_what_is_read_aloud() {
    let option = "Ket\u{202e}tle bar,handlebar,Tao\u{202e}lin,92.00,USD,TW,136,option\n";
    let parts = PARTS
        .replace(",194\n", ",194,build\n")
        .replace(",236\n", ",236,build\n")
        .replace("mass_g\n", "mass_g,role\n")
        + option;
    let words = book("report book --pictures p")
        .file("book/parts.csv", parts)
        .go()
        .ends(0)
        .left("p/words.txt");
    assert!(
        words.contains("The next step would be Ket\\u{202e}tle bar"),
        "{words}"
    );
    seen("words.txt", &words);
}

#[cfg(feature = "pages")]
#[test]
fn unseen_characters_are_shown_in_a_workbook() {
    use calamine::Reader;
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("sum.xlsx");
    book(&format!("report book -o {}", file.to_str().unwrap()))
        .go()
        .ends(0);
    let mut sheets: calamine::Xlsx<_> = calamine::open_workbook(&file).unwrap();
    let mut shown = false;
    for name in sheets.sheet_names() {
        for (_, _, cell) in sheets.worksheet_range(&name).unwrap().used_cells() {
            seen(&name, &cell.to_string());
            shown = shown || cell.to_string().contains("Wind\\u{200b}row bar");
        }
    }
    assert!(shown);
}

#[test]
fn a_name_stands_on_one_line_and_a_note_on_several() {
    let header = "part,place,seller,price,currency,dispatch,note\n";
    let cost = |row: &str| {
        landwaiter("cost parts.csv --to GB --on 2026-09-23")
            .file("parts.csv", format!("{header}{row}"))
            .go()
    };
    let ran = cost("\"Gannet\nsaddle\",saddle,\"Tao\r\nlin\",58.00,USD,TW,\n").ends(1);
    assert!(
        ran.err
            .contains("`part` is `Gannet\\nsaddle`: expected a name on one line")
            && ran.err.contains("parts.csv:2"),
        "{}",
        ran.err
    );
    assert!(
        ran.err
            .contains("`seller` is `Tao\\r\\nlin`: expected a name on one line"),
        "{}",
        ran.err
    );
    cost("Gannet saddle,saddle,Taolin,58.00,USD,TW,\"blue\nor black\"\n").ends(0);
}

const LIST: &str = "date,seller,price,commodity,dispatch,currency,=title,note\n\
    2026-03-02,Alder,25.00,871491,CN,USD,=cmd()|1!A1,\"+1, and more\"\n\
    2026-03-02,Alder,25.00,871491,CN,USD,-12.5,@x\u{202e}\n\
    2026-03-02,Alder,x,871491,CN,USD,=2,\u{1b}[2J\n";

#[test]
fn bulk_guards_formulas_and_shows_what_is_not_seen() {
    let ran = landwaiter("bulk - --to GB --keep-going bad.csv")
        .stdin(LIST)
        .go()
        .ends(1);
    let lines: Vec<&str> = ran.out.lines().collect();
    assert!(lines[0].contains(",'=title,note,"), "{}", lines[0]);
    assert!(
        lines[1].contains(",'=cmd()|1!A1,\"'+1, and more\","),
        "{}",
        lines[1]
    );
    assert!(
        lines[2].contains(",-12.5,'@x\\u{202e},"),
        "a number stays a number: {}",
        lines[2]
    );
    let bad = ran.left("bad.csv");
    assert!(
        bad.contains(",'=2,\\u{1b}[2J\n") && bad.starts_with("line,reason,date,"),
        "{bad}"
    );
    seen("bulk", &(ran.out + &bad + &ran.err));
    // two threads write the same
    let two = landwaiter("bulk - --to GB --keep-going bad.csv --jobs 2")
        .stdin(LIST)
        .go()
        .ends(1);
    assert!(two.out.contains(",'=cmd()|1!A1,"), "{}", two.out);
}

#[test]
fn bulk_leaves_plain_cells_as_they_came() {
    let ran = landwaiter("bulk - --to GB --keep-going bad.csv --plain-cells")
        .stdin(LIST)
        .go()
        .ends(1);
    for (line, own) in ran.out.lines().zip(LIST.lines()) {
        assert!(line.starts_with(own), "{line}");
    }
    assert!(ran.left("bad.csv").contains(",=2,\u{1b}[2J\n"));
}

/// A font of one letter, U+10F0F0, made for this test; no other font has it.
#[cfg(all(feature = "pages", unix))]
#[test]
fn letters_that_pictures_lack_come_from_the_machine_or_are_named() {
    use crate::kit::home;
    use std::process::Command;
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(
        dir.path().join("parts.csv"),
        PARTS.replace("Wind\u{200b}row", "Wind\u{10f0f0}row"),
    )
    .unwrap();
    std::fs::write(
        dir.path().join("settings.csv"),
        "setting,value\ndestination,GB\ndate,2026-09-23\n",
    )
    .unwrap();
    let drawn = |folder: &str| {
        let home = dir.path().join(folder);
        let mut command = Command::new(env!("CARGO_BIN_EXE_landwaiter"));
        let output = command
            .args(["report", ".", "--pictures", folder])
            .current_dir(dir.path())
            .env("HOME", &home)
            .output()
            .unwrap();
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(0), "{said}");
        (std::fs::read(home.join("by-part.png")).unwrap(), said)
    };
    let fonts = dir.path().join("with/.local/share/fonts/small");
    std::fs::create_dir_all(&fonts).unwrap();
    std::fs::copy(
        home().join("tests/data/fonts/box.ttf"),
        fonts.join("box.ttf"),
    )
    .unwrap();
    let ((without, warned), (with, silent)) = (drawn("without"), drawn("with"));
    assert!(
        warned.contains("no font on this machine has the letters `\u{10f0f0}`")
            && warned.contains("Wind\u{10f0f0}row bar"),
        "{warned}"
    );
    assert!(!silent.contains("no font on this machine"), "{silent}");
    assert!(without != with, "the letter is drawn");
}
