//! How far the total can move: constants, widening, two runs alike, the engine behind every figure, break-even.
//!
//! A run of `cargo test` looks at a share of the generated books; `LANDWAITER_WHOLE=1` makes it all of them, and
//! `LANDWAITER_SEED` says from which seed.

use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use crate::book::Book;
use crate::landed::{Change, Jurisdiction, WhatIf, cost_at, landed_rows, replacement_of};
use crate::leeway::{Against, Leeway, Lever, break_even, leeway, mass_range};
use crate::made::{self, FEW_PARTS as PARTS, FEW_SETTINGS as SETTINGS, ask, built_in as tables};
use crate::small::{book, dec, home};
use crate::tables::Tables;
use crate::units::{Currency, Dec};

fn problems_of(table: &str, text: &str) -> Vec<String> {
    let (_, problems) = made::read(&[("parts", PARTS), ("settings", SETTINGS), (table, text)]);
    made::said(&problems)
}

fn with(unknowns: Option<&str>) -> Book {
    let mut files = vec![("parts", PARTS), ("settings", SETTINGS)];
    files.extend(unknowns.map(|text| ("unknowns", text)));
    files.push((
        "bikes",
        "bike,price,currency,mass_g\nFell Road,640.00,GBP,9000\nDale One,410.00,GBP,10200\n",
    ));
    book(&files)
}

fn run(book: &Book, tables: &Tables) -> Leeway {
    let ask = ask(book);
    let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
    leeway(book, &jurisdiction, 3, dec("90")).unwrap()
}

fn wide(found: &Leeway) -> Dec {
    let at = |share: u32| found.quantiles.iter().find(|(s, _)| *s == share).unwrap().1;
    at(95).minus(at(5)).unwrap()
}

#[test]
fn with_nothing_unknown_every_figure_is_the_cost() {
    let tables = tables();
    let degenerate = "what,low,likely,high\nprice,0 %,0 %,0 %\nfreight,0 %,0 %,0 %\nexchange,0 %,0 %,0 %\nhandling,0,0,0\n";
    for unknowns in ["what,low,likely,high\n", degenerate] {
        let book = with(Some(unknowns));
        let ask = ask(&book);
        let cost = cost_at(&book, &Jurisdiction::open(tables, &ask).unwrap())
            .unwrap()
            .totals
            .landed()
            .unwrap();
        let found = run(&book, tables);
        let mut figures = vec![
            found.cost,
            found.likely,
            found.all_low,
            found.all_high,
            found.assured.1,
        ];
        figures.extend(found.quantiles.iter().map(|(_, amount)| *amount));
        figures.extend(found.effects.iter().flat_map(|e| [e.at_low, e.at_high]));
        assert!(
            figures.iter().all(|figure| *figure == cost.amount()),
            "{figures:?} against {cost}"
        );
        assert_eq!(
            found.within_budget.unwrap().to_string(),
            if cost <= home("700") { "100" } else { "0" }
        );
    }
}

#[test]
fn the_quick_sum_is_the_engines_own() {
    let tables = tables();
    let book = with(None);
    let ask = ask(&book);
    let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
    let landed = cost_at(&book, &jurisdiction).unwrap();
    let rows: Vec<_> = book.build().collect();
    assert_eq!(
        landed_rows(&book, &rows, &jurisdiction).unwrap(),
        landed.totals.landed().unwrap().amount()
    );
    assert_eq!(
        replacement_of(&book, &rows, &jurisdiction).unwrap(),
        landed.totals.replacement.amount()
    );
}

