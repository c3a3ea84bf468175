//! A reading of a scale: one piece, both of a pair, the whole bike.

use super::{after, book_of, refused};
use crate::book::{Book, MassKind};
use crate::steps::{Edits, OnScale, weigh};
use crate::text::Diagnostic;
use crate::units::{Basis, Date};

const PARTS: &str = "\
part,place,quantity,standing,mass_g,paid
Tyre,tyre,2,in-hand,480,
Wheels,wheels,1,in-hand,1430,
Bar,handlebar,1,in-hand,,
";

fn said(book: &Book, (part, grams): (&str, &str), how: &str) -> Result<Edits, Diagnostic> {
    let scale = OnScale {
        part,
        grams,
        piece: how.strip_prefix("piece "),
        pair: how == "pair",
        date: Date::parse("2026-10-01").unwrap(),
    };
    weigh(book, &scale, Basis::Racing)
}

/// What one of a part weighs after readings, and how that is known.
fn weighed(readings: &[(&str, &str, &str)]) -> (String, MassKind) {
    let mut table = String::new();
    for (part, grams, how) in readings {
        let tables = [("parts", PARTS), ("weighings", table.as_str())];
        let tables = if table.is_empty() {
            &tables[..1]
        } else {
            &tables[..]
        };
        let edits = said(&book_of(tables), (part, grams), how).unwrap();
        table = after(tables, &edits);
    }
    let book = book_of(&[("parts", PARTS), ("weighings", &table)]);
    let row = book.main_row(readings[0].0).unwrap();
    (row.mass.unwrap().to_string(), row.mass_kind)
}

/// A pair together is halved: 970 / 2 = 485. Two pieces one after the other are (488 + 490) / 2 = 489 each. What is sold as one
/// pair weighs what both do, and what its pieces add up to: 690 + 760 = 1450.
#[test]
fn one_by_one_or_together() {
    let scale = |mass: &str| (mass.to_owned(), MassKind::Weighed);
    assert_eq!(weighed(&[("Tyre", "970", "pair")]), scale("485"));
    assert_eq!(weighed(&[("Tyre", "486.5 g", "")]), scale("486.5"));
    let both = [
        ("Tyre", "488", "piece front"),
        ("Tyre", "490", "piece rear"),
    ];
    assert_eq!(weighed(&both), scale("489"));
    assert_eq!(weighed(&[("Wheels", "1450", "pair")]), scale("1450"));
    let both = [
        ("Wheels", "690", "piece front"),
        ("Wheels", "760", "piece rear"),
    ];
    assert_eq!(weighed(&both), scale("1450"));
    assert_eq!(weighed(&[("Bar", "270", "")]), scale("270"));
}

#[test]
fn the_whole_bike_says_how_it_was_weighed() {
    let book = book_of(&[("parts", PARTS)]);
    let edits = said(&book, ("bike", "8540"), "").unwrap();
    let now = after(&[("parts", PARTS)], &edits);
    assert_eq!(now, "what,mass_g,basis,date\nbike,8540,racing,2026-10-01\n");
    refused(said(&book, ("bike", "8540"), "pair"), "weighed at once");
}

#[test]
fn what_is_no_weight_of_a_part_is_refused() {
    let book = book_of(&[("parts", PARTS)]);
    for (reading, why) in [
        (("Tyre", "0"), "cannot weigh 0 g"),
        (("Tyre", "-5"), "cannot weigh -5 g"),
        (("Tyre", "half"), "`half` is not a weight"),
        (
            ("Wheels", "1.512"),
            "1.512 g has more decimals than a scale shows",
        ),
        (("Tire", "480"), "there is no part `Tire`"),
        (("Tyre", "970"), "did several lie on the scale?"),
    ] {
        refused(said(&book, reading, ""), why);
    }
}

/// Read again on the same day, a weight takes the place of the one before; another piece, or another day, is another reading.
#[test]
fn a_second_reading_of_a_day_takes_the_place_of_the_first() {
    let first = "what,mass_g,date,piece\nBar,271,2026-10-01,\nTyre,488,2026-10-01,front\n";
    let all = [("parts", PARTS), ("weighings", first)];
    let book = book_of(&all);
    let edits = said(&book, ("Bar", "270"), "").unwrap();
    assert_eq!(after(&all, &edits), first.replace("Bar,271", "Bar,270"));
    let edits = said(&book, ("Tyre", "490"), "piece rear").unwrap();
    assert_eq!(
        after(&all, &edits),
        format!("{first}Tyre,490,2026-10-01,rear\n")
    );
    // one alone and both together are two readings
    for (own, other) in [
        ("Tyre,486,2026-10-01,,\n", "pair"),
        ("Tyre,970,2026-10-01,,2\n", ""),
    ] {
        let text = format!("what,mass_g,date,piece,pieces\n{own}");
        let all = [("parts", PARTS), ("weighings", text.as_str())];
        let grams = if other == "pair" { "971" } else { "485" };
        let edits = said(&book_of(&all), ("Tyre", grams), other).unwrap();
        assert!(after(&all, &edits).starts_with(&text), "{own}");
    }
}
