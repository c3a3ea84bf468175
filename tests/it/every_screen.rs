//! The first screen of every command, on four books and at four widths: it fits the terminal, its answer comes first, its amounts stand
//! below each other, and no name in it is cut.

use std::fs;
use std::path::Path;

use tempfile::TempDir;
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use super::kit;

/// The usual width first: where a test looks at one alone, it is that.
const WIDTHS: [usize; 4] = [80, 60, 100, 120];

/// A command, its words after the book, and what its answer may begin with.
struct Asked {
    command: &'static str,
    more: Vec<String>,
    answers: &'static [&'static str],
    /// How many columns of figures its tables have at least, where it has a table.
    figures: usize,
}

fn asked(
    command: &'static str,
    more: &[&str],
    answers: &'static [&'static str],
    figures: usize,
) -> Asked {
    Asked {
        command,
        more: more.iter().map(|word| (*word).to_owned()).collect(),
        answers,
        figures,
    }
}

/// What is asked of a book; `part` is one that may go back.
fn commands(part: &str) -> Vec<Asked> {
    let day = ["--day", "2026-11-25"];
    vec![
        asked("check", &[], &["No errors: "], 0),
        asked("cost", &[], &["Landed cost "], 4),
        asked(
            "compare",
            &[],
            &[
                "The build ",
                "Your build ",
                "There is no bike ",
                "No verdict",
            ],
            2,
        ),
        asked(
            "rank",
            &[],
            &["Best change: ", "Nothing to rank: ", "No change "],
            3,
        ),
        asked("plan", &[], &["Cheapest build", "The nearest plan "], 2),
        asked("leeway", &[], &["Landed cost "], 3),
        asked("settle", &day, &["Charged ", "No receipts yet"], 3),
        asked(
            "return",
            &[&["--part", part], &day[..]].concat(),
            &["Send "],
            2,
        ),
    ]
}

/// Each first screen of a book, with the width it is for, after it was looked at.
fn screens(book: &str, part: &str) -> Vec<(&'static str, usize, String)> {
    let mut all = Vec::new();
    for one in commands(part) {
        // `leeway` draws many outcomes: one width in the usual run, all of them in the whole one
        let each = if one.command == "leeway" { 4 } else { 1 };
        for columns in kit::one_in(each, WIDTHS) {
            let mut words = vec![one.command, book];
            words.extend(one.more.iter().map(String::as_str));
            let ran = kit::at_columns(&words, columns);
            assert!(
                ran.status == 0 || (one.command == "plan" && ran.status == 3),
                "{words:?}: {}",
                ran.stderr
            );
            let name = format!("{} of {book} at {columns}", one.command);
            looked_at(&ran.stdout, columns, &name);
            begins_with_answer(&ran.stdout, one.answers, &name);
            let tables = tables(&ran.stdout);
            if columns >= 80 && !tables.is_empty() {
                let found: usize = tables
                    .iter()
                    .map(|table| aligned(table, &name))
                    .max()
                    .unwrap();
                assert!(
                    found >= one.figures,
                    "{name}: {found} columns of figures\n{}",
                    ran.stdout
                );
            }
            all.push((one.command, columns, ran.stdout));
        }
    }
    all
}

/// What holds of any screen.
#[track_caller]
fn looked_at(text: &str, columns: usize, name: &str) {
    let problem = faults(text, columns);
    assert!(problem.is_empty(), "{name}: {problem:?}\n{text}");
}

/// What is wrong with a screen.
fn faults(text: &str, columns: usize) -> Vec<String> {
    let mut faults = Vec::new();
    let lines: Vec<&str> = text.lines().collect();
    for (at, line) in lines.iter().enumerate() {
        if line.width() > columns {
            faults.push(format!("{} columns of {columns}: {line}", line.width()));
        }
        if line.ends_with(' ') {
            faults.push(format!("blanks end {line:?}"));
        }
        if line.contains('…') || line.contains("...") {
            faults.push(format!("something is cut: {line}"));
        }
        if line.is_empty() && lines.get(at + 1).is_none_or(|next| next.is_empty()) {
            faults.push(format!("two blank lines, or one at the end: {at}"));
        }
        let parted = |unit: &&str| {
            let next = lines.get(at + 1).unwrap_or(&"").trim_start();
            let first = next.split(' ').next().unwrap_or_default();
            let last = line.trim_end().rsplit(' ').next().unwrap_or_default();
            first.trim_end_matches(['.', ',', ';', ':', ')']) == *unit && is_figure(last)
        };
        if let Some(unit) = ["GBP", "EUR", "USD", "JPY", "g", "%"]
            .iter()
            .find(|unit| parted(unit))
        {
            faults.push(format!("a figure is parted from its {unit}: {line}"));
        }
    }
    if lines.first().is_none_or(|first| first.is_empty()) {
        faults.push("nothing stands first".to_owned());
    }
    faults
}

