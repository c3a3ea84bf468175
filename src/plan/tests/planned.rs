//! Plans of generated books against every choice costed whole by the decimal engine, each rule in turn beside each other;
//! and the search's own sum beside the engine's on random baskets, for every destination that ships with the program.
//!
//! A run of `cargo test` looks at a share of the books and baskets; `LANDWAITER_WHOLE=1` makes it all of them, which
//! `tests/outside/run` does with a release build.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use crate::Question;
use crate::abroad;
use crate::book::{Book, Part, Role, Standing};
use crate::landed::{Jurisdiction, landed_rows};
use crate::made::{self, Dice};
use crate::plan::sums::Sums;
use crate::plan::{Patient, Planned, Plans, Stopped, Wishes, plan};
use crate::tables::Tables;
use crate::units::{Dec, Grams};
use crate::value::bench::Bench;

/// The rules that books are made with: each in turn, beside each other one.
const RULES: [&str; 24] = [
    "flat freight",
    "free above a spend",
    "freight by mass step",
    "freight by mass, packed",
    "insurance",
    "basket code with a least spend and a cap",
    "two codes of one group",
    "code on one part",
    "code on freight",
    "credit that does not lower the customs value",
    "tax taken at the sale",
    "prices with tax in them",
    "carrier's fee with a least amount",
    "marketplace and private senders",
    "charges in the price",
    "quantities and items",
    "a bundle",
    "a need",
    "a joint",
    "one piece at two places",
    "parts already paid",
    "two pieces of one place",
    "few sellers",
    "preference and card fee",
];

/// One destination of each law that ships with the program.
const TO: [&str; 12] = [
    "GB", "DE", "CH", "US", "AU", "NO", "CA-ON", "NZ", "JP", "SG", "KR", "NL",
];

/// The Union's other members, which share its law and differ in their tax: looked at in a whole run.
const UNION: [&str; 25] = [
    "AT", "BE", "BG", "CY", "CZ", "DK", "EE", "ES", "FI", "FR", "GR", "HR", "HU", "IE", "IT", "LT",
    "LU", "LV", "MT", "PL", "PT", "RO", "SE", "SI", "SK",
];

/// Books compared in a whole run and in a short one.
const BOOKS: (u64, u64) = (2_304, 5);

/// Baskets for each destination in a whole run and in a short one; [`OF_ONE_BOOK`] of them are of one book.
const BASKETS: (u64, u64) = (10_000, 100);

const OF_ONE_BOOK: u64 = 100;

fn share(sizes: (u64, u64)) -> u64 {
    made::share(sizes.0, sizes.1)
}

fn price(dice: &mut Dice, low: u64, more: u64) -> String {
    format!("{}.{:02}", low + dice.below(more), dice.below(100))
}

/// A row that may be chosen, as the generator knows it.
struct Alt {
    part: String,
    seller: String,
    seats: u64,
    needs: Option<&'static str>,
    joint: u64,
}

/// A generated book.
struct Made {
    text: Vec<(&'static str, String)>,
    rates: String,
    seats: usize,
    /// Seats that may stay empty.
    idle: u64,
    alts: Vec<Alt>,
    max_sellers: Option<usize>,
}

const SELLERS: [(&str, &str, &str); 4] = [
    ("Amberway", "CN", "USD"),
    ("Brackwater", "DE", "EUR"),
    ("Cinderfold", "GB", "GBP"),
    ("Dunmere", "US", "USD"),
];

const SEATS: [(&str, u64, u64); 4] = [
    ("wheels", 60, 260),
    ("cassette", 20, 90),
    ("saddle", 15, 120),
    ("pedals", 10, 70),
];

const HEAD: &str = "part,place,role,standing,seller,price,currency,quantity,paid,mass_g,packed_g,origin,preference,comes_with,needs,fits\n";

struct Row<'r> {
    part: &'r str,
    place: &'r str,
    role: &'r str,
    standing: &'r str,
    seller: usize,
    price: String,
    quantity: u64,
    mass: u64,
    tail: String,
}

impl Row<'_> {
    fn text(&self) -> String {
        let (name, _, money) = SELLERS[self.seller];
        let Row {
            part,
            place,
            role,
            standing,
            price,
            quantity,
            mass,
            tail,
            ..
        } = self;
        let packed = mass + 150;
        format!(
            "{part},{place},{role},{standing},{name},{price},{money},{quantity},,{mass},{packed},{tail}\n"
        )
    }
}

