//! A price that was seen: which cells change, in which currency, and what is refused.

use super::{after, book_of, refused};
use crate::book::Book;
use crate::steps::{Edits, Seen, seen};
use crate::text::Diagnostic;
use crate::units::Date;

const PARTS: &str = "\
part,place,role,standing,seller,price,dispatch,comes_with
Bar,handlebar,build,,Alder,120.00 USD,TW,
Stem,stem,build,on-order,Birk,60.00 EUR,DE,
Post,seatpost,build,,Dent,70.00 EUR,DE,
Tape,bar-tape,option,,Cobb,12.00 USD,US,
Tape,,rival,,Birk,,DE,
Cap,top-cap,build,bundled,,,,Bar
";

fn wish(
    book: &Book,
    (part, price): (&str, &str),
    seller: Option<&str>,
) -> Result<Edits, Diagnostic> {
    let date = Date::parse("2026-10-01").unwrap();
    seen(
        book,
        &Seen {
            part,
            price,
            seller,
            date,
        },
    )
}

#[test]
fn the_price_and_the_day_change_and_nothing_else() {
    let book = book_of(&[("parts", PARTS)]);
    let edits = wish(&book, ("Post", "65.5"), None).unwrap();
    let now = after(&[("parts", PARTS)], &edits);
    // the sign gave the row its currency, and so does the column now
    let was = "Post,seatpost,build,,Dent,70.00 EUR,DE,";
    let is = "Post,seatpost,build,,Dent,65.50,DE,,2026-10-01,EUR";
    assert!(now.contains(is), "{now}");
    let others = |text: &str, own: &str| -> Vec<String> {
        let lines = text.lines().skip(1).filter(|line| !line.starts_with(own));
        lines
            .map(|line| line.trim_end_matches(',').to_owned())
            .collect()
    };
    assert!(PARTS.contains(was));
    assert_eq!(others(&now, "Post"), others(PARTS, "Post"));
}

#[test]
fn another_offer_without_a_price_gets_its_own() {
    let book = book_of(&[("parts", PARTS)]);
    let edits = wish(&book, ("Tape", "EUR 9"), Some("Birk")).unwrap();
    let now = after(&[("parts", PARTS)], &edits);
    let read = book_of(&[("parts", &now)]);
    let rival = read
        .parts
        .iter()
        .find(|row| row.seller.as_deref() == Some("Birk") && row.name == "Tape");
    let price = rival.and_then(|row| Some((row.price?.fixed(2), row.currency?.to_string())));
    assert_eq!(price, Some(("9.00".to_owned(), "EUR".to_owned())));
}

#[test]
fn what_is_no_price_of_an_offer_is_refused() {
    let book = book_of(&[("parts", PARTS)]);
    for (wished, seller, why) in [
        (("Bor", "1"), None, "there is no part `Bor`"),
        (("Post", "-3"), None, "cannot be -3"),
        (("Post", "0"), None, "cannot be 0"),
        (("Post", "much"), None, "`much` is not a price"),
        (("Post", "USD 3"), None, "priced in EUR"),
        (("Stem", "3"), None, "`on-order`"),
        (("Cap", "3"), None, "another part's box"),
        (("Tape", "3"), None, "is offered by `Birk` and `Cobb`"),
        (("Tape", "3"), Some("Cob"), "is not offered by `Cob`"),
    ] {
        refused(wish(&book, wished, seller), why);
    }
}
