//! What goes wrong when people buy parts abroad, ranked by what it costs them, and where the program shows it.

use serde_json::Value;

use crate::harness::{landwaiter, project};

/// The twenty, in our own short words, each with the test below that shows what prevents it.
const RANKS: [(u8, &str, &str); 20] = [
    (
        1,
        "tax, duty and the carrier's fee guessed as one lump",
        "charges_stand_one_by_one",
    ),
    (
        2,
        "the build weighed with pedals, the other bike without",
        "bikes_are_brought_to_one_basis_or_left_out",
    ),
    (
        3,
        "what lies in another part's box counted twice",
        "a_bundled_part_counts_once",
    ),
    (
        4,
        "parts that do not fit one another",
        "parts_that_do_not_fit_are_an_error_and_never_proposed",
    ),
    (
        5,
        "parts from the spares box put down at nothing",
        "three_totals_stand_together",
    ),
    (
        6,
        "upgrades ranked by claims, without resale, two for one place",
        "an_upgrade_knows_its_doubt_its_resale_and_its_place",
    ),
    (
        7,
        "a code taken from the wrong sum",
        "a_discount_knows_its_sum",
    ),
    (
        8,
        "the rate of the day, the card's fee",
        "the_rate_has_a_day_and_the_card_a_fee",
    ),
    (
        9,
        "charged at the checkout and again at the door",
        "what_is_charged_twice_is_named_and_can_be_asked_for",
    ),
    (
        10,
        "returning costs more than the part",
        "sending_back_may_cost_more_than_it_gives",
    ),
    (
        11,
        "a small part missing on the day of building",
        "small_parts_that_nothing_fills_are_named_before_the_day_of_building",
    ),
    (
        12,
        "tools, fluids and shop work left out",
        "the_workshop_costs_and_weighs_nothing",
    ),
    (
        13,
        "claims never set against the scale",
        "claims_are_set_against_the_scale",
    ),
    (
        14,
        "a list price held against a sale price",
        "a_sale_price_is_said",
    ),
    (
        15,
        "cost per kilogram against one chosen bike",
        "the_set_stands_beside_every_ratio",
    ),
    (
        16,
        "a steering part without a test report",
        "a_part_without_a_report_is_named",
    ),
    (
        17,
        "money already spent steers what is bought next",
        "what_is_spent_steers_nothing",
    ),
    (
        18,
        "no warranty, no dates kept",
        "warranty_and_deadlines_have_their_days",
    ),
    (
        19,
        "parcels split or joined across a limit",
        "each_parcel_shows_its_room_to_the_limit",
    ),
    (
        20,
        "a replacement counted beside what it replaces",
        "an_option_is_not_counted_with_the_build",
    ),
];

#[test]
fn every_rank_is_shown_by_a_test() {
    let ranks: Vec<u8> = RANKS.iter().map(|(rank, _, _)| *rank).collect();
    assert_eq!(ranks, (1..=20).collect::<Vec<u8>>());
    for (rank, name, test) in &RANKS {
        let there = include_str!("failures.rs").contains(&format!("\n#[test]\nfn {test}() {{"));
        assert!(there, "rank {rank}, {name}: no test `{test}`");
    }
}

/// A book of these rows, delivered to Great Britain on 2 March 2026.
fn cost(parts: &str, more: &[(&str, &str)], flags: &str) -> Value {
    let run = landwaiter(&format!(
        "cost . --to GB --on 2026-03-02 --format json {flags}"
    ))
    .file("parts.csv", parts);
    let ran = more
        .iter()
        .fold(run, |run, (name, text)| run.file(name, text))
        .go()
        .ends(0);
    assert!(ran.err.is_empty(), "{}", ran.err);
    ran.json()
}

/// A sum in pence.
fn pence(value: &Value) -> i64 {
    let text = value
        .as_str()
        .unwrap_or_else(|| panic!("{value} is no sum"));
    assert_eq!(text.rsplit('.').next().map(str::len), Some(2), "{text}");
    text.replace('.', "").parse().unwrap()
}

