//! Quadrants, places, joints and bases.

use crate::book::{Book, Part};
use crate::landed::{Jurisdiction, Question};
use crate::small::{SELLERS, ask, book, dec, tables};
use crate::tables::Tables;
use crate::text::Problems;
use crate::units::{Basis, Dec, Grams};
use crate::value::basis::{Own, convert, mass_on, own_parts};
use crate::value::bench::{Empty, Findings};
use crate::value::ratio::Ratio;
use crate::value::{Difference, Quadrant, check};

fn difference(cost: &str, saved: &str) -> Difference {
    Difference::new(dec(cost), Grams(dec(saved)), 2)
}

impl Findings {
    /// Empty places that people often forget.
    fn forgotten(&self) -> impl Iterator<Item = &Empty> {
        self.empty.iter().filter(|empty| empty.often_forgotten)
    }

    /// The usual mass of all that is missing: the least and the most.
    fn missing_mass(&self) -> Result<(Grams, Grams), crate::units::Overflow> {
        let usual = || self.empty.iter().filter_map(|empty| empty.usual);
        Ok((
            Grams::total(usual().map(|(low, _)| low))?,
            Grams::total(usual().map(|(_, high)| high))?,
        ))
    }
}

#[test]
fn a_ratio_stands_only_where_both_differences_are_above_zero() {
    for (cost, saved, quadrant, per_kg, words) in [
        (
            "50",
            "200",
            Quadrant::TradeOff,
            Some("250.00"),
            "more expensive by 50.00 and lighter by 200 g: 250.00 per kg saved",
        ),
        (
            "-50",
            "200",
            Quadrant::Better,
            None,
            "cheaper by 50.00 and lighter by 200 g",
        ),
        (
            "-50",
            "0",
            Quadrant::Better,
            None,
            "cheaper by 50.00 at the same weight",
        ),
        (
            "0",
            "0.1",
            Quadrant::Better,
            None,
            "lighter by 0.1 g at the same price",
        ),
        (
            "50",
            "-200",
            Quadrant::Worse,
            None,
            "more expensive by 50.00 and heavier by 200 g",
        ),
        (
            "50",
            "0",
            Quadrant::Worse,
            None,
            "more expensive by 50.00 at the same weight",
        ),
        (
            "0",
            "-1",
            Quadrant::Worse,
            None,
            "heavier by 1 g at the same price",
        ),
        (
            "-50",
            "-200",
            Quadrant::GivesUp,
            None,
            "cheaper by 50.00 and heavier by 200 g: saves 250.00 per kg given up",
        ),
        (
            "0",
            "0",
            Quadrant::Same,
            None,
            "the same price and the same weight",
        ),
    ] {
        let found = difference(cost, saved);
        let ratio = found.per_kg().unwrap().map(|ratio| ratio.fixed(2));
        assert_eq!(
            (found.quadrant(), ratio.as_deref()),
            (quadrant, per_kg),
            "{cost} {saved}"
        );
        assert_eq!(found.words(|amount| amount.fixed(2)).unwrap(), words);
        assert_eq!(found.grams_per_unit().unwrap().is_some(), per_kg.is_some());
    }
}

#[test]
fn ratios_compare_exactly_where_their_quotients_would_not() {
    // One over the other, their difference is 1 in 9 * 10^36: quotients of 28 digits are the same.
    let ratio = |over: i64, under: i64| {
        Ratio::of(Dec::from(over), Dec::from(under))
            .unwrap()
            .unwrap()
    };
    let (one, other) = (
        ratio(i64::MAX - 1, i64::MAX),
        ratio(i64::MAX - 2, i64::MAX - 1),
    );
    assert_eq!(
        one.value().unwrap().fixed(25),
        other.value().unwrap().fixed(25)
    );
    assert!(one > other);
    assert_eq!(
        Ratio::of(dec("0.2"), dec("0.6")).unwrap().unwrap(),
        ratio(1, 3)
    );
    assert!(Ratio::of(Dec::ONE, Dec::ZERO).unwrap().is_none());
    assert!(Ratio::of(Dec::from(i64::MAX).times(dec("10")).unwrap(), Dec::ONE).is_err());
}

