//! What is said of a sum and of a bike: what a sum lacks, what of it is in dispute and by what name, by what a build is compared,
//! and that there is no verdict on a bike with parts missing.

use serde_json::Value;

/// Goods of two kinds, one of which the tables know no rate for; what customs asked for both.
fn settled_beside_a_gap(command: &str) -> crate::harness::Ran {
    crate::harness::landwaiter(command)
        .file(
            "parts.csv",
            "part,place,standing,seller,price,currency,dispatch,mass_g,commodity\n\
             Cover,tool,on-order,Ridgeway,200.00,GBP,TW,400,630790\nSaddle,saddle,on-order,Ridgeway,100.00,GBP,TW,180,\n",
        )
        .file("sellers.csv", "seller,dispatch,currency,freight,channel\nRidgeway,TW,GBP,0,courier\n")
        .file(
            "receipts.csv",
            "consignment,charge,amount,currency,date\nRidgeway,duty,17.20,GBP,2026-09-10\nRidgeway,tax_at_border,63.44,GBP,2026-09-10\n",
        )
        .go()
        .ends(0)
}

#[test]
fn duty_on_goods_without_a_rate_is_not_called_overcharged() {
    let settled =
        settled_beside_a_gap("settle . --to GB --on 2026-09-01 --day 2026-10-01 --more").out;
    assert!(
        settled.contains("a rate is missing that may be due"),
        "{settled}"
    );
    assert!(
        !settled.contains("overcharged") && !settled.contains("more than the rules explain"),
        "{settled}"
    );
    assert!(settled.contains("[no-rate]"), "{settled}");
}

#[test]
fn duty_that_a_receipt_tells_is_in_the_sum_whatever_the_tables_lack() {
    let cost = settled_beside_a_gap("cost . --to GB --on 2026-09-01").out;
    assert!(
        !cost.contains("not in it") && !cost.contains("[no-rate]"),
        "{cost}"
    );
    assert!(cost.contains("17.20"), "{cost}");
}

/// Wheels and a bar from China, on order: 14.75 of duty and 178.89 of anti-dumping, worked by hand from 368.88 pounds.
fn on_its_way(command: &str, receipts: &str, unknowns: &str) -> Value {
    let run = crate::harness::landwaiter(&format!("{command} . --format json"))
        .file(
            "parts.csv",
            "part,place,seller,price,currency,dispatch,freight,quantity,mass_g,standing,paid,origin\n\
             Aro wheels,wheels,Kestrel Works,400.00,USD,CN,0,1,1500,on-order,,CN\n\
             Bexo bar,handlebar,Kestrel Works,100.00,USD,CN,0,1,250,on-order,,CN\n",
        )
        .file("settings.csv", "setting,value\ndestination,GB\ndate,2026-09-23\nkind,road\n")
        .file("unknowns.csv", format!("what,low,likely,high,chance\n{unknowns}"))
        .file("receipts.csv", format!("consignment,charge,amount,currency,date\n{receipts}"));
    run.go().ends(0).json()
}

#[test]
fn leeway_takes_nothing_away_that_receipts_tell() {
    let paid =
        "Kestrel Works,duty,14.75,GBP,2026-09-30\nKestrel Works,remedy,178.89,GBP,2026-09-30\n";
    let found = on_its_way("leeway", paid, "event:late,0,0,10,50 %\n");
    assert!(found["undisputed"].is_null(), "{found}");
    let open = on_its_way("leeway", "", "event:late,0,0,10,50 %\n");
    assert!(
        !open["undisputed"].is_null(),
        "nothing is told, so it may not be asked for"
    );
}

#[test]
fn a_few_pence_more_of_duty_are_no_sum_of_duty_and_anti_dumping() {
    for (receipt, duty, remedy) in [
        ("14.80", "14.80", "178.89"),
        ("40.00", "40.00", "178.89"),
        ("193.70", "14.75", "178.95"),
    ] {
        let found = on_its_way(
            "cost",
            &format!("Kestrel Works,duty,{receipt},GBP,2026-09-30\n"),
            "",
        );
        let told = &found["consignments"][0];
        assert_eq!(
            (told["duty"].as_str(), told["remedy"].as_str()),
            (Some(duty), Some(remedy)),
            "{receipt}: {told}"
        );
    }
}

#[test]
fn with_a_chance_for_what_is_disputed_the_ends_hold_both() {
    let found = on_its_way("leeway", "", "event:late,0,0,10,50 %\ndisputed,,,,30 %\n");
    let at = |name: &str| landwaiter::units::number::plain(found[name].as_str().unwrap()).unwrap();
    let least =
        landwaiter::units::number::plain(found["undisputed"]["cost"].as_str().unwrap()).unwrap();
    assert!(
        at("all_low") <= least && at("all_high") >= at("cost"),
        "{found}"
    );
}
