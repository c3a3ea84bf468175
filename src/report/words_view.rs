//! `help words`: the tool's words, one line each.

use super::view::{Cell, Grid, View};

const WORDS: [(&str, &str); 20] = [
    ("book", "a folder of tables for one build"),
    (
        "place",
        "where a part goes on the bike; one piece may fill several (`handlebar + stem`)",
    ),
    (
        "standing",
        "to-order; on-order (seller paid, charges at the door to come); in-hand (nothing more to pay); given (nobody pays its price); bundled (comes in another part's box); missing or damaged (paid for, and not there or not whole when its parcel came)",
    ),
    (
        "parcel",
        "what one seller sends in one consignment: what customs looks at",
    ),
    ("dispatch", "the country a parcel leaves from"),
    (
        "origin",
        "the country the goods were made in; it decides duty and anti-dumping",
    ),
    (
        "landed cost",
        "everything paid until the goods are at the door",
    ),
    (
        "intrinsic value",
        "the goods' price net of discount, without separately shown freight and insurance",
    ),
    (
        "customs value",
        "what duty is charged on: goods, or goods with freight and insurance, by the destination's law",
    ),
    ("relief", "a limit under which a charge is not due"),
    (
        "anti-dumping",
        "anti-dumping or countervailing duty, added to the ordinary rate",
    ),
    (
        "VAT, GST",
        "the destination's tax on goods, taken by the seller at the sale or by customs at the border",
    ),
    (
        "carrier's fee",
        "what the carrier takes for paying the charges in your place",
    ),
    (
        "basis",
        "how a bike was weighed: showroom (no pedals, cages, sealant), racing (pedals, cages and mounts on, bottles off), ride (as it is ridden)",
    ),
    (
        "trail",
        "for one amount: the rule, the table's row and the source behind it",
    ),
    (
        "certainty",
        "of a table's row: certain; disputed (text and practice differ); announced (not in force); annulled (struck down)",
    ),
    (
        "undisputed, with disputed",
        "of a sum for programs: without the rows in dispute, and with all of them; whatever `remedies` says, anti-dumping that is only shown is in the second alone",
    ),
    (
        "evidence",
        "of a table's row: read (the source names the text); inferred; recalled (from memory, not read again)",
    ),
    (
        "alone, together",
        "of an upgrade: what it adds in parcels of its own; what it adds to the parcels that are ordered anyway",
    ),
    (
        "replacement value",
        "what the next person would pay for the same bike",
    ),
];

/// The words as a view.
pub(crate) fn words_view() -> View {
    let mut view = View::default();
    let mut grid = Grid::new("words", &["word", "what it means here"]);
    grid.rows = WORDS
        .iter()
        .map(|(word, text)| vec![Cell::text(*word), Cell::text(*text)])
        .collect();
    view.table(grid);
    view
}
