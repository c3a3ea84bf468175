//! A row added to `receipts.csv` or `weighings.csv`: the new bytes of the file, in the old one's columns, separator and line
//! ends. Writing it is not done here.

use crate::text::{Diagnostic, decode, encode_like, words};

/// The tables a row can be added to.
pub(crate) const TABLES: [&str; 2] = ["receipts", "weighings"];

/// The columns in which cells are given.
pub(crate) fn columns(table: &str) -> &'static [&'static str] {
    if table == "weighings" {
        &["what", "mass_g", "scale_g", "basis", "date"]
    } else {
        &[
            "consignment",
            "charge",
            "amount",
            "currency",
            "date",
            "part",
        ]
    }
}

/// The table and the cells of a row as typed: `receipts,Nagihama Cycle,handling,12.00,GBP,2026-10-04`.
fn cells(typed: &str) -> Result<(&'static str, Vec<String>), Diagnostic> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(typed.as_bytes());
    let mut record = csv::StringRecord::new();
    let read = reader.read_record(&mut record).unwrap_or(false);
    let usage =
        || {
            let row = |table: &str| format!("{table},{}", columns(table).join(","));
            Diagnostic::error(format!("{} is not a row to add", words::quoted(typed))).help(
                format!("expected `{}` or `{}`", row("receipts"), row("weighings")),
            )
        };
    let table = record.get(0).and_then(|name| {
        TABLES
            .into_iter()
            .find(|t| *t == name || t.strip_suffix('s') == Some(name))
    });
    let (Some(table), true) = (table, read) else {
        return Err(usage());
    };
    if typed.contains(['\n', '\r']) || !(2..=columns(table).len() + 1).contains(&record.len()) {
        return Err(usage());
    }
    Ok((table, record.iter().skip(1).map(str::to_owned).collect()))
}

/// The table that a typed row goes to, and that table's whole new bytes: the old ones as they were, and the row in their manner.
/// `old` gives the file's bytes, when there is one.
pub(crate) fn added(
    typed: &str,
    old: impl Fn(&str) -> Option<Vec<u8>>,
) -> Result<(&'static str, Vec<u8>), Diagnostic> {
    let (table, cells) = cells(typed)?;
    let path = format!("{table}.csv");
    let mut bytes = old(table).unwrap_or_default();
    let text = decode(&path, &bytes)?;
    let more = addition(table, &path, &text, &cells)?;
    bytes.extend(encode_like(&bytes, &more));
    Ok((table, bytes))
}

/// The names of a header, as they are looked for.
fn names_of(header: &str, delimiter: u8) -> Vec<String> {
    let plain = |name: &str| {
        let bare = name.trim().trim_matches('"');
        bare.to_lowercase().replace(' ', "_")
    };
    header.split(char::from(delimiter)).map(plain).collect()
}

/// What is written behind a table's text.
fn addition(table: &str, path: &str, text: &str, cells: &[String]) -> Result<String, Diagnostic> {
    let end = ["\r\n", "\n", "\r"]
        .into_iter()
        .find(|end| text.contains(end))
        .unwrap_or("\n");
    let joint = if text.is_empty() || text.ends_with(['\n', '\r']) {
        ""
    } else {
        end
    };
    let header = text
        .split(['\n', '\r'])
        .find(|line| !line.trim().is_empty() && !line.starts_with('#'));
    let Some(header) = header else {
        // A column that this row has no cell for, and that most rows leave empty, need not be there.
        let known = columns(table).iter().take(cells.len().max(5));
        let names: Vec<String> = known.map(|name| (*name).to_owned()).collect();
        let header = record(&names, b',', end)?;
        let row = record(cells, b',', end)?;
        return Ok(format!("{joint}{header}{row}"));
    };
    let delimiter = [b'\t', b';']
        .into_iter()
        .find(|d| header.contains(char::from(*d)))
        .unwrap_or(b',');
    let names = names_of(header, delimiter);
    let given: Vec<(&str, &String)> = columns(table).iter().copied().zip(cells).collect();
    if let Some((name, _)) = given
        .iter()
        .find(|(name, cell)| !cell.is_empty() && !names.iter().any(|known| known == name))
    {
        return Err(
            Diagnostic::error(format!("`{path}` has no column `{name}`"))
                .help("add it to the header of the file"),
        );
    }
    let row: Vec<String> = names
        .iter()
        .map(|name| {
            given
                .iter()
                .find(|(known, _)| known == name)
                .map_or(String::new(), |(_, cell)| (*cell).clone())
        })
        .collect();
    Ok(format!("{joint}{}", record(&row, delimiter, end)?))
}

/// A row; a cell that begins like a note is put in quotation marks, so that it is none.
fn record(cells: &[String], delimiter: u8, end: &str) -> Result<String, Diagnostic> {
    let mut writer = csv::WriterBuilder::new()
        .delimiter(delimiter)
        .comment(Some(b'#'))
        .from_writer(Vec::new());
    let written = writer.write_record(cells).ok();
    let bytes = written.and_then(|()| writer.into_inner().ok());
    let line = bytes.and_then(|bytes| String::from_utf8(bytes).ok());
    let line = line.ok_or_else(|| Diagnostic::defect("a row cannot be written as text"))?;
    Ok(format!("{}{end}", line.trim_end_matches(['\n', '\r'])))
}
