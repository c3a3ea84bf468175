//! Parcels that are priced once: every figure is what it is where each build is calculated anew as a whole, and what is priced grows
//! with the options and not with their square.

use crate::book::Book;
use crate::landed::{Jurisdiction, KnownParcels};
use crate::made::{self, Dice};
use crate::rank::Ranking;
use crate::rank::ranking::rank_by;

mod taken;

const HEADER: &str = "part,place,role,standing,seller,price,currency,paid,quantity,mass_g,origin,comes_with,needs,fits,resale,parcel\n";

const PLACES: [(&str, i64, i64); 12] = [
    ("frame", 500, 1100),
    ("wheels", 400, 1500),
    ("fork", 150, 450),
    ("saddle", 60, 220),
    ("handlebar", 70, 260),
    ("stem", 45, 120),
    ("seatpost", 55, 230),
    ("cassette", 80, 320),
    ("chain", 30, 240),
    ("pedals", 60, 330),
    ("crankset", 150, 650),
    ("tyre", 70, 900),
];

/// Sellers with their money; what comes from the last is on its way already.
const SELLERS: [(&str, &str); 4] = [
    ("Amberway", "USD"),
    ("Brackwater", "EUR"),
    ("Cinderfold", "GBP"),
    ("Dellwick", "USD"),
];

/// A row of parts, of whose seller the money is known.
fn row(
    dice: &mut Dice,
    seller: usize,
    (name, place): (&str, &str),
    role: &str,
    rest: Rest,
) -> String {
    let (seller, money) = SELLERS[seller];
    let Rest {
        standing,
        price,
        mass,
        needs,
        fits,
        resale,
    } = rest;
    let origin = dice.of(&["CN", "TW", "DE", "", "JP"]);
    format!(
        "{name},{place},{role},{standing},{seller},{price}.{:02},{money},,1,{mass},{origin},,{needs},{fits},{resale},\n",
        dice.below(100)
    )
}

/// What else is in a row.
struct Rest<'t> {
    standing: &'t str,
    price: i64,
    mass: i64,
    needs: &'t str,
    fits: &'t str,
    resale: &'t str,
}

/// The build: some of it to be ordered, some on its way, some in hand with what was paid, and a piece in a box.
fn build(dice: &mut Dice, places: usize) -> String {
    let mut parts = String::new();
    for (place, price, mass) in &PLACES[..places] {
        let name = format!("{place} one");
        let fits = if *place == "stem" || *place == "fork" {
            "steerer=28.6"
        } else {
            ""
        };
        let (standing, seller) = match dice.below(6) {
            0 => ("on-order", 3),
            1 => {
                parts += &format!(
                    "{name},{place},build,in-hand,,,,{price}.00,1,{mass},,,,{fits},{},\n",
                    price / 2
                );
                continue;
            }
            _ => ("to-order", usize::try_from(dice.below(3)).unwrap()),
        };
        let rest = Rest {
            standing,
            price: *price,
            mass: *mass,
            needs: "",
            fits,
            resale: dice.of(&["", "12.00"]),
        };
        parts += &row(dice, seller, (&name, place), "build", rest);
    }
    parts += "tape in the box,rim-tape,build,bundled,,,,,1,14,,wheels one,,,,\n";
    parts
}

/// Options and other offers: wheels with tape in their box and without, some parts that need another, some that do not fit, one that is
/// here.
fn options(dice: &mut Dice, places: usize, many: usize) -> String {
    let mut parts = String::new();
    for at in 0..many {
        let (place, price, mass) = PLACES[usize::try_from(dice.below(places as u64)).unwrap()];
        let seller = usize::try_from(dice.below(4)).unwrap();
        let (price, mass) = (
            price + dice.roll(100) * price / 100,
            mass * (70 + dice.roll(35)) / 100,
        );
        let fits = match place {
            "stem" | "fork" => dice.of(&["steerer=28.6", "steerer=28.6", "steerer=31.8"]),
            _ => "",
        };
        let needs = if dice.one_in(8) { "rail clamp" } else { "" };
        let standing = if dice.one_in(12) {
            "on-order"
        } else {
            "to-order"
        };
        let seller = if standing == "on-order" { 3 } else { seller };
        let rest = Rest {
            standing,
            price,
            mass,
            needs,
            fits,
            resale: "",
        };
        if dice.one_in(5) && standing == "to-order" {
            parts += &row(
                dice,
                seller,
                (&format!("{place} one"), place),
                "rival",
                rest,
            );
            continue;
        }
        let name = format!("{place} {at:02}");
        parts += &row(dice, seller, (&name, place), "option", rest);
        if place == "wheels" && dice.one_in(4) {
            parts += &format!("{name}'s tape,rim-tape,option,bundled,,,,,1,9,,{name},,,,\n");
        }
    }
    parts += "rail clamp,rail-clamp,option,to-order,Cinderfold,11.00,GBP,,1,14,,,,,,\n";
    parts + "bought saddle,saddle,option,in-hand,,,,40.00,1,150,,,,,,\n"
}

