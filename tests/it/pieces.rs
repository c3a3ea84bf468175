//! Pieces of a place, and pieces of a thing that is one row: an option replaces what it can, and what it cannot is said.

use landwaiter::book::Book;
use landwaiter::landed::Jurisdiction;
use landwaiter::plan::{Patient, Planned, Wishes, plan};
use landwaiter::rank::{Ranking, rank};

use crate::small::{SELLERS, ask, book, tables};

const HEADER: &str = "part,place,role,standing,seller,price,paid,mass_g,mass_kind,quantity\n";

fn ranking(rows: &str) -> Ranking {
    let parts = format!("{HEADER}{rows}");
    rank(
        &book(&[("parts", &parts), ("sellers", SELLERS)]),
        &tables(),
        &ask(&[]),
    )
    .unwrap()
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
        .map(|option| {
            (
                option.replaces.clone(),
                option.difference.saved.0.to_string(),
                option.together.to_string(),
            )
        })
        .collect();
    found.sort();
    let one = |name: &str, saved: &str| (vec![name.to_owned()], saved.to_owned(), "80".to_owned());
    assert_eq!(found, [one("Front", "100"), one("Rear", "110")]);
}

#[test]
fn one_tyre_against_a_row_of_two_is_refused_with_what_to_do() {
    let ranking = ranking(
        "Pair,tyre,build,in-hand,,,0,350,weighed,2\nLight,tyre,option,,Northmoor,60.00,,250,weighed,1\n",
    );
    assert!(ranking.options.is_empty(), "{:?}", ranking.options);
    let reason = &ranking.left_out[0].reason;
    for words in [
        "1 piece is offered for `tyre`",
        "2 of `Pair` (parts.csv:2)",
        "a row of its own",
    ] {
        assert!(reason.contains(words), "{words}: {reason}");
    }
}

/// Two against two replace both, and one against one, which may be a pair sold as one, replaces it: 2 x 100 g, and 450 g.
#[test]
fn as_many_pieces_replace_all() {
    let two = ranking(
        "Pair,tyre,build,in-hand,,,0,350,weighed,2\nLight,tyre,option,,Northmoor,40.00,,250,weighed,2\n",
    );
    assert_eq!(two.options[0].difference.saved.0.to_string(), "200");
    let one = ranking(
        "Pair,tyre,build,in-hand,,,0,700,weighed,1\nLight,tyre,option,,Northmoor,40.00,,250,weighed,1\n",
    );
    assert_eq!(one.options[0].difference.saved.0.to_string(), "450");
}

#[test]
fn a_piece_of_a_set_in_one_row_is_refused_by_name_with_how_to_split_it() {
    let ranking = ranking(
        "Cockpit,handlebar + stem,build,in-hand,,,0,500,weighed,1\nLight bar,handlebar,option,,Northmoor,60.00,,200,weighed,1\n",
    );
    assert!(ranking.options.is_empty(), "{:?}", ranking.options);
    let reason = &ranking.left_out[0].reason;
    for words in [
        "`Cockpit` (parts.csv:2) fills `handlebar` and `stem` in one row",
        "split the row",
        "`price` and `mass_g`",
    ] {
        assert!(reason.contains(words), "{words}: {reason}");
    }
}

/// Two rows for the place are two ways for one light tyre, and each says which row it is about.
#[test]
fn an_option_for_one_of_two_rows_says_which_it_replaces() {
    let rows = "Front,tyre,build,in-hand,,,0,350,weighed,1\nRear,tyre,build,in-hand,,,0,360,weighed,1\nLight,tyre,option,,Northmoor,60.00,,250,weighed,1\n";
    let found = ranking(rows);
    let titles: Vec<String> = found
        .options
        .iter()
        .map(landwaiter::rank::Ranked::title)
        .collect();
    assert_eq!(
        titles,
        ["Light in place of Rear", "Light in place of Front"]
    );
    assert_eq!(
        found.options[1].beaten_by.as_deref(),
        Some("Light in place of Rear")
    );
}

fn rival_rows(quantity: &str) -> String {
    let rest: Vec<String> = ["frame", "headset", "handlebar", "stem", "saddle", "pedals"]
        .map(|place| format!("Plain {place},{place},build,given,,,100,1\n"))
        .into();
    format!(
        "part,place,role,standing,seller,price,mass_g,quantity\n{rest}Tyre A,tyre,build,to-order,Northmoor,40.00,300,2\nTyre A,,rival,,Southmoor,45.00,,{quantity}\n",
        rest = rest.concat()
    )
}

fn rival(quantity: &str) -> Book {
    book(&[("parts", &rival_rows(quantity)), ("sellers", SELLERS)])
}

/// Another offer of one tyre is none of the two: `rank`, `plan` and `check` name it, and what to do.
#[test]
fn another_offer_of_fewer_pieces_is_refused_by_name() {
    let (tables, ask) = (tables(), ask(&[]));
    let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
    let book = rival("1");
    let ranking = rank(&book, &tables, &ask).unwrap();
    assert!(
        ranking.options.is_empty() && ranking.ladder.rungs.is_empty(),
        "{:?}",
        ranking.options
    );
    let Planned::Found(plans) = plan(&book, &jurisdiction, &Wishes::default(), &Patient).unwrap()
    else {
        panic!("the build is a plan")
    };
    let checked = crate::harness::landwaiter("check . --to GB --on 2026-10-20")
        .file("parts.csv", rival_rows("1"))
        .file("sellers.csv", SELLERS)
        .go();
    let warned = checked.err.split_whitespace().collect::<Vec<_>>().join(" ");
    // Without it the build is all there is to choose.
    assert!(plans.changes.is_empty(), "{:?}", plans.changes);
    let said = [
        ranking.left_out[0].reason.clone(),
        plans.left_out[0].1.clone(),
        warned,
    ];
    for words in [
        "1 piece is offered of `Tyre A`",
        "of which 2 stand in its own row (parts.csv:8)",
        "leave `quantity` empty",
    ] {
        assert!(
            said.iter().all(|said| said.contains(words)),
            "{words}: {said:#?}"
        );
    }
}

/// 2 x 40.00 and 20.00 are 100.00, under the limit; 2 x 45.00 and 10.00 are 100.00 too, so that nothing is gained: it is the two
/// that are counted.
#[test]
fn another_offer_that_says_no_quantity_is_as_many() {
    let ranking = rank(&rival(""), &tables(), &ask(&[])).unwrap();
    let option = &ranking.options[0];
    assert_eq!(
        (
            option.together.fixed(2),
            option.difference.saved.to_string()
        ),
        ("0.00".to_owned(), "0".to_owned())
    );
}

/// Two tyres were weighed together, then one of them again after it was cut: 280 + 610 / 2 grams.
#[test]
fn a_piece_weighed_again_leaves_the_other_as_it_was() {
    let run = crate::harness::landwaiter("cost . --to GB --on 2026-10-20 --format json")
        .file("parts.csv", "part,place,seller,price,currency,dispatch,quantity,mass_g\nHill tyre,tyre,Ridgeway,30.00,GBP,GB,2,300\n")
        .file("weighings.csv", "what,mass_g,pieces,piece,date\nHill tyre,610,2,,2026-10-10\nHill tyre,280,,front,2026-10-12\n");
    let json = run.go().ends(0).json();
    assert_eq!(json["totals"]["mass_g"], "585", "{}", json["totals"]);
}
