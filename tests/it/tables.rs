//! Rule tables with mistakes: one folder of them, and every mistake is named with its file and line at once.

use landwaiter::tables::{File, Tables};
use landwaiter::text::{Problems, Severity};
use landwaiter::units::{Country, Date};

use crate::common::Case;
use crate::made::own;

fn file(name: &str, text: &str) -> File {
    own(&(name, text))
}

/// Everything that is said of a user's folder: `own/aq/charges.csv:4 error …`.
fn said(files: Vec<File>) -> Vec<String> {
    let mut problems = Problems::new();
    let tables = Tables::load(files, &mut problems);
    if let Some(row) = tables.destination(
        Country::parse("AQ").unwrap(),
        Date::new(2026, 3, 2).unwrap(),
    ) {
        tables.law(&row.rule, &mut problems);
    }
    let one = |p: &landwaiter::text::Diagnostic| {
        let place = p
            .place
            .as_ref()
            .map(ToString::to_string)
            .unwrap_or_default();
        let severity = if p.severity == Severity::Error {
            "error"
        } else {
            "warning"
        };
        format!("{place} {severity} {}", p.message)
    };
    problems.sorted().iter().map(one).collect()
}

/// Asserts what is said, line by line: the place, and a piece of the message.
#[track_caller]
fn says(found: &[String], expected: &[(&str, &str)]) {
    let same = |(found, (place, piece)): (&String, &(&str, &str))| {
        found.starts_with(&format!("{place} ")) && found.contains(piece)
    };
    let all = found.len() == expected.len() && found.iter().zip(expected).all(same);
    assert!(all, "found\n{}\nexpected\n{expected:#?}", found.join("\n"));
}

const CHARGES: &str = "charge,kind,order,level,of,percent,rate_from,flat,per,currency,round,when,valid_from,valid_to,certainty,evidence
customs_value,value,10,line,goods + frieght,,,,,,,,2020-01-01,,,
early,duty,11,line,late,5,,,,,,,2020-01-01,,,
late,duty,20,line,goods,5,,,,,,,2020-01-01,,,
cond,duty,21,line,goods,5,,,,,,chanel = post,2020-01-01,,,
cond_sum,duty,22,line,goods,5,,,,,,customs_valu > 5 EUR,2020-01-01,,,
twice,fee,40,consignment,,,,1,consignment,EUR,,,2020-01-01,2020-12-31,,
twice,fee,40,consignment,,,,2,consignment,EUR,,,2020-12-31,2021-12-31,,
holed,fee,41,consignment,,,,1,consignment,EUR,,,2020-01-01,2020-06-30,,
holed,fee,41,consignment,,,,1,consignment,EUR,,,2020-08-01,,,
marks,fee,42,consignment,,,,1,consignment,EUR,,,2020-01-01,,sure,seen
back,fee,43,consignment,,,,1,consignment,EUR,,,2020-02-01,2020-01-01,,
duty,fee,44,consignment,,,,1,consignment,EUR,,,2020-01-01,,,
money,fee,45,consignment,,,,1,consignment,,,,2020-01-01,,,
both,duty,46,line,goods,5,tariff:mfn,,,,,,2020-01-01,,,
what,customs,47,line,goods,5,,,,,,,2020-01-01,,,
cut,duty,48,line,goods,5,,,,,sideways 1,,2020-01-01,,,
level,duty,49,item7,goods,5,,,,,,,2020-01-01,,,
no_day,duty,50,line,goods,5,,,,,,,,,,
bad_day,duty,51,line,goods,5,,,,,,,yesterday,,,
sale,sale-tax,52,line,goods + duty,5,,,,,,,2020-01-01,,,
brackets,duty,53,line,goods,5,,,,,,(channel = post),2020-01-01,,,
per,fee,54,consignment,,,,1,dozen,EUR,,,2020-01-01,,,
";