fn caution<'a>(cost: &'a Value, id: &str) -> Option<&'a Value> {
    cost["cautions"]
        .as_array()
        .unwrap()
        .iter()
        .find(|c| c["id"] == id)
}

const HEADER: &str = "part,place,role,standing,seller,price,currency,dispatch,mass_g,origin,comes_with,paid,channel,freight\n";

fn book(rows: &[&str]) -> String {
    HEADER.to_owned() + &rows.join("\n") + "\n"
}

#[test]
fn charges_stand_one_by_one() {
    let cost = landwaiter("cost . --format json")
        .within(project("examples/first-build"))
        .go()
        .ends(0)
        .json();
    let parcel = &cost["consignments"][0];
    for charge in ["duty", "tax_at_border", "handling"] {
        assert!(pence(&parcel[charge]) > 0, "{charge}: {parcel}");
    }
    let of = |name: &str| pence(&parcel[name]);
    let on_top = of("freight")
        + of("insurance")
        + of("duty")
        + of("remedy")
        + of("tax")
        + of("handling")
        + of("card_fee");
    assert_eq!(of("landed"), of("goods") - of("discount") + on_top);
    assert!(caution(&cost, "estimate").is_some());
}

#[test]
fn a_bundled_part_counts_once() {
    let frame = "Heath frame,frame,,,Skerry Supply,540.00,USD,TW,1150,TW,,,post,0";
    let alone = cost(&book(&[frame]), &[], "");
    let with = cost(
        &book(&[frame, "Heath hanger,hanger,,,,,,,16,,Heath frame,,,"]),
        &[],
        "",
    );
    assert_eq!(alone["totals"]["mass_g"], "1150");
    assert_eq!(with["totals"]["mass_g"], "1166");
    assert_eq!(alone["totals"]["landed"], with["totals"]["landed"]);
    assert_eq!(with["consignments"].as_array().unwrap().len(), 1);
}

#[test]
fn three_totals_stand_together() {
    let cost = cost(
        &book(&[
            "Heath saddle,saddle,,,Skerry Supply,48.00,USD,TW,180,TW,,,post,0",
            "Old post,seatpost,,in-hand,,30.00,GBP,,190,,,0,,",
            "Spare stem,stem,,in-hand,,,,,120,,,,,",
        ]),
        &[],
        "",
    );
    let totals = &cost["totals"];
    assert_eq!(pence(&totals["spent"]), 0);
    assert!(pence(&totals["to_pay"]) > 0);
    assert_eq!(
        pence(&totals["replacement"]),
        pence(&totals["to_pay"]) + 3000
    );
    assert_eq!(
        totals["replacement_unknown"],
        serde_json::json!(["Spare stem"])
    );
    assert_eq!(totals["paid_unknown"], serde_json::json!(["Spare stem"]));
}

#[test]
fn a_discount_knows_its_sum() {
    let rows = book(&[
        "Heath frame,frame,,,Skerry Supply,540.00,USD,TW,1150,TW,,,post,40.00",
        "Heath saddle,saddle,,,Skerry Supply,60.00,USD,TW,180,TW,,,post,40.00",
    ]);
    let with = |row: &str| {
        let table = format!("code,seller,scope,part,percent,amount,order,pays\n{row}\n");
        cost(&rows, &[("discounts.csv", &table)], "--trail")["consignments"][0].clone()
    };
    let item = with("TEN,Skerry Supply,item,Heath saddle,10,,,");
    let basket = with("TEN,Skerry Supply,basket,,10,,,");
    let freight = with("TEN,Skerry Supply,freight,,10,,,");
    let credit = with("TEN,Skerry Supply,basket,,10,,,credit");
    assert!(pence(&basket["discount"]) > 9 * pence(&item["discount"]));
    assert_eq!(
        (pence(&freight["discount"]), pence(&freight["goods"])),
        (0, pence(&basket["goods"]))
    );
    assert!(pence(&freight["freight"]) < pence(&basket["freight"]));
    assert_eq!(credit["discount"], basket["discount"]);
    assert!(pence(&credit["customs_value"]) > pence(&basket["customs_value"]));
    let first = with("A,Skerry Supply,basket,,10,,1,\nB,Skerry Supply,basket,,,30.00,2,");
    let last = with("A,Skerry Supply,basket,,10,,2,\nB,Skerry Supply,basket,,,30.00,1,");
    assert!(
        pence(&first["discount"]) > pence(&last["discount"]),
        "a percentage is of what earlier ones left"
    );
    let told = basket["trail"]
        .as_array()
        .unwrap()
        .iter()
        .any(|step| step["kind"] == "discount" && step["row"] == "discounts.csv:2");
    assert!(told, "{}", basket["trail"]);
}

