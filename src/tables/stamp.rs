//! What every row of `rates/` carries: the days it is in force, its source and that text's own date, when it was last read and how sure it is;
//! and how a user's row takes the place of a built-in one.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt;
use std::sync::Arc;

use crate::text::words::{one_of, word_of};
use crate::text::{Columns, Diagnostic, Location, Problems, Row, Sheet, words};
use crate::units::{Date, Span};

/// The columns every rule table shares.
pub(super) const PROVENANCE: &[&str] = &[
    "valid_from",
    "valid_to",
    "source",
    "dated",
    "checked",
    "evidence",
    "certainty",
    "dispute",
];

/// Whether the law in a row counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Certainty {
    /// In force.
    Certain,
    /// In force by its text; practice differs.
    Disputed,
    /// Not in force yet.
    Announced,
    /// Struck down; refunds may be possible.
    Annulled,
}

/// How a row's figure is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Evidence {
    /// The source names the text.
    Read,
    /// Follows from what was read.
    Inferred,
    /// From memory, not read again.
    Recalled,
}

const CERTAINTIES: [(&str, Certainty); 4] = [
    ("certain", Certainty::Certain),
    ("disputed", Certainty::Disputed),
    ("announced", Certainty::Announced),
    ("annulled", Certainty::Annulled),
];

const EVIDENCES: [(&str, Evidence); 3] = [
    ("read", Evidence::Read),
    ("inferred", Evidence::Inferred),
    ("recalled", Evidence::Recalled),
];

impl fmt::Display for Certainty {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(word_of(&CERTAINTIES, *self))
    }
}

impl fmt::Display for Evidence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(word_of(&EVIDENCES, *self))
    }
}

/// Where a row stands: `rates/gb/charges.csv:14`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct RowRef {
    /// The file.
    pub path: Arc<str>,
    /// Its line.
    pub(crate) line: usize,
}

impl RowRef {
    /// The row of a place.
    pub(crate) fn of(place: Location) -> RowRef {
        RowRef {
            path: place.path,
            line: place.line,
        }
    }

    /// As a place to draw.
    pub(crate) fn place(&self) -> Location {
        Location::line(self.path.clone(), self.line)
    }
}

impl fmt::Display for RowRef {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&crate::text::position(&self.path, self.line))
    }
}

/// A disputed row in words, for people who will not open the file that it stands in.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Dispute {
    /// Its country, its table and its goods: `United Kingdom, anti-dumping duty, wheels from China`.
    pub(crate) name: String,
    /// Both readings and who decides, in one sentence; none where a table of the user's has no column for it.
    pub(crate) said: Option<Arc<str>>,
}

/// The provenance of one row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Provenance {
    /// Where it stands.
    pub(crate) row: RowRef,
    /// The days it is in force.
    pub span: Span,
    /// The text behind it.
    pub(crate) source: Arc<str>,
    /// The text's own date: when it was published or last amended.
    pub(crate) dated: Option<Date>,
    /// When that text was last read.
    pub(crate) checked: Option<Date>,
    /// How its figure is known.
    pub(crate) evidence: Evidence,
    /// Whether it counts.
    pub(crate) certainty: Certainty,
    /// What is disputed, on a row that is.
    pub(crate) dispute: Option<Arc<Dispute>>,
    /// Whether it comes from the user's own folder.
    pub(crate) users: bool,
}

impl Provenance {
    /// The stamp of a figure that a book's own row gives.
    pub(crate) fn of_book(row: RowRef) -> Provenance {
        Provenance {
            row,
            span: Span::default(),
            source: Arc::from("the book's own row"),
            dated: None,
            checked: None,
            evidence: Evidence::Read,
            certainty: Certainty::Certain,
            dispute: None,
            users: true,
        }
    }

    /// Whether the row counts in a sum at all.
    pub(crate) fn counts(&self) -> bool {
        matches!(self.certainty, Certainty::Certain | Certainty::Disputed)
    }

    /// Whether the row counts on a day.
    pub(crate) fn in_force(&self, day: Date) -> bool {
        self.counts() && self.span.holds(day)
    }

    /// Both readings of a disputed row and who decides, where its table says so.
    pub(crate) fn dispute_said(&self) -> Option<&str> {
        self.dispute.as_ref()?.said.as_deref()
    }

