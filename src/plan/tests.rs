//! The search on generated books: whole numbers against decimals, bounds against costs, plans against every choice there is.

use super::book::Compiled;
use super::mass::Masses;
use super::model::{PackageCost, UNIT};
use super::pool::{Pool, Wishes};
use super::watch::Patient;
use super::{Planned, plan};
use crate::Question;
use crate::abroad::day;
use crate::book::Book;
use crate::landed::{Cautions, Jurisdiction, landed_rows};
use crate::made::Dice;
use crate::tables::Tables;
use crate::units::{Dec, Grams};

#[path = "../../tests/bench/plan/books.rs"]
mod books;
mod costed;
mod desk;
mod drawn;
mod notes;
mod planned;
mod small_books;
mod written;

use books::Size;

const DESTINATIONS: [&str; 8] = ["GB", "DE", "FR", "US", "CA-ON", "NO", "AU", "JP"];

fn made(size: Size, to: &str, seed: u64) -> (Book, Tables) {
    books::read(to, &books::tables(size, to, seed))
}

fn size(places: usize, offers: usize, sellers: usize) -> Size {
    Size {
        places,
        offers,
        sellers,
    }
}

/// Compiles a book and looks at it.
fn compiled<T>(book: &Book, tables: &Tables, look: impl FnOnce(&Compiled<'_>) -> T) -> T {
    let ask = Question::new(&book.settings, day("2026-09-23")).unwrap();
    let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
    let masses = Masses::look(book, &jurisdiction, &mut Cautions::default()).unwrap();
    let pool = Pool::open(book, &jurisdiction, &Wishes::default(), masses).unwrap();
    let all = Compiled::new(pool, book, &jurisdiction, None, &Patient).unwrap();
    look(&all)
}

/// One offer at most of each place of a seller.
fn package(all: &Compiled<'_>, seller: usize, dice: &mut Dice) -> Vec<u32> {
    let mut taken = 0;
    let mut chosen = Vec::new();
    for (at, offer) in (0..).zip(&all.model.offers) {
        if offer.seller == seller && offer.places & taken == 0 && dice.one_in(3) {
            taken |= offer.places;
            chosen.push(at);
        }
    }
    chosen
}

/// What was looked at: packages, and those that whole numbers leave to decimals.
#[derive(Default)]
struct Looked {
    packages: usize,
    left: usize,
}

/// Whole numbers give what a bill says, and no package costs less than the least of its cases.
fn packages_hold((book, tables): &(Book, Tables), (to, seed): (&str, u64), looked: &mut Looked) {
    compiled(book, tables, |all| {
        let mut dice = Dice(seed ^ 0x5eed);
        for seller in 0..all.parcels.len() - 1 {
            for _ in 0..12 {
                let chosen = package(all, seller, &mut dice);
                if chosen.is_empty() {
                    continue;
                }
                looked.packages += 1;
                let bill =
                    landed_rows(all.book, &all.rows(seller, &chosen), all.jurisdiction).unwrap();
                match all.quickly(seller, &chosen) {
                    Some(landed) => assert_eq!(landed, bill, "{to} {seed}: {seller} {chosen:?}"),
                    None => looked.left += 1,
                }
                let least = all.least(seller, &chosen);
                let cost = all.exact(seller, &chosen).unwrap();
                assert!(
                    least.is_some_and(|least| least <= cost * UNIT),
                    "{to} {seed}: {seller} {chosen:?} costs {cost}, at least {least:?}"
                );
            }
        }
    });
}

#[test]
fn packages_in_whole_numbers_land_at_what_their_bills_say() {
    let mut looked = Looked::default();
    for (nth, to) in (1..).zip(DESTINATIONS) {
        packages_hold(&made(size(14, 4, 4), to, nth), (to, nth), &mut looked);
    }
    assert!(looked.packages > 250, "{}", looked.packages);
    // a seller whose goods have digits that nobody told is left to decimals; there is none in these books
    assert!(
        looked.left * 20 <= looked.packages,
        "{} of {}",
        looked.left,
        looked.packages
    );
}

/// Six digits that stop above rows that differ, and are not those of the part's place, bear the dearest of them; which that is hangs on
/// the parcel, so that its packages are left to bills.
#[test]
fn digits_that_stop_early_are_left_to_bills() {
    let mut looked = Looked::default();
    for (nth, to) in (1..).zip(["GB", "DE", "US", "CA-ON"]) {
        let mut tables = books::tables(size(14, 4, 4), to, nth);
        for (name, text) in &mut tables {
            if *name == "parts" {
                *text = with_digits(text);
            }
        }
        packages_hold(&books::read(to, &tables), (to, nth), &mut looked);
    }
    assert!(looked.left > 20, "{} of {}", looked.left, looked.packages);
}

/// The rows of parts with six digits for each frame.
fn with_digits(parts: &str) -> String {
    let digits = |line: &str| match line.split(',').nth(1) {
        Some("place") => "commodity",
        Some("frame") => "871499",
        _ => "",
    };
    let with = |line: &str| format!("{line},{}\n", digits(line));
    parts.lines().map(with).collect()
}

/// The least cost of all complete choices within a mass.
fn by_hand(all: &Compiled<'_>, most: i64) -> Option<(Dec, i64)> {
    let mut found: Option<(Dec, i64)> = None;
    let mut open: Vec<(usize, u64, Vec<u32>)> = vec![(0, 0, Vec::new())];
    while let Some((place, taken, chosen)) = open.pop() {
        if place == all.model.places {
            let mass = chosen
                .iter()
                .map(|at| all.model.offers[*at as usize].mass)
                .sum::<i64>();
            if mass <= most && all.model.holds(&chosen) {
                let cost =
                    landed_rows(all.book, &all.plan_rows(&chosen), all.jurisdiction).unwrap();
                if found.is_none_or(|best| (cost, mass) < best) {
                    found = Some((cost, mass));
                }
            }
            continue;
        }
        let required = all.model.required & 1 << place != 0;
        if taken & 1 << place != 0 || !required {
            open.push((place + 1, taken, chosen.clone()));
        }
        if taken & 1 << place != 0 {
            continue;
        }
        for (at, offer) in (0..).zip(&all.model.offers) {
            if offer.places & 1 << place != 0 && offer.places & taken == 0 {
                let more = chosen.iter().copied().chain([at]).collect();
                open.push((place + 1, taken | offer.places, more));
            }
        }
    }
    found
}

fn is_best(to: &str, shape: Size, seed: u64) {
    let (mut book, tables) = made(shape, to, seed);
    let (best, most) = compiled(&book, &tables, |all| {
        let offers = &all.model.offers;
        let least: i64 = (0..all.model.places)
            .filter_map(|place| {
                offers
                    .iter()
                    .filter(|o| o.places & 1 << place != 0)
                    .map(|o| o.mass)
                    .min()
            })
            .sum();
        let build: i64 = all.model.begin[0]
            .iter()
            .map(|at| offers[*at as usize].mass)
            .sum();
        let most = least.midpoint(build.max(least));
        (by_hand(all, most), most + all.sure_mass)
    });
    book.settings.max_mass = Some(Grams(Dec::new(most, 1)));
    let ask = Question::new(&book.settings, day("2026-09-23")).unwrap();
    let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
    match (
        plan(&book, &jurisdiction, &Wishes::default(), &Patient).unwrap(),
        best,
    ) {
        (Planned::Found(plans), Some((cost, _))) => {
            assert!(plans.plans[0].proven, "{to} {seed}");
            assert_eq!(plans.plans[0].landed, cost, "{to} {seed}");
        }
        (Planned::Nothing(_), None) => {}
        (found, best) => panic!("{to} {seed}: {found:?} where {best:?} is best"),
    }
}

/// Of all destinations, within a mass; `drawn.rs` makes small books in which offers ask for one another.
#[test]
fn plans_of_small_books_are_the_best_of_all_choices() {
    for (nth, to) in (1..).zip(DESTINATIONS) {
        is_best(to, size(4, 3, 3), nth);
        is_best(to, size(5, 2, 2), nth + 40);
    }
}