#[test]
fn the_rate_has_a_day_and_the_card_a_fee() {
    let rows = book(&["Heath saddle,saddle,,,Skerry Supply,48.00,USD,TW,180,TW,,,post,0"]);
    let unknown = cost(&rows, &[], "--trail");
    let parcel = &unknown["consignments"][0];
    let rate = parcel["trail"]
        .as_array()
        .unwrap()
        .iter()
        .find(|step| step["id"] == "market_rate")
        .unwrap();
    assert!(
        rate["text"].as_str().unwrap().ends_with("of 2026-03-02"),
        "{rate}"
    );
    assert!(
        rate["row"]
            .as_str()
            .unwrap()
            .starts_with("rates/exchange.csv:"),
        "{rate}"
    );
    assert!(
        rate["source"].as_str().unwrap().starts_with("ECB"),
        "{rate}"
    );
    assert!(caution(&unknown, "card-fee-unknown").is_some());
    let told = cost(&rows, &[], "--card-fee 2.5");
    assert!(caution(&told, "card-fee-unknown").is_none());
    let fee = pence(&told["totals"]["card_fee"]);
    assert!(fee > 0);
    assert_eq!(
        pence(&told["totals"]["landed"]),
        pence(&unknown["totals"]["landed"]) + fee
    );
}

#[test]
fn the_workshop_costs_and_weighs_nothing() {
    let saddle = "Heath saddle,saddle,,,Skerry Supply,48.00,USD,TW,180,TW,,,post,0";
    let without = cost(&book(&[saddle]), &[], "");
    let rows = [
        saddle,
        "Bleed kit,tool,,,,26.00,GBP,,400,,,,,",
        "Wheel truing,service,,,,18.00,GBP,,,,,,,",
    ];
    let with = cost(&book(&rows), &[], "");
    assert_eq!(
        pence(&with["totals"]["landed"]),
        pence(&without["totals"]["landed"]) + 4400
    );
    assert_eq!(with["totals"]["mass_g"], "180");
    assert_eq!(with["totals"]["mass_unknown"], serde_json::json!([]));
}

#[test]
fn a_part_without_a_report_is_named() {
    let header = "part,place,seller,price,currency,dispatch,mass_g,evidence\n";
    let row = |evidence: &str| {
        format!("{header}Heath fork,fork,Skerry Supply,60.00,USD,TW,460,\"{evidence}\"\n")
    };
    let silent = cost(&row(""), &[], "");
    let named = caution(&silent, "evidence").unwrap();
    assert_eq!(named["about"], serde_json::json!(["Heath fork"]));
    assert!(named["action"].as_str().unwrap().contains("ISO 4210"));
    assert!(
        caution(
            &cost(&row("ISO 4210-6, a laboratory, 2025-05-01"), &[], ""),
            "evidence"
        )
        .is_none()
    );
}

