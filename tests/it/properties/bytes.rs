//! No file makes the program panic: random bytes and spoiled tables, of books and of rates, are read or refused.

use std::sync::OnceLock;

use landwaiter::book::{Book, BookFile};
use landwaiter::tables::{File, Tables, built_in};
use landwaiter::text::{Problems, draw};
use landwaiter::units::Date;
use landwaiter::{Question, cost};
use proptest::prelude::*;
use proptest::sample::select;

use super::books::{PLAIN, Saved, Typed, calculate, files, shelf};
use super::cases;

/// Texts that are trouble in one place or another.
const TROUBLE: [&str; 44] = [
    "",
    "\"",
    "\"\"",
    "\n",
    "\r",
    "\r\n",
    ",",
    ";",
    "\t",
    "#",
    "\u{feff}",
    "\0",
    "é",
    "🚲",
    "\u{202e}",
    "-",
    "-1",
    "0",
    "0.00",
    "1e9",
    "999999999999",
    "999999999999.9999999999",
    "0.0000000001",
    "4294967295",
    "1,5",
    "1.299",
    "100 %",
    "2.5 % min 12",
    "%",
    "£",
    "kr",
    " + ",
    "yes",
    "gift",
    "XX",
    "2026-02-30",
    "2200-12-31",
    "1900-01-01",
    "half_up 999999999999",
    "down 0.0000000001",
    "goods - goods",
    "0/1 * goods + 1/999999999999 * list",
    "duty + tax > 0",
    "item above 4294967295",
];

/// One way to spoil a file.
#[derive(Debug, Clone)]
enum Spoil {
    /// A text in the place of a run of bytes.
    Bytes(prop::sample::Index, usize, Vec<u8>),
    /// A text in the place of one cell.
    Cell(prop::sample::Index, prop::sample::Index, &'static str),
    /// A line again, elsewhere.
    Line(prop::sample::Index, prop::sample::Index),
    /// The end of the file gone.
    Short(prop::sample::Index),
    /// One cell in the place of another of its line.
    Swap(
        prop::sample::Index,
        prop::sample::Index,
        prop::sample::Index,
    ),
}

fn spoil() -> impl Strategy<Value = Spoil> {
    let at = any::<prop::sample::Index>;
    let bytes = prop_oneof![
        proptest::collection::vec(any::<u8>(), 0..6),
        select(TROUBLE.to_vec()).prop_map(|t| t.as_bytes().to_vec())
    ];
    prop_oneof![
        2 => (at(), 0..4_usize, bytes).prop_map(|(at, gone, text)| Spoil::Bytes(at, gone, text)),
        5 => (at(), at(), select(TROUBLE.to_vec())).prop_map(|(line, cell, text)| Spoil::Cell(line, cell, text)),
        1 => (at(), at()).prop_map(|(from, to)| Spoil::Line(from, to)),
        1 => at().prop_map(Spoil::Short),
        2 => (at(), at(), at()).prop_map(|(line, from, to)| Spoil::Swap(line, from, to)),
    ]
}

impl Spoil {
    fn on(&self, bytes: &[u8]) -> Vec<u8> {
        match self {
            Spoil::Bytes(at, gone, text) => {
                let at = at.index(bytes.len() + 1);
                let end = (at + gone).min(bytes.len());
                [&bytes[..at], text, &bytes[end..]].concat()
            }
            Spoil::Short(at) => bytes[..at.index(bytes.len() + 1)].to_vec(),
            Spoil::Cell(line, cell, text) => on_line(bytes, *line, |cells| {
                let at = cell.index(cells.len());
                (*text).clone_into(&mut cells[at]);
            }),
            Spoil::Swap(line, from, to) => on_line(bytes, *line, |cells| {
                let text = cells[from.index(cells.len())].clone();
                let to = to.index(cells.len());
                cells[to] = text;
            }),
            Spoil::Line(from, to) => {
                let mut lines: Vec<&[u8]> = bytes.split(|b| *b == b'\n').collect();
                let (from, to) = (from.index(lines.len()), to.index(lines.len()));
                lines.insert(to, lines[from]);
                lines.join(&b'\n')
            }
        }
    }
}

/// Changes the cells of a line; quotation marks are not looked at, so a quoted cell may break, which is well.
fn on_line(bytes: &[u8], line: prop::sample::Index, change: impl Fn(&mut Vec<String>)) -> Vec<u8> {
    let text = String::from_utf8_lossy(bytes).into_owned();
    let mut lines: Vec<String> = text.split('\n').map(str::to_owned).collect();
    let written: Vec<usize> = (0..lines.len())
        .filter(|at| !lines[*at].is_empty() && !lines[*at].starts_with('#'))
        .collect();
    if written.is_empty() {
        return bytes.to_vec();
    }
    let at = written[line.index(written.len())];
    let mut cells: Vec<String> = lines[at].split(',').map(str::to_owned).collect();
    change(&mut cells);
    lines[at] = cells.join(",");
    lines.join("\n").into_bytes()
}

/// A small book with something of everything, for spoiled rates.
fn usual_book() -> &'static [BookFile] {
    static BOOK: OnceLock<Vec<BookFile>> = OnceLock::new();
    BOOK.get_or_init(|| {
        let file =
            |table: &str, text: &str| BookFile { path: format!("{table}.csv"), table: table.to_owned(), bytes: text.as_bytes().to_vec() };
        vec![
            file("settings", "setting,value\ndestination,GB\ndate,2025-01-10\ncard_fee,2.5\n"),
            file(
                "sellers",
                "seller,dispatch,currency,sender,freight,insurance,channel,handling,prices_include,transit_days\n\
                 Alder,TW,USD,,25.00,1 %,courier,,,3\nBirch,CN,EUR,marketplace,9.00,,post,2.5 % min 12,,2\n\
                 Cedar,JP,GBP,gift,0,,post,,,1\nDoum,DE,EUR,business,8,,courier,,sale-tax,2\n",
            ),
            file(
                "parts",
                "part,place,seller,price,quantity,mass_g,origin,preference,standing,traits\n\
                 Frame,frame,Alder,650.00,1,1100,CN,,,\nFork,fork,Alder,210.00,1,420,,,,finish=raw\n\
                 Bar,handlebar + stem,Alder,180.00,1,,,,,\nBlocks,calipers,Birch,30.00,2,,,,,\n\
                 Cassette,cassette,Birch,88.00,1,300,CN,,,\nSaddle,saddle,Cedar,60.00,1,200,JP,,given,\n\
                 Pedals,pedals,Doum,66.00,1,290,DE,yes,,\nChain,chain,Doum,21.00,1,250,,,,\n",
            ),
        ]
    })
}

