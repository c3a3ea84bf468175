//! What `bulk` says of a list beside its figures: choices, masses, sellers, and days far from the tables.

use super::harness::{Ran, landwaiter};

const HEADER: &str = "date,seller,dispatch,currency,price,mass_g,commodity,origin,consignment\n";

fn bulk(flags: &str, rows: &str) -> Ran {
    let book = "setting,value\ndestination,GB\ncard_fee,0\n";
    let sellers =
        "seller,dispatch,currency,freight\nTaolin,TW,GBP,12.00\nWeihu,TW,GBP,weihu-post\n";
    let schedule = "schedule,dispatch,destination,channel,up_to_g,price,currency,valid_from\n\
                    weihu-post,TW,GB,*,500,5.00,GBP,2026-01-01\nweihu-post,TW,GB,*,5000,9.00,GBP,2026-01-01\n";
    landwaiter(&format!("bulk l.csv b --rates b/rates {flags}"))
        .file("b/settings.csv", book)
        .file("b/sellers.csv", sellers)
        .file("b/rates/freight.csv", schedule)
        .file("l.csv", format!("{HEADER}{rows}"))
        .go()
}

#[test]
fn a_value_that_no_choice_knows_is_an_error_as_its_name_is() {
    let row = "2026-10-21,Taolin,TW,GBP,40.00,200,871495,TW,\n";
    for (choice, near) in [
        ("currier=road", "did you mean `courier`?"),
        ("courier=roed", "did you mean `road`?"),
    ] {
        let ran = bulk(&format!("--choice {choice}"), row).ends(1);
        assert!(
            ran.err.contains("error") && ran.err.contains(near),
            "{choice}: {}",
            ran.err
        );
        assert!(ran.out.is_empty(), "{}", ran.out);
    }
    bulk("--choice courier=road", row).ends(0);
}

#[test]
fn lines_whose_freight_hangs_on_a_mass_that_is_not_told_are_said_once() {
    // Of three that travel together two are not weighed: the third bears all of the freight of 12.00.
    let ran = bulk(
        "",
        "2026-10-21,Taolin,TW,GBP,40.00,200,871495,TW,one\n\
         2026-10-21,Taolin,TW,GBP,40.00,,871495,TW,one\n\
         2026-10-21,Taolin,TW,GBP,40.00,,871495,TW,one\n\
         2026-10-21,Weihu,TW,GBP,40.00,,871495,TW,\n\
         2026-10-21,Taolin,TW,GBP,40.00,,871495,TW,\n\
         2026-10-21,Taolin,TW,GBP,40.00,,871495,TW,two\n\
         2026-10-21,Taolin,TW,GBP,40.00,,871495,TW,two\n",
    )
    .ends(0);
    // The freight of a line alone does not hang on its mass where it is one amount; of parcel two each bears half.
    let freight: Vec<&str> = ran
        .out
        .lines()
        .skip(1)
        .map(|line| line.split(',').nth(11).unwrap())
        .collect();
    assert_eq!(
        freight,
        ["12.00", "0.00", "0.00", "5.00", "12.00", "6.00", "6.00"]
    );
    assert!(
        ran.err
            .contains("`mass_g` is missing for 3 lines, whose shipping depends on it"),
        "{}",
        ran.err
    );
    assert_eq!(
        ran.err.matches("`mass_g` is missing").count(),
        1,
        "{}",
        ran.err
    );
    assert!(ran.err.contains("l.csv:2"), "{}", ran.err);
}

#[test]
fn a_line_without_a_seller_is_not_priced() {
    let ran = bulk("", "2026-10-21,,TW,GBP,40.00,200,871495,TW,\n").ends(1);
    assert!(
        ran.err.contains("l.csv:2")
            && ran
                .err
                .contains("`seller` is empty: expected the seller's name"),
        "{}",
        ran.err
    );
}

#[test]
fn days_far_from_the_tables_are_said_once() {
    let near = "2026-10-21,Taolin,TW,USD,40.00,200,871495,TW,\n";
    assert_eq!(bulk("", near).ends(0).err, "");
    let far = "2031-03-02,Taolin,TW,USD,40.00,200,871495,TW,\n2031-03-05,Taolin,TW,EUR,40.00,200,871495,TW,\n";
    for jobs in ["1", "3"] {
        let ran = bulk(&format!("--jobs {jobs}"), &format!("{near}{far}")).ends(0);
        assert_eq!(
            ran.err
                .matches("market rates are older than the orders")
                .count(),
            1,
            "{}",
            ran.err
        );
        assert!(
            ran.err.contains("that of EUR by up to 15")
                && ran.err.contains("that of USD by up to 15"),
            "{}",
            ran.err
        );
        assert_eq!(
            ran.err
                .matches("more than a year before the arrival")
                .count(),
            1,
            "{}",
            ran.err
        );
        assert_eq!(ran.err.matches("l.csv:3").count(), 2, "{}", ran.err);
    }
}

/// As `cost` has it; what the command line says in its place is what is asked.
#[test]
fn a_choice_of_the_book_that_no_rule_asks_for_is_warned_of_in_bulk() {
    let run = |flags: &str, choices: &str| {
        landwaiter(&format!("bulk l.csv b {flags}"))
            .file(
                "b/settings.csv",
                format!("setting,value\ndestination,GB\ncard_fee,0\n{choices}"),
            )
            .file(
                "b/sellers.csv",
                "seller,dispatch,currency,freight\nTaolin,TW,GBP,12.00\n",
            )
            .file(
                "l.csv",
                format!("{HEADER}2026-10-21,Taolin,TW,GBP,40.00,200,871495,TW,\n"),
            )
            .go()
            .ends(0)
    };
    for (choice, said, near) in [
        (
            "choice.currier,road\n",
            "asks for the choice `currier`: it changes nothing",
            "did you mean `courier`?",
        ),
        (
            "choice.courier,roed\n",
            "asks whether the choice `courier` is `roed`",
            "did you mean `road`?",
        ),
        (
            "choice.zzz,1\n",
            "asks for the choice `zzz`: it changes nothing",
            "its choices are ",
        ),
    ] {
        let ran = run("", choice);
        assert!(
            ran.err.contains(said) && ran.err.contains(near),
            "{choice}: {}",
            ran.err
        );
        assert_eq!(ran.err.matches("warning").count(), 1, "{}", ran.err);
        assert_eq!(ran.out, run("", "").out, "it changes nothing");
        assert_eq!(
            ran.err,
            run("--jobs 3", choice).err,
            "once, however many threads there are"
        );
    }
    assert_eq!(
        run("--choice courier=road", "choice.courier,roed\n").err,
        ""
    );
    assert_eq!(run("", "choice.courier,road\n").err, "");
}
