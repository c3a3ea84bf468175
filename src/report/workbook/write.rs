//! Sheets as an .xlsx file. Text is written as text, whatever it begins with.

use std::collections::BTreeMap;

use rust_xlsxwriter::{
    Chart, ChartFont, ChartFormat, ChartLegendPosition, ChartSolidFill, ChartType, Color, Format,
    FormatAlign, FormatBorder, Formula, Workbook, Worksheet, XlsxError,
};

use super::sheets::{Bars, Cell, Leaf, Look, Sheets};
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
        if *look == Look::Column {
            sheet.set_row_height(*row, 30)?;
        }
        let whole = cell.number().is_none_or(|number| number.decimals() == 0);
        let format = formats
            .entry((*look, whole))
            .or_insert_with(|| format(*look, whole));
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
    fold(sheet, leaf)?;
    if let Some(bars) = &leaf.bars {
        chart(sheet, leaf, bars)?;
    }
    for_print(sheet, leaf)
}

/// Folds steps of the working under the row before them, run by run.
fn fold(sheet: &mut Worksheet, leaf: &Leaf) -> Result<(), XlsxError> {
    sheet.group_symbols_above(true);
    let mut runs: Vec<(u32, u32)> = Vec::new();
    for row in &leaf.folded {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == *row => *last = *row,
            _ => runs.push((*row, *row)),
        }
    }
    for (first, last) in runs {
        sheet.group_rows_collapsed(first, last)?;
    }
    Ok(())
}

/// Sets a sheet to print across one leaf, with its name and the number of the leaf; one that is a little too long for a leaf is
/// made to fit it.
fn for_print(sheet: &mut Worksheet, leaf: &Leaf) -> Result<(), XlsxError> {
    const A4: u8 = 9;
    const ONE_LEAF: usize = 90;
    sheet.set_paper_size(A4);
    if leaf.upright {
        sheet.set_portrait();
    } else {
        sheet.set_landscape();
    }
    let last = leaf.cells.keys().map(|(row, _)| *row).max().unwrap_or(0);
    let shown = (0..=last).filter(|row| !leaf.folded.contains(row)).count();
    let leaves = u16::from(leaf.upright && shown <= ONE_LEAF);
    sheet.set_print_fit_to_pages(1, leaves);
    sheet.set_margins(0.4, 0.4, 0.5, 0.6, 0.3, 0.3);
    sheet.set_footer("&L&A&R&P / &N");
    if let Some(col) = leaf.printed {
        sheet.set_print_area(0, 0, last, col)?;
    }
    if leaf.frozen.0 > 0 {
        sheet.set_repeat_rows(0, leaf.frozen.0 - 1)?;
    }
    Ok(())
}

/// The colours of a chart's columns, in their order.
const COLOURS: [u32; 4] = [0x005b_6b7b, 0x009a_6a00, 0x000f_7f6c, 0x008d_4a7c];

/// Draws stacked bars beside their table.
fn chart(sheet: &mut Worksheet, leaf: &Leaf, bars: &Bars) -> Result<(), XlsxError> {
    let (first, last) = bars.rows;
    let name = leaf.name.as_str();
    let mut chart = Chart::new(ChartType::BarStacked);
    for (col, colour) in (bars.columns.0..=bars.columns.1).zip(COLOURS) {
        chart
            .add_series()
            .set_name((name, bars.heads, col))
            .set_categories((name, first, 0, last, 0))
            .set_values((name, first, col, last, col))
            .set_format(
                ChartFormat::new()
                    .set_solid_fill(ChartSolidFill::new().set_color(Color::RGB(colour))),
            )
            .set_gap(40);
    }
    // the first row of the table is the uppermost bar
    chart.y_axis().set_reverse();
    // every bar has its name, in letters that leave room for that
    let small = ChartFont::new().set_size(8).clone();
    chart.y_axis().set_label_interval(1).set_font(&small);
    chart.x_axis().set_num_format("#,##0");
    chart.legend().set_position(ChartLegendPosition::Bottom);
    let rows = (last + 1 - first).clamp(8, 30);
    chart.set_width(470).set_height(70 + 26 * rows);
    sheet.insert_chart(bars.at.0, bars.at.1, &chart)?;
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

/// The format of a look; `whole` says that the number in the cell has no decimals now.
fn format(look: Look, whole: bool) -> Format {
    let ink = Color::RGB(0x001f_2a35);
    let money = |digits: u32| match digits {
        0 => "#,##0".to_owned(),
        digits => format!("#,##0.{}", "0".repeat(digits as usize)),
    };
    // figures that are no money show two decimals where they have any
    let plain = |format: Format| {
        if whole {
            format
        } else {
            format.set_num_format(money(2))
        }
    };
    let base = Format::new().set_font_color(ink);
    let faint = Format::new().set_font_color(Color::RGB(0x0055_606b));
    let input = base.clone().set_background_color(Color::RGB(0x00f5_edda));
    match look {
        Look::Plain => plain(base),
        Look::Head => base.set_bold(),
        Look::Column => base
            .set_bold()
            .set_text_wrap()
            .set_align(FormatAlign::Right)
            .set_align(FormatAlign::Top),
        Look::Note => faint,
        Look::Source => faint.set_indent(1),
        Look::Input(0) => input.set_num_format(money(0)),
        Look::Input(digits) => input.set_num_format(money(digits) + "##"),
        Look::Typed => input,
        Look::Money(digits) => base.set_num_format(money(digits)),
        Look::Sum(digits) => base
            .set_num_format(money(digits))
            .set_bold()
            .set_border_top(FormatBorder::Thin),
        Look::Answer(digits) => base
            .set_num_format(money(digits))
            .set_bold()
            .set_font_size(14),
        Look::Step => plain(Format::new().set_font_color(Color::RGB(0x0080_7a6c))),
    }
}
