//! What the tables of many destinations ask of the engine beside Great Britain's: the lesser of two, a rate that is
//! missing for one of two lines, fees inside a tax base, fees where the table has none.

use landwaiter::units::{Dec, HomeMoney};

use super::{ask, bill, built_in, dec, landed, row, tables};
use crate::small::home;

const HEAD: &str = "part,place,seller,price,currency,dispatch,origin,commodity,freight,sender,standing,channel,handling,mass_g\n";

fn gift(lines: &[(&str, &str, &str)]) -> String {
    let line = |(part, price, digits): &(&str, &str, &str)| {
        format!("{part},frame,Aunt,{price},EUR,HK,HK,{digits},0,gift,given,post,,500\n")
    };
    HEAD.to_owned() + &lines.iter().map(line).collect::<String>()
}

/// `gift least`: the flat 2.5 % or the tariff, whichever is less; goods free in the tariff bear nothing.
#[test]
fn of_a_gift_s_two_duties_the_lesser_counts() {
    let asked = ask("DE", "2026-11-20", &[]);
    for (digits, duty, counts) in [
        ("87149500", "2.50", "gift_flat_duty"),
        ("82041100", "1.70", "gift_tariff_duty"),
        ("85044060", "0", "gift_tariff_duty"),
    ] {
        let bill = bill(&gift(&[("Thing", "100", digits)]), built_in(), &asked);
        assert_eq!(bill.amounts.duty, home(duty), "{digits}");
        assert_eq!(row(&bill, counts), dec(duty), "{digits}");
        assert!(bill.gaps.is_empty(), "{digits}");
        let base = dec("100").plus(bill.amounts.duty.amount()).unwrap();
        assert_eq!(
            bill.amounts.tax_at_border.amount(),
            dec("0.19")
                .times(base)
                .unwrap()
                .round_to(2, landwaiter::units::Mode::HalfUp),
            "{digits}"
        );
    }
}

/// A row that knows the rate of one line only is not the least for two.
#[test]
fn a_rate_missing_for_one_line_is_not_taken_for_zero() {
    let asked = ask("DE", "2026-11-20", &[]);
    let one = bill(&gift(&[("Suit", "100", "620311")]), built_in(), &asked);
    assert_eq!(
        one.amounts.duty,
        home("2.50"),
        "no tariff row: the flat rate counts, and nothing is missing"
    );
    assert!(one.gaps.is_empty());
    let two = bill(
        &gift(&[("Charger", "100", "85044060"), ("Suit", "100", "620311")]),
        built_in(),
        &asked,
    );
    assert_eq!(
        two.amounts.duty,
        home("2.50"),
        "the charger is free in the tariff and bears no flat rate, the suit's rate is not known"
    );
    let dear = bill(
        &gift(&[("Charger", "100", "85044060"), ("Suit", "800", "620311")]),
        built_in(),
        &asked,
    );
    assert_eq!(
        dear.gaps,
        ["Suit"],
        "above 700 the flat rate falls away and the want of a rate is named"
    );
}

/// A duty that works on one line does not hide that the other has no rate.
#[test]
fn a_gap_of_one_line_is_named_beside_another_line_s_duty() {
    let rows = "charge,kind,order,level,of,percent,round,when,valid_from\n\
        steel_levy,duty,21,line,customs_value,10,half_up 0.01,trait.steel = yes,2020-01-01\n";
    let own = tables(&[("nz/charges.csv", rows)]);
    let parts = "part,place,seller,price,currency,dispatch,origin,freight,traits\n\
        Bar,handlebar,Shop,1000,NZD,TW,TW,0,steel=yes\nFrame,frame,Shop,1000,NZD,TW,TW,0,\n";
    let bill = bill(parts, &own, &ask("NZ", "2026-11-20", &[]));
    assert_eq!(bill.amounts.duty, home("100"));
    assert_eq!(
        bill.gaps,
        ["Bar", "Frame"],
        "the layer of ordinary duty owes a rate for every line"
    );
}

fn parcel(
    price: &str,
    money: &str,
    dispatch: &str,
    channel: &str,
    handling: &str,
    lines: u32,
) -> String {
    let line = |n| {
        format!(
            "Part {n},frame,Shop,{price},{money},{dispatch},{dispatch},87149{n},0,business,,{channel},{handling},500\n"
        )
    };
    HEAD.to_owned() + &(1..=lines).map(line).collect::<String>()
}

