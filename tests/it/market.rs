//! The market line of a comparison: which bikes it goes through, and when it says nothing.

use landwaiter::compare::{Comparison, Market, compare};

use super::small::{SELLERS, ask, book, tables};

/// Replacement 400.00, at home; 8000 g on the racing basis.
const PARTS: &str =
    "part,place,standing,price,currency,mass_g\nFrame,frame,to-order,400.00,GBP,8000\n";
const HEADER: &str = "bike,price,currency,price_kind,mass_g,basis,class,season\n";

/// Half the price for each kilogram more.
const FIVE: &str = "Ash,1600,GBP,list,6000,racing,road,2026\nBirk,800,GBP,list,7000,racing,road,2026\n\
                    Cray,400,GBP,street,8000,racing,Road,2026\nDent,200,GBP,list,9000,racing,road,2026\n\
                    Eller,100,GBP,list,10000,racing,road,2026\n";

fn compared(bikes: &str, mass: &str) -> Comparison {
    let parts = PARTS.replace("8000", mass);
    compare(
        &book(&[
            ("parts", &parts),
            ("sellers", SELLERS),
            ("bikes", &format!("{HEADER}{bikes}")),
        ]),
        &tables(),
        &ask(&[]),
    )
    .unwrap()
}

#[test]
fn the_line_says_what_is_asked_at_the_builds_mass() {
    let Market::Line(asked) = compared(FIVE, "7000").market else {
        panic!("no line")
    };
    assert_eq!(
        (
            asked.asks.fixed(2),
            asked.next_kilogram.fixed(2),
            asked.off.fixed(1)
        ),
        ("800.00".into(), "800.00".into(), "-50.0".into())
    );
    assert_eq!(asked.set.words(), "5 bikes (road, 2026, list and street)");
    assert!(
        asked.residuals.iter().all(|(_, off)| off.is_zero()),
        "{:?}",
        asked.residuals
    );
}

#[test]
fn one_class_one_season_one_kind_of_price() {
    let others = "Foss,5000,GBP,list,7500,racing,gravel,2026\nGill,5000,GBP,list,7500,racing,road,2025\n\
                  Hawes,5000,GBP,used,7500,racing,road,2026\nIngle,5000,GBP,sale,7500,racing,road,2026\nJeel,5000,GBP,list,7500,racing,,2026\n";
    let Market::Line(asked) = compared(&format!("{FIVE}{others}"), "7000").market else {
        panic!("no line")
    };
    assert_eq!(asked.set.others, ["Foss", "Gill", "Hawes", "Ingle", "Jeel"]);
    assert_eq!(asked.asks.fixed(2), "800.00");
}

#[test]
fn it_is_silent_under_five_bikes_and_outside_their_masses() {
    let four: String = FIVE
        .lines()
        .take(4)
        .map(|line| format!("{line}\n"))
        .collect();
    let Market::None(why) = compared(&four, "7000").market else {
        panic!("a line")
    };
    assert!(
        why.ends_with("the most that stand together are 4 bikes (road, 2026, list and street)"),
        "{why}"
    );
    for mass in ["5999", "10001"] {
        assert!(
            matches!(compared(FIVE, mass).market, Market::Outside { .. }),
            "{mass}"
        );
    }
    for mass in ["6000", "10000"] {
        assert!(
            matches!(compared(FIVE, mass).market, Market::Line(_)),
            "{mass}"
        );
    }
}

#[test]
fn a_bike_that_cannot_be_compared_is_not_in_the_line() {
    let without = FIVE.replace("9000,racing", "9000,");
    let found = compared(&without, "7000");
    assert_eq!(
        found
            .left_out
            .iter()
            .map(|left| left.bike.as_str())
            .collect::<Vec<_>>(),
        ["Dent"]
    );
    assert!(matches!(found.market, Market::None(_)));
}

#[test]
fn the_order_of_bikes_changes_nothing() {
    let mut lines: Vec<&str> = FIVE.lines().collect();
    lines.reverse();
    let (one, other) = (compared(FIVE, "7400"), compared(&lines.join("\n"), "7400"));
    assert_eq!(format!("{:?}", one.market), format!("{:?}", other.market));
}
