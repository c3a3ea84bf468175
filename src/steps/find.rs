//! Which row of a book is meant by a part's name and, where several sellers offer it, by the seller.

use crate::book::{Book, Part};
use crate::text::Diagnostic;
use crate::text::words::{self, quoted};

/// Every row of a name: the part's own, and other offers of it.
pub(super) fn rows_of<'b>(book: &'b Book, part: &str) -> Result<Vec<&'b Part>, Diagnostic> {
    let rows: Vec<&Part> = book.parts.iter().filter(|row| row.name == part).collect();
    if !rows.is_empty() {
        return Ok(rows);
    }
    let unknown = Diagnostic::error(format!("there is no part {} in the book", quoted(part)));
    let names = book.parts.iter().map(|row| row.name.as_str());
    Err(match words::nearest(part, names) {
        Some(near) => unknown.help(format!("did you mean `{near}`?")),
        None => unknown.help("its name stands in the column `part` of `parts.csv`"),
    })
}

/// The only one of some rows, or the one that this seller offers.
pub(super) fn only<'b>(
    rows: &[&'b Part],
    part: &str,
    seller: Option<&str>,
) -> Result<&'b Part, Diagnostic> {
    let own = |row: &&&'b Part| {
        seller.is_none_or(|seller| row.seller.as_deref().unwrap_or_default() == seller)
    };
    let found: Vec<&'b Part> = rows.iter().filter(own).copied().collect();
    match (found.as_slice(), seller) {
        ([one], _) => Ok(one),
        ([], Some(seller)) => Err(no_offer(rows, part, seller)),
        (several, _) => Err(which(several, part)),
    }
}

/// The row of a part that a seller offers; without a seller the only row of the part.
pub(crate) fn offer<'b>(
    book: &'b Book,
    part: &str,
    seller: Option<&str>,
) -> Result<&'b Part, Diagnostic> {
    only(&rows_of(book, part)?, part, seller)
}

/// Who offers a row.
pub(super) fn who(row: &Part) -> String {
    let seller = row.seller.as_deref();
    seller.map_or("no seller".to_owned(), quoted)
}

fn sellers(rows: &[&Part]) -> Vec<String> {
    let mut names: Vec<String> = rows.iter().map(|row| who(row)).collect();
    names.sort();
    names.dedup();
    names
}

fn no_offer(rows: &[&Part], part: &str, seller: &str) -> Diagnostic {
    let what = format!("{} is not offered by {}", quoted(part), quoted(seller));
    let names = rows.iter().filter_map(|row| row.seller.as_deref());
    let unknown = Diagnostic::error(what);
    match words::nearest(seller, names) {
        Some(near) => unknown.help(format!("did you mean `{near}`?")),
        None => unknown.help(format!("it is offered by {}", words::few(&sellers(rows)))),
    }
}

fn which(rows: &[&Part], part: &str) -> Diagnostic {
    let names = sellers(rows);
    if names.len() < rows.len() {
        let what = format!(
            "{} rows of {} cannot be told apart by their seller",
            rows.len(),
            quoted(part)
        );
        return Diagnostic::error(what)
            .help("give one of the sellers another name, or change the row in `parts.csv`");
    }
    let what = format!(
        "{} is offered by {}",
        quoted(part),
        words::list(&names, "and")
    );
    let example = rows.iter().find_map(|row| row.seller.as_deref());
    Diagnostic::error(what).help(format!(
        "say which offer you mean, as in `--seller \"{}\"`",
        example.unwrap_or_default()
    ))
}