/// Switzerland: the clearance fee lies in the tax base, the postal operator's and a courier's alike.
#[test]
fn a_fee_inside_the_swiss_tax_base() {
    let asked = ask("CH", "2026-11-20", &[]);
    let of = |channel: &str, handling: &str| {
        bill(
            &parcel("1000", "CHF", "DE", channel, handling, 1),
            built_in(),
            &asked,
        )
    };
    for (channel, handling, fee, tax) in [
        ("courier", "", "0", "81"),
        ("courier", "19.00", "19", "82.55"),
        ("post", "", "43", "84.50"),
        ("post", "19.00", "19", "82.55"),
    ] {
        let bill = of(channel, handling);
        assert_eq!(bill.amounts.handling, home(fee), "{channel} {handling}");
        assert_eq!(
            bill.amounts.tax_at_border,
            home(tax),
            "{channel} {handling}"
        );
    }
    let small = bill(
        &parcel("60", "CHF", "DE", "courier", "19.00", 1),
        built_in(),
        &asked,
    );
    assert_eq!(
        small.amounts.at_door().unwrap(),
        HomeMoney::ZERO,
        "nothing levied, no fee"
    );
}

/// Ten francs for each tariff number above five; five or fewer are nothing, and the trail says so.
#[test]
fn fees_counted_by_the_line() {
    let asked = ask("CH", "2026-11-20", &[]);
    let of = |lines| {
        bill(
            &parcel("100", "CHF", "DE", "post", "", lines),
            built_in(),
            &asked,
        )
    };
    let (five, six) = (of(5), of(6));
    assert_eq!(row(&five, "fee_lines"), Dec::ZERO);
    let step = five
        .trail
        .iter()
        .find(|step| step.id == "fee_lines")
        .unwrap();
    assert!(step.text.contains("none of it due here"), "{}", step.text);
    assert_eq!(row(&six, "fee_lines"), dec("10"));
}

/// Where a table has no row for the carrier's fee, what the user gives is counted, once something is advanced.
#[test]
fn handling_where_the_table_has_no_fee() {
    for (to, money, price) in [
        ("SG", "SGD", "1000"),
        ("KR", "KRW", "1000000"),
        ("NO", "NOK", "10000"),
        ("JP", "JPY", "100000"),
        ("CA-ON", "CAD", "1000"),
    ] {
        let of = |price: &str| {
            bill(
                &parcel(price, money, "TW", "courier", "25", 1),
                built_in(),
                &ask(to, "2026-11-20", &[]),
            )
        };
        assert_eq!(of(price).amounts.handling, home("25"), "{to}");
    }
    let australia = bill(
        &parcel("2000", "AUD", "TW", "courier", "25", 1),
        built_in(),
        &ask("AU", "2026-11-20", &[]),
    );
    assert_eq!(
        australia.amounts.handling,
        home("120"),
        "beside the authorities' 50 and 45"
    );
    let free = bill(
        &parcel("300", "SGD", "TW", "courier", "25", 1),
        built_in(),
        &ask("SG", "2026-11-20", &[]),
    );
    assert_eq!(
        free.amounts.handling,
        HomeMoney::ZERO,
        "nothing advanced, no fee"
    );
}

/// How much of the freight counts up to the border stands in the trail with its row.
#[test]
fn the_share_of_freight_is_in_the_trail() {
    let parts = "part,place,seller,price,currency,dispatch,origin,freight,channel\nFrame,frame,Shop,1000,EUR,CN,CN,100,courier\n";
    let germany = bill(parts, built_in(), &ask("DE", "2026-11-20", &[]));
    let step = germany
        .trail
        .iter()
        .find(|step| step.id == "freight.border")
        .unwrap();
    assert_eq!(
        (step.amount, step.text.as_str()),
        (
            Some(dec("70")),
            "70 % of the freight counts up to the border"
        )
    );
    assert!(
        step.row
            .as_ref()
            .unwrap()
            .to_string()
            .starts_with("rates/border_freight.csv:")
    );
    assert_eq!(germany.customs_value, home("1070"));
    let ireland = bill(parts, built_in(), &ask("IE", "2026-11-20", &[]));
    assert!(
        ireland.trail.iter().all(|step| step.id != "freight.border"),
        "all of it counts there"
    );
    assert_eq!(ireland.customs_value, home("1100"));
}

/// A member without the euro converts by its own authority's rate; that another stands in is said.
#[test]
fn a_member_without_the_euro_is_told_whose_rate_is_used() {
    let parts = "part,place,seller,price,currency,dispatch,origin,freight\nFrame,frame,Shop,1000,USD,TW,TW,0\n";
    let said = |to: &str| {
        bill(parts, built_in(), &ask(to, "2026-10-26", &[]))
            .cautions
            .into_iter()
            .any(|c| c.id == "customs-rate")
    };
    assert!(said("SE") && said("CZ") && !said("DE") && !said("FI"));
}

