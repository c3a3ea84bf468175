//! What a spreadsheet would take for a formula, whichever mark it parts cells by; a `'` before it keeps it a text.

use std::borrow::Cow;

/// What formulas begin with: four signs, and the same in full width, which East Asian keyboards give and spreadsheets take alike.
const SIGNS: [char; 8] = ['=', '+', '-', '@', '＝', '＋', '－', '＠'];

/// What other programs than those of this country part cells by, and what ends a row: behind it a cell of its own may begin.
const PARTS: [char; 4] = [';', '\t', '\n', '\r'];

/// Whether a cell with this text would be taken for a formula: blanks and quotation marks before the sign are passed over.
pub(crate) fn begins_formula(text: &str) -> bool {
    text.trim_start_matches(|c: char| c.is_whitespace() || c == '"')
        .starts_with(SIGNS)
}

/// Whether a text is a number or a percentage: a sign, digits and at most one point, and it may be a percent sign after them.
pub(crate) fn is_number(text: &str) -> bool {
    let text = text.trim_matches(|c: char| c.is_whitespace() || c == '"');
    let text = text.strip_suffix('%').map_or(text, str::trim_end);
    let digits = text
        .strip_prefix('-')
        .or_else(|| text.strip_prefix('+'))
        .unwrap_or(text);
    let points = digits.bytes().filter(|byte| *byte == b'.').count();
    points <= 1
        && digits.bytes().any(|byte| byte.is_ascii_digit())
        && digits
            .bytes()
            .all(|byte| byte.is_ascii_digit() || byte == b'.')
}

/// A text with a `'` before every formula that would begin inside it, were it read by a program that parts cells by semicolons,
/// tabs or line ends: `x;=1` becomes `x;'=1`. Its own beginning is left to the caller.
pub(crate) fn guarded_within(text: &str) -> Cow<'_, str> {
    if !text.contains(PARTS) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 8);
    for (at, piece) in text.split_inclusive(PARTS).enumerate() {
        if at > 0 && begins_formula(piece) && !is_number(piece.trim_end_matches(PARTS)) {
            out.push('\'');
        }
        out.push_str(piece);
    }
    Cow::Owned(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formulas_are_seen_behind_blanks_and_quotation_marks() {
        for text in [
            "=1",
            " =1",
            "\t=1",
            "\r\n+1",
            "＝1",
            "\u{3000}－x",
            "＋1",
            "＠x",
            "\u{a0}@x",
            "\"=1",
            "\" =1",
        ] {
            assert!(begins_formula(text), "{text}");
        }
        for text in ["", "a=1", "1+1", "'=1", "Größe"] {
            assert!(!begins_formula(text), "{text}");
        }
    }

    #[test]
    fn a_formula_behind_another_mark_is_guarded_and_a_number_is_not() {
        for (text, safe) in [
            ("x;=1", "x;'=1"),
            ("x; ＝1;y", "x;' ＝1;y"),
            ("a\r\n=1", "a\r\n'=1"),
            ("8;-5;+3.5;-2\"", "8;-5;+3.5;-2\""),
            ("8;-5 %;+3.5%", "8;-5 %;+3.5%"),
            ("8;-5x", "8;'-5x"),
            ("8;-5 %+1;-%", "8;'-5 %+1;'-%"),
            ("x=1;y", "x=1;y"),
        ] {
            assert_eq!(guarded_within(text), safe);
        }
    }
}
