//! The sheets of a workbook as rows of cells, as far as a book reads them.

/// One cell of a sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Value {
    /// Nothing.
    Empty,
    /// Text as typed.
    Text(String),
    /// A number, in decimal digits; and the day it would be as a date.
    Number(String, Option<String>),
    /// A percentage as it is shown: `2.5` for 2.5 %.
    Percent(String),
    /// An amount, and the sign or code of the currency it is formatted in.
    Money(String, String),
    /// A mass, and the unit it is formatted in.
    Mass(String, Unit),
    /// A day: `2026-09-23`.
    Day(String),
    /// An error, as the spreadsheet shows it.
    Fault(String),
    /// A formula whose result is not in the file.
    Unreckoned,
}

/// A unit of mass that a cell is shown with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Unit {
    /// Grams.
    Gram,
    /// Kilograms.
    Kilogram,
    /// Pounds or ounces, which no column holds.
    Imperial(&'static str),
}

impl Unit {
    /// The unit that a word beside a figure names.
    pub(crate) fn named(word: &str) -> Option<Unit> {
        match word.trim().to_lowercase().trim_end_matches('.') {
            "g" | "gr" | "gram" | "grams" => Some(Unit::Gram),
            "kg" | "kilo" | "kilos" | "kilogram" | "kilograms" => Some(Unit::Kilogram),
            "lb" | "lbs" => Some(Unit::Imperial("lb")),
            "oz" => Some(Unit::Imperial("oz")),
            _ => None,
        }
    }
}

/// One sheet: its name and its rows from the first. Rows and columns are counted from zero.
#[derive(Debug, Clone, Default)]
pub(crate) struct Leaf {
    /// As on its tab.
    pub(crate) name: String,
    /// Rows of cells.
    pub(crate) rows: Vec<Vec<Value>>,
    /// Whether its tab is hidden.
    pub(crate) hidden: bool,
    /// Rows that are hidden, by hand or by a filter.
    pub(crate) hidden_rows: Vec<usize>,
    /// Columns that are hidden.
    pub(crate) hidden_columns: Vec<usize>,
    /// Cells that are struck out, by row and column.
    pub(crate) struck: Vec<(usize, usize)>,
}

pub(super) fn is_blank(row: &[Value]) -> bool {
    row.iter().all(|cell| match cell {
        Value::Empty => true,
        Value::Text(text) => text.trim().is_empty(),
        other => first_text(other).is_none(),
    })
}

/// What a cell says, without blanks around it; none where that is nothing.
pub(super) fn first_text(cell: &Value) -> Option<String> {
    let text = plain(cell);
    let text = text.trim();
    (!text.is_empty()).then(|| text.to_owned())
}

/// A cell as text, as far as it has one.
pub(super) fn plain(cell: &Value) -> String {
    match cell {
        Value::Empty => String::new(),
        Value::Text(text) | Value::Number(text, _) | Value::Day(text) | Value::Fault(text) => {
            text.clone()
        }
        Value::Percent(digits) => format!("{digits} %"),
        Value::Money(digits, _) | Value::Mass(digits, _) => digits.clone(),
        Value::Unreckoned => "a formula".to_owned(),
    }
}
