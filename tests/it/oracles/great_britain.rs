//! Worked sums for Great Britain: tests/data/oracles/uk_worked_examples.csv, figures printed in tribunal decisions, notices, trade and
//! forum texts (single figures, taken as facts; sources by row in the file). Sums of 2021 and later are calculated by the built-in rows;
//! for older ones the same rows are laid under those days, with the rates and limits of their time.

use std::collections::BTreeMap;

use landwaiter::units::Dec;

use super::{exact, rows};
use crate::common::Case;

type Row = BTreeMap<String, String>;

/// How a row of the file fared.
enum Fared {
    /// The row gave these figures; the sum these.
    Figures(Vec<(&'static str, Dec, Dec)>),
    /// The tables cannot say it.
    NotExpressible(&'static str),
}

/// The rows of the built-in sum for the years before 2021, with the rates of tax, the gift limit and the post's fee of their days.
fn before_2021() -> Case {
    Case::gb()
        .table("destinations.csv", "country,currency,customs_exchange,valid_from,valid_to\nGB,GBP,as-listed,1994-01-01,2020-12-31")
        .law(
            "charges",
            "# valid_to = 2020-12-31
            charge,kind,order,group,level,of,percent,rate_from,flat,per,currency,round,when
            intrinsic_value,value,10,,consignment,goods,,,,,,half_up 0.01,
            customs_value,value,20,,line,goods + freight.border + insurance,,,,,,down 0.01,
            tariff_duty,duty,30,,line,customs_value,,tariff:mfn,,,,down 0.01,given = no
            gift_flat_duty,duty,30,gift least,consignment,customs_value,2.5,,,,,down 0.01,given = yes & intrinsic_value <= 630 GBP
            gift_tariff_duty,duty,31,gift least,line,customs_value,,tariff:mfn,,,,down 0.01,given = yes
            vat_border,tax,40,,consignment,customs_value + freight.inland + duty,,taxes:vat,,,,down 0.01,collect = at-border
            fee_post,fee,50,,consignment,,,,8.00,consignment,GBP,,channel = post & duty + tax > 0",
        )
        .law(
            "taxes",
            "tax,country,region,commodity,percent,valid_from,valid_to
            vat,GB,,*,17.5,1991-04-01,2008-11-30
            vat,GB,,*,15,2008-12-01,2009-12-31
            vat,GB,,*,17.5,2010-01-01,2011-01-03",
        )
        .law(
            "reliefs",
            "# valid_to = 2016-12-31
            relief,order,tests,per,op,amount,currency,drops,collect,when
            gift_small,25,intrinsic_value,consignment,<=,40.00,GBP,duty tax,none,given = yes
            gift_duty,26,intrinsic_value,consignment,<=,135.00,GBP,duty,,given = yes
            duty_waived,45,duty,consignment,<,9.00,GBP,duty,,given = yes",
        )
}

/// The tariff's rate for the goods of one sum, whatever they are.
fn at(case: Case, percent: &str) -> Case {
    case.law(
        "tariff",
        &format!("layer,commodity,origin,percent,valid_to\nmfn,*,*,{percent},2020-12-31"),
    )
}

fn thing(case: Case, price: &str) -> Case {
    case.parts(&format!(
        "part,place,price,commodity\ngoods,tool,{price},950699"
    ))
}

fn gift(price: &str, pieces: u32) -> Case {
    at(before_2021(), "12")
        .on("2012-06-01")
        .seller("sender=gift; dispatch=US")
        .parts(&format!(
            "part,place,price,quantity,standing,commodity\ngift,tool,{price},{pieces},given,950699"
        ))
}

/// Sets what the sum gave beside what the row prints.
fn against(case: &Case, row: &Row, figures: &[(&'static str, &str, &str)]) -> Fared {
    let landed = case
        .run()
        .unwrap_or_else(|problems| panic!("{}: {problems:?}", row["id"]));
    let bill = &landed.bills[0];
    let one = |(name, column, printed): &(&'static str, &str, &str)| {
        let found = match *name {
            "customs value" => bill.customs_value,
            "duty" => bill.amounts.duty,
            "vat" => bill.amounts.tax_at_border,
            "fee" => bill.amounts.handling,
            "duty and vat" => bill.amounts.duty.plus(bill.amounts.tax_at_border).unwrap(),
            _ => bill.amounts.at_door().unwrap(),
        };
        let printed = if column.is_empty() {
            printed
        } else {
            row[*column].as_str()
        };
        (*name, exact(printed), found.amount())
    };
    Fared::Figures(figures.iter().map(one).collect())
}

fn dollars(row: &Row, freight: &str, day: &str, rate: &str) -> Fared {
    let case = at(before_2021(), "0")
        .on(day)
        .table(
            "exchange.csv",
            &format!("use,base,quote,rate,valid_from\ncustoms,GBP,USD,{rate},2000-01-01\nmarket,GBP,USD,{rate},2000-01-01"),
        )
        .seller(&format!("currency=USD; dispatch=US; channel=post; freight={freight}"));
    against(
        &thing(case, &row["goods"]),
        row,
        &[
            ("vat", "vat_gbp", ""),
            ("fee", "fee_gbp", ""),
            ("total", "total_charges_gbp", ""),
        ],
    )
}

fn calculate(row: &Row) -> Fared {
    match row["id"].as_str() {
        "WE01" => {
            let rate = &row["fx_units_per_gbp"];
            let case = at(before_2021(), "0")
                .on("2011-08-15")
                .table(
                    "exchange.csv",
                    &format!("use,base,quote,rate,valid_from\ncustoms,GBP,CAD,{rate},2011-08-01\nmarket,GBP,CAD,{rate},2011-08-01"),
                )
                .seller(&format!("currency=CAD; dispatch=CA; freight={}", row["freight_ins"]));
            let figures = [
                ("customs value", "customs_value_gbp", ""),
                ("duty", "duty_gbp", ""),
                ("vat", "vat_gbp", ""),
            ];
            against(&thing(case, &row["goods"]), row, &figures)
        }
        "WE03" => {
            let case = Case::gb()
                .table(
                    "border_freight.csv",
                    "country,channel,dispatch,percent\nGB,courier,JP,80",
                )
                .law("tariff", "layer,commodity,origin,percent\nmfn,870323,*,10")
                .seller("dispatch=JP; freight=1000")
                .parts(&format!(
                    "part,place,price,commodity\nvehicle,tool,{},870323",
                    row["goods"]
                ));
            let figures = [
                ("customs value", "customs_value_gbp", ""),
                ("duty", "duty_gbp", ""),
                ("vat", "vat_gbp", ""),
                ("duty and vat", "total_charges_gbp", ""),
            ];
            against(&case, row, &figures)
        }
        "WE05" => {
            let case = at(before_2021(), &row["duty_pct"])
                .on("2010-06-01")
                .seller(&format!("dispatch=US; freight={}", row["freight_ins"]));
            let figures = [
                ("customs value", "customs_value_gbp", ""),
                ("duty", "duty_gbp", ""),
                ("vat", "vat_gbp", ""),
                ("total", "total_charges_gbp", ""),
            ];
            against(&thing(case, &row["goods"]), row, &figures)
        }
        "WE08" => {
            let case = Case::gb()
                .on("2024-06-03")
                .seller("dispatch=US")
                .parts("part,place,price,commodity\nbicycle,tool,360.00,8712003000");
            let figures = [
                ("duty", "duty_gbp", ""),
                ("vat", "vat_gbp", ""),
                ("fee", "fee_gbp", ""),
                ("total", "total_charges_gbp", ""),
            ];
            against(&case, row, &figures)
        }
        "WE13" => against(
            &gift("40.00", 1),
            row,
            &[("duty", "duty_gbp", ""), ("vat", "vat_gbp", "")],
        ),
        "WE14" => against(
            &gift("44.00", 1),
            row,
            &[("duty", "", "0"), ("vat", "", "8.80")],
        ),
        "WE15" => Fared::NotExpressible(
            "of six pieces alike, as many as come to the limit are relieved and the rest taxed; a relief drops whole lines",
        ),
        "WE16" => against(&at(gift("120.00", 5), "0"), row, &[("vat", "", "120.00")]),
        "WE17" => against(
            &gift("300.00", 1),
            row,
            &[("duty", "", "0"), ("vat", "", "61.50")],
        ),
        "WE18" => dollars(row, "13.96", "2007-11-15", "1.9805"),
        "WE19" => dollars(row, "5.59", "2007-11-15", "1.9790"),
        "WE20" => dollars(row, "13.95", "2008-04-15", "1.9850"),
        other => panic!("{other} is new: say how it is reckoned"),
    }
}

/// What may be said of a row whose figures came out.
fn verdict(row: &Row, figures: &[(&'static str, Dec, Dec)]) -> &'static str {
    let off = |(_, printed, found): &(&str, Dec, Dec)| found.minus(*printed).unwrap().abs();
    let most = figures.iter().map(off).max().unwrap();
    let (what, tolerance) = match row["use_as_oracle"].as_str() {
        "yes within 1p" => ("within 0.01", Dec::new(1, 2)),
        "yes: logic" => ("its logic, in figures of our own", Dec::ZERO),
        "consistency only" => ("consistent at a rate within the implied ones", Dec::ZERO),
        _ => ("exactly", Dec::ZERO),
    };
    assert!(most <= tolerance, "{}: {figures:?}", row["id"]);
    what
}

#[test]
fn every_worked_sum() {
    let rows = rows(include_str!("../../data/oracles/uk_worked_examples.csv"));
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    println!("worked sums of Great Britain: found (printed)");
    for row in &rows {
        let (what, text) = match calculate(row) {
            Fared::NotExpressible(why) => ("not expressible", why.to_owned()),
            Fared::Figures(figures) => {
                let text: Vec<String> = figures
                    .iter()
                    .map(|(name, printed, found)| format!("{name} {found} ({printed})"))
                    .collect();
                (verdict(row, &figures), text.join(", "))
            }
        };
        *counts.entry(what).or_default() += 1;
        println!("  {} {what}: {text}; {}", row["id"], row["source"]);
    }
    println!("{counts:?}");
    let counted = |what: &str| counts.get(what).copied().unwrap_or_default();
    assert_eq!(
        (
            counted("exactly"),
            counted("within 0.01"),
            counted("not expressible")
        ),
        (3, 1, 1)
    );
    assert_eq!(counts.values().sum::<usize>(), 12);
}
