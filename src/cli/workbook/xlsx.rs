//! The sheets of an .xlsx (ECMA-376, `SpreadsheetML`). Texts that sheets share are read after them, and only those that stand
//! in a table.

use std::collections::BTreeMap;

use super::Refusal;
use super::bounds::{Budget, Filling, MOST_COLUMNS, MOST_LETTERS};
use super::digits::{day, hundredfold, likely_day, read};
use super::look::{Kind, Look};
use super::pack::Pack;
use super::xml::{Piece, Tag, Xml};
use crate::book::{Leaf, Value, is_table};

/// Cells whose text stands among the shared ones: the sheet, its row and column, the number of the text.
type Shared = Vec<(usize, usize, usize, usize)>;

/// What the workbook says of all its sheets.
struct Frame {
    /// Name, part, and whether it is hidden.
    sheets: Vec<(String, String, bool)>,
    looks: Vec<Look>,
    from_1904: bool,
}

/// The sheets in their order; of those that are no tables only whether something stands in them.
pub(super) fn leaves<'a>(pack: &Pack<'a>, budget: &'a Budget) -> Result<Vec<Leaf>, Refusal> {
    let main = linked(pack, budget, "", |kind| kind.ends_with("/officeDocument"))?;
    let main = main
        .into_iter()
        .next()
        .map_or("xl/workbook.xml".to_owned(), |(_, target)| target);
    let links = linked(pack, budget, &main, |_| true)?;
    let part = |ending: &str| {
        links
            .iter()
            .find(|(kind, _)| kind.ends_with(ending))
            .map(|(_, target)| target.as_str())
    };
    let mut frame = frame(pack, budget, &main, &links)?;
    if let Some(styles) = part("/styles").filter(|name| pack.holds(name)) {
        frame.looks = super::styles::read(Xml::new(pack.file(styles, budget)?))?;
    }
    let (mut found, mut shared) = (Vec::new(), Vec::new());
    for (at, (name, target, hidden)) in frame.sheets.iter().enumerate() {
        let mut leaf = if is_table(name) {
            let mut sheet = Reading::new(name, at, &frame, budget);
            sheet.all(Xml::new(
                pack.file(target, budget).map_err(|why| sheet.refuse(why))?,
            ))?;
            shared.append(&mut sheet.shared);
            sheet.filling.leaf
        } else {
            let file = pack.file(target, budget).ok();
            let full = file.is_none_or(|file| says_something(Xml::new(file)).unwrap_or(true));
            Leaf {
                name: name.clone(),
                rows: if full {
                    vec![vec![Value::Text("…".to_owned())]]
                } else {
                    Vec::new()
                },
                ..Leaf::default()
            }
        };
        leaf.hidden = *hidden;
        found.push(leaf);
    }
    if !shared.is_empty() {
        let texts =
            part("/sharedStrings").ok_or("the texts of its cells are missing in it".to_owned())?;
        let wanted = shared.iter().map(|(_, _, _, text)| (*text, None)).collect();
        let texts = shared_texts(Xml::new(pack.file(texts, budget)?), wanted)?;
        fill(&mut found, &shared, &texts, budget)?;
    }
    Ok(found)
}

/// The parts that a part names: kind, or the number by which it is named, and the part's name in the package.
fn linked<'a>(
    pack: &Pack<'a>,
    budget: &'a Budget,
    part: &str,
    wanted: impl Fn(&str) -> bool,
) -> Result<Vec<(String, String)>, String> {
    let (folder, own) = part.rsplit_once('/').unwrap_or(("", part));
    let name = if folder.is_empty() {
        format!("_rels/{own}.rels")
    } else {
        format!("{folder}/_rels/{own}.rels")
    };
    if !pack.holds(&name) {
        return Ok(Vec::new());
    }
    let mut xml = Xml::new(pack.file(&name, budget)?);
    let mut found = Vec::new();
    loop {
        match xml.next()? {
            Piece::Open(tag) if tag.is("Relationship") => {
                let (kind, target) = (
                    tag.get("Type").unwrap_or_default(),
                    tag.get("Target").unwrap_or_default(),
                );
                let target = match target.strip_prefix('/') {
                    Some(whole) => whole.to_owned(),
                    None if folder.is_empty() => target,
                    None => format!("{folder}/{target}"),
                };
                if wanted(&kind) {
                    found.push((kind, target.clone()));
                    found.push((tag.get("Id").unwrap_or_default(), target));
                }
            }
            Piece::End => return Ok(found),
            _ => {}
        }
        if found.len() > 2 * super::bounds::MOST_FILES {
            return Err(format!(
                "its parts name more than {} others",
                super::bounds::MOST_FILES
            ));
        }
    }
}