const HEADER: &str = "part,place,role,standing,seller,price,currency,quantity,mass_g,mass_kind,comes_with,needs,fits\n";

fn own(rows: &[&str]) -> Book {
    book(&[
        ("parts", &format!("{HEADER}{}\n", rows.join("\n"))),
        ("sellers", SELLERS),
    ])
}

fn checked(rows: &[&str], settings: &[(&str, &str)]) -> (Findings, Vec<String>) {
    let (book, tables, ask) = (own(rows), tables(), ask(settings));
    let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
    let mut problems = Problems::new();
    let findings = check(&book, &jurisdiction, &mut problems);
    (
        findings,
        problems
            .sorted()
            .iter()
            .map(|problem| problem.message.clone())
            .collect(),
    )
}

fn names(findings: &Findings) -> Vec<&str> {
    findings
        .empty
        .iter()
        .map(|empty| empty.place.as_str())
        .collect()
}

#[test]
fn a_place_filled_twice_names_both_rows() {
    let (_, problems) = checked(
        &[
            "A saddle,saddle,,,,10,GBP,1,200,,,,",
            "B saddle,saddle,,,,10,GBP,1,200,,,,",
        ],
        &[],
    );
    let expected = "`place` is `saddle`: `saddle` is filled twice, by `A saddle` (parts.csv:2) and `B saddle` (parts.csv:3): 2 pieces are there, and 1 fills it";
    assert_eq!(problems, [expected]);
    let (_, problems) = checked(
        &[
            "A post,seatpost,,,,10,GBP,1,200,,,,",
            "B post,dropper-post,,,,10,GBP,1,600,,,,",
        ],
        &[],
    );
    assert_eq!(problems.len(), 1);
    assert!(
        problems[0].contains("`A post`")
            && problems[0].contains("`B post`")
            && problems[0].contains("instead"),
        "{problems:?}"
    );
}

#[test]
fn pieces_of_a_place_may_stand_in_two_rows_or_in_one_as_a_pair() {
    for rows in [
        &[
            "Front tyre,tyre,,,,10,GBP,1,300,,,,",
            "Rear tyre,tyre,,,,10,GBP,1,310,,,,",
        ][..],
        &["Tyre,tyre,,,,10,GBP,2,300,,,,"][..],
        &["Tyre pair,tyre,,,,10,GBP,1,600,,,,"][..],
    ] {
        let (findings, problems) = checked(rows, &[]);
        assert!(
            problems.is_empty() && !names(&findings).contains(&"tyre"),
            "{problems:?}"
        );
    }
    let (_, problems) = checked(&["Tyre,tyre,,,,10,GBP,3,300,,,,"], &[]);
    assert_eq!(
        problems,
        ["`quantity` is `3`: 3 of them are at `tyre`, and 2 fill it"]
    );
    let (_, problems) = checked(
        &[
            "Grease,tool,,,,10,GBP,5,,,,,",
            "Wrench,tool,,,,10,GBP,1,,,,,",
        ],
        &[],
    );
    assert!(problems.is_empty());
}

#[test]
fn empty_places_are_named_with_what_they_usually_weigh() {
    let rows = [
        "Frame,frame,,,,10,GBP,1,1000,,,,",
        "Its headset,headset,,bundled,,,,1,,,Frame,,",
        "Dropper,dropper-post,,,,10,GBP,1,600,,,,",
    ];
    let (findings, _) = checked(&rows, &[]);
    // The seatpost is not missing, as a dropper post stands instead of it; nobody has said how the gears work.
    assert_eq!(
        names(&findings),
        ["handlebar", "pedals", "saddle", "stem", "tyre"]
    );
    assert_eq!(findings.unsaid, ["gears"]);
    assert_eq!(
        findings
            .forgotten()
            .map(|empty| empty.place.as_str())
            .collect::<Vec<_>>(),
        ["pedals"]
    );
    // 190 + 220 + 120 + 95 + 440, and 320 + 380 + 290 + 170 + 700.
    let (low, high) = findings.missing_mass().unwrap();
    assert_eq!(
        (low.to_string(), high.to_string()),
        ("1065".to_owned(), "1860".to_owned())
    );
}

