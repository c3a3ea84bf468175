//! A table as rows of cells: CSV as people save it, checked by the names in its header.
//!
//! The `csv` crate splits the records; lines and spans are found here from byte offsets, because that crate's own line
//! numbers are off after notes, blank lines and CRLF. Notes of the form `# name = value` above the header give a value
//! to every row that leaves the column empty.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

use super::cell::Row;
use super::diagnostic::{Diagnostic, Place, Problems};
use super::source::decode;
use super::words::{nearest, quoted};
use crate::units::number::Style;

/// The columns a table declares.
#[derive(Debug, Clone, Copy)]
pub struct Columns {
    /// Columns the file must have.
    pub needed: &'static [&'static str],
    /// Columns it may have.
    pub optional: &'static [&'static str],
    /// Columns it shares with tables of its family.
    pub shared: &'static [&'static str],
}

impl Columns {
    fn knows(&self, name: &str) -> bool {
        name == "note" || self.all().any(|known| known == name)
    }

    fn all(&self) -> impl Iterator<Item = &'static str> {
        self.needed.iter().chain(self.optional).chain(self.shared).copied()
    }
}

/// A field longer than this is refused.
const LONGEST_FIELD: usize = 1 << 20;

/// A table read into rows.
#[derive(Debug)]
pub struct Sheet {
    pub(super) path: Arc<str>,
    text: String,
    delimiter: u8,
    header: Vec<String>,
    records: Vec<Record>,
    notes: BTreeMap<String, String>,
    pub(super) style: Style,
}

/// One record and the line it starts on.
#[derive(Debug)]
pub(super) struct Record {
    pub(super) line: usize,
    start: usize,
    pub(super) fields: csv::StringRecord,
}

impl Sheet {
    /// Reads a file's bytes; problems are added to the list, and what could be read is returned.
    pub fn read(path: &str, bytes: &[u8], columns: &Columns, problems: &mut Problems) -> Sheet {
        let text = problems.keep(decode(path, bytes)).unwrap_or_default();
        Sheet::from_text(path, text, columns, problems)
    }

    /// Reads a file's text.
    pub fn from_text(path: &str, text: String, columns: &Columns, problems: &mut Problems) -> Sheet {
        let text = line_feeds(text);
        let delimiter = delimiter_of(&text);
        let style = if delimiter == b',' { Style::Point } else { Style::CommaToo };
        let notes = notes_of(&text);
        let mut sheet = Sheet { path: Arc::from(path), text, delimiter, header: Vec::new(), records: Vec::new(), notes, style };
        sheet.split(problems);
        sheet.take_header(columns, problems);
        sheet.check_rows(problems);
        sheet
    }

    /// The file's name.
    pub fn path(&self) -> &Arc<str> {
        &self.path
    }

