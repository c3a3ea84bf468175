//! `check` as a list: what is wrong stands with the drawn problems; here are the holes, the doubts and what comes next.

use super::view::View;
use crate::landed::Caution;
use crate::text::words::list;

/// Cautions as short lines, each with what it is about.
pub fn caution_lines(cautions: &[Caution]) -> Vec<String> {
    const MOST: usize = 6;
    let line = |caution: &Caution| {
        let mut about: Vec<String> = caution.about.iter().take(MOST).cloned().collect();
        if caution.about.len() > MOST {
            about.push(format!("{} more", caution.about.len() - MOST));
        }
        let about = if about.is_empty() { String::new() } else { format!(" ({})", list(&about, "and")) };
        format!("{}{about} [{}]", caution.text, caution.id)
    };
    cautions.iter().map(line).collect()
}

/// What `check` says when nothing is refused: one sentence, the findings, the next useful command.
pub fn check_view(sentence: String, findings: Vec<String>, next: &str) -> View {
    let mut view = View::default();
    view.say(sentence);
    view.notes(findings);
    view.say(format!("Next: {next}"));
    view
}