#[test]
fn settings_decide_which_places_are_there() {
    let rows = [
        "Frame,frame,,,,10,GBP,1,1000,,,,",
        "Battery,battery,,,,10,GBP,1,40,,,,",
    ];
    assert!(names(&checked(&rows[..1], &[("gears", "electronic")]).0).contains(&"battery"));
    assert!(!names(&checked(&rows[..1], &[("gears", "mechanical")]).0).contains(&"battery"));
    let (_, problems) = checked(&rows, &[("gears", "mechanical")]);
    let expected = "`place` is `battery`: `battery` is there when `gears = electronic`, and the settings say `gears = mechanical`";
    assert_eq!(problems, [expected]);
}

#[test]
fn joints_that_do_not_agree_and_sides_that_do_not_say() {
    let frame = "Frame,frame,,,,10,GBP,1,1000,,,,headset_cups=wide";
    let (_, problems) = checked(
        &[
            frame,
            "Headset,headset,,,,10,GBP,1,90,,,,headset_cups=narrow|slim",
        ],
        &[],
    );
    let expected = "these parts do not fit: headset_cups, the joint headset - frame: `Frame` says wide, `Headset` says narrow or slim \
                    (The bearings must be of the frame's sizes)";
    assert_eq!(problems, [expected]);
    let (_, problems) = checked(&[frame, "Headset,headset,,,,10,GBP,1,90,,,,"], &[]);
    assert_eq!(
        problems,
        ["`Headset` does not say its `headset_cups`, and `Frame` does: find out before ordering"]
    );
    assert!(
        checked(
            &[
                frame,
                "Headset,headset,,,,10,GBP,1,90,,,,headset_cups=narrow|wide"
            ],
            &[]
        )
        .1
        .is_empty()
    );
}

#[test]
fn pieces_at_one_place_are_held_against_the_other_side_and_not_one_another() {
    let said = |rows: &[&str]| {
        let (book, tables, ask) = (
            own(rows),
            crate::small::tables_with(&[crate::small::PAIRS]),
            ask(&[]),
        );
        let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
        let rows: Vec<&Part> = book.build().collect();
        crate::value::fit::clashes(&rows, &jurisdiction)
            .iter()
            .map(crate::value::fit::Clash::short)
            .collect::<Vec<_>>()
    };
    let rotor = |name: &str, size: &str| {
        format!("{name},bottle-cages,,,,10,GBP,1,100,,,,rotor_size={size}")
    };
    let caliper =
        |name: &str, size: &str| format!("{name},tyre,,,,10,GBP,1,100,,,,rotor_size={size}");
    let all = |rows: &[String]| said(&rows.iter().map(String::as_str).collect::<Vec<_>>());
    let rotors = [rotor("Front rotor", "160"), rotor("Rear rotor", "140")];
    assert!(all(&rotors).is_empty(), "two rotors do not meet");
    assert!(all(&[rotors.to_vec(), vec![caliper("Calipers", "140|160")]].concat()).is_empty());
    assert!(
        all(&[
            rotors.to_vec(),
            vec![
                caliper("Front caliper", "160"),
                caliper("Rear caliper", "140")
            ]
        ]
        .concat())
        .is_empty()
    );
    let found = all(&[
        rotors.to_vec(),
        vec![
            caliper("Front caliper", "160"),
            caliper("Rear caliper", "160"),
        ],
    ]
    .concat());
    assert_eq!(
        found,
        ["rotor_size, the joint caliper - rotor: `Front caliper` says 160, `Rear rotor` says 140"]
    );
    // A key that the tables do not know is held against every part that states it.
    let strange =
        |name: &str, size: &str| format!("{name},bottle-cages,,,,10,GBP,1,100,,,,colour={size}");
    assert_eq!(
        all(&[strange("A", "red"), strange("B", "blue")]),
        ["colour: `A` says red, `B` says blue"]
    );
}