#[test]
fn every_mistake_of_the_charges_at_once() {
    let found = said(vec![
        file(
            "destinations.csv",
            "country,currency,valid_from\nAQ,EUR,2000-01-01\n",
        ),
        file("aq/charges.csv", CHARGES),
    ]);
    says(
        &found,
        &[
            ("own/aq/charges.csv:2 error", "`of` names `frieght`"),
            (
                "own/aq/charges.csv:3 error",
                "`of` names `late`, of order 20",
            ),
            ("own/aq/charges.csv:5 error", "`when` names `chanel`"),
            ("own/aq/charges.csv:6 error", "`when` names `customs_valu`"),
            (
                "own/aq/charges.csv:8 error",
                "two rows for one day: `twice`",
            ),
            (
                "own/aq/charges.csv:10 warning",
                "no row of `holed` from 2020-07-01 to 2020-07-31",
            ),
            ("own/aq/charges.csv:11 error", "`certainty` is `sure`"),
            ("own/aq/charges.csv:11 error", "`evidence` is `seen`"),
            (
                "own/aq/charges.csv:12 error",
                "expected a day on or after `valid_from`",
            ),
            (
                "own/aq/charges.csv:13 error",
                "`charge` is `duty`: expected an id",
            ),
            (
                "own/aq/charges.csv:14 error",
                "expected the currency of `flat`, `min` and `max`",
            ),
            ("own/aq/charges.csv:15 error", "not both"),
            ("own/aq/charges.csv:16 error", "`kind` is `customs`"),
            ("own/aq/charges.csv:17 error", "`round` is `sideways 1`"),
            ("own/aq/charges.csv:18 error", "`level` is `item7`"),
            ("own/aq/charges.csv:19 error", "`valid_from` is empty"),
            ("own/aq/charges.csv:20 error", "`valid_from` is `yesterday`"),
            (
                "own/aq/charges.csv:21 error",
                "`of` names `duty`: expected goods, freight or insurance",
            ),
            ("own/aq/charges.csv:22 error", "conditions have no brackets"),
            ("own/aq/charges.csv:23 error", "`per` is `dozen`"),
        ],
    );
}

#[test]
fn every_mistake_of_the_other_tables_at_once() {
    let charges = "charge,kind,order,level,of,percent,valid_from\ncustoms_value,value,10,line,goods,,2020-01-01\n";
    let reliefs = "relief,order,tests,per,op,amount,currency,drops,collect,valid_from
a,5,customs_value,consignment,<=,5,EUR,duty,,2020-01-01
b,50,goods,consignment,<=,5,EUR,charge:nothing,,2020-01-01
c,50,goods,parcel,=<,5,EUX,customs,never,2020-01-01
";
    let tariff = "layer,commodity,origin,percent,when,valid_from
mfn,8,*,5,,2020-01-01
mfn,8714,*,5,arrived > 5,2020-01-01
mfn,8714,taiwann,5,,2020-01-01
mfn,8714,TW,,,2020-01-01
mfn,8714,*,1200,,2020-01-01
";
    let found = said(vec![
        file(
            "destinations.csv",
            "country,currency,valid_from\nAQ,EUR,2000-01-01\nAQ,USD,2020-01-01\nAZZ,EUR,2000-01-01\n",
        ),
        file("aq/charges.csv", charges),
        file("aq/reliefs.csv", reliefs),
        file("aq/tariff.csv", tariff),
        file(
            "aq/taxes.csv",
            "tax,country,region,commodity,percent,valid_from\nvat,AQ,,*,20,2020-01-01\nvat,AQ,,*,21,2020-06-01\n",
        ),
        file("aq/chargs.csv", "a,b\n1,2\n"),
    ]);
    says(
        &found,
        &[
            ("own/aq/chargs.csv:1 warning", "not a table of rates"),
            (
                "own/aq/reliefs.csv:2 error",
                "`tests` names `customs_value`, of order 10",
            ),
            ("own/aq/reliefs.csv:3 error", "`drops` names `nothing`"),
            ("own/aq/reliefs.csv:4 error", "`per` is `parcel`"),
            ("own/aq/reliefs.csv:4 error", "`op` is `=<`"),
            ("own/aq/reliefs.csv:4 error", "`currency` is `EUX`"),
            ("own/aq/reliefs.csv:4 error", "`drops` is `customs`"),
            ("own/aq/reliefs.csv:4 error", "`collect` is `never`"),
            ("own/aq/tariff.csv:2 error", "`commodity` is `8`"),
            (
                "own/aq/tariff.csv:3 warning",
                "`layer` is `mfn`: no row of `charges.csv` takes its rate from there",
            ),
            ("own/aq/tariff.csv:3 error", "`when` names `arrived`"),
            ("own/aq/tariff.csv:4 error", "`origin` is `taiwann`"),
            (
                "own/aq/tariff.csv:5 error",
                "`percent` is empty: expected a rate",
            ),
            (
                "own/aq/tariff.csv:6 error",
                "expected a percentage from 0 to 1000",
            ),
            (
                "own/aq/taxes.csv:2 warning",
                "`tax` is `vat`: no row of `charges.csv` takes its rate from there",
            ),
            (
                "own/aq/taxes.csv:3 error",
                "two rows for one day: `vat AQ  *`",
            ),
            ("own/destinations.csv:3 error", "two rows for one day: `AQ`"),
            ("own/destinations.csv:4 error", "`country` is `AZZ`"),
        ],
    );
}