/// The names of the sheets, and from when days are counted.
fn frame<'a>(
    pack: &Pack<'a>,
    budget: &'a Budget,
    main: &str,
    links: &[(String, String)],
) -> Result<Frame, String> {
    let mut xml = Xml::new(pack.file(main, budget)?);
    let mut frame = Frame {
        sheets: Vec::new(),
        looks: Vec::new(),
        from_1904: false,
    };
    loop {
        match xml.next()? {
            Piece::Open(tag) if tag.is("workbookPr") => frame.from_1904 = tag.says("date1904"),
            Piece::Open(tag) if tag.is("sheet") => {
                let id = tag.get("id").unwrap_or_default();
                let hidden = tag.get("state").is_some_and(|state| state != "visible");
                let target = links
                    .iter()
                    .find(|(own, _)| *own == id)
                    .map(|(_, target)| target.clone())
                    .unwrap_or_default();
                frame
                    .sheets
                    .push((tag.get("name").unwrap_or_default(), target, hidden));
            }
            Piece::End => return Ok(frame),
            _ => {}
        }
        if frame.sheets.len() > MOST_COLUMNS {
            return Err(format!("it has more than {MOST_COLUMNS} sheets"));
        }
    }
}

/// Whether there is a cell with a value.
fn says_something(mut xml: Xml<'_>) -> Result<bool, String> {
    loop {
        match xml.next()? {
            Piece::Open(tag) if tag.is("v") || tag.is("t") => return Ok(true),
            Piece::End => return Ok(false),
            _ => {}
        }
    }
}

/// A sheet being read.
struct Reading<'f, 'b> {
    filling: Filling<'b>,
    at: usize,
    frame: &'f Frame,
    shared: Shared,
    row: usize,
    column: usize,
}

/// A cell being read.
#[derive(Default)]
struct Content {
    kind: String,
    look: Look,
    value: Option<String>,
    text: Option<String>,
    formula: bool,
}

impl<'f, 'b> Reading<'f, 'b> {
    fn new(name: &str, at: usize, frame: &'f Frame, budget: &'b Budget) -> Reading<'f, 'b> {
        Reading {
            filling: Filling::new(name, budget),
            at,
            frame,
            shared: Vec::new(),
            row: 0,
            column: 0,
        }
    }

    fn refuse(&self, why: impl Into<String>) -> Refusal {
        self.filling.refuse(self.row, why)
    }

    fn all(&mut self, mut xml: Xml<'_>) -> Result<(), Refusal> {
        let (mut next_row, mut cell) = (0, None);
        loop {
            match xml.next().map_err(|why| self.refuse(why))? {
                Piece::Open(tag) if tag.is("col") => self.columns(&tag),
                Piece::Open(tag) if tag.is("row") => {
                    self.row = tag
                        .number("r")
                        .and_then(|row| row.checked_sub(1))
                        .unwrap_or(next_row);
                    (next_row, self.column) = (self.row.saturating_add(1), 0);
                    if tag.says("hidden") {
                        self.hide_row();
                    }
                }
                Piece::Open(tag) if tag.is("c") => cell = Some(self.begun(&tag)),
                Piece::End => return Ok(()),
                _ => {}
            }
            if let Some(content) = cell.take() {
                let content = Self::content(content, &mut xml).map_err(|why| self.refuse(why))?;
                self.take(content)?;
                self.column = self.column.saturating_add(1);
            }
        }
    }

