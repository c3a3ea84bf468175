//! The build against complete bikes: worked sums on one basis and tax-paid.

use landwaiter::compare::{Against, Comparison, Options, compare, compare_with};
use landwaiter::report::{Show, compare_json};
use landwaiter::tables::TaxName;
use landwaiter::text::draw;
use landwaiter::units::{Currency, Rate};

use super::small::{SELLERS, ask, book, tables};

/// Replacement 609.40: Northmoor 434.40 (300.00 + 20.00, duty 32.00, VAT 70.40, fee 12.00), Southmoor 40.00 + 10.00, at home
/// 100.00 and 25.00. Mass on the racing basis 1000 + 90 + 300 + 400 + 350 = 2140 g, without pedals 1790 g.
const PARTS: &str = "part,place,role,standing,seller,price,currency,paid,mass_g,comes_with\n\
                     Plain frame,frame,build,to-order,Northmoor,300.00,,,1000,\n\
                     Plain headset,headset,build,bundled,,,,,90,Plain frame\n\
                     Plain saddle,saddle,build,to-order,Southmoor,40.00,,,300,\n\
                     One-piece bar,handlebar + stem,build,in-hand,,100.00,GBP,80.00,400,\n\
                     Plain pedals,pedals,build,in-hand,,25.00,GBP,0.00,350,\n\
                     Wrench,tool,build,in-hand,,15.00,GBP,15.00,,\n";

const BIKES: &str = "bike,price,currency,price_kind,mass_g,basis,seller\n\
                     Ashgill,700.00,GBP,list,2000,showroom,\n\
                     Birkrigg,500.00,GBP,street,2300,racing,\n\
                     Cray,1000.00,GBP,sale,2200,racing,Northmoor\n\
                     Dent,650.00,GBP,list,2100,,\n\
                     Eller,,GBP,list,2100,racing,\n\
                     Foss,600.00,GBP,list,,racing,\n";

fn compared(settings: &[(&str, &str)]) -> Comparison {
    let book = book(&[("parts", PARTS), ("sellers", SELLERS), ("bikes", BIKES)]);
    compare(&book, &tables(), &ask(settings)).unwrap()
}

fn sums(against: &Against) -> (String, String, Option<String>, &'static str) {
    let d = &against.difference;
    (
        d.cost.fixed(2),
        d.saved.to_string(),
        d.per_kg().unwrap().map(|ratio| ratio.fixed(2)),
        d.quadrant().name(),
    )
}

#[test]
fn two_differences_and_a_ratio_where_it_means_something() {
    let found = compared(&[]);
    assert_eq!(
        (found.mine.replacement.fixed(2), found.mine.mass.to_string()),
        ("609.40".to_owned(), "2140".to_owned())
    );
    assert_eq!(
        (found.mine.spent.fixed(2), found.mine.to_pay.fixed(2)),
        ("80.00".to_owned(), "484.40".to_owned())
    );
    let expected = [
        // 609.40 - 700.00; 2000 g and the build's own pedals 350 g and cages 60 g, less 2140 g.
        ("-90.60", "270", None, "better"),
        // 609.40 - 500.00 for 2300 - 2140 g: 109.40 / 0.16.
        ("109.40", "160", Some("683.75"), "trade-off"),
        // Landed: 1000.00 + 20.00, duty 102.00, VAT 20 % of 1122.00 = 224.40, fee 12.00: 1358.40.
        ("-749.00", "60", None, "better"),
    ];
    for (against, (cost, saved, per_kg, quadrant)) in found.bikes.iter().zip(expected) {
        assert_eq!(
            sums(against),
            (
                cost.to_owned(),
                saved.to_owned(),
                per_kg.map(str::to_owned),
                quadrant
            )
        );
    }
    assert_eq!(
        found
            .bikes
            .iter()
            .map(|a| a.reference.imported)
            .collect::<Vec<_>>(),
        [false, false, true]
    );
    // Only the cages are a range, 30 to 90 g: the pedals are the build's own.
    assert_eq!(
        [found.bikes[0].saved.0, found.bikes[0].saved.1].map(|g| g.to_string()),
        ["240", "300"]
    );
}

