//! What holds for every ranking: what is beaten stands below, what may not be real stands last, and neither the order of rows
//! nor money or mass in another unit changes anything.

use landwaiter::rank::{Ranking, rank};
use landwaiter::report::{Show, rank_json};
use landwaiter::tables::TaxName;
use landwaiter::units::{Currency, Dec};
use landwaiter::value::Quadrant;
use proptest::prelude::*;

use super::kit;
use super::small::{SELLERS, SPREADS, ask, book, dec, tables, tables_with};

const HEADER: &str =
    "part,place,role,standing,seller,price,currency,paid,mass_g,mass_kind,needs,resale\n";
const BUILD: [&str; 4] = [
    "Plain frame,frame,build,to-order,Northmoor,300.00,,,1000,claimed,,",
    "Plain saddle,saddle,build,to-order,Southmoor,40.00,,,300,claimed,,",
    "Old bar,handlebar,build,in-hand,,,,0,400,weighed,,60.00",
    "Old pedals,pedals,build,in-hand,,,,0,350,weighed,,20.00",
];

#[derive(Debug, Clone)]
struct Offered {
    place: usize,
    seller: usize,
    price: u32,
    mass: u32,
    kind: usize,
}

fn offered() -> impl Strategy<Value = Vec<Offered>> {
    let one = (0..3_usize, 0..3_usize, 1..300_u32, 1..45_u32, 0..3_usize).prop_map(
        |(place, seller, price, mass, kind)| Offered {
            place,
            seller,
            price,
            mass: mass * 10,
            kind,
        },
    );
    prop::collection::vec(one, 1..9)
}

fn rows(all: &[Offered], price: u32, mass: u32, at_home: bool) -> Vec<String> {
    let row = |(at, one): (usize, &Offered)| {
        let seller = if at_home {
            ""
        } else {
            ["Northmoor", "Southmoor", ""][one.seller]
        };
        let currency = if seller.is_empty() { "GBP" } else { "" };
        let place = ["saddle", "handlebar", "pedals"][one.place];
        let kind = ["weighed", "claimed", "guess"][one.kind];
        format!(
            "Option {at},{place},option,,{seller},{}.00,{currency},,{},{kind},,",
            one.price * price,
            one.mass * mass
        )
    };
    all.iter().enumerate().map(row).collect()
}

fn ranking_of(rows: &[String], settings: &[(&str, &str)]) -> Ranking {
    let parts = format!("{HEADER}{}\n", rows.join("\n"));
    rank(
        &book(&[("parts", &parts), ("sellers", SELLERS)]),
        &tables_with(&[SPREADS]),
        &ask(settings),
    )
    .unwrap()
}

fn whole(all: &[Offered]) -> Vec<String> {
    BUILD
        .iter()
        .map(|row| (*row).to_owned())
        .chain(rows(all, 1, 1, false))
        .collect()
}

