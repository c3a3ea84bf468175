//! What `new` writes: a book to fill in, with every place of a kind of bike.

use super::layout;
use super::view::{Block, Cell, Grid, View};
use crate::tables::{Need, PlaceRow, Tables};

/// The eight columns of a new book.
const COLUMNS: [&str; 8] = [
    "part", "place", "seller", "price", "currency", "dispatch", "mass_g", "note",
];

/// `parts.csv` of a new book: a row for each place that is required or usual, in the order of the tables.
pub(crate) fn starter_parts(tables: &Tables, kind: &str) -> String {
    let mut grid = Grid::new("parts", &COLUMNS);
    for row in tables
        .places_of(kind)
        .into_iter()
        .map(|row| &row.rule)
        .filter(|row| !row.is_workshop() && row.need != Need::Optional)
    {
        let cell = |column: &&str| match *column {
            "part" | "place" => Cell::text(&row.place),
            "note" => Cell::text(hint(row)),
            _ => Cell::Empty,
        };
        grid.rows.push(COLUMNS.iter().map(cell).collect());
    }
    layout::csv(&View {
        blocks: vec![Block::Table(grid)],
    })
}

fn hint(row: &PlaceRow) -> String {
    let pieces = row.pieces.filter(|n| *n > 1).map(|n| format!("{n} pieces"));
    let usual = row
        .usual
        .map(|(low, high)| format!("usually {low} to {high} g"));
    let when = (!row.when.is_always()).then(|| format!("only where {}", row.when));
    let forgotten = row.often_forgotten.then(|| "often forgotten".to_owned());
    let need = (row.need == Need::Usual).then(|| "usual, not required".to_owned());
    [need, pieces, usual, when, forgotten]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join("; ")
}

/// `settings.csv` of a new book.
pub(crate) fn starter_settings(kind: &str) -> String {
    let rows = [
        ("destination", ""),
        ("date", ""),
        ("kind", kind),
        ("gears", ""),
        ("brakes", ""),
        ("tyres", ""),
        ("card_fee", ""),
        ("budget", ""),
        ("max_mass_g", ""),
    ];
    let mut out = String::from(
        "# destination: country of delivery (GB); gears: mechanical or electronic; brakes: hydraulic or mechanical; tyres: tubeless or tubes\nsetting,value\n",
    );
    rows.iter()
        .for_each(|(name, value)| out.push_str(&format!("{name},{value}\n")));
    out
}
