//! Lines broken to a width, in columns of a terminal; and the letters that every terminal has.

use unicode_width::UnicodeWidthStr;

/// How many columns of a terminal a text takes.
pub(super) fn width(text: &str) -> usize {
    UnicodeWidthStr::width(text)
}

/// Breaks a line at blanks so that it fits a width; blanks at its start stay.
pub(super) fn wrap(line: &str, indent: &str, widest: usize) -> String {
    wrap_from(line, indent, widest, 0)
}

/// The same for a line that begins at a column; a word that is longer than a whole line is broken within.
pub(super) fn wrap_from(line: &str, indent: &str, widest: usize, column: usize) -> String {
    let words = line.trim_start_matches(' ');
    let mut out = line[..line.len() - words.len()].to_owned();
    let mut at = column + out.len();
    let mut fresh = true;
    for word in words.split(' ') {
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
    fn a_word_longer_than_a_line_is_broken_within() {
        let mut view = View::default();
        view.say(format!("See {}.", "x".repeat(150)));
        let shown = text(&view, &Screen::of(60));
        assert_eq!(widest_line(&shown), 60);
        assert_eq!(shown.matches('x').count(), 150);
    }
}