fn names(ranking: &Ranking) -> Vec<&str> {
    ranking
        .options
        .iter()
        .map(|option| option.part.as_str())
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: u32::try_from(kit::share(48, 12)).unwrap(), ..ProptestConfig::default() })]

    #[test]
    fn what_is_beaten_stands_below_and_what_is_doubtful_last(all in offered(), worth in prop::option::of(0..2000_u32)) {
        let worth = worth.map(|worth| worth.to_string());
        let settings: Vec<(&str, &str)> = worth.iter().map(|worth| ("worth_per_kg", worth.as_str())).collect();
        let found = ranking_of(&whole(&all), &settings);
        prop_assert_eq!(found.options.len(), all.len());
        let place = |name: &str| all[name.trim_start_matches("Option ").parse::<usize>().unwrap()].place;
        for (at, below) in found.options.iter().enumerate() {
            for above in found.options[..at].iter().filter(|above| place(&above.part) == place(&below.part)) {
                let (one, other) = (below.difference, above.difference);
                let beats = one.cost <= other.cost && one.saved >= other.saved && one != other;
                prop_assert!(!beats, "{} stands above {}, which beats it", above.part, below.part);
            }
        }
        prop_assert!(found.options.is_sorted_by_key(|option| option.last));
        for option in &found.options {
            let smaller = option.expected.is_some_and(|(expected, deviation)| expected < deviation);
            prop_assert_eq!(option.doubtful, smaller && option.difference.quadrant() == Quadrant::TradeOff);
            prop_assert!(option.last || !option.doubtful);
        }
        for rung in &found.ladder.rungs {
            prop_assert!(!rung.option.doubtful && !rung.option.difference.saved.0.is_negative());
        }
    }

    #[test]
    fn neither_the_order_of_rows_nor_the_money_shown_changes_the_order(all in offered(), turn in 0..12_usize) {
        let rows = whole(&all);
        let first = ranking_of(&rows, &[]);
        let mut turned = rows.clone();
        turned.rotate_left(turn % rows.len());
        if turn % 2 == 0 {
            turned.reverse();
        }
        let second = ranking_of(&turned, &[]);
        prop_assert_eq!(names(&first), names(&second));
        let steps = |ranking: &Ranking| ranking.ladder.rungs.iter().map(|r| (r.option.title(), r.total.fixed(2))).collect::<Vec<_>>();
        prop_assert_eq!(steps(&first), steps(&second));
        let ask = ask(&[]);
        let rate = landwaiter::units::Rate::new(dec("187.5"), Dec::new(1, 0)).unwrap();
        let yen = Show { currency: Currency::parse("JPY").unwrap(), rate, tax: TaxName::Vat };
        let json = rank_json(&first, &ask, &yen, &serde_json::Value::Null).unwrap();
        let shown: Vec<&str> = json["options"].as_array().unwrap().iter().map(|option| option["part"].as_str().unwrap()).collect();
        prop_assert_eq!(shown, names(&first));
    }

    #[test]
    fn scaled_prices_scale_every_ratio_and_scaled_masses_turn_them(all in offered(), by in 2..9_u32) {
        // Everything is bought at home, where no freight and no limit stands still; masses are taken as they are.
        let ranked = |price: u32, mass: u32| {
            let base = |at: usize| {
                let place = ["saddle", "handlebar", "pedals"][at];
                format!("Old {place},{place},build,in-hand,,,,0,{},,,{}.00", 300 * mass, 20 * price)
            };
            let rows: Vec<String> = (0..3).map(base).chain(rows(&all, price, mass, true)).collect();
            let parts = format!("{HEADER}{}\n", rows.join("\n"));
            rank(&book(&[("parts", &parts)]), &tables(), &ask(&[])).unwrap()
        };
        let (one, dear, heavy) = (ranked(1, 1), ranked(by, 1), ranked(1, by));
        prop_assert_eq!(names(&one), names(&dear));
        prop_assert_eq!(names(&one), names(&heavy));
        let by = Dec::from(by);
        for ((one, dear), heavy) in one.options.iter().zip(&dear.options).zip(&heavy.options) {
            let ratio = |option: &landwaiter::rank::Ranked| option.difference.per_gram().unwrap();
            let scaled = ratio(one).map(|ratio| ratio.times(by).unwrap().fixed(12));
            prop_assert_eq!(scaled, ratio(dear).map(|ratio| ratio.times(Dec::new(1, 0)).unwrap().fixed(12)));
            let turned = ratio(heavy).map(|ratio| ratio.times(by).unwrap().fixed(12));
            prop_assert_eq!(ratio(one).map(|ratio| ratio.times(Dec::new(1, 0)).unwrap().fixed(12)), turned);
        }
    }
}

