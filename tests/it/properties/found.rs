//! What trials on made-up books found, each as the smallest book that shows it.

use landwaiter::landed::Landed;
use landwaiter::units::number::plain;
use landwaiter::units::{Dec, HomeMoney};

use super::books::calculate;
use crate::made::files;

fn of(tables: &[(&str, &str)]) -> Result<Landed, String> {
    let settings = (
        "settings",
        "setting,value\ndestination,GB\ndate,2026-03-02\ncard_fee,0\n",
    );
    let given = tables.iter().any(|(table, _)| *table == "settings");
    let tables: Vec<(&str, &str)> = (tables.iter().copied())
        .chain((!given).then_some(settings))
        .collect();
    calculate(&files(&tables))
}

fn landed(tables: &[(&str, &str)]) -> String {
    of(tables)
        .unwrap_or_else(|refused| panic!("{refused}"))
        .totals
        .landed()
        .unwrap()
        .fixed(2)
}

const SELLER: &str = "part,place,seller,price,currency,dispatch,freight,transit_days";

#[test]
fn a_credit_takes_no_more_than_is_asked() {
    let parts = format!("{SELLER},prices_include\nStem,stem,Alder,119.00,EUR,TW,0,0,19\n");
    let codes = "code,seller,scope,amount,pays\nPOINTS,Alder,basket,119.00,credit\n";
    let landed = of(&[("parts", &parts), ("discounts", codes)]).unwrap();
    assert_eq!(
        landed.bills[0].seller_sum.amount().fixed(2),
        "20.00",
        "the goods are paid by the points, their tax is not"
    );
}

#[test]
fn insurance_is_taxed_where_prices_hold_the_tax() {
    let columns = "collects_tax,insurance,prices_include";
    let parts = |price: &str, included: &str| {
        format!("{SELLER},{columns}\nStem,stem,Alder,{price},GBP,TW,10.00,0,yes,5.00,{included}\n")
    };
    let apart = of(&[("parts", &parts("100.00", ""))])
        .unwrap()
        .totals
        .amounts;
    let inside = of(&[("parts", &parts("120.00", "sale-tax"))])
        .unwrap()
        .totals
        .amounts;
    assert_eq!(apart.tax_at_sale.fixed(2), "23.00");
    assert_eq!(apart, inside);
}

#[test]
fn discounts_of_one_code_are_taken_in_an_order_of_their_own() {
    let parts = format!("{SELLER}\nStem,stem,Alder,90.00,GBP,TW,0,0\n");
    let (head, one, other) = (
        "code,seller,scope,percent,amount",
        "SAVE,Alder,basket,10,",
        "SAVE,Alder,basket,,20.00",
    );
    let taken = |rows: [&str; 2]| {
        landed(&[
            ("parts", &parts),
            ("discounts", &format!("{head}\n{}\n{}\n", rows[0], rows[1])),
        ])
    };
    assert_eq!(taken([one, other]), taken([other, one]));
}

#[test]
fn a_decimal_comma_is_read_in_every_figure() {
    let settings = (
        "settings",
        "setting;value\ndestination;GB\ndate;2026-03-02\ncard_fee;2,5\n",
    );
    let parts = "part;place;seller;price;currency;dispatch;freight;transit_days;insurance;prices_include\n\
                 Stem;stem;Alder;59,50;EUR;TW;4,00;0;1,5 %;7,7\n";
    let points = (
        "settings",
        "setting,value\ndestination,GB\ndate,2026-03-02\ncard_fee,2.5\n",
    );
    let same = parts.replace(',', ".").replace(';', ",");
    assert_eq!(
        landed(&[settings, ("parts", parts)]),
        landed(&[points, ("parts", &same)])
    );
}

#[test]
fn freight_with_a_currency_before_it_is_an_amount() {
    for freight in ["kr 120", "eur 12.00"] {
        let currency = if freight.starts_with("kr") {
            "SEK"
        } else {
            "EUR"
        };
        let parts = format!("{SELLER}\nStem,stem,Alder,90.00,{currency},TW,{freight},0\n");
        assert!(
            of(&[("parts", &parts)])
                .unwrap()
                .totals
                .amounts
                .freight
                .is_positive(),
            "{freight}"
        );
    }
}

#[test]
fn what_is_bought_at_home_in_two_currencies_is_paid_in_each() {
    let (head, pounds, euros) = (
        "part,place,price,currency",
        "Stem,stem,100.00,GBP",
        "Saddle,saddle,100.00,EUR",
    );
    let of = |rows: &[&str]| landed(&[("parts", &format!("{head}\n{}\n", rows.join("\n")))]);
    let alone: Dec =
        Dec::total([of(&[pounds]), of(&[euros])].map(|sum| plain(&sum).unwrap())).unwrap();
    assert_eq!(of(&[pounds, euros]), alone.fixed(2));
    assert_eq!(of(&[euros, pounds]), alone.fixed(2));
}

#[test]
fn a_gift_is_replaced_at_its_value_in_its_own_currency() {
    let parts = "part,place,seller,price,currency,dispatch,sender,standing\n\
                 Stem,stem,Aunt,5000,JPY,JP,gift,given\nSaddle,saddle,,40.00,GBP,,,\n";
    let totals = of(&[("parts", parts)]).unwrap().totals;
    assert!(
        totals.replacement < HomeMoney::of(Dec::from(80_u32)),
        "{}",
        totals.replacement
    );
}

#[test]
fn parcels_of_two_sellers_never_become_one() {
    let parts = "part,place,seller,parcel,price,currency,dispatch\n\
                 Stem,stem,Alder,late,10.00,GBP,TW\nSaddle,saddle,Alder/late,,10.00,GBP,US\n";
    assert!(
        of(&[("parts", parts)])
            .unwrap_err()
            .contains("different sellers")
    );
    let home = "part,place,seller,price,currency,dispatch\nStem,stem,at home,10.00,GBP,TW\nSaddle,saddle,,10.00,GBP,\n";
    assert!(
        of(&[("parts", home)])
            .unwrap_err()
            .contains("different sellers")
    );
}

#[test]
fn a_credit_that_pays_the_freight_leaves_the_customs_value() {
    let parts = format!("{SELLER}\nFrame,frame,Alder,400.00,GBP,TW,50.00,0\n");
    let of = |pays: &str| {
        let codes = format!("code,seller,scope,percent,pays\nPOINTS,Alder,freight,100,{pays}\n");
        of(&[("parts", &parts), ("discounts", &codes)])
            .unwrap()
            .bills
            .remove(0)
    };
    let (lower, credit) = (of("price"), of("credit"));
    assert_eq!(
        (lower.customs_value.fixed(2), credit.customs_value.fixed(2)),
        ("400.00".to_owned(), "450.00".to_owned())
    );
    assert_eq!(lower.seller_sum, credit.seller_sum);
}

#[test]
fn freight_that_is_free_is_not_unknown() {
    for (over, unknown) in [("50.00", false), ("500.00", true)] {
        let parts = format!(
            "part,place,seller,price,currency,dispatch,free_freight_over\nStem,stem,Alder,90.00,GBP,TW,{over}\n"
        );
        let landed = of(&[("parts", &parts)]).unwrap();
        assert_eq!(
            landed
                .cautions
                .iter()
                .any(|caution| caution.id == "freight-unknown"),
            unknown,
            "{over}"
        );
    }
}
