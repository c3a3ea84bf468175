//! What a law owes and does not give: rates of ordinary duty, and rows that ended with none after them. A bill, a price list and
//! `rates --gaps` say the same.

use landwaiter::Question;
use landwaiter::landed::{Jurisdiction, Why, gaps};
use landwaiter::report::{self, Show};
use landwaiter::tables::TaxName;
use landwaiter::text::draw;
use landwaiter::units::{Date, Rate};

use crate::common::Case;
use crate::made;

const TWO_DUTIES: &str = "charge,kind,order,level,of,rate_from
    tariff_duty,duty,20,line,goods,tariff:mfn
    surcharge,duty,21,line,goods,tariff:extra";

/// Frames have an ordinary rate, hubs have none; a surcharge of 10 % is on everything.
fn surcharged() -> Case {
    Case::new("USD")
        .law("charges", TWO_DUTIES)
        .law(
            "tariff",
            "layer,commodity,origin,percent\nmfn,871491,*,4\nextra,*,*,10",
        )
        .parts("part,place,price\nframe,frame,100\nhub,hub,100")
}

/// What `bulk` says of one line of 100.00: how many lines lack a rate, and for how many something ended.
fn in_bulk(case: &Case, commodity: &str, day: &str) -> (bool, bool) {
    let (tables, problems) = case.tables();
    assert!(!problems.refuse(), "{}", draw(&problems, false));
    let settings = format!("setting,value\ndestination,AQ\ndate,{day}\n");
    let sellers =
        "seller,dispatch,currency,freight,channel,transit_days\nSeller,TW,USD,0,courier,0\n";
    let book = made::taken(&[
        ("sellers", sellers),
        ("parts", "part,place\nx,thing\n"),
        ("settings", &settings),
    ]);
    let ask = Question::new(&book.settings, Date::EPOCH).unwrap();
    let text = format!("date,seller,price,commodity\n{day},Seller,100.00,{commodity}\n");
    let done = made::priced(&text, &book, &tables, &ask);
    assert!(done.bad.is_empty(), "{:?}", done.bad);
    (done.gaps.is_some(), done.ended.is_some())
}

/// The first sentences of the screen.
fn headline(case: &Case) -> String {
    let landed = case.run().unwrap();
    let (tables, ask) = case.asked();
    let jurisdiction = Jurisdiction::open(&tables, &ask)
        .unwrap_or_else(|problems| panic!("{}", draw(&problems, false)));
    let view = report::cost_view(
        &landed,
        &ask,
        &jurisdiction,
        &Show {
            currency: landed.currency,
            rate: Rate::SAME,
            tax: TaxName::Gst,
        },
        (false, false),
        (None, &[]),
    )
    .unwrap();
    report::text(&view, &report::Screen::of(100).with_more(true))
        .split("\n\n")
        .next()
        .unwrap()
        .replace('\n', " ")
}

/// The gaps of the tables for a reason, as `rates --gaps` says them.
fn table_gaps(case: &Case, why: Why) -> Vec<String> {
    let (tables, ask) = case.asked();
    let jurisdiction = Jurisdiction::open(&tables, &ask)
        .unwrap_or_else(|problems| panic!("{}", draw(&problems, false)));
    gaps(&jurisdiction, 10_000)
        .into_iter()
        .filter(|gap| gap.why == why)
        .map(|gap| gap.what)
        .collect()
}

/// Duty is 4.00 + 10.00 on the frame and 10.00 on the hub, whose ordinary rate is not known.
#[test]
fn a_missing_ordinary_rate_is_named_though_a_surcharge_found_one() {
    let case = surcharged();
    case.gives(&[("duty", "24.00"), ("gaps", "hub"), ("said no-rate", "yes")]);
    assert!(
        headline(&case).contains("Duty is unknown and not in it: hub."),
        "{}",
        headline(&case)
    );
    assert_eq!(
        (
            in_bulk(&case, "871493", "2026-03-02"),
            in_bulk(&case, "871491", "2026-03-02")
        ),
        ((true, false), (false, false))
    );
    let euro = "use,base,quote,rate,valid_from\nmarket,EUR,USD,1.00,2026-03-01";
    let missing = table_gaps(&case.table("exchange.csv", euro), Why::Missing);
    let rates: Vec<&String> = missing
        .iter()
        .filter(|what| what.starts_with("rate of duty on "))
        .collect();
    assert!(
        rates.len() == 1 && rates[0].contains("hub") && !rates[0].contains("frame"),
        "{missing:?}"
    );
}

