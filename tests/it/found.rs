//! What a review found: charges that would give money, names that no table has, one wrong cell said once, and all that is wrong said
//! at once.

use crate::common::Case;
use crate::harness::{Ran, landwaiter};

const SETTINGS: &str = "setting,value\ndestination,GB\ndate,2026-09-23\n";

/// A book of these tables, asked by a command.
fn asked(command: &str, tables: &[(&str, &str)]) -> Ran {
    let run = landwaiter(&format!("{command} b")).file("b/settings.csv", SETTINGS);
    tables
        .iter()
        .fold(run, |run, (table, text)| {
            run.file(&format!("b/{table}.csv"), text)
        })
        .go()
}

/// The lines that say an error.
fn errors(ran: &Ran) -> Vec<&str> {
    ran.err
        .lines()
        .filter(|line| line.starts_with("error"))
        .collect()
}

/// A fee of 5 % of freight less goods, of a frame of 100.00 carried for 20.00: -4.00. With a least of zero it is nothing, and a
/// figure that nobody pays may be less than nothing.
#[test]
fn a_charge_never_gives_money() {
    let charge = |kind: &str, min: &str, currency: &str| {
        let charges = format!(
            "charge,kind,order,level,of,percent,min,currency\nxfee,{kind},95,consignment,freight - goods,5,{min},{currency}"
        );
        Case::new("EUR")
            .law("charges", &charges)
            .seller("freight=20")
            .parts("part,place,price\nit,frame,100")
    };
    for kind in ["fee", "duty", "remedy", "tax"] {
        charge(kind, "", "").refused(
            "`xfee` comes to -4.00 EUR for Seller: a charge takes money and never gives any",
        );
        charge(kind, "0", "EUR").gives(&[("xfee", "0"), ("landed", "120")]);
    }
    charge("value", "", "").gives(&[("xfee", "-4"), ("landed", "120")]);
    let table = |text: &str| format!("# valid_from = 2000-01-01\n# source = a test\n{text}\n");
    let ran = landwaiter("bulk l.csv --to AQ --rates own")
        .file(
            "own/destinations.csv",
            table("country,currency,customs_exchange\nAQ,EUR,market"),
        )
        .file(
            "own/aq/charges.csv",
            table("charge,kind,order,level,of,percent\nxfee,fee,95,consignment,freight - goods,5"),
        )
        .file(
            "l.csv",
            "date,seller,price,commodity,currency,dispatch\n2026-03-02,Kite,500,871499,EUR,CN\n",
        )
        .go()
        .ends(1);
    assert!(
        ran.err.contains("l.csv:2") && ran.err.contains("`xfee` comes to -25.00 EUR"),
        "{}",
        ran.err
    );
}

/// A row for single lines takes from each. Of a freight of 1,000 shared by 1 g and 999 g one line bears 5 % of 1 - 100, which is -4.95,
/// and what the other bears, 5 % of 999 - 100, does not make it good.
#[test]
fn a_charge_of_single_lines_gives_none_of_them_money() {
    let charges = "charge,kind,order,level,of,percent\nxfee,fee,95,line,freight - goods,5";
    let parts = "part,place,price,mass_g\nlight,frame,100,1\nheavy,fork,1,999";
    let case = Case::new("EUR")
        .law("charges", charges)
        .seller("freight=1000")
        .parts(parts);
    case.refused("`xfee` comes to -4.95 EUR");
}

