//! A user's own tables: folders and files under other names, what is not read, names no table has, and figures that cannot be.

use landwaiter::tables::Tables;
use landwaiter::text::{Diagnostic, Problems, Severity};
use landwaiter::units::{Country, Date};

use crate::common::Case;
use crate::harness::{Ran, landwaiter};
use crate::made::own;

const PARTS: &str = "part,place,seller,price,currency,dispatch,freight,channel,transit_days,origin\n\
    Lowtide saddle,saddle,Taolin,100.00,GBP,TW,0,courier,0,TW\n";

/// A fee of 7.77 on every parcel, where the table is read.
const FEE: &str = "charge,kind,order,level,flat,per,currency,valid_from,source\nown_fee,fee,70,consignment,7.77,consignment,GBP,2020-01-01,mine\n";

/// A run with these files as the user's own tables, and the JSON it gives.
fn with(files: &[(&str, &str)]) -> Ran {
    let mut run = landwaiter("cost parts.csv --to GB --on 2026-03-02 --rates r --format json")
        .file("parts.csv", PARTS);
    for (name, text) in files {
        run = run.file(&format!("r/{name}"), text);
    }
    run.go()
}

/// Whether the fee is in the sum.
fn read(ran: &Ran) -> bool {
    assert_eq!(ran.status, 0, "{}", ran.err);
    let json: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let handling = json["consignments"][0]["handling"].as_str().unwrap();
    handling.ends_with(".77") || handling == "7.77"
}

#[test]
fn a_folder_under_another_name_of_the_country_is_read_as_it() {
    for name in [
        "gb/charges.csv",
        "uk/charges.csv",
        "GB/Charges.CSV",
        "Great Britain/charges.csv",
        "united_kingdom/charges.csv",
    ] {
        let ran = with(&[(name, FEE)]);
        assert!(read(&ran), "{name}\n{}", ran.out);
        assert!(!ran.err.contains("not read"), "{name}: {}", ran.err);
    }
    let tabs = FEE.replace(',', "\t");
    assert!(read(&with(&[("uk/charges.tsv", &tabs)])));
    assert!(
        !read(&with(&[("fr/charges.csv", FEE)])),
        "another country's rows"
    );
    let twice = with(&[("gb/charges.csv", FEE), ("uk/charges.csv", FEE)]);
    assert_eq!(twice.status, 1);
    assert!(
        twice.err.contains("expected one table `gb/charges.csv`"),
        "{}",
        twice.err
    );
}

#[test]
fn what_is_not_read_of_a_folder_of_tables_is_named() {
    let cases = [
        (
            "gb/mine/charges.csv",
            "`r/gb/mine` lies inside the folder of a country and is not read",
        ),
        (
            "mine/gb/charges.csv",
            "put `gb` into `r` itself, or name `r/mine` as the folder of tables",
        ),
        (
            "freight.csv/charges.csv",
            "`r/freight.csv` has the name of a table and is not read",
        ),
        ("gb/charges.xlsx", "r/gb/charges.xlsx"),
        ("gb/charges.txt", "r/gb/charges.txt"),
        ("gb/chargs.csv", "did you mean `charges.csv`?"),
        (
            "nowhere/charges.csv",
            "the folder `nowhere` is of no country and is not read",
        ),
        (
            "cl/charges.csv",
            "the folder `cl` is of a country that `destinations.csv` does not name",
        ),
        ("README.txt", "r/README.txt"),
    ];
    for (name, words) in cases {
        let ran = with(&[(name, FEE)]);
        assert!(!read(&ran), "{name}");
        assert!(
            ran.err.contains(words) && ran.err.contains("not read"),
            "{name}: {}",
            ran.err
        );
    }
    let notes = with(&[("README.md", "mine\n"), ("gb/charges.csv", FEE)]);
    assert!(
        read(&notes) && !notes.err.contains("not read"),
        "{}",
        notes.err
    );
    let empty = with(&[("README.md", "mine\n")]);
    assert!(empty.err.contains("holds no table"), "{}", empty.err);
}

