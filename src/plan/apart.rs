//! Offers that would fall into a parcel ordered at another time travel in a parcel of their own.

use std::borrow::Cow;
use std::collections::BTreeSet;

use crate::book::{Book, Part, Role, Standing};
use crate::landed::is_reckoned;

/// The label of such a parcel; a number is added where somebody uses it already.
const LABEL: &str = "new order";

/// A book whose options and other offers share no parcel with rows that were ordered before.
pub(super) fn sent_apart(book: &Book) -> Cow<'_, Book> {
    let key = |row: &Part| (row.seller.clone(), row.parcel.clone());
    let before = book
        .paid_for()
        .filter(|row| row.standing != Standing::ToOrder && is_reckoned(row));
    let under_way: BTreeSet<(Option<String>, String)> = before.map(key).collect();
    let meets = |row: &Part| {
        row.role != Role::Build
            && row.standing == Standing::ToOrder
            && row.seller.is_some()
            && under_way.contains(&key(row))
    };
    if !book.parts.iter().any(meets) {
        return Cow::Borrowed(book);
    }
    let label = free_label(book);
    let mut own = book.clone();
    own.parts
        .iter_mut()
        .filter(|row| meets(row))
        .for_each(|row| row.parcel.clone_from(&label));
    Cow::Owned(own)
}

/// A label that no parcel of the book has.
fn free_label(book: &Book) -> String {
    let taken: BTreeSet<&str> = book
        .parts
        .iter()
        .map(|row| row.parcel.as_str())
        .chain(book.parcels.iter().map(|row| row.parcel.as_str()))
        .collect();
    let numbered = (2_u32..).map(|number| format!("{LABEL} {number}"));
    std::iter::once(LABEL.to_owned())
        .chain(numbered)
        .find(|label| !taken.contains(label.as_str()))
        .unwrap_or_default()
}
