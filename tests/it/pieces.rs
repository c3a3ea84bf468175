//! Pieces of a place, and pieces of a thing that is one row: an option replaces what it can, and what it cannot is said.

use landwaiter::rank::{Ranking, rank};

use crate::small::{SELLERS, ask, book, tables};

const HEADER: &str = "part,place,role,standing,seller,price,paid,mass_g,mass_kind,quantity\n";

fn ranking(rows: &str) -> Ranking {
    let parts = format!("{HEADER}{rows}");
    rank(&book(&[("parts", &parts), ("sellers", SELLERS)]), &tables(), &ask(&[])).unwrap()
}

/// One tyre of 250 g at 60.00, carried for 20.00, under the limit of 100.00: 80.00. It stands instead of the front one of 350 g or
/// of the rear one of 360 g: 100 g or 110 g, never 460 g.
#[test]
fn one_tyre_replaces_one_of_two() {
    let ranking = ranking(
        "Front,tyre,build,in-hand,,,0,350,weighed,1\nRear,tyre,build,in-hand,,,0,360,weighed,1\nLight,tyre,option,,Northmoor,60.00,,250,weighed,1\n",
    );
    let mut found: Vec<(Vec<String>, String, String)> = ranking
        .options
        .iter()
        .map(|option| (option.replaces.clone(), option.difference.saved.0.to_string(), option.together.to_string()))
        .collect();
    found.sort();
    let one = |name: &str, saved: &str| (vec![name.to_owned()], saved.to_owned(), "80".to_owned());
    assert_eq!(found, [one("Front", "100"), one("Rear", "110")]);
}

#[test]
fn one_tyre_against_a_row_of_two_is_refused_with_what_to_do() {
    let ranking = ranking("Pair,tyre,build,in-hand,,,0,350,weighed,2\nLight,tyre,option,,Northmoor,60.00,,250,weighed,1\n");
    assert!(ranking.options.is_empty(), "{:?}", ranking.options);
    let reason = &ranking.left_out[0].reason;
    for words in ["1 piece is offered for `tyre`", "2 of `Pair` (parts.csv:2)", "a row of its own"] {
        assert!(reason.contains(words), "{words}: {reason}");
    }
}

/// Two against two replace both, and one against one, which may be a pair sold as one, replaces it: 2 x 100 g, and 450 g.
#[test]
fn as_many_pieces_replace_all() {
    let two = ranking("Pair,tyre,build,in-hand,,,0,350,weighed,2\nLight,tyre,option,,Northmoor,40.00,,250,weighed,2\n");
    assert_eq!(two.options[0].difference.saved.0.to_string(), "200");
    let one = ranking("Pair,tyre,build,in-hand,,,0,700,weighed,1\nLight,tyre,option,,Northmoor,40.00,,250,weighed,1\n");
    assert_eq!(one.options[0].difference.saved.0.to_string(), "450");
}

#[test]
fn a_piece_of_a_set_in_one_row_is_refused_by_name_with_how_to_split_it() {
    let ranking =
        ranking("Cockpit,handlebar + stem,build,in-hand,,,0,500,weighed,1\nLight bar,handlebar,option,,Northmoor,60.00,,200,weighed,1\n");
    assert!(ranking.options.is_empty(), "{:?}", ranking.options);
    let reason = &ranking.left_out[0].reason;
    for words in ["`Cockpit` (parts.csv:2) fills `handlebar` and `stem` in one row", "split the row", "`price` and `mass_g`"] {
        assert!(reason.contains(words), "{words}: {reason}");
    }
}