fn made(number: u64) -> Made {
    let on = [number % 24, number / 24 % 24];
    let rule = |name: &str| on.iter().any(|at| RULES[*at as usize] == name);
    let mut dice = Dice(number.wrapping_mul(2_654_435_761).wrapping_add(99));
    let mut made = Made {
        text: Vec::new(),
        rates: String::new(),
        seats: SEATS.len(),
        idle: 0,
        alts: Vec::new(),
        max_sellers: None,
    };
    let mut parts = HEAD.to_owned();
    for seat in 0..SEATS.len() {
        let first = dice.below(4) as usize;
        for (turn, role) in ["build", "rival", "option"].into_iter().enumerate() {
            let seller = (first + turn * (1 + dice.below(2) as usize)) % 4;
            if role != "rival" || seller != first {
                parts += &offered(&mut made, &mut dice, &rule, seat, role, seller);
            }
        }
    }
    more_seats(&mut made, &mut parts, &mut dice, &rule);
    made.text = vec![
        ("settings", settings(number, &rule)),
        ("sellers", sellers(&mut made, &mut dice, &rule)),
        ("parts", parts),
    ];
    if let Some(codes) = codes(&made, &mut dice, &rule) {
        made.text.push(("discounts", codes));
    }
    made.max_sellers = rule("few sellers").then_some(2);
    made
}

/// One row at a seat, and what the generator must know of it.
fn offered(
    made: &mut Made,
    dice: &mut Dice,
    rule: &dyn Fn(&str) -> bool,
    seat: usize,
    role: &str,
    seller: usize,
) -> String {
    let (place, low, more) = SEATS[seat];
    let (option, rival) = (role == "option", role == "rival");
    let joint = rule("a joint") && seat < 2;
    let name = format!("{place} {}", if option { "two" } else { "one" });
    let fits = match (joint, option) {
        (false, _) => "",
        (true, true) => "freehub=spline-12",
        (true, false) => "freehub=spline-11",
    };
    let need = option && place == "saddle" && rule("a need");
    let two = option && place == "wheels" && rule("one piece at two places");
    let prefers = if rule("preference and card fee") && dice.below(2) == 0 {
        "yes"
    } else {
        "no"
    };
    let made_in = dice.of(&["CN", "TW", "DE", ""]);
    let prefers = if made_in.is_empty() { "" } else { prefers };
    let at = if two { "wheels + cassette" } else { place };
    let mass = low * 2 + dice.below(low * 3);
    if role == "build" && place == "pedals" && rule("parts already paid") {
        made.alts.push(Alt {
            part: name.clone(),
            seller: String::new(),
            seats: 1 << seat,
            needs: None,
            joint: u64::MAX,
        });
        return format!(
            "{name},{place},build,in-hand,,,,1,{},{mass},,,,,,\n",
            5 + dice.below(30)
        );
    }
    let line = Row {
        part: &name,
        place: if rival { "" } else { at },
        role,
        standing: if rival { "" } else { "to-order" },
        seller,
        price: price(dice, low, more),
        quantity: if rule("quantities and items") {
            1 + dice.below(2)
        } else {
            1
        },
        mass,
        tail: format!(
            "{made_in},{prefers},,{},{fits}",
            if need { "rail clamp" } else { "" }
        ),
    };
    let text = line.text();
    made.alts.push(Alt {
        part: name.clone(),
        seller: SELLERS[seller].0.to_owned(),
        seats: if two { 3 } else { 1 << seat },
        needs: need.then_some("rail clamp"),
        joint: match (joint, option) {
            (false, _) => u64::MAX,
            (true, true) => 2,
            (true, false) => 1,
        },
    });
    if rival { blank(&text) } else { text }
}

/// A rival takes every empty cell from the part it rivals.
fn blank(line: &str) -> String {
    let cells: Vec<&str> = line.trim_end().split(',').collect();
    format!(
        "{},,rival,,{},{},{},,,,,,,,,\n",
        cells[0], cells[4], cells[5], cells[6]
    )
}