#[test]
fn bikes_that_cannot_be_compared_are_named_with_the_reason() {
    let found = compared(&[]);
    let left: Vec<(&str, &str)> = found
        .left_out
        .iter()
        .map(|left| (left.bike.as_str(), left.reason.as_str()))
        .collect();
    assert_eq!(
        left.iter().map(|(bike, _)| *bike).collect::<Vec<_>>(),
        ["Dent", "Eller", "Foss"]
    );
    assert!(left[0].1.starts_with("its basis is unknown"), "{left:?}");
    assert_eq!(
        [left[1].1, left[2].1],
        ["its price is unknown", "its weight is unknown"]
    );
}

#[test]
fn another_basis_changes_the_masses_and_not_the_money() {
    let found = compared(&[("basis", "showroom")]);
    assert_eq!(found.mine.mass.to_string(), "1790");
    assert_eq!(
        sums(&found.bikes[0]),
        ("-90.60".to_owned(), "210".to_owned(), None, "better")
    );
    // Its own pedals and cages come off by the range: 2300 - 300 - 60 = 1940, from 1830 to 2050.
    assert_eq!(found.bikes[1].difference.saved.to_string(), "150");
    assert_eq!(
        [found.bikes[1].saved.0, found.bikes[1].saved.1].map(|g| g.to_string()),
        ["40", "260"]
    );
}

#[test]
fn what_the_rider_carries_goes_on_both_bikes() {
    let (racing, ride) = (compared(&[]), compared(&[("basis", "ride")]));
    for (one, other) in racing.bikes.iter().zip(&ride.bikes) {
        assert_eq!((one.difference, one.saved), (other.difference, other.saved));
    }
}

#[test]
fn the_racing_minimum_is_noted_on_the_racing_basis_alone() {
    let least = |basis: &str| {
        compared(&[("basis", basis)])
            .racing_minimum
            .map(|(_, least)| least.to_string())
    };
    assert_eq!(
        [least("showroom"), least("racing"), least("ride")],
        [None, Some("6800".to_owned()), None]
    );
    assert!(compared(&[]).bikes.iter().all(|against| {
        against
            .reference
            .mass
            .steps
            .iter()
            .all(|step| step.text != "the least that may be raced")
    }));
}

#[test]
fn ranges_are_carried_through_to_the_cost_per_kilogram() {
    // On the showroom basis Birkrigg weighs 1830 to 2050 g, the build 1790 g: 109.40 for 40 to 260 g.
    let found = compared(&[("basis", "showroom")]);
    let (low, high) = found.bikes[1].per_kg_range().unwrap().unwrap();
    assert_eq!(
        (low.fixed(2), high.fixed(2)),
        ("420.77".to_owned(), "2735.00".to_owned())
    );
    assert_eq!(found.bikes[0].per_kg_range().unwrap(), None);
}

#[test]
fn what_is_spent_is_gone_and_finishing_costs_what_is_still_to_pay() {
    // 484.40 less 700.00, 500.00 and 1358.40.
    let found = compared(&[]);
    let to_finish: Vec<String> = found
        .bikes
        .iter()
        .map(|against| against.to_finish.fixed(2))
        .collect();
    assert_eq!(to_finish, ["-215.60", "-15.60", "-874.00"]);
}

#[test]
fn a_bike_at_home_and_one_from_abroad_stand_on_the_same_terms() {
    // The same price: at home it is what is paid; from abroad 20.00 freight, 10 % duty, 20 % VAT and 12.00 come to it.
    let bikes = "bike,price,currency,mass_g,basis,seller\nHome,700.00,GBP,2000,racing,\nAbroad,700.00,GBP,2000,racing,Northmoor\n";
    let book = book(&[("parts", PARTS), ("sellers", SELLERS), ("bikes", bikes)]);
    let found = compare(&book, &tables(), &ask(&[])).unwrap();
    // 720.00, duty 72.00, VAT 158.40, fee 12.00.
    assert_eq!(
        found
            .bikes
            .iter()
            .map(|a| a.reference.price.fixed(2))
            .collect::<Vec<_>>(),
        ["962.40", "700.00"]
    );
}

