//! Problems as data: severity, message, place, notes and help; drawn elsewhere.

use std::collections::BTreeSet;
use std::fmt;
use std::ops::Range;
use std::sync::Arc;

use crate::units::Overflow;

/// How bad it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The input is refused.
    Error,
    /// The input is taken, and the user told.
    Warning,
}

/// A place in a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// The file, as the user named it.
    pub path: Arc<str>,
    /// The line, from 1.
    pub line: usize,
    /// The column of the table, by name.
    pub column: Option<String>,
    /// The line's text, or a window of it; empty when it is not shown.
    pub excerpt: String,
    /// The bytes of the excerpt to point at.
    pub span: Range<usize>,
    /// Characters of the line before the span.
    pub characters_before: usize,
}

impl Place {
    /// A whole line, whose text is not shown.
    pub fn line(path: Arc<str>, line: usize) -> Place {
        Place { path, line, column: None, excerpt: String::new(), span: 0..0, characters_before: 0 }
    }

    /// A span of bytes within a line, of which at most a window is kept.
    pub fn within(path: Arc<str>, line: usize, text: &str, span: Range<usize>) -> Place {
        const WINDOW: usize = 120;
        let characters_before = text.get(..span.start).map_or(0, |s| s.chars().count());
        let boundary = |mut at: usize| {
            while !text.is_char_boundary(at) {
                at -= 1;
            }
            at
        };
        let start = if text.len() <= WINDOW { 0 } else { boundary(span.start.saturating_sub(WINDOW / 2)) };
        let end = boundary(text.len().min(start.max(span.start) + WINDOW));
        let (before, after) = (if start > 0 { "…" } else { "" }, if end < text.len() { "…" } else { "" });
        let from = (span.start - start).min(end - start);
        let to = span.end.saturating_sub(start).clamp(from, end - start);
        let (from, to) = (from + before.len(), to + before.len());
        let excerpt = format!("{before}{}{after}", &text[start..end]);
        Place { path, line, column: None, excerpt, span: from..to, characters_before }
    }
}

impl Place {
    /// Whether the excerpt begins after the line does.
    pub fn is_cut(&self) -> bool {
        self.excerpt.get(..self.span.start).is_some_and(|before| before.chars().count() != self.characters_before)
    }
}

/// `parts.csv:7`, or `book.xlsx, sheet parts, row 7`.
pub fn position(path: &str, line: usize) -> String {
    if path.contains(", sheet ") { format!("{path}, row {line}") } else { format!("{path}:{line}") }
}

impl fmt::Display for Place {
    /// `parts.csv:7`, or `book.xlsx, sheet parts, row 7`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", position(&self.path, self.line))
    }
}

/// One problem.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostic {
    /// How bad it is.
    pub severity: Severity,
    /// What was found and what was expected; lower case, no full stop.
    pub message: String,
    /// Where.
    pub place: Option<Place>,
    /// Facts beside it.
    pub notes: Vec<String>,
    /// What to do.
    pub help: Option<String>,
}

impl Diagnostic {
    /// A problem that refuses the input.
    pub fn error(message: impl Into<String>) -> Diagnostic {
        Diagnostic { severity: Severity::Error, message: message.into(), place: None, notes: Vec::new(), help: None }
    }

    /// A problem that does not.
    pub fn warning(message: impl Into<String>) -> Diagnostic {
        Diagnostic { severity: Severity::Warning, ..Diagnostic::error(message) }
    }

    /// Says where.
    #[must_use]
    pub fn at(mut self, place: Place) -> Diagnostic {
        self.place = Some(place);
        self
    }

    /// Adds a fact.
    #[must_use]
    pub fn note(mut self, note: impl Into<String>) -> Diagnostic {
        self.notes.push(note.into());
        self
    }

    /// Says what to do.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Diagnostic {
        self.help = Some(help.into());
        self
    }

    /// Turns an error into a warning.
    #[must_use]
    pub fn as_warning(mut self) -> Diagnostic {
        self.severity = Severity::Warning;
        self
    }
}

impl From<Overflow> for Diagnostic {
    fn from(overflow: Overflow) -> Diagnostic {
        Diagnostic::error(overflow.to_string()).help("look for a price, a quantity or a rate with too many digits")
    }
}

/// All the problems found so far.
#[derive(Debug, Default)]
pub struct Problems {
    list: Vec<Diagnostic>,
    said: BTreeSet<(Option<Arc<str>>, usize, usize, String)>,
}

impl<D: Into<Diagnostic>> From<D> for Problems {
    fn from(problem: D) -> Problems {
        let mut problems = Problems::new();
        problems.push(problem.into());
        problems
    }
}

impl Problems {
    /// None yet.
    pub fn new() -> Problems {
        Problems::default()
    }

    /// One more, unless the same was said of the same place.
    pub fn push(&mut self, problem: Diagnostic) {
        let place = problem.place.as_ref();
        let at = place.map_or((None, 0, 0), |p| (Some(p.path.clone()), p.line, p.characters_before));
        if self.said.insert((at.0, at.1, at.2, problem.message.clone())) {
            self.list.push(problem);
        }
    }

    /// Keeps the value, or the problem instead.
    pub fn keep<T>(&mut self, result: Result<T, Diagnostic>) -> Option<T> {
        result.map_err(|problem| self.push(problem)).ok()
    }

    /// Takes over another list.
    pub fn extend(&mut self, others: Problems) {
        for problem in others.list {
            self.push(problem);
        }
    }

    /// Whether the input is refused.
    pub fn refuse(&self) -> bool {
        self.list.iter().any(|p| p.severity == Severity::Error)
    }

    /// Ordered by file and line, errors and warnings together as one reads the file.
    #[must_use]
    pub fn sorted(mut self) -> Problems {
        let key = |p: &Diagnostic| p.place.as_ref().map(|at| (at.path.clone(), at.line, at.characters_before));
        self.list.sort_by_key(key);
        self
    }

    /// The list.
    pub fn iter(&self) -> impl Iterator<Item = &Diagnostic> {
        self.list.iter()
    }

    /// All that is said, as one phrase for a sentence.
    pub fn joined(&self) -> String {
        let all: Vec<&str> = self.list.iter().map(|problem| problem.message.as_str()).collect();
        super::words::list(&all, "and")
    }

    /// How many.
    pub fn len(&self) -> usize {
        self.list.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }
}