/// Rows at further places: a bundle, a part that another needs, a second piece.
fn more_seats(made: &mut Made, parts: &mut String, dice: &mut Dice, rule: &dyn Fn(&str) -> bool) {
    let alt = |made: &mut Made, part: &str, seller: &str, needs: Option<&'static str>| {
        let seats = 1 << made.seats;
        made.alts.push(Alt {
            part: part.to_owned(),
            seller: seller.to_owned(),
            seats,
            needs,
            joint: u64::MAX,
        });
    };
    if rule("a bundle") {
        let _ = writeln!(
            parts,
            "rim tape,rim-tape,build,bundled,,,,1,,14,,,,wheels one,,"
        );
        let _ = writeln!(
            parts,
            "other tape,rim-tape,option,to-order,Cinderfold,{},GBP,1,,9,,GB,,,,",
            price(dice, 3, 4)
        );
        alt(made, "rim tape", "", Some("wheels one"));
        alt(made, "other tape", "Cinderfold", None);
        made.seats += 1;
    }
    if rule("a need") {
        let _ = writeln!(
            parts,
            "rail clamp,rail-clamp,option,to-order,Dunmere,{},USD,1,,14,,US,,,,",
            price(dice, 8, 9)
        );
        alt(made, "rail clamp", "Dunmere", None);
        made.idle |= 1 << made.seats;
        made.seats += 1;
    }
    if rule("two pieces of one place") {
        for name in ["left tyre", "right tyre"] {
            let seller = SELLERS[dice.below(4) as usize];
            let _ = writeln!(
                parts,
                "{name},tyre,build,to-order,{},{},{},1,,450,,{},,,,",
                seller.0,
                price(dice, 20, 30),
                seller.2,
                seller.1
            );
            let rival = SELLERS[dice.below(4) as usize];
            alt(made, name, seller.0, None);
            if rival.0 != seller.0 {
                let _ = writeln!(
                    parts,
                    "{name},,rival,,{},{},{},,,,,,,,,",
                    rival.0,
                    price(dice, 20, 30),
                    rival.2
                );
                alt(made, name, rival.0, None);
            }
            made.seats += 1;
        }
    }
}

fn settings(number: u64, rule: &dyn Fn(&str) -> bool) -> String {
    let to = TO[(number / 2 % 12) as usize];
    let card = if rule("preference and card fee") {
        "card_fee,2.75 %\n"
    } else {
        ""
    };
    format!("setting,value\ndestination,{to}\ndate,2026-03-02\nkind,road\n{card}")
}

fn sellers(made: &mut Made, dice: &mut Dice, rule: &dyn Fn(&str) -> bool) -> String {
    let mut text = String::from(
        "seller,dispatch,currency,sender,freight,free_freight_over,insurance,collects_tax,prices_include,terms,channel,handling\n",
    );
    let steps = rule("freight by mass step") || rule("freight by mass, packed");
    if steps {
        made.rates += "schedule,dispatch,destination,channel,up_to_g,price,currency,pro_rata,extra_per_kg,packing_percent,packing_g,";
        made.rates += "valid_from,source\n";
    }
    for (name, dispatch, money) in SELLERS {
        let sender = if rule("marketplace and private senders") {
            dice.of(&["marketplace", "private", "business"])
        } else {
            "business"
        };
        let mut freight = price(dice, 4, 25);
        if steps && dice.below(3) > 0 {
            freight = format!("by-mass-{}", name.to_lowercase());
            let (pro_rata, percent, grams) = if rule("freight by mass, packed") {
                ("yes", "8", "60")
            } else {
                ("", "", "")
            };
            for (at, up) in [400, 900, 2_000, 5_000].into_iter().enumerate() {
                let extra = if up == 5_000 { "3.10" } else { "" };
                let price = price(dice, 3 + at as u64 * 5, 5);
                let row = format!(
                    "{freight},{dispatch},*,*,{up},{price},{money},{pro_rata},{extra},{percent},{grams}"
                );
                let _ = writeln!(made.rates, "{row},2020-01-01,for this check");
            }
        }
        let free = if rule("free above a spend") {
            price(dice, 40, 200)
        } else {
            String::new()
        };
        let insurance = if rule("insurance") {
            dice.of(&["1 %", "2.50", "0.75 %"])
        } else {
            ""
        };
        let collects = if rule("tax taken at the sale") {
            dice.of(&["yes", "no"])
        } else {
            "no"
        };
        let include = if rule("prices with tax in them") {
            dice.of(&["sale-tax", "19", ""])
        } else {
            ""
        };
        let terms = if rule("charges in the price") {
            dice.of(&["DDP", "DAP", ""])
        } else {
            ""
        };
        let handling = if rule("carrier's fee with a least amount") {
            dice.of(&["2.5 % min 12.50", "12.00", ""])
        } else {
            ""
        };
        let channel = dice.of(&["post", "courier"]);
        let _ = writeln!(
            text,
            "{name},{dispatch},{money},{sender},{freight},{free},{insurance},{collects},{include},{terms},{channel},{handling}"
        );
    }
    text
}

