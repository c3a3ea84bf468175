//! Random edits of random tables: what comes out says what was wished when the book's own reader reads it, every other byte is the
//! same, and taken back it is the same bytes. The tables are put together here piece by piece, so that where a cell begins and ends
//! is known without looking for it.
//!
//! A run of `cargo test` makes some hundred edits; `LANDWAITER_WHOLE=1` makes ten thousand, from `LANDWAITER_SEED` on.

use super::super::*;
use super::{WORDS, set_one, table};
use crate::book::BookFile;
use crate::made::{Dice, seed, share};
use crate::text::{Problems, Sheet, encode_like};

const TABLES: [&str; 4] = ["parts", "sellers", "receipts", "weighings"];
const OWN: [&str; 3] = ["my_column", "bought where", "Farbe"];

/// A table in pieces: each cell as it is written, with what stands around the rows.
#[derive(Clone)]
struct Made {
    table: &'static str,
    names: Vec<&'static str>,
    delimiter: char,
    end: &'static str,
    encoding: Encoding,
    /// What stands above the header and above each row.
    above: Vec<String>,
    /// Each row's cells as written, the header's first.
    written: Vec<Vec<String>>,
    /// What they say.
    said: Vec<Vec<String>>,
    below: String,
    /// Whether the last line has its end.
    ended: bool,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Encoding {
    Plain,
    Marked,
    WideLittle,
    WideBig,
    WideUnmarked,
}

impl Encoding {
    fn mark(self) -> &'static [u8] {
        match self {
            Encoding::Plain | Encoding::WideUnmarked => b"",
            Encoding::Marked => b"\xEF\xBB\xBF",
            Encoding::WideLittle => b"\xFF\xFE",
            Encoding::WideBig => b"\xFE\xFF",
        }
    }

    fn bytes(self, text: &str) -> Vec<u8> {
        let like: &[u8] = match self {
            Encoding::Plain | Encoding::Marked => b"",
            Encoding::WideLittle | Encoding::WideUnmarked => b"\xFF\xFE",
            Encoding::WideBig => b"\xFE\xFF",
        };
        encode_like(like, text)
    }
}

impl Made {
    /// Line by line, with what stands before the row of this number (the header is 0), and the row itself.
    fn before(&self, row: usize) -> String {
        let mut text = String::new();
        for at in 0..row {
            text.push_str(&self.above[at]);
            text.push_str(&self.row(at));
        }
        text + &self.above[row]
    }

    fn row(&self, at: usize) -> String {
        let last = at + 1 == self.written.len() && self.below.is_empty() && !self.ended;
        let end = if last { "" } else { self.end };
        self.written[at].join(&self.delimiter.to_string()) + end
    }

    fn text(&self) -> String {
        let last = self.written.len() - 1;
        self.before(last) + &self.row(last) + &self.below
    }

    fn bytes_of(&self, text: &str) -> Vec<u8> {
        [self.encoding.mark(), &self.encoding.bytes(text)].concat()
    }

    fn bytes(&self) -> Vec<u8> {
        self.bytes_of(&self.text())
    }

    fn file(&self) -> BookFile {
        BookFile {
            path: format!("{}.csv", self.table),
            table: self.table.to_owned(),
            bytes: self.bytes(),
        }
    }

    /// The line on which a row begins.
    fn line(&self, row: usize) -> usize {
        let before = self.before(row);
        let ends = before.replace("\r\n", "\n");
        ends.matches(['\n', '\r']).count() + 1
    }
}

/// A cell as somebody may write it: quoted where it must be, and at random.
fn write_cell(draw: &mut Dice, said: &str, delimiter: char, first: bool) -> String {
    let must = said.contains([delimiter, '"', '\n', '\r']) || (first && said.starts_with('#'));
    if must || draw.one_in(4) {
        return format!("\"{}\"", said.replace('"', "\"\""));
    }
    match draw.below(8) {
        0 => format!(" {said}"),
        1 => format!("{said}  "),
        _ => said.to_owned(),
    }
}