    fn columns(&mut self, tag: &Tag<'_>) {
        if tag.says("hidden")
            && let (Some(first), Some(last)) = (tag.number("min"), tag.number("max"))
        {
            let all = first.saturating_sub(1)..last.min(MOST_COLUMNS);
            self.filling.leaf.hidden_columns.extend(
                all.take(MOST_COLUMNS.saturating_sub(self.filling.leaf.hidden_columns.len())),
            );
        }
    }

    fn hide_row(&mut self) {
        if self.row < super::bounds::MOST_ROWS
            && self.filling.leaf.hidden_rows.last() != Some(&self.row)
        {
            self.filling.leaf.hidden_rows.push(self.row);
        }
    }

    /// What the tag of a cell says of it.
    fn begun(&mut self, tag: &Tag<'_>) -> Content {
        if let Some((row, column)) = tag.get("r").and_then(|name| place(&name)) {
            (self.row, self.column) = (row.unwrap_or(self.row), column);
        }
        let look = tag
            .number("s")
            .and_then(|at| self.frame.looks.get(at))
            .cloned()
            .unwrap_or_default();
        Content {
            kind: tag.get("t").unwrap_or_default(),
            look,
            ..Content::default()
        }
    }

    /// What stands between the tags of a cell.
    fn content(mut content: Content, xml: &mut Xml<'_>) -> Result<Content, String> {
        loop {
            let (text, formula) = match xml.next()? {
                Piece::Open(tag) if tag.is("v") => (false, false),
                Piece::Open(tag) if tag.is("is") => (true, false),
                Piece::Open(tag) if tag.is("f") => (false, true),
                Piece::Close(end) if end.is("c") => return Ok(content),
                Piece::End => return Ok(content),
                _ => continue,
            };
            if formula {
                content.formula = true;
                xml.skip()?;
            } else if text {
                content.text = Some(xml.text(&["rPh"], 4 * MOST_LETTERS)?);
            } else {
                content.value = Some(xml.text(&[], 4 * MOST_LETTERS)?);
            }
        }
    }

    /// Puts a cell where it belongs.
    fn take(&mut self, content: Content) -> Result<(), Refusal> {
        let struck = content.look.struck;
        if content.kind == "s"
            && let Some(text) = content.value.as_deref()
        {
            let text: usize = text
                .trim()
                .parse()
                .map_err(|_| self.refuse("a cell names a text that is not there"))?;
            self.shared.push((self.at, self.row, self.column, text));
            // the place is kept, and filled when the texts are known
            return self
                .filling
                .put(self.row, self.column, Value::Text(String::new()), struck);
        }
        let value = self.value(content);
        self.filling.put(self.row, self.column, value, struck)
    }

    fn value(&self, content: Content) -> Value {
        let Content {
            kind,
            look,
            value,
            text,
            formula,
        } = content;
        let worded = |text: String| {
            if text.trim().is_empty() {
                Value::Empty
            } else {
                Value::Text(unescaped(&text))
            }
        };
        if let Some(text) = text {
            return worded(text);
        }
        let Some(value) = value.filter(|value| kind == "str" || !value.trim().is_empty()) else {
            return if formula {
                Value::Unreckoned
            } else {
                Value::Empty
            };
        };
        match kind.as_str() {
            "str" => worded(value),
            "b" => Value::Text(if value.trim() == "1" { "yes" } else { "no" }.to_owned()),
            "e" => Value::Fault(value),
            "d" => Value::Day(value.get(..10).unwrap_or(&value).to_owned()),
            _ => number(&value, look.kind, self.frame.from_1904),
        }
    }
}

/// A number as its format has it.
fn number(text: &str, kind: Kind, from_1904: bool) -> Value {
    let Some(digits) = read(text) else {
        return Value::Text(text.to_owned());
    };
    match kind {
        Kind::Percent => Value::Percent(hundredfold(&digits)),
        Kind::Money(sign) => Value::Money(digits, sign),
        Kind::Mass(unit) => Value::Mass(digits, unit),
        Kind::Day => match day(&digits, from_1904) {
            Some(day) => Value::Day(day),
            None => Value::Number(digits, None),
        },
        Kind::Plain => {
            let day = likely_day(&digits, from_1904);
            Value::Number(digits, day)
        }
    }
}

