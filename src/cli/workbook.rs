//! Spreadsheet files as rows of cells: .xlsx and .ods, by way of calamine. Numbers become decimal digits, at most 15.

#[cfg(feature = "pages")]
use crate::book::Value;
use crate::book::{BookFile, Leaf, sheet_tables};
use crate::text::{Diagnostic, Place, Problems};

/// The tables of a book in a spreadsheet file.
pub(super) fn tables(shown: &str, bytes: &[u8], problems: &mut Problems) -> Vec<BookFile> {
    match leaves(bytes) {
        Ok(leaves) => sheet_tables(shown, &leaves, problems),
        Err(why) => {
            problems.push(Diagnostic::error(format!("the spreadsheet cannot be read: {why}")).at(Place::line(shown.into(), 1)));
            Vec::new()
        }
    }
}

#[cfg(not(feature = "pages"))]
fn leaves(_: &[u8]) -> Result<Vec<Leaf>, String> {
    Err("this program was built without spreadsheets".to_owned())
}

#[cfg(feature = "pages")]
fn leaves(bytes: &[u8]) -> Result<Vec<Leaf>, String> {
    use calamine::Reader;
    let mut book = calamine::open_workbook_auto_from_rs(std::io::Cursor::new(bytes)).map_err(|error| error.to_string())?;
    let mut found = Vec::new();
    for name in book.sheet_names() {
        let range = book.worksheet_range(&name).map_err(|error| error.to_string())?;
        let (above, before) = range.start().unwrap_or((0, 0));
        let empty = |n: u32| usize::try_from(n).unwrap_or(0);
        let mut rows: Vec<Vec<Value>> = vec![Vec::new(); empty(above)];
        for row in range.rows() {
            let mut cells = vec![Value::Empty; empty(before)];
            cells.extend(row.iter().map(value));
            rows.push(cells);
        }
        found.push(Leaf { name, rows });
    }
    Ok(found)
}

#[cfg(feature = "pages")]
fn value(cell: &calamine::Data) -> Value {
    use calamine::{Data, ExcelDateTime, ExcelDateTimeType};
    let serial = |number: f64| {
        let likely = (20_000.0..80_000.0).contains(&number);
        likely.then(|| day(&ExcelDateTime::new(number, ExcelDateTimeType::DateTime, false)))
    };
    match cell {
        Data::Empty => Value::Empty,
        Data::String(text) if text.trim().is_empty() => Value::Empty,
        Data::String(text) | Data::DurationIso(text) => Value::Text(text.clone()),
        Data::Int(whole) => Value::Number(whole.to_string(), None),
        Data::Float(number) => Value::Number(digits(*number), serial(*number)),
        Data::Bool(yes) => Value::Text(if *yes { "yes" } else { "no" }.to_owned()),
        Data::DateTime(when) => Value::Day(day(when)),
        Data::DateTimeIso(text) => Value::Day(text.get(..10).unwrap_or(text).to_owned()),
        Data::Error(error) => Value::Fault(error.to_string()),
    }
}

#[cfg(feature = "pages")]
fn day(when: &calamine::ExcelDateTime) -> String {
    let (year, month, day, ..) = when.to_ymd_hms_milli();
    format!("{year:04}-{month:02}-{day:02}")
}

/// A double as the decimal it was typed as: 15 significant digits, without trailing noughts.
#[cfg(feature = "pages")]
fn digits(number: f64) -> String {
    let text = format!("{number:.14e}");
    let Some((mantissa, exponent)) = text.split_once('e') else { return text };
    let (sign, mantissa) = mantissa.strip_prefix('-').map_or(("", mantissa), |rest| ("-", rest));
    let figures: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    let figures = figures.trim_end_matches('0');
    let point: i32 = exponent.parse::<i32>().unwrap_or(0) + 1;
    if figures.is_empty() {
        return "0".to_owned();
    }
    let Ok(whole) = usize::try_from(point) else {
        return format!("{sign}0.{}{figures}", "0".repeat(usize::try_from(point.abs()).unwrap_or(0)));
    };
    let padded = format!("{figures:0<whole$}");
    let (before, after) = padded.split_at(whole);
    let before = if before.is_empty() { "0" } else { before };
    if after.is_empty() { format!("{sign}{before}") } else { format!("{sign}{before}.{after}") }
}

#[cfg(all(test, feature = "pages"))]
mod tests {
    use super::digits;

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
}