fn around(draw: &mut Dice, end: &str) -> String {
    let mut text = String::new();
    while draw.one_in(4) {
        let line = draw.of(&["", "# note, with; all\t\"signs", "# ü = 1", ""]);
        text.push_str(&format!("{line}{end}"));
    }
    text
}

fn made(draw: &mut Dice) -> Made {
    let table = draw.of(&TABLES);
    let all = columns_of(table).unwrap();
    let mut names: Vec<&'static str> = all.needed.to_vec();
    names.extend(all.optional.iter().filter(|_| draw.one_in(3)));
    names.extend(OWN.iter().filter(|_| draw.one_in(4)));
    for at in (1..names.len()).rev() {
        names.swap(at, usize::try_from(draw.below(at as u64 + 1)).unwrap());
    }
    let encodings = [
        Encoding::Plain,
        Encoding::Plain,
        Encoding::Marked,
        Encoding::WideLittle,
        Encoding::WideBig,
        Encoding::WideUnmarked,
    ];
    let delimiter = [',', ',', ';', '\t'][usize::try_from(draw.below(4)).unwrap()];
    let end = draw.of(&["\n", "\n", "\r\n", "\r"]);
    let encoding = encodings[usize::try_from(draw.below(6)).unwrap()];
    let rows = usize::try_from(draw.below(6)).unwrap();
    let mut said: Vec<Vec<String>> = vec![names.iter().map(|name| (*name).to_owned()).collect()];
    for _ in 0..rows {
        let mut row: Vec<String> = names.iter().map(|_| draw.of(&WORDS).to_owned()).collect();
        if row.iter().all(|cell| cell.trim().is_empty()) {
            "Bar".clone_into(&mut row[0]);
        }
        if draw.one_in(6) {
            let kept = row.iter().position(|cell| !cell.trim().is_empty()).unwrap() + 1;
            row.truncate(kept.max(row.len() - 1));
        }
        said.push(row);
    }
    let written = said
        .iter()
        .map(|row| {
            let cells = row.iter().enumerate();
            cells
                .map(|(at, cell)| write_cell(draw, cell, delimiter, at == 0))
                .collect()
        })
        .collect();
    let mut above: Vec<String> = said.iter().map(|_| around(draw, end)).collect();
    if encoding == Encoding::WideUnmarked {
        // without a mark UTF-16 is known by its first sign, which has to be a plain one
        above[0] = format!("# mine{end}{}", above[0]);
    }
    Made {
        table,
        names,
        delimiter,
        end,
        encoding,
        above,
        written,
        said,
        below: around(draw, end),
        ended: draw.below(3) > 0,
    }
}

/// What the book's own reader makes of a table: the names, and the cells of all rows by them.
fn read(file: &BookFile, bytes: &[u8]) -> (Vec<String>, Vec<Vec<String>>) {
    let mut problems = Problems::new();
    let sheet = Sheet::read(
        &file.path,
        bytes,
        &columns_of(&file.table).unwrap(),
        &mut problems,
    );
    assert!(!problems.refuse(), "{}", problems.joined());
    let names: Vec<String> = sheet.headers().map(str::to_owned).collect();
    let all = columns_of(&file.table).unwrap();
    let known: Vec<&'static str> = all
        .all()
        .chain(["note", "my_column", "bought_where", "farbe"])
        .collect();
    let rows = sheet.rows().map(|row| {
        let of = |name: &String| {
            let name = known.iter().find(|known| *known == name).unwrap();
            row.cell(name).text().to_owned()
        };
        names.iter().map(of).collect()
    });
    let rows = rows.collect();
    (names, rows)
}

fn trimmed(row: &[String], width: usize) -> Vec<String> {
    let cell = |at: usize| row.get(at).map_or("", |cell| cell.trim());
    (0..width)
        .map(|at| cell(at).replace("\r\n", "\n").replace('\r', "\n"))
        .collect()
}

