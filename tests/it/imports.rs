//! `rates update`: what its status says, and that no table is changed by half of what was asked.

use crate::harness::{Run, landwaiter};

const FIRST: &str = "Date,USD,GBP,\n2026-11-02,1.1172,0.8338,\n";
const SECOND: &str = "Date,USD,GBP,\n2026-11-03,1.1130,0.8358,\n";
const PARTS: &str = "part,place,seller,price,currency,dispatch,freight,channel,transit_days,origin\n\
    Lowtide bar,handlebar,Taolin,200.00,EUR,TW,20.00,courier,0,TW\n";

fn update(files: &str) -> Run {
    let run = landwaiter(&format!("rates update {files} --book .")).file("parts.csv", PARTS);
    let run = run.file(
        "settings.csv",
        "setting,value\ndestination,GB\ndate,2026-10-20\nrates,rates\n",
    );
    run.file("first.csv", FIRST)
        .file("second.csv", SECOND)
        .file("broken.csv", "Date,USD,\n2026-11-04,much,\n")
}

#[test]
fn an_update_says_so_by_its_status() {
    let done = update("first.csv second.csv").go();
    assert_eq!(done.status, 0, "{}", done.err);
    let table = done.left("rates/exchange.csv");
    assert!(
        table.contains("2026-11-02") && table.contains("2026-11-03"),
        "{table}"
    );
    // nothing new is done too
    let again = update("first.csv second.csv")
        .file("rates/exchange.csv", &table)
        .go();
    assert_eq!(
        (again.status, again.out.contains("Nothing new")),
        (0, true),
        "{}{}",
        again.out,
        again.err
    );
    assert_eq!(again.left("rates/exchange.csv"), table);
    // one that cannot be read, wherever it stands, leaves every table as it was, and each such file is named
    let own = "use,base,quote,rate,valid_from\nmarket,EUR,USD,1.1,2026-11-01\n";
    for files in [
        "first.csv none.csv",
        "none.csv first.csv",
        "first.csv broken.csv",
        "first.csv parts.csv second.csv",
        "broken.csv none.csv first.csv",
    ] {
        let ran = update(files).file("rates/exchange.csv", own).go();
        assert_eq!(
            (ran.status, ran.out.as_str()),
            (1, ""),
            "{files}: {}",
            ran.err
        );
        assert_eq!(
            ran.left("rates/exchange.csv"),
            own,
            "{files}: a table was changed"
        );
        for bad in files
            .split(' ')
            .filter(|file| !["first.csv", "second.csv"].contains(file))
        {
            assert!(
                ran.err.contains(bad),
                "{files}: {bad} is not named: {}",
                ran.err
            );
        }
    }
    assert_eq!(landwaiter("rates update").go().status, 2);
    let help = landwaiter("rates update --help")
        .go()
        .out
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    assert!(help.contains("with 1 when one cannot be read"), "{help}");
}
