//! Books and rows of law under which one reading once came to other sums than another: bills, workbooks and price lists agree on
//! each of them now.

use crate::harness::{Run, landwaiter};

const SELLER: &str =
    "seller,dispatch,currency,freight,channel,transit_days\nAlder,CN,GBP,0,courier,0\n";
const SETTINGS: &str = "setting,value\ndestination,GB\ndate,2026-09-23\n";
const STATED: &str = "# source = invented\n# evidence = inferred\n";

fn two_parts(one: &str, other: &str) -> String {
    format!(
        "place,part,seller,price,commodity,origin,mass_g\nframe,Bare,Alder,{one},87149110,CN,1000\n\
         saddle,Seat,Alder,{other},87149500,CN,300\n"
    )
}

/// A book bought in Great Britain's money from one seller, with a row of charges of one's own.
fn with(command: &str, parts: &str, charges: &str) -> Run {
    landwaiter(command)
        .file("b/settings.csv", SETTINGS)
        .file("b/sellers.csv", SELLER)
        .file("b/parts.csv", parts)
        .file("m/gb/charges.csv", format!("{STATED}{charges}"))
}

/// What it costs, which the workbook, refused where it comes to anything else, must come to as well.
#[cfg(feature = "pages")]
fn lands_at(parts: &str, charges: &str, landed: &str) {
    let cost = with("cost b --rates m --format json", parts, charges)
        .go()
        .ends(0);
    assert_eq!(cost.json()["totals"]["landed"], landed);
    with("report b --rates m -o sum.xlsx", parts, charges)
        .go()
        .ends(0);
}

/// A row for single lines has its least on each of them: 1.004 and 0.30 are 5.00 twice.
#[test]
#[cfg(feature = "pages")]
fn a_least_on_each_line() {
    let charges = "charge,kind,order,level,of,percent,min,currency,round,when,valid_from\n\
        own,fee,110,line,goods,1,5.00,GBP,half_up 0.01,,2021-01-01\n";
    lands_at(&two_parts("100.40", "30.00"), charges, "166.48");
}

/// Of a group of rows for single lines the least counts line by line: the frame bears 10 %, the saddle, for which there is no such
/// row, 20 %.
#[test]
#[cfg(feature = "pages")]
fn the_least_of_a_group_line_by_line() {
    let charges = "charge,kind,order,group,level,of,percent,round,when,valid_from\n\
        a_rate,duty,111,pair least,line,goods,10,half_up 0.01,place = frame,2021-01-01\n\
        b_rate,duty,112,pair least,line,goods,20,half_up 0.01,,2021-01-01\n";
    let parts = two_parts("400.40", "300.00");
    let cost = with("cost b --rates m --trail --format json", &parts, charges)
        .go()
        .ends(0);
    let json = cost.json();
    let trail = json["consignments"][0]["trail"].as_array().unwrap();
    let amount = |id: &str| {
        let row = trail.iter().find(|row| row["id"] == id).unwrap();
        row["amount"].as_str().unwrap_or_default().to_owned()
    };
    assert_eq!(
        (amount("a_rate"), amount("b_rate")),
        ("40.04".into(), "60".into())
    );
    let landed = cost.json()["totals"]["landed"].as_str().unwrap().to_owned();
    lands_at(&parts, charges, &landed);
}

/// A percentage and a flat amount on one line are rounded once: 1.004 and 0.004 are 1.01.
#[test]
fn a_percentage_and_a_flat_amount_are_rounded_once() {
    let charges = "charge,kind,order,level,of,percent,flat,per,currency,round,when,valid_from\n\
        own,fee,110,line,goods,1,0.004,piece,GBP,half_up 0.01,,2021-01-01\n";
    let parts = "place,part,seller,price,commodity,origin,mass_g\nframe,Bare,Alder,100.40,87149110,CN,1000\n";
    let cost = with("cost b --rates m --format json", parts, charges)
        .go()
        .ends(0);
    assert_eq!(cost.json()["totals"]["handling"], "1.01");
    let list = "date,seller,price,commodity,origin,mass_g,quantity\n\
        2026-09-23,Alder,100.40,87149110,CN,1000,1\n";
    let bulk = landwaiter("bulk offers.csv d --rates m")
        .file("offers.csv", list)
        .file("d/settings.csv", SETTINGS)
        .file("d/sellers.csv", SELLER)
        .file("m/gb/charges.csv", format!("{STATED}{charges}"))
        .go()
        .ends(0);
    let mut rows = csv::Reader::from_reader(bulk.out.as_bytes());
    let at = rows
        .headers()
        .unwrap()
        .iter()
        .position(|name| name == "handling");
    let row = rows.records().next().unwrap().unwrap();
    assert_eq!(at.and_then(|at| row.get(at)), Some("1.01"));
    #[cfg(feature = "pages")]
    with("report b --rates m -o sum.xlsx", parts, charges)
        .go()
        .ends(0);
}

/// A gift of two parts, one of which no row has a rate for: duty at the flat rate for gifts, the fee, and tax.
#[test]
#[cfg(feature = "pages")]
fn a_gift_with_a_part_that_has_no_rate() {
    let gift = |command: &str| {
        landwaiter(command)
            .file("b/settings.csv", SETTINGS)
            .file(
                "b/sellers.csv",
                "seller,dispatch,currency,sender,freight,channel,transit_days\nAunt,CN,GBP,gift,0,courier,0\n",
            )
            .file(
                "b/parts.csv",
                "place,part,seller,price,standing,commodity,origin,mass_g\n\
                 saddle,Seat,Aunt,300.00,given,87149500,CN,300\nframe,Odd,Aunt,300.00,given,99990000,CN,1000\n",
            )
            .go()
            .ends(0)
    };
    let cost = gift("cost b --format json").json();
    let sums = ["duty", "handling", "landed"].map(|name| cost["totals"][name].clone());
    assert_eq!(sums, ["15.00", "12.00", "150.00"]);
    gift("report b -o sum.xlsx");
}

/// Charges that are waived whatever the rate still leave the rate unknown: bills and price lists say the same of it.
#[test]
fn a_missing_rate_under_waived_charges_is_said_alike() {
    let settings = "setting,value\ndestination,DE\ndate,2026-10-30\n";
    let cost = landwaiter("cost b --format json")
        .file("b/settings.csv", settings)
        .file(
            "b/parts.csv",
            "part,place,seller,price,currency,dispatch,sender,freight,commodity\n\
             Odd,saddle,Alder,4.00,EUR,CN,private,0,99990000\n",
        )
        .go()
        .ends(0);
    let bulk = landwaiter("bulk offers.csv d")
        .file("d/settings.csv", settings)
        .file(
            "d/sellers.csv",
            "seller,dispatch,currency,sender,freight,transit_days\nAlder,CN,EUR,private,0,0\n",
        )
        .file(
            "offers.csv",
            "date,seller,price,quantity,mass_g,commodity,origin\n2026-10-30,Alder,4.00,1,100,99990000,CN\n",
        )
        .go()
        .ends(0);
    let said = (
        cost.out.contains("\"no-rate\""),
        bulk.err.contains("no rate of duty is known"),
    );
    assert_eq!(said, (true, true), "{}\n{}", cost.out, bulk.err);
}
