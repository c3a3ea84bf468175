//! How far the total can move: constants, widening, two runs alike, the engine behind every figure, break-even.

use std::process::Command;

use landwaiter::book::{Book, BookFile};
use landwaiter::landed::{Ask, Change, Desk, WhatIf, cost_at, replacement_of, sum_rows};
use landwaiter::leeway::{Against, Leeway, Lever, break_even, leeway, mass_range};
use landwaiter::tables::Tables;
use landwaiter::text::Problems;
use landwaiter::units::{Currency, Date, Dec, number};

fn dec(text: &str) -> Dec {
    number::plain(text).unwrap()
}

fn tables() -> Tables {
    let mut problems = Problems::new();
    let tables = Tables::load(Vec::new(), &mut problems);
    assert!(!problems.refuse(), "{problems:?}");
    tables
}

/// Reads a book from its tables' texts.
fn book(files: &[(&str, &str)]) -> Book {
    let files: Vec<BookFile> = files
        .iter()
        .map(|(table, text)| BookFile { path: format!("{table}.csv"), table: (*table).to_owned(), bytes: text.as_bytes().to_vec() })
        .collect();
    let mut problems = Problems::new();
    let book = Book::read(&files, &mut problems);
    assert!(!problems.refuse(), "{problems:?}");
    book
}

fn problems_of(table: &str, text: &str) -> Vec<String> {
    let files: Vec<BookFile> = [("parts", PARTS), ("settings", SETTINGS), (table, text)]
        .into_iter()
        .map(|(table, text)| BookFile { path: format!("{table}.csv"), table: table.to_owned(), bytes: text.as_bytes().to_vec() })
        .collect();
    let mut problems = Problems::new();
    Book::read(&files, &mut problems);
    problems.iter().map(|p| format!("{} {}", p.place.as_ref().map(ToString::to_string).unwrap_or_default(), p.message)).collect()
}

const SETTINGS: &str = "setting,value\ndestination,GB\ndate,2026-09-23\nkind,gravel\ncard_fee,2.75 %\nbudget,700\n";
const PARTS: &str = "\
part,place,role,seller,price,currency,dispatch,freight,quantity,mass_g,channel
Bar,handlebar,build,Alder Cycle,120.00,USD,TW,18.00,1,260,post
Stem,stem,build,Alder Cycle,60.00,USD,TW,18.00,1,120,post
Saddle,saddle,build,Birk Rad,139.00,EUR,DE,9.00,1,180,courier
Pedals,pedals,build,Cobb Parts,96.00,USD,US,14.00,1,262,post
Sealant,sealant,build,Home Shop,12.00,GBP,GB,3.00,1,190,post
Saddle,,rival,Home Shop,149.00,GBP,GB,3.00,,,post
";

fn with(unknowns: Option<&str>) -> Book {
    let mut files = vec![("parts", PARTS), ("settings", SETTINGS)];
    files.extend(unknowns.map(|text| ("unknowns", text)));
    files.push(("bikes", "bike,price,currency,mass_g\nFell Road,640.00,GBP,9000\nDale One,410.00,GBP,10200\n"));
    book(&files)
}

fn ask(book: &Book) -> Ask {
    Ask::new(&book.settings, Date::new(2026, 9, 23).unwrap()).unwrap()
}

fn run(book: &Book, tables: &Tables) -> Leeway {
    let ask = ask(book);
    let desk = Desk::open(tables, &ask).unwrap();
    leeway(book, &desk, 3, dec("90")).unwrap()
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
        let cost = cost_at(&book, &Desk::open(&tables, &ask).unwrap()).unwrap().totals.landed().unwrap();
        let found = run(&book, &tables);
        let mut figures = vec![found.cost, found.likely, found.all_low, found.all_high, found.assured.1];
        figures.extend(found.quantiles.iter().map(|(_, amount)| *amount));
        figures.extend(found.effects.iter().flat_map(|e| [e.at_low, e.at_high]));
        assert!(figures.iter().all(|figure| *figure == cost), "{figures:?} against {cost}");
        assert_eq!(found.within_budget.unwrap().to_string(), if cost <= dec("700") { "100" } else { "0" });
    }
}