/// The answer is a sentence, before any table, with a figure unless there is nothing to answer with.
#[track_caller]
fn begins_with_answer(text: &str, answers: &[&str], name: &str) {
    let begins = answers.iter().find(|answer| text.starts_with(*answer));
    let Some(begins) = begins else {
        panic!("{name} does not begin with its answer\n{text}");
    };
    let nothing = [
        "There is no",
        "No receipts",
        "Nothing to",
        "No change",
        "No errors",
        "No verdict",
    ]
    .iter()
    .any(|word| begins.starts_with(word));
    let answer: Vec<&str> = text.lines().take_while(|line| !line.is_empty()).collect();
    assert!(
        nothing || answer.join(" ").contains(|c: char| c.is_ascii_digit()),
        "{name}: an answer without a figure\n{text}"
    );
}

fn is_figure(text: &str) -> bool {
    let digits = text
        .trim_start_matches(['+', '-', '('])
        .trim_end_matches(['?', ')', '*']);
    digits.starts_with(|c: char| c.is_ascii_digit())
        && digits.ends_with(|c: char| c.is_ascii_digit())
        && digits
            .chars()
            .all(|c| c.is_ascii_digit() || matches!(c, ',' | '.'))
}

/// A piece of a table's line, between two columns of the terminal.
#[derive(Debug, Clone)]
struct Piece {
    from: usize,
    to: usize,
    text: String,
}

/// The pieces of a line, which are two blanks apart or more.
fn pieces(line: &str) -> Vec<Piece> {
    let mut pieces: Vec<Piece> = Vec::new();
    let (mut at, mut blanks) = (0, 2);
    for c in line.chars() {
        if c == ' ' {
            blanks += 1;
        } else {
            match pieces.last_mut() {
                Some(piece) if blanks < 2 => {
                    piece.text.push_str(&" ".repeat(blanks));
                    piece.text.push(c);
                }
                _ => pieces.push(Piece {
                    from: at,
                    to: at,
                    text: c.to_string(),
                }),
            }
            blanks = 0;
        }
        at += c.width().unwrap_or(0);
        if let Some(piece) = pieces.last_mut().filter(|_| blanks == 0) {
            piece.to = at;
        }
    }
    pieces
}

/// A table of a screen: the line of its header that stands on the rule, and its rows.
struct Table {
    header: Vec<Piece>,
    rows: Vec<Vec<Piece>>,
}

fn tables(text: &str) -> Vec<Table> {
    let lines: Vec<&str> = text.lines().collect();
    let is_rule = |line: &str| line.starts_with('─');
    let mut tables = Vec::new();
    let mut at = 0;
    while at < lines.len() {
        if !is_rule(lines[at]) {
            at += 1;
            continue;
        }
        let wide = lines[at].width();
        let mut table = Table {
            header: pieces(lines[at - 1]),
            rows: Vec::new(),
        };
        // a second rule stands above the foot, which is one row
        let mut foot = false;
        at += 1;
        while let Some(line) = lines.get(at).filter(|line| !line.is_empty()) {
            at += 1;
            if is_rule(line) {
                foot = true;
                continue;
            }
            let row = pieces(line);
            let beyond = row.len() == 1 && row[0].from == 0 && line.contains(": ");
            if beyond || line.width() > wide || line.starts_with("- ") {
                break;
            }
            table.rows.push(row);
            if foot && table.rows.last().is_some_and(|row| row.len() > 1) {
                break;
            }
        }
        tables.push(table);
    }
    tables
}

/// How many columns of figures a table has, after each figure was found to end where its heading does.
#[track_caller]
fn aligned(table: &Table, name: &str) -> usize {
    let mut ends: Vec<usize> = Vec::new();
    for row in &table.rows {
        for piece in row.iter().skip(1) {
            let figure = piece.text.split(' ').next().is_some_and(is_figure)
                && (is_figure(&piece.text) || piece.text.ends_with(" %"));
            if !figure {
                continue;
            }
            assert!(
                table.header.iter().any(|head| head.to == piece.to),
                "{name}: {piece:?} stands under none of {:?}",
                table.header
            );
            if !ends.contains(&piece.to) {
                ends.push(piece.to);
            }
        }
    }
    ends.len()
}

