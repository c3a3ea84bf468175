//! Builds that are not finished: half a bike gets no verdict of a whole one, and a price that is not known in full is a floor.

use serde_json::Value;

use crate::book::Book;
use crate::compare::{Comparison, compare};
use crate::landed::{Jurisdiction, cost_at};
use crate::rank::{Ranking, rank};
use crate::report::picture::Shape;
use crate::report::{self, Figures, More, Show, Showing, compare_json, compare_view, rank_json};
use crate::small::{SELLERS, ask, book, tables};
use crate::tables::TaxName;
use crate::units::{Currency, Rate};
use crate::value::Standing;

const SHOW: Show = Show {
    currency: Currency::GBP,
    rate: Rate::SAME,
    tax: TaxName::Vat,
};

const HEADER: &str = "part,place,role,standing,seller,price,currency,quantity,paid,mass_g\n";

/// A frame in hand and a saddle to be ordered: headset, bar, stem and pedals are missing. 1000 + 300 g.
const HALF: &str = "Plain frame,frame,build,in-hand,,450.00,GBP,1,430.00,1000\n\
    Plain saddle,saddle,build,to-order,Southmoor,40.00,,1,,300\n";

/// The rest of it, 750 g, in hand.
const REST: &str = "Plain headset,headset,build,in-hand,,20.00,GBP,1,20.00,80\n\
    Plain bar,handlebar,build,in-hand,,30.00,GBP,1,30.00,250\n\
    Plain stem,stem,build,in-hand,,25.00,GBP,1,25.00,120\n\
    Plain pedals,pedals,build,in-hand,,35.00,GBP,1,35.00,300\n";

const LIGHT: &str = "Light saddle,saddle,option,to-order,Southmoor,90.00,,1,,200\n";

const BIKES: &str = "bike,price,currency,mass_g,basis\nBirkrigg,400.00,GBP,2500,racing\n";