#[test]
fn a_missing_surcharge_is_no_gap() {
    let case = surcharged().law(
        "tariff",
        "layer,commodity,origin,percent\nmfn,*,*,4\nextra,871491,CN,10",
    );
    case.gives(&[("duty", "8.00"), ("gaps", "")]);
    assert_eq!(in_bulk(&case, "871493", "2026-03-02"), (false, false));
}

/// The mark moves what is owed from the first duty to another: then the surcharge owes, and the ordinary layer does not.
#[test]
fn a_mark_says_which_layer_owes() {
    let charges = "charge,kind,order,level,of,rate_from,owes
        tariff_duty,duty,20,line,goods,tariff:mfn,
        surcharge,duty,21,line,goods,tariff:extra,yes";
    let tariff = "layer,commodity,origin,percent\nmfn,871491,*,4\nextra,871493,*,10";
    let marked = surcharged().law("charges", charges).law("tariff", tariff);
    marked.gives(&[("gaps", "frame")]);
    surcharged().law("tariff", tariff).gives(&[("gaps", "hub")]);
    assert_eq!(
        (
            in_bulk(&marked, "871491", "2026-03-02"),
            in_bulk(&marked, "871493", "2026-03-02")
        ),
        ((true, false), (false, false))
    );
    surcharged()
        .law(
            "charges",
            &charges.replace("tariff:extra,yes", "tariff:extra,perhaps"),
        )
        .refused("`owes` is `perhaps`");
    let flat = "charge,kind,order,level,of,percent,owes\ntariff_duty,duty,20,line,goods,5,yes";
    surcharged()
        .law("charges", flat)
        .refused("`owes` is `yes`: expected a row of kind `duty`");
}

/// A relief that drops the duty, a row of the same charge, and a row of the same group each stand in its place.
#[test]
fn what_stands_in_the_place_of_the_ordinary_duty_leaves_no_gap() {
    let hub = surcharged().parts("part,place,price\nhub,hub,100");
    let relief = "relief,order,tests,per,op,amount,currency,drops\nsmall,30,goods,consignment,<=,150,USD,duty";
    hub.gives(&[("gaps", "hub")]);
    hub.clone()
        .law("reliefs", relief)
        .gives(&[("gaps", ""), ("duty", "0")]);
    assert_eq!(
        in_bulk(&hub.clone().law("reliefs", relief), "871493", "2026-03-02"),
        (false, false)
    );
    let group = "charge,kind,order,group,level,of,percent,rate_from
        flat,duty,19,gift least,line,goods,2.5,
        tariff_duty,duty,20,gift least,line,goods,,tariff:mfn
        surcharge,duty,21,,line,goods,,tariff:extra";
    hub.clone()
        .law("charges", group)
        .gives(&[("gaps", ""), ("duty", "12.50")]);
    assert_eq!(
        in_bulk(&hub.clone().law("charges", group), "871493", "2026-03-02"),
        (false, false)
    );
    let by_when = "charge,kind,order,level,of,percent,rate_from,when
        simple,duty,20,line,goods,20,,channel = courier
        tariff_duty,duty,20,line,goods,,tariff:mfn,channel = post
        surcharge,duty,21,line,goods,,tariff:extra,";
    hub.law("charges", by_when)
        .gives(&[("gaps", ""), ("duty", "30.00")]);
}