#[test]
fn each_parcel_shows_its_room_to_the_limit() {
    let header = "part,place,seller,price,currency,dispatch,mass_g,parcel,channel,freight\n";
    let of = |one: &str, other: &str| {
        let rows = format!(
            "{header}Heath stem,stem,Home Works,80.00,GBP,TW,120,{one},post,0\nHeath saddle,saddle,Home Works,70.00,GBP,TW,180,{other},post,0\n"
        );
        cost(&rows, &[], "")
    };
    let (joined, split) = (of("", ""), of("", "later"));
    let room = |cost: &Value, at: usize| {
        let limits = cost["consignments"][at]["limits"].as_array().unwrap();
        let limit = limits
            .iter()
            .find(|limit| limit["id"] == "low_value")
            .unwrap();
        (
            pence(&limit["amount"]),
            pence(&limit["value"]),
            pence(&limit["left"]),
        )
    };
    assert_eq!(room(&joined, 0), (13_500, 15_000, -1_500));
    assert_eq!(
        (room(&split, 0), room(&split, 1)),
        ((13_500, 8_000, 5_500), (13_500, 7_000, 6_500))
    );
    assert_ne!(joined["totals"]["landed"], split["totals"]["landed"]);
    for cost in [&joined, &split] {
        assert!(
            caution(cost, "declare").unwrap()["text"]
                .as_str()
                .unwrap()
                .contains("never split an order")
        );
    }
}

#[test]
fn an_option_is_not_counted_with_the_build() {
    let now = "Heath wheels,wheels,,,Skerry Supply,310.00,USD,TW,1690,TW,,,post,0";
    let light = "Light wheels,wheels,option,,Skerry Supply,620.00,USD,TW,1290,TW,,,post,0";
    let (alone, both) = (
        cost(&book(&[now]), &[], ""),
        cost(&book(&[now, light]), &[], ""),
    );
    assert_eq!(alone["totals"], both["totals"]);
}

/// The answer of a command to a book delivered to Great Britain on 2 March 2026.
fn answer(command: &str, parts: &str, bikes: &str) -> Value {
    let run = landwaiter(&format!(
        "{command} . --to GB --on 2026-03-02 --format json"
    ))
    .file("parts.csv", parts);
    run.file("bikes.csv", bikes).go().ends(0).json()
}

const BIKE_PARTS: &str = "part,place,role,standing,price,currency,paid,mass_g,mass_kind,fits,resale\n\
                          Heath frame,frame,build,to-order,500.00,GBP,,1200,weighed,seatpost_diameter=27.2,\n\
                          Heath post,seatpost,build,in-hand,40.00,GBP,40.00,250,weighed,seatpost_diameter=27.2,5.00\n\
                          Heath pedals,pedals,build,in-hand,60.00,GBP,60.00,300,weighed,,\n";
const NO_BIKES: &str = "bike,price,mass_g\n";

#[test]
fn bikes_are_brought_to_one_basis_or_left_out() {
    let bikes = "bike,price,currency,mass_g,basis\nBare,900.00,GBP,8000,showroom\nWhole,900.00,GBP,8000,racing\nVague,900.00,GBP,8000,\n";
    let found = answer("compare", BIKE_PARTS, bikes);
    let mass = |at: usize| {
        found["bikes"][at]["mass_g"]
            .as_str()
            .unwrap()
            .parse::<f64>()
            .unwrap()
    };
    // The build's own pedals and more are added to the bare bike.
    assert!(mass(0) > 8300.0 && (mass(1) - 8000.0).abs() < 0.01);
    assert_eq!(found["left_out"][0]["bike"], "Vague");
}

#[test]
fn parts_that_do_not_fit_are_an_error_and_never_proposed() {
    let parts = format!(
        "{BIKE_PARTS}Wide post,seatpost,option,to-order,80.00,GBP,,180,weighed,seatpost_diameter=31.6,\n"
    );
    let found = answer("rank", &parts, NO_BIKES);
    assert_eq!(found["not_fitting"][0]["part"], "Wide post");
    assert!(
        found["options"].as_array().unwrap().is_empty()
            && found["ladder"]["steps"].as_array().unwrap().is_empty()
    );
    let clash = BIKE_PARTS.replacen("=27.2", "=31.6", 1);
    let ran = landwaiter("check . --to GB --on 2026-03-02")
        .file("parts.csv", clash)
        .go()
        .ends(1);
    assert!(
        ran.err
            .contains("`Heath frame` says 31.6, `Heath post` says 27.2")
            && ran.err.contains("seatpost - frame"),
        "{}",
        ran.err
    );
}