#[test]
fn each_unknown_alone_is_the_engine_run_again() {
    let tables = tables();
    let book = with(Some(
        "what,low,likely,high\nexchange:USD,-3 %,0 %,4 %\nfreight:Cobb Parts,14.00,14.00,30.00\nprice:Bar,100.00,120.00,150.00\n",
    ));
    let ask = ask(&book);
    let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
    let rows: Vec<_> = book.build().collect();
    let found = run(&book, tables);
    let effect = |id: &str| {
        found
            .effects
            .iter()
            .find(|e| format!("{}:{}", e.driver.about.name(), e.driver.shown()) == id)
            .unwrap()
    };
    let usd = Currency::parse("USD").unwrap();
    let moved = WhatIf {
        exchange: [(usd, dec("1.04"))].into(),
        ..WhatIf::default()
    };
    assert_eq!(
        effect("exchange:USD").at_high,
        landed_rows(&book, &rows, &jurisdiction.supposing(moved)).unwrap()
    );
    let dearer = WhatIf {
        freight: [("Cobb Parts".to_owned(), Change::To(dec("30")))].into(),
        ..WhatIf::default()
    };
    assert_eq!(
        effect("freight:Cobb Parts").at_high,
        landed_rows(&book, &rows, &jurisdiction.supposing(dearer)).unwrap()
    );
    let parts = PARTS.replace(
        "Bar,handlebar,build,Alder Cycle,120.00",
        "Bar,handlebar,build,Alder Cycle,150.00",
    );
    let dear = self::book(&[("parts", &parts), ("settings", SETTINGS)]);
    let typed = cost_at(&dear, &Jurisdiction::open(tables, &ask).unwrap())
        .unwrap()
        .totals
        .landed()
        .unwrap();
    assert_eq!(
        effect("price:Bar").at_high,
        typed.amount(),
        "a supposed price is the same as one typed in"
    );
}

/// How far the unknowns of a generated book reach, in tenths of the hundred; the last in pounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Reach {
    price: (u32, u32),
    freight: (u32, u32),
    exchange: (u32, u32),
    handling: u32,
}

impl Reach {
    fn rows(&self, shape: &str) -> String {
        let tenths = |of: u32| format!("{}.{} %", of / 10, of % 10);
        let row = |what: &str, (low, high): (u32, u32)| {
            format!("{what},-{},0 %,{},{shape}\n", tenths(low), tenths(high))
        };
        let (price, freight, exchange) = (
            row("price", self.price),
            row("freight", self.freight),
            row("exchange", self.exchange),
        );
        format!(
            "what,low,likely,high,shape\n{price}{freight}{exchange}handling,0,0,{},{shape}\n",
            self.handling
        )
    }

    /// One of them reaches further, on either side or on both.
    fn wider(self, which: usize, low: u32, high: u32) -> Reach {
        let more = |(a, b): (u32, u32)| (a + low, b + high);
        match which {
            0 => Reach {
                price: more(self.price),
                ..self
            },
            1 => Reach {
                freight: more(self.freight),
                ..self
            },
            2 => Reach {
                exchange: more(self.exchange),
                ..self
            },
            _ => Reach {
                handling: self.handling + high / 4,
                ..self
            },
        }
    }
}

fn reach() -> impl Strategy<Value = Reach> {
    let both = |most: u32| (0..most, 0..most);
    let reach = |(price, freight, exchange, handling)| Reach {
        price,
        freight,
        exchange,
        handling,
    };
    (both(120), both(250), both(60), 0..25_u32).prop_map(reach)
}

/// A part from each of some sellers, by its price in pounds or about that many.
fn parcels(prices: &[u32; 4], unknowns: &str) -> Book {
    let sellers = [
        ("Alder Cycle", "USD", "TW", "18.00", 4, 3),
        ("Birk Rad", "EUR", "DE", "9.00", 8, 7),
        ("Cobb Parts", "USD", "US", "14.00", 4, 3),
        ("Dael", "JPY", "JP", "2600", 200, 1),
    ];
    let mut parts = "part,place,seller,price,currency,dispatch,freight,mass_g,channel\n".to_owned();
    for ((at, price), (seller, currency, from, freight, times, over)) in prices
        .iter()
        .enumerate()
        .filter(|(_, price)| **price > 0)
        .zip(sellers)
    {
        let place = ["handlebar", "stem", "saddle", "pedals"][at];
        let price = price * times / over;
        parts.push_str(&format!(
            "Thing {at},{place},{seller},{price},{currency},{from},{freight},{},courier\n",
            100 + at
        ));
    }
    book(&[
        ("parts", &parts),
        ("settings", SETTINGS),
        ("unknowns", unknowns),
    ])
}

fn reckoned(book: &Book) -> Leeway {
    run(book, tables())
}

/// What a quantile may be off by: the steps of the grids it is read from.
fn steps(of: &[&Leeway]) -> Dec {
    Dec::total(
        of.iter()
            .filter_map(|l| l.checked)
            .map(|checked| checked.step),
    )
    .unwrap()
    .plus(dec("0.01"))
    .unwrap()
}