/// A book of four sellers with codes, freight steps, and receipts for what is on its way or for a parcel that is to be ordered.
fn text(number: u64, places: usize, many: usize) -> Vec<(&'static str, String)> {
    let mut dice = Dice(number.wrapping_mul(977) + 13);
    let to = dice.of(&["GB", "GB", "DE", "US"]);
    let limit = dice.of(&[
        "",
        "budget,4200\n",
        "worth_per_kg,900\n",
        "max_mass_g,5200\n",
    ]);
    let remedies = dice.of(&["", "remedies,show\n"]);
    let receipts = match dice.below(4) {
        0 => "Dellwick,handling,14.00,GBP\n",
        1 => "Brackwater,freight,21.00,EUR\n",
        _ => "",
    };
    let parts = HEADER.to_owned() + &build(&mut dice, places) + &options(&mut dice, places, many);
    let (free, least) = (200 + dice.roll(300), 90 + dice.roll(200));
    vec![
        (
            "settings",
            format!(
                "setting,value\ndestination,{to}\ndate,2026-09-23\nkind,gravel\ncard_fee,1.5 %\n{limit}{remedies}"
            ),
        ),
        (
            "sellers",
            format!(
                "seller,dispatch,currency,freight,free_freight_over,prices_include,collects_tax,channel,handling,transit_days\n\
             Amberway,CN,USD,24.00,{free}.00,,yes,courier,2.5 % min 12.50,9\n\
             Brackwater,DE,EUR,18.50,,sale-tax,yes,post,,4\n\
             Cinderfold,GB,GBP,4.95,60.00,,,post,,2\n\
             Dellwick,TW,USD,30.00,,,no,courier,12.00,7\n"
            ),
        ),
        (
            "discounts",
            format!(
                "code,seller,scope,percent,min_spend,order\nTEN,Amberway,basket,10,{least}.00,1\nFIVE,Brackwater,basket,5,,1\n"
            ),
        ),
        (
            "receipts",
            format!("consignment,charge,amount,currency\n{receipts}"),
        ),
        ("parts", parts),
    ]
}

fn book(number: u64, places: usize, many: usize) -> Book {
    made::taken(&made::borrowed(&text(number, places, many)))
}

/// A ranking, and how many parcels were priced for it.
fn ranked(book: &Book, remembers: bool) -> (Result<Ranking, Vec<String>>, usize) {
    let mut known = KnownParcels::default();
    known.remembers = remembers;
    let ask = made::ask(book);
    let jurisdiction = Jurisdiction::open(made::built_in(), &ask).unwrap();
    let found = rank_by(book, &jurisdiction, &known);
    let found = found.map_err(|problems| made::said(&problems));
    (found, known.priced())
}

#[test]
fn parcels_that_are_remembered_change_no_figure() {
    let (mut options, mut rungs, mut told, mut disputed, mut usual) = (0, 0, 0, 0, 0);
    for number in made::one_in(3, 0..20) {
        let book = book(number, 8, 4 + usize::try_from(number % 7).unwrap());
        let (whole, _) = ranked(&book, false);
        let (quick, priced) = ranked(&book, true);
        assert!(priced > 0, "book {number}");
        let found = quick
            .as_ref()
            .unwrap_or_else(|said| panic!("book {number}: {said:?}"));
        options += found.options.len();
        rungs += found.ladder.rungs.len();
        told += book.receipts.len();
        disputed += found
            .options
            .iter()
            .filter(|option| option.disputed.is_some())
            .count();
        let with_usual = found
            .options
            .iter()
            .filter(|option| !option.usual.is_empty());
        usual += with_usual.count();
        assert_eq!(
            format!("{whole:#?}"),
            format!("{quick:#?}"),
            "book {number}"
        );
    }
    // the books are not all of one kind
    assert!(
        options > 20 && rungs > 5 && told > 0 && disputed > 0 && usual > 0,
        "{options} {rungs} {told} {disputed} {usual}"
    );
}

#[test]
fn what_is_priced_grows_with_the_options_and_not_with_their_square() {
    // Parcels that are priced, with every option looked at once for the order and once for each step of the ladder.
    let priced = |many: usize| {
        let (found, priced) = ranked(&book(3, 12, many), true);
        let found = found.unwrap();
        let looks = found.options.len() * (found.ladder.rungs.len() + 1);
        (found.options.len(), looks, priced)
    };
    let (few, few_looks, few_priced) = priced(12);
    let (many, many_looks, many_priced) = priced(48);
    assert!(many > 3 * few, "{few} and {many} options");
    for (looks, priced) in [(few_looks, few_priced), (many_looks, many_priced)] {
        assert!(2 * priced < looks, "{priced} parcels for {looks} looks");
    }
    // a look costs no more where there are four times as many options
    assert!(
        many_priced * few_looks <= few_priced * many_looks,
        "{few_priced} parcels for {few_looks} looks, then {many_priced} for {many_looks}"
    );
}
