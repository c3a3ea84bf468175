//! A book whose whole bike was weighed: every command starts from what the scale said, and carries the difference to the sum of
//! parts through whatever it proposes.

use landwaiter::book::Book;
use landwaiter::compare::compare;
use landwaiter::landed::{Cautions, Jurisdiction};
use landwaiter::leeway::mass_range;
use landwaiter::plan::{Patient, Planned, Plans, Wishes, plan};
use landwaiter::rank::rank;
use landwaiter::report::{self, Show, plan_json, plan_view, rank_json};
use landwaiter::tables::TaxName;
use landwaiter::units::{Currency, Rate};
use landwaiter::value::scale::weighed;
use landwaiter::{Question, cost};
use serde_json::Value;

use super::harness::landwaiter;
use super::small::{SELLERS, SPREADS, ask, book, tables, tables_with};

const SHOW: Show = Show {
    currency: Currency::GBP,
    rate: Rate::SAME,
    tax: TaxName::Vat,
};

const HEADER: &str = "part,place,role,standing,seller,price,currency,quantity,paid,mass_g\n";

/// 1000 + 80 + 250 + 120 + 300 + 200 = 1950 g.
const WHOLE: &str = "Plain frame,frame,build,in-hand,,,,1,500.00,1000\n\
    Plain headset,headset,build,in-hand,,,,1,10.00,80\n\
    Plain bar,handlebar,build,in-hand,,,,1,10.00,250\n\
    Plain stem,stem,build,in-hand,,,,1,10.00,120\n\
    Plain pedals,pedals,build,in-hand,,,,1,10.00,300\n\
    Plain saddle,saddle,build,to-order,Southmoor,40.00,,1,,200\n";

/// 100 g less than the plain one.
const LIGHT: &str = "Light saddle,saddle,option,to-order,Southmoor,90.00,,1,,100\n";

/// 150 g more than the parts add up to.
const WEIGHED: &str = "bike,2100,racing,2026-02-20\n";

fn own(rows: &str, weighings: &str) -> Book {
    let weighings = format!("what,mass_g,basis,date\n{weighings}");
    book(&[
        ("parts", &format!("{HEADER}{rows}")),
        ("sellers", SELLERS),
        ("weighings", &weighings),
    ])
}

fn planned(book: &Book, ask: &Question) -> Planned {
    let tables = tables();
    let jurisdiction = Jurisdiction::open(&tables, ask).unwrap();
    plan(book, &jurisdiction, &Wishes::default(), &Patient).unwrap()
}