#[test]
fn a_saving_smaller_than_its_doubt_is_ranked_last_with_what_it_beats() {
    // 300 g on a scale, to 1.5 g; 296 g claimed come out at 302.9 g, with the triangular deviation of 2.2485 %, 6.66 g: 2.9 g are
    // expected to be added, and the chance is that of -0.43 deviations. 3 g between two scales are there, 0.9 g either way.
    let rows = [
        "Near saddle,saddle,option,,,41.00,GBP,,296,claimed,,",
        "Beaten saddle,saddle,option,,,60.00,GBP,,297,weighed,,",
        "Worse pedals,pedals,option,,,90.00,GBP,,400,weighed,,",
        "Light pedals,pedals,option,,,90.00,GBP,,250,weighed,,",
    ];
    let all: Vec<String> = BUILD
        .iter()
        .chain(&rows)
        .map(|row| row.replace("Southmoor,40.00,,,300,claimed", ",10.00,GBP,,300,weighed"))
        .collect();
    let found = ranking_of(&all, &[]);
    assert_eq!(
        names(&found),
        [
            "Light pedals",
            "Worse pedals",
            "Near saddle",
            "Beaten saddle"
        ]
    );
    let (near, beaten) = (&found.options[2], &found.options[3]);
    let told = |option: &landwaiter::rank::Ranked| {
        option
            .expected
            .map(|(expected, deviation)| (expected.to_string(), deviation.to_string()))
    };
    assert_eq!(told(near), Some(("-2.9".to_owned(), "6.7".to_owned())));
    assert_eq!(told(beaten), Some(("3".to_owned(), "0.9".to_owned())));
    assert_eq!(near.chance.unwrap().fixed(0), "33");
    assert_eq!(
        (
            near.doubtful,
            beaten.doubtful,
            beaten.last,
            beaten.beaten_by.as_deref()
        ),
        (true, false, true, Some("Near saddle"))
    );
}

#[test]
fn the_published_example_of_a_doubtful_saving_comes_out() {
    // Ten grams between two claimed parts of about 200 g exist with a chance of 92 to 94 in 100.
    let rows: Vec<String> = [
        "Old saddle,saddle,build,in-hand,,,,0,205,claimed,,",
        "New saddle,saddle,option,,,10.00,GBP,,195,claimed,,",
    ]
    .iter()
    .map(|row| (*row).to_owned())
    .collect();
    let chance = ranking_of(&rows, &[]).options[0].chance.unwrap();
    assert!(chance >= dec("92") && chance <= dec("95"), "{chance}");
}

#[test]
fn what_must_be_bought_with_an_option_costs_and_weighs_what_it_does() {
    // The saddle needs a clamp of 14 g and a paste that weighs nothing on the bike: 60.00 + 12.50 + 5.00, no resale; 300 g less
    // 180 g and 14 g. The paste is no option of its own, and nothing is said of it.
    let rows: Vec<String> = [
        "Old saddle,saddle,build,in-hand,,,,0,300,weighed,,",
        "Light saddle,saddle,option,,,60.00,GBP,,180,weighed,Clamp + Paste,",
        "Clamp,shim,option,,,12.50,GBP,,14,weighed,,",
        "Paste,tool,option,,,5.00,GBP,,40,weighed,,",
    ]
    .iter()
    .map(|row| (*row).to_owned())
    .collect();
    let found = ranking_of(&rows, &[]);
    assert_eq!(
        (names(&found), &found.left_out[..]),
        (vec!["Light saddle"], &[][..])
    );
    assert_eq!(
        (
            found.options[0].together.fixed(2),
            found.options[0].difference.saved.to_string()
        ),
        ("77.50".to_owned(), "106".to_owned())
    );
    assert_eq!(
        found.options[0].title(),
        "Light saddle with Clamp and Paste"
    );
}

#[test]
fn a_rider_sees_seconds_and_nobody_else_does() {
    let mut rows = whole(&[Offered {
        place: 2,
        seller: 2,
        price: 30,
        mass: 200,
        kind: 0,
    }]);
    let rider = [("rider_kg", "72"), ("rider_watts", "250")];
    assert!(
        ranking_of(&rows, &rider).climb.is_empty(),
        "a headset and a stem are missing"
    );
    rows.extend(
        ["headset", "stem"]
            .map(|place| format!("Old {place},{place},build,in-hand,,,,0,100,weighed,,")),
    );
    assert!(ranking_of(&rows, &[]).climb.is_empty());
    let found = ranking_of(&rows, &rider);
    assert_eq!(
        found
            .climb
            .iter()
            .map(|climb| climb.grade)
            .collect::<Vec<_>>(),
        [5, 8]
    );
    assert!(
        found
            .climb
            .iter()
            .all(|climb| climb.saved.is_positive() && climb.saved < climb.per_kg)
    );
}

