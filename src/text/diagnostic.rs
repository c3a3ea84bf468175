//! Problems as data: severity, message, place, notes and help; drawn elsewhere.

use std::collections::BTreeSet;
use std::fmt;
use std::hash::{DefaultHasher, Hash, Hasher};
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
pub struct Location {
    /// The file, as the user named it.
    pub(crate) path: Arc<str>,
    /// The line, from 1.
    pub(crate) line: usize,
    /// The column of the table, by name.
    pub column: Option<String>,
    /// The line's text, or a window of it; empty when it is not shown.
    pub(crate) excerpt: String,
    /// The bytes of the excerpt to point at.
    pub(crate) span: Range<usize>,
    /// Characters of the line before the span.
    pub(crate) characters_before: usize,
}

impl Location {
    /// A whole line, whose text is not shown.
    pub(crate) fn line(path: Arc<str>, line: usize) -> Location {
        Location {
            path,
            line,
            column: None,
            excerpt: String::new(),
            span: 0..0,
            characters_before: 0,
        }
    }

    /// A span of bytes within a line, of which at most a window is kept.
    pub(crate) fn within(path: Arc<str>, line: usize, text: &str, span: Range<usize>) -> Location {
        const WINDOW: usize = 120;
        let characters_before = text.get(..span.start).map_or(0, |s| s.chars().count());
        let boundary = |mut at: usize| {
            while !text.is_char_boundary(at) {
                at -= 1;
            }
            at
        };
        let start = if text.len() <= WINDOW {
            0
        } else {
            boundary(span.start.saturating_sub(WINDOW / 2))
        };
        let end = boundary(text.len().min(start.max(span.start) + WINDOW));
        let (before, after) = (
            if start > 0 { "…" } else { "" },
            if end < text.len() { "…" } else { "" },
        );
        let from = (span.start - start).min(end - start);
        let to = span.end.saturating_sub(start).clamp(from, end - start);
        let (from, to) = (from + before.len(), to + before.len());
        let excerpt = format!("{before}{}{after}", &text[start..end]);
        Location {
            path,
            line,
            column: None,
            excerpt,
            span: from..to,
            characters_before,
        }
    }
}

impl Location {
    /// Whether the excerpt begins after the line does.
    pub(crate) fn is_cut(&self) -> bool {
        self.excerpt
            .get(..self.span.start)
            .is_some_and(|before| before.chars().count() != self.characters_before)
    }
}

/// `parts.csv:7`, or `book.xlsx, sheet parts, row 7`.
pub(crate) fn position(path: &str, line: usize) -> String {
    if path.contains(", sheet ") {
        format!("{path}, row {line}")
    } else {
        format!("{path}:{line}")
    }
}

impl Severity {
    fn index(self) -> usize {
        usize::from(self == Severity::Warning)
    }
}

impl fmt::Display for Location {
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
    pub place: Option<Location>,
    /// Facts beside it.
    pub notes: Vec<String>,
    /// What to do.
    pub help: Option<String>,
}

/// The message about something that cannot happen, and did.
pub(crate) const REPORT: &str =
    "This is a defect of landwaiter and not of the book: please report it, with the book";

impl Diagnostic {
    /// A problem that refuses the input.
    pub(crate) fn error(message: impl Into<String>) -> Diagnostic {
        Diagnostic {
            severity: Severity::Error,
            message: message.into(),
            place: None,
            notes: Vec::new(),
            help: None,
        }
    }

    /// What cannot happen, and did: no fault of what was given.
    pub(crate) fn defect(what: &str) -> Diagnostic {
        Diagnostic::error(format!("{what}. {REPORT}"))
    }

    /// A problem that does not.
    pub(crate) fn warning(message: impl Into<String>) -> Diagnostic {
        Diagnostic {
            severity: Severity::Warning,
            ..Diagnostic::error(message)
        }
    }

    /// Says where.
    #[must_use]
    pub(crate) fn at(mut self, place: Location) -> Diagnostic {
        self.place = Some(place);
        self
    }

    /// Adds a fact.
    #[must_use]
    pub(crate) fn note(mut self, note: impl Into<String>) -> Diagnostic {
        self.notes.push(note.into());
        self
    }

    /// Says what to do.
    #[must_use]
    pub(crate) fn help(mut self, help: impl Into<String>) -> Diagnostic {
        self.help = Some(help.into());
        self
    }

    /// Where it stands among others: what has no place comes first.
    fn order(&self) -> Option<(Arc<str>, usize, usize)> {
        self.place
            .as_ref()
            .map(|at| (at.path.clone(), at.line, at.characters_before))
    }

    /// Turns an error into a warning.
    #[must_use]
    #[expect(
        clippy::wrong_self_convention,
        reason = "a call reads as a sentence: an error, as a warning"
    )]
    pub(crate) fn as_warning(mut self) -> Diagnostic {
        self.severity = Severity::Warning;
        self
    }
}

impl From<Overflow> for Diagnostic {
    fn from(overflow: Overflow) -> Diagnostic {
        Diagnostic::error(overflow.to_string())
            .help("look for a price, a quantity or a rate with too many digits")
    }
}

/// At most this many problems of each severity are kept with their words, the first ones of the files; the others are counted.
const KEPT: usize = 1000;

