//! Parcels on which a second reading of the tables found the law wrong, hidden or said too surely. Each sum is worked by hand from
//! the text that is named above it.

use landwaiter::cost;
use landwaiter::landed::Bill;
use landwaiter::units::Dec;

use crate::kit::{self, built_in};

/// The bill of one parcel: where it goes and when, `dispatch,currency,freight,channel` of its seller, rows of `parts.csv`.
fn bill(to: &str, day: &str, seller: &str, columns: &str, parts: &[&str]) -> Bill {
    let settings = format!("setting,value\ndestination,{to}\ndate,{day}\n");
    let mut rows = format!("{columns},seller\n");
    parts.iter().for_each(|row| rows.push_str(&format!("{row},Kelpwood\n")));
    let sellers = format!("dispatch,currency,freight,channel,seller,transit_days\n{seller},Kelpwood,0\n");
    let book = kit::book(&[("settings", &settings), ("parts", &rows), ("sellers", &sellers)]);
    let landed =
        cost(&book, &built_in(), &kit::ask(&book)).unwrap_or_else(|problems| panic!("{}", landwaiter::text::draw(&problems, false)));
    landed.bills.into_iter().next().unwrap()
}

/// The usual columns.
const GOODS: &str = "part,place,price,origin,preference,commodity";

fn figure(text: &str) -> Dec {
    landwaiter::units::number::plain(text).unwrap()
}

fn says(bill: &Bill, caution: &str) -> bool {
    bill.cautions.iter().any(|c| c.id == caution)
}

/// Impl. Reg. (EU) 2025/141, 2025/1189, 2025/2153: registered from 31 January 2025, charged back; the rate was not read.
#[test]
fn screws_without_heads_made_in_china_are_a_gap_by_name() {
    let gaps = |to: &str, day: &str, origin: &str, digits: &str| {
        bill(to, day, "CN,EUR,0,courier", GOODS, &[&format!("screws,caliper-bolts,200,{origin},,{digits}")]).gaps
    };
    assert_eq!(gaps("DE", "2026-11-20", "CN", "73181542"), ["screws"]);
    assert_eq!(gaps("NL", "2025-01-31", "CN", "73181548"), ["screws"]);
    assert_eq!(gaps("XI", "2026-11-20", "CN", "73181542"), ["screws"]);
    assert!(gaps("DE", "2025-01-30", "CN", "73181542").is_empty());
    assert!(gaps("DE", "2026-11-20", "TW", "73181542").is_empty());
    assert!(gaps("DE", "2026-11-20", "CN", "73181562").is_empty());
}

/// A helmet of 200 to 450 g and a saddle that weighs as much share the freight of 20 in halves.
#[test]
fn what_the_rider_wears_takes_its_share_of_the_freight() {
    let columns = "part,place,price,origin,mass_g";
    for place in ["helmet", "shoes", "clothing", "pump", "lock", "trainer"] {
        let bill = bill("HK", "2026-11-20", "TW,HKD,20,courier", columns, &[&format!("thing,{place},50,TW,"), "saddle,saddle,50,TW,325"]);
        assert!(bill.lines[0].amounts.landed().unwrap() > figure("50"), "{place} bears no freight");
    }
    let even = bill("HK", "2026-11-20", "TW,HKD,20,courier", columns, &["thing,helmet,50,TW,", "saddle,saddle,50,TW,325"]);
    assert_eq!((even.lines[0].amounts.landed().unwrap(), even.lines[1].amounts.landed().unwrap()), (figure("60"), figure("60")));
}

/// Tables with one layer of duty, or whose first layer is no preference, say a claim that nothing grants, as the others do.
#[test]
fn a_claim_that_no_row_grants_is_said_everywhere() {
    let said = |to: &str, currency: &str, origin: &str| {
        let row = format!("jersey,clothing,5000,{origin},yes,611030");
        says(&bill(to, "2026-11-20", &format!("{origin},{currency},0,courier"), GOODS, &[&row]), "preference-unknown")
    };
    for (to, currency, origin) in [("NO", "NOK", "GB"), ("NZ", "NZD", "GB"), ("JP", "JPY", "GB"), ("IN", "INR", "GB"), ("DE", "EUR", "TW")]
    {
        assert!(said(to, currency, origin), "{to}");
    }
    let granted = bill("DE", "2026-11-20", "JP,EUR,0,courier", GOODS, &["saddle,saddle,500,JP,yes,871495"]);
    assert!(!says(&granted, "preference-unknown"));
}