fn codes(made: &Made, dice: &mut Dice, rule: &dyn Fn(&str) -> bool) -> Option<String> {
    let mut text = String::from(
        "code,seller,scope,part,percent,amount,currency,min_spend,max_off,order,group,pays\n",
    );
    let head = text.len();
    for (name, _, money) in SELLERS {
        let spend = price(dice, 60, 200);
        if rule("basket code with a least spend and a cap") {
            let _ = writeln!(
                text,
                "TEN {name},{name},basket,,10,,,{spend},{},1,,",
                price(dice, 8, 20)
            );
        }
        if rule("two codes of one group") {
            let _ = writeln!(
                text,
                "FIVER {name},{name},basket,,,5.00,{money},,,2,either,"
            );
            let _ = writeln!(text, "EIGHT {name},{name},basket,,8,,,{spend},,2,either,");
        }
        if rule("code on one part")
            && made
                .alts
                .iter()
                .any(|a| a.part == "saddle one" && a.seller == name)
        {
            let _ = writeln!(text, "SADDLE {name},{name},item,saddle one,15,,,,,3,,");
        }
        if rule("code on freight") {
            let _ = writeln!(text, "POST {name},{name},freight,,50,,,{spend},,4,,");
        }
        if rule("credit that does not lower the customs value") {
            let _ = writeln!(
                text,
                "POINTS {name},{name},basket,,,7.50,{money},,,5,,credit"
            );
        }
    }
    (text.len() > head).then_some(text)
}

fn tables(made: &Made) -> Tables {
    let own = (!made.rates.is_empty()).then_some(("freight.csv", made.rates.as_str()));
    abroad::tables(own.as_slice())
}

/// The required places that a made book leaves empty are filled by rows that cost nothing.
fn completed(made: &mut Made, tables: &Tables) {
    let book = made::book(&made::borrowed(&made.text));
    let ask = made::ask(&book);
    let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
    let build: Vec<&Part> = book.build().collect();
    let bare: Vec<String> = Bench::lay(&build, &jurisdiction)
        .required_empty()
        .iter()
        .map(|p| (*p).to_owned())
        .collect();
    let (_, parts) = made.text.iter_mut().find(|(t, _)| *t == "parts").unwrap();
    for place in bare {
        let _ = writeln!(parts, "old {place},{place},build,in-hand,,,,1,,100,,,,,,");
    }
}

/// Cost and mass of every choice, by the generator's own knowledge of the rules and the engine's sums of whole books.
fn every(made: &Made, book: &Book, jurisdiction: &Jurisdiction<'_>) -> Vec<(Dec, i64)> {
    let row = |alt: &Alt| {
        let seller = |p: &&Part| p.seller.as_deref().unwrap_or_default() == alt.seller;
        book.parts
            .iter()
            .filter(|p| p.name == alt.part)
            .find(seller)
            .unwrap()
    };
    let rows: Vec<&Part> = made.alts.iter().map(row).collect();
    let known: BTreeSet<*const Part> = rows.iter().map(|r| std::ptr::from_ref(*r)).collect();
    let rest: Vec<&Part> = book
        .build()
        .filter(|r| !known.contains(&std::ptr::from_ref(*r)))
        .collect();
    assert!(
        rest.iter()
            .all(|r| r.standing == Standing::InHand && r.role == Role::Build),
        "the rest is borrowed"
    );
    let mut found = Vec::new();
    let mut open: Vec<(u64, Vec<usize>)> = vec![(0, Vec::new())];
    while let Some((filled, chosen)) = open.pop() {
        let Some(seat) = (0..made.seats).find(|s| filled & 1 << s == 0) else {
            if let Some(priced) = priced(made, &rows, &rest, &chosen, book, jurisdiction) {
                found.push(priced);
            }
            continue;
        };
        for (at, alt) in made.alts.iter().enumerate() {
            if alt.seats & 1 << seat != 0 && alt.seats & filled == 0 {
                open.push((
                    filled | alt.seats,
                    chosen.iter().copied().chain([at]).collect(),
                ));
            }
        }
        if made.idle & 1 << seat != 0 {
            open.push((filled | 1 << seat, chosen));
        }
    }
    found
}

