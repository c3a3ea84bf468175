//! What `new` writes: a book to fill in, with every place of a kind of bike.

use super::layout;
use super::view::{Block, Cell, Grid, View};
use crate::tables::{Need, PlaceRow, Tables};
use crate::text::words::count;

/// The columns of a new book.
const COLUMNS: [&str; 9] = [
    "part", "place", "quantity", "seller", "price", "currency", "dispatch", "mass_g", "note",
];

/// The kinds of bike that a book can be started for.
pub(crate) const KINDS: [&str; 3] = ["road", "gravel", "hardtail"];

/// `parts.csv` of a new book: a row for each place that is required or usual, in the order of the tables.
pub(crate) fn starter_parts(tables: &Tables, kind: &str) -> String {
    let mut grid = Grid::new("parts", &COLUMNS);
    for row in listed(tables, kind) {
        let cell = |column: &&str| match *column {
            "part" | "place" => Cell::text(&row.place),
            "quantity" if is_pair(row) => Cell::text("2"),
            "note" => Cell::text(hint(row)),
            _ => Cell::Empty,
        };
        grid.rows.push(COLUMNS.iter().map(cell).collect());
    }
    layout::csv(&View {
        blocks: vec![Block::Table(grid)],
    })
}

/// Whether a place takes two pieces that are sold one by one.
fn is_pair(row: &PlaceRow) -> bool {
    row.pieces == Some(2)
}

fn hint(row: &PlaceRow) -> String {
    let pieces = row.pieces.filter(|n| *n > 1).map(|n| match n {
        2 => "price and weight of one".to_owned(),
        n => format!("{n} pieces"),
    });
    let usual = row.usual.map(|(low, high)| {
        format!(
            "usually {low} to {high} g{}",
            if is_pair(row) { " together" } else { "" }
        )
    });
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

/// `sellers.csv` of a new book: no seller yet, and what its columns are for.
pub(crate) fn starter_sellers() -> String {
    const EXPLAINED: [&str; 9] = [
        "One row is one seller. Whatever you leave empty is asked for by `check`, or a usual figure is taken and said.",
        "seller: the name as you write it in parts.csv",
        "dispatch: the country that its parcels are sent from (TW); currency: what its checkout charges in (USD)",
        "channel: how it sends, post or courier",
        "freight: what it asks for shipping one parcel (18.50), or the name of a shipping table in a folder of rates",
        "collects_tax: yes where its checkout takes your country's VAT, else no",
        "transit_days: days on the way; the rules of the day of arrival count",
        "handling: what its carrier asks for paying the charges for you, where you know it",
        "sender: business, marketplace or private; url: where you found it, for you alone",
    ];
    let mut out: String = EXPLAINED.iter().map(|line| format!("# {line}\n")).collect();
    out.push_str(
        "seller,dispatch,currency,channel,freight,collects_tax,transit_days,handling,sender,note\n",
    );
    out
}

/// Whether a file of a book is one that `new` made, of whatever kind, and nobody has typed into since.
pub(crate) fn is_untouched(name: &str, bytes: &[u8], tables: &Tables) -> bool {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return false;
    };
    KINDS.iter().any(|kind| match name {
        "parts.csv" => text == starter_parts(tables, kind),
        "settings.csv" => text == starter_settings(kind),
        "sellers.csv" => text == starter_sellers(),
        _ => false,
    })
}

/// What `new` says when it is done: what it made, where to type what, and what comes next.
pub(crate) fn started_view(dir: &str, kind: &str, tables: &Tables) -> View {
    let (parts, forgotten) = counted(tables, kind);
    let mut view = View::default();
    view.answer(format!(
        "Made {dir}: a list of the {parts} a {kind} bike needs, ready to fill in."
    ));
    if forgotten > 0 {
        view.say(format!(
            "{forgotten} of them are small parts people forget."
        ));
    }
    let mut grid = Grid::new("fill", &["Now fill in", "Where", "Example"]);
    for (what, place, example) in [
        ("Country of delivery", "settings.csv, `destination`", "GB"),
        (
            "Electronic or mechanical",
            "settings.csv, `gears`",
            "electronic",
        ),
        ("Brakes", "settings.csv, `brakes`", "hydraulic"),
        ("Tyres", "settings.csv, `tyres`", "tubeless"),
        ("Seller, price, currency", "parts.csv", "Taolin, 58.00, USD"),
        ("Country it is sent from", "parts.csv, `dispatch`", "TW"),
        ("Weight, if you know it", "parts.csv, `mass_g`", "231"),
        ("Shipping of each seller", "sellers.csv, `freight`", "18.50"),
    ] {
        grid.rows.push(vec![
            Cell::text(what),
            Cell::text(place),
            Cell::text(example),
        ]);
    }
    view.table(grid);
    view.say("Leave blank what you do not know: `check` lists it, `cost` leaves it out.");
    view.say(format!(
        "The wrong kind? `landwaiter new {dir} --kind OTHER` makes the files again, unless you have typed into them."
    ));
    view.say("");
    view.say(format!("Next: `landwaiter check {dir}`"));
    view
}

/// How many parts a new book lists, and how many of them are often forgotten.
fn counted(tables: &Tables, kind: &str) -> (String, usize) {
    let rows: Vec<_> = listed(tables, kind).collect();
    let forgotten = rows.iter().filter(|row| row.often_forgotten).count();
    (count(rows.len(), "part", "parts"), forgotten)
}

/// The places that a new book lists: each that is required or usual, in the order of the tables.
fn listed<'t>(tables: &'t Tables, kind: &str) -> impl Iterator<Item = &'t PlaceRow> {
    let rows = tables.places_of(kind).into_iter().map(|row| &row.rule);
    rows.filter(|row| !row.is_workshop() && row.need != Need::Optional)
}
