//! `landwaiter` alone in a build's folder: where the build stands, what is late, what to do now.

use super::harness::{Ran, landwaiter as run, project};
use landwaiter::units::Date;

const PARTS: &str = "part,place,standing,seller,price,currency,quantity,paid,mass_g,mass_kind,origin,seen,comes_with,warranty_months\n\
    Bar,handlebar,on-order,Northmoor,120.00,USD,1,104.00,260,claimed,TW,2026-09-01,,600\n\
    Clamp,spare,bundled,,,,1,,20,claimed,,,Bar,\n\
    Saddle,saddle,to-order,Southmoor,80.00,EUR,1,,210,claimed,DE,2026-05-01,,\n\
    Bell,bell,in-hand,,,,1,7.50,60,claimed,,,,\n\
    Stem,stem,in-hand,,,,1,30.00,118,weighed,,,,\n\
    Pedals,pedals,,,,,1,,,,,,,\n";

const SELLERS: &str = "seller,dispatch,currency,freight,channel,collects_tax,transit_days\n\
    Northmoor,TW,USD,15.00,post,no,10\nSouthmoor,DE,EUR,9.00,courier,no,5\n";

fn alone(args: &str, more: &[(&str, &str)]) -> Ran {
    let settings = "setting,value\ndestination,GB\ndate,2026-09-23\ncard_fee,0\n";
    let files = [
        ("parts.csv", PARTS),
        ("sellers.csv", SELLERS),
        ("settings.csv", settings),
    ];
    let with = |run: super::harness::Run, (name, text): &(&str, &str)| run.file(name, text);
    let run = files.iter().fold(run(args), with);
    more.iter().fold(run, with).go()
}

/// Two of six rows are here, one of them weighed; the bar and the clamp in its box are on the way; the saddle is to order and the
/// pedals have no price.
#[test]
fn every_row_of_the_build_is_in_one_state() {
    let json = alone("--format json", &[]).ends(0).json();
    assert_eq!(json["format"], "landwaiter.today/1");
    let counts = ["all", "here", "on_the_way", "to_order", "open", "weighed"];
    let found = counts.map(|name| json["parts"][name].as_u64().unwrap());
    assert_eq!(found, [6, 2, 2, 1, 1, 1]);
    assert_eq!(json["unweighed"], serde_json::json!(["Bell"]));
    assert_eq!(json["old_prices"], serde_json::json!(["Saddle"]));
}

/// Ordered on 23 September and ten days on its way: expected on 3 October 2026, which is over.
#[test]
fn what_is_late_is_asked_after() {
    let ran = alone("", &[]).ends(0);
    assert!(ran.out.contains("2026-10-03, "), "{}", ran.out);
    assert!(ran.out.contains("days late"), "{}", ran.out);
    assert!(ran.out.contains("Ask where Northmoor is"), "{}", ran.out);
    assert!(ran.out.contains("`landwaiter order`"), "{}", ran.out);
    let json = alone("--format json", &[]).ends(0).json();
    assert_eq!(json["expected"][0]["on"], "2026-10-03");
    let today = Date::parse(json["today"].as_str().unwrap()).unwrap();
    let late = json["expected"][0]["days_late"].as_u64().unwrap();
    let expected = Date::parse("2026-10-03").unwrap();
    assert_eq!(expected.plus_days(u32::try_from(late).unwrap()), today);
    // The bar's warranty of 600 months runs from the day on which it was to arrive, and ends too late to be shown.
    let ends = json["deadlines"].as_array().unwrap().iter();
    let ends: Vec<_> = ends
        .filter(|one| one["what"] == "the warranty of Bar ends")
        .collect();
    assert_eq!(ends[0]["on"], "2076-10-03");
    assert!(!ran.out.contains("warranty"), "{}", ran.out);
}

/// A parcel that is expected on a day of the far future is not late; what was charged at the door already is not to be paid again.
#[test]
fn what_is_expected_later_is_not_late_and_what_is_charged_is_not_due() {
    let coming = [
        (
            "parcels.csv",
            "seller,ordered,arrived\nNorthmoor,2026-09-01,2098-01-01\n",
        ),
        (
            "receipts.csv",
            "consignment,charge,amount,currency,date\nNorthmoor,handling,12.00,GBP,2026-09-20\n",
        ),
    ];
    let json = alone("--format json", &coming).ends(0).json();
    let expected = &json["expected"][0];
    assert_eq!(expected["on"], "2098-01-01");
    assert_eq!(expected["days_late"], serde_json::Value::Null);
    assert_eq!(expected["to_pay_carrier"], "0.00");
    assert_eq!(json["to_pay_carrier"], "0.00");
}

/// A bar of 400.00 USD bears duty and VAT at the door: until a receipt says what was charged, it is asked for.
#[test]
fn a_bill_at_the_door_is_asked_for_until_it_is_entered() {
    let parts = PARTS.replace(
        "on-order,Northmoor,120.00,USD,1,104.00",
        "in-hand,Northmoor,400.00,USD,1,",
    );
    let here = [
        ("parts.csv", parts.as_str()),
        (
            "parcels.csv",
            "seller,ordered,arrived\nNorthmoor,2026-09-01,2026-09-20\n",
        ),
        (
            "receipts.csv",
            "consignment,charge,amount,currency,date\nNorthmoor,to_pay_seller,415.00,USD,2026-09-01\n",
        ),
    ];
    let json = alone("--format json", &here).ends(0).json();
    assert_eq!(json["without_receipt"], serde_json::json!(["Northmoor"]));
    let mut told = here;
    let charged = format!(
        "{}Northmoor,to_pay_carrier,96.00,GBP,2026-09-20\n",
        here[2].1
    );
    told[2].1 = &charged;
    let json = alone("--format json", &told).ends(0).json();
    assert_eq!(json["without_receipt"], serde_json::json!([]));
}

#[test]
fn it_is_short_and_fits_a_narrow_terminal() {
    for example in ["gravel-build", "first-build", "after-delivery"] {
        let folder = project("examples").join(example);
        let out = run("").within(folder).columns(80).go().ends(0).out;
        assert!(out.lines().count() <= 25, "{example}: {out}");
        let widest = out.lines().map(|line| line.chars().count()).max().unwrap();
        assert!(widest <= 80, "{example}: {out}");
    }
}

/// What is wrong is said as `check` says it, and nothing is calculated.
#[test]
fn what_is_refused_is_said_as_check_says_it() {
    let wrong = [("weighings.csv", "part,mass_g\nNothing,12\n")];
    let [alone, check] = ["", "check"].map(|args| alone(args, &wrong).ends(1).err);
    assert_eq!(alone, check);
    assert!(alone.contains("nothing is calculated until"), "{alone}");
}

/// A part that was missing in its parcel is paid for and counted beside the build; its place is open again.
#[test]
fn what_is_missing_stands_beside_the_build() {
    let parts = PARTS.replace("Stem,stem,in-hand", "Stem,stem,missing");
    let ran = alone("--format json", &[("parts.csv", &parts)]).ends(0);
    let parts = &ran.json()["parts"];
    let found = ["all", "here", "gone"].map(|name| parts[name].as_u64().unwrap());
    assert_eq!(found, [5, 1, 1]);
    let empty = ran.json()["empty_places"].to_string();
    assert!(empty.contains("\"stem\""), "{empty}");
}