#[test]
fn names_that_no_table_has_are_errors() {
    const PARTS: &str =
        "part,place,seller,price,currency,dispatch,freight\nBar,handlebar,Kite,650,USD,CN,0\n";
    let with = |name: &str, text: &str| {
        landwaiter("cost parts.csv --to GB --on 2026-09-23 --rates r")
            .file("parts.csv", PARTS)
            .file(&format!("r/gb/{name}"), text)
            .go()
    };
    let charge = |when: &str| {
        with(
            "charges.csv",
            &format!(
                "charge,kind,order,level,of,percent,when,valid_from,source\nextra,duty,95,line,customs_value,5,{when},2020-01-01,mine\n"
            ),
        )
    };
    for sound in [
        "place = handlebar",
        "place != wheels",
        "dispatch = CN",
        "dispatch = EU",
        "origin != Taiwan",
        "to = XI",
    ] {
        charge(sound).ends(0);
    }
    for (when, said, near) in [
        (
            "place = handelbar",
            "`when` names the place `handelbar`",
            "did you mean `handlebar`?",
        ),
        (
            "customs_value > 1 GBP & place != sadle",
            "`when` names the place `sadle`",
            "did you mean `saddle`?",
        ),
        ("dispatch = ZZ", "`when` names the country `ZZ`", ""),
        (
            "origin = EUU",
            "`when` names the country `EUU`",
            "did you mean `EU`?",
        ),
    ] {
        let ran = charge(when).ends(1);
        assert_eq!(errors(&ran).len(), 1, "{}", ran.err);
        assert!(
            ran.err.contains("r/gb/charges.csv:2")
                && ran.err.contains(said)
                && ran.err.contains(near),
            "{when}: {}",
            ran.err
        );
    }
    let tariff =
        "layer,commodity,origin,percent,valid_from,source\nmfn,87149910,ZZ,9,2020-01-01,mine\n";
    let ran = with("tariff.csv", tariff).ends(1);
    assert!(
        ran.err.contains("r/gb/tariff.csv:2")
            && ran.err.contains("`origin` names the country `ZZ`"),
        "{}",
        ran.err
    );
}

/// A layer that a charge looks in alone may have no row yet: every line it owes a rate is a gap by name, also where a preference has
/// rows. One that is only asked behind others is a slip.
#[test]
fn a_layer_that_no_row_is_in_is_an_error_beside_one_with_rows() {
    let charges = |layers: &str| {
        format!(
            "charge,kind,order,level,of,rate_from\ntariff_duty,duty,20,line,goods,tariff:{layers}"
        )
    };
    let case = |layers: &str| {
        Case::new("EUR")
            .law("charges", &charges(layers))
            .parts("part,place,price\nit,frame,100")
    };
    let rows = "layer,commodity,origin,percent\nmfn,*,*,4";
    case("mfn + zzz")
        .law("tariff", rows)
        .refused("`rate_from` names the layer `zzz`: no row of `tariff.csv` is in it");
    case("mfn").law("tariff", rows).gives(&[("duty", "4")]);
    case("mfn").gives(&[("duty", "0"), ("gaps", "it")]);
    let both = "charge,kind,order,level,of,rate_from,when
        tariff_duty,duty,20,line,goods,tariff:mfn,preference = no
        preferred,duty,20,line,goods,tariff:preference + mfn,preference = yes";
    let preference = "layer,commodity,origin,percent\npreference,871491,TW,0";
    case("mfn")
        .law("charges", both)
        .law("tariff", preference)
        .gives(&[("duty", "0"), ("gaps", "it")]);
}

#[test]
fn a_folder_without_a_table_is_no_book_for_a_price_list() {
    let list =
        "date,seller,price,commodity,currency,dispatch\n2026-09-23,Kite,500,8714950000,GBP,GB\n";
    let run = |args: &str| {
        landwaiter(args)
            .file("l.csv", list)
            .file("mine/notes.txt", "to buy\n")
    };
    let ran = run("bulk l.csv mine --to GB").go().ends(1);
    assert!(
        ran.err
            .contains("the folder `mine` holds no table of a build")
            && ran.out.is_empty(),
        "{}",
        ran.err
    );
    assert!(
        run("bulk l.csv --to GB")
            .go()
            .ends(0)
            .out
            .contains("500.00")
    );
    let sellers = "seller,dispatch,currency,freight\nKite,GB,GBP,7.00\n";
    assert!(
        run("bulk l.csv mine --to GB")
            .file("mine/sellers.csv", sellers)
            .go()
            .ends(0)
            .out
            .contains("507.00")
    );
}

