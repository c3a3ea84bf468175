//! Commands agree: what one of them refuses every one refuses and names the cell, and `check` warns of what only one refuses.

use super::harness::{Ran, landwaiter};

const SETTINGS: &str = "setting,value\ndestination,GB\ndate,2026-10-21\nkind,road\n";

/// Every command that reads a book; a page is written beside it.
const COMMANDS: [&str; 9] = [
    "check b",
    "cost b",
    "compare b",
    "rank b",
    "plan b",
    "leeway b",
    "settle b",
    "return b --part Saddle --day 2026-10-25",
    "report b -o b/page.html",
];

fn run(command: &str, parts: &str, others: &[(&str, &str)]) -> Ran {
    let run = landwaiter(command).file("b/settings.csv", SETTINGS).file("b/parts.csv", parts);
    others.iter().fold(run, |run, (name, text)| run.file(&format!("b/{name}"), text)).go()
}

const HEADER: &str = "part,place,role,standing,seller,price,currency,dispatch,mass_g\n";

#[test]
fn a_misspelt_place_is_refused_by_every_command() {
    for role in ["build", "option"] {
        let rows = format!("Saddle,saddle,build,to-order,Taolin,40.00,GBP,TW,200\nBar,handelbar,{role},to-order,Taolin,60.00,GBP,TW,250\n");
        for command in COMMANDS {
            let ran = run(command, &format!("{HEADER}{rows}"), &[]).ends(1);
            assert!(ran.err.contains("parts.csv:3") && ran.err.contains("`handelbar`"), "{command}: {}", ran.err);
            assert_eq!(ran.err.matches("did you mean `handlebar`?").count(), 1, "{command}: {}", ran.err);
        }
    }
}

#[test]
fn a_freight_schedule_that_no_table_has_is_refused_by_every_command() {
    let parts = "part,place,role,standing,seller,price,currency,mass_g\n\
                 Saddle,saddle,build,to-order,Taolin,40.00,GBP,200\n\
                 Saddle,saddle,rival,to-order,Weihu,30.00,GBP,200\n";
    let sellers = "seller,dispatch,currency,freight\nTaolin,TW,GBP,12.00\nWeihu,TW,GBP,weihu-post\n";
    for command in COMMANDS {
        let ran = run(command, parts, &[("sellers.csv", sellers)]).ends(1);
        assert!(ran.err.contains("sellers.csv:3"), "{command}: {}", ran.err);
        assert_eq!(ran.err.matches("there is no freight schedule `weihu-post` from TW by courier").count(), 1, "{command}: {}", ran.err);
    }
    // One that a parcel's own row asks for is named there.
    let parcels = "seller,parcel,freight\nTaolin,late,taolin-pots\n";
    let parts = "part,place,role,standing,seller,price,currency,parcel,mass_g\nSaddle,saddle,build,to-order,Taolin,40.00,GBP,late,200\n";
    let sellers = "seller,dispatch,currency,freight\nTaolin,TW,GBP,12.00\n";
    for command in ["check b", "cost b", "plan b"] {
        let ran = run(command, parts, &[("sellers.csv", sellers), ("parcels.csv", parcels)]).ends(1);
        assert!(ran.err.contains("parcels.csv:2") && ran.err.contains("`taolin-pots`"), "{command}: {}", ran.err);
        assert_eq!(ran.err.lines().filter(|line| line.starts_with("error")).count(), 1, "{command}: {}", ran.err);
    }
}

#[test]
fn what_plan_alone_refuses_check_warns_of_in_the_money_of_the_cell() {
    let rows = |price: &str, money: &str| format!("{HEADER}Saddle,saddle,build,to-order,Taolin,{price},{money},TW,200\n");
    // A hundred million pounds a row are reckoned, a million are planned with.
    for price in ["99999999", "1000000.01"] {
        let parts = rows(price, "GBP");
        let checked = run("check b", &parts, &[]).ends(0);
        assert!(checked.err.contains("warning") && checked.err.contains("parts.csv:2"), "{}", checked.err);
        assert!(checked.err.contains("`plan` takes at most 1,000,000 GBP for the row"), "{}", checked.err);
        let planned = run("plan b", &parts, &[]).ends(1);
        assert!(planned.err.contains("expected no more than 1,000,000 GBP for the row"), "{}", planned.err);
        assert!(!run("cost b", &parts, &[]).ends(0).err.contains("`plan`"));
    }
    assert!(!run("check b", &rows("1000000", "GBP"), &[]).ends(0).err.contains("`plan`"));
    // On 2026-10-21 a euro is 1.1234 dollars and 0.83825 pounds: a million pounds are 1,340,172.98 dollars.
    let checked = run("check b", &rows("1400000", "USD"), &[]).ends(0);
    assert!(checked.err.contains("`plan` takes at most 1,340,172 USD (1,000,000 GBP) for the row"), "{}", checked.err);
    // What no command takes is one error and no warning.
    let checked = run("check b", &rows("100000001", "GBP"), &[]).ends(1);
    assert!(checked.err.contains("expected no more than 100,000,000 GBP") && !checked.err.contains("`plan`"), "{}", checked.err);
}

#[test]
fn a_choice_that_changes_nothing_is_said_by_every_command() {
    let parts = format!("{HEADER}Saddle,saddle,build,to-order,Taolin,40.00,GBP,TW,200\n");
    let name = "no rule of the United Kingdom asks for the choice `currier`: it changes nothing";
    let value = "asks whether the choice `courier` is `roed`";
    for (choice, said, near) in
        [("currier=road", name, "`courier`"), ("courier=roed", value, "`road`"), ("foo=bar", "the choice `foo`", "")]
    {
        for command in COMMANDS {
            let ran = run(&format!("{command} --choice {choice}"), &parts, &[]);
            if command.starts_with("plan") || command.starts_with("report") {
                // One saddle is no plan for a bike, and a page is a file.
                continue;
            }
            let ran = ran.ends(0);
            let where_said = if command.starts_with("check") { &ran.err } else { &ran.out };
            assert!(where_said.replace("\n  ", " ").contains(said), "{command}: {}{}", ran.out, ran.err);
            assert_eq!(where_said.contains("did you mean"), !near.is_empty(), "{command}: {}{}", ran.out, ran.err);
            assert!(where_said.contains(near), "{command}: {}{}", ran.out, ran.err);
        }
    }
    // A choice of the settings too.
    let settings = format!("{SETTINGS}choice.currier,road\n");
    let ran = landwaiter("check b").file("b/settings.csv", settings).file("b/parts.csv", parts).go().ends(0);
    assert!(ran.err.contains(name) && ran.err.contains("did you mean `courier`?"), "{}", ran.err);
    assert!(!ran.out.contains("currier"), "said once: {}", ran.out);
}