fn priced(
    made: &Made,
    rows: &[&Part],
    rest: &[&Part],
    chosen: &[usize],
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
) -> Option<(Dec, i64)> {
    let alts = || chosen.iter().map(|at| &made.alts[*at]);
    let brings = |name: &str| alts().any(|a| a.part == name);
    let joined = alts().fold(u64::MAX, |open, a| open & a.joint);
    let sellers: BTreeSet<&str> = alts()
        .map(|a| a.seller.as_str())
        .filter(|s| !s.is_empty())
        .collect();
    let few = made.max_sellers.is_none_or(|most| sellers.len() <= most);
    if joined == 0 || !few || !alts().all(|a| a.needs.is_none_or(brings)) {
        return None;
    }
    let on: Vec<&Part> = rest
        .iter()
        .copied()
        .chain(chosen.iter().map(|at| rows[*at]))
        .collect();
    // what is paid for stays paid for
    let paid = rows
        .iter()
        .copied()
        .filter(|r| r.standing == Standing::InHand && !on.iter().any(|o| std::ptr::eq(*o, *r)));
    let mut all = on.clone();
    all.extend(paid);
    let mass = Dec::total(on.iter().filter_map(|r| r.total_mass()).map(|m| m.0)).unwrap();
    Some((
        landed_rows(book, &all, jurisdiction).unwrap(),
        i64::try_from(mass.in_units(1).unwrap()).unwrap(),
    ))
}

/// None dominated, by ascending mass.
fn frontier(all: &[(Dec, i64)]) -> Vec<(Dec, i64)> {
    let mut by_mass: BTreeMap<i64, Dec> = BTreeMap::new();
    for (cost, mass) in all {
        by_mass
            .entry(*mass)
            .and_modify(|c| *c = (*c).min(*cost))
            .or_insert(*cost);
    }
    let mut front: Vec<(Dec, i64)> = Vec::new();
    for (mass, cost) in by_mass {
        if front.last().is_none_or(|last| cost < last.0) {
            front.push((cost, mass));
        }
    }
    front
}

fn found(book: &Book, tables: &Tables, ask: &Question, wishes: &Wishes) -> Option<Box<Plans>> {
    let jurisdiction = Jurisdiction::open(tables, ask).unwrap();
    match plan(book, &jurisdiction, wishes, &Patient) {
        Ok(Planned::Found(plans)) => Some(plans),
        Ok(Planned::Nothing(_)) => None,
        Err(problems) => panic!("{}", crate::text::draw(&problems, false)),
    }
}

fn points(plans: Option<&Plans>) -> Vec<(Dec, i64)> {
    let tenths = |mass: Grams| i64::try_from(mass.0.in_units(1).unwrap()).unwrap();
    plans
        .map(|p| p.plans.iter().map(|p| (p.landed, tenths(p.mass))).collect())
        .unwrap_or_default()
}