#[test]
fn every_mistake_of_the_exchange_at_once() {
    let exchange = "use,base,quote,rate,valid_from,valid_to
market,USD,EUR,0.90,2026-01-05,
market,USD,EUR,0.91,2026-01-05,
customs,USD,EUR,0.90,2026-01-01,2026-01-31
customs,USD,EUR,0.91,2026-01-31,2026-02-28
customs,USD,EUR,-1,2026-03-01,
market,USD,USD,1,2026-01-05,
card,USD,EUR,1,2026-01-05,
";
    says(
        &said(vec![
            file("exchange.csv", exchange),
            file("ratez.csv", "a\n1\n"),
        ]),
        &[
            (
                "own/exchange.csv:3 error",
                "two rates of USD to EUR for 2026-01-05",
            ),
            (
                "own/exchange.csv:5 error",
                "two rates of USD to EUR for 2026-01-31",
            ),
            ("own/exchange.csv:6 error", "`rate` is `-1`"),
            (
                "own/exchange.csv:7 error",
                "expected another currency than the base",
            ),
            ("own/exchange.csv:8 error", "`use` is `card`"),
            ("own/ratez.csv:1 warning", "not a table of rates"),
        ],
    );
}

/// Rows that do not count may overlap, and rows of one charge that ask for different things may too.
#[test]
fn rows_that_do_not_meet_are_no_mistake() {
    let charges = "charge,kind,order,level,of,percent,when,valid_from,valid_to,certainty
d,duty,20,line,goods,5,,2020-01-01,,certain
d,duty,20,line,goods,6,,2027-01-01,,announced
d,duty,20,line,goods,7,,2024-01-01,2024-12-31,annulled
e,duty,21,line,goods,5,channel = post,2020-01-01,,
e,duty,21,line,goods,6,channel = courier,2020-01-01,,
";
    let under = file(
        "destinations.csv",
        "country,currency,valid_from\nAQ,EUR,2000-01-01\n",
    );
    let found = said(vec![
        under,
        File {
            users: false,
            ..file("aq/charges.csv", charges)
        },
    ]);
    says(&found, &[]);
}

/// A run is refused by the mistakes of its destination's folder, all of them.
#[test]
fn a_run_is_refused_with_all_of_them() {
    let case = Case::new("EUR")
        .law(
            "charges",
            "charge,kind,order,level,of,percent\na,duty,20,line,b,5\nb,duty,30,line,c,5",
        )
        .parts("part,place,price\nframe,frame,100");
    let problems = case.run().map(|_| ()).unwrap_err();
    assert_eq!(problems.len(), 2, "{problems:?}");
    case.refused("own/aq/charges.csv:4 `of` names `b`, of order 30");
    case.refused("own/aq/charges.csv:5 `of` names `c`");
}