/// The built-in tables with a fortnight of exchange, which are read in a moment.
fn few_tables() -> &'static [File] {
    static FILES: OnceLock<Vec<File>> = OnceLock::new();
    FILES.get_or_init(|| {
        let mut files = built_in();
        for file in files.iter_mut().filter(|file| file.name == "exchange.csv") {
            let text = String::from_utf8(file.bytes.to_vec()).unwrap();
            let kept = |line: &&str| line.starts_with("use,") || (line.starts_with("market,EUR,") && line.contains(",2025-01-"));
            let mut lines: Vec<&str> = text.lines().filter(kept).collect();
            lines.push("customs,GBP,USD,1.2512,2025-01-01,2025-01-31");
            file.bytes = lines.join("\n").into_bytes().into();
        }
        let schedule =
            "schedule,up_to_g,price,currency,pro_rata,extra_per_kg,volumetric_divisor,valid_from\nbox,2000,20,USD,yes,5,5000,2020-01-01\n";
        files.push(File {
            path: "rates/freight.csv".to_owned(),
            name: "freight.csv".to_owned(),
            bytes: schedule.as_bytes().to_vec().into(),
            users: false,
        });
        files.retain(|file| !file.name.contains('/') || file.name.starts_with("gb/"));
        files
    })
}

/// Calculates the usual book by these tables; whatever is said can be drawn.
fn by_tables(files: Vec<File>) {
    let mut problems = Problems::new();
    let tables = Tables::of(files, &mut problems);
    draw(&problems, false);
    let mut problems = Problems::new();
    let book = Book::read(usual_book(), &mut problems);
    assert!(!problems.refuse(), "{}", draw(&problems, false));
    let ask = Question::new(&book.settings, Date::new(2025, 1, 10).unwrap()).unwrap();
    match cost(&book, &tables, &ask) {
        Ok(landed) => assert!(landed.totals.landed().is_ok()),
        Err(problems) => drop(draw(&problems, true)),
    }
}