fn own(rows: &str, bikes: &str) -> Book {
    book(&[
        ("parts", &format!("{HEADER}{rows}")),
        ("sellers", SELLERS),
        ("bikes", bikes),
    ])
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn compared(rows: &str, bikes: &str) -> (Comparison, String, Value) {
    let found = compare(&own(rows, bikes), &tables(), &ask(&[])).unwrap();
    let screen = flat(&report::text(
        &compare_view(&found, &SHOW, false).unwrap(),
        &report::Screen::of(100).with_more(true),
    ));
    let json = compare_json(&found, &ask(&[]), &SHOW, &Value::Null).unwrap();
    (found, screen, json)
}

fn ranked(rows: &str) -> (Ranking, String, Value) {
    let ask = ask(&[("rider_kg", "70"), ("rider_watts", "250")]);
    let found = rank(&own(rows, BIKES), &tables(), &ask).unwrap();
    let screen = flat(&report::text(
        &report::rank_view(&found, &ask, &SHOW, None).unwrap(),
        &report::Screen::of(100).with_more(true),
    ));
    let json = rank_json(&found, &ask, &SHOW, &Value::Null).unwrap();
    (found, screen, json)
}

const VERDICTS: [&str; 9] = [
    "dC",
    "dM",
    "dM_range",
    "per_kg",
    "per_kg_range",
    "saved_per_kg_given_up",
    "quadrant",
    "words",
    "to_finish_dC",
];

#[test]
fn half_a_bike_gets_no_saving_and_no_cost_of_finishing() {
    let (found, screen, json) = compared(HALF, BIKES);
    assert!(!found.mine.is_whole() && !found.mine.is_judged());
    for name in VERDICTS {
        assert!(
            json["bikes"][0][name].is_null(),
            "{name}: {}",
            json["bikes"][0]
        );
    }
    assert!(json["build"]["frontier"].is_null(), "{}", json["build"]);
    for said in [
        "a kg",
        "From here on",
        "nothing beats",
        "+1,200",
        "Saved, by",
    ] {
        assert!(!screen.contains(said), "{said}: {screen}");
    }
    assert!(screen.contains("- - no verdict"), "{screen}");
    // The whole build costs more and weighs less: 450.00 + 40.00 + 10.00 + 110.00 = 610.00, 210.00 more; 2050 g, 450 g less; 466.67 a
    // kilogram. Finishing it costs 50.00, 350.00 less than the bike.
    let (found, screen, json) = compared(&format!("{HALF}{REST}"), BIKES);
    assert!(found.mine.is_judged());
    let bike = &json["bikes"][0];
    assert_eq!(
        [
            &bike["dC"],
            &bike["dM"],
            &bike["per_kg"],
            &bike["to_finish_dC"]
        ],
        ["210.00", "450", "466.67", "-350.00"]
    );
    assert!(
        screen.contains("466.67 a kg saved")
            && screen.contains("From here on: finishing the build costs 350.00 less than Birkrigg"),
        "{screen}"
    );
    assert_eq!(json["build"]["frontier"], "ND");
}

/// The frame and the saddle, 1300 g, would lie among the bikes of the market line in mass.
#[test]
fn half_a_bike_has_no_place_on_the_market_line_nor_in_its_picture() {
    let bikes: String = (0..5)
        .map(|n| {
            format!(
                "Bike {n},{}.00,GBP,{},racing\n",
                900 - n * 100,
                1100 + n * 300
            )
        })
        .collect();
    let bikes = format!("bike,price,currency,mass_g,basis\n{bikes}");
    let ask = ask(&[]);
    let drawn = |rows: &str, found: &Comparison| {
        let (book, tables) = (own(rows, &bikes), tables());
        let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
        let landed = cost_at(&book, &jurisdiction).unwrap();
        let (figures, more) = (
            Figures {
                show: SHOW,
                hidden: None,
            },
            More::default(),
        );
        let showing = Showing {
            landed: &landed,
            ask: &ask,
            jurisdiction: &jurisdiction,
            figures,
            comparison: Some(found),
            ranking: None,
            more,
        };
        let all = report::pictures(&showing, Shape::Page).unwrap();
        all.into_iter()
            .find(|one| one.name == "price-mass")
            .unwrap()
            .table
            .1
    };
    let (found, screen, json) = compared(HALF, &bikes);
    assert!(
        screen.contains("parts of the build are missing, so it says nothing of the build."),
        "{screen}"
    );
    for name in ["asks", "band", "off_percent", "next_kg"] {
        assert!(json["market"][name].is_null(), "{name}: {}", json["market"]);
    }
    assert!(
        !found.standing(Standing::Frontier).contains(&"the build"),
        "{screen}"
    );
    let rows = drawn(HALF, &found);
    assert!(
        rows.len() == 5 && rows.iter().all(|row| row[0] != "the build"),
        "{rows:?}"
    );
    let all = format!("{HALF}{REST}");
    let (found, screen, json) = compared(&all, &bikes);
    assert!(
        screen.contains("% above") || screen.contains("% below"),
        "{screen}"
    );
    assert!(
        json["market"]["off_percent"].is_string(),
        "{}",
        json["market"]
    );
    assert_eq!(drawn(&all, &found)[0][0], "the build");
}

#[test]
fn half_a_bike_climbs_nothing() {
    let (found, screen, json) = ranked(&format!("{HALF}{LIGHT}"));
    assert!(
        found.climb.is_empty() && !screen.contains("m climbed"),
        "{screen}"
    );
    assert_eq!(
        (&json["climb"], &json["whole"]),
        (&Value::Array(Vec::new()), &false.into())
    );
    assert_eq!(found.empty, ["handlebar", "headset", "pedals", "stem"]);
    // What the option costs and saves is the same on half a bike.
    assert_eq!(found.options[0].difference.saved.to_string(), "100");
    let (found, screen, json) = ranked(&format!("{HALF}{REST}{LIGHT}"));
    assert!(
        found.climb.len() == 2 && screen.contains("m climbed"),
        "{screen}"
    );
    assert_eq!(json["whole"], true);
}

#[test]
fn with_nothing_on_order_the_total_is_what_was_paid() {
    let paid = format!("{HALF}{REST}").replace(
        "to-order,Southmoor,40.00,,1,,300",
        "in-hand,,40.00,GBP,1,40.00,300",
    );
    let (found, screen, json) = compared(&paid, BIKES);
    assert!(
        screen.contains("Nothing is left to pay: what it costs is what was paid.")
            && !screen.contains("From here on"),
        "{screen}"
    );
    assert!(json["bikes"][0]["to_finish_dC"].is_null() && found.mine.to_pay.is_zero());
    let (book, tables, ask) = (own(&paid, BIKES), tables(), ask(&[]));
    let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
    let first = |book: &Book| {
        let landed = cost_at(book, &jurisdiction).unwrap();
        flat(&report::text(
            &report::cost_view(
                &landed,
                &ask,
                &jurisdiction,
                &SHOW,
                (false, false),
                (None, &[]),
            )
            .unwrap(),
            &report::Screen::of(100).with_more(true),
        ))
    };
    // 430.00 + 110.00 + 40.00.
    assert!(
        first(&book)
            .starts_with("Landed cost 580.00 GBP, all of it paid: as much as the price tags."),
        "{}",
        first(&book)
    );
    assert!(!first(&own(&format!("{HALF}{REST}"), BIKES)).contains("all of it paid"));
    // A part that is still to be ordered at a price nobody knows is something left to pay.
    let open = paid.replace("in-hand,,40.00,GBP,1,40.00,300", "to-order,,,,1,,300");
    let (_, screen, _) = compared(&open, BIKES);
    assert!(!screen.contains("Nothing is left to pay"), "{screen}");
    assert!(
        screen.contains("what is still to be paid for Plain saddle is unknown and not in it."),
        "{screen}"
    );
}

/// Of the pedals neither a price nor a payment is known: 610.00 less 35.00 are 575.00 at least, 175.00 more than the bike, 450 g less,
/// 388.89 a kilogram at least.
#[test]
fn a_price_that_is_not_known_in_full_is_a_floor() {
    let rows =
        format!("{HALF}{REST}").replace("in-hand,,35.00,GBP,1,35.00,300", "in-hand,,,,1,,300");
    let (_, screen, json) = compared(&rows, BIKES);
    assert!(
        screen.contains("so every price gap flatters it."),
        "{screen}"
    );
    assert!(
        screen.contains("388.89 a kg saved")
            && screen.contains("The build costs at least 575.00 GBP to buy again"),
        "{screen}"
    );
    assert_eq!(
        (
            &json["build"]["price_is_floor"],
            &json["bikes"][0]["per_kg"]
        ),
        (&true.into(), &"388.89".into())
    );
    let (_, screen, json) = compared(&format!("{HALF}{REST}"), BIKES);
    assert!(
        !screen.contains("at least")
            && !screen.contains("floor")
            && json["build"]["price_is_floor"] == false,
        "{screen}"
    );
}

/// The rows without their masses: bought again 610.00, 210.00 more than the bike.
#[test]
fn a_build_of_which_no_mass_is_known_gets_no_verdict_on_mass() {
    let rows: String = format!("{HALF}{REST}")
        .lines()
        .map(|row| format!("{},\n", row.rsplit_once(',').unwrap().0))
        .collect();
    let (found, screen, json) = compared(&rows, BIKES);
    assert!(
        screen.contains("and weighs an unknown number of grams (racing")
            && !screen.contains("weighing 0 g"),
        "{screen}"
    );
    assert!(
        screen.contains("No verdict on weight")
            && screen.contains("+210.00 unknown dearer; weight unknown"),
        "{screen}"
    );
    assert!(
        found.mine.has_no_mass()
            && json["bikes"][0]["dM"].is_null()
            && json["build"]["frontier"].is_null(),
        "{json}"
    );
    // One mass is a mass: what it lacks is named.
    let (found, screen, _) = compared(&rows.replacen("430.00,\n", "430.00,1000\n", 1), BIKES);
    assert!(
        !found.mine.has_no_mass() && screen.contains("weighs 1,000 g"),
        "{screen}"
    );
}

/// By what was paid for the frame, the rest bought again: the frame's own price is in no replacement value.
#[test]
fn a_replacement_value_beside_what_was_paid_is_a_floor() {
    let rows =
        format!("{HALF}{REST}").replace("in-hand,,450.00,GBP,1,430.00", "in-hand,,,GBP,1,430.00");
    let (_, screen, _) = compared(&rows, BIKES);
    assert!(
        screen.contains("Compared is the cost to buy again, 160.00 GBP at least, and for Plain frame what was paid"),
        "{screen}"
    );
    assert!(
        screen.contains("The build costs 590.00 GBP to buy again and weighs 2,050 g"),
        "{screen}"
    );
}

/// 575.00 for a build without the price of its pedals against 40,000.00: 39,425.00 less and 50 g more, 788,500.00 a kilogram.
#[test]
fn the_csv_of_a_comparison_tells_a_floor_and_has_no_marks_in_its_figures() {
    let rows =
        format!("{HALF}{REST}").replace("in-hand,,35.00,GBP,1,35.00,300", "in-hand,,,,1,,300");
    let bikes = BIKES.replace("400.00,GBP,2500", "40000.00,GBP,2000");
    let csv = |rows: &str| {
        let found = compare(&own(rows, &bikes), &tables(), &ask(&[])).unwrap();
        report::csv(&report::compare_tables(&found, &SHOW, false).unwrap())
    };
    let floor = csv(&rows);
    assert!(
        floor.contains(",it costs at least,")
            && floor.contains(",-39425.00,-50,788500.00 a kg given up\n"),
        "{floor}"
    );
    let (_, screen, _) = compared(&rows, &bikes);
    assert!(screen.contains("788,500.00 a kg given up"), "{screen}");
    let known = csv(&format!("{HALF}{REST}"));
    assert!(
        known.contains(",it costs,") && !known.contains("at least"),
        "{known}"
    );
}