/// `cost` and `bulk` refuse a carrier's fee in other money than the destination's; its own may have its sign.
#[test]
fn a_fee_or_a_budget_in_other_money_is_refused() {
    let parts = "part,place,seller,price\nBar,handlebar,Kite,650.00\n";
    let sellers =
        |fee: &str| format!("seller,dispatch,currency,freight,handling\nKite,CN,USD,0,{fee}\n");
    for fee in ["12.00", "£12.00", "12 GBP", "2.5 % min £12.00"] {
        asked("cost", &[("parts", parts), ("sellers", &sellers(fee))]).ends(0);
    }
    let list = "date,seller,price,commodity\n2026-09-23,Kite,650,8714991099\n";
    for fee in ["12 EUR", "$12", "2.5 % min 12 EUR"] {
        let ran = asked("cost", &[("parts", parts), ("sellers", &sellers(fee))]).ends(1);
        let said =
            format!("`handling` is `{fee}`: expected an amount in GBP, the destination's currency");
        assert!(
            ran.err.contains("b/sellers.csv:2") && ran.err.contains(&said),
            "{}",
            ran.err
        );
        let ran = landwaiter("bulk l.csv b --to GB")
            .file("l.csv", list)
            .file("b/sellers.csv", sellers(fee))
            .go()
            .ends(1);
        assert!(
            ran.err.contains("b/sellers.csv:2") && ran.err.contains(&said),
            "{}",
            ran.err
        );
    }
    let budget = |text: &str| {
        asked(
            "cost",
            &[
                ("parts", parts),
                ("sellers", &sellers("")),
                ("settings", &format!("{SETTINGS}budget,{text}\n")),
            ],
        )
    };
    budget("£3300").ends(0);
    let ran = budget("3300 EUR").ends(1);
    assert!(
        ran.err.contains(
            "`budget` is `3300 EUR`: expected an amount in GBP, the destination's currency"
        ),
        "{}",
        ran.err
    );
}

/// A law without a customs value: 4 % of the price, which `cost` charges, is what `rates` shows.
#[test]
fn rates_shows_a_duty_where_no_row_makes_a_customs_value() {
    let table = |text: &str| format!("# valid_from = 2000-01-01\n# source = a test\n{text}\n");
    let run = |args: &str| {
        landwaiter(args)
            .file("own/destinations.csv", table("country,currency,customs_exchange\nAQ,EUR,market"))
            .file("own/aq/charges.csv", table("charge,kind,order,level,of,rate_from\ntariff_duty,duty,20,line,goods,tariff:mfn"))
            .file("own/aq/tariff.csv", table("layer,commodity,origin,percent\nmfn,*,*,4"))
            .file("parts.csv", "part,place,seller,price,currency,dispatch,freight\nBar,handlebar,Kite,100.00,EUR,CN,0\n")
            .go()
            .ends(0)
    };
    let json = run("cost parts.csv --to AQ --on 2026-09-23 --rates own --format json").json();
    assert_eq!(json["totals"]["landed"], "104.00");
    let shown = run("rates --to AQ --on 2026-09-23 --rates own").out;
    let china = shown
        .lines()
        .find(|line| line.starts_with("anywhere"))
        .unwrap();
    assert_eq!(
        china.split_whitespace().skip(1).collect::<Vec<_>>(),
        ["4"; 7],
        "{shown}"
    );
    assert!(!shown.contains("no rate is known"), "{shown}");
}

