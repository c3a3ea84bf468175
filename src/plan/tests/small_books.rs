//! Small books: what `plan` finds is what calculating every choice finds.

use std::collections::BTreeMap;

use crate::landed::{Jurisdiction, landed_rows};
use crate::made::{self, Dice};
use crate::plan::{Patient, Planned, Wishes, plan};
use crate::units::Dec;
use crate::value::bench::Bench;

/// A book of three sellers with rivals, options, a bundle, a need, joints, codes, steps of freight.
fn book_text(number: u64) -> Vec<(&'static str, String)> {
    let mut dice = Dice(number.wrapping_mul(31) + 5);
    let mut cents =
        |low: i64, more: u64| format!("{}.{:02}", low + dice.roll(more), dice.roll(100));
    let mut parts = String::from(
        "part,place,role,standing,seller,price,currency,quantity,mass_g,origin,comes_with,needs,fits\n",
    );
    let sellers = ["Amberway", "Brackwater", "Cinderfold"];
    let money = ["USD", "EUR", "GBP"];
    let base = [
        ("frame", 300, 400),
        ("wheels", 250, 300),
        ("saddle", 30, 90),
        ("cassette", 40, 90),
        ("chain", 15, 30),
        ("pedals", 30, 60),
    ];
    for (at, (place, low, more)) in base.iter().enumerate() {
        let s = (at + number as usize) % 3;
        let fits = if *place == "wheels" || *place == "cassette" {
            "freehub=spline-11"
        } else {
            ""
        };
        parts += &format!(
            "{place} one,{place},build,to-order,{},{},{},1,{},CN,,,{fits}\n",
            sellers[s],
            cents(*low, *more),
            money[s],
            low * 2 + at as i64
        );
        let r = (s + 1) % 3;
        parts += &format!(
            "{place} one,,rival,,{},{},{},,,,,,\n",
            sellers[r],
            cents(*low, *more),
            money[r]
        );
        if at % 2 == (number % 2) as usize {
            let o = (s + 2) % 3;
            let fits = if *place == "wheels" || *place == "cassette" {
                "freehub=spline-12"
            } else {
                ""
            };
            let needs = if *place == "saddle" { "rail clamp" } else { "" };
            parts += &format!(
                "{place} two,{place},option,to-order,{},{},{},1,{},CN,,{needs},{fits}\n",
                sellers[o],
                cents(*low, *more),
                money[o],
                low + at as i64 * 3
            );
        }
    }
    parts += "rim tape,rim-tape,build,bundled,,,,1,14,,wheels one,,\n";
    parts += &format!(
        "other tape,rim-tape,option,to-order,Cinderfold,{},GBP,1,9,,,,\n",
        cents(3, 4)
    );
    parts += &format!(
        "rail clamp,rail-clamp,option,to-order,Cinderfold,{},GBP,1,14,,,,\n",
        cents(8, 9)
    );
    parts += "old bars,handlebar,build,in-hand,,,,1,220,,,,\n";
    let (free, fee) = (150 + number % 200, 10 + number % 30);
    let sellers = format!(
        "seller,dispatch,currency,freight,free_freight_over,channel,handling,collects_tax\nAmberway,CN,USD,{fee}.00,{free}.00,courier,2.5 % min 12.50,no\nBrackwater,DE,EUR,18.50,,post,12.00,yes\nCinderfold,GB,GBP,4.95,60.00,post,,\n"
    );
    let discounts = "code,seller,scope,percent,amount,currency,min_spend,max_off,order,group\nTEN,Amberway,basket,10,,,250.00,60.00,1,\nFIVER,Brackwater,basket,,15.00,EUR,120.00,,1,\n".to_owned();
    let settings =
        "setting,value\ndestination,GB\ndate,2026-03-02\nkind,road\ncard_fee,2.75 %\n".to_owned();
    vec![
        ("settings", settings),
        ("sellers", sellers),
        ("parts", parts),
        ("discounts", discounts),
    ]
}