/// All the problems found so far.
#[derive(Debug, Default)]
pub struct Problems {
    list: Vec<Diagnostic>,
    /// How many of the list are of each severity.
    kept: [usize; 2],
    /// Digests of all that was said, kept or only counted, by severity.
    said: [BTreeSet<u128>; 2],
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
    pub(crate) fn push(&mut self, problem: Diagnostic) {
        let digest = digest(&problem);
        let severity = problem.severity;
        if self.said.iter().any(|said| said.contains(&digest)) {
            return;
        }
        self.said[severity.index()].insert(digest);
        self.list.push(problem);
        self.kept[severity.index()] += 1;
        if self.kept[severity.index()] > 2 * KEPT {
            self.cut(severity);
        }
    }

    /// Lets the words go of all problems of a severity but the first in the files.
    fn cut(&mut self, severity: Severity) {
        let mut own: Vec<usize> = (0..self.list.len())
            .filter(|at| self.list[*at].severity == severity)
            .collect();
        own.sort_by_key(|at| self.list[*at].order());
        let beyond: BTreeSet<usize> = own.into_iter().skip(KEPT).collect();
        self.kept[severity.index()] -= beyond.len();
        let mut at = 0;
        self.list.retain(|_| {
            at += 1;
            !beyond.contains(&(at - 1))
        });
    }

    /// Keeps the value, or the problem instead.
    pub(crate) fn keep<T>(&mut self, result: Result<T, Diagnostic>) -> Option<T> {
        result.map_err(|problem| self.push(problem)).ok()
    }

    /// Adds problems that are kept where they are, too.
    pub(crate) fn also(&mut self, others: &Problems) {
        others.iter().for_each(|one| self.push(one.clone()));
    }

    /// Takes over another list.
    pub(crate) fn extend(&mut self, others: Problems) {
        for problem in others.list {
            self.push(problem);
        }
        for (severity, said) in others.said.into_iter().enumerate() {
            for digest in said {
                if !self.said.iter().any(|said| said.contains(&digest)) {
                    self.said[severity].insert(digest);
                }
            }
        }
    }

    /// Without the warnings.
    #[must_use]
    pub(crate) fn errors_alone(mut self) -> Problems {
        self.list
            .retain(|problem| problem.severity == Severity::Error);
        self.kept[Severity::Warning.index()] = 0;
        self.said[Severity::Warning.index()].clear();
        self
    }

    /// Whether the input is refused.
    pub fn refuse(&self) -> bool {
        self.count(Severity::Error) > 0
    }

    /// Whether there are too many errors for rows to be kept any more: nothing will be calculated with them.
    pub(crate) fn too_many(&self) -> bool {
        self.count(Severity::Error) > 2 * KEPT
    }

    /// How many there are of a severity, whether their words are kept or not.
    pub(crate) fn count(&self, severity: Severity) -> usize {
        self.said[severity.index()].len()
    }

    /// Ordered by file and line, errors and warnings together as one reads the file; of each severity the first are kept.
    #[must_use]
    pub fn sorted(mut self) -> Problems {
        for severity in [Severity::Error, Severity::Warning] {
            if self.kept[severity.index()] > KEPT {
                self.cut(severity);
            }
        }
        self.list.sort_by_key(Diagnostic::order);
        self
    }

    /// The problems whose words are kept.
    pub fn iter(&self) -> impl Iterator<Item = &Diagnostic> {
        self.list.iter()
    }

    /// All that is said, as one phrase for a sentence.
    pub(crate) fn joined(&self) -> String {
        let all: Vec<&str> = self
            .list
            .iter()
            .map(|problem| problem.message.as_str())
            .collect();
        super::words::list(&all, "and")
    }

    /// How many, whether their words are kept or not.
    pub(crate) fn len(&self) -> usize {
        self.said.iter().map(BTreeSet::len).sum()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

/// Two hashes in one of a place and of the message about it.
fn digest(problem: &Diagnostic) -> u128 {
    let half = |seed: u8| {
        let mut hasher = DefaultHasher::new();
        (seed, problem.order(), &problem.message).hash(&mut hasher);
        u128::from(hasher.finish())
    };
    half(0) << 64 | half(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(line: usize) -> Location {
        Location::line(Arc::from("parts.csv"), line)
    }

    #[test]
    fn beyond_a_thousand_problems_are_counted_and_the_first_lines_are_kept() {
        let mut problems = Problems::new();
        for line in (1..=5000).rev() {
            problems.push(Diagnostic::error("bad").at(at(line)));
            problems.push(Diagnostic::error("bad").at(at(line)));
            problems.push(Diagnostic::warning("odd").at(at(line)));
        }
        problems.push(Diagnostic::warning("bad").at(at(4000)));
        let mut more = Problems::from(Diagnostic::error("worse"));
        more.extend(problems);
        let problems = more.sorted();
        assert_eq!(
            (
                problems.count(Severity::Error),
                problems.count(Severity::Warning),
                problems.len()
            ),
            (5001, 5000, 10_001)
        );
        assert_eq!(problems.iter().count(), 2 * KEPT);
        let lines: Vec<usize> = problems
            .iter()
            .filter(|p| p.severity == Severity::Warning)
            .filter_map(|p| p.place.as_ref())
            .map(|p| p.line)
            .collect();
        assert_eq!(lines, (1..=KEPT).collect::<Vec<_>>());
        assert!(problems.refuse());
    }

    #[test]
    fn an_error_that_is_only_counted_refuses_still() {
        let mut problems = Problems::new();
        (1..=3 * KEPT).for_each(|line| problems.push(Diagnostic::error("bad").at(at(line))));
        let mut others = Problems::new();
        others.extend(problems);
        assert!(others.refuse() && others.errors_alone().count(Severity::Error) == 3 * KEPT);
    }
}
