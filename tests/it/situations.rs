//! What really occurs when somebody builds a bike: things bought and not fitted, weighed again, of which only what was paid is
//! known. Each test is one situation, with its sums worked by hand.

use super::kit::cost;
use super::made;
use landwaiter::book::Book;
use landwaiter::compare::{Compared, Comparison, compare};
use landwaiter::landed::Landed;
use landwaiter::rank::rank;
use landwaiter::report::{Screen, Show, compare_json, compare_view, text};
use landwaiter::tables::TaxName;
use landwaiter::units::{Currency, Rate};

use super::small::{SELLERS, SPREADS, ask, book, tables, tables_with};

const HEADER: &str = "part,place,role,standing,seller,price,currency,quantity,paid,mass_g\n";

/// The frame from Northmoor, to be ordered: 300.00 + 20.00, duty 32.00, VAT 70.40, fee 12.00: 434.40, of it 320.00 to the seller.
const FRAME: &str = "Plain frame,frame,build,to-order,Northmoor,300.00,,1,,1000\n";

fn own(rows: &str) -> Book {
    book(&[("parts", &format!("{HEADER}{rows}")), ("sellers", SELLERS)])
}

fn costed(book: &Book) -> Landed {
    cost(book, &tables(), &ask(&[])).unwrap()
}

/// Landed, spent, to pay, at the door, replacement, mass.
fn totals(landed: &Landed) -> [String; 6] {
    let t = &landed.totals;
    let money = [
        t.landed().unwrap(),
        t.spent,
        t.to_pay,
        t.to_pay_carrier,
        t.replacement,
    ]
    .map(|sum| sum.fixed(2));
    let [a, b, c, d, e] = money;
    [a, b, c, d, e, t.mass.to_string()]
}

#[test]
fn an_option_on_its_way_is_spent_and_to_pay_and_not_on_the_bike() {
    let rows = format!(
        "{FRAME}Plain saddle,saddle,build,in-hand,,40.00,GBP,1,40.00,300\n\
         Light saddle,saddle,option,on-order,Southmoor,150.00,,1,160.00,180\n"
    );
    // The option: 150.00 + 10.00 are paid; duty 16.00, VAT 35.20 and the fee 12.00 come at the door: 63.20; 223.20 in all.
    // Landed 434.40 + 40.00 + 223.20; spent 40.00 + 160.00; at the door 114.40 + 63.20; to pay that and 320.00 with the order.
    // The next person buys the frame and the plain saddle: 434.40 + 40.00; 1000 + 300 g.
    let book = own(&rows);
    let landed = costed(&book);
    assert_eq!(
        totals(&landed),
        ["697.60", "200.00", "497.60", "177.60", "474.40", "1300"]
    );
    let said = landed
        .cautions
        .iter()
        .find(|caution| caution.id == "option-paid")
        .unwrap();
    assert_eq!(said.about, ["Light saddle"]);
    // It costs nothing more to fit it: 120 g less for nothing; what the build is at is the same figure as in `cost`.
    let found = rank(&book, &tables(), &ask(&[])).unwrap();
    let option = &found.options[0];
    assert_eq!(
        (option.alone.fixed(2), option.together.fixed(2)),
        ("0.00".to_owned(), "0.00".to_owned())
    );
    assert_eq!(option.difference.saved.to_string(), "120");
    assert_eq!(
        [found.landed, found.spent, found.to_pay].map(|sum| sum.fixed(2)),
        ["697.60", "200.00", "497.60"]
    );
}