#[test]
fn an_upgrade_knows_its_doubt_its_resale_and_its_place() {
    let parts = format!(
        "{BIKE_PARTS}Light post,seatpost,option,to-order,80.00,GBP,,180,weighed,seatpost_diameter=27.2,\n\
         Same post,seatpost,option,to-order,80.00,GBP,,248,claimed,seatpost_diameter=27.2,\n"
    );
    let found = answer("rank", &parts, NO_BIKES);
    let option = |at: usize| &found["options"][at];
    assert_eq!(
        [
            &option(0)["part"],
            &option(0)["together"],
            &option(0)["resale"],
            &option(0)["dM"]
        ],
        ["Light post", "75.00", "5.00", "70"]
    );
    assert_eq!(
        (
            option(0)["doubtful"].as_bool(),
            option(1)["doubtful"].as_bool()
        ),
        (Some(false), Some(true))
    );
    // One post goes into one frame.
    assert_eq!(found["ladder"]["steps"].as_array().unwrap().len(), 1);
}

#[test]
fn a_sale_price_is_said() {
    let bikes = "bike,price,currency,price_kind,mass_g,basis\nLast,900.00,GBP,sale,8000,racing\nNew,900.00,GBP,list,8000,racing\n";
    let found = answer("compare", BIKE_PARTS, bikes);
    let caution = found["cautions"]
        .as_array()
        .unwrap()
        .iter()
        .find(|caution| caution["id"] == "price-kind")
        .unwrap()
        .clone();
    assert_eq!(caution["about"], serde_json::json!(["Last"]));
}

#[test]
fn the_set_stands_beside_every_ratio() {
    let bikes = "bike,price,currency,mass_g,basis\nOne,400.00,GBP,8000,racing\nOther,500.00,GBP,9000,racing\n";
    let found = answer("compare", BIKE_PARTS, bikes);
    assert_eq!(found["set"], serde_json::json!(["One", "Other"]));
    assert_eq!(
        [
            &found["bikes"][0]["frontier"],
            &found["bikes"][1]["frontier"]
        ],
        ["ND", "D"]
    );
}

#[test]
fn what_is_spent_steers_nothing() {
    let parts = |paid: &str| {
        let build = BIKE_PARTS.replace("GBP,40.00,250", &format!("GBP,{paid},250"));
        format!(
            "{build}Light post,seatpost,option,to-order,80.00,GBP,,180,weighed,seatpost_diameter=27.2,\n"
        )
    };
    let (cheap, dear) = (
        answer("rank", &parts("10.00"), NO_BIKES),
        answer("rank", &parts("400.00"), NO_BIKES),
    );
    assert_eq!(cheap["options"], dear["options"]);
    assert_eq!(
        (&cheap["spent"], &dear["spent"]),
        (&Value::from("70.00"), &Value::from("460.00"))
    );
}

/// What a command says of a book with these tables, delivered to Great Britain; `parts` stands for a part's row.
fn said(command: &str, tables: &[(&str, &str)]) -> Value {
    let run = landwaiter(&format!("{command} --format json")).file("settings.csv", SETTINGS);
    tables
        .iter()
        .fold(run, |run, (name, text)| run.file(name, text))
        .go()
        .ends(0)
        .json()
}

const SETTINGS: &str = "setting,value\ndestination,GB\ndate,2026-09-23\nkind,gravel\n";
const COLUMNS: &str = "part,place,standing,seller,price,currency,dispatch,mass_g,channel,freight,collects_tax,transit_days,return_freight,warranty_months\n";

/// A stem at 60.00 that its seller sends for nothing and takes VAT for; sent back for this much.
fn stem(price: &str, return_freight: &str) -> String {
    format!(
        "{COLUMNS}Stem,stem,on-order,Skerry Supply,{price},GBP,TW,120,post,0,yes,10,{return_freight},24\n"
    )
}

