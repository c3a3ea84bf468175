//! The one door for numbers in: what people type, read strictly, with both readings shown where there are two.
//!
//! A grammar of our own stands before the decimal type because that type's readers take `1_000`, `1e3` and more than
//! 28 decimals, and know no thousands groups.

use super::{Currency, Dec};

/// The most digits before and after the point: a thousand milliard, and ten decimals for published rates.
const MOST_WHOLE: usize = 12;
const MOST_DECIMALS: usize = 10;

/// How a file writes its numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Style {
    /// Only a point divides the decimals.
    #[default]
    Point,
    /// A comma may divide them too: the file's separator is a semicolon or a tab.
    CommaToo,
}

/// Reads digits with an optional sign and point: the form of rule tables and flags.
pub fn plain(text: &str) -> Result<Dec, String> {
    let expected = || "expected a decimal number such as `12.50`".to_owned();
    let digits = text.strip_prefix('-').unwrap_or(text);
    let (whole, decimals) = digits.split_once('.').unwrap_or((digits, ""));
    let ascii = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
    if whole.is_empty() || !ascii(whole) || !ascii(decimals) || digits.ends_with('.') {
        return Err(expected());
    }
    if whole.trim_start_matches('0').len() > MOST_WHOLE {
        return Err("expected at most twelve digits before the point".to_owned());
    }
    if decimals.len() > MOST_DECIMALS {
        return Err("expected at most ten decimals".to_owned());
    }
    Dec::from_plain(text).ok_or_else(expected)
}

/// Reads a number as typed in a table: thousands groups where the reading is unique, a decimal comma where the file's
/// style allows one.
pub(crate) fn typed(text: &str, style: Style) -> Result<Dec, String> {
    let (sign, digits) = text
        .strip_prefix('-')
        .map_or(("", text), |rest| ("-", rest.trim_start()));
    let spaced = digits.contains([' ', '\u{a0}', '\u{202f}', '\'', '’']);
    let joined = if spaced {
        ungroup(digits, &[' ', '\u{a0}', '\u{202f}', '\'', '’'])?
    } else {
        digits.to_owned()
    };
    let commas = joined.matches(',').count();
    let points = joined.matches('.').count();
    let read = |s: &str| plain(&format!("{sign}{s}"));
    match (points, commas) {
        (_, 0) if points <= 1 => one_point(&joined, style, spaced).and_then(|()| read(&joined)),
        (0, 1) => one_comma(&joined, style, spaced).and_then(|s| read(&s)),
        (0 | 1, _) if points == 0 || joined.find('.') > joined.rfind(',') => {
            read(&ungroup(&joined, &[','])?)
        }
        (_, 0 | 1) if style == Style::CommaToo => {
            read(&ungroup(&joined, &['.'])?.replace(',', "."))
        }
        (_, 1) if joined.find(',') > joined.rfind('.') => {
            let point = ungroup(&joined, &['.'])?.replace(',', ".");
            Err(format!(
                "a decimal comma is read only where semicolons or tabs divide the columns: write `{point}`"
            ))
        }
        (_, 0) if ungroup(&joined, &['.']).is_ok() => Err(format!(
            "points between thousands are read only where semicolons or tabs divide the columns: write `{}`",
            joined.replace('.', "")
        )),
        _ => Err("expected a decimal number such as `12.50`".to_owned()),
    }
}

/// A lone point is the decimal point, unless the file writes decimal commas and three digits follow it.
fn one_point(text: &str, style: Style, spaced: bool) -> Result<(), String> {
    if style == Style::CommaToo && !spaced && looks_grouped(text, '.') {
        return Err(both_readings(text, '.', style));
    }
    Ok(())
}

/// A lone comma divides decimals in a file of semicolons; before three digits it can be read two ways.
fn one_comma(text: &str, style: Style, spaced: bool) -> Result<String, String> {
    let point = text.replace(',', ".");
    if looks_grouped(text, ',') && !spaced {
        return Err(both_readings(text, ',', style));
    }
    if style == Style::Point {
        return Err(format!(
            "a decimal comma is read only where semicolons or tabs divide the columns: write `{point}`"
        ));
    }
    Ok(point)
}

/// Whether a mark stands where a thousands mark would: one to three digits, the mark, three digits.
fn looks_grouped(text: &str, mark: char) -> bool {
    text.split_once(mark).is_some_and(|(whole, rest)| {
        (1..=3).contains(&whole.len())
            && rest.len() == 3
            && !whole.starts_with('0')
            && rest.bytes().all(|b| b.is_ascii_digit())
    })
}

fn both_readings(text: &str, mark: char, style: Style) -> String {
    let (whole, rest) = text.split_once(mark).unwrap_or((text, ""));
    let fine = if style == Style::Point {
        format!("{whole}.{rest}")
    } else {
        format!("{whole},{rest}0")
    };
    format!("can be read as {whole}{rest} or as {whole}.{rest}: write `{whole}{rest}` or `{fine}`")
}

