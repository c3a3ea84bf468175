//! What `new --workbook` writes: a book in one file, with lists for places, countries and currencies.

use rust_xlsxwriter::{DataValidation, Format, Formula, Workbook, Worksheet, XlsxError};

use crate::report::starter::{starter_parts, starter_settings};
use crate::tables::Tables;
use crate::units::{Country, Currency};

/// The tables of a new book, each with its columns; parts and settings come filled in.
const TABLES: [(&str, &[&str]); 3] = [
    (
        "sellers",
        &[
            "seller",
            "dispatch",
            "currency",
            "freight",
            "free_freight_over",
            "insurance",
            "collects_tax",
            "channel",
            "handling",
            "transit_days",
            "note",
        ],
    ),
    (
        "bikes",
        &[
            "bike",
            "price",
            "currency",
            "price_kind",
            "mass_g",
            "basis",
            "size",
            "seen",
            "note",
        ],
    ),
    (
        "discounts",
        &[
            "code",
            "seller",
            "scope",
            "part",
            "percent",
            "amount",
            "currency",
            "min_spend",
            "valid_from",
            "valid_to",
            "note",
        ],
    ),
];

/// The bytes of an .xlsx file to start from.
pub fn starter_workbook(tables: &Tables, kind: &str) -> Result<Vec<u8>, String> {
    written(tables, kind).map_err(|error| error.to_string())
}

fn written(tables: &Tables, kind: &str) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    let places: Vec<String> = tables
        .places_of(kind)
        .into_iter()
        .map(|row| row.rule.place.clone())
        .collect();
    let countries: Vec<String> = Country::all_names()
        .filter_map(|name| Some(Country::parse(name)?.code().to_owned()))
        .collect();
    let currencies: Vec<String> = Currency::codes().map(str::to_owned).collect();
    let lists = Lists {
        places: places.len(),
        countries: countries.len(),
        currencies: currencies.len(),
    };
    fill(
        book.add_worksheet(),
        "parts",
        &starter_parts(tables, kind),
        &lists,
    )?;
    fill(
        book.add_worksheet(),
        "settings",
        &starter_settings(kind),
        &lists,
    )?;
    for (name, columns) in TABLES {
        fill(
            book.add_worksheet(),
            name,
            &(columns.join(",") + "\n"),
            &lists,
        )?;
    }
    let sheet = book.add_worksheet();
    sheet.set_name("lists")?;
    for (col, (name, all)) in (0..).zip([
        ("places", &places),
        ("countries", &countries),
        ("currencies", &currencies),
    ]) {
        sheet.write_string(0, col, name)?;
        for (row, text) in (1..).zip(all) {
            sheet.write_string(row, col, text)?;
        }
    }
    book.save_to_buffer()
}

/// How long each list is.
struct Lists {
    places: usize,
    countries: usize,
    currencies: usize,
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
            sheet.write_string_with_format(
                row,
                col,
                field,
                if row == 0 { &bold } else { &plain },
            )?;
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
        let list = match column.as_str() {
            "place" => format!("=lists!$A$2:$A${}", lists.places + 1),
            "dispatch" => format!("=lists!$BoolExpr$2:$BoolExpr${}", lists.countries + 1),
            "currency" => format!("=lists!$C$2:$C${}", lists.currencies + 1),
            _ => continue,
        };
        // Several places are joined by ` + `, countries may be names: the list offers and does not forbid.
        let offered = DataValidation::new()
            .allow_list_formula(Formula::new(list))
            .show_error_message(false);
        sheet.add_data_validation(1, col, ROWS, col, &offered)?;
    }
    Ok(())
}
