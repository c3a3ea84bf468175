//! A table as rows of cells: CSV as people save it, checked by the names in its header.
//!
//! Lines and spans are found from byte offsets, because the splitter's own line numbers are off after notes, blank lines
//! and CRLF. Notes of the form `# name = value` above the header give a value
//! to every row that leaves the column empty.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

use super::cell::Row;
use super::columns::{Columns, Names, header_problem, plain_name};
use super::diagnostic::{Diagnostic, Location, Problems};
use super::marks::{field_of, fields_of, first_line, stray_mark};
use super::second_names::read_too;
use super::source::{decode, line_ends};
use super::split::{Fields, Record, split};
use super::words::{count, few, nearest};
use crate::units::number::Style;

/// A field longer than this is refused.
const LONGEST_FIELD: usize = 1 << 20;

/// Where a row lacks at most this many columns, all of them are named.
const NAMED: usize = 20;

/// A header of more columns than this is refused.
const MOST_COLUMNS: usize = 1024;

/// A table read into rows.
#[derive(Debug)]
pub(crate) struct Sheet {
    pub(super) path: Arc<str>,
    text: String,
    delimiter: u8,
    quoted: bool,
    header: Vec<String>,
    /// Where each name of the header stands first.
    places: Names,
    pub(super) fields: Fields,
    records: Vec<Record>,
    notes: BTreeMap<String, String>,
    /// Whether a row could not be read, so that what names it names nothing.
    lost: bool,
    pub(super) style: Style,
}

impl Sheet {
    /// Reads a file's bytes; problems are added to the list, and what could be read is returned.
    pub(crate) fn read(
        path: &str,
        bytes: &[u8],
        columns: &Columns,
        problems: &mut Problems,
    ) -> Sheet {
        match problems.keep(decode(path, bytes)) {
            Some(text) => Sheet::from_text(path, text, columns, problems),
            None => Sheet::bare(path, String::new()),
        }
    }

    /// A sheet in which nothing has been found yet.
    fn bare(path: &str, text: String) -> Sheet {
        let text = line_feeds(text);
        let delimiter = delimiter_of(&text);
        let style = if delimiter == b',' {
            Style::Point
        } else {
            Style::CommaToo
        };
        let (notes, quoted) = (notes_of(&text), text.contains('"'));
        Sheet {
            path: Arc::from(path),
            text,
            delimiter,
            quoted,
            header: Vec::new(),
            places: Names::default(),
            fields: Fields::default(),
            records: Vec::new(),
            notes,
            lost: false,
            style,
        }
    }

    /// Reads a file's text.
    pub(crate) fn from_text(
        path: &str,
        text: String,
        columns: &Columns,
        problems: &mut Problems,
    ) -> Sheet {
        let mut sheet = Sheet::bare(path, text);
        (sheet.records, sheet.fields) = split(&sheet.text, sheet.delimiter);
        sheet.take_header(columns, problems);
        sheet.check_rows(problems);
        sheet
    }

    /// The file's name.
    pub(crate) fn path(&self) -> &Arc<str> {
        &self.path
    }