/// What all rows say, as wide as the header.
fn wanted(said: &[Vec<String>]) -> Vec<Vec<String>> {
    let width = said[0].len();
    said[1..].iter().map(|row| trimmed(row, width)).collect()
}

/// Everything that must hold of an edit but where it may differ.
fn holds(made: &Made, file: &BookFile, new: &Edited, said: &[Vec<String>], about: &str) {
    let (names, rows) = read(file, &new.bytes);
    let header: Vec<String> = said[0]
        .iter()
        .map(|name| name.to_lowercase().replace(' ', "_"))
        .collect();
    assert_eq!(names, header, "{about}");
    assert_eq!(rows, wanted(said), "{about}");
    assert_eq!(
        new.change.back(&new.bytes).as_deref(),
        Some(&file.bytes[..]),
        "{about}: taken back"
    );
    assert!(new.bytes.starts_with(made.encoding.mark()), "{about}");
}

/// A cell of a column that is there: all before it and all behind it is the same.
fn set(draw: &mut Dice, made: &Made, about: &str) {
    let row = 1 + usize::try_from(draw.below(made.said.len() as u64 - 1)).unwrap();
    let column = usize::try_from(draw.below(made.written[row].len() as u64)).unwrap();
    let value = draw.of(&WORDS);
    let file = made.file();
    let find = Find::Line(made.line(row));
    let name = made.names[column].to_owned();
    let edit = Edit::Set(find, vec![(name, Value::Text(value.to_owned()))]);
    let mut said = made.said.clone();
    value.trim().clone_into(&mut said[row][column]);
    let new = edited(&file, &edit);
    if said[row].iter().all(|cell| cell.trim().is_empty()) {
        assert!(new.unwrap_err().message.contains("say nothing"), "{about}");
        return;
    }
    let new = new.unwrap_or_else(|why| panic!("{about}: {why:?}"));
    holds(made, &file, &new, &said, about);
    let before: String = made.written[row][..column]
        .iter()
        .map(|cell| format!("{cell}{}", made.delimiter))
        .collect();
    let before = made.bytes_of(&(made.before(row) + &before));
    let old = before.len() + made.encoding.bytes(&made.written[row][column]).len();
    assert!(new.bytes.starts_with(&before), "{about}: before");
    assert!(
        new.bytes[before.len()..].ends_with(&file.bytes[old..]),
        "{about}: behind"
    );
}

/// A cell of a column that is not there: each line is as it was, with a separator behind it, and the cell in one of them.
fn widen(draw: &mut Dice, made: &Made, about: &str) {
    let all = columns_of(made.table).unwrap();
    let missing = all
        .all()
        .chain(["note"])
        .find(|name| !made.names.contains(name));
    let Some(name) = missing else { return };
    let row = 1 + usize::try_from(draw.below(made.said.len() as u64 - 1)).unwrap();
    let value = draw.of(&["Bar", "a,b;c\td", "#1", "say \"so\"", "Ä"]);
    let file = made.file();
    let find = Find::Line(made.line(row));
    let edit = Edit::Set(find, vec![(name.to_owned(), Value::Text(value.to_owned()))]);
    let new = edited(&file, &edit).unwrap_or_else(|why| panic!("{about}: {why:?}"));
    let mut said = made.said.clone();
    let width = said[0].len();
    said[0].push(name.to_owned());
    said[row].resize(width, String::new());
    said[row].push(value.to_owned());
    holds(made, &file, &new, &said, about);
    let mut wide = made.clone();
    let all_quoted = made.written[0].iter().all(|cell| cell.starts_with('"'));
    wide.written[0].push(if all_quoted {
        format!("\"{name}\"")
    } else {
        name.to_owned()
    });
    for at in 1..wide.written.len() {
        if at == row {
            wide.written[at].resize(width, String::new());
            let must = value.contains([made.delimiter, '"']);
            let text = if must {
                format!("\"{}\"", value.replace('"', "\"\""))
            } else {
                value.to_owned()
            };
            wide.written[at].push(text);
        } else if made.written[at].len() == width {
            wide.written[at].push(String::new());
        }
    }
    assert_eq!(new.bytes, wide.bytes(), "{about}");
}

