//! Planning against brute force: the search on generated choices with every rule in turn, and whole books by the decimal engine.

use std::collections::BTreeMap;

use landwaiter::landed::{Jurisdiction, landed_rows};
use landwaiter::plan::{
    Case, Cases, Goal, Model, NO_LIMIT, Offer, PackageCost, Patient, Planned, Stopped, UNIT, Watch,
    Wishes, plan, search,
};
use landwaiter::tables::Tables;
use landwaiter::text::Problems;
use landwaiter::units::Dec;
use landwaiter::value::bench::Bench;

use crate::kit::{self, Dice};

#[path = "../bench/plan/instance.rs"]
mod instance;

use instance::Instance;

/// An instance in the peers' text; rules come in turn with `number`.
fn generated(number: u64, rare: bool) -> Instance {
    let mut dice = Dice(number.wrapping_mul(977) + 13);
    let (places, sellers, each) = (3 + dice.roll(3), 2 + dice.roll(3), 2 + dice.roll(2));
    let mut text = format!("plan {places} {sellers} 0\n");
    for s in 0..sellers {
        let free = if number % 2 == 0 {
            2_000 + dice.roll(12_000)
        } else {
            -1
        };
        let (spend, off) = if number % 3 == 0 {
            (3_000 + dice.roll(12_000), 200 + dice.roll(900))
        } else {
            (-1, 0)
        };
        let (a, b) = (200 + dice.roll(500), 800 + dice.roll(900));
        text += &format!(
            "seller {s} {free} {spend} {off} 3 400 {a} 900 {b} 1000000000 {}\n",
            b + dice.roll(900)
        );
    }
    for p in 0..places {
        for _ in 0..each {
            let price = 500 + dice.roll(9_000);
            text += &format!(
                "offer {p} {} {price} {} {}\n",
                dice.roll(sellers as u64),
                20 + dice.roll(500),
                price * dice.roll(14) / 100
            );
        }
    }
    let mut instance = Instance::read(&text);
    if rare {
        couple(&mut instance, number, &mut dice);
    }
    let total: i64 = instance.model.offers.iter().map(|o| o.mass).sum();
    instance.budget = total / each / 10 * (6 + dice.roll(5));
    instance
}

/// Pieces that fill two places, needs, joints, few sellers, places that may stay empty: one or two at a time.
fn couple(instance: &mut Instance, number: u64, dice: &mut Dice) {
    let (places, count) = (instance.model.places, instance.model.offers.len());
    if number % 4 != 1 {
        for at in 0..count {
            if dice.one_in(5) {
                instance.model.offers[at].places |= 1 << dice.roll(places as u64);
            }
        }
    }
    if number % 4 == 1 || number % 5 == 0 {
        for at in 0..count {
            if dice.one_in(4) {
                let any = vec![
                    dice.roll(count as u64) as u32,
                    dice.roll(count as u64) as u32,
                ];
                instance.model.offers[at].needs = vec![any];
            }
        }
    }
    if number % 4 == 2 || number % 7 == 0 {
        instance.model.joints = vec![7, 3];
        for at in 0..count {
            if dice.one_in(2) {
                instance.model.offers[at].fits =
                    vec![(dice.roll(2) as usize, 1 + dice.roll(7) as u64)];
            }
        }
    }
    if number % 4 == 3 {
        instance.model.max_sellers = Some(1 + dice.roll(2) as usize);
    }
    if number % 6 == 0 {
        instance.model.required &= !1;
    }
}

/// Every choice, priced: cost and mass.
fn every(instance: &Instance) -> Vec<(i64, i64)> {
    let mut found = Vec::new();
    let mut chosen = Vec::new();
    walk(instance, 0, &mut chosen, &mut found);
    found
}

fn walk(instance: &Instance, covered: u64, chosen: &mut Vec<u32>, found: &mut Vec<(i64, i64)>) {
    let model = &instance.model;
    let Some(place) = (0..model.places).find(|p| covered & 1 << p == 0) else {
        if model.holds(chosen) {
            found.push(model.price(instance, chosen).unwrap());
        }
        return;
    };
    for (at, offer) in model.offers.iter().enumerate() {
        if offer.places & 1 << place != 0 && offer.places & covered == 0 {
            chosen.push(at as u32);
            walk(instance, covered | offer.places, chosen, found);
            chosen.pop();
        }
    }
    if model.required & 1 << place == 0 {
        walk(instance, covered | 1 << place, chosen, found);
    }
}

