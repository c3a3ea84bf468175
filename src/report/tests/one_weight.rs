//! One weight: every command tells a build's mass on the same basis, and treats a reading of unknown basis alike.

use crate::book::Book;
use crate::compare::{Options, compare_at};
use crate::landed::{Cautions, Jurisdiction, Question, cost_at};
use crate::leeway::mass_range;
use crate::plan::{Patient, Planned, Wishes, plan};
use crate::rank::rank_at;
use crate::settle::weigh;
use crate::small::{ROWS, SELLERS, SPREADS, ask, book, tables_with};
use crate::units::Grams;
use crate::value::scale::weighed;

fn own(more: &[(&str, &str)]) -> Book {
    let files: Vec<(&str, &str)> = [("parts", ROWS), ("sellers", SELLERS)]
        .into_iter()
        .chain(more.iter().copied())
        .collect();
    book(&files)
}

/// As `cost` tells it: the scale goes before the sum.
fn cost_mass(book: &Book, jurisdiction: &Jurisdiction<'_>) -> Grams {
    let scale = weighed(book, jurisdiction, &mut Cautions::default()).unwrap();
    scale.map_or_else(
        || cost_at(book, jurisdiction).unwrap().totals.mass,
        |scale| scale.likely(),
    )
}

/// What `cost`, `compare`, `rank`, `leeway` and `plan` say the build weighs.
fn told(book: &Book, ask: &Question) -> [String; 5] {
    let tables = tables_with(&[SPREADS]);
    let jurisdiction = Jurisdiction::open(&tables, ask).unwrap();
    let Planned::Found(plans) = plan(book, &jurisdiction, &Wishes::default(), &Patient).unwrap()
    else {
        panic!("no plan")
    };
    let (_, planned) = plans.build.unwrap();
    assert_eq!(
        plans.plans[0].mass, planned,
        "the cheapest plan is the build"
    );
    let all = [
        cost_mass(book, &jurisdiction),
        compare_at(book, &jurisdiction, Options::default())
            .unwrap()
            .mine
            .mass,
        rank_at(book, &jurisdiction).unwrap().mass,
        mass_range(book, &jurisdiction).unwrap().unwrap().stated,
        planned,
    ];
    all.map(|mass| mass.to_string())
}

/// In the showroom the pedals are off, 1700 g; as ridden the tables add 800 g of what the rider carries, 2800 g.
#[test]
fn every_command_tells_the_same_weight_on_every_basis() {
    for (basis, mass) in [("showroom", "1700"), ("racing", "2000"), ("ride", "2800")] {
        assert_eq!(
            told(&own(&[]), &ask(&[("basis", basis)])),
            [mass; 5],
            "{basis}"
        );
    }
}

/// The mass limit is kept on the same basis: 1700 g in the showroom are within 1,750 g, the 50 g of the light stem are not needed.
#[test]
fn a_mass_limit_is_of_the_basis() {
    let (book, tables) = (own(&[]), tables_with(&[]));
    let within = |basis: &str| {
        let ask = ask(&[("basis", basis), ("max_mass_g", "1750")]);
        let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
        matches!(
            plan(&book, &jurisdiction, &Wishes::default(), &Patient).unwrap(),
            Planned::Found(_)
        )
    };
    assert!(within("showroom") && !within("racing"));
}

/// An option for a place that the basis does not count saves nothing on it, and needs no mass of its own.
#[test]
fn what_the_basis_does_not_count_saves_nothing() {
    let rows = ROWS.replace(
        "Light stem,stem,option,to-order,Southmoor,50.00,,1,,,70",
        "Light pedals,pedals,option,to-order,Southmoor,50.00,,1,,,200",
    );
    let book = book(&[("parts", &rows), ("sellers", SELLERS)]);
    let tables = tables_with(&[SPREADS]);
    for (basis, saved) in [("showroom", "0"), ("racing", "100")] {
        let ask = ask(&[("basis", basis)]);
        let ranking = rank_at(&book, &Jurisdiction::open(&tables, &ask).unwrap()).unwrap();
        assert_eq!(
            ranking.options[0].difference.saved.to_string(),
            saved,
            "{basis}"
        );
    }
}

const UNTOLD: (&str, &str) = (
    "weighings",
    "what,mass_g,basis,date\nbike,1980,,2026-02-20\n",
);

/// Nobody tells what was on the bike: no command uses the reading, and each says so.
#[test]
fn a_reading_of_unknown_basis_is_used_by_no_command() {
    let (book, ask) = (own(&[UNTOLD]), ask(&[]));
    assert_eq!(told(&book, &ask), ["2000"; 5]);
    let tables = tables_with(&[SPREADS]);
    let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
    let mut said = Cautions::default();
    assert!(weighed(&book, &jurisdiction, &mut said).unwrap().is_none());
    let scales = weigh(&book, &jurisdiction).unwrap();
    assert!(scales.bike.is_empty(), "{:?}", scales.bike);
    let ids: Vec<&str> = scales.cautions.iter().map(|caution| caution.id).collect();
    assert_eq!(ids, ["bike-weighing-unused"]);
    assert_eq!(scales.cautions, said.into_list());
}

/// The book's own basis stands in, whatever basis is asked for: 1980 g in the showroom are 1980 + 300 g in a race, with the build's
/// own pedals, and 60 g of cages by the tables.
#[test]
fn the_basis_of_the_book_stands_in_for_every_command() {
    let book = own(&[UNTOLD, ("settings", "setting,value\nbasis,showroom\n")]);
    for (basis, mass) in [("showroom", "1980"), ("racing", "2340")] {
        assert_eq!(told(&book, &ask(&[("basis", basis)])), [mass; 5], "{basis}");
        let ask = ask(&[("basis", basis)]);
        let tables = tables_with(&[SPREADS]);
        let scales = weigh(&book, &Jurisdiction::open(&tables, &ask).unwrap()).unwrap();
        assert_eq!(
            (scales.bike[0].basis.name(), scales.bike[0].sum.to_string()),
            ("showroom", "1700".to_owned())
        );
        assert_eq!(scales.cautions[0].id, "bike-basis-assumed");
    }
}

/// As ridden, the sum of the parts holds what the rider carries, in `settle` as in `cost`: 2000 + 800 g.
#[test]
fn the_gap_of_a_bike_as_ridden_is_held_against_the_same_sum() {
    let book = own(&[(
        "weighings",
        "what,mass_g,basis,date\nbike,2790,ride,2026-02-20\n",
    )]);
    let (tables, ask) = (tables_with(&[SPREADS]), ask(&[("basis", "ride")]));
    let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
    let scale = weighed(&book, &jurisdiction, &mut Cautions::default())
        .unwrap()
        .unwrap();
    let gap = &weigh(&book, &jurisdiction).unwrap().bike[0];
    assert_eq!(
        (
            scale.sum.to_string(),
            gap.sum.to_string(),
            gap.gap.to_string()
        ),
        ("2800".to_owned(), "2800".to_owned(), "-10".to_owned())
    );
}