#[test]
fn the_share_that_was_weighed_and_what_a_scale_will_say() {
    let parts = PARTS
        .replace("mass_g,comes_with", "mass_g,mass_kind,comes_with")
        .replace(",400,", ",400,weighed,");
    let parts = parts
        .replace(",1000,", ",1000,claimed,")
        .replace(",90,Plain", ",90,claimed,Plain")
        .replace(",300,", ",300,,")
        .replace(",350,", ",350,guess,");
    let book = book(&[
        (
            "parts",
            &parts.replace("15.00,GBP,15.00,,", "15.00,GBP,15.00,,,"),
        ),
        ("sellers", SELLERS),
        ("bikes", BIKES),
    ]);
    let found = compare(
        &book,
        &super::small::tables_with(&[super::small::SPREADS]),
        &ask(&[]),
    )
    .unwrap();
    assert_eq!(
        (
            found.mine.weighed.to_string(),
            found.mine.weighed_share().unwrap().fixed(1)
        ),
        ("400".to_owned(), "18.7".to_owned())
    );
    // Claims of 1390 g come out 7/3 % heavier, 32.4 g. A guess of 350 g lies between 297.5 and the place's 380: a third of
    // 30 - 52.5, 7.5 g less. Deviations: 22.48, 2.02 and 6.75 g of the claims, 0.82 g of the scale, 17.05 g of the guess.
    let (expected, deviation) = found.mine.expected.unwrap();
    assert_eq!(
        (expected.to_string(), deviation.to_string()),
        ("2164.9".to_owned(), "29.1".to_owned())
    );
}

#[test]
fn tools_count_only_when_asked() {
    let book = book(&[("parts", PARTS), ("sellers", SELLERS), ("bikes", BIKES)]);
    let with = compare_with(&book, &tables(), &ask(&[]), Options { with_tools: true }).unwrap();
    assert_eq!(
        (with.mine.replacement.fixed(2), with.mine.tools_left_out),
        ("624.40".to_owned(), 0)
    );
    assert_eq!(compared(&[]).mine.tools_left_out, 1);
}

#[test]
fn the_order_of_rows_changes_nothing() {
    let turned: String = {
        let mut lines: Vec<&str> = BIKES.lines().collect();
        lines[1..].reverse();
        lines.join("\n")
    };
    let book = book(&[("parts", PARTS), ("sellers", SELLERS), ("bikes", &turned)]);
    let found = compare(&book, &tables(), &ask(&[])).unwrap();
    let seen = |c: &Comparison| {
        c.bikes
            .iter()
            .map(|a| (a.reference.name.clone(), sums(a)))
            .collect::<Vec<_>>()
    };
    assert_eq!(seen(&found), seen(&compared(&[])));
}

#[test]
fn a_place_filled_twice_is_refused_before_anything_is_compared() {
    let parts = format!("{PARTS}Second saddle,saddle,build,to-order,Southmoor,40.00,,,300,\n");
    let book = book(&[("parts", &parts), ("sellers", SELLERS), ("bikes", BIKES)]);
    let problems = compare(&book, &tables(), &ask(&[])).unwrap_err();
    let drawn = draw(&problems, false);
    assert!(
        drawn.contains("`Plain saddle`") && drawn.contains("`Second saddle`"),
        "{drawn}"
    );
}

