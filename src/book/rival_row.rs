//! What a rival, another offer of a part, takes from the part's own row.

use std::collections::BTreeMap;

use super::part::{ROLES, unread};
use crate::text::second_names::read_too;
use crate::text::{Cell, Problems, Spot};

/// The columns that a rival takes from the part's own row where it says nothing itself; its price and currency it takes together.
pub(crate) const INHERITED: [&str; 17] = [
    "place",
    "quantity",
    "mass_g",
    "mass_kind",
    "packed_g",
    "box_cm",
    "commodity",
    "declared_as",
    "traits",
    "origin",
    "preference",
    "needs",
    "fits",
    "resale",
    "limit_kg",
    "evidence",
    "warranty_months",
];

/// What a rival says where it takes nothing from the part's own row, and has nothing of its own either.
pub(crate) const NOTHING: &str = "-";

/// A row and the part's own row, when this is a rival.
pub(super) struct Cells<'a> {
    pub(super) own: &'a Spot,
    pub(super) main: Option<&'a Spot>,
}

impl Cells<'_> {
    /// The row's cell, else the part's own.
    pub(super) fn cell(&self, column: &'static str) -> Cell<'_> {
        let own = self.own.cell(column);
        match self.main {
            Some(main) if own.is_empty() => main.cell(column),
            Some(_) if own.text() == NOTHING => own.emptied(),
            _ => own,
        }
    }
}

/// Whether a row is another offer of a part.
pub(super) fn is_rival(spot: &Spot) -> bool {
    read_too(spot.cell("role").text()) == "rival"
}

/// The build or option row of each name; a name may have only one.
pub(super) fn main_rows<'a>(
    spots: &'a [Spot],
    problems: &mut Problems,
) -> BTreeMap<&'a str, &'a Spot> {
    let mut mains: BTreeMap<&str, &Spot> = BTreeMap::new();
    for spot in spots.iter().filter(|spot| !is_rival(spot)) {
        let name = spot.cell("part");
        // A role that cannot be read is one problem; what the row would then be is not guessed at.
        if name.is_empty()
            || (mains.contains_key(name.text()) && unread(&spot.cell("role"), &ROLES))
        {
            continue;
        }
        if let Some(first) = mains.get(name.text()) {
            let what = format!(
                "expected another name: a part of this name is at {}",
                first.place()
            );
            problems.push(name.error(what).help(
                "another offer of one part has the role `rival`; another part has another name",
            ));
        } else {
            mains.insert(name.text(), spot);
        }
    }
    for spot in spots.iter().filter(|spot| is_rival(spot)) {
        let name = spot.cell("part");
        if !name.is_empty() && !mains.contains_key(name.text()) {
            problems
                .push(name.error("expected a row of this name with the role `build` or `option`, which this rival is another offer of"));
        }
    }
    mains
}
