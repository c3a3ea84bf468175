//! A book's choice written down for another solver: places, offers, what couples them, and for each seller every package with its
//! exact cost where they are few enough, and the cases of the search's lower bounds. Lines of words and whole numbers:
//!
//! ```text
//! choice PLACES REQUIRED cheapest|lightest MOST       (MOST: mass or cost, -1 for none; REQUIRED and the like are bits)
//! build COST MASS                                     (the build as it stands)
//! offer NUMBER SELLER PLACES MASS GOODS WEIGHT        (goods and weight are what the limits of cases look at)
//! joint KEY VALUES                                    (values that parts outside the choice allow)
//! fits OFFER KEY VALUES
//! needs OFFER ONE_OF ...
//! free SELLER                                         (each of its offers costs nothing)
//! seller NUMBER PACKAGES|-1                           (how many it has; -1: too many, only its cases follow)
//! package SELLER COST MASS OFFER ...                  (none that another of the same places and couplings beats)
//! class SELLER SHARE ...                              (of the seller's offers in ascending order)
//! case SELLER CLASS FIXED GOODS_LEAST GOODS_MOST WEIGHT_MOST
//! ```
//!
//! Costs are in hundredths of minor units, shares and what is fixed in millionths of those, masses in tenths of grams.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

use landwaiter::plan::{Goal, Model, PackageCost};

/// A package: what it costs, what it weighs, its offers.
type Package = (i64, i64, Vec<u32>);

/// Writes the choice; of a seller with more than `room` packages only cases are told.
pub(super) fn written(model: &Model, cost: &dyn PackageCost, goal: Goal, room: usize) -> String {
    let (word, most) = match goal {
        Goal::Cheapest(most) => ("cheapest", most.unwrap_or(-1)),
        Goal::Lightest(most) => ("lightest", most),
        Goal::Frontier => panic!("a frontier is no single choice"),
    };
    assert!(model.max_sellers.is_none(), "sellers are not counted here");
    let mut text = format!("choice {} {} {word} {most}\n", model.places, model.required);
    let build = model.price(cost, &model.begin[0]).unwrap();
    let _ = writeln!(text, "build {} {}", build.0, build.1);
    for (key, values) in model.joints.iter().enumerate() {
        let _ = writeln!(text, "joint {key} {values}");
    }
    for (at, o) in model.offers.iter().enumerate() {
        let _ = writeln!(
            text,
            "offer {at} {} {} {} {} {}",
            o.seller, o.places, o.mass, o.goods, o.weight
        );
        for (key, values) in &o.fits {
            let _ = writeln!(text, "fits {at} {key} {values}");
        }
        for any in &o.needs {
            let _ = writeln!(text, "needs {at}{}", spaced(any));
        }
    }
    for seller in 0..model.sellers {
        if seller + 1 == model.sellers {
            let _ = writeln!(text, "free {seller}");
        } else {
            of_seller(model, cost, seller, room, &mut text);
        }
    }
    text
}

fn spaced<T: std::fmt::Display>(all: &[T]) -> String {
    all.iter().map(|one| format!(" {one}")).collect()
}

fn of_seller(model: &Model, cost: &dyn PackageCost, seller: usize, room: usize, text: &mut String) {
    let packages = packages(model, cost, seller, room);
    let count = packages.as_ref().map(Vec::len);
    let told = count.map_or("-1".to_owned(), |count| count.to_string());
    let _ = writeln!(text, "seller {seller} {told}");
    for (cost, mass, offers) in unbeaten(model, packages.unwrap_or_default()) {
        let _ = writeln!(text, "package {seller} {cost} {mass}{}", spaced(&offers));
    }
    let all = cost.cases(seller);
    for class in &all.classes {
        let _ = writeln!(text, "class {seller}{}", spaced(class));
    }
    for c in &all.cases {
        let _ = writeln!(
            text,
            "case {seller} {} {} {} {} {}",
            c.class, c.fixed, c.goods_least, c.goods_most, c.weight_most
        );
    }
}

/// Every package of a seller that can be had; none where they are more than there is room for.
fn packages(
    model: &Model,
    cost: &dyn PackageCost,
    seller: usize,
    room: usize,
) -> Option<Vec<Package>> {
    let mut all: Vec<(u64, Vec<u32>)> = vec![(0, Vec::new())];
    for (at, offer) in (0..).zip(&model.offers) {
        if offer.seller != seller {
            continue;
        }
        let with = |(mask, chosen): &(u64, Vec<u32>)| {
            let own: Vec<u32> = chosen.iter().copied().chain([at]).collect();
            (mask | offer.places, own)
        };
        let more: Vec<_> = all
            .iter()
            .filter(|(mask, _)| mask & offer.places == 0)
            .map(with)
            .collect();
        all.extend(more);
        if all.len() > room {
            return None;
        }
    }
    let priced = |(_, offers): (u64, Vec<u32>)| {
        let mass = offers.iter().map(|o| model.offers[*o as usize].mass).sum();
        Some((cost.exact(seller, &offers)?, mass, offers))
    };
    Some(all.into_iter().skip(1).filter_map(priced).collect())
}

/// Without those that another package of the same places, with the same coupled offers, beats in cost and mass.
fn unbeaten(model: &Model, packages: Vec<Package>) -> Vec<Package> {
    let offers = || (0_u32..).zip(&model.offers);
    let asked = offers().flat_map(|(_, o)| o.needs.iter().flatten().copied());
    let speaking = offers().filter(|(_, o)| !o.fits.is_empty() || !o.needs.is_empty());
    let coupled: BTreeSet<u32> = asked.chain(speaking.map(|(at, _)| at)).collect();
    let mut groups: BTreeMap<(u64, Vec<u32>), Vec<Package>> = BTreeMap::new();
    for package in packages {
        let places = |mask, o: &u32| mask | model.offers[*o as usize].places;
        let mask = package.2.iter().fold(0, places);
        let bound: Vec<u32> = package
            .2
            .iter()
            .copied()
            .filter(|o| coupled.contains(o))
            .collect();
        groups.entry((mask, bound)).or_default().push(package);
    }
    let mut kept = Vec::new();
    for (_, mut group) in groups {
        group.sort();
        let mut lightest = i64::MAX;
        for package in group {
            if package.1 < lightest {
                lightest = package.1;
                kept.push(package);
            }
        }
    }
    kept
}

/// Prices packages as they are asked for, each a line of its seller and its offers; -1 for one that cannot be had.
pub(super) fn answer(cost: &dyn PackageCost) {
    for line in std::io::stdin().lines() {
        let line = line.unwrap();
        let mut numbers = line.split_whitespace().map(|n| n.parse::<u32>().unwrap());
        let seller = numbers.next().unwrap() as usize;
        let offers: Vec<u32> = numbers.collect();
        println!("{}", cost.exact(seller, &offers).unwrap_or(-1));
    }
}