    /// The rows below the header.
    pub(crate) fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.records.iter().map(move |record| Row {
            sheet: self,
            record,
        })
    }

    /// How many rows there are below the header.
    pub(crate) fn len(&self) -> usize {
        self.records.len()
    }

    /// One of the rows below the header.
    ///
    /// # Panics
    /// When there is no such row.
    pub(super) fn row(&self, index: usize) -> Row<'_> {
        Row {
            sheet: self,
            record: &self.records[index],
        }
    }

    /// Whether a row could not be read and was left out.
    pub(crate) fn lost_rows(&self) -> bool {
        self.lost
    }

    /// Whether there are no rows below the header.
    pub(crate) fn is_empty(&self) -> bool {
        self.records.is_empty()
    }

    /// The value a note above the header gives to all rows.
    pub(crate) fn note(&self, name: &str) -> Option<&str> {
        self.notes.get(name).map(String::as_str)
    }

    /// The header's names.
    pub(crate) fn headers(&self) -> impl Iterator<Item = &str> {
        self.header.iter().map(String::as_str)
    }

    pub(super) fn index_of(&self, column: &str) -> Option<usize> {
        self.places.find(column)
    }

    /// Takes the first record as the header and checks its names.
    fn take_header(&mut self, columns: &Columns, problems: &mut Problems) {
        if self.records.is_empty() {
            let what = format!(
                "the file is empty: expected a header line with the columns {}",
                columns.needed.join(", ")
            );
            problems.push(Diagnostic::error(what).at(Location::line(self.path.clone(), 1)));
            return;
        }
        let record = self.records.remove(0);
        let names: Vec<String> = self
            .fields
            .of(&record)
            .take(MOST_COLUMNS)
            .map(plain_name)
            .collect();
        let names = known_names(names, columns);
        if let Some(problem) = self.no_header(&record, &names, columns) {
            problems.push(problem);
            self.records.clear();
            return;
        }
        let line = self.line_text(&record);
        let spans = fields_of(line, self.delimiter);
        let at = |index: usize| {
            let span = spans
                .get(index)
                .map_or(line.len()..line.len(), |span| trimmed(line, span.clone()));
            Location::within(self.path.clone(), record.line, line, span)
        };
        let places = Names::of(&names);
        for (index, repeated) in strangers(&names, &places, columns) {
            let typed = self.fields.get(&record, index).unwrap_or("").trim();
            let name = (names[index].as_str(), names.as_slice());
            problems.push(header_problem(at(index), name, (typed, repeated), columns));
        }
        let complete = self.has_needed(&record, &names, columns, problems);
        self.unnamed(&names, at, problems);
        (self.header, self.places) = (names, places);
        if !complete {
            self.records.clear();
        }
    }

    /// Whether a header has all columns that the table needs; each that is missing is a problem.
    fn has_needed(
        &self,
        record: &Record,
        names: &[String],
        columns: &Columns,
        problems: &mut Problems,
    ) -> bool {
        let is_missing = |needed: &&&str| !names.iter().any(|name| name == **needed);
        let missing: Vec<&&str> = columns.needed.iter().filter(is_missing).collect();
        for needed in &missing {
            let line = self.line_text(record);
            let place = Location::within(self.path.clone(), record.line, line, 0..0);
            let note = format!("this table needs {}", columns.needed.join(", "));
            problems.push(
                Diagnostic::error(format!("column `{needed}` is missing"))
                    .at(place)
                    .note(note),
            );
        }
        missing.is_empty()
    }

    /// Why a first record is no header at all.
    fn no_header(
        &self,
        record: &Record,
        names: &[String],
        columns: &Columns,
    ) -> Option<Diagnostic> {
        if let Some(stray) = self.stray(record) {
            return Some(stray);
        }
        if record.len() > MOST_COLUMNS {
            let what = format!(
                "the first line has {} columns: expected a header of at most {MOST_COLUMNS}",
                record.len()
            );
            let place = Location::line(self.path.clone(), record.line);
            return Some(Diagnostic::error(what).at(place));
        }
        let is_near = |name: &String| columns.knows(name) || nearest(name, columns.all()).is_some();
        if names.iter().any(is_near) {
            return None;
        }
        let line = self.line_text(record);
        let place = Location::within(self.path.clone(), record.line, line, 0..line.len());
        let what = format!(
            "the first line names no column of this table: expected a header with {}",
            columns.needed.join(", ")
        );
        Some(Diagnostic::error(what).at(place))
    }

    /// A column without a name is said when something stands in it.
    fn unnamed(&self, names: &[String], at: impl Fn(usize) -> Location, problems: &mut Problems) {
        let full = |index: usize| {
            self.records.iter().find(|r| {
                self.fields
                    .get(r, index)
                    .is_some_and(|field| !field.trim().is_empty())
            })
        };
        for index in (0..names.len()).filter(|index| names[*index].is_empty()) {
            let Some(row) = full(index) else { continue };
            let what = format!(
                "column {} has no name and is not read, though something stands in it on line {}",
                index + 1,
                row.line
            );
            problems.push(Diagnostic::warning(what).at(at(index)));
        }
    }

    /// Refuses rows with more fields than the header and fields too long to be meant; what such rows say is not read.
    fn check_rows(&mut self, problems: &mut Problems) {
        if self.header.is_empty() {
            return;
        }
        let mut good = std::mem::take(&mut self.records);
        let all = good.len();
        good.retain(|record| {
            self.refusal(record)
                .map(|problem| problems.push(problem))
                .is_none()
        });
        self.lost = good.len() < all;
        for record in good
            .iter()
            .filter(|record| record.len() < self.header.len())
        {
            let missing = self.header.get(record.len()..).unwrap_or_default();
            let missing = if missing.len() > NAMED {
                few(missing)
            } else {
                missing.join(", ")
            };
            let what = format!(
                "the row has {}, the header {}",
                count(record.len(), "field", "fields"),
                self.header.len()
            );
            problems.push(
                Diagnostic::warning(what)
                    .at(Row {
                        sheet: self,
                        record,
                    }
                    .place())
                    .note(format!("taken as empty: {missing}")),
            );
        }
        self.records = good;
    }

    /// Why a row cannot be read.
    fn refusal(&self, record: &Record) -> Option<Diagnostic> {
        if let Some(stray) = self.stray(record) {
            return Some(stray);
        }
        let place = || {
            Row {
                sheet: self,
                record,
            }
            .place()
        };
        // no field is longer than the record it was read from
        if record.end - record.start > LONGEST_FIELD
            && self
                .fields
                .of(record)
                .any(|field| field.len() > LONGEST_FIELD)
        {
            return Some(
                Diagnostic::error("a field is longer than 1 MiB")
                    .at(place())
                    .help("is a quotation mark or a line end missing?"),
            );
        }
        let extra = record.len() > self.header.len()
            && self
                .fields
                .of(record)
                .skip(self.header.len())
                .any(|field| !field.trim().is_empty());
        extra.then(|| {
            let what = format!(
                "the row has {}, the header {}",
                count(record.len(), "field", "fields"),
                self.header.len()
            );
            Diagnostic::error(what)
                .at(place())
                .help("put a text that holds the separator in quotation marks")
        })
    }

    /// The first quotation mark in a record that does not do what its writer meant.
    fn stray(&self, record: &Record) -> Option<Diagnostic> {
        let written = &self.text[record.start..record.end];
        let (at, what) = if self.quoted && written.contains('"') {
            stray_mark(written, self.delimiter)?
        } else {
            return None;
        };
        let at = record.start + at;
        let line = record.line + line_ends(&self.text.as_bytes()[record.start..at]);
        let start = self.text[..at].rfind(['\n', '\r']).map_or(0, |n| n + 1);
        let text = first_line(&self.text[start..]);
        let width = self.text[at..].chars().next().map_or(0, char::len_utf8);
        let place = Location::within(
            self.path.clone(),
            line,
            text,
            at - start..at - start + width,
        );
        let help = "a text in quotation marks begins and ends with one, right beside the separators; a mark within it is doubled";
        Some(Diagnostic::error(what).at(place).help(help))
    }

    /// The text of the line a record starts on.
    pub(super) fn line_text(&self, record: &Record) -> &str {
        first_line(&self.text[record.start..])
    }

    /// The bytes of the line that hold its n-th field, quotation marks left out.
    pub(super) fn field_span(&self, line: &str, index: usize) -> Range<usize> {
        field_of(line, self.delimiter, index)
            .map_or(line.len()..line.len(), |span| trimmed(line, span))
    }
}