    /// The rows below the header.
    pub fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.records.iter().map(move |record| Row { sheet: self, record })
    }

    /// How many rows there are below the header.
    pub fn len(&self) -> usize {
        self.records.len()
    }

    /// One of the rows below the header.
    ///
    /// # Panics
    /// When there is no such row.
    pub(super) fn row(&self, index: usize) -> Row<'_> {
        Row { sheet: self, record: &self.records[index] }
    }

    /// Whether there are no rows below the header.
    pub fn is_empty(&self) -> bool {
        self.records.is_empty()
    }

    /// The value a note above the header gives to all rows.
    pub fn note(&self, name: &str) -> Option<&str> {
        self.notes.get(name).map(String::as_str)
    }

    /// The header's names.
    pub fn headers(&self) -> impl Iterator<Item = &str> {
        self.header.iter().map(String::as_str)
    }

    pub(super) fn index_of(&self, column: &str) -> Option<usize> {
        self.header.iter().position(|name| name == column)
    }

    /// Splits the text into records with their lines.
    fn split(&mut self, problems: &mut Problems) {
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(self.delimiter)
            .comment(Some(b'#'))
            .from_reader(self.text.as_bytes());
        let mut fields = csv::StringRecord::new();
        let (mut line, mut counted) = (1, 0);
        let mut found = Vec::new();
        while reader.read_record(&mut fields).unwrap_or(false) {
            let at = fields.position().and_then(|p| usize::try_from(p.byte()).ok()).unwrap_or(counted);
            let start = skip_notes(&self.text, at);
            line += line_ends(&self.text[counted..start]);
            counted = start;
            if fields.iter().any(|field| !field.trim().is_empty()) {
                found.push(Record { line, start, fields: fields.clone() });
            }
        }
        self.records = found;
        if unclosed_quote(&self.text, self.records.last()) {
            let line = self.records.last().map_or(1, |record| record.line);
            let what = "a quotation mark is opened here and not closed before the file ends";
            problems.push(Diagnostic::error(what).at(Place::line(self.path.clone(), line)));
        }
    }

    /// Takes the first record as the header and checks its names.
    fn take_header(&mut self, columns: &Columns, problems: &mut Problems) {
        if self.records.is_empty() {
            let expected = format!("expected a header line with the columns {}", columns.needed.join(", "));
            problems.push(Diagnostic::error(format!("the file is empty: {expected}")).at(Place::line(self.path.clone(), 1)));
            return;
        }
        let record = self.records.remove(0);
        let names: Vec<String> = record.fields.iter().map(|name| name.trim().to_lowercase().replace(' ', "_")).collect();
        for (index, name) in names.iter().enumerate() {
            let repeated = names[..index].contains(name) && !name.is_empty();
            if repeated || !(name.is_empty() || columns.knows(name)) {
                problems.push(self.header_problem(&record, index, name, repeated, columns));
            }
        }
        for needed in columns.needed.iter().filter(|needed| !names.iter().any(|name| name == *needed)) {
            let place = Place::within(self.path.clone(), record.line, self.line_text(&record), 0..0);
            problems.push(
                Diagnostic::error(format!("column `{needed}` is missing"))
                    .at(place)
                    .note(format!("this table needs {}", columns.needed.join(", "))),
            );
        }
        self.header = names;
    }

    fn header_problem(&self, record: &Record, index: usize, name: &str, repeated: bool, columns: &Columns) -> Diagnostic {
        let line = self.line_text(record);
        let place = Place::within(self.path.clone(), record.line, line, self.field_span(line, index));
        if repeated {
            return Diagnostic::error(format!("column {} stands twice", quoted(name))).at(place);
        }
        let warning = Diagnostic::warning(format!("column {} is not known here and is not read", quoted(name))).at(place);
        match nearest(name, columns.all()) {
            Some(near) => warning.help(format!("did you mean `{near}`?")),
            None => warning,
        }
    }

    /// Refuses rows with more fields than the header and fields too long to be meant.
    fn check_rows(&self, problems: &mut Problems) {
        for record in &self.records {
            let extra = record.fields.iter().skip(self.header.len()).any(|field| !field.trim().is_empty());
            let place = || Row { sheet: self, record }.place();
            if extra && !self.header.is_empty() {
                let (found, expected) = (record.fields.len(), self.header.len());
                let what = format!("the row has {found} fields, the header {expected}");
                let help = "put a text that holds the separator in quotation marks";
                problems.push(Diagnostic::error(what).at(place()).help(help));
            }
            if record.fields.iter().any(|field| field.len() > LONGEST_FIELD) {
                problems.push(Diagnostic::error("a field is longer than 1 MiB").at(place()));
            }
        }
    }

    /// The text of the line a record starts on.
    pub(super) fn line_text(&self, record: &Record) -> &str {
        let rest = &self.text[record.start..];
        &rest[..rest.find(['\n', '\r']).unwrap_or(rest.len())]
    }

    /// The bytes of the line that hold its n-th field, quotation marks left out.
    pub(super) fn field_span(&self, line: &str, index: usize) -> Range<usize> {
        let (mut field, mut start, mut inside) = (0, 0, false);
        for (at, byte) in line.bytes().enumerate() {
            if byte == b'"' {
                inside = !inside;
            } else if byte == self.delimiter && !inside {
                if field == index {
                    return trimmed(line, start..at);
                }
                field += 1;
                start = at + 1;
            }
        }
        if field == index { trimmed(line, start..line.len()) } else { line.len()..line.len() }
    }
}

