//! What a parcel costs at least: random packages of random offers at many destinations. The least case in which a package lies is
//! never above what the engine says it costs, and half of them are within three per cent of it.
//!
//! `LANDWAITER_PACKAGES=10000 cargo test --lib -- bounds::` looks at 10000 packages at each destination; `LANDWAITER_SEED` says
//! from which number they are drawn.

use std::fmt::Write;

use crate::abroad;
use crate::book::{Book, Part};
use crate::landed::bounds::NoBounds;
use crate::landed::{Jurisdiction, OfferedParcel, landed_rows, seller_bounds};
use crate::made::{self, Dice, number};
use crate::tables::Tables;
use crate::units::Date;

/// Packages at one destination, unless more are asked for.
const USUAL: u64 = 240;

/// Packages of one book.
const OF_A_BOOK: u64 = 24;

/// Books of sixty offers that are timed where many packages are asked for.
const LARGE_BOOKS: u64 = 20;

/// The most by which the middle package may be below its cost, in thousandths of it.
const SHORT: i64 = 30;

const PLACES: [&str; 14] = [
    "frame",
    "fork",
    "wheels",
    "crankset",
    "brakes",
    "handlebar",
    "stem",
    "saddle",
    "seatpost",
    "chain",
    "tyre",
    "pedals",
    "headset",
    "bar-tape",
];

fn cents(cents: u64) -> String {
    format!("{}.{:02}", cents / 100, cents % 100)
}

/// A seller's row, and the money of its prices.
fn seller(dice: &mut Dice) -> (String, &'static str) {
    let (dispatch, currency) = [
        ("CN", "USD"),
        ("CN", "CNY"),
        ("TW", "USD"),
        ("GB", "GBP"),
        ("DE", "EUR"),
        ("US", "USD"),
        ("JP", "JPY"),
    ][usize::try_from(dice.below(7)).unwrap()];
    let whole = currency == "JPY";
    let money = |amount: u64| {
        if whole {
            (amount * 150).to_string()
        } else {
            amount.to_string()
        }
    };
    let freight = match dice.below(5) {
        0 => "by-mass".to_owned(),
        1 => "by-kilogram".to_owned(),
        _ => money(dice.below(40)),
    };
    let free = if dice.one_in(4) {
        money(80 + dice.below(900))
    } else {
        String::new()
    };
    let insurance = dice.of(&["", "", "1 %", "5"]);
    let include = dice.of(&["", "", "", "sale-tax", "20 %"]);
    let terms = if dice.one_in(12) { "DDP" } else { "" };
    let handling = if dice.one_in(4) { "2.5 % min 9.00" } else { "" };
    let row = format!(
        "Southmoor,{dispatch},{currency},{freight},{free},{insurance},{},{include},{terms},{},{handling},3\n",
        dice.of(&["yes", "no"]),
        dice.of(&["courier", "courier", "post"]),
    );
    (row, currency)
}

fn codes(dice: &mut Dice, currency: &str) -> String {
    let mut text = String::from(
        "code,seller,scope,part,percent,amount,currency,max_off,min_spend,order,group,pays\n",
    );
    let factor = if currency == "JPY" { 150 } else { 1 };
    for at in 0..dice.below(4) {
        let (percent, amount) = if dice.one_in(2) {
            ((1 + dice.below(20)).to_string(), String::new())
        } else {
            (String::new(), ((1 + dice.below(30)) * factor).to_string())
        };
        let money = if amount.is_empty() { "" } else { currency };
        let scope = dice.of(&["basket", "basket", "freight"]);
        let cap = if dice.one_in(4) && !percent.is_empty() {
            (10 * factor).to_string()
        } else {
            String::new()
        };
        let min = if dice.one_in(2) {
            ((50 + dice.below(400)) * factor).to_string()
        } else {
            String::new()
        };
        let group = if dice.one_in(4) { "g" } else { "" };
        let pays = dice.of(&["", "", "credit"]);
        writeln!(
            text,
            "C{at},Southmoor,{scope},,{percent},{amount},{money},{cap},{min},{at},{group},{pays}"
        )
        .unwrap();
    }
    text
}

/// How many offers a seller has: a few at each of some places, or five at each of twelve.
#[derive(Clone, Copy)]
pub(super) enum Size {
    Some,
    Large,
}