/// Takes thousands marks out, when every group but the first has three digits.
fn ungroup(text: &str, marks: &[char]) -> Result<String, String> {
    let end = text
        .find(|c: char| (c == '.' || c == ',') && !marks.contains(&c))
        .unwrap_or(text.len());
    let (whole, rest) = text.split_at(end);
    let groups: Vec<&str> = whole.split(marks).collect();
    let full = groups.iter().skip(1).all(|g| g.len() == 3);
    let first = groups.first().is_some_and(|g| (1..=3).contains(&g.len()));
    let digits = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
    if !groups.iter().all(|g| digits(g)) {
        return Err("expected a decimal number such as `12.50`".to_owned());
    }
    if !full || !first || rest.contains(marks) {
        return Err("expected groups of three digits, or none: `1234.50` or `1,234.50`".to_owned());
    }
    Ok(groups.concat() + rest)
}

/// Reads an amount that may carry a currency's sign or code before or after it: the number, and what the sign can
/// stand for (empty when there is none).
pub(crate) fn money(text: &str, style: Style) -> Result<(Dec, Vec<Currency>), String> {
    let is_digit = |c: char| c.is_ascii_digit() || c == '-';
    let (Some(start), Some(end)) = (
        text.find(is_digit),
        text.rfind(|c: char| c.is_ascii_digit()),
    ) else {
        return Err("expected an amount such as `1299.00`".to_owned());
    };
    let (before, after) = (text[..start].trim(), text[end + 1..].trim());
    let digits = &text[start..=end];
    if [before, after]
        .iter()
        .any(|side| !side.is_empty() && side.chars().all(|c| matches!(c, '.' | ',')))
    {
        return Err(
            "expected an amount such as `1299.00`, with digits on both sides of its point"
                .to_owned(),
        );
    }
    let sign = match (before, after) {
        ("", "") => return Ok((typed(digits, style)?, Vec::new())),
        (sign, "") | ("", sign) => sign,
        _ => {
            return Err(
                "expected one currency sign or code, before or after the amount".to_owned(),
            );
        }
    };
    let readings = Currency::readings(sign);
    if readings.is_empty() {
        return Err(format!(
            "expected an amount with a currency sign or code, which `{sign}` is not{}",
            meant(sign)
        ));
    }
    Ok((typed(digits, style)?, readings))
}

/// What a word beside an amount may mean, as a question.
fn meant(sign: &str) -> String {
    let meant = Currency::meant(sign);
    let codes: Vec<String> = meant.iter().map(|money| format!("`{money}`")).collect();
    if codes.is_empty() {
        String::new()
    } else {
        format!("; did you mean {}?", codes.join(" or "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reads(text: &str, style: Style) -> String {
        typed(text, style).map_or_else(|e| format!("! {e}"), |n| n.to_string())
    }

    #[test]
    fn one_reading() {
        for (text, style, value) in [
            ("12.50", Style::Point, "12.5"),
            ("-3", Style::Point, "-3"),
            ("1,299.00", Style::Point, "1299"),
            ("1,299,000", Style::Point, "1299000"),
            ("1 299.00", Style::Point, "1299"),
            ("1'299.50", Style::Point, "1299.5"),
            ("12,50", Style::CommaToo, "12.5"),
            ("1.299,00", Style::CommaToo, "1299"),
            ("12.345.678", Style::CommaToo, "12345678"),
            ("1 299,5", Style::CommaToo, "1299.5"),
            ("0.125", Style::CommaToo, "0.125"),
            ("1.299", Style::Point, "1.299"),
        ] {
            assert_eq!(reads(text, style), value, "{text} {style:?}");
        }
    }

    #[test]
    fn refused() {
        for text in [
            "",
            "1_000",
            "1e3",
            "١٢",
            "12.345.678",
            ".5",
            "5.",
            "+5",
            "--1",
            "1,23,4",
            "1 2",
            "1.2.3,4",
            "12,50",
            "1,299",
        ] {
            assert!(typed(text, Style::Point).is_err(), "{text}");
        }
        assert!(reads("1,299", Style::Point).contains("1299 or as 1.299"));
        assert!(reads("1.299", Style::CommaToo).contains("1299 or as 1.299"));
    }

    #[test]
    fn amounts_with_signs() {
        let (value, sign) = money("£1,299.00", Style::Point).unwrap();
        assert_eq!(
            (value.to_string().as_str(), sign.as_slice()),
            ("1299", [Currency::GBP].as_slice())
        );
        let (value, sign) = money("1.299,00 €", Style::CommaToo).unwrap();
        assert_eq!(
            (value.to_string().as_str(), sign.as_slice()),
            ("1299", [Currency::EUR].as_slice())
        );
        assert!(money("£12 GBP", Style::Point).is_err());
        assert!(money("12 quid", Style::Point).is_err());
        assert_eq!(money("$12", Style::Point).unwrap().1.len(), 7);
    }
}