#[test]
fn the_quick_sum_is_the_engines_own() {
    let tables = tables();
    let book = with(None);
    let ask = ask(&book);
    let desk = Desk::open(&tables, &ask).unwrap();
    let landed = cost_at(&book, &desk).unwrap();
    let rows: Vec<_> = book.build().collect();
    assert_eq!(sum_rows(&book, &rows, &desk).unwrap(), landed.totals.landed().unwrap());
    assert_eq!(replacement_of(&book, &rows, &desk).unwrap(), landed.totals.replacement);
}

#[test]
fn each_unknown_alone_is_the_engine_run_again() {
    let tables = tables();
    let book = with(Some(
        "what,low,likely,high\nexchange:USD,-3 %,0 %,4 %\nfreight:Cobb Parts,14.00,14.00,30.00\nprice:Bar,100.00,120.00,150.00\n",
    ));
    let ask = ask(&book);
    let desk = Desk::open(&tables, &ask).unwrap();
    let rows: Vec<_> = book.build().collect();
    let found = run(&book, &tables);
    let effect = |id: &str| found.effects.iter().find(|e| format!("{}:{}", e.driver.about.name(), e.driver.shown()) == id).unwrap();
    let usd = Currency::parse("USD").unwrap();
    let moved = WhatIf { exchange: [(usd, dec("1.04"))].into(), ..WhatIf::default() };
    assert_eq!(effect("exchange:USD").at_high, sum_rows(&book, &rows, &desk.supposing(moved)).unwrap());
    let dearer = WhatIf { freight: [("Cobb Parts".to_owned(), Change::To(dec("30")))].into(), ..WhatIf::default() };
    assert_eq!(effect("freight:Cobb Parts").at_high, sum_rows(&book, &rows, &desk.supposing(dearer)).unwrap());
    let parts = PARTS.replace("Bar,handlebar,build,Alder Cycle,120.00", "Bar,handlebar,build,Alder Cycle,150.00");
    let dear = self::book(&[("parts", &parts), ("settings", SETTINGS)]);
    let typed = cost_at(&dear, &Desk::open(&tables, &ask).unwrap()).unwrap().totals.landed().unwrap();
    assert_eq!(effect("price:Bar").at_high, typed, "a supposed price is the same as one typed in");
}

#[test]
fn widening_a_spread_never_narrows_the_total() {
    let tables = tables();
    let books = |freight: u32, price: u32, exchange: u32, shape: &str| {
        with(Some(&format!(
            "what,low,likely,high,shape\nprice,-{price} %,0 %,{price} %,{shape}\nfreight,0 %,0 %,{freight} %,{shape}\nexchange,-{exchange} %,0 %,{exchange} %,{shape}\nhandling,0,0,0,\n"
        )))
    };
    for shape in ["triangular", "pert"] {
        let mut before: Option<Leeway> = None;
        for (freight, price, exchange) in
            [(0, 0, 0), (5, 0, 0), (5, 1, 0), (5, 1, 1), (5, 2, 1), (10, 2, 1), (10, 2, 3), (10, 5, 3), (20, 5, 3)]
        {
            let found = run(&books(freight, price, exchange, shape), &tables);
            if let Some(before) = before {
                assert!(wide(&found) >= wide(&before), "{freight} {price} {exchange} {shape}: {} after {}", wide(&found), wide(&before));
                let ends = |l: &Leeway| l.all_high.minus(l.all_low).unwrap();
                assert!(ends(&found) >= ends(&before));
            }
            before = Some(found);
        }
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
            ("unknowns", "what,low,likely,high\nprice,-10 %,0 %,10 %\nexchange,-2 %,0 %,2 %\nfreight,0 %,0 %,0 %\nhandling,0,0,0\n"),
        ])
    };
    let near = run(&at("178.00"), &tables);
    let far = run(&at("120.00"), &tables);
    assert!(wide(&near) > wide(&far).times(dec("1.5")).unwrap(), "{} against {}", wide(&near), wide(&far));
    let checked = near.checked.unwrap();
    assert!(checked.mean < dec("2.00"), "{checked:?}");
}