/// Offers of one seller, several a place: a few, or sixty.
pub(super) fn book_of(dice: &mut Dice, to: &str, size: Size) -> Book {
    let (row, currency) = seller(dice);
    let mut parts =
        String::from("part,place,role,seller,price,currency,quantity,mass_g,packed_g,origin\n");
    let dear = [30, 150, 600][usize::try_from(dice.below(3)).unwrap()];
    let places = match size {
        Size::Some => 4 + dice.below(9),
        Size::Large => 12,
    };
    for nth in 0..places {
        let place = PLACES[usize::try_from((nth * 5 + dice.below(2)) % 14).unwrap()];
        let most = match size {
            Size::Some => dice.below(4),
            Size::Large => 4,
        };
        for at in 0..=most {
            let amount = 300 + dice.below(dear * 100);
            let price = if currency == "JPY" {
                (amount * 3 / 2).to_string()
            } else {
                cents(amount)
            };
            let mass = 20 + dice.below(1800);
            let packed = if dice.one_in(3) {
                (mass + 150).to_string()
            } else {
                String::new()
            };
            let origin = dice.of(&["", "", "CN", "TW", "JP", "DE"]);
            let quantity = if dice.one_in(9) && place == "tyre" {
                2
            } else {
                1
            };
            writeln!(
                parts,
                "Part {nth:02} {at},{place},option,Southmoor,{price},{currency},{quantity},{mass},{packed},{origin}"
            )
            .unwrap();
        }
    }
    let sellers = format!(
        "seller,dispatch,currency,freight,free_freight_over,insurance,collects_tax,prices_include,terms,channel,handling,transit_days\n{row}"
    );
    let card = if dice.one_in(2) {
        "card_fee,1.75 %\n"
    } else {
        ""
    };
    let settings = format!("setting,value\ndestination,{to}\ndate,2026-09-23\n{card}");
    let codes = codes(dice, currency);
    made::book(&[
        ("parts", &parts),
        ("sellers", &sellers),
        ("discounts", &codes),
        ("settings", &settings),
    ])
}

pub(super) fn tables_for(to: &str) -> Tables {
    let country = to.split('-').next().unwrap();
    let mut freight = String::from(
        "schedule,dispatch,destination,channel,up_to_g,price,currency,extra_per_kg,packing_percent,packing_g,valid_from\n",
    );
    for (up_to, price) in [(500, 6), (1000, 9), (2000, 14), (5000, 25), (12000, 48)] {
        writeln!(
            freight,
            "by-mass,*,{country},*,{up_to},{price},USD,9,5,100,2020-01-01"
        )
        .unwrap();
    }
    writeln!(
        freight,
        "by-kilogram,*,{country},*,1000,8,EUR,4.5,0,0,2020-01-01"
    )
    .unwrap();
    abroad::tables(&[("freight.csv", &freight)])
}

/// One offer at most of each place.
fn package(dice: &mut Dice, offers: &[&Part], slots: &[usize]) -> Vec<usize> {
    let mut chosen: Vec<usize> = Vec::new();
    let often = 1 + dice.below(5);
    for slot in 0..PLACES.len() {
        let here: Vec<usize> = (0..offers.len()).filter(|at| slots[*at] == slot).collect();
        if !here.is_empty() && !dice.one_in(1 + often) {
            chosen.push(here[usize::try_from(dice.below(here.len() as u64)).unwrap()]);
        }
    }
    if chosen.is_empty() {
        chosen.push(usize::try_from(dice.below(offers.len() as u64)).unwrap());
    }
    chosen
}

/// What packages of a destination showed.
#[derive(Default)]
struct Seen {
    /// What bounds lack of the cost, in thousandths of it.
    short: Vec<i64>,
    refused: Vec<String>,
    loose: Vec<&'static str>,
    unpriced: u64,
    cases: Vec<usize>,
    /// Microseconds that the bounds of a seller take.
    took: Vec<u128>,
}

/// Rows that come anyway, and offers with the numbers of their places.
struct Choice<'a> {
    sure: Vec<&'a Part>,
    offers: Vec<&'a Part>,
    slots: Vec<usize>,
}

impl<'a> Choice<'a> {
    /// The rows of a book; of one book in three, one or two come anyway.
    fn of(book: &'a Book, dice: &mut Dice) -> Choice<'a> {
        let mut offers: Vec<&Part> = book.parts.iter().collect();
        let anyway = if dice.one_in(3) { 1 + dice.below(2) } else { 0 };
        let mut sure = Vec::new();
        for _ in 0..anyway {
            let at = dice.below(offers.len() as u64);
            sure.push(offers.remove(usize::try_from(at).unwrap()));
        }
        let of_place = |part: &&Part| PLACES.iter().position(|place| *place == part.places[0]);
        Choice {
            slots: offers.iter().filter_map(of_place).collect(),
            offers,
            sure,
        }
    }

    fn rows(&self, chosen: &[usize]) -> Vec<&'a Part> {
        let chosen = chosen.iter().map(|at| self.offers[*at]);
        self.sure.iter().copied().chain(chosen).collect()
    }
}