    /// Whether practice differs from the row's text.
    pub(crate) fn disputed(&self) -> bool {
        self.certainty == Certainty::Disputed
    }
}

/// A row and its provenance.
#[derive(Debug, Clone)]
pub struct Dated<T> {
    /// What it says.
    pub rule: T,
    /// Where it comes from.
    pub stamp: Provenance,
}

/// A kind of row in a rule table.
pub(crate) trait Rule: Sized + Clone {
    /// Its own columns.
    const COLUMNS: Columns;
    /// Reads its own cells.
    fn read(row: &Row<'_>, problems: &mut Problems) -> Option<Self>;
    /// What a user's row must share with it to take its place.
    fn key(&self) -> String;
    /// What it is in words, for a row that is disputed.
    fn titled(&self) -> String {
        self.key()
    }
    /// What may stand only once on any day.
    fn twin(&self) -> String {
        self.key()
    }
}

/// A table file: its name and contents, built in or the user's.
#[derive(Debug, Clone)]
pub struct File {
    /// Path as shown: `rates/gb/charges.csv`.
    pub path: String,
    /// Path below the folder of tables: `gb/charges.csv`.
    pub name: String,
    /// Its bytes.
    pub bytes: Cow<'static, [u8]>,
    /// Whether it is the user's.
    pub users: bool,
}

/// Reads a whole file into rows.
fn read_rows<R: Rule>(file: &File, problems: &mut Problems) -> Vec<Dated<R>> {
    let sheet = Sheet::read(&file.path, &file.bytes, &R::COLUMNS, problems);
    if file.users && memchr::memchr(b'"', &file.bytes).is_some() {
        on_one_line(&sheet, &R::COLUMNS, problems);
    }
    let alike = marks_alike(&sheet);
    let mut rows: Vec<Dated<R>> = Vec::with_capacity(sheet.len());
    rows.extend(
        sheet
            .rows()
            .filter_map(|row| read_row(&sheet, &row, file.users, alike.as_ref(), problems)),
    );
    // a test looks for twins in the built-in tables
    if !matches!(file.bytes, Cow::Borrowed(_)) {
        twins(&rows, problems);
    }
    rows
}

/// What a row of a user's table says stands on one line; what stands behind it may have several.
fn on_one_line(sheet: &Sheet, columns: &Columns, problems: &mut Problems) {
    for row in sheet.rows() {
        let cells = columns
            .needed
            .iter()
            .chain(columns.optional)
            .map(|name| row.cell(name));
        for cell in cells.filter(|cell| cell.text().contains(['\n', '\r'])) {
            problems.push(
                cell.error("expected a text on one line")
                    .help("a line break may stand in `source` and `note` alone"),
            );
        }
    }
}

/// The rows of files, one after another.
pub(super) fn rows_of<'f, R: Rule>(
    files: impl Iterator<Item = &'f File>,
    problems: &mut Problems,
) -> Vec<Dated<R>> {
    let mut all = Vec::new();
    for file in files {
        let rows = read_rows(file, problems);
        if all.is_empty() {
            all = rows;
        } else {
            all.extend(rows);
        }
    }
    all
}

fn read_row<R: Rule>(
    sheet: &Sheet,
    row: &Row<'_>,
    users: bool,
    alike: Option<&Marks>,
    problems: &mut Problems,
) -> Option<Dated<R>> {
    let stamp = read_stamp(sheet, row, users, alike, problems);
    let rule = R::read(row, problems);
    let (rule, mut stamp) = (rule?, stamp?);
    if stamp.disputed() {
        stamp.dispute = Some(Arc::new(Dispute {
            name: titled(&stamp, &rule.titled()),
            said: noted(sheet, row, "dispute").map(Arc::from),
        }));
    }
    Some(Dated { rule, stamp })
}

/// A row by whose it is and what it is.
fn titled(stamp: &Provenance, what: &str) -> String {
    let of = if stamp.users {
        "your own table".to_owned()
    } else {
        super::law_names::folder(&stamp.row.path)
    };
    format!("{of}, {what}")
}