/// Runs a check at a jurisdiction of the small world.
fn at_jurisdiction(test: impl Fn(&Jurisdiction<'_>)) {
    let (tables, ask): (Tables, Question) = (tables(), ask(&[]));
    test(&Jurisdiction::open(&tables, &ask).unwrap());
}

#[test]
fn masses_go_from_basis_to_basis_and_back() {
    at_jurisdiction(|jurisdiction| {
        let told = Grams(dec("8000"));
        // Pedals 220 to 380 and cages 30 to 90: 8250 to 8470, likely 8000 + 300 + 60.
        let there = convert(
            told,
            Some(Basis::Showroom),
            Basis::Racing,
            &Own::new(),
            jurisdiction,
        )
        .unwrap()
        .mass;
        assert_eq!(
            [there.low, there.likely, there.high].map(|g| g.to_string()),
            ["8250", "8360", "8470"]
        );
        let back = convert(
            there.likely,
            Some(Basis::Racing),
            Basis::Showroom,
            &Own::new(),
            jurisdiction,
        )
        .unwrap()
        .mass;
        assert_eq!(
            [back.low, back.likely, back.high].map(|g| g.to_string()),
            ["7890", "8000", "8110"]
        );
        // Both steps add up: 300 + 60 + 800.
        let ride = convert(
            told,
            Some(Basis::Showroom),
            Basis::Ride,
            &Own::new(),
            jurisdiction,
        )
        .unwrap();
        assert_eq!(
            (ride.mass.likely.to_string(), ride.steps.len()),
            ("9160".to_owned(), 3)
        );
        let none = convert(
            told,
            Some(Basis::Ride),
            Basis::Ride,
            &Own::new(),
            jurisdiction,
        )
        .unwrap();
        assert!(none.mass.is_exact() && none.steps.is_empty());
        // What is not told cannot be converted.
        let refused = convert(told, None, Basis::Racing, &Own::new(), jurisdiction).unwrap_err();
        assert!(refused.starts_with("its basis is unknown"), "{refused}");
    });
}

#[test]
fn a_builds_own_part_stands_in_place_of_the_range_both_ways() {
    let book = own(&[
        "Pedals,pedals,,,,10,GBP,1,262.5,weighed,,,",
        "Frame,frame,,,,10,GBP,1,1000,,,,",
        "Wrench,tool,,,,10,GBP,1,400,,,,",
    ]);
    let rows: Vec<&Part> = book.build().collect();
    at_jurisdiction(|jurisdiction| {
        let own = own_parts(&rows).unwrap();
        let told = Grams(dec("8000"));
        let there = convert(
            told,
            Some(Basis::Showroom),
            Basis::Racing,
            &own,
            jurisdiction,
        )
        .unwrap();
        // 262.5 exactly, and cages 30 to 90.
        assert_eq!(
            [there.mass.low, there.mass.high].map(|g| g.to_string()),
            ["8292.5", "8352.5"]
        );
        assert_eq!(
            there
                .steps
                .iter()
                .filter_map(|step| step.own.as_deref())
                .collect::<Vec<_>>(),
            ["Pedals"]
        );
        let back = convert(
            there.mass.likely,
            Some(Basis::Racing),
            Basis::Showroom,
            &own,
            jurisdiction,
        )
        .unwrap();
        assert_eq!(back.mass.likely, told);
        // A build's own mass: what the basis counts; a tool weighs nothing on the bike.
        assert_eq!(
            mass_on(&rows, Basis::Racing, jurisdiction)
                .unwrap()
                .0
                .to_string(),
            "1262.5"
        );
        assert_eq!(
            mass_on(&rows, Basis::Showroom, jurisdiction)
                .unwrap()
                .0
                .to_string(),
            "1000"
        );
    });
}