#[test]
fn what_is_charged_twice_is_named_and_can_be_asked_for() {
    let at_sale =
        "consignment,charge,amount,currency,date\nSkerry Supply,tax_at_sale,12.00,GBP,2026-09-23\n";
    let again = format!("{at_sale}Skerry Supply,tax_at_border,12.00,GBP,2026-10-03\n");
    let of = |receipts: &str| {
        said(
            "settle . --day 2026-10-10",
            &[
                ("parts.csv", &stem("60.00", "4.00")),
                ("receipts.csv", receipts),
            ],
        )
    };
    let charge = |found: &Value, name: &str| {
        let charges = found["consignments"][0]["charges"].as_array().unwrap();
        charges
            .iter()
            .find(|charge| charge["charge"] == name)
            .cloned()
    };
    let (once, twice) = (of(at_sale), of(&again));
    // 20 % of 60.00, taken at the sale as the parcel stays under the limit.
    assert_eq!(charge(&once, "tax_at_sale").unwrap()["difference"], "0.00");
    assert!(charge(&once, "tax_at_border").is_none());
    let door = charge(&twice, "tax_at_border").unwrap();
    assert_eq!(
        [&door["estimated"], &door["charged"], &door["unexplained"]],
        ["0.00", "12.00", "0.00"]
    );
    assert_eq!(
        [&door["causes"][0]["cause"], &door["causes"][0]["amount"]],
        ["charged-twice", "12.00"]
    );
    let claim = &door["claim"];
    assert_eq!(
        [&claim["reason"], &claim["amount"]],
        ["charged-twice", "12.00"]
    );
    assert!(
        claim["row"]
            .as_str()
            .unwrap()
            .starts_with("rates/gb/refunds.csv:"),
        "{claim}"
    );
}

#[test]
fn sending_back_may_cost_more_than_it_gives() {
    let of = |price: &str, freight: &str| {
        said(
            "return . --part Stem --day 2026-10-10",
            &[("parts.csv", &stem(price, freight))],
        )
    };
    let least = |found: &Value| found["ways"][0]["what"].clone();
    let (cheap, dear) = (of("60.00", "4.00"), of("15.00", "40.00"));
    // 60.00 and the VAT of 12.00 come back from the seller, less 4.00: of 72.00 only the freight is lost.
    assert_eq!(
        [&cheap["landed"], &cheap["surely_back"], &cheap["lost"]],
        ["72.00", "68.00", "4.00"]
    );
    assert_eq!(least(&cheap), "send it back");
    // 18.00 come back and 40.00 are paid: more is lost than the 18.00 it cost.
    assert_eq!(
        [&dear["landed"], &dear["surely_back"], &dear["lost"]],
        ["18.00", "-22.00", "40.00"]
    );
    assert_eq!(least(&dear), "keep it unused");
    let unknown = of("15.00", "");
    assert!(
        unknown["freight_back"].is_null(),
        "not known is not zero: {unknown}"
    );
}

#[test]
fn small_parts_that_nothing_fills_are_named_before_the_day_of_building() {
    let of = |more: &str| {
        let header = "part,place,price,currency,mass_g\n";
        said(
            "check .",
            &[(
                "parts.csv",
                &format!(
                    "{header}Heath frame,frame,500.00,GBP,1200\nHeath tyre,tyre,40.00,GBP,480\n{more}"
                ),
            )],
        )
    };
    let place = |found: &Value, name: &str| {
        found["empty"]
            .as_array()
            .unwrap()
            .iter()
            .find(|empty| empty["place"] == name)
            .cloned()
    };
    let (without, with) = (of(""), of("Heath clamp,seat-clamp,9.00,GBP,14\n"));
    for forgotten in ["seat-clamp", "quick-link", "rim-tape"] {
        assert_eq!(
            place(&without, forgotten).unwrap()["often_forgotten"],
            true,
            "{forgotten}"
        );
    }
    assert_eq!(place(&without, "fork").unwrap()["need"], "required");
    assert!(place(&without, "frame").is_none() && place(&with, "seat-clamp").is_none());
    assert_eq!(
        without["empty"].as_array().unwrap().len(),
        with["empty"].as_array().unwrap().len() + 1
    );
}