/// Reads the provenance cells; a note above the header stands in for an empty one, and marks that are the same for the
/// whole file are read once.
fn read_stamp(
    sheet: &Sheet,
    row: &Row<'_>,
    users: bool,
    alike: Option<&Marks>,
    problems: &mut Problems,
) -> Option<Provenance> {
    let span = read_span(sheet, row, problems);
    let marks = match alike {
        Some(marks) => marks.clone(),
        None => read_marks(sheet, row, problems)?,
    };
    let counts = matches!(marks.certainty, Certainty::Certain | Certainty::Disputed);
    if counts && span.from.is_none() && row.cell("valid_from").is_empty() {
        problems.push(
            row.cell("valid_from")
                .error("expected the first day on which the row counts, such as `2026-01-01`"),
        );
    }
    let row_ref = RowRef {
        path: sheet.path().clone(),
        line: row.line(),
    };
    let Marks {
        source,
        dated,
        checked,
        evidence,
        certainty,
    } = marks;
    Some(Provenance {
        row: row_ref,
        span,
        source,
        dated,
        checked,
        evidence,
        certainty,
        dispute: None,
        users,
    })
}

/// What stands behind a row, and how sure it is.
#[derive(Debug, Clone)]
pub(super) struct Marks {
    pub(super) source: Arc<str>,
    dated: Option<Date>,
    checked: Option<Date>,
    evidence: Evidence,
    pub(super) certainty: Certainty,
}

/// The columns of [`Marks`] and what is disputed; a file without them has the same marks in every row.
pub(crate) const MARKS: [&str; 6] = [
    "source",
    "dated",
    "checked",
    "evidence",
    "certainty",
    "dispute",
];

/// The marks of every row of a file that has no columns for them; none where its notes are wrong, which each row says.
fn marks_alike(sheet: &Sheet) -> Option<Marks> {
    let own = sheet.headers().any(|name| MARKS.contains(&name));
    let first = sheet.rows().next().filter(|_| !own)?;
    let mut problems = Problems::new();
    let marks = read_marks(sheet, &first, &mut problems);
    marks.filter(|_| problems.is_empty())
}

/// The row's own cell, else the note above the header.
fn noted<'a>(sheet: &'a Sheet, row: &Row<'a>, name: &'static str) -> Option<&'a str> {
    row.cell(name).some().or_else(|| sheet.note(name))
}

fn date(sheet: &Sheet, row: &Row<'_>, name: &'static str, problems: &mut Problems) -> Option<Date> {
    let text = noted(sheet, row, name)?;
    problems.keep(Date::parse(text).map_err(|expected| row.cell(name).error(expected)))
}

/// The days a row is in force.
pub(super) fn read_span(sheet: &Sheet, row: &Row<'_>, problems: &mut Problems) -> Span {
    let (from, to) = (
        date(sheet, row, "valid_from", problems),
        date(sheet, row, "valid_to", problems),
    );
    if from.zip(to).is_some_and(|(from, to)| to < from) {
        problems.push(
            row.cell("valid_to")
                .error("expected a day on or after `valid_from`"),
        );
    }
    Span { from, to }
}

/// Source, reading and marks.
pub(super) fn read_marks(sheet: &Sheet, row: &Row<'_>, problems: &mut Problems) -> Option<Marks> {
    let (dated, checked) = (
        date(sheet, row, "dated", problems),
        date(sheet, row, "checked", problems),
    );
    let certainty = mark(
        sheet,
        row,
        "certainty",
        &CERTAINTIES,
        Certainty::Certain,
        problems,
    );
    let evidence = mark(
        sheet,
        row,
        "evidence",
        &EVIDENCES,
        Evidence::Recalled,
        problems,
    );
    let source = Arc::from(noted(sheet, row, "source").unwrap_or("your own table"));
    Some(Marks {
        source,
        dated,
        checked,
        evidence: evidence?,
        certainty: certainty?,
    })
}