/// The problems of tables laid over the built-in ones, for a country.
fn problems(to: &str, files: &[(&str, &str)]) -> Vec<Diagnostic> {
    let mut problems = Problems::new();
    let tables = Tables::load(files.iter().map(own).collect(), &mut problems);
    let row = tables
        .destination(Country::parse(to).unwrap(), Date::new(2026, 3, 2).unwrap())
        .unwrap();
    tables.law(&row.rule, &mut problems);
    problems.sorted().iter().cloned().collect()
}

/// Asserts the one problem: file and line, the column, a piece of the message, and the help.
#[track_caller]
fn one(found: &[Diagnostic], place: &str, column: &str, words: &str, help: Option<&str>) {
    let [problem] = found else {
        panic!("{found:#?}")
    };
    let at = problem.place.as_ref().unwrap();
    assert_eq!(
        (at.to_string().as_str(), at.column.as_deref()),
        (place, Some(column)),
        "{problem:#?}"
    );
    assert!(
        problem.severity == Severity::Error && problem.message.contains(words),
        "{problem:#?}"
    );
    assert_eq!(problem.help.as_deref(), help, "{problem:#?}");
}

const HEAD: &str = "charge,kind,order,level,of,rate_from,valid_from\n";

#[test]
fn a_name_no_table_has_is_an_error_when_the_tables_load() {
    let charges = |row: &str| format!("{HEAD}{row}\n");
    let tax = problems(
        "AU",
        &[(
            "au/charges.csv",
            &charges("own_tax,tax,40,line,goods,taxes:vat,2020-01-01"),
        )],
    );
    one(
        &tax,
        "own/au/charges.csv:2",
        "rate_from",
        "`rate_from` names the tax `vat`: no row of `taxes.csv` gives it for AU",
        None,
    );
    assert!(
        tax[0].notes.iter().any(|note| note.contains("`gst`")),
        "{tax:#?}"
    );
    let near = problems(
        "AU",
        &[(
            "au/charges.csv",
            &charges("own_tax,tax,40,line,goods,taxes:gts,2020-01-01"),
        )],
    );
    one(
        &near,
        "own/au/charges.csv:2",
        "rate_from",
        "the tax `gts`",
        Some("did you mean `gst`?"),
    );
    let layer = problems(
        "GB",
        &[(
            "gb/charges.csv",
            &charges("own_duty,duty,40,line,goods,tariff:mfm,2020-01-01"),
        )],
    );
    one(
        &layer,
        "own/gb/charges.csv:2",
        "rate_from",
        "the layer `mfm`: no row of `tariff.csv` is in it",
        Some("did you mean `mfn`?"),
    );
    let schedule = "schedule,up_to_g,price,currency,valid_from\nair-rate,,10,GBP,2020-01-01\n";
    let named = "charge,kind,order,level,of,valid_from\nown_value,value,40,line,goods + freight:air-rat,2020-01-01\n";
    let schedule = problems(
        "GB",
        &[("freight.csv", schedule), ("gb/charges.csv", named)],
    );
    one(
        &schedule,
        "own/gb/charges.csv:2",
        "of",
        "`of` names `freight:air-rat`",
        Some("did you mean `freight:air-rate`?"),
    );
}

#[test]
fn a_row_in_a_layer_no_charge_asks_for_is_an_error_or_a_warning() {
    let head = "layer,commodity,origin,percent,valid_from\n";
    let misspelt = problems(
        "GB",
        &[(
            "gb/tariff.csv",
            &format!("{head}remdy,871495,TW,30,2020-01-01\n"),
        )],
    );
    one(
        &misspelt,
        "own/gb/tariff.csv:2",
        "layer",
        "`layer` is `remdy`",
        Some("did you mean `remedy`?"),
    );
    let strange = problems(
        "GB",
        &[(
            "gb/tariff.csv",
            &format!("{head}quota,871495,TW,30,2020-01-01\nquota,871499,TW,30,2020-01-01\n"),
        )],
    );
    assert!(
        strange.len() == 1 && strange[0].severity == Severity::Warning,
        "{strange:#?}"
    );
}