#[test]
fn the_usual_book_and_the_few_tables_are_taken_whole() {
    let mut problems = Problems::new();
    let tables = Tables::of(few_tables().to_vec(), &mut problems);
    let book = Book::read(usual_book(), &mut problems);
    let ask = Question::new(&book.settings, Date::new(2025, 1, 10).unwrap()).unwrap();
    let landed =
        cost(&book, &tables, &ask).unwrap_or_else(|problems| panic!("{}", draw(&problems, false)));
    assert!(problems.is_empty(), "{}", draw(&problems, false));
    assert_eq!(landed.bills.len(), 4);
    assert!(
        landed.totals.amounts.remedy.is_positive()
            && landed.totals.amounts.tax_at_sale.is_positive()
    );
}

fn tables_of_book() -> impl Strategy<Value = &'static str> {
    select(vec![
        "settings",
        "parts",
        "sellers",
        "parcels",
        "discounts",
        "bikes",
    ])
}

/// Bytes that begin as some encoding does, and go on as they like.
fn noise() -> impl Strategy<Value = Vec<u8>> {
    let start = select(vec![
        &b""[..],
        b"\xEF\xBB\xBF",
        b"\xFF\xFE",
        b"\xFE\xFF",
        b"part,place,seller,price\n",
        b"part;place\r\n\"",
        b"\"",
        b"#",
    ]);
    let rest = prop_oneof![
        proptest::collection::vec(any::<u8>(), 0..200),
        proptest::collection::vec(select(TROUBLE.to_vec()), 0..60)
            .prop_map(|texts| texts.concat().into_bytes()),
        "[a-z,;\"#\r\n\t 0-9é]{0,200}".prop_map(String::into_bytes),
    ];
    (start, rest).prop_map(|(start, rest)| [start, &rest].concat())
}

proptest! {
    #![proptest_config(cases(64))]

    #[test]
    fn any_bytes_may_stand_for_a_table_of_a_book(table in tables_of_book(), noise in noise()) {
        let mut files: Vec<BookFile> = usual_book().iter().filter(|file| file.table != table).cloned().collect();
        files.push(BookFile { path: format!("{table}.csv"), table: table.to_owned(), bytes: noise });
        drop(calculate(&files));
    }

    #[test]
    fn any_bytes_may_stand_for_a_table_of_rates(at in any::<prop::sample::Index>(), noise in noise(), users in any::<bool>()) {
        let mut files = few_tables().to_vec();
        let at = at.index(files.len());
        if users {
            let name = files[at].name.clone();
            files.push(File { path: format!("own/{name}"), name, bytes: noise.into(), users });
        } else {
            files[at].bytes = noise.into();
        }
        by_tables(files);
    }

    #[test]
    fn a_spoiled_book_is_read_or_refused(
        shelf in shelf(), spoils in proptest::collection::vec((0..5_usize, spoil()), 1..4), wide in any::<bool>()
    ) {
        let typed: Vec<Typed> = shelf.typed();
        let saved = Saved { wide, ..PLAIN };
        let mut files = files(&typed, PLAIN);
        for (at, spoil) in &spoils {
            let bytes = spoil.on(&files[*at].bytes);
            files[*at].bytes = bytes;
        }
        if saved.wide && let Ok(text) = String::from_utf8(files[1].bytes.clone()) {
            files[1].bytes = text.encode_utf16().flat_map(u16::to_be_bytes).collect();
        }
        if let Ok(landed) = calculate(&files) {
            prop_assert!(landed.totals.landed().is_ok());
        }
    }
}

proptest! {
    #![proptest_config(cases(96))]

    #[test]
    fn spoiled_rates_are_read_or_refused(
        spoils in proptest::collection::vec((any::<prop::sample::Index>(), spoil()), 1..5), law in any::<bool>()
    ) {
        let mut files = few_tables().to_vec();
        let picked: Vec<usize> = (0..files.len()).filter(|at| files[*at].name.starts_with("gb/") == law).collect();
        for (at, spoil) in &spoils {
            let at = picked[at.index(picked.len())];
            files[at].bytes = spoil.on(&files[at].bytes).into();
        }
        by_tables(files);
    }
}