/// Points that no other beats in both, by mass.
fn frontier(all: &[(i64, i64)]) -> Vec<(i64, i64)> {
    let mut by_mass: BTreeMap<i64, i64> = BTreeMap::new();
    for (cost, mass) in all {
        by_mass
            .entry(*mass)
            .and_modify(|c| *c = (*c).min(*cost))
            .or_insert(*cost);
    }
    let mut low = i64::MAX;
    let mut front = Vec::new();
    for (mass, cost) in by_mass {
        if cost < low {
            low = cost;
            front.push((cost, mass));
        }
    }
    front
}

fn compare(instance: &Instance, number: u64) {
    let all = every(instance);
    let seen = |goal: Goal| {
        let out = search(&instance.model, instance, goal, &Patient).unwrap();
        assert_eq!(out.stopped, Stopped::Proven, "number {number}");
        for plan in &out.plans {
            assert_eq!(
                instance.model.price(instance, &plan.offers),
                Some((plan.cost, plan.mass)),
                "number {number}"
            );
            assert!(instance.model.holds(&plan.offers), "number {number}");
        }
        out.plans
            .iter()
            .map(|p| (p.cost, p.mass))
            .collect::<Vec<_>>()
    };
    let best = all
        .iter()
        .filter(|(_, m)| *m <= instance.budget)
        .min()
        .copied();
    assert_eq!(
        seen(Goal::Cheapest(Some(instance.budget))).first().copied(),
        best,
        "number {number}, cheapest"
    );
    let front = frontier(&all);
    assert_eq!(seen(Goal::Frontier), front, "number {number}, frontier");
    let budget = front.iter().map(|p| p.0).sum::<i64>() / (front.len() as i64).max(1);
    let light = all
        .iter()
        .filter(|(c, _)| *c <= budget)
        .min_by_key(|(c, m)| (*m, *c))
        .copied();
    assert_eq!(
        seen(Goal::Lightest(budget)).first().copied(),
        light,
        "number {number}, lightest"
    );
}

#[test]
fn plain_choices_equal_brute_force() {
    (0..kit::share(1_200, 30)).for_each(|number| compare(&generated(number, false), number));
}

#[test]
fn coupled_choices_equal_brute_force() {
    (0..kit::share(1_200, 30)).for_each(|number| compare(&generated(number, true), number));
}

/// Costs by offer and nothing else.
struct Tags(Vec<i64>);

impl PackageCost for Tags {
    fn exact(&self, _: usize, offers: &[u32]) -> Option<i64> {
        Some(offers.iter().map(|o| self.0[*o as usize]).sum())
    }
    fn cases(&self, _: usize) -> Cases {
        let case = Case {
            class: 0,
            fixed: 0,
            goods_least: 0,
            goods_most: NO_LIMIT,
            weight_most: NO_LIMIT,
        };
        Cases {
            classes: vec![self.0.iter().map(|c| c * UNIT).collect()],
            cases: vec![case],
        }
    }
}

/// The choice problems of others: most value is least of what is missing to the most.
#[test]
fn known_choice_problems() {
    let text =
        std::fs::read_to_string(kit::home().join("tests/data/oracles/choice_knapsack_cases.csv"))
            .unwrap();
    let mut seen = 0;
    for row in kit::records(&text) {
        let (problem, classes) = (&row[1], &row[2]);
        let (limit, optimum): (i64, i64) = (row[3].parse().unwrap(), row[4].parse().unwrap());
        let most = problem.starts_with("max value");
        let mut model = Model {
            sellers: 1,
            ..Model::default()
        };
        let mut tags = Vec::new();
        for (place, class) in classes.split('|').enumerate() {
            let pair = |p: &str| {
                p.trim_matches(['(', ')'])
                    .split_once(',')
                    .map(|(a, b)| (a.parse().unwrap(), b.parse().unwrap()))
                    .unwrap()
            };
            let mut pairs: Vec<(i64, i64)> = class.split_whitespace().map(pair).collect();
            if problem.contains("at most one") {
                pairs.push((0, 0));
            }
            for (cost, value) in pairs {
                // most value within a cost: cost is the mass; least cost for a value: what the value lacks is the mass
                let (tag, mass) = if most {
                    (1_000 - value, cost)
                } else {
                    (cost, 1_000 - value)
                };
                tags.push(tag);
                model.offers.push(Offer {
                    places: 1 << place,
                    mass,
                    goods: tag,
                    ..Offer::default()
                });
            }
            model.places = place + 1;
            model.required |= 1 << place;
        }
        let lacking = 1_000 * model.places as i64;
        let goal = Goal::Cheapest(Some(if most { limit } else { lacking - limit }));
        let out = search(&model, &Tags(tags), goal, &Patient).unwrap();
        let found = if most {
            lacking - out.plans[0].cost
        } else {
            out.plans[0].cost
        };
        assert_eq!(found, optimum, "{}", &row[0]);
        seen += 1;
    }
    assert_eq!(seen, 13);
}

