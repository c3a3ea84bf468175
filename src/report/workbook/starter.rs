//! What `new --workbook` writes: a book in one file, with lists for places, countries and currencies.

use rust_xlsxwriter::{DataValidation, Format, Formula, Workbook, Worksheet, XlsxError};

use crate::report::starter::{starter_parts, starter_settings};
use crate::tables::Tables;
use crate::text::words::letters;
use crate::units::{Country, Currency};

/// The tables of a new book, each with its columns; parts and settings come filled in.
const TABLES: [(&str, &str); 3] = [
    (
        "sellers",
        "seller,dispatch,currency,freight,free_freight_over,insurance,collects_tax,channel,handling,transit_days,note\n",
    ),
    (
        "bikes",
        "bike,price,currency,price_kind,mass_g,basis,size,seen,note\n",
    ),
    (
        "discounts",
        "code,seller,scope,part,percent,amount,currency,min_spend,valid_from,valid_to,note\n",
    ),
];

/// The bytes of an .xlsx file to start from.
pub(crate) fn starter_workbook(tables: &Tables, kind: &str) -> Result<Vec<u8>, String> {
    written(tables, kind).map_err(|error| error.to_string())
}

fn written(tables: &Tables, kind: &str) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    let places = tables.places_of(kind).into_iter();
    let countries = Country::all_names().filter_map(Country::parse);
    let lists: Lists = [
        ("place", places.map(|row| row.rule.place.clone()).collect()),
        (
            "dispatch",
            countries.map(|one| one.code().to_owned()).collect(),
        ),
        ("currency", Currency::codes().map(str::to_owned).collect()),
    ];
    let (parts, settings) = (starter_parts(tables, kind), starter_settings(kind));
    let filled = [("parts", parts.as_str()), ("settings", settings.as_str())];
    for (name, text) in filled.into_iter().chain(TABLES) {
        fill(book.add_worksheet(), name, text, &lists)?;
    }
    let sheet = book.add_worksheet();
    sheet.set_name("lists")?;
    for (col, (name, all)) in (0..).zip(&lists) {
        sheet.write_string(0, col, *name)?;
        for (row, text) in (1..).zip(all) {
            sheet.write_string(row, col, text)?;
        }
    }
    book.save_to_buffer()
}

/// What is offered in columns of a name; each list has a column of the last sheet.
type Lists = [(&'static str, Vec<String>); 3];

/// The cells of the list for a column.
fn list_for(column: &str, lists: &Lists) -> Option<String> {
    let place = lists.iter().position(|(name, _)| *name == column)?;
    let (col, last) = (letters(place), lists[place].1.len() + 1);
    Some(format!("=lists!${col}$2:${col}${last}"))
}

/// Writes a table as text, with its columns that have lists. All cells are text, so that nothing typed is changed.
fn fill(sheet: &mut Worksheet, name: &str, text: &str, lists: &Lists) -> Result<(), XlsxError> {
    const ROWS: u32 = 500;
    sheet.set_name(name)?;
    let (bold, plain) = (Format::new().set_bold(), Format::new().set_num_format("@"));
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    let mut header = Vec::new();
    for (row, record) in (0..).zip(reader.records().filter_map(Result::ok)) {
        for (col, field) in (0..).zip(&record) {
            let format = if row == 0 { &bold } else { &plain };
            sheet.write_string_with_format(row, col, field, format)?;
        }
        if row == 0 {
            header = record.iter().map(str::to_owned).collect();
        }
    }
    sheet.set_freeze_panes(1, 1)?;
    sheet.set_column_width(0, 28)?;
    for (col, column) in (0..).zip(&header) {
        if matches!(
            column.as_str(),
            "price" | "mass_g" | "min_spend" | "amount" | "free_freight_over"
        ) {
            continue;
        }
        sheet.set_column_format(col, &plain)?;
        let Some(list) = list_for(column, lists) else {
            continue;
        };
        // Several places are joined by ` + `, countries may be names: the list offers and does not forbid.
        let offered = DataValidation::new()
            .allow_list_formula(Formula::new(list))
            .show_error_message(false);
        sheet.add_data_validation(1, col, ROWS, col, &offered)?;
    }
    Ok(())
}