/// What stands first cannot be read: the others are held against what can.
#[test]
fn a_cell_that_cannot_be_read_is_one_error_whatever_the_others_say() {
    let parts = |cells: [&str; 4], column: &str| {
        let other = if column == "currency" {
            "dispatch"
        } else {
            "currency"
        };
        let fixed = if other == "dispatch" { "CN" } else { "CNY" };
        let places = ["saddle", "stem", "handlebar", "pedals"];
        let row =
            |(cell, place): (&str, &str)| format!("{place},{place},Kite,50.00,{cell},{fixed}\n");
        format!(
            "part,place,seller,price,{column},{other}\n{}",
            cells.into_iter().zip(places).map(row).collect::<String>()
        )
    };
    for command in ["cost", "check"] {
        for (column, cells, line) in [
            ("currency", ["RMB", "CNY", "CNY", "CNY"], 2),
            ("currency", ["CNY", "CNY", "RMB", "CNY"], 4),
            ("dispatch", ["Chian", "CN", "China", "CN"], 2),
            ("dispatch", ["CN", "CN", "CN", "Chian"], 5),
        ] {
            let ran = asked(command, &[("parts", &parts(cells, column))]).ends(1);
            assert_eq!(errors(&ran).len(), 1, "{command} {cells:?}: {}", ran.err);
            assert!(
                ran.err.contains(&format!("parts.csv:{line}"))
                    && !ran.err.contains("expected `RMB`"),
                "{}",
                ran.err
            );
        }
        // two that can be read and differ are still two answers
        let ran = asked(
            command,
            &[("parts", &parts(["RMB", "CNY", "USD", "CNY"], "currency"))],
        )
        .ends(1);
        assert_eq!(errors(&ran).len(), 2, "{}", ran.err);
        assert!(ran.err.contains("expected `CNY` as at"), "{}", ran.err);
    }
}

#[test]
fn one_wrong_cell_of_other_tables_is_one_error() {
    const PARTS: &str =
        "part,place,seller,price,currency,dispatch,freight\nBar,handlebar,Kite,650,USD,CN,0\n";
    for (table, text) in [
        (
            "receipts",
            "consignment,charge,amount,currency\nKite,goods,650,RMB\n",
        ),
        ("unknowns", "what,low,likely,high\nfreight:Kite,,5,10\n"),
        (
            "unknowns",
            "what,low,likely,high,chance\nevent:a strike,,5,10,20 %\n",
        ),
        ("unknowns", "what,low,likely,high\nfreight:Kite,x,5,10\n"),
        (
            "unknowns",
            "what,low,likely,high,chance\nevent:a strike,1,5,10,often\n",
        ),
        (
            "unknowns",
            "what,low,likely,high,chance\nremedy:Kite,,,,0.5\n",
        ),
    ] {
        let ran = asked("check", &[("parts", PARTS), (table, text)]).ends(1);
        assert_eq!(errors(&ran).len(), 1, "{table}: {}", ran.err);
        assert!(ran.err.contains(&format!("b/{table}.csv:2")), "{}", ran.err);
    }
    // A row that cannot be read is not missing where other tables name what it holds.
    let lost = PARTS.replace("Kite,650", "Kite,6,50");
    for (table, text) in [
        (
            "receipts",
            "consignment,charge,amount,currency\nKite,goods,650,USD\n",
        ),
        ("weighings", "what,mass_g\nBar,250\n"),
    ] {
        let ran = asked("check", &[("parts", &lost), (table, text)]).ends(1);
        assert_eq!(errors(&ran).len(), 1, "{table}: {}", ran.err);
        assert!(ran.err.contains("b/parts.csv:2"), "{}", ran.err);
    }
    let run = |name: &str, text: &str| {
        landwaiter("check parts.csv --to AQ --on 2026-09-23 --rates r")
            .file("parts.csv", PARTS)
            .file("r/destinations.csv", "country,currency,customs_exchange,valid_from,source\nAQ,EUR,market,2020-01-01,mine\n")
            .file("r/aq/charges.csv", "charge,kind,order,level,of,percent,valid_from,source\nextra,duty,95,line,goods,5,2020-01-01,mine\n")
            .file(&format!("r/{name}"), text)
            .go()
    };
    for (cells, column) in [
        ("goods,-5,", "percent"),
        ("gods +,5,", "of"),
        ("goods,5,", "kind"),
    ] {
        let kind = if column == "kind" { "dutty" } else { "duty" };
        let charges = format!(
            "charge,kind,order,level,of,percent,valid_from,source\nextra,{kind},95,line,{cells}2020-01-01,mine\n"
        );
        let ran = run("aq/charges.csv", &charges).ends(1);
        assert_eq!(errors(&ran).len(), 1, "{cells}: {}", ran.err);
        assert!(ran.err.contains("r/aq/charges.csv:2"), "{}", ran.err);
    }
    let ran = run(
        "destinations.csv",
        "country,currency,customs_exchange,valid_from,source\nAQ,EURO,market,2020-01-01,mine\n",
    )
    .ends(1);
    assert_eq!(errors(&ran).len(), 1, "{}", ran.err);
    assert!(
        ran.err.contains("r/destinations.csv:2") && !ran.err.contains("there are no rules for"),
        "{}",
        ran.err
    );
}