/// The number of generated books to try: the whole number, or a share of it.
fn books(whole: u32, share: u32) -> ProptestConfig {
    let cases = u32::try_from(made::share(whole.into(), share.into())).unwrap();
    let seed = made::number("LANDWAITER_SEED", 1729);
    ProptestConfig {
        cases,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(seed),
        ..ProptestConfig::default()
    }
}

proptest! {
    #![proptest_config(books(40, 2))]

    /// Far from every limit the total answers evenly, and a wider unknown makes nine outcomes in ten lie no closer together.
    #[test]
    fn widening_a_spread_never_narrows_the_total(
        all in (0..3_u32, prop::array::uniform4(300..900_u32), reach()),
        (which, low, high, pert) in (0..4_usize, 0..80_u32, 0..80_u32, any::<bool>()),
    ) {
        let (left_out, mut prices, narrow) = all;
        prices[usize::try_from(left_out).unwrap()] = 0;
        let shape = if pert { "pert" } else { "triangular" };
        let at = |reach: Reach| reckoned(&parcels(&prices, &reach.rows(shape)));
        let (before, after) = (at(narrow), at(narrow.wider(which, low, high)));
        prop_assert!(wide(&after).plus(steps(&[&before, &after])).unwrap() >= wide(&before), "{} after {}", wide(&after), wide(&before));
        prop_assert!(after.all_low <= before.all_low && after.all_high >= before.all_high);
    }

    /// A limit between may take chance from one side of it to the other when an unknown reaches further on one side alone, so that
    /// nine in ten can come to lie closer; the least and the most that may come never do.
    #[test]
    fn near_a_limit_the_ends_never_come_closer(
        all in (prop::array::uniform4(100..170_u32), reach(), 0..3_usize),
        (which, low, high) in (0..4_usize, 0..80_u32, 0..80_u32),
    ) {
        // Each parcel is near the limit on its own: two of the four show what there is to see.
        let (mut prices, narrow, others) = all;
        prices[others] = 0;
        prices[others + 1] = 0;
        let at = |reach: Reach| reckoned(&parcels(&prices, &reach.rows("triangular")));
        let (before, after) = (at(narrow), at(narrow.wider(which, low, high)));
        prop_assert!(after.all_low <= before.all_low && after.all_high >= before.all_high);
        prop_assert!(after.all_low <= after.likely && after.likely <= after.all_high);
    }

    /// Whatever the book: where nothing is unknown nothing moves.
    #[test]
    fn with_nothing_unknown_every_generated_book_lands_at_its_cost(prices in prop::array::uniform4(0..900_u32), degenerate in any::<bool>()) {
        prop_assume!(prices.iter().any(|price| *price > 0));
        let still = Reach { price: (0, 0), freight: (0, 0), exchange: (0, 0), handling: 0 };
        let unknowns = if degenerate { still.rows("") + "mass,0 %,0 %,0 %,\n" } else { "what,low,likely,high\n".to_owned() };
        let book = parcels(&prices, &unknowns);
        let tables = tables();
        let (found, ask) = (run(&book, tables), ask(&book));
        let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
        let cost = cost_at(&book, &jurisdiction).unwrap().totals.landed().unwrap();
        let mut figures = vec![found.cost, found.likely, found.all_low, found.all_high, found.assured.1];
        figures.extend(found.quantiles.iter().map(|(_, amount)| *amount));
        figures.extend(found.effects.iter().flat_map(|e| [e.at_low, e.at_high]));
        assert!(figures.iter().all(|figure| *figure == cost.amount()), "{figures:?} against {cost}");
        let mass = mass_range(&book, &jurisdiction).unwrap().unwrap();
        assert!([mass.low, mass.middle, mass.high].iter().all(|g| *g == mass.stated), "{mass:?}");
    }
}