/// The names of a header that are asked about: which of them, and whether the same name stands before it.
fn strangers(names: &[String], places: &Names, columns: &Columns) -> Vec<(usize, bool)> {
    let mut found = Vec::new();
    for (index, name) in names.iter().enumerate() {
        let repeated = places.find(name).is_some_and(|first| first < index) && !name.is_empty();
        if repeated || !(name.is_empty() || columns.knows(name)) {
            found.push((index, repeated));
        }
    }
    found
}

/// The span without blanks and quotation marks at its ends.
fn trimmed(line: &str, span: Range<usize>) -> Range<usize> {
    let text = &line[span.clone()];
    let left = text.len() - text.trim_start().len();
    let kept = text.trim();
    let inner = kept
        .strip_prefix('"')
        .map_or(kept, |k| k.strip_suffix('"').unwrap_or(k));
    let quote = usize::from(kept.starts_with('"'));
    let start = span.start + left + quote;
    start..start + inner.len()
}

/// Lone carriage returns as line feeds, byte for byte: the `csv` crate ends a note at a line feed only.
pub(super) fn line_feeds(text: String) -> String {
    if !text.contains('\r') {
        return text;
    }
    let mut fed = String::with_capacity(text.len());
    let mut rest = text.as_str();
    while let Some((line, after)) = rest.split_once('\r') {
        fed.push_str(line);
        fed.push(if after.starts_with('\n') { '\r' } else { '\n' });
        rest = after;
    }
    fed + rest
}