/// A row at the end: all that was there is the same, and one line follows.
fn add(draw: &mut Dice, made: &Made, about: &str) {
    let file = made.file();
    let mut row: Vec<String> = made
        .names
        .iter()
        .map(|_| draw.of(&WORDS).trim().to_owned())
        .collect();
    if row.iter().all(String::is_empty) {
        "Bar".clone_into(&mut row[0]);
    }
    let cells = made.names.iter().zip(&row);
    let mut cells: Vec<(String, Value)> = cells
        .map(|(name, cell)| ((*name).to_owned(), Value::Text(cell.clone())))
        .collect();
    cells.reverse();
    let new = edited(&file, &Edit::Add(cells)).unwrap_or_else(|why| panic!("{about}: {why:?}"));
    let mut said = made.said.clone();
    said.push(row);
    holds(made, &file, &new, &said, about);
    assert!(new.bytes.starts_with(&file.bytes), "{about}: before");
    let mark: &[u8] = if made.encoding == Encoding::WideUnmarked {
        b"\xFF\xFE"
    } else {
        made.encoding.mark()
    };
    let more = crate::text::decode("", &[mark, &new.bytes[file.bytes.len()..]].concat());
    let more = more.unwrap_or_default();
    let text = made.text();
    // a file of one line without an end says nothing of how its lines end
    let end = if text.contains(made.end) {
        made.end
    } else {
        "\n"
    };
    let kept = if text.ends_with(['\n', '\r']) {
        more.ends_with(end)
    } else {
        more.starts_with(end) && !more.ends_with(['\n', '\r'])
    };
    assert!(kept, "{about}: {more:?}");
}

/// A row less: its line is cut out and nothing else.
fn remove(draw: &mut Dice, made: &Made, about: &str) {
    let row = 1 + usize::try_from(draw.below(made.said.len() as u64 - 1)).unwrap();
    let file = made.file();
    let new = edited(&file, &Edit::Remove(Find::Line(made.line(row))))
        .unwrap_or_else(|why| panic!("{about}: {why:?}"));
    let mut said = made.said.clone();
    said.remove(row);
    holds(made, &file, &new, &said, about);
    let (before, line) = (made.before(row), made.row(row));
    let behind = &made.text()[before.len() + line.len()..];
    let mut text = before + behind;
    if !line.ends_with(made.end) {
        text.truncate(text.len() - made.end.len());
    }
    assert_eq!(new.bytes, made.bytes_of(&text), "{about}");
}

#[test]
fn random_edits_of_random_tables_differ_only_where_they_are_wished() {
    let (mut draw, edits) = (Dice(seed() + 41), share(10_000, 600));
    for number in 0..edits {
        let made = made(&mut draw);
        let kind = if made.said.len() == 1 {
            3
        } else {
            draw.below(6)
        };
        let about = format!(
            "edit {number}, kind {kind}, {:?}:\n{:?}",
            made.encoding,
            made.text()
        );
        match kind {
            0 | 1 => set(&mut draw, &made, &about),
            2 => widen(&mut draw, &made, &about),
            3 => add(&mut draw, &made, &about),
            4 => remove(&mut draw, &made, &about),
            _ => several(&mut draw, &made, &about),
        }
    }
    println!("{edits} edits");
}