#[test]
fn an_option_in_hand_travelled_in_the_parcel_of_the_build() {
    // One parcel of 60.00 and 60.00, with 10.00 of freight, shared by mass 6.25 and 3.75: 130.00. Duty by line, 10 % of 66.25 and of
    // 63.75, each rounded: 6.63 and 6.38. VAT 20 % of 143.01: 28.60. Fee 12.00: 53.61 at the door. The saddle alone would have come
    // under the limit of 100.00, and so the next person pays 70.00 for it.
    let landed = costed(&own(
        "Plain saddle,saddle,build,on-order,Southmoor,60.00,,1,,300\n\
                              Light saddle,saddle,option,on-order,Southmoor,60.00,,1,,180\n",
    ));
    assert_eq!(
        totals(&landed),
        ["183.61", "130.00", "53.61", "53.61", "70.00", "300"]
    );
}

#[test]
fn what_was_bought_by_mistake_is_spent_and_never_bought_again() {
    // The first saddle, wrong, cost 55.00; the right one is bought at home for 40.00.
    let landed = costed(&own(
        "Wrong saddle,saddle,option,in-hand,,55.00,GBP,1,55.00,250\n\
                              Right saddle,saddle,build,to-order,,40.00,GBP,1,,300\n",
    ));
    assert_eq!(
        totals(&landed),
        ["95.00", "55.00", "40.00", "0.00", "40.00", "300"]
    );
}

fn weighed(rows: &str, weighings: &str) -> Result<Book, Vec<String>> {
    let (parts, weighings) = (
        format!("{HEADER}{rows}"),
        format!("what,mass_g,date,pieces,piece\n{weighings}"),
    );
    let (book, problems) = made::read(&[("parts", &parts), ("weighings", &weighings)]);
    if problems.is_empty() {
        Ok(book)
    } else {
        Err(problems.iter().map(|p| p.message.clone()).collect())
    }
}

/// The mass of one, and of the row.
fn masses(book: &Book) -> (String, String) {
    let part = &book.parts[0];
    (
        part.mass.unwrap().to_string(),
        part.total_mass().unwrap().to_string(),
    )
}

const SADDLE: &str = "Plain saddle,saddle,build,in-hand,,40.00,GBP,1,40.00,290\n";
const TYRES: &str = "Plain tyre,tyre,build,in-hand,,40.00,GBP,2,80.00,300\n";
const PAIR: &str = "Pair of tyres,tyre,build,in-hand,,80.00,GBP,1,80.00,600\n";

fn pair(one: &str, other: &str) -> (String, String) {
    (one.to_owned(), other.to_owned())
}

#[test]
fn the_latest_weighing_counts() {
    // In the order of days, not of rows, and never their mean, 275.
    let book = weighed(
        SADDLE,
        "Plain saddle,260,2026-02-20,,\nPlain saddle,290,2026-02-01,,\n",
    )
    .unwrap();
    assert_eq!(masses(&book), pair("260", "260"));
}

#[test]
fn pieces_weighed_apart_are_added_up() {
    // 305 + 310 = 615 g, whether they are one row or two of a quantity; the later reading of the rear one counts.
    let read = "Pair of tyres,305,2026-02-01,,front\nPair of tyres,320,2026-02-01,,rear\nPair of tyres,310,2026-02-02,,rear\n";
    assert_eq!(masses(&weighed(PAIR, read).unwrap()), pair("615", "615"));
    let read = read.replace("Pair of tyres", "Plain tyre");
    assert_eq!(
        masses(&weighed(TYRES, &read).unwrap()),
        pair("307.5", "615")
    );
    // Two readings of one day of two pieces are the two.
    assert_eq!(
        masses(
            &weighed(
                TYRES,
                "Plain tyre,305,2026-02-01,,\nPlain tyre,310,2026-02-01,,\n"
            )
            .unwrap()
        ),
        pair("307.5", "615")
    );
}

#[test]
fn pieces_weighed_together_are_no_piece() {
    assert_eq!(
        masses(&weighed(TYRES, "Plain tyre,615,,2,\n").unwrap()),
        pair("307.5", "615")
    );
    let asked = weighed(TYRES, "Plain tyre,615,,,\n").unwrap_err();
    let expected = "`mass_g` is `615`: expected the mass of one: `Plain tyre` is said to weigh 300 g each, and there are 2; did several lie on the scale?";
    assert_eq!(asked, [expected]);
    // One that really weighs so much is said to.
    assert_eq!(
        masses(&weighed(TYRES, "Plain tyre,615,,1,\n").unwrap()),
        pair("615", "1230")
    );
}

