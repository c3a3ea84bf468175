//! Numbers of a spreadsheet as decimal digits, at most 15 of them, and as days.

use crate::units::Date;

/// A double as the decimal it was typed as: 15 significant digits, without trailing zeros.
pub(super) fn digits(number: f64) -> String {
    let text = format!("{number:.14e}");
    let Some((mantissa, exponent)) = text.split_once('e') else {
        return text;
    };
    let (sign, mantissa) = mantissa
        .strip_prefix('-')
        .map_or(("", mantissa), |rest| ("-", rest));
    let figures: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    let figures = figures.trim_end_matches('0');
    let point: i32 = exponent.parse::<i32>().unwrap_or(0) + 1;
    if figures.is_empty() {
        "0".to_owned()
    } else {
        placed(sign, figures, point)
    }
}

/// Figures with the decimal point behind the first `point` of them.
fn placed(sign: &str, figures: &str, point: i32) -> String {
    let Ok(whole) = usize::try_from(point) else {
        return format!(
            "{sign}0.{}{figures}",
            "0".repeat(usize::try_from(point.abs()).unwrap_or(0))
        );
    };
    let padded = format!("{figures:0<whole$}");
    let (before, after) = padded.split_at(whole);
    let before = if before.is_empty() { "0" } else { before };
    if after.is_empty() {
        format!("{sign}{before}")
    } else {
        format!("{sign}{before}.{after}")
    }
}

/// A hundred times a decimal: what a cell shows that is formatted as a percentage.
pub(super) fn hundredfold(digits: &str) -> String {
    let (sign, plain) = digits
        .strip_prefix('-')
        .map_or(("", digits), |rest| ("-", rest));
    let (before, after) = plain.split_once('.').unwrap_or((plain, ""));
    let mut whole = before.to_owned();
    let after = format!("{after:0<2}");
    let (moved, rest) = after.split_at_checked(2).unwrap_or((&after, ""));
    whole.push_str(moved);
    let whole = whole.trim_start_matches('0');
    let whole = if whole.is_empty() { "0" } else { whole };
    let rest = rest.trim_end_matches('0');
    if rest.is_empty() {
        format!("{sign}{whole}")
    } else {
        format!("{sign}{whole}.{rest}")
    }
}

/// A number as it stands in a file, when it is one that can be told from others.
pub(super) fn read(text: &str) -> Option<String> {
    let number: f64 = text.trim().parse().ok()?;
    number.is_finite().then(|| digits(number))
}

/// The day that a number is, counted as spreadsheets count; none for what is no day of our time.
pub(super) fn day(digits: &str, from_1904: bool) -> Option<String> {
    let whole: u32 = digits.split('.').next()?.parse().ok()?;
    let serial = if from_1904 {
        whole.checked_add(1462)?
    } else {
        whole
    };
    // Day 25,569 is the first of January 1970; earlier ones are no days of orders.
    let since = serial.checked_sub(25_569).filter(|days| *days < 100_000)?;
    Some(Date::EPOCH.plus_days(since).to_string())
}

/// The same for a number that may be a day, though its cell does not say so.
pub(super) fn likely_day(digits: &str, from_1904: bool) -> Option<String> {
    let whole: u32 = digits.split('.').next()?.parse().ok()?;
    (25_569..80_000)
        .contains(&whole)
        .then(|| day(digits, from_1904))
        .flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn doubles_are_the_decimals_that_were_typed() {
        for (number, text) in [
            (0.1, "0.1"),
            (2.675, "2.675"),
            (1234.5, "1234.5"),
            (-0.05, "-0.05"),
            (0.0, "0"),
            (8_714_919_000.0, "8714919000"),
            (37.5, "37.5"),
            (0.000_123, "0.000123"),
            (1e20, "100000000000000000000"),
        ] {
            assert_eq!(digits(number), text);
        }
        assert_eq!(digits(0.1 + 0.2), "0.3");
    }

    #[test]
    fn a_hundredfold_moves_the_point() {
        for (kept, shown) in [
            ("1", "100"),
            ("0.025", "2.5"),
            ("0.2", "20"),
            ("0", "0"),
            ("-0.05", "-5"),
            ("1.2345", "123.45"),
            ("0.001", "0.1"),
        ] {
            assert_eq!(hundredfold(kept), shown);
        }
    }

    #[test]
    fn days_are_counted_as_spreadsheets_count() {
        // 2026-09-23 is 46,288 days after 1899-12-30, and 44,826 after 1904-01-01.
        assert_eq!(day("46288", false).as_deref(), Some("2026-09-23"));
        assert_eq!(day("46288.75", false).as_deref(), Some("2026-09-23"));
        assert_eq!(day("44826", true).as_deref(), Some("2026-09-23"));
        assert_eq!(day("12", false), None);
        assert_eq!(likely_day("1500", false), None);
    }
}