/// What stands in the first columns of all tables, without blanks: names that wrap are whole in it.
fn first_columns(text: &str) -> String {
    let mut said = String::new();
    for table in tables(text) {
        let firsts = table.rows.iter().filter_map(|row| row.first());
        for piece in firsts.filter(|piece| piece.from < 5 && !is_figure(&piece.text)) {
            said.push_str(&piece.text);
        }
    }
    without_blanks(&said)
}

/// Whether a name begins a line and is whole on it and the lines below, as it is where figures leave no room for columns.
fn stands_alone(name: &str, text: &str) -> bool {
    let lines: Vec<&str> = text.lines().collect();
    (0..lines.len()).any(|at| {
        !lines[at].starts_with(' ')
            && without_blanks(&lines[at..].concat()).starts_with(&without_blanks(name))
    })
}

fn without_blanks(text: &str) -> String {
    text.split_whitespace().collect()
}

/// The names that must stand whole on a screen: parcels, bikes, sellers whose bills are here.
fn names(command: &str, book: &str) -> Vec<String> {
    let list = match command {
        "cost" => ["consignments", "id"],
        "compare" => ["bikes", "bike"],
        _ => return Vec::new(),
    };
    let ran = kit::landwaiter(&[command, book, "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&ran.stdout).unwrap();
    let named = json[list[0]].as_array().unwrap().iter();
    named
        .map(|one| one[list[1]].as_str().unwrap().to_owned())
        .filter(|name| name != "at home")
        .collect()
}

/// Looks at all screens of a book: those, and how many names were looked for.
fn whole(book: &str, part: &str) -> (Vec<(&'static str, usize, String)>, usize) {
    let mut looked = 0;
    let screens = screens(book, part);
    for (command, columns, text) in &screens {
        let said = first_columns(text);
        for name in names(command, book) {
            assert!(
                said.contains(&without_blanks(&name)) || stands_alone(&name, text),
                "{command} of {book} at {columns}: {name} is not whole\n{text}"
            );
            looked += 1;
        }
    }
    (screens, looked)
}

#[test]
fn every_screen_of_the_gravel_build_fits_and_is_short() {
    let (screens, looked) = whole("examples/gravel-build", "Saltmarsh frame");
    assert!(looked >= 4 * 12, "{looked} names");
    for (command, columns, text) in screens {
        if columns != 80 {
            continue;
        }
        let lines = text.lines().count();
        assert!(lines <= 40, "{command}: {lines} lines\n{text}");
        let said = cautions(&text);
        assert!(said <= 12, "{command}: {said} lines of cautions\n{text}");
        assert!(
            said > 0 || command == "check",
            "{command}: no cautions found\n{text}"
        );
    }
}

/// How many lines the cautions take, with the line that counts the others.
fn cautions(text: &str) -> usize {
    let heading = |line: &&str| {
        ["Before you ", "Claim or ask"]
            .iter()
            .any(|words| line.starts_with(words))
    };
    let mut lines = text.lines().skip_while(|line| !heading(line));
    lines.next();
    lines.take_while(|line| !line.is_empty()).count()
}

#[test]
fn every_screen_of_the_first_build_fits() {
    assert_eq!(whole("examples/first-build", "Spindrift 28 wheels").1, 4);
}

#[test]
fn every_screen_after_delivery_fits() {
    assert!(whole("examples/after-delivery", "Windrow one-piece bar").1 >= 4 * 7);
}

/// Long names, accents, letters of two columns and of none, amounts of six digits.
fn long_names() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    let (french, japanese, german) = (
        "Générale des pièces détachées de la haute vallée et des îles",
        "北港自転車部品株式会社 海岸通り本店",
        "Überlandwerkstätte für Fahrradbau Großwünschendorf",
    );
    write(
        "parts.csv",
        &format!(
            "part,place,role,standing,seller,price,currency,paid,mass_g,origin,parcel\n\
             Cadre en acier soude\u{301} pour les longs chemins de la haute valle\u{301}e,frame,build,to-order,{french},912345.00,EUR,,1800,FR,\n\
             炭素繊維の舵取り棒 四百四十粍 軽量,handlebar,build,on-order,{japanese},42000,JPY,310.00,240,JP,春の荷物\n\
             Sattelstütze mit Schnellspannvorrichtungsaufnahme,seatpost,build,to-order,{german},89.90,EUR,,260,DE,\n\
             Ein Sattel,saddle,build,to-order,{german},59.90,EUR,,300,CN,\n\
             Une selle en cuir étroite et très légère des îles du nord,saddle,option,,{french},99.00,EUR,,180,FR,\n\
             炭素繊維の鞍 軽量型,saddle,option,,{japanese},9800,JPY,,150,JP,\n\
             Ein Sattel,saddle,rival,,{french},49.90,EUR,,,CN,\n"
        ),
    );
    write(
        "sellers.csv",
        &format!(
            "seller,dispatch,currency,sender,freight,collects_tax,prices_include,channel,carrier,handling,transit_days\n\
             {french},FR,EUR,business,24.00,no,,courier,express courier,11.00,5\n\
             {japanese},JP,JPY,business,3800,no,,post,postal operator,12.00,9\n\
             {german},DE,EUR,business,19.50,no,,courier,express courier,11.00,4\n"
        ),
    );
    write(
        "parcels.csv",
        &format!(
            "seller,parcel,ordered,arrived,channel,freight,insurance,handling\n\
             {japanese},春の荷物,2026-09-01,2026-09-12,post,3800,,12.00\n"
        ),
    );
    write(
        "receipts.csv",
        &format!(
            "consignment,charge,amount,currency,date\n\
             {japanese}/春の荷物,goods,42000,JPY,2026-09-02\n"
        ),
    );
    write(
        "bikes.csv",
        "bike,price,currency,mass_g,basis\n\
         Le vélo complet des longs chemins de la haute vallée et des îles,2899.00,GBP,9500,racing\n\
         完成車 軽量型 特別仕様 北港,912345.00,GBP,7900,racing\n",
    );
    write(
        "settings.csv",
        "setting,value\ndestination,GB\ndate,2026-09-23\nkind,road\nbudget,2000000\nmax_mass_g,9000\ncard_fee,2.75\n",
    );
    folder
}

#[test]
fn every_screen_of_long_names_fits() {
    let folder = long_names();
    let book = folder.path().to_str().unwrap();
    let (_, looked) = whole(book, "Sattelstütze mit Schnellspannvorrichtungsaufnahme");
    assert!(looked >= 4 * 5, "{looked} names");
}

#[test]
fn rates_and_what_undo_refuses_fit() {
    let empty = tempfile::tempdir().unwrap();
    let book = empty.path().to_str().unwrap();
    for columns in WIDTHS {
        for to in ["GB", "DE", "US", "SE", "NO", "AU", "CA-ON", "JP"] {
            let ran = kit::at_columns(&["rates", "--to", to, "--on", "2026-11-25"], columns);
            assert_eq!(ran.status, 0, "{to}: {}", ran.stderr);
            let name = format!("rates to {to} at {columns}");
            looked_at(&ran.stdout, columns, &name);
            begins_with_answer(&ran.stdout, &["Rules for "], &name);
            let tables = tables(&ran.stdout);
            assert!(
                columns < 80 || tables.iter().any(|table| aligned(table, &name) > 3),
                "{name}\n{}",
                ran.stdout
            );
        }
        let ran = kit::at_columns(&["undo", book], columns);
        assert_eq!((ran.status, ran.stdout.as_str()), (1, ""));
        assert!(ran.stderr.starts_with("error: "), "{}", ran.stderr);
        let wide = ran.stderr.lines().map(UnicodeWidthStr::width).max();
        let path = Path::new(book).join("journal.csv");
        let path = path.to_string_lossy().width();
        assert!(
            wide.is_some_and(|wide| wide <= columns.max(60 + path)),
            "{}",
            ran.stderr
        );
    }
}

/// The looks above find what they look for.
#[test]
fn a_screen_with_a_fault_is_found() {
    let good = "It costs 3.00 GBP.\n\nPart   Price\n────────────\nFrame   3.00\nBar    12.00\n";
    assert!(faults(good, 20).is_empty());
    for (bad, what) in [
        (
            "It costs 3.00 GBP, which is more than that.\n",
            "columns of 20",
        ),
        ("自転車の部品の値段は\n", "columns of 18"),
        ("It costs 3.00 GBP. \n", "blanks end"),
        ("It costs 3.00\nGBP.\n", "parted"),
        ("Générale des…\n", "cut"),
        ("\nIt costs.\n", "nothing stands first"),
        ("It costs.\n\n\nMore.\n", "two blank lines"),
    ] {
        let columns = if what.ends_with("18") { 18 } else { 20 };
        let found = faults(bad, columns);
        assert!(
            found.iter().any(|fault| fault.contains(what)),
            "{bad}: {found:?}"
        );
    }
    assert_eq!(aligned(&tables(good)[0], "good"), 1);
    let crooked = good.replace("Frame   3.00", "Frame  3.00");
    let looked = std::panic::catch_unwind(|| aligned(&tables(&crooked)[0], "crooked"));
    assert!(looked.is_err());
    assert_eq!(
        first_columns("Name of it  Sum\n───────────────\nGénérale     12\ndes îles\n"),
        "Généraledesîles"
    );
}