/// Bars bear 50 % anti-dumping by a row in dispute, and whatever is made in China does by another table.
const CHARGES: &str = "charge,kind,order,level,of,percent,flat,per,currency,round,when,rate_from,valid_from,certainty\n\
    customs_value,value,20,line,goods + freight,,,,,,,,2021-01-01,\n\
    duty_all,duty,30,line,customs_value,10,,,,,,,2021-01-01,\n\
    on_bars,remedy,31,line,customs_value,50,,,,,place = handlebar,,2021-01-01,disputed\n\
    by_origin,remedy,32,line,customs_value,,,,,,,tariff:by_origin,2021-01-01,\n\
    vat,tax,40,consignment,customs_value + duty + remedy,20,,,,,collect = at-border,,2021-01-01,\n\
    fee_carrier,fee,50,consignment,,,12.00,consignment,GBP,,duty + tax > 0,,2021-01-01,\n";
const RELIEFS: &str = "relief,order,tests,per,op,amount,currency,drops,collect,valid_from\n\
    low_value,25,goods,consignment,<=,100.00,GBP,duty remedy tax,none,2021-01-01\n";
const TARIFF: &str =
    "layer,commodity,origin,percent,valid_from\nby_origin,871495,CN,40,2021-01-01\n";

fn doubtful_law() -> landwaiter::tables::Tables {
    tables_with(&[
        ("gb/charges.csv", CHARGES),
        ("gb/reliefs.csv", RELIEFS),
        ("gb/tariff.csv", TARIFF),
        SPREADS,
    ])
}

#[test]
fn an_option_whose_duty_is_in_dispute_says_so_and_what_it_is_without() {
    // The build: 300.00 + 20.00, duty 32.00, VAT 70.40, fee 12.00: 434.40. With the bar 420.00, of which 104.00 are the bar's;
    // duty 42.00, anti-dumping 52.00, VAT 20 % of 514.00 = 102.80, fee 12.00: 628.80, so 194.40, less 60.00 for the old bar. Without
    // the row VAT is 92.40: 566.40, so 132.00, less 60.00. On its own the bar is under the limit and nothing is in dispute.
    let mut all: Vec<String> = BUILD.iter().map(|row| (*row).to_owned()).collect();
    all.push("New bar,handlebar,option,,Northmoor,100.00,,,250,claimed,,".to_owned());
    all.push("New pedals,pedals,option,,Northmoor,100.00,,,250,claimed,,".to_owned());
    let parts = format!("{HEADER}{}\n", all.join("\n"));
    let book = book(&[("parts", &parts), ("sellers", SELLERS)]);
    let (ask, tables) = (ask(&[]), doubtful_law());
    let found = rank(&book, &tables, &ask).unwrap();
    let option = |name: &str| {
        found
            .options
            .iter()
            .find(|option| option.part == name)
            .unwrap()
    };
    let bar = option("New bar");
    assert_eq!(
        (bar.alone.fixed(2), bar.together.fixed(2)),
        ("60.00".to_owned(), "134.40".to_owned())
    );
    let disputed = bar.disputed.as_ref().unwrap();
    assert_eq!(
        (
            disputed.together.fixed(2),
            landwaiter::landed::disputed_rows(&disputed.rows).join(" ")
        ),
        (
            "72.00".to_owned(),
            "`on_bars` (rates/gb/charges.csv:4)".to_owned()
        )
    );
    assert_eq!(option("New pedals").disputed, None);
    let show = Show {
        currency: Currency::GBP,
        rate: landwaiter::units::Rate::SAME,
        tax: TaxName::Vat,
    };
    let said = landwaiter::report::text(
        &landwaiter::report::rank_view(&found, &ask, &show, None).unwrap(),
        &landwaiter::report::Screen::of(100).with_more(true),
    );
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        said.contains("62.40 The anti-dumping duty is disputed. Decided otherwise, the cost is: New bar +72.00 instead of +134.40."),
        "{said}"
    );
    let json = rank_json(&found, &ask, &show, &serde_json::Value::Null).unwrap();
    let of = |name: &str| {
        json["options"]
            .as_array()
            .unwrap()
            .iter()
            .find(|o| o["part"] == name)
            .unwrap()
            .clone()
    };
    assert_eq!(of("New bar")["together_undisputed"], "72.00");
    assert!(
        of("New pedals")["together_undisputed"].is_null() && of("New pedals")["disputed"].is_null()
    );
}