#[test]
fn readings_without_an_order_are_refused() {
    let asked = weighed(
        PAIR,
        "Pair of tyres,305,2026-02-01,,\nPair of tyres,310,2026-02-01,,\n",
    )
    .unwrap_err();
    assert_eq!(asked.len(), 1);
    assert!(
        asked[0].contains(
            "several readings of `Pair of tyres` of 2026-02-01, and nothing says which counts"
        ),
        "{asked:?}"
    );
    let waits = weighed(PAIR, "Pair of tyres,305,2026-02-01,,front\n").unwrap_err();
    assert_eq!(
        waits,
        [
            "`piece` is `front`: only this piece of `Pair of tyres` was weighed: the reading waits for the others"
        ]
    );
}

/// 1000 + 300 + 350 g; bought again 434.40 + 40.00 + 25.00 = 499.40.
const BUILD: &str = "Plain frame,frame,build,in-hand,Northmoor,300.00,,1,,1000\n\
                     Plain saddle,saddle,build,in-hand,,40.00,GBP,1,40.00,300\n\
                     Plain pedals,pedals,build,in-hand,,25.00,GBP,1,25.00,350\n";

fn compared(rows: &str, bikes: &str, weighings: &str, settings: &[(&str, &str)]) -> Comparison {
    let bikes = format!("bike,price,currency,mass_g,basis\n{bikes}");
    let weighings = format!("what,mass_g,basis,date\n{weighings}");
    let book = book(&[
        ("parts", &format!("{HEADER}{rows}")),
        ("sellers", SELLERS),
        ("bikes", &bikes),
        ("weighings", &weighings),
    ]);
    compare(&book, &tables_with(&[SPREADS]), &ask(settings)).unwrap()
}

#[test]
fn the_scale_goes_before_the_sum_of_parts() {
    let found = compared(
        BUILD,
        "Birkrigg,500.00,GBP,2000,racing\n",
        "bike,1700,racing,2026-02-01\nbike,1580,racing,2026-02-20\n",
        &[],
    );
    // The last reading, 1580 g, and not 1650 g: 420 g under 2000 g.
    assert_eq!(
        (
            found.mine.mass.to_string(),
            found.bikes[0].difference.saved.to_string()
        ),
        ("1580".to_owned(), "420".to_owned())
    );
    assert_eq!(found.mine.scale.as_ref().unwrap().sum.to_string(), "1650");
    assert_eq!(found.mine.expected, None);
    let show = Show {
        currency: Currency::GBP,
        rate: Rate::SAME,
        tax: TaxName::Vat,
    };
    let screen = text(
        &compare_view(&found, &show, false).unwrap(),
        &Screen::of(100).with_more(true),
    );
    assert!(
        screen.contains(
            "The bike was weighed: 1,580 g (racing, 2026-02-20); its parts add up to 1,650 g."
        ),
        "{screen}"
    );
    assert!(!screen.contains("a scale will probably say"), "{screen}");
}

