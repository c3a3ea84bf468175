//! What is lost or went back, taken out of the build of a book.

use std::borrow::Cow;
use std::collections::BTreeSet;

use super::bill::Bill;
use super::held::{Held, holding};
use super::jurisdiction::Jurisdiction;
use super::parcel::ConsignmentState;
use super::total::bills_of;
use crate::book::{Book, ChargeWord, Part, Remedies, Role, Standing};

/// The book with what is lost or went back taken out of the build and out of the options, its money kept. It is asked for once,
/// by whoever opens a jurisdiction for a book; questions to a jurisdiction that is open take the book as it then is. Where the book
/// cannot be calculated it stays as it is: whoever calculates it says why.
pub fn lost_apart<'b>(book: &'b Book, jurisdiction: &Jurisdiction<'_>) -> Cow<'b, Book> {
    if !book
        .receipts
        .iter()
        .any(|receipt| receipt.charge == ChargeWord::Refund)
    {
        return Cow::Borrowed(book);
    }
    let rows: Vec<&Part> = book.paid_for().collect();
    let Ok(bills) = bills_of(
        book,
        &rows,
        jurisdiction,
        jurisdiction.ask.remedies == Remedies::Count,
    ) else {
        return Cow::Borrowed(book);
    };
    let Ok(holding) = holding(book, &rows, jurisdiction) else {
        return Cow::Borrowed(book);
    };
    let gone = rows_of_gone(&bills, &holding.rows);
    let is_gone = |part: &Part| {
        matches!(part.role, Role::Build | Role::Option)
            && gone.contains(part.at.line().to_string().as_str())
    };
    let names: BTreeSet<String> = book
        .parts
        .iter()
        .filter(|part| is_gone(part))
        .map(|part| part.name.clone())
        .collect();
    if names.is_empty() {
        return Cow::Borrowed(book);
    }
    let in_its_box = |part: &Part| is_bundled_with(part, &names);
    let mut own = book.clone();
    for part in own
        .parts
        .iter_mut()
        .filter(|part| is_gone(part) || in_its_box(part))
    {
        part.role = Role::Gone;
    }
    Cow::Owned(own)
}

/// The rows of a book whose price came back in full, by their lines in its file.
fn rows_of_gone<'a>(bills: &'a [Bill], held: &'a [Held]) -> BTreeSet<&'a str> {
    let lines = bills
        .iter()
        .filter(|bill| bill.kind != ConsignmentState::ToOrder)
        .flat_map(|bill| &bill.lines)
        .filter(|line| line.gone)
        .map(|line| line.row.as_str());
    let held = held
        .iter()
        .filter(|held| held.gone)
        .map(|held| held.row.as_str());
    lines.chain(held).collect()
}

/// Whether a part of the build comes in the box of one of these.
fn is_bundled_with(part: &Part, names: &BTreeSet<String>) -> bool {
    part.role == Role::Build
        && part.standing == Standing::Bundled
        && part
            .comes_with
            .as_ref()
            .is_some_and(|name| names.contains(name))
}