#[test]
fn an_option_whose_origin_is_assumed_says_what_another_would_cost() {
    // On its own the saddle is under the limit wherever it is made; in the frame's parcel Chinese making would add 40 % of its
    // 90.00 and its 300 g of the 20.00 freight's 1300 g, 4.62, and VAT on that: 37.85 and 7.57.
    let mut all: Vec<String> = BUILD.iter().map(|row| (*row).to_owned()).collect();
    all.push("New saddle,saddle,option,,Northmoor,90.00,,,300,claimed,,".to_owned());
    let parts = format!("{HEADER}{}\n", all.join("\n"));
    let found = rank(
        &book(&[("parts", &parts), ("sellers", SELLERS)]),
        &doubtful_law(),
        &ask(&[]),
    )
    .unwrap();
    let caution = found
        .cautions
        .iter()
        .find(|caution| caution.id == "origin-assumed")
        .unwrap();
    assert!(
        caution
            .to_string()
            .starts_with("45.42: No country of origin is given, so Taiwan is assumed; made in China, the total is higher."),
        "{caution}"
    );
    assert_eq!(caution.about, ["New saddle"]);
}

#[test]
fn the_books_own_ranges_of_mass_go_before_the_usual_ones() {
    let found = |unknowns: Option<&str>| {
        let rows: [&str; 2] = [
            "Old saddle,saddle,build,in-hand,,,,0,300,weighed,,",
            "New saddle,saddle,option,,,10.00,GBP,,250,claimed,,",
        ];
        let parts = format!("{HEADER}{}\n", rows.join("\n"));
        let mut files = vec![("parts", parts.as_str()), ("sellers", SELLERS)];
        files.extend(unknowns.map(|text| ("unknowns", text)));
        let found = rank(&book(&files), &tables_with(&[SPREADS]), &ask(&[])).unwrap();
        let option = &found.options[0];
        let (expected, deviation) = option.expected.unwrap();
        (
            expected.to_string(),
            deviation.to_string(),
            option.doubtful,
            found.ladder.rungs.len(),
        )
    };
    let told = |expected: &str, deviation: &str, doubtful: bool, rungs: usize| {
        (expected.to_owned(), deviation.to_owned(), doubtful, rungs)
    };
    // 250 g claimed come out at 255.8 g, give or take 5.6 g; the scale is good to 0.6 g.
    assert_eq!(found(None), told("44.2", "5.7", false, 1));
    // 200, 250 and 420 g: 290 g, with (170² + 50² + 170 * 50) / 18 for the square.
    assert_eq!(
        found(Some("what,low,likely,high\nmass:New saddle,200,250,420\n")),
        told("10", "47.1", true, 0)
    );
    // The same as a beta-PERT estimate: 270 g, with 70 * 150 / 7.
    assert_eq!(
        found(Some(
            "what,low,likely,high,shape\nmass:New saddle,200,250,420,pert\n"
        )),
        told("30", "38.7", true, 0)
    );
    // All masses, and nothing at all unknown.
    assert_eq!(
        found(Some("what,low,likely,high\nmass,0 %,0 %,0 %\n")),
        told("50", "0", false, 1)
    );
    assert_eq!(
        found(Some("what,low,likely,high\n")),
        told("50", "0", false, 1)
    );
}