#[test]
fn a_bike_from_abroad_is_held_against_the_build_as_it_lands() {
    let tables = tables();
    let bikes = "bike,price,currency,mass_g,basis,seller\nImported,600.00,USD,9000,racing,Alder Cycle\nAt home,640.00,GBP,9000,racing,Home Shop\nUnpriced,,GBP,9000,racing,\n";
    let book = book(&[("parts", PARTS), ("settings", SETTINGS), ("bikes", bikes)]);
    let ask = ask(&book);
    let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
    let rows: Vec<_> = book.build().collect();
    let compared = crate::compare::compare(&book, tables, &ask).unwrap();
    let found = break_even(&book, &jurisdiction, false).unwrap();
    let edge = |name: &str| {
        found
            .edges
            .iter()
            .find(|e| e.against == Against::Bike(name.to_owned()))
            .unwrap()
    };
    for name in ["Imported", "At home"] {
        let price = compared
            .bikes
            .iter()
            .find(|a| a.reference.name == name)
            .unwrap()
            .reference
            .price;
        assert_eq!(
            edge(name).margin,
            price
                .minus(replacement_of(&book, &rows, &jurisdiction).unwrap())
                .unwrap(),
            "{name}"
        );
    }
    assert_eq!(
        found.not_held,
        [("Unpriced".to_owned(), "its price is unknown".to_owned())]
    );
    // A dearer dollar makes the imported bike dearer too: the bike at home is overtaken, the other is not.
    let usd = Currency::parse("USD").unwrap();
    let at = |name: &str| {
        edge(name)
            .levers
            .iter()
            .find(|(lever, ..)| *lever == Lever::Exchange(usd))
            .unwrap()
            .clone()
    };
    let (_, now, even) = at("At home");
    assert!(edge("At home").margin.is_positive() && edge("Imported").margin.is_positive());
    assert!(even.unwrap() > now);
    let order = crate::value::bike::as_order(&book.bikes[0], &book, &jurisdiction).unwrap();
    let parts: Vec<_> = order.parts.iter().collect();
    let dearer = |factor: Dec| {
        let there = jurisdiction.supposing(WhatIf {
            exchange: [(usd, factor)].into(),
            ..WhatIf::default()
        });
        replacement_of(&book, &rows, &there)
            .unwrap()
            .minus(landed_rows(&order, &parts, &there).unwrap())
            .unwrap()
            .is_positive()
    };
    let (_, now, imported) = at("Imported");
    match imported.map(|rate| rate.over(now).unwrap()) {
        None => assert!(!dearer(dec("1")) && !dearer(dec("1.3")) && !dearer(dec("2"))),
        Some(factor) => assert!(
            !dearer(factor.times(dec("0.9998")).unwrap())
                && dearer(factor.times(dec("1.0002")).unwrap())
        ),
    }
}

#[test]
fn a_limit_between_is_seen_and_the_method_agrees_with_the_engine() {
    let tables = tables();
    let at = |price: &str| {
        let parts = format!(
            "part,place,seller,price,currency,dispatch,freight,channel,collects_tax\nBar,handlebar,Alder Cycle,{price},USD,TW,5.00,post,yes\n"
        );
        book(&[
            ("parts", &parts),
            ("settings", SETTINGS),
            (
                "unknowns",
                "what,low,likely,high\nprice,-10 %,0 %,10 %\nexchange,-2 %,0 %,2 %\nfreight,0 %,0 %,0 %\nhandling,0,0,0\n",
            ),
        ])
    };
    let near = run(&at("178.00"), tables);
    let far = run(&at("120.00"), tables);
    assert!(
        wide(&near) > wide(&far).times(dec("1.5")).unwrap(),
        "{} against {}",
        wide(&near),
        wide(&far)
    );
    let checked = near.checked.unwrap();
    assert!(checked.mean < dec("2.00"), "{checked:?}");
}

#[test]
fn a_charge_that_may_not_be_asked_for_is_two_totals() {
    let tables = tables();
    // a parcel above the limit of 135 pounds, so that something is asked for at the door
    let parts = PARTS.replace("120.00", "160.00");
    let of = |unknowns: &str| {
        book(&[
            ("parts", parts.as_str()),
            ("settings", SETTINGS),
            ("unknowns", unknowns),
        ])
    };
    let plain = of("what,low,high\n");
    let landed = cost_at(&plain, &Jurisdiction::open(tables, &ask(&plain)).unwrap()).unwrap();
    let bill = landed
        .bills
        .iter()
        .find(|b| b.amounts.at_door().unwrap().is_positive())
        .unwrap();
    let book = of(&format!("what,chance\ncharges:{},60 %\n", bill.id));
    let found = run(&book, tables);
    let [asked] = found.asked.as_slice() else {
        panic!("{:?}", found.asked)
    };
    assert_eq!(asked.asked, landed.totals.landed().unwrap().amount());
    assert_eq!(
        asked.asked.minus(asked.not_asked).unwrap(),
        bill.amounts.at_door().unwrap().amount()
    );
}