/// What a claim would save is calculated for the lines that a row grants a preference, and for no others: the ordinary
/// rate of a cheap chain is less than 3 EUR, but nobody grants Taiwan anything.
#[test]
fn a_preference_that_nobody_grants_is_not_proposed() {
    let parts = |chain: &str| {
        format!(
            "part,place,seller,price,currency,dispatch,origin,freight,channel\n\
             Saddle,saddle,Shop,80,EUR,{chain},TW,0,post\nChain,chain,Shop,20,EUR,{chain},{chain},0,post\n"
        )
    };
    let saved = |chain: &str| {
        let bill = bill(&parts(chain), built_in(), &ask("DE", "2026-07-02", &[]));
        bill.cautions
            .into_iter()
            .find(|c| c.id == "preference-possible")
            .map(|c| c.to_string())
    };
    assert_eq!(saved("TW"), None);
    // the chain of Japan: 3.00 of duty and 19 % of it
    assert!(
        saved("JP").is_some_and(|text| text.starts_with("3.57: ")),
        "{:?}",
        saved("JP")
    );
}

/// A claim that no row grants changes nothing: it does not take the place of the 3 EUR either.
#[test]
fn a_preference_that_nobody_grants_saves_nothing() {
    let duty = |claim: &str, origin: &str| {
        let parts = format!(
            "part,place,seller,price,currency,dispatch,origin,preference,freight,channel\nSaddle,saddle,Shop,20,EUR,{origin},{origin},{claim},0,post\n"
        );
        let bill = bill(&parts, built_in(), &ask("DE", "2026-07-02", &[]));
        (
            bill.amounts.duty,
            bill.cautions.iter().any(|c| c.id == "preference-unknown"),
        )
    };
    assert_eq!(duty("no", "TW"), (home("3"), false));
    assert_eq!(duty("yes", "TW"), (home("3"), true));
    assert_eq!(duty("yes", "JP"), (home("0"), false));
}

/// Anti-dumping that hangs on an origin nobody stated is said, with the sum it makes.
#[test]
fn anti_dumping_by_an_assumed_origin_is_said() {
    let parts = |origin: &str| {
        format!(
            "part,place,seller,price,currency,dispatch,origin,freight,channel,handling\nFrame,frame,Shop,500,GBP,CN,{origin},0,courier,12\n"
        )
    };
    let said = |origin: &str| {
        let bill = bill(&parts(origin), built_in(), &ask("GB", "2026-03-02", &[]));
        bill.cautions
            .into_iter()
            .find(|c| c.id == "origin-assumed")
            .map(|c| (c.to_string(), c.about))
    };
    assert_eq!(said("CN"), None);
    let (text, about) = said("").unwrap();
    // 48.5 % of 500 and 20 % of that
    assert!(
        text.starts_with("291: ")
            && text.contains(
                "China is assumed and anti-dumping duty is counted; made elsewhere, the total is lower"
            ),
        "{text}"
    );
    assert_eq!(about, ["Shop", "Frame"]);
}

/// Where charges are advanced and nobody has said what the carrier asks for it, that is said.
#[test]
fn a_carrier_s_fee_that_is_not_known_is_said() {
    let said = |to: &str, money: &str, channel: &str, handling: &str| {
        let bill = bill(
            &parcel("1000", money, "TW", channel, handling, 1),
            built_in(),
            &ask(to, "2026-11-20", &[]),
        );
        bill.cautions
            .into_iter()
            .any(|c| c.id == "carriers-fee-unknown")
    };
    assert!(
        said("DE", "EUR", "courier", "")
            && said("US", "USD", "courier", "")
            && said("ES", "EUR", "post", "")
    );
    assert!(!said("DE", "EUR", "courier", "15.00"), "the book says it");
    assert!(
        !said("DE", "EUR", "post", "") && !said("GB", "GBP", "courier", ""),
        "the tables say it"
    );
    assert!(
        !said("DE", "EUR", "courier", "0"),
        "nothing is a figure too"
    );
}

/// Where no limit is tested, the true price is to be declared all the same.
#[test]
fn every_import_is_told_to_declare_the_true_price() {
    let text = parcel("1000", "USD", "TW", "courier", "", 1);
    let landed = landed(&text, built_in(), &ask("US", "2026-11-20", &[]));
    assert!(landed.bills.iter().all(|bill| bill.limits.is_empty()));
    assert!(
        ["declare", "scams"]
            .iter()
            .all(|id| landed.cautions.iter().any(|c| c.id == *id))
    );
}