#[test]
fn all_that_is_wrong_in_a_book_is_said_at_once() {
    let parts = "part,place,seller,price,currency,dispatch,freight\nS,sadle,Kite,50.00,GBP,GB,0\nS,stem,Kite,50.00,GBP,GB,0\n";
    for command in ["cost", "check", "rank", "leeway"] {
        let ran = asked(command, &[("parts", parts)]).ends(1);
        assert_eq!(errors(&ran).len(), 2, "{command}: {}", ran.err);
        assert!(
            ran.err.contains("expected another name") && ran.err.contains("did you mean `saddle`?"),
            "{command}: {}",
            ran.err
        );
    }
}

#[test]
fn hints_know_what_people_call_money_and_quote_what_was_typed() {
    let parts = |price: &str, currency: &str| {
        format!(
            "part,place,seller,price,currency,dispatch\nBar,handlebar,Kite,{price},{currency},CN\n"
        )
    };
    for (price, currency, near) in [
        ("58 RMB", "", "did you mean `CNY`?"),
        ("58", "Fr.", "did you mean `CHF`?"),
        ("58 Fr.", "", "`CHF`?"),
    ] {
        let ran = asked("cost", &[("parts", &parts(price, currency))]).ends(1);
        assert!(ran.err.contains(near), "{price} {currency}: {}", ran.err);
    }
    let ran = asked(
        "check",
        &[("parts", "part,place,Weight (g)\nBar,handlebar,250\n")],
    );
    assert!(
        ran.err.contains("column `Weight (g)` is not known here"),
        "{}",
        ran.err
    );
}

#[test]
fn a_countrys_table_beside_the_folders_of_countries_is_said_to_belong_into_one() {
    const PARTS: &str =
        "part,place,seller,price,currency,dispatch,freight\nBar,handlebar,Kite,650,USD,CN,0\n";
    let fee = "charge,kind,order,level,flat,currency,valid_from,source\nown_fee,fee,70,consignment,7.77,GBP,2020-01-01,mine\n";
    let with = |name: &str, text: &str| {
        landwaiter("cost parts.csv --to GB --on 2026-09-23 --rates r")
            .file("parts.csv", PARTS)
            .file(&format!("r/{name}"), text)
            .go()
            .ends(0)
    };
    let said = with("charges.csv", fee).err;
    assert!(
        said.contains("r/charges.csv")
            && said.contains("put it into that country's folder, as in `gb/charges.csv`"),
        "{said}"
    );
    let said = with("gb/freight.csv", "schedule\n").err;
    assert!(
        said.contains(
            "`freight.csv` holds for all countries: put it into the folder of tables itself"
        ),
        "{said}"
    );
}