#[test]
fn claims_are_set_against_the_scale() {
    let parts = "part,place,price,currency,mass_g\nHeath frame,frame,500.00,GBP,1200\nHeath bar,handlebar,60.00,GBP,300\n";
    let weighings = "what,mass_g,scale_g,basis,date\nHeath frame,1212,1,,2026-09-20\nHeath bar,345,1,,2026-09-20\nbike,1600,5,racing,2026-09-21\n";
    let found = said(
        "settle . --basis racing",
        &[("parts.csv", parts), ("weighings.csv", weighings)],
    );
    let part = |name: &str| {
        found["weighings"]
            .as_array()
            .unwrap()
            .iter()
            .find(|weighed| weighed["part"] == name)
            .unwrap()
            .clone()
    };
    let (frame, bar) = (part("Heath frame"), part("Heath bar"));
    assert_eq!(
        [
            &frame["claimed_g"],
            &frame["mass_g"],
            &frame["percent"],
            &frame["unusual"]
        ],
        [
            &Value::from("1200"),
            &"1212".into(),
            &"1.0".into(),
            &false.into()
        ]
    );
    assert_eq!(
        [
            &bar["claimed_g"],
            &bar["mass_g"],
            &bar["percent"],
            &bar["unusual"]
        ],
        [
            &Value::from("300"),
            &"345".into(),
            &"15.0".into(),
            &true.into()
        ]
    );
    // The scale found 43 g that no part accounts for.
    let bike = &found["bike"][0];
    assert_eq!(
        [&bike["scale_g"], &bike["sum_g"], &bike["gap_g"]],
        ["1600", "1557", "43"]
    );
    assert_eq!(bike["inside"], false);
}

#[test]
fn warranty_and_deadlines_have_their_days() {
    let receipts = "consignment,charge,amount,currency,date\nSkerry Supply,tax_at_border,40.00,GBP,2026-10-03\n";
    let tables = [
        ("parts.csv", stem("200.00", "4.00")),
        ("receipts.csv", receipts.to_owned()),
    ];
    let tables: Vec<(&str, &str)> = tables
        .iter()
        .map(|(name, text)| (*name, text.as_str()))
        .collect();
    let settled = said("settle . --day 2026-10-10", &tables);
    // Ten days on the way from 23 September: 24 months of warranty, and a year for goods at fault.
    assert_eq!(
        settled["warranties"],
        serde_json::json!([{"part": "Stem", "until": "2028-10-03"}])
    );
    assert_eq!(
        [
            &settled["rejects"][0]["consignment"],
            &settled["rejects"][0]["until"]
        ],
        ["Skerry Supply", "2027-10-03"]
    );
    let back = |day: &str| {
        said(
            &format!("return . --part Stem --reason faulty --day {day}"),
            &tables,
        )
    };
    let tax = |found: &Value| {
        let charges = found["charges"].as_array().unwrap();
        let line = charges
            .iter()
            .find(|line| line["charge"] == "tax_at_border")
            .unwrap();
        (line["comes_back"].clone(), line["until"].clone())
    };
    let (last, late) = (back("2027-10-03"), back("2027-10-04"));
    assert_eq!(tax(&last), ("possible".into(), "2027-10-03".into()));
    assert_eq!(tax(&late), ("no".into(), "2027-10-03".into()));
    assert_eq!(
        last["warranty"],
        serde_json::json!({"months": 24, "until": "2028-10-03"})
    );
    let told = tables.iter().fold(
        landwaiter("return . --part Stem --day 2028-10-04 --more").file("settings.csv", SETTINGS),
        |run, (name, text)| run.file(name, text),
    );
    let told = told.go().ends(0).out;
    assert!(
        told.contains(
            "Warranty as entered: 24 months from the arrival, until 2028-10-03, which is over."
        ),
        "{told}"
    );
}