/// Layers and taxes that only the user's own folder has are as good as the built-in ones, a group's folder and a member's together.
#[test]
fn names_of_the_users_own_tables_count() {
    let charges = format!(
        "{HEAD}own_duty,duty,40,line,goods,tariff:quota,2020-01-01\nown_tax,tax,41,line,goods,taxes:levy,2020-01-01\n"
    );
    let tariff = "layer,commodity,origin,percent,valid_from\nquota,*,*,3,2020-01-01\n";
    let taxes = "tax,country,commodity,percent,valid_from\nlevy,FR,*,1,2020-01-01\n";
    let found = problems(
        "FR",
        &[
            ("fr/charges.csv", &charges),
            ("eu/tariff.csv", tariff),
            ("fr/taxes.csv", taxes),
        ],
    );
    assert!(found.is_empty(), "{found:#?}");
}

#[test]
fn every_shipped_law_names_only_what_it_has() {
    let mut found = Problems::new();
    let tables = Tables::load(Vec::new(), &mut found);
    for row in &tables.destinations {
        tables.law(&row.rule, &mut found);
    }
    assert!(
        tables.destinations.len() > 30 && found.is_empty(),
        "{:#?}",
        found.iter().collect::<Vec<_>>()
    );
}

#[test]
fn a_charge_never_gives_money_and_no_least_lies_over_the_most() {
    let case = |row: &str| {
        let charges =
            format!("charge,kind,order,level,of,percent,flat,per,min,max,currency\n{row}");
        Case::new("USD")
            .law("charges", &charges)
            .parts("part,place,price\nhub,hub,100")
    };
    case("own,fee,50,consignment,,,-5,consignment,,,USD")
        .refused("`flat` is `-5`: expected 0 or more");
    case("own,duty,50,consignment,goods,5,,,,-1,USD").refused("`max` is `-1`: expected 0 or more");
    case("own,fee,50,consignment,goods,5,,,30,20,USD")
        .refused("`min` is `30`: expected at most `max`, which is 20");
    case("own,fee,50,consignment,goods,5,,,20,30,USD").gives(&[("fee", "20.00")]);
    case("own,value,50,consignment,goods,,-60,consignment,0,,USD").gives(&[("own", "40")]);
    let weighed = Case::new("USD")
        .law(
            "charges",
            "charge,kind,order,level,of,rate_from\nd,duty,20,line,goods,tariff:mfn",
        )
        .law(
            "tariff",
            "layer,commodity,origin,per_kg,currency\nmfn,*,*,-2,USD",
        )
        .parts("part,place,price\nhub,hub,100");
    weighed.refused("`per_kg` is `-2`: expected 0 or more");
}

/// A row of six digits stands behind the built-in rows of eight, whatever it says; one of ten stands before them.
#[test]
fn a_tariff_row_that_longer_rows_go_before_is_said() {
    let rate = |row: &str| {
        problems(
            "GB",
            &[(
                "gb/tariff.csv",
                &format!("layer,commodity,origin,percent,valid_from\n{row}\n"),
            )],
        )
    };
    let found = rate("mfn,871499,*,50,2021-01-01");
    let [problem] = found.as_slice() else {
        panic!("{found:#?}")
    };
    assert_eq!(
        (
            problem.severity,
            problem.place.as_ref().map(ToString::to_string)
        ),
        (Severity::Warning, Some("own/gb/tariff.csv:2".to_owned()))
    );
    assert!(
        problem.message.starts_with(
            "the row `mfn 871499 *` decides only what built-in rows with more digits leave to it"
        ),
        "{problem:#?}"
    );
    assert!(
        problem.message.contains("`87149910` (rates/gb/tariff.csv:")
            && problem.message.ends_with("more"),
        "{problem:#?}"
    );
    assert!(
        problem
            .help
            .as_ref()
            .is_some_and(|help| help.contains("`annulled`")),
        "{problem:#?}"
    );
    for row in [
        "mfn,8714991000,*,50,2021-01-01",
        "mfn,*,*,50,2021-01-01",
        "mfn,87149910,CN,50,2021-01-01",
    ] {
        assert!(
            !rate(row)
                .iter()
                .any(|problem| problem.message.contains("more digits")),
            "{row}"
        );
    }
}
