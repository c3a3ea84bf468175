//! Planning against brute force: the search on generated choices with every rule in turn, and whole books by the decimal engine.

use std::collections::BTreeMap;

use instance::Instance;
use landwaiter::plan::{
    Case, Cases, Goal, Model, NO_LIMIT, Offer, PackageCost, Patient, Stopped, UNIT, Watch, search,
};

use crate::kit::{self, Dice};

#[path = "../bench/plan/instance.rs"]
mod instance;

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
