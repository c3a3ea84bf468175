//! Draws problems: message, file, line and column, the line itself with the cell marked, notes and help.

use std::borrow::Cow;

use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};

use super::diagnostic::{Diagnostic, Problems, Severity};
use super::visible::visible;
use super::words::count;

/// At most this many problems are drawn; the rest are counted.
const MOST: usize = 20;

/// Draws all problems, plain or in colour, errors before warnings, ending with a count of each when some were left out.
pub fn draw(problems: &Problems, colour: bool) -> String {
    let renderer = if colour {
        Renderer::styled()
    } else {
        Renderer::plain()
    };
    let mut out = String::new();
    let of = |severity: Severity| {
        problems
            .iter()
            .filter(move |problem| problem.severity == severity)
    };
    for problem in of(Severity::Error).chain(of(Severity::Warning)).take(MOST) {
        let drawn = renderer.render(&[group(&shown(problem))]);
        drawn
            .lines()
            .filter(|line| !is_joint(line))
            .for_each(|line| {
                out.push_str(line);
                out.push('\n');
            });
        out.push('\n');
    }
    let errors = problems.count(Severity::Error);
    let warnings = problems.count(Severity::Warning);
    let drawn = errors.min(MOST);
    out.push_str(&rest(errors - drawn, warnings.saturating_sub(MOST - drawn)));
    out
}

/// `and 3 more errors, 20 warnings`; nothing when nothing was left out.
fn rest(errors: usize, warnings: usize) -> String {
    match (errors, warnings) {
        (0, 0) => String::new(),
        (0, warnings) => format!("and {}\n", count(warnings, "more warning", "more warnings")),
        (errors, 0) => format!("and {}\n", count(errors, "more error", "more errors")),
        (errors, warnings) => {
            format!(
                "and {}, {}\n",
                count(errors, "more error", "more errors"),
                count(warnings, "warning", "warnings")
            )
        }
    }
}

/// The library's own joint between a place and a line that names none.
fn is_joint(line: &str) -> bool {
    line.trim_end_matches("\u{1b}[0m")
        .trim_end()
        .ends_with(":::")
}

/// The problem with whatever is not seen in it shown, and its place pointing at the same letters.
fn shown(problem: &Diagnostic) -> Diagnostic {
    let mut shown = problem.clone();
    shown.message = visible(&problem.message).into_owned();
    shown
        .notes
        .iter_mut()
        .for_each(|note| *note = visible(note).into_owned());
    shown.help = problem
        .help
        .as_deref()
        .map(|help| visible(help).into_owned());
    if let Some(place) = &mut shown.place {
        if let Cow::Owned(path) = visible(&place.path) {
            place.path = path.replace('\n', "\\n").into();
        }
        let pieces = (
            place.excerpt.get(..place.span.start),
            place.excerpt.get(place.span.clone()),
            place.excerpt.get(place.span.end..),
        );
        if let (Some(before), Some(marked), Some(after)) = pieces {
            let (before, marked, after) =
                (whole_tabs(before), whole_tabs(marked), whole_tabs(after));
            place.span = before.len()..before.len() + marked.len();
            place.excerpt = before + &marked + &after;
        }
    }
    shown
}

/// A piece of a line, in which tabs are the separators they are.
fn whole_tabs(piece: &str) -> String {
    piece
        .split('\t')
        .map(visible)
        .collect::<Vec<_>>()
        .join("\t")
}

fn group(problem: &Diagnostic) -> Group<'_> {
    let level = match problem.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    let mut group = Group::with_title(level.primary_title(problem.message.as_str()));
    if let Some(place) = &problem.place {
        if place.path.contains(", sheet ") {
            group = group.element(Origin::path(place.to_string()));
            if !place.excerpt.is_empty() {
                let mark = AnnotationKind::Primary.span(place.span.clone());
                group = group.element(
                    Snippet::source(place.excerpt.as_str())
                        .line_start(place.line)
                        .annotation(mark),
                );
            }
        } else if place.excerpt.is_empty() {
            let origin = Origin::path(&*place.path).line(place.line);
            let before = place.characters_before;
            group = group.element(if before > 0 {
                origin.char_column(before + 1)
            } else {
                origin
            });
        } else {
            let mark = AnnotationKind::Primary.span(place.span.clone());
            let snippet = Snippet::source(place.excerpt.as_str())
                .line_start(place.line)
                .annotation(mark);
            if place.is_cut() {
                let origin = Origin::path(&*place.path)
                    .line(place.line)
                    .char_column(place.characters_before + 1);
                group = group.element(origin).element(snippet);
            } else {
                group = group.element(snippet.path(&*place.path));
            }
        }
    }
    for note in &problem.notes {
        group = group.element(Level::NOTE.message(note.as_str()));
    }
    match &problem.help {
        Some(help) => group.element(Level::HELP.message(help.as_str())),
        None => group,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn errors_stand_before_warnings_and_the_cut_counts_them_apart() {
        for (errors, warnings, drawn, said) in [
            (2, 41, (2, 18), "and 23 more warnings"),
            (23, 20, (20, 0), "and 3 more errors, 20 warnings"),
            (21, 0, (20, 0), "and 1 more error"),
            (20, 1, (20, 0), "and 1 more warning"),
            (3, 17, (3, 17), ""),
        ] {
            let mut problems = Problems::new();
            (0..warnings).for_each(|n| problems.push(Diagnostic::warning(format!("odd {n}"))));
            (0..errors).for_each(|n| problems.push(Diagnostic::error(format!("bad {n}"))));
            let text = draw(&problems.sorted(), false);
            assert_eq!(
                (
                    text.matches("error: ").count(),
                    text.matches("warning: ").count()
                ),
                drawn,
                "{text}"
            );
            assert!(
                text.rfind("error: ") < text.find("warning: ").or(Some(text.len())),
                "{text}"
            );
            assert_eq!(text.lines().last().unwrap_or_default(), said, "{text}");
        }
    }
}
