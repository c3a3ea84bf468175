//! Pieces of a place: what comes with fewer of them than stand there replaces what it can, and no more.

use crate::book::{Book, Part, Role};
use crate::landed::{Jurisdiction, on_the_bike};
use crate::text::Problems;
use crate::text::words::{count, list, quoted};

/// A part that has fewer pieces than are at its place, so that some of them stay.
#[derive(Debug, Clone)]
pub(crate) struct Short<'a> {
    /// The place.
    pub(crate) place: &'a str,
    /// Rows of just as many pieces as have to make room: each of them could be the one that it replaces.
    pub(crate) instead: Vec<&'a Part>,
    /// All rows there.
    rows: Vec<&'a Part>,
    /// Its own pieces.
    own: u32,
}

/// Whether a part at one place leaves pieces there where they are. A place filled by one piece, which may be a pair sold as
/// one, is replaced whole; so are the places of a thing that fills several.
pub(crate) fn short<'a>(
    comes: &Part,
    build: &[&'a Part],
    jurisdiction: &Jurisdiction<'a>,
) -> Option<Short<'a>> {
    let [name] = comes.places.as_slice() else {
        return None;
    };
    let place = jurisdiction.place(name)?;
    let holds = u64::from(place.pieces.filter(|_| !place.is_workshop())?);
    let rows: Vec<&Part> = build
        .iter()
        .copied()
        .filter(|row| row.places.contains(name) && row.name != comes.name)
        .collect();
    let there: u64 = rows.iter().map(|row| u64::from(row.quantity)).sum();
    let gives_way = there
        .saturating_add(u64::from(comes.quantity))
        .saturating_sub(holds);
    if gives_way == 0 || gives_way >= there {
        return None;
    }
    let instead = rows
        .iter()
        .copied()
        .filter(|row| u64::from(row.quantity) == gives_way && row.places.len() == 1)
        .collect();
    Some(Short {
        place: &place.place,
        instead,
        rows,
        own: comes.quantity,
    })
}

impl Short<'_> {
    /// What to do where no row can be left out whole.
    pub(crate) fn words(&self) -> String {
        let named: Vec<String> = self
            .rows
            .iter()
            .map(|row| {
                format!(
                    "{} of {} ({})",
                    row.quantity,
                    quoted(&row.name),
                    row.at.place()
                )
            })
            .collect();
        let own = count(
            usize::try_from(self.own).unwrap_or(usize::MAX),
            "piece is",
            "pieces are",
        );
        format!(
            "{own} offered for `{}`, where {} stand: give each piece there a row of its own to say which it replaces, or offer as many as stand there (a pair sold as one is 1 in both rows)",
            self.place,
            list(&named, "and")
        )
    }
}

/// Why another offer of a part cannot stand instead of it: it has fewer pieces than the part's own row. One that says no
/// `quantity` is as many.
pub(crate) fn fewer(offer: &Part, book: &Book, jurisdiction: &Jurisdiction<'_>) -> Option<String> {
    let own = book
        .main_row(&offer.name)
        .filter(|own| offer.role == Role::Rival && on_the_bike(own, jurisdiction))?;
    (offer.quantity < own.quantity).then(|| {
        let offered = count(usize::try_from(offer.quantity).unwrap_or(usize::MAX), "piece is", "pieces are");
        format!(
            "{offered} offered of {}, of which {} stand in its own row ({}): leave `quantity` empty where all of them are bought from this seller at this price each, or give each piece a row of its own (a pair sold as one is 1 in both rows)",
            quoted(&own.name),
            own.quantity,
            own.at.place()
        )
    })
}

/// Warns of every offer that is refused for its pieces.
pub(super) fn ask(book: &Book, jurisdiction: &Jurisdiction<'_>, problems: &mut Problems) {
    let build: Vec<&Part> = book.build().collect();
    for row in book.offers() {
        let of_build = build.iter().any(|own| own.name == row.name);
        let refused = || {
            short(row, &build, jurisdiction)
                .filter(|short| !of_build && short.instead.is_empty())
                .map(|short| short.words())
        };
        if let Some(why) = fewer(row, book, jurisdiction).or_else(refused) {
            problems.push(
                row.at
                    .cell("quantity")
                    .error(format!("this offer is left out: {why}"))
                    .as_warning(),
            );
        }
    }
}

/// Why a piece of a thing that is one row cannot be replaced alone, and what to do.
pub(crate) fn split_words(row: &Part) -> String {
    let places: Vec<String> = row
        .places
        .iter()
        .map(|place| format!("`{place}`"))
        .collect();
    format!(
        "{} ({}) fills {} in one row: split the row, one row for each piece with its own `place`, `price` and `mass_g`, and the piece can be replaced",
        quoted(&row.name),
        row.at.place(),
        list(&places, "and")
    )
}