/// One mark, by its word; what it is when nothing is written.
fn mark<T: Copy>(
    sheet: &Sheet,
    row: &Row<'_>,
    name: &'static str,
    words: &[(&'static str, T)],
    usual: T,
    problems: &mut Problems,
) -> Option<T> {
    match noted(sheet, row, name) {
        None => Some(usual),
        Some(text) => {
            problems.keep(one_of(words, text).map_err(|expected| row.cell(name).error(expected)))
        }
    }
}

/// Two rows that count and say different things about one day are an error.
fn twins<R: Rule>(rows: &[Dated<R>], problems: &mut Problems) {
    let mut counting: Vec<(String, &Provenance)> = Vec::with_capacity(rows.len());
    counting.extend(
        rows.iter()
            .filter(|r| r.stamp.counts())
            .map(|r| (r.rule.twin(), &r.stamp)),
    );
    counting.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.span.from.cmp(&b.1.span.from)));
    for pair in counting.windows(2) {
        let [(key, one), (other_key, other)] = pair else {
            continue;
        };
        if key != other_key {
            continue;
        }
        if one.span.overlaps(&other.span) {
            let both = format!(
                "two rows for one day: {} in force {} and {}",
                words::quoted(key),
                one.span,
                other.span
            );
            let help = "end the first the day before the second begins";
            problems.push(
                Diagnostic::error(both)
                    .at(other.row.place())
                    .note(format!("the other row is {}", one.row))
                    .help(help),
            );
        } else if let Some((end, start)) = one
            .span
            .to
            .zip(other.span.from)
            .filter(|(end, start)| other.users && end.plus_days(1) < *start)
        {
            let hole = format!(
                "no row of {} from {} to {}",
                words::quoted(key),
                end.plus_days(1),
                start.minus_days(1)
            );
            problems.push(Diagnostic::warning(hole).at(other.row.place()));
        }
    }
}

/// A user's row that switches a row off must find one of its key.
pub(super) fn idle_switches<R: Rule>(
    under: &[Dated<R>],
    over: &[Dated<R>],
    problems: &mut Problems,
) {
    for row in over
        .iter()
        .filter(|row| row.stamp.users && row.stamp.certainty == Certainty::Annulled)
    {
        let key = row.rule.key();
        if !under
            .iter()
            .any(|old| old.rule.key() == key && old.stamp.span.overlaps(&row.stamp.span))
        {
            let what = format!(
                "the row is `annulled` and switches nothing off: on its days there is no built-in row {}",
                words::quoted(key.trim())
            );
            problems.push(Diagnostic::warning(what).at(row.stamp.row.place()));
        }
    }
}

/// Lays rows over rows of a wider or older table: on the days a new row covers, an old row of the same key is replaced.
/// Returns what stands, and the parts that were replaced.
pub(super) fn overlay<R: Rule>(
    under: Vec<Dated<R>>,
    over: Vec<Dated<R>>,
) -> (Vec<Dated<R>>, Vec<Dated<R>>) {
    if under.is_empty() || over.is_empty() {
        return (if under.is_empty() { over } else { under }, Vec::new());
    }
    let (mut standing, mut replaced) = (Vec::with_capacity(under.len()), Vec::new());
    let mut covers: BTreeMap<String, Vec<&Dated<R>>> = under
        .iter()
        .map(|row| (row.rule.key(), Vec::new()))
        .collect();
    for new in over
        .iter()
        .filter(|new| new.stamp.certainty != Certainty::Announced)
    {
        if let Some(covers) = covers.get_mut(&new.rule.key()) {
            covers.push(new);
        }
    }
    for row in under {
        let key = row.rule.key();
        let mut pieces = vec![row];
        for cover in covers.get(&key).into_iter().flatten() {
            pieces = pieces
                .into_iter()
                .flat_map(|piece| cut(&piece, &cover.stamp.span, &mut replaced))
                .collect();
        }
        standing.extend(pieces);
    }
    let mut all = over;
    all.splice(0..0, standing);
    (all, replaced)
}

/// The parts of a row outside the span; the part inside goes to the list of replaced rows.
fn cut<R: Rule>(row: &Dated<R>, span: &Span, replaced: &mut Vec<Dated<R>>) -> Vec<Dated<R>> {
    let part = |from, to| Dated {
        rule: row.rule.clone(),
        stamp: Provenance {
            span: Span { from, to },
            ..row.stamp.clone()
        },
    };
    if !row.stamp.span.overlaps(span) {
        return vec![part(row.stamp.span.from, row.stamp.span.to)];
    }
    let mut kept = Vec::new();
    if let Some((own, start)) = row
        .stamp
        .span
        .from
        .zip(span.from)
        .filter(|(own, start)| own < start)
    {
        kept.push(part(Some(own), Some(start.minus_days(1))));
    }
    if let Some(end) = span
        .to
        .filter(|end| row.stamp.span.to.is_none_or(|own| own > *end))
    {
        kept.push(part(Some(end.plus_days(1)), row.stamp.span.to));
    }
    let from = row.stamp.span.from.max(span.from);
    let to = [row.stamp.span.to, span.to].into_iter().flatten().min();
    replaced.push(part(from, to));
    kept
}
