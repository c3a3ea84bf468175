//! Draws problems: message, file, line and column, the line itself with the cell marked, notes and help.

use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};

use super::diagnostic::{Diagnostic, Problems, Severity};
use super::words::count;

/// At most so many problems are drawn; the rest are counted.
const MOST: usize = 20;

/// Draws all problems, plain or in colour, ending with a count when some were left out.
pub fn draw(problems: &Problems, colour: bool) -> String {
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    let mut out = String::new();
    for problem in problems.iter().take(MOST) {
        out.push_str(&renderer.render(&[group(problem)]));
        out.push_str("\n\n");
    }
    let rest = problems.len().saturating_sub(MOST);
    if rest > 0 {
        out.push_str(&format!("and {} more\n", count(rest, "problem", "problems")));
    }
    out
}

fn group(problem: &Diagnostic) -> Group<'_> {
    let level = match problem.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    let mut group = Group::with_title(level.primary_title(problem.message.as_str()));
    if let Some(place) = &problem.place {
        if place.excerpt.is_empty() {
            group = group.element(Origin::path(&*place.path).line(place.line));
        } else {
            let mark = AnnotationKind::Primary.span(place.span.clone());
            let snippet = Snippet::source(place.excerpt.as_str()).line_start(place.line).path(&*place.path).annotation(mark);
            group = group.element(snippet);
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
