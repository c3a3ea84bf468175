//! Characters that are not seen, and would move the terminal or turn the reading direction: shown by their numbers.

use std::borrow::Cow;

/// Whether a character is not seen and may make a text look like another: controls, marks and overrides of direction (UAX #9),
/// blanks and joiners without width, tags. The line feed is not among them.
pub(crate) fn is_unseen(c: char) -> bool {
    matches!(c,
        '\0'..='\u{9}' | '\u{b}'..='\u{1f}' | '\u{7f}'..='\u{9f}' | '\u{ad}' | '\u{61c}' | '\u{180e}'
        | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}'
        | '\u{e0000}'..='\u{e007f}')
}

/// A text whose unseen characters are shown by their numbers, as `\u{202e}`, but for line feeds. A joiner after a letter
/// beyond ASCII stays: Persian, Hindi and pictures of people are written with it.
pub(crate) fn visible(text: &str) -> Cow<'_, str> {
    // In a text of printable ASCII and line feeds, as nearly all are, nothing is looked for.
    if text.bytes().all(|b| matches!(b, b' '..=b'~' | b'\n')) || !text.chars().any(is_unseen) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 8);
    let mut before = ' ';
    for c in text.chars() {
        let joins =
            matches!(c, '\u{200c}' | '\u{200d}') && !before.is_ascii() && !is_unseen(before);
        if is_unseen(c) && !joins {
            out.extend(c.escape_default());
        } else {
            out.push(c);
        }
        before = c;
    }
    Cow::Owned(out)
}

/// A name of a file as it is told on one line of a screen.
pub(crate) fn visible_name(name: &str) -> String {
    visible(name).replace('\n', "\\n")
}

/// JSON whose strings show unseen characters by JSON's own escapes.
pub(crate) fn visible_json(json: String) -> String {
    if json.bytes().all(|b| matches!(b, b' '..=b'~' | b'\n')) {
        return json;
    }
    let mut out = String::with_capacity(json.len());
    for c in json.chars() {
        if is_unseen(c) {
            c.encode_utf16(&mut [0; 2])
                .iter()
                .for_each(|unit| out.push_str(&format!("\\u{unit:04x}")));
        } else {
            out.push(c);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_seen_is_shown() {
        for (text, shown) in [
            ("plain\nlines", "plain\nlines"),
            ("a\u{1b}[2Jb", "a\\u{1b}[2Jb"),
            ("a\tb\r", "a\\tb\\r"),
            ("rim\u{202e}xslx", "rim\\u{202e}xslx"),
            ("Spin\u{200b}drift", "Spin\\u{200b}drift"),
            ("Spin\u{200d}drift", "Spin\\u{200d}drift"),
            ("می\u{200c}خواهم", "می\u{200c}خواهم"),
            ("Größe 日本", "Größe 日本"),
        ] {
            assert_eq!(visible(text), shown);
        }
        assert_eq!(
            visible_json("[\"a\u{202e}b\u{7f}\u{e0041}日\"]".to_owned()),
            "[\"a\\u202eb\\u007f\\udb40\\udc41日\"]"
        );
    }
}