/// A limit that duty itself must stay under is decided by a sum from which the missing rate is missing: the rate is still said.
#[test]
fn a_limit_that_tests_the_duty_leaves_a_missing_rate_named() {
    let hub = surcharged().parts("part,place,price\nhub,hub,100");
    let head = "relief,order,tests,per,op,amount,currency,drops";
    let trifling = format!("{head}\ntrifling,30,duty,consignment,<=,15,USD,duty");
    hub.clone()
        .law("reliefs", &trifling)
        .gives(&[("gaps", "hub"), ("duty", "0")]);
    assert_eq!(
        in_bulk(
            &hub.clone().law("reliefs", &trifling),
            "871493",
            "2026-03-02"
        ),
        (true, false)
    );
    assert_eq!(
        in_bulk(
            &hub.clone().law("reliefs", &trifling),
            "871491",
            "2026-03-02"
        ),
        (false, false)
    );
    // where a limit of value has freed the line before, nothing is missing
    let both = format!(
        "{head}\nsmall,15,goods,consignment,<=,150,USD,duty\ntrifling,30,duty,consignment,<=,15,USD,duty"
    );
    hub.clone()
        .law("reliefs", &both)
        .gives(&[("gaps", ""), ("duty", "0")]);
    assert_eq!(
        in_bulk(&hub.law("reliefs", &both), "871493", "2026-03-02"),
        (false, false)
    );
}

const ENDING: &str = "charge,kind,order,level,of,percent,rate_from,flat,per,currency,when,after,valid_from,valid_to
    tariff_duty,duty,20,line,goods,,tariff:mfn,,,,,,2000-01-01,
    surcharge,duty,21,line,goods,10,,,,,place = hub,,2026-01-01,2026-07-23
    clearing,fee,50,consignment,,,,5,consignment,USD,channel = courier,nothing,2026-01-01,2026-07-23";

fn ending() -> Case {
    Case::new("USD")
        .law("charges", ENDING)
        .law("tariff", "layer,commodity,origin,percent\nmfn,*,*,4")
        .parts("part,place,price\nframe,frame,100\nhub,hub,100")
}

/// On its last day the surcharge is 10.00 and the fee 5.00; the day after, the surcharge is said and the fee, which simply ended,
/// is not.
#[test]
fn what_ended_and_was_followed_by_nothing_is_said_in_the_headline() {
    ending()
        .on("2026-07-23")
        .gives(&[("duty", "18.00"), ("fee", "5.00"), ("ended", "")]);
    let after = ending().on("2026-07-24");
    after.gives(&[
        ("duty", "8.00"),
        ("fee", "0"),
        ("ended", "surcharge 2026-07-23"),
        ("said charge-ended", "yes"),
        ("gaps", ""),
    ]);
    assert!(
        headline(&after)
            .contains("A duty ended 2026-07-23; what followed is unknown and not in it."),
        "{}",
        headline(&after)
    );
    assert_eq!(
        table_gaps(&after, Why::Ended),
        ["surcharge: ended 2026-07-23; what followed is not known"]
    );
    let parts = &after.run().unwrap().bills[0].ended[0].parts;
    assert_eq!(parts, &["hub"]);
}

#[test]
fn a_parcel_that_the_ended_row_would_not_have_touched_stays_calm() {
    let frame = ending()
        .on("2026-07-24")
        .parts("part,place,price\nframe,frame,100");
    frame.gives(&[("duty", "4.00"), ("ended", "")]);
    let nothing = ENDING.replace("place = hub,,", "place = hub,nothing,");
    ending()
        .law("charges", &nothing)
        .on("2026-07-24")
        .gives(&[("ended", "")]);
    let followed =
        format!("{ENDING}\nsurcharge,duty,21,line,goods,15,,,,,place = hub,,2026-07-24,");
    ending()
        .law("charges", &followed)
        .on("2026-07-24")
        .gives(&[("duty", "23.00"), ("ended", "")]);
}

/// A rate of a layer ends while its charge goes on; the charge's layer has a wider row that would serve, but the narrower one came
/// first until it ended.
#[test]
fn a_rate_that_ended_is_said_of_the_goods_it_was_for() {
    let tariff = "layer,commodity,origin,percent,valid_to,after
        mfn,*,*,4,,
        extra,871493,TW,10,2026-07-23,";
    let case = surcharged().law("tariff", tariff);
    case.clone()
        .on("2026-07-23")
        .gives(&[("duty", "18.00"), ("ended", "")]);
    case.clone()
        .on("2026-07-24")
        .gives(&[("duty", "8.00"), ("ended", "surcharge 2026-07-23")]);
    let (before, after) = ("2026-07-23", "2026-07-24");
    assert_eq!(
        (
            in_bulk(&case, "871493", before),
            in_bulk(&case, "871493", after)
        ),
        ((false, false), (false, true))
    );
    assert_eq!(
        in_bulk(&case, "871491", after),
        (false, false),
        "other goods"
    );
    let simply = case.clone().law(
        "tariff",
        &tariff.replace("2026-07-23,", "2026-07-23,nothing"),
    );
    simply.clone().on(after).gives(&[("ended", "")]);
    assert_eq!(in_bulk(&simply, "871493", after), (false, false));
    let wider = case.law(
        "tariff",
        &tariff.replace(
            "extra,871493,TW,10,",
            "extra,*,*,7,,\n        extra,871493,TW,10,",
        ),
    );
    wider
        .on(after)
        .gives(&[("duty", "22.00"), ("ended", "surcharge 2026-07-23")]);
}

