//! One weight: every command tells a build's mass on the same basis, and treats a reading of unknown basis alike.

use landwaiter::book::Book;
use landwaiter::compare::{Options, compare_at};
use landwaiter::landed::{Cautions, Jurisdiction, Question, cost_at};
use landwaiter::leeway::mass_range;
use landwaiter::plan::{Patient, Planned, Wishes, plan};
use landwaiter::rank::rank_at;
use landwaiter::settle::weigh;
use landwaiter::units::Grams;
use landwaiter::value::scale::weighed;

use super::harness::landwaiter;
// 1000 + 80 + 250 + 300 + 120 + 250 = 2000 g, of which the pedals are 300 g.
use super::plan_parcels::ROWS;
use super::small::{SELLERS, SPREADS, ask, book, tables_with};

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

/// What is on the bike and not in its mass is named, with its grams.
#[test]
fn what_the_mass_leaves_out_is_named() {
    let parts = "part,place,price,currency,mass_g\nBar,handlebar,40.00,GBP,250\nPedals,pedals,30.00,GBP,300\n";
    let run = |basis: &str, format: &str| {
        let settings =
            format!("setting,value\ndestination,GB\ndate,2026-03-02\nkind,road\nbasis,{basis}\n");
        let run = landwaiter(&format!("cost b --format {format}"))
            .file("b/settings.csv", settings)
            .file("b/parts.csv", parts);
        run.go().ends(0).out
    };
    let out = run("showroom", "table");
    assert!(
        out.contains("Mass 250 g (showroom: no pedals, cages, sealant)"),
        "{out}"
    );
    assert!(
        out.contains("On the bike but not in its mass on this basis: Pedals, 300 g."),
        "{out}"
    );
    let json: serde_json::Value = serde_json::from_str(&run("ride", "json")).unwrap();
    // 250 + 300 + 810 g, by the tables, of what the rider carries.
    assert_eq!(
        (&json["totals"]["mass_g"], &json["totals"]["rider_g"]),
        (&"1360".into(), &"810".into())
    );
    assert_eq!(
        (&json["totals"]["basis"], &json["totals"]["not_counted"]),
        (&"ride".into(), &serde_json::json!([]))
    );
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

/// `check` asks with the cell, and every command that tells a weight says it.
#[test]
fn a_reading_of_unknown_basis_is_asked_about_by_every_command() {
    let parts = "part,place,price,currency,mass_g\nBar,handlebar,40.00,GBP,250\n";
    for command in ["check", "cost", "compare", "rank", "leeway", "settle"] {
        let run = landwaiter(&format!("{command} b"))
            .file(
                "b/settings.csv",
                "setting,value\ndestination,GB\ndate,2026-03-02\nkind,road\n",
            )
            .file("b/parts.csv", parts)
            .file(
                "b/weighings.csv",
                "what,mass_g,date\nbike,8000,2026-02-20\n",
            );
        let ran = run.go().ends(0);
        let said = format!("{}{}", ran.out, ran.err).replace("\n  ", " ");
        assert!(
            said.contains("the weighing of the whole bike is not used: its basis is not told"),
            "{command}: {said}"
        );
        assert_eq!(
            command == "check",
            said.contains("weighings.csv:2"),
            "{command}: {said}"
        );
    }
}