/// The separator, from the first line that is not a note: header names hold neither tabs nor semicolons.
pub(super) fn delimiter_of(text: &str) -> u8 {
    let mut rest = text;
    let header = loop {
        let line = first_line(rest);
        let is_header = !line.starts_with('#') && !line.trim().is_empty();
        if is_header || line.len() == rest.len() {
            break if is_header { line } else { "" };
        }
        rest = &rest[line.len() + 1..];
    };
    if header.contains('\t') {
        b'\t'
    } else if header.contains(';') {
        b';'
    } else {
        b','
    }
}

/// `# name = value` notes above the header.
fn notes_of(text: &str) -> BTreeMap<String, String> {
    let above = text
        .lines()
        .take_while(|line| line.starts_with('#') || line.trim().is_empty());
    let pairs = above.filter_map(|line| line.strip_prefix('#')?.split_once(" = "));
    let word = |name: &str| {
        name.trim()
            .bytes()
            .all(|b| b.is_ascii_lowercase() || b == b'_')
    };
    pairs
        .filter(|(name, _)| word(name))
        .map(|(name, value)| (name.trim().to_owned(), value.trim().to_owned()))
        .collect()
}

/// Second names of a book's columns as the names that are known, where the table has the one and the header not yet. The tables of
/// rates have names of their own for what every row carries.
fn known_names(names: Vec<String>, columns: &Columns) -> Vec<String> {
    if columns.knows("certainty") {
        return names;
    }
    let known = |name: &String| {
        let known = read_too(name);
        let serves = !columns.knows(name) && columns.knows(known);
        let stands = names.iter().any(|other| other == known);
        if serves && !stands {
            known.to_owned()
        } else {
            name.clone()
        }
    };
    names.iter().map(known).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const COLUMNS: Columns = Columns {
        needed: &["part", "price"],
        optional: &["mass_g"],
        shared: &[],
    };

    fn read(text: &str) -> (Sheet, Problems) {
        let mut problems = Problems::new();
        let sheet = Sheet::read("parts.csv", text.as_bytes(), &COLUMNS, &mut problems);
        (sheet, problems)
    }

    #[test]
    fn lines_are_counted_by_the_file_itself() {
        for (text, lines) in [
            ("part,price\na,1\nb,2\n", [2, 3]),
            ("part,price\r\na,1\r\nb,2\r\n", [2, 3]),
            ("part,price\ra,1\rb,2\r", [2, 3]),
            ("# note\rpart,price\ra,1\r# x\rb,2\r", [3, 5]),
            ("# note\n\npart,price\n\n# more\na,1\n\nb,2", [6, 8]),
            ("# note\r\n\r\npart,price\r\n\r\na,1\r\n# x\r\nb,2", [5, 7]),
            ("part,price\n\"a\nb\",1\nc,2", [2, 4]),
            ("part,price\n,,\na,1\nb,2", [3, 4]),
        ] {
            let (sheet, problems) = read(text);
            assert!(problems.is_empty(), "{text:?}: {problems:?}");
            assert_eq!(
                sheet.rows().map(|r| r.line()).collect::<Vec<_>>(),
                lines,
                "{text:?}"
            );
        }
    }

    #[test]
    fn a_cell_points_at_itself() {
        let (sheet, _) = read("part;price\n\"a;b\";\"12,5x\" \n");
        let error = sheet
            .rows()
            .next()
            .unwrap()
            .cell("price")
            .error("expected a number");
        let place = error.place.unwrap();
        assert_eq!(
            (
                place.line,
                place.characters_before,
                &place.excerpt[place.span]
            ),
            (2, 7, "12,5x")
        );
    }

    #[test]
    fn quotation_marks_do_what_their_writer_meant() {
        for (text, at) in [
            ("part,price\n\"a,1\nb,2\n", (2, 0)),
            ("part,price\na,1\n\"b,2\n\"c,3\n", (4, 1)),
            ("part,price\na, \"1\"\n", (2, 3)),
            ("part,price\n\"a\" b,1\n", (2, 4)),
        ] {
            let (_, problems) = read(text);
            let places: Vec<_> = problems
                .iter()
                .filter_map(|p| p.place.as_ref())
                .map(|p| (p.line, p.characters_before))
                .collect();
            assert_eq!(places, [at], "{text:?}: {problems:?}");
        }
        for text in [
            "part,price\n27.5\" tyre,1\n",
            "part,price\n\"a \"\"b\"\"\",1\n",
            "part,price\n\"a\",1\n# it's 29\"\n",
        ] {
            let (sheet, problems) = read(text);
            assert!(
                problems.is_empty() && sheet.rows().next().unwrap().cell("price").text() == "1",
                "{text:?}: {problems:?}"
            );
        }
    }

    #[test]
    fn header_is_checked_by_name() {
        let (_, problems) = read("part,prise,part\na,1,b\n");
        let text: Vec<_> = problems.iter().map(|p| p.message.as_str()).collect();
        assert_eq!(
            text,
            [
                "column `prise` is not known here and is not read",
                "expected each column once: `part` stands twice",
                "column `price` is missing"
            ]
        );
    }

    #[test]
    fn a_short_row_names_what_it_lacks_as_far_as_a_sentence_goes() {
        let note = |more: usize| {
            let (_, problems) = read(&format!(
                "part,price{}\na,1\n",
                (0..more).map(|at| format!(",own{at}")).collect::<String>()
            ));
            problems
                .iter()
                .find(|problem| problem.message.starts_with("the row has"))
                .unwrap()
                .notes
                .clone()
        };
        assert_eq!(note(2), ["taken as empty: own0, own1"]);
        assert_eq!(
            note(30),
            ["taken as empty: own0, own1, own2, own3, own4, own5 and 24 more"]
        );
    }

    #[test]
    fn utf16_and_marks() {
        let wide: Vec<u8> = [0xFF, 0xFE]
            .into_iter()
            .chain(
                "part;price\nä;1\n"
                    .encode_utf16()
                    .flat_map(u16::to_le_bytes),
            )
            .collect();
        let mut problems = Problems::new();
        let sheet = Sheet::read("p", &wide, &COLUMNS, &mut problems);
        assert_eq!(sheet.rows().next().unwrap().cell("part").text(), "ä");
        assert!(problems.is_empty());
    }
}