#[test]
fn a_tax_that_ended_is_said_and_one_that_was_followed_is_not() {
    let charges = "charge,kind,order,level,of,rate_from\nborder_tax,tax,20,line,goods,taxes:gst";
    let case = |rows: &str| {
        let taxes = format!("tax,country,commodity,percent,valid_from,valid_to\n{rows}");
        Case::new("USD")
            .law("charges", charges)
            .law("taxes", &taxes)
            .parts("part,place,price\nhub,hub,100")
            .on("2026-07-24")
    };
    let ended = case("gst,AQ,*,10,2000-01-01,2026-07-23");
    ended.gives(&[("tax", "0"), ("ended", "border_tax 2026-07-23")]);
    assert_eq!(in_bulk(&ended, "871493", "2026-07-24"), (false, true));
    case("gst,AQ,*,10,2000-01-01,2026-07-23\ngst,AQ,*,12,2026-07-24,")
        .gives(&[("tax", "12.00"), ("ended", "")]);
}

/// Every row of the shipped tables that ended, or will end, with no row after it has its word.
#[test]
fn every_shipped_row_that_ends_has_its_word() {
    let tables = landwaiter::tables::built_in();
    let keys = [("charges", 1), ("tariff", 3), ("taxes", 4)];
    let mut looked = 0;
    for file in tables.iter().filter(|file| file.name.contains('/')) {
        let Some((_, width)) = keys
            .iter()
            .find(|(table, _)| file.name.ends_with(&format!("/{table}.csv")))
        else {
            continue;
        };
        let mut reader = csv::ReaderBuilder::new()
            .comment(Some(b'#'))
            .flexible(true)
            .from_reader(&*file.bytes);
        let header = reader.headers().unwrap().clone();
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        let cell = |row: &csv::StringRecord, name: &str| {
            header
                .iter()
                .position(|column| column == name)
                .and_then(|at| row.get(at))
                .unwrap_or("")
                .to_owned()
        };
        let key = |row: &csv::StringRecord| {
            row.iter()
                .take(*width)
                .map(str::to_owned)
                .collect::<Vec<_>>()
        };
        let counts = |row: &csv::StringRecord| {
            !matches!(cell(row, "certainty").as_str(), "announced" | "annulled")
        };
        for row in rows
            .iter()
            .filter(|row| counts(row) && !cell(row, "valid_to").is_empty())
        {
            let reaches = |other: &csv::StringRecord| {
                cell(other, "valid_to").is_empty()
                    || cell(other, "valid_to") > cell(row, "valid_to")
            };
            let followed = rows.iter().any(|other| {
                key(other) == key(row) && cell(other, "certainty") != "announced" && reaches(other)
            });
            assert!(
                followed || !cell(row, "after").is_empty(),
                "{}: {row:?}",
                file.name
            );
            looked += 1;
        }
    }
    assert!(looked > 60, "{looked}");
}

/// rates/README.md explains both columns, their words and their defaults.
#[test]
fn the_columns_of_what_is_owed_are_documented() {
    let page = std::fs::read_to_string(crate::kit::home().join("rates/README.md")).unwrap();
    for words in [
        "| `owes` | `charges.csv` |",
        "| `after` | `charges.csv`, `tariff.csv`, `taxes.csv` |",
        "`unknown` (the default of duties",
        "Where no row in force is marked",
    ] {
        assert!(
            page.contains(words),
            "rates/README.md does not say: {words}"
        );
    }
}