/// `C7` as row 6 and column 2; `C` alone has no row. A column with more letters than spreadsheets have is far beyond all.
fn place(name: &str) -> Option<(Option<usize>, usize)> {
    let letters = name.len()
        - name
            .trim_start_matches(|c: char| c.is_ascii_alphabetic())
            .len();
    let (column, row) = name.split_at(letters);
    let column = match letters {
        0 => return None,
        1..=3 => {
            column.bytes().fold(0, |sum, letter| {
                sum * 26 + usize::from(letter.to_ascii_uppercase() - b'A') + 1
            }) - 1
        }
        _ => usize::MAX,
    };
    let row = if row.is_empty() {
        None
    } else {
        Some(
            row.parse::<usize>()
                .ok()
                .and_then(|row| row.checked_sub(1))
                .unwrap_or(usize::MAX),
        )
    };
    Some((row, column))
}

/// Those of the shared texts that are wanted, and whether each is struck out.
fn shared_texts(
    mut xml: Xml<'_>,
    mut wanted: BTreeMap<usize, Option<(String, bool)>>,
) -> Result<BTreeMap<usize, Option<(String, bool)>>, String> {
    let last = wanted.last_key_value().map_or(0, |(at, _)| *at);
    let mut at = 0;
    while at <= last {
        let begins = match xml.next()? {
            Piece::Open(tag) => tag.is("si"),
            Piece::End => break,
            _ => false,
        };
        if begins {
            match wanted.get_mut(&at) {
                Some(place) => *place = Some(shared_text(&mut xml)?),
                None => xml.skip()?,
            }
            at += 1;
        }
    }
    Ok(wanted)
}

/// One shared text, of one piece or of several with looks of their own; it is struck out when every piece is.
fn shared_text(xml: &mut Xml<'_>) -> Result<(String, bool), String> {
    let (mut found, mut struck, mut all_struck, mut pieces) = (String::new(), false, true, 0);
    loop {
        let (text, aside) = match xml.next()? {
            Piece::Open(tag) if tag.is("rPh") => (false, true),
            Piece::Open(tag) if tag.is("t") => (true, false),
            Piece::Open(tag) => {
                struck = if tag.is("r") {
                    false
                } else {
                    struck || (tag.is("strike") && tag.is_on())
                };
                (false, false)
            }
            Piece::Close(end) if end.is("si") => break,
            Piece::End => break,
            _ => (false, false),
        };
        if aside {
            xml.skip()?;
        } else if text {
            let piece = xml.text(&[], 4 * MOST_LETTERS)?;
            if found.len() <= 4 * MOST_LETTERS {
                found.push_str(&piece);
            }
            all_struck = all_struck && struck;
            pieces += 1;
        }
    }
    Ok((found, all_struck && pieces > 0))
}

/// Puts the shared texts into the cells that name them.
fn fill(
    leaves: &mut [Leaf],
    shared: &Shared,
    texts: &BTreeMap<usize, Option<(String, bool)>>,
    budget: &Budget,
) -> Result<(), Refusal> {
    for (sheet, row, column, text) in shared {
        let Some(leaf) = leaves.get_mut(*sheet) else {
            continue;
        };
        let mut filling = Filling::around(std::mem::take(leaf), budget);
        let Some((text, struck)) = texts.get(text).and_then(Option::as_ref) else {
            return Err(filling.refuse(*row, "a cell names a text that is not there"));
        };
        filling.replace(*row, *column, Value::Text(unescaped(text)), *struck)?;
        *leaf = filling.leaf;
    }
    Ok(())
}

/// Letters that XML cannot hold, as they are kept: `_x0007_`.
fn unescaped(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once("_x") {
        out.push_str(before);
        let code = after.get(..5).and_then(|code| code.strip_suffix('_'));
        let letter = code
            .and_then(|code| u32::from_str_radix(code, 16).ok())
            .and_then(char::from_u32);
        match letter {
            Some(letter) => {
                out.push(letter);
                rest = after.get(5..).unwrap_or_default();
            }
            None => {
                out.push_str("_x");
                rest = after;
            }
        }
    }
    out + rest
}