/// The frontier, and the cheapest and the lightest at limits on it and beside it; gives how many choices there were.
fn compare(number: u64) -> usize {
    let mut made = made(number);
    let tables = tables(&made);
    completed(&mut made, &tables);
    let book = made::book(&made::borrowed(&made.text));
    let mut ask = made::ask(&book);
    let all = every(&made, &book, &Jurisdiction::open(&tables, &ask).unwrap());
    let front = frontier(&all);
    let wishes = Wishes {
        max_sellers: made.max_sellers,
        frontier: true,
        ..Wishes::default()
    };
    let whole = found(&book, &tables, &ask, &wishes);
    assert_eq!(
        points(whole.as_deref()),
        front,
        "book {number}: the frontier"
    );
    assert!(
        whole.is_none_or(|p| p.stopped == Stopped::Proven),
        "book {number}"
    );
    if front.is_empty() {
        return all.len();
    }
    let one = Wishes {
        max_sellers: made.max_sellers,
        ..Wishes::default()
    };
    let middle = front[front.len() / 2];
    for mass in [middle.1, middle.1 + 3, front[0].1 - 1] {
        ask.max_mass = Some(Grams(Dec::new(mass, 1)));
        let best = all.iter().filter(|p| p.1 <= mass).min().copied();
        assert_eq!(
            points(found(&book, &tables, &ask, &one).as_deref())
                .first()
                .copied(),
            best,
            "book {number}: at most {mass}"
        );
    }
    ask.max_mass = None;
    for budget in [middle.0, front[front.len() - 1].0] {
        ask.budget = Some(budget);
        let best = all
            .iter()
            .filter(|p| p.0 <= budget)
            .min_by_key(|p| (p.1, p.0))
            .copied();
        assert_eq!(
            points(found(&book, &tables, &ask, &one).as_deref())
                .first()
                .copied(),
            best,
            "book {number}: at most {budget}"
        );
    }
    all.len()
}

/// Every rule beside every other: 576 pairs, each four times in a whole run.
#[test]
fn plans_of_books_equal_brute_force() {
    let (count, step) = (share(BOOKS), if share(BOOKS) == BOOKS.0 { 1 } else { 113 });
    let choices: usize = (0..count)
        .map(|at| compare((at * step + made::seed() % BOOKS.0) % BOOKS.0))
        .sum();
    assert!(
        choices as u64 > count * 20,
        "a book has some choice: {choices} in {count}"
    );
}

/// The sum compiled for the search is the engine's, to the last digit that the search keeps; no bound is above a cost.
#[test]
fn the_searched_sum_is_the_engine_s() {
    let more = if share(BASKETS) == BASKETS.0 {
        UNION.as_slice()
    } else {
        &[]
    };
    for to in made::one_in(2, TO.iter().chain(more)) {
        let mut seen = 0;
        for number in 0..share(BASKETS) / OF_ONE_BOOK {
            // books of all rules, for this destination
            let mut made = made(number * 23 + 5);
            let (_, settings) = made
                .text
                .iter_mut()
                .find(|(t, _)| *t == "settings")
                .unwrap();
            *settings = settings
                .lines()
                .map(|l| {
                    if l.starts_with("destination") {
                        format!("destination,{to}\n")
                    } else {
                        format!("{l}\n")
                    }
                })
                .collect();
            let tables = tables(&made);
            completed(&mut made, &tables);
            let book = made::book(&made::borrowed(&made.text));
            let ask = made::ask(&book);
            let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
            let sums = Sums::open(&book, &jurisdiction).unwrap();
            let mut dice = Dice(number + 7);
            for _ in 0..OF_ONE_BOOK {
                let basket = basket(&sums, &mut dice);
                let searched = sums.searched(&basket).unwrap();
                assert_eq!(
                    searched,
                    sums.reckoned(&basket).unwrap(),
                    "{to}, book {number}: {basket:?}"
                );
                assert_eq!(
                    sums.underbid(&basket),
                    None,
                    "{to}, book {number}: {basket:?}"
                );
                seen += 1;
            }
        }
        assert_eq!(seen, share(BASKETS), "{to}");
    }
}

/// Offers drawn until each place is filled once, or left out.
fn basket(sums: &Sums<'_>, dice: &mut Dice) -> Vec<u32> {
    let model = sums.model();
    let mut filled = 0;
    let mut basket = Vec::new();
    for place in 0..model.places {
        let here: Vec<u32> = (0..model.offers.len() as u32)
            .filter(|o| {
                model.offers[*o as usize].places & 1 << place != 0
                    && model.offers[*o as usize].places & filled == 0
            })
            .collect();
        if filled & 1 << place == 0 && !here.is_empty() && dice.below(12) > 0 {
            let drawn = here[dice.below(here.len() as u64) as usize];
            filled |= model.offers[drawn as usize].places;
            basket.push(drawn);
        }
    }
    basket
}