/// The span without blanks and quotation marks at its ends.
fn trimmed(line: &str, span: Range<usize>) -> Range<usize> {
    let text = &line[span.clone()];
    let left = text.len() - text.trim_start().len();
    let kept = text.trim();
    let inner = kept.strip_prefix('"').map_or(kept, |k| k.strip_suffix('"').unwrap_or(k));
    let quote = usize::from(kept.starts_with('"'));
    let start = span.start + left + quote;
    start..start + inner.len()
}

/// Moves past blank lines and notes to where the record itself starts.
fn skip_notes(text: &str, mut at: usize) -> usize {
    loop {
        let rest = &text[at..];
        let step = rest.len() - rest.trim_start_matches(['\n', '\r']).len();
        at += step;
        if !text[at..].starts_with('#') {
            return at;
        }
        at += text[at..].find(['\n', '\r']).unwrap_or(text.len() - at);
    }
}

/// Lone carriage returns as line feeds, byte for byte: the `csv` crate ends a note at a line feed only.
fn line_feeds(text: String) -> String {
    if !text.contains('\r') {
        return text;
    }
    let mut bytes = text.into_bytes();
    for at in 0..bytes.len() {
        if bytes[at] == b'\r' && bytes.get(at + 1) != Some(&b'\n') {
            bytes[at] = b'\n';
        }
    }
    String::from_utf8(bytes).unwrap_or_default()
}

/// Line ends in a piece of text; CRLF is one.
fn line_ends(text: &str) -> usize {
    let bytes = text.as_bytes();
    (0..bytes.len()).filter(|&i| bytes[i] == b'\n' || (bytes[i] == b'\r' && bytes.get(i + 1) != Some(&b'\n'))).count()
}

/// Whether the last record opens a quotation mark that the file never closes.
fn unclosed_quote(text: &str, last: Option<&Record>) -> bool {
    last.is_some_and(|record| text[record.start..].bytes().filter(|b| *b == b'"').count() % 2 == 1)
}

/// The separator, from the first line that is not a note: header names hold neither tabs nor semicolons.
fn delimiter_of(text: &str) -> u8 {
    let header = text.split(['\n', '\r']).find(|line| !line.trim().is_empty() && !line.starts_with('#')).unwrap_or("");
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
    let above = text.lines().take_while(|line| line.starts_with('#') || line.trim().is_empty());
    let pairs = above.filter_map(|line| line.strip_prefix('#')?.split_once(" = "));
    let word = |name: &str| name.trim().bytes().all(|b| b.is_ascii_lowercase() || b == b'_');
    pairs.filter(|(name, _)| word(name)).map(|(name, value)| (name.trim().to_owned(), value.trim().to_owned())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const COLUMNS: Columns = Columns { needed: &["part", "price"], optional: &["mass_g"], shared: &[] };

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
            assert_eq!(sheet.rows().map(|r| r.line()).collect::<Vec<_>>(), lines, "{text:?}");
        }
    }

    #[test]
    fn a_cell_points_at_itself() {
        let (sheet, _) = read("part;price\n\"a;b\"; \"12,5x\" \n");
        let error = sheet.rows().next().unwrap().cell("price").error("expected a number");
        let place = error.place.unwrap();
        assert_eq!((place.line, place.characters_before, &place.excerpt[place.span]), (2, 8, "12,5x"));
    }

    #[test]
    fn header_is_checked_by_name() {
        let (_, problems) = read("part,prise,part\na,1,b\n");
        let text: Vec<_> = problems.iter().map(|p| p.message.as_str()).collect();
        assert_eq!(text, ["column `prise` is not known here and is not read", "column `part` stands twice", "column `price` is missing"]);
    }

    #[test]
    fn utf16_and_marks() {
        let wide: Vec<u8> = [0xFF, 0xFE].into_iter().chain("part;price\nä;1\n".encode_utf16().flat_map(u16::to_le_bytes)).collect();
        let mut problems = Problems::new();
        let sheet = Sheet::read("p", &wide, &COLUMNS, &mut problems);
        assert_eq!(sheet.rows().next().unwrap().cell("part").text(), "ä");
        assert!(problems.is_empty());
    }
}