#[track_caller]
fn found(book: &Book, ask: &Question) -> Plans {
    match planned(book, ask) {
        Planned::Found(plans) => *plans,
        Planned::Nothing(why) => panic!("{}", why.reason.message),
    }
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// 2100 - 200 + 100 = 2000 g keep a limit of 2050 g, which the sum of the build's parts, 1950 g, would keep as it stands.
#[test]
fn a_plan_starts_from_the_scale() {
    let (book, ask) = (
        own(&format!("{WHOLE}{LIGHT}"), WEIGHED),
        ask(&[("max_mass_g", "2050")]),
    );
    let plans = found(&book, &ask);
    assert_eq!(
        (plans.plans[0].mass.to_string(), plans.plans[0].proven),
        ("2000".to_owned(), true)
    );
    assert!(
        plans.plans[0]
            .choices
            .iter()
            .any(|choice| choice.part == "Light saddle"),
        "{:?}",
        plans.plans[0].choices
    );
    assert_eq!(plans.build.unwrap().1.to_string(), "2100");
    let json = plan_json(&plans, &ask, &SHOW, &Value::Null).unwrap();
    assert_eq!(
        (&json["scale"]["read_g"], &json["scale"]["sum_g"]),
        (&"2100".into(), &"1950".into())
    );
    assert_eq!(
        (&json["plans"][0]["mass_g"], &json["build"]["mass_g"]),
        (&"2000".into(), &"2100".into())
    );
    assert!(
        plans
            .cautions
            .iter()
            .any(|caution| caution.id == "bike-weighed-without"),
        "the saddle was not on the scale"
    );
    let screen = flat(&report::text(
        &plan_view(&plans, &ask, &SHOW).unwrap(),
        &report::Screen::of(100).with_more(true),
    ));
    assert!(
        screen.contains(
            "The bike was weighed: 2,100 g (racing, 2026-02-20); its parts add up to 1,950 g."
        ),
        "{screen}"
    );
    // Without the weighing the sum alone is there: the build keeps the limit.
    let plain = found(&own(&format!("{WHOLE}{LIGHT}"), ""), &ask);
    assert_eq!(
        (plain.plans[0].mass.to_string(), plain.scale.is_none()),
        ("1950".to_owned(), true)
    );
}

#[test]
fn a_limit_that_the_scale_says_is_broken_is_kept_by_no_plan() {
    let book = own(&format!("{WHOLE}{LIGHT}"), WEIGHED);
    // 1950 g is the sum; the lightest plan weighs 2000 g on the scale.
    let Planned::Nothing(why) = planned(&book, &ask(&[("max_mass_g", "1960")])) else {
        panic!("a plan over the limit")
    };
    assert_eq!(
        why.reason.message,
        "no plan weighs 1,960 g or less: the least is 2,000 g"
    );
    // A scale below the sum moves plans the other way: 1900 - 200 + 100 = 1800 g.
    let light = own(&format!("{WHOLE}{LIGHT}"), "bike,1900,racing,2026-02-20\n");
    assert_eq!(
        found(&light, &ask(&[("max_mass_g", "1800")])).plans[0]
            .mass
            .to_string(),
        "1800"
    );
}

/// On the showroom's basis the pedals are not counted, nor are the cages of the tables, 60 g: 2100 - 300 - 60 = 1740 g. Lighter
/// pedals take nothing off that, and the lighter saddle 100 g.
#[test]
fn what_the_basis_does_not_count_moves_no_plan_of_a_weighed_bike() {
    let pedals = "Light pedals,pedals,option,to-order,Southmoor,5.00,,1,,200\n";
    let book = own(&format!("{WHOLE}{LIGHT}{pedals}"), WEIGHED);
    let plans = found(
        &book,
        &ask(&[("basis", "showroom"), ("max_mass_g", "1650")]),
    );
    assert_eq!(
        (
            plans.plans[0].mass.to_string(),
            plans.build.unwrap().1.to_string()
        ),
        ("1640".to_owned(), "1740".to_owned())
    );
    assert!(
        plans.plans[0]
            .choices
            .iter()
            .any(|choice| choice.part == "Plain pedals"),
        "{:?}",
        plans.plans[0].choices
    );
    // On the racing basis they are: 2100 - 100 - 100 = 1900 g.
    let plans = found(&book, &ask(&[("max_mass_g", "1950")]));
    assert_eq!(plans.plans[0].mass.to_string(), "1900");
}

/// The saddle's own 200 g are not known, and lay on the scale: what another would save cannot be said.
#[test]
fn an_option_for_a_part_of_unknown_mass_is_left_out_once_the_bike_was_weighed() {
    let rows = WHOLE.replace(",40.00,,1,,200", ",40.00,,1,,");
    let rival = "Plain saddle,saddle,rival,to-order,Northmoor,15.00,,1,,200\n";
    let plans = found(&own(&format!("{rows}{LIGHT}{rival}"), WEIGHED), &ask(&[]));
    let why = "the bike was weighed with Plain saddle, whose own mass is not known";
    assert!(
        plans
            .left_out
            .contains(&("Light saddle".to_owned(), why.to_owned())),
        "{:?}",
        plans.left_out
    );
    // The same part from elsewhere, 15.00 + 20.00 instead of 40.00 + 10.00, weighs what the scale said.
    assert_eq!(
        (
            plans.plans[0].mass.to_string(),
            plans.plans[0].landed.fixed(2)
        ),
        ("2100".to_owned(), "575.00".to_owned())
    );
    // Where the bike was not weighed the option is an offer as before.
    let plans = found(&own(&format!("{rows}{LIGHT}{rival}"), ""), &ask(&[]));
    assert!(plans.left_out.is_empty(), "{:?}", plans.left_out);
}

#[test]
fn the_ladder_starts_from_the_scale() {
    let (book, ask) = (
        own(&format!("{WHOLE}{LIGHT}"), WEIGHED),
        ask(&[("max_mass_g", "2050")]),
    );
    let found = rank(&book, &tables(), &ask).unwrap();
    assert_eq!(
        (
            found.mass.to_string(),
            found.ladder.rungs[0].mass.to_string()
        ),
        ("2100".to_owned(), "2000".to_owned())
    );
    let json = rank_json(&found, &ask, &SHOW, &Value::Null).unwrap();
    assert_eq!(
        (&json["mass_g"], &json["scale"]["sum_g"]),
        (&"2100".into(), &"1950".into())
    );
    let screen = flat(&report::text(
        &report::rank_view(&found, &ask, &SHOW, None).unwrap(),
        &report::Screen::of(100).with_more(true),
    ));
    assert!(
        screen.contains("The bike was weighed: 2,100 g (racing, 2026-02-20)"),
        "{screen}"
    );
    // By the sum the limit is kept already, and no step costs money.
    let plain = rank(&own(&format!("{WHOLE}{LIGHT}"), ""), &tables(), &ask).unwrap();
    assert_eq!(
        (plain.mass.to_string(), plain.ladder.rungs.len()),
        ("1950".to_owned(), 0)
    );
}

#[test]
fn the_leeway_of_the_mass_starts_from_the_scale() {
    let range = |weighings: &str, settings: &[(&str, &str)]| {
        let (book, tables, ask) = (
            own(WHOLE, weighings),
            tables_with(&[SPREADS]),
            ask(settings),
        );
        mass_range(&book, &Jurisdiction::open(&tables, &ask).unwrap())
            .unwrap()
            .unwrap()
    };
    let found = range(WEIGHED, &[("max_mass_g", "2050")]);
    let grams = [
        found.stated,
        found.parts,
        found.low,
        found.middle,
        found.high,
    ]
    .map(|grams| grams.to_string());
    assert_eq!(grams, ["2100", "1950", "2100", "2100", "2100"]);
    assert_eq!(found.within.unwrap().to_string(), "0");
    assert_eq!(
        range(WEIGHED, &[("max_mass_g", "2100")])
            .within
            .unwrap()
            .to_string(),
        "100"
    );
    // On the showroom's basis 30 to 90 g of cages come off, beside the pedals: 1710 to 1770 g.
    let found = range(WEIGHED, &[("basis", "showroom"), ("max_mass_g", "1740")]);
    assert_eq!(found.stated.to_string(), "1740");
    assert!(
        found.low.to_string().as_str() > "1710"
            && found.low < found.middle
            && found.high.to_string().as_str() < "1770",
        "{found:?}"
    );
    let within = found.within.unwrap();
    assert!(
        within > super::small::dec("45") && within < super::small::dec("55"),
        "{within}"
    );
    assert!(range("", &[]).stated.to_string() == "1950");
}

/// The program, on the tables it comes with: a frame and a saddle in hand, 1200 g, weighed at 1300 g.
#[test]
fn cost_leeway_and_the_page_hold_the_limit_against_the_scale() {
    let run = |command: &str| {
        landwaiter(command)
            .file("b/settings.csv", "setting,value\ndestination,GB\ndate,2026-10-21\nkind,road\nbasis,racing\nmax_mass_g,1250\n")
            .file(
                "b/parts.csv",
                "part,place,role,standing,paid,mass_g\nFrame,frame,build,in-hand,300.00,1000\nSaddle,saddle,build,in-hand,40.00,200\n",
            )
            .file("b/weighings.csv", "what,mass_g,basis,date\nbike,1300,racing,2026-10-20\n")
            .go()
            .ends(0)
    };
    let json = |command: &str| serde_json::from_str::<Value>(&run(command).out).unwrap();
    let cost = json("cost b --format json");
    let totals = &cost["totals"];
    assert_eq!(
        [
            &totals["mass_g"],
            &totals["parts_g"],
            &cost["scale"]["mass_g"]
        ],
        ["1300", "1200", "1300"]
    );
    let screen = flat(&run("cost b --more").out);
    assert!(
        screen.contains("its parts add up to 1,200 g")
            && screen.contains("limit 1,250 g: 50 g too much."),
        "{screen}"
    );
    let mass = &json("leeway b --format json")["mass"];
    assert_eq!(
        [&mass["stated_g"], &mass["parts_g"], &mass["within"]],
        ["1300", "1200", "0"]
    );
    assert!(
        flat(&run("leeway b").out).contains("50 g over your limit; its parts add up to 1,200 g.")
    );
    if cfg!(feature = "pages") {
        let page = run("report b -o b/page.html").left("b/page.html");
        assert!(
            page.contains("50 g over the weight limit of 1,250 g; its parts add up to 1,200 g."),
            "{page}"
        );
    }
}

/// Each command starts from one figure.
#[test]
fn all_commands_say_one_mass_of_a_weighed_bike() {
    let (book, tables, ask) = (own(&format!("{WHOLE}{LIGHT}"), WEIGHED), tables(), ask(&[]));
    let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
    let mut cautions = Cautions::default();
    let scale = weighed(&book, &jurisdiction, &mut cautions)
        .unwrap()
        .unwrap();
    let landed = cost(&book, &tables, &ask).unwrap();
    let cost = report::cost_json(&landed, &ask, &SHOW, Value::Null, (false, Some(&scale))).unwrap();
    let told = [
        scale.likely().to_string(),
        cost["totals"]["mass_g"].as_str().unwrap().to_owned(),
        compare(&book, &tables, &ask).unwrap().mine.mass.to_string(),
        rank(&book, &tables, &ask).unwrap().mass.to_string(),
        found(&book, &ask).plans[0].mass.to_string(),
        mass_range(&book, &jurisdiction)
            .unwrap()
            .unwrap()
            .stated
            .to_string(),
    ];
    assert!(told.iter().all(|mass| mass == "2100"), "{told:?}");
}