fn look(to: &str, seen: &mut Seen) {
    let tables = tables_for(to);
    let most = number("LANDWAITER_PACKAGES", USUAL);
    let mut nth = 0;
    while (seen.short.len() as u64) < most && nth < most {
        nth += 1;
        let place: u64 = to.bytes().map(u64::from).sum();
        let mut dice = Dice(made::seed() ^ (nth << 24) ^ (place << 8));
        let book = book_of(&mut dice, to, Size::Some);
        let day = Date::parse("2026-09-23").unwrap();
        let ask = crate::Question::new(&book.settings, day).unwrap();
        let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
        let choice = Choice::of(&book, &mut dice);
        let (sure, offers, slots) = (&choice.sure, &choice.offers, &choice.slots);
        let begun = std::time::Instant::now();
        let parcel = OfferedParcel::open(&book, sure, offers, &jurisdiction);
        let bounds = match parcel.and_then(|parcel| seller_bounds(&parcel, slots)) {
            Ok(bounds) => bounds,
            Err(NoBounds(why)) => {
                seen.refused.push(format!("book {nth}: {why}"));
                continue;
            }
        };
        seen.took.push(begun.elapsed().as_micros());
        seen.cases.push(bounds.cases.len());
        seen.loose.extend(&bounds.loose);
        for _ in 0..OF_A_BOOK {
            let chosen = package(&mut dice, offers, slots);
            let rows = choice.rows(&chosen);
            let Ok(cost) = landed_rows(&book, &rows, &jurisdiction) else {
                seen.unpriced += 1;
                continue;
            };
            let about = || {
                let rows: String = rows.iter().map(|row| format!("{}\n", row.name)).collect();
                format!("{to}, book {nth}: {chosen:?}\n{rows}{:?}", book.sellers)
            };
            let least = bounds.least(&chosen);
            let least = least.unwrap_or_else(|| panic!("in no case: {}", about()));
            assert!(least <= cost, "{cost}, not {least} at least: {}", about());
            seen.short.extend(super::lacks(least, cost, 1_000));
        }
    }
}

/// Milliseconds that the bounds of sellers of sixty offers take, the least first.
fn large(to: &str) -> Vec<u128> {
    let tables = tables_for(to);
    let day = Date::parse("2026-09-23").unwrap();
    let mut took = Vec::new();
    for nth in 0..LARGE_BOOKS {
        let book = book_of(&mut Dice(made::seed() ^ nth), to, Size::Large);
        let ask = crate::Question::new(&book.settings, day).unwrap();
        let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
        let choice = Choice::of(&book, &mut Dice(nth));
        let begun = std::time::Instant::now();
        let parcel = OfferedParcel::open(&book, &choice.sure, &choice.offers, &jurisdiction);
        let bounds = parcel.and_then(|parcel| seller_bounds(&parcel, &choice.slots));
        took.push(begun.elapsed().as_millis());
        assert!(bounds.is_ok(), "{to}, large book {nth}: {bounds:?}");
    }
    took.sort_unstable();
    took
}

fn holds_at(to: &str) {
    let mut seen = Seen::default();
    look(to, &mut seen);
    seen.short.sort_unstable();
    seen.cases.sort_unstable();
    seen.took.sort_unstable();
    let at = |part: usize| seen.short.get(seen.short.len() * part / 100).copied();
    println!(
        "{to}: {} packages of {} books, thousandths below their cost: {} middle, {} nine of ten, {} most; cases {} middle, {} most; us {} middle, {} most; {} not priced",
        seen.short.len(),
        seen.cases.len(),
        at(50).unwrap_or(0),
        at(90).unwrap_or(0),
        seen.short.last().unwrap_or(&0),
        seen.cases[seen.cases.len() / 2],
        seen.cases.last().unwrap_or(&0),
        seen.took[seen.took.len() / 2],
        seen.took.last().unwrap_or(&0),
        seen.unpriced,
    );
    if number("LANDWAITER_PACKAGES", USUAL) > USUAL {
        println!(
            "{to}: ms a seller of sixty offers, each of {LARGE_BOOKS}: {:?}",
            large(to)
        );
    }
    assert!(seen.refused.is_empty(), "{to}: {:?}", seen.refused);
    assert!(seen.loose.is_empty(), "{to}: {:?}", seen.loose);
    assert!(seen.short.len() as u64 >= number("LANDWAITER_PACKAGES", USUAL).min(USUAL) / 2);
    assert!(at(50) <= Some(SHORT), "{to}: {:?} thousandths", at(50));
}

macro_rules! at {
    ($($name:ident $to:literal),* $(,)?) => {
        $(#[test]
        fn $name() {
            holds_at($to);
        })*
    };
}

at! {
    no_package_is_below_its_bound_in_great_britain "GB",
    no_package_is_below_its_bound_in_germany "DE",
    no_package_is_below_its_bound_in_france "FR",
    no_package_is_below_its_bound_in_the_united_states "US",
    no_package_is_below_its_bound_in_ontario "CA-ON",
    no_package_is_below_its_bound_in_norway "NO",
    no_package_is_below_its_bound_in_australia "AU",
    no_package_is_below_its_bound_in_japan "JP",
    no_package_is_below_its_bound_in_korea "KR",
    no_package_is_below_its_bound_in_new_zealand "NZ",
    no_package_is_below_its_bound_in_switzerland "CH",
    no_package_is_below_its_bound_in_brazil "BR",
}