struct Never;

impl Watch for Never {
    fn stop(&self) -> Option<Stopped> {
        Some(Stopped::TimeLimit)
    }
}

#[test]
fn a_stopped_search_is_honest() {
    for number in 0..200 {
        let instance = generated(number * 2, false);
        let out = search(
            &instance.model,
            &instance,
            Goal::Cheapest(Some(instance.budget)),
            &Never,
        )
        .unwrap();
        let best = every(&instance)
            .into_iter()
            .filter(|(_, m)| *m <= instance.budget)
            .min();
        let (Some(best), Some(plan)) = (best, out.plans.first()) else {
            continue;
        };
        assert!(
            out.bound <= best.0 && best.0 <= plan.cost,
            "number {number}: {} {best:?} {}",
            out.bound,
            plan.cost
        );
    }
}

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
    let borrowed: Vec<(&str, &str)> = tables.iter().map(|(t, text)| (*t, text.as_str())).collect();
    let book = kit::book(&borrowed);
    let mut problems = Problems::new();
    let rates = Tables::load(Vec::new(), &mut problems);
    let ask = kit::ask(&book);
    let jurisdiction = Jurisdiction::open(&rates, &ask).unwrap();
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
    let borrowed: Vec<(&str, &str)> = tables.iter().map(|(t, text)| (*t, text.as_str())).collect();
    let book = kit::book(&borrowed);
    let mut problems = Problems::new();
    let rates = Tables::load(Vec::new(), &mut problems);
    let ask = kit::ask(&book);
    let jurisdiction = Jurisdiction::open(&rates, &ask).unwrap();
    let found = plan(&book, &jurisdiction, wishes, &Patient).unwrap();
    let all = brute_books(&book, &jurisdiction);
    (found, all)
}

/// Every choice of a test's book by hand-written rules, each costed whole by the decimal engine.
fn brute_books(book: &landwaiter::book::Book, jurisdiction: &Jurisdiction<'_>) -> Vec<(Dec, i64)> {
    use landwaiter::book::{Part, Role};
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
    for number in 0..kit::share(24, 2) {
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
            Planned::Nothing(why) => panic!("number {number}: {}", why.message),
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

#[test]
fn no_plan_says_the_smallest_reason() {
    let ran = kit::landwaiter(&["plan", "examples/gravel-build", "--max-mass", "6000"]);
    assert_eq!(ran.status, 3, "{}", ran.stderr);
    assert!(
        ran.stderr
            .contains("no plan weighs 6,000 g or less: the least is "),
        "{}",
        ran.stderr
    );
    let ran = kit::landwaiter(&[
        "plan",
        "examples/gravel-build",
        "--without",
        "Weihu Composite Works",
    ]);
    assert_eq!(ran.status, 3, "{}", ran.stderr);
    assert!(ran.stderr.contains("the place `"), "{}", ran.stderr);
}

#[test]
fn a_plan_is_costed_again_and_shown() {
    let ran = kit::landwaiter(&[
        "plan",
        "examples/gravel-build",
        "--max-mass",
        "8700",
        "--format",
        "json",
    ]);
    assert_eq!(ran.status, 0, "{}", ran.stderr);
    let json: serde_json::Value = serde_json::from_str(&ran.stdout).unwrap();
    let plan = &json["plans"][0];
    assert_eq!(plan["proven"], true);
    assert_eq!(plan["gap"], "0.00");
    assert_eq!(plan["landed"], plan["bound"]);
    assert!(plan["choices"].as_array().unwrap().len() > 30);
}
