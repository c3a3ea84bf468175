//! Lines broken to a width, in columns of a terminal; and the letters that every terminal has.

use unicode_width::UnicodeWidthStr;

/// How many columns of a terminal a text takes.
pub(super) fn width(text: &str) -> usize {
    UnicodeWidthStr::width(text)
}

/// Breaks a line at blanks so that it fits a width; blanks at its start stay, and a figure stays beside its unit.
pub(super) fn wrap(line: &str, indent: &str, widest: usize) -> String {
    wrap_from(line, indent, widest, 0)
}

/// The same for a line that begins at a column; a word that is longer than a whole line is broken within.
pub(super) fn wrap_from(line: &str, indent: &str, widest: usize, column: usize) -> String {
    let words = line.trim_start_matches(' ');
    let mut out = line[..line.len() - words.len()].to_owned();
    let mut at = column + out.len();
    let mut fresh = true;
    for word in pieces(words) {
        let length = width(word);
        if !fresh && at + 1 + length > widest {
            out.push('\n');
            out.push_str(indent);
            at = indent.len();
        } else if !fresh {
            out.push(' ');
            at += 1;
        }
        at = put(word, indent, widest, at, &mut out);
        fresh = false;
    }
    out
}

/// The longest command or name between backticks that is kept on one line.
const SPAN: usize = 30;

/// The pieces between which a line may be broken: its words, but a figure and its unit as one, and a short command between backticks
/// as one.
fn pieces(line: &str) -> Vec<&str> {
    let mut pieces = Vec::new();
    let (mut from, mut at) = (0, 0);
    let mut words = line.split(' ').peekable();
    while let Some(word) = words.next() {
        at += word.len();
        if in_span(line, at) {
            at += 1;
            continue;
        }
        if words
            .peek()
            .is_none_or(|next| !(is_figure(word) && is_unit(next)))
        {
            pieces.push(&line[from..at]);
            from = at + 1;
        }
        at += 1;
    }
    pieces
}

/// Whether a place of a line is within backticks between which little stands.
fn in_span(line: &str, at: usize) -> bool {
    let before = line.get(..at).unwrap_or_default();
    if before.matches('`').count() % 2 == 0 {
        return false;
    }
    let opened = before.rfind('`').unwrap_or(0) + 1;
    let rest = line.get(opened..).unwrap_or_default();
    rest.find('`').is_some_and(|length| length <= SPAN)
}

/// Whether a word is a figure: `1,234.50`, `-12` or `(66`.
fn is_figure(word: &str) -> bool {
    let digits = word.trim_start_matches(['(', '+', '-', '`']);
    digits.ends_with(|last: char| last.is_ascii_digit())
        && digits.starts_with(|first: char| first.is_ascii_digit())
        && digits
            .chars()
            .all(|c| c.is_ascii_digit() || matches!(c, ',' | '.'))
}

/// Whether a word is what a figure counts: `GBP`, `g`, `%`, with the marks of a sentence after it.
fn is_unit(word: &str) -> bool {
    const UNITS: [&str; 8] = ["%", "g", "kg", "W", "mm", "cm", "m", "km"];
    let unit = word.trim_end_matches(['.', ',', ';', ':', ')', '?', '`']);
    UNITS.contains(&unit) || unit.len() == 3 && unit.chars().all(|c| c.is_ascii_uppercase())
}

/// Adds a word at a column, broken where it passes the width; the column after it.
fn put(word: &str, indent: &str, widest: usize, from: usize, out: &mut String) -> usize {
    let mut at = from;
    let mut letter = [0; 4];
    for c in word.chars() {
        let wide = width(c.encode_utf8(&mut letter));
        if at + wide > widest && at > indent.len() {
            out.push('\n');
            out.push_str(indent);
            at = indent.len();
        }
        out.push(c);
        at += wide;
    }
    at
}

/// Lines, dashes and signs in the letters that every terminal has; what the user wrote stays as it is.
pub(super) fn in_ascii(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '─' | '–' | '—' => out.push('-'),
            '×' => out.push('x'),
            '…' => out.push_str("..."),
            '’' => out.push('\''),
            '≥' => out.push_str(">="),
            '≤' => out.push_str("<="),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::report::screen::{Screen, text};
    use crate::report::view::View;

    /// The width of the widest line of a text.
    pub(in crate::report::screen) fn widest_line(text: &str) -> usize {
        text.lines().map(width).max().unwrap_or(0)
    }

    #[test]
    fn a_figure_stays_beside_its_unit() {
        let said =
            "It costs 1,234.50 GBP (66 % more) and 8,700 g; -3 % of 24.9 EUR. Or 12 km, 45 EUROS";
        assert_eq!(
            pieces(said),
            [
                "It",
                "costs",
                "1,234.50 GBP",
                "(66 %",
                "more)",
                "and",
                "8,700 g;",
                "-3 %",
                "of",
                "24.9 EUR.",
                "Or",
                "12 km,",
                "45",
                "EUROS"
            ]
        );
        assert_eq!(
            pieces("say `-o sum.xlsx`, or `a command that is longer than a line` `x"),
            [
                "say",
                "`-o sum.xlsx`,",
                "or",
                "`a",
                "command",
                "that",
                "is",
                "longer",
                "than",
                "a",
                "line`",
                "`x"
            ]
        );
        assert_eq!(pieces(" a  b "), ["", "a", "", "b", ""]);
        for widest in 12..said.len() {
            for line in wrap(said, "", widest).lines() {
                assert!(
                    !line.ends_with("1,234.50") && !line.starts_with("GBP"),
                    "{line}"
                );
            }
        }
    }

    #[test]
    fn a_word_longer_than_a_line_is_broken_within() {
        let mut view = View::default();
        view.say(format!("See {}.", "x".repeat(150)));
        let shown = text(&view, &Screen::of(60));
        assert_eq!(widest_line(&shown), 60);
        assert_eq!(shown.matches('x').count(), 150);
    }
}