#[test]
fn the_scale_is_brought_to_the_basis_asked_for() {
    let found = compared(
        BUILD,
        "Birkrigg,500.00,GBP,2000,racing\n",
        "bike,1580,racing,2026-02-20\n",
        &[("basis", "showroom")],
    );
    // The build's own pedals, 350 g, and the tables' cages, 60 g (30 to 90), come off: 1170 g (1140 to 1200). The bike's pedals
    // and cages are its maker's: 2000 - 300 - 60 = 1640 g (1530 to 1750). 470 g less, from 1530 - 1200 to 1750 - 1140.
    assert_eq!(
        (
            found.mine.mass.to_string(),
            found.bikes[0].difference.saved.to_string()
        ),
        ("1170".to_owned(), "470".to_owned())
    );
    assert_eq!(
        [found.bikes[0].saved.0, found.bikes[0].saved.1].map(|g| g.to_string()),
        ["330", "610"]
    );
    assert_eq!(found.mine.scale.as_ref().unwrap().sum.to_string(), "1300");
    // A reading that does not say what was on the bike is not used, and that is said.
    let found = compared(
        BUILD,
        "Birkrigg,500.00,GBP,2000,racing\n",
        "bike,1580,,2026-02-20\n",
        &[],
    );
    assert_eq!(found.mine.mass.to_string(), "1650");
    assert!(
        found
            .cautions
            .iter()
            .any(|caution| caution.id == "bike-weighing-unused")
    );
}

#[test]
fn there_is_no_verdict_on_a_price_of_nothing() {
    let show = Show {
        currency: Currency::GBP,
        rate: Rate::SAME,
        tax: TaxName::Vat,
    };
    let bikes = "Birkrigg,500.00,GBP,2000,racing\n";
    // Only what was paid is known: 520.00 + 45.00 + 15.00 = 580.00, 80.00 more than the bike, and 350 g less: 228.57 a kg.
    let paid = "Plain frame,frame,build,in-hand,,,,1,520.00,1000\n\
                Plain saddle,saddle,build,in-hand,,,,1,45.00,300\n\
                Plain pedals,pedals,build,in-hand,,,,1,15.00,350\n";
    let found = compared(paid, bikes, "", &[]);
    assert_eq!(
        (found.mine.replacement.fixed(2), found.mine.cost.fixed(2)),
        ("0.00".to_owned(), "580.00".to_owned())
    );
    assert_eq!(
        (found.mine.compared, found.bikes[0].difference.cost.fixed(2)),
        (Compared::Paid, "80.00".to_owned())
    );
    assert_eq!(
        (found.bikes[0].difference.quadrant().name(), found.beaten()),
        ("trade-off", String::new())
    );
    let screen = text(
        &compare_view(&found, &show, false).unwrap(),
        &Screen::of(100).with_more(true),
    );
    assert!(
        screen.contains("The build cost 580.00 GBP and weighs 1,650 g"),
        "{screen}"
    );
    // Of one part nothing is known: that is said first, and no bike is called beaten.
    let found = compared(
        &paid.replace(",520.00,", ",,").replace("45.00", "245.00"),
        bikes,
        "",
        &[],
    );
    assert_eq!(
        (found.mine.cost.fixed(2), found.beaten()),
        ("260.00".to_owned(), String::new())
    );
    let screen = text(
        &compare_view(&found, &show, false).unwrap(),
        &Screen::of(100).with_more(true),
    )
    .replace('\n', " ");
    assert!(
        screen.contains("what 1 part cost to buy again is unknown (Plain frame), so every price gap flatters it."),
        "{screen}"
    );
    // Nothing is known at all.
    let none = paid
        .replace(",520.00,", ",,")
        .replace(",45.00,", ",,")
        .replace(",15.00,", ",,");
    let found = compared(&none, bikes, "", &[]);
    assert_eq!(found.mine.compared, Compared::Nothing);
    let json = compare_json(&found, &ask(&[]), &show, &serde_json::Value::Null).unwrap();
    assert_eq!(
        (&json["compared"], &json["bikes"][0]["quadrant"]),
        (&"nothing".into(), &serde_json::Value::Null)
    );
    assert!(
        !found
            .standing(landwaiter::value::Standing::Frontier)
            .contains(&"the build")
    );
    let screen = text(
        &compare_view(&found, &show, false).unwrap(),
        &Screen::of(100).with_more(true),
    );
    assert!(
        screen.contains("No verdict on price") && screen.contains("no verdict\n"),
        "{screen}"
    );
}