/// The required places that a test's book leaves empty are filled by rows that cost nothing.
fn completed(mut tables: Vec<(&'static str, String)>) -> Vec<(&'static str, String)> {
    let (book, rates) = (made::book(&made::borrowed(&tables)), made::built_in());
    let ask = made::ask(&book);
    let jurisdiction = Jurisdiction::open(rates, &ask).unwrap();
    let build: Vec<_> = book.build().collect();
    let bare: Vec<String> = Bench::lay(&build, &jurisdiction)
        .required_empty()
        .iter()
        .map(|p| (*p).to_owned())
        .collect();
    if let Some((_, parts)) = tables.iter_mut().find(|(t, _)| *t == "parts") {
        for place in bare {
            *parts += &format!("old {place},{place},build,in-hand,,,,1,100,,,,\n");
        }
    }
    tables
}

fn planned(tables: &[(&'static str, String)], wishes: &Wishes) -> (Planned, Vec<(Dec, i64)>) {
    let (book, rates) = (made::book(&made::borrowed(tables)), made::built_in());
    let ask = made::ask(&book);
    let jurisdiction = Jurisdiction::open(rates, &ask).unwrap();
    let found = plan(&book, &jurisdiction, wishes, &Patient).unwrap();
    let all = brute_books(&book, &jurisdiction);
    (found, all)
}

/// Every choice of a test's book by hand-written rules, each costed whole by the decimal engine.
fn brute_books(book: &crate::book::Book, jurisdiction: &Jurisdiction<'_>) -> Vec<(Dec, i64)> {
    use crate::book::{Part, Role};
    let contested = [
        "frame", "wheels", "saddle", "cassette", "chain", "pedals", "rim-tape",
    ];
    let clamp: Vec<&Part> = book
        .parts
        .iter()
        .filter(|p| p.name == "rail clamp")
        .collect();
    let rest: Vec<&Part> = book
        .build()
        .filter(|p| !contested.contains(&p.places[0].as_str()))
        .collect();
    let mut open: Vec<Vec<&Part>> = vec![rest];
    for place in contested {
        let here: Vec<&Part> = book
            .parts
            .iter()
            .filter(|p| p.places.iter().any(|x| x == place))
            .collect();
        open = open
            .iter()
            .flat_map(|rows| {
                here.iter()
                    .map(move |row| rows.iter().copied().chain([*row]).collect())
            })
            .collect();
    }
    let mut all = Vec::new();
    for mut rows in open {
        let has = |name: &str| rows.iter().any(|r| r.name == name);
        let two = |name: &str| {
            rows.iter()
                .any(|r| r.name == name && r.role == Role::Option)
        };
        if has("rim tape") && !has("wheels one") || two("wheels two") != two("cassette two") {
            continue;
        }
        if has("saddle two") {
            rows.extend(&clamp);
        }
        let mass: Dec =
            Dec::total(rows.iter().filter_map(|r| r.total_mass()).map(|m| m.0)).unwrap();
        let landed = landed_rows(book, &rows, jurisdiction).unwrap();
        all.push((landed, i64::try_from(mass.in_units(1).unwrap()).unwrap()));
    }
    all
}

#[test]
fn books_equal_brute_force() {
    for number in 0..made::share(24, 2) {
        let tables = completed(book_text(number));
        let (found, all) = planned(
            &tables,
            &Wishes {
                frontier: true,
                ..Wishes::default()
            },
        );
        let plans = match found {
            Planned::Found(plans) => plans,
            Planned::Nothing(why) => panic!("number {number}: {}", why.reason.message),
        };
        let mut by_mass: BTreeMap<i64, Dec> = BTreeMap::new();
        for (cost, mass) in all {
            by_mass
                .entry(mass)
                .and_modify(|c| *c = (*c).min(cost))
                .or_insert(cost);
        }
        let mut front: Vec<(Dec, i64)> = Vec::new();
        for (mass, cost) in by_mass {
            if front.last().is_none_or(|last| cost < last.0) {
                front.push((cost, mass));
            }
        }
        let found: Vec<(Dec, i64)> = plans
            .plans
            .iter()
            .map(|p| {
                (
                    p.landed,
                    i64::try_from(p.mass.0.in_units(1).unwrap()).unwrap(),
                )
            })
            .collect();
        assert_eq!(found, front, "number {number}");
    }
}