#[test]
fn a_charge_that_may_not_be_asked_for_is_two_totals() {
    let tables = tables();
    let book = with(Some("what,chance\ncharges:Alder Cycle,60 %\n"));
    let ask = ask(&book);
    let landed = cost_at(&book, &Desk::open(&tables, &ask).unwrap()).unwrap();
    let bill = landed.bills.iter().find(|b| b.id == "Alder Cycle").unwrap();
    let found = run(&book, &tables);
    let [asked] = found.asked.as_slice() else { panic!("{:?}", found.asked) };
    assert_eq!(asked.asked, landed.totals.landed().unwrap());
    assert_eq!(asked.asked.minus(asked.not_asked).unwrap(), bill.amounts.at_door().unwrap());
    assert!(bill.amounts.at_door().unwrap().is_positive());
}

#[test]
fn break_even_is_where_the_engine_says_so() {
    let tables = tables();
    let book = with(None);
    let ask = ask(&book);
    let desk = Desk::open(&tables, &ask).unwrap();
    let rows: Vec<_> = book.build().collect();
    let edges = break_even(&book, &desk).unwrap();
    let bike = |name: &str| edges.iter().find(|e| e.against == Against::Bike(name.to_owned())).unwrap();
    let edge = bike("Fell Road");
    assert_eq!(edge.margin, dec("640.00").minus(replacement_of(&book, &rows, &desk).unwrap()).unwrap());
    let mut seen = 0;
    for edge in [edge, bike("Dale One")] {
        for (lever, now, even) in &edge.levers {
            let (Lever::Exchange(currency), Some(even)) = (lever, even) else { continue };
            let price = if edge.against == Against::Bike("Fell Road".to_owned()) { dec("640") } else { dec("410") };
            let dearer = |nudge: &str| {
                let factor = even.over(*now).unwrap().times(dec(nudge)).unwrap();
                let there = desk.supposing(WhatIf { exchange: [(*currency, factor)].into(), ..WhatIf::default() });
                replacement_of(&book, &rows, &there).unwrap().minus(price).unwrap().is_positive()
            };
            assert!(!dearer("0.9998") && dearer("1.0002"), "{lever:?} {even}");
            seen += 1;
        }
    }
    assert!(seen >= 2, "{seen}");
    let offer = edges.iter().find(|e| matches!(e.against, Against::Offer(..))).unwrap();
    assert!(offer.levers.iter().any(|(lever, ..)| matches!(lever, Lever::Charges)));
}

#[test]
fn history_is_near_what_longer_histories_say() {
    let tables = tables();
    let book = with(None);
    let found = run(&book, &tables);
    let usd = found.effects.iter().find(|e| e.driver.id() == "exchange:USD").unwrap();
    let (low, high) = (usd.driver.low, usd.driver.high);
    assert!(low < dec("-0.7") && low > dec("-2.1"), "five years of the ECB's rates: 1 in 20 below -1.26 %, here {low}");
    assert!(high > dec("0.7") && high < dec("2.1"), "five years of the ECB's rates: 1 in 20 above 1.39 %, here {high}");
}

#[test]
fn mass_has_a_range_too() {
    let tables = tables();
    let book = with(None);
    let ask = ask(&book);
    let desk = Desk::open(&tables, &ask).unwrap();
    let mass = mass_range(&book, &desk).unwrap().unwrap();
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
        assert!(found.iter().any(|p| p.starts_with("unknowns.csv:2") && p.contains(word)), "{row}: {found:?}");
    }
    assert!(problems_of("unknowns", "what,chance\nremedy:Birk Rad,140 %\n").iter().any(|p| p.contains("0 to 100")));
}

#[test]
fn the_same_command_twice_prints_the_same_bytes() {
    let example = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/gravel-build");
    for format in ["table", "json"] {
        let run = || Command::new(env!("CARGO_BIN_EXE_landwaiter")).args(["leeway", example, "--format", format]).output().unwrap();
        let (one, other) = (run(), run());
        assert!(one.status.success(), "{}", String::from_utf8_lossy(&one.stderr));
        assert_eq!(one.stdout, other.stdout);
        if format == "json" {
            let json: serde_json::Value = serde_json::from_slice(&one.stdout).unwrap();
            assert_eq!(json["format"], "landwaiter.leeway/1");
            assert_eq!(json["quantiles"].as_object().unwrap().keys().collect::<Vec<_>>(), ["5", "25", "50", "75", "95"]);
            assert!(json["drivers"].as_array().unwrap().len() > 10);
        }
    }
}