/// Edits one after another, each noted, then taken back from the last to the first: the same bytes at every step.
fn several(draw: &mut Dice, made: &Made, about: &str) {
    let mut file = made.file();
    let mut states = vec![file.bytes.clone()];
    let mut journal = Journal::read("journal.csv", None).unwrap();
    let mut rows = made.said.len() - 1;
    for _ in 0..5 {
        let written = Written::of(&file.path, &file.bytes).unwrap();
        let cell = || (made.names[0].to_owned(), Value::Text("Bar".to_owned()));
        let line = |at: u64| Find::Line(written.rows[usize::try_from(at).unwrap()].number);
        let edit = match draw.below(3) {
            0 if rows > 1 => Edit::Remove(line(draw.below(rows as u64))),
            1 if rows > 0 => {
                let note = ("note".to_owned(), Value::Text(draw.of(&WORDS).to_owned()));
                Edit::Set(line(draw.below(rows as u64)), vec![cell(), note])
            }
            _ => Edit::Add(vec![cell()]),
        };
        let new = edited(&file, &edit).unwrap_or_else(|why| panic!("{about}: {edit:?}: {why:?}"));
        rows = Written::of(&file.path, &new.bytes).unwrap().rows.len();
        if new.bytes == file.bytes {
            continue;
        }
        let entry = Entry {
            change: journal.next(),
            date: "2026-10-20".to_owned(),
            command: "made \\ up, [n]".to_owned(),
            file: file.path.clone(),
            splice: new.change,
            was: state_of(Some(&file.bytes)),
            is: state_of(Some(&new.bytes)),
        };
        let noted = journal.with(std::slice::from_ref(&entry));
        journal = Journal::read("journal.csv", Some(&noted))
            .unwrap_or_else(|why| panic!("{about}: {why:?}"));
        assert_eq!(journal.last(), [entry], "{about}");
        file.bytes = new.bytes;
        states.push(file.bytes.clone());
    }
    while let [entry] = journal.last() {
        states.pop();
        let back = taken_back(entry, &file.path, Some(&file.bytes));
        let before = states.last().unwrap();
        assert_eq!(
            back.as_ref().ok(),
            Some(&Back::Bytes(before.clone())),
            "{about}: {back:?}"
        );
        file.bytes.clone_from(before);
        journal = journal.without_last().unwrap();
    }
    assert_eq!((states.len(), file.bytes), (1, made.bytes()), "{about}");
}

/// Whatever a file holds, an edit is refused or can be taken back, and says what was wished.
#[test]
fn any_text_is_edited_or_refused() {
    const PIECES: [&str; 16] = [
        "part", "price", ",", ",", ";", "\t", "\"", "\"", "\n", "\n", "\r", "\r\n", "#", " ", "ü",
        "\u{feff}",
    ];
    let mut draw = Dice(seed() + 43);
    let (mut done, mut refused) = (0, 0);
    for number in 0..share(100_000, 5000) {
        let header = draw.of(&["part,price\n", "part;price\r\n", "\"part\"\tprice\r", ""]);
        let mut text = header.to_owned();
        for _ in 0..draw.below(14) {
            text.push_str(draw.of(&PIECES));
        }
        let mut file = table("parts", &text);
        if draw.one_in(3) {
            file.bytes = [&b"\xFE\xFF"[..], &encode_like(b"\xFE\xFF", &text)].concat();
        }
        let line = Find::Line(usize::try_from(draw.below(5)).unwrap());
        let value = Value::Text(draw.of(&WORDS).to_owned());
        let edit = match draw.below(4) {
            0 => Edit::Remove(line),
            1 => Edit::Add(vec![("part".to_owned(), value)]),
            2 => set_one(line, "note", value),
            _ => set_one(line, "price", value),
        };
        match edited(&file, &edit) {
            Err(_) => refused += 1,
            Ok(new) => {
                done += 1;
                let back = new.change.back(&new.bytes);
                assert_eq!(back, Some(file.bytes), "{number}: {edit:?} of {text:?}");
            }
        }
    }
    assert!(
        done > 1000 && refused > 1000,
        "{done} done, {refused} refused"
    );
}