/// A clash of the build is no reason to compare nothing where a program asks: it is said beside the verdict.
#[test]
fn a_build_that_does_not_fit_is_said() {
    let parts = "part,place,seller,price,mass_g,fits\nFrame,frame,Northmoor,300.00,1000,headset_cups=slim\n\
                 Headset,headset,Northmoor,40.00,80,headset_cups=wide\n";
    let said = |parts: &str| {
        let book = book(&[("parts", parts), ("sellers", SELLERS), ("bikes", BIKES)]);
        let found = compare(&book, &tables(), &ask(&[])).unwrap();
        found
            .cautions
            .into_iter()
            .find(|caution| caution.id == "clash")
            .map(|caution| caution.about.join(", "))
    };
    let clash = said(parts).expect("it is said");
    assert!(
        clash.contains("`Frame` says slim, `Headset` says wide"),
        "{clash}"
    );
    assert_eq!(said(&parts.replace("=wide", "=slim")), None);
}

#[test]
fn json_has_its_lasting_names() {
    let (found, ask) = (compared(&[]), ask(&[]));
    let show = Show {
        currency: Currency::GBP,
        rate: Rate::SAME,
        tax: TaxName::Vat,
    };
    let json = compare_json(&found, &ask, &show, &serde_json::Value::Null).unwrap();
    assert_eq!(json["format"], "landwaiter.compare/1");
    let bike = &json["bikes"][1];
    assert_eq!(
        [
            &bike["bike"],
            &bike["dC"],
            &bike["dM"],
            &bike["per_kg"],
            &bike["quadrant"]
        ],
        ["Birkrigg", "109.40", "160", "683.75", "trade-off"]
    );
    assert!(json["bikes"][0]["per_kg"].is_null());
}

#[test]
fn what_the_price_of_the_build_rests_on_is_said() {
    // Bars bear half their customs value by a row in dispute: 300.00 and 100.00 and 20.00, of which the bar's 104.00; duty 42.00,
    // 52.00 in dispute, VAT 20 % of 514.00, fee 12.00: 628.80. Without: VAT 92.40, 566.40, which is cheaper than the bike.
    let charges = "charge,kind,order,level,of,percent,flat,per,currency,round,when,valid_from,certainty\n\
        customs_value,value,20,line,goods + freight,,,,,,,2021-01-01,\n\
        duty_all,duty,30,line,customs_value,10,,,,,,2021-01-01,\n\
        on_bars,remedy,31,line,customs_value,50,,,,,place = handlebar,2021-01-01,disputed\n\
        vat,tax,40,consignment,customs_value + duty + remedy,20,,,,,,2021-01-01,\n\
        fee_carrier,fee,50,consignment,,,12.00,consignment,GBP,,,2021-01-01,\n";
    let tables = super::small::tables_with(&[("gb/charges.csv", charges)]);
    let parts = "part,place,role,standing,seller,price,currency,paid,mass_g,comes_with\n\
                 Plain frame,frame,build,to-order,Northmoor,300.00,,,1000,\n\
                 Plain bar,handlebar,build,to-order,Northmoor,100.00,,,250,\n\
                 Plain headset,headset,build,bundled,,,,,80,Plain frame\n\
                 Plain stem,stem,build,bundled,,,,,100,Plain frame\n\
                 Plain saddle,saddle,build,bundled,,,,,100,Plain frame\n\
                 Plain pedals,pedals,build,bundled,,,,,100,Plain frame\n";
    let bikes = "bike,price,currency,mass_g,basis\nBetween,600.00,GBP,2000,racing\nFar,900.00,GBP,2000,racing\n";
    let book = book(&[("parts", parts), ("sellers", SELLERS), ("bikes", bikes)]);
    let ask = ask(&[]);
    let found = compare(&book, &tables, &ask).unwrap();
    assert_eq!(found.mine.replacement.fixed(2), "628.80");
    let (without, rows) = found.mine.disputed.clone().unwrap();
    assert_eq!(
        (
            without.fixed(2),
            landwaiter::landed::disputed_rows(&rows).join(" ")
        ),
        (
            "566.40".to_owned(),
            "`on_bars` (rates/gb/charges.csv:4)".to_owned()
        )
    );
    let show = Show {
        currency: Currency::GBP,
        rate: Rate::SAME,
        tax: TaxName::Vat,
    };
    let text = landwaiter::report::text(
        &landwaiter::report::compare_view(&found, &show, false).unwrap(),
        &landwaiter::report::Screen::of(100).with_more(true),
    );
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let said = "62.40 The anti-dumping duty is disputed. Without it the build costs 566.40 GBP to buy again: against Between it is then cheaper and lighter.";
    assert!(text.contains(said), "{text}");
    assert_eq!(compared(&[]).mine.disputed, None);
}

