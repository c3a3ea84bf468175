//! What sheets are called: parcels by their sellers, within what spreadsheets allow.

use std::collections::BTreeSet;

use crate::text::visible;

/// How long the name of a sheet can be.
const MOST: usize = 31;

/// Names that no parcel has: the first two sheets, what spreadsheets keep for themselves, and the tables of a book, for which
/// such a sheet could be taken.
const KEPT: [&str; 12] = [
    "total",
    "inputs",
    "history",
    "parts",
    "sellers",
    "parcels",
    "discounts",
    "settings",
    "bikes",
    "receipts",
    "weighings",
    "unknowns",
];

/// A name for the sheet of each of some parcels, in their order; no two are the same, capitals aside.
pub(super) fn names_of<'a>(parcels: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut taken: BTreeSet<String> = KEPT.iter().map(|name| (*name).to_owned()).collect();
    parcels
        .map(|parcel| {
            let plain = allowed(parcel);
            let mut name = cut(&plain, MOST);
            let mut number = 2_u32;
            while !taken.insert(name.to_lowercase()) {
                let ending = format!(" {number}");
                name = cut(&plain, MOST - ending.len()) + &ending;
                number += 1;
            }
            name
        })
        .collect()
}

/// A name with nothing in it that spreadsheets refuse.
fn allowed(parcel: &str) -> String {
    let shown: String = visible(parcel)
        .chars()
        .map(|c| if "[]:*?/\\".contains(c) { ' ' } else { c })
        .collect();
    let plain = shown.trim_matches(['\'', ' ']);
    if plain.is_empty() { "parcel" } else { plain }.to_owned()
}

/// The beginning of a name, as spreadsheets count letters.
fn cut(name: &str, most: usize) -> String {
    let mut length = 0;
    let fits = |c: &char| {
        length += c.len_utf16();
        length <= most
    };
    let cut: String = name.chars().take_while(fits).collect();
    cut.trim_end_matches(['\'', ' ']).to_owned()
}

#[cfg(test)]
mod tests {
    use super::names_of;

    /// Letters that are refused, names that are too long, and names that are the same.
    #[test]
    fn names_are_allowed_and_apart() {
        let long = "Weihu Composite Works of the Eastern Harbour";
        let asked = [
            "Taolin/summer",
            "taolin summer",
            "Parts",
            "'Merlaro'",
            "[]",
            long,
            long,
            "total",
        ];
        let made = names_of(asked.into_iter());
        let expected = [
            "Taolin summer",
            "taolin summer 2",
            "Parts 2",
            "Merlaro",
            "parcel",
            "Weihu Composite Works of the Ea",
            "Weihu Composite Works of the 2",
            "total 2",
        ];
        assert_eq!(made, expected);
        assert!(made.iter().all(|name| name.encode_utf16().count() <= 31));
    }
}
