//! Sheets as an .xlsx file. Text is written as text, whatever it begins with.

use std::collections::BTreeMap;

use rust_xlsxwriter::{Color, Format, FormatBorder, Formula, Workbook, Worksheet, XlsxError};

use super::sheets::{Cell, Leaf, Look, Sheets};
use crate::text::visible;
use crate::units::Dec;

/// The bytes of the file.
pub(super) fn bytes(sheets: &Sheets) -> Result<Vec<u8>, String> {
    let mut book = Workbook::new();
    for (at, leaf) in sheets.leaves.iter().enumerate() {
        write(book.add_worksheet(), at, leaf, sheets).map_err(|error| error.to_string())?;
    }
    book.save_to_buffer().map_err(|error| error.to_string())
}

fn write(
    sheet: &mut Worksheet,
    index: usize,
    leaf: &Leaf,
    sheets: &Sheets,
) -> Result<(), XlsxError> {
    sheet.set_name(&leaf.name)?;
    for (col, width) in &leaf.widths {
        sheet.set_column_width(*col, *width)?;
    }
    sheet.set_freeze_panes(leaf.frozen.0, leaf.frozen.1)?;
    let mut formats = BTreeMap::new();
    for ((row, col), (cell, look)) in &leaf.cells {
        let format = formats.entry(*look).or_insert_with(|| format(*look));
        match cell {
            Cell::Label(text) => {
                let guarded = text.starts_with(['=', '+', '-', '@', '\t', '\r']);
                let quoted = guarded.then(|| format.clone().set_quote_prefix());
                let format = quoted.as_ref().unwrap_or(format);
                sheet.write_string_with_format(*row, *col, cut(text), format)?;
            }
            Cell::Number(number) => {
                sheet.write_number_with_format(*row, *col, double(*number)?, format)?;
            }
            Cell::Formula(formula, value) => {
                let text = Formula::new(format!("={}", formula.text(index, sheets)))
                    .set_result(value.to_string());
                sheet.write_formula_with_format(*row, *col, text, format)?;
            }
        }
    }
    Ok(())
}

/// The longest text a cell can hold.
fn cut(text: &str) -> String {
    const MOST: usize = 32_000;
    visible(text).chars().take(MOST).collect()
}

/// A decimal as the double that prints like it.
fn double(number: Dec) -> Result<f64, XlsxError> {
    let unread = |_| XlsxError::ParameterError(format!("{number} is no number of a cell"));
    number.to_string().parse().map_err(unread)
}

fn format(look: Look) -> Format {
    let ink = Color::RGB(0x001f_2a35);
    let money = |digits: u32| match digits {
        0 => "#,##0".to_owned(),
        digits => format!("#,##0.{}", (0..digits).map(|_| '0').collect::<String>()),
    };
    let base = Format::new().set_font_color(ink);
    match look {
        Look::Plain => base,
        Look::Head => base.set_bold(),
        Look::Source => Format::new().set_font_color(Color::RGB(0x0055_606b)),
        Look::Input => base.set_background_color(Color::RGB(0x00f5_edda)),
        Look::Money(digits) => base.set_num_format(money(digits)),
        Look::Sum(digits) => base
            .set_num_format(money(digits))
            .set_bold()
            .set_border_top(FormatBorder::Thin),
        Look::Step => Format::new().set_font_color(Color::RGB(0x0080_7a6c)),
    }
}