#[test]
fn break_even_is_where_the_engine_says_so() {
    let tables = tables();
    let book = with(None);
    let ask = ask(&book);
    let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
    let rows: Vec<_> = book.build().collect();
    let edges = break_even(&book, &jurisdiction, false).unwrap().edges;
    let bike = |name: &str| {
        edges
            .iter()
            .find(|e| e.against == Against::Bike(name.to_owned()))
            .unwrap()
    };
    let edge = bike("Fell Road");
    assert_eq!(
        edge.margin,
        dec("640.00")
            .minus(replacement_of(&book, &rows, &jurisdiction).unwrap())
            .unwrap()
    );
    let mut seen = 0;
    for edge in [edge, bike("Dale One")] {
        for (lever, now, even) in &edge.levers {
            let (Lever::Exchange(currency), Some(even)) = (lever, even) else {
                continue;
            };
            let price = if edge.against == Against::Bike("Fell Road".to_owned()) {
                dec("640")
            } else {
                dec("410")
            };
            let dearer = |nudge: &str| {
                let factor = even.over(*now).unwrap().times(dec(nudge)).unwrap();
                let there = jurisdiction.supposing(WhatIf {
                    exchange: [(*currency, factor)].into(),
                    ..WhatIf::default()
                });
                replacement_of(&book, &rows, &there)
                    .unwrap()
                    .minus(price)
                    .unwrap()
                    .is_positive()
            };
            assert!(!dearer("0.9998") && dearer("1.0002"), "{lever:?} {even}");
            seen += 1;
        }
    }
    assert!(seen >= 2, "{seen}");
    let offer = edges
        .iter()
        .find(|e| matches!(e.against, Against::Offer(..)))
        .unwrap();
    assert!(
        offer
            .levers
            .iter()
            .any(|(lever, ..)| matches!(lever, Lever::Charges))
    );
}

#[test]
fn history_is_near_what_longer_histories_say() {
    let tables = tables();
    let book = with(None);
    let found = run(&book, tables);
    let usd = found
        .effects
        .iter()
        .find(|e| e.driver.id() == "exchange:USD")
        .unwrap();
    let (low, high) = (usd.driver.low, usd.driver.high);
    assert!(
        low < dec("-0.7") && low > dec("-2.1"),
        "five years of the ECB's rates: 1 in 20 below -1.26 %, here {low}"
    );
    assert!(
        high > dec("0.7") && high < dec("2.1"),
        "five years of the ECB's rates: 1 in 20 above 1.39 %, here {high}"
    );
}

#[test]
fn mass_has_a_range_too() {
    let tables = tables();
    let book = with(None);
    let ask = ask(&book);
    let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
    let mass = mass_range(&book, &jurisdiction).unwrap().unwrap();
    assert_eq!(mass.stated.to_string(), "1012");
    assert!(mass.low < mass.middle && mass.middle < mass.high && mass.middle > mass.stated);
}

#[test]
fn bad_rows_are_refused_with_their_place() {
    for (row, word) in [
        ("exchange:ZZZ,-1 %,0 %,1 %", "currency"),
        ("freight:Nobody,1,2,3", "seller"),
        ("price:Bar,3,2,1", "from `low` to `high`"),
        ("price:Bar,-5 %,0,5", "at all three"),
        ("weather,1,2,3", "expected exchange"),
        ("price,10,12,14", "cannot stand for several"),
        ("remedy:Birk Rad,1 %,2 %,3 %", "chance"),
        ("price:Bar,,,", "expected low, likely and high"),
    ] {
        let found = problems_of("unknowns", &format!("what,low,likely,high\n{row}\n"));
        made::one_says(&found, "unknowns.csv:2", word);
    }
    assert!(
        problems_of("unknowns", "what,chance\nremedy:Birk Rad,140 %\n")
            .iter()
            .any(|p| p.contains("0 to 100"))
    );
}