#[test]
fn what_is_not_in_the_price_of_the_build_is_said() {
    let sellers = SELLERS.replace("Northmoor,TW,GBP,20.00", "Northmoor,TW,GBP,");
    let book = book(&[("parts", PARTS), ("sellers", &sellers), ("bikes", BIKES)]);
    let found = compare(&book, &tables(), &ask(&[])).unwrap();
    assert!(
        found
            .cautions
            .iter()
            .any(|caution| caution.id == "freight-unknown" && caution.about == ["Northmoor"])
    );
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig { cases: 48, failure_persistence: None, ..Default::default() })]

    #[test]
    fn every_bike_stands_on_tax_paid_terms(price in 100..6000_u32) {
        // At home what is paid; from abroad with 20.00 freight, 10 % duty, 20 % VAT on all of it, and 12.00, in pennies.
        let bikes = format!("bike,price,currency,mass_g,basis,seller\nHome,{price}.00,GBP,2000,racing,\nAbroad,{price}.00,GBP,2000,racing,Northmoor\n");
        let book = book(&[("parts", PARTS), ("sellers", SELLERS), ("bikes", &bikes)]);
        let found = compare(&book, &tables(), &ask(&[])).unwrap();
        let value = i64::from(price) * 100 + 20_00;
        let abroad = if price <= 100 { value } else { value + value / 10 + (value + value / 10) / 5 + 12_00 };
        let prices: Vec<i64> = found.bikes.iter().map(|a| a.reference.price.in_units(2).unwrap().try_into().unwrap()).collect();
        proptest::prop_assert_eq!(prices, vec![abroad, i64::from(price) * 100]);
    }
}

#[test]
fn an_imported_bike_whose_duty_is_in_dispute_says_what_it_is_without() {
    // 1000.00 and 20.00, duty 102.00, in dispute 510.00, VAT 20 % of 1632.00 = 326.40, fee 12.00; without VAT is 224.40.
    let charges = "charge,kind,order,level,of,percent,flat,per,currency,round,when,valid_from,certainty\n\
        customs_value,value,20,line,goods + freight,,,,,,,2021-01-01,\n\
        duty_all,duty,30,line,customs_value,10,,,,,,2021-01-01,\n\
        on_bikes,remedy,31,line,customs_value,50,,,,,commodity = 8712,2021-01-01,disputed\n\
        vat,tax,40,consignment,customs_value + duty + remedy,20,,,,,,2021-01-01,\n\
        fee_carrier,fee,50,consignment,,,12.00,consignment,GBP,,,2021-01-01,\n";
    let tables = super::small::tables_with(&[("gb/charges.csv", charges)]);
    let bikes = "bike,price,currency,mass_g,basis,seller\nAbroad,1000.00,GBP,2000,racing,Northmoor\nHome,1000.00,GBP,2000,racing,\n";
    let book = book(&[("parts", PARTS), ("sellers", SELLERS), ("bikes", bikes)]);
    let found = compare(&book, &tables, &ask(&[])).unwrap();
    assert_eq!(
        found
            .bikes
            .iter()
            .map(|a| a.reference.price.fixed(2))
            .collect::<Vec<_>>(),
        ["1970.40", "1000.00"]
    );
    let caution = found
        .cautions
        .iter()
        .find(|caution| caution.id == "bike-disputed")
        .unwrap();
    assert!(
        caution.text.ends_with(
            "disputed (the anti-dumping duty): decided otherwise its landed cost is 1,358.40 GBP"
        ),
        "{}",
        caution.text
    );
    assert_eq!(caution.about, ["Abroad"]);
}
