//! The engine of the law: limits that are turned once a year, facts that a rate hangs on, findings said once.
//!
//! October's rate: Implementing Regulation (EU) 2015/2447 article 48(2), named from memory: the rate of the first working day of
//! October holds for limits in the money of a member without the euro from 1 January on.

use crate::common::Case;
use crate::harness::{Ran, landwaiter};

/// A parcel of goods to Poland in its own money, the day chosen so that the month's rate and October's differ about the limit.
fn poland(price: &str, day: &str) -> Ran {
    let parts = format!(
        "part,place,seller,price,currency,dispatch,freight,channel,transit_days,origin,commodity\n\
         Lowtide saddle,saddle,Taolin,{price},PLN,TW,50,post,0,TW,87149500\n"
    );
    landwaiter(&format!("cost parts.csv --to PL --on {day} --format json"))
        .file("parts.csv", parts)
        .go()
}

fn json(ran: &Ran) -> serde_json::Value {
    assert_eq!(ran.status, 0, "{}", ran.err);
    serde_json::from_str(&ran.out).unwrap()
}

fn landed(ran: &Ran) -> String {
    json(ran)["totals"]["landed"].as_str().unwrap().to_owned()
}

fn says(ran: &Ran, id: &str) -> bool {
    json(ran)["cautions"]
        .as_array()
        .unwrap()
        .iter()
        .any(|caution| caution["id"] == id)
}

/// Goods of 645.00 and postage of 50.00 in August 2026. The month's rate is that of 2026-07-22, 4.33, so that 150 EUR would be
/// 649.50; October's is that of 2025-10-01, 4.2583, so that the limit is 638.745 and the parcel above it. Duty of 4.7 % on 695.00
/// is 32.67 (32.665), VAT of 23 % on 727.67 is 167.36, the fee of the post 8.50: 903.53. Below the limit it would have been 3 EUR at
/// the month's rate, 12.99, VAT of 162.84 on 707.99 and the fee: 879.33.
#[test]
fn a_limit_in_euro_is_turned_at_the_rate_of_october() {
    let above = poland("645", "2026-08-20");
    assert_eq!(
        (landed(&above).as_str(), says(&above, "limit-rate")),
        ("903.53", false)
    );
    // 638.00 is within: 12.99 on 688.00, VAT of 23 % on 700.99 is 161.23, and the fee
    assert_eq!(landed(&poland("638", "2026-08-20")), "870.72");
    // in February the rate of the month, 4.2275, would have made the limit 634.13: October's holds for the whole year, and up to
    // it there is no duty: VAT of 23 % on 685.00 is 157.55, and the fee
    assert_eq!(landed(&poland("635", "2026-02-20")), "851.05");
}

/// The rate of the user's own takes the place of the one in the tables: with 4.31 the limit is 646.50, and the parcel within it.
#[test]
fn a_rate_of_october_of_ones_own_counts() {
    let parts = "part,place,seller,price,currency,dispatch,freight,channel,transit_days,origin,commodity\n\
        Lowtide saddle,saddle,Taolin,645,PLN,TW,50,post,0,TW,87149500\n";
    let run = landwaiter("cost parts.csv --to PL --on 2026-08-20 --rates r --format json")
        .file("parts.csv", parts);
    let own = "use,base,quote,rate,valid_from\nmarket,EUR,PLN,4.31,2025-10-01\n";
    assert_eq!(landed(&run.file("r/exchange.csv", own).go()), "879.33");
}

/// The rates of the tables begin in January 2025: October 2024 is not among them, and what stands in is said.
#[test]
fn a_missing_rate_of_october_is_said() {
    let before = poland("645", "2025-10-20");
    assert!(says(&before, "limit-rate"), "{}", before.out);
    let text = json(&before)["cautions"].to_string();
    assert!(
        text.contains("Limits in EUR are converted at the rate of 2024-10-01"),
        "{text}"
    );
    let euro = landwaiter("cost parts.csv --to DE --on 2025-10-20 --format json").file(
        "parts.csv",
        "part,place,seller,price,currency,dispatch,freight,channel,transit_days,origin\nbar,handlebar,Taolin,140,EUR,TW,10,post,0,TW\n",
    );
    let euro = euro.go();
    assert!(
        !says(&euro, "limit-rate"),
        "a limit in a member's own money is turned by no rate: {}",
        euro.out
    );
    assert!(
        !euro.out.contains("@october") && !euro.out.contains("October's rate"),
        "{}",
        euro.out
    );
}

const GOODS: &str = "charge,kind,order,level,of,percent,rate_from
    customs_value,value,10,line,goods + freight,,
    tariff_duty,duty,20,line,customs_value,,tariff:mfn
    dumping,remedy,21,line,customs_value,,tariff:remedy";

/// What is said of the only part, for which no rate is known.
#[track_caller]
fn no_rate(case: &Case) -> String {
    let landed = case.run().unwrap();
    let said = landed
        .cautions
        .iter()
        .find(|caution| caution.id == "no-rate");
    said.map(ToString::to_string).unwrap_or_default()
}

#[test]
fn a_rate_that_hangs_on_a_fact_of_the_part_names_it_with_its_values() {
    let worn = |place: &str, traits: &str| {
        no_rate(
            &Case::gb()
                .parts(&format!("part,place,price,traits\nit,{place},200,{traits}"))
                .seller("dispatch=TW; freight=10"),
        )
    };
    let shoes = worn("shoes", "");
    assert!(
        shoes
            .ends_with("Enter in `traits` what it is: `material` (leather, synthetic or textile)."),
        "{shoes}"
    );
    assert_eq!(
        worn("shoes", "material=carbon"),
        shoes,
        "a value that no row has is answered by those that rows have"
    );
    assert_eq!(worn("shoes", "material=leather"), "", "nothing is missing");
    let clothing = worn("clothing", "");
    assert!(
        clothing.ends_with(
            ": `garment` (jersey or shorts) and `material` (cotton, synthetic or wool)."
        ),
        "{clothing}"
    );
    let jersey = worn("clothing", "garment=jersey");
    assert!(
        jersey.ends_with(": `material` (cotton, synthetic or wool)."),
        "{jersey}"
    );
}

/// Rows of rates that ask for a fact themselves, and goods of which no row would say more.
#[test]
fn a_fact_that_only_rates_ask_for_is_named_too() {
    let tariff = "layer,commodity,origin,percent,when
        mfn,871491,*,4,trait.finish = raw
        mfn,871491,*,6,trait.finish = painted
        remedy,871493,CN,48.5,trait.exporter = none";
    let case = |place: &str| {
        Case::new("EUR")
            .law("charges", GOODS)
            .law("tariff", tariff)
            .parts(&format!("part,place,price\nit,{place},500"))
    };
    assert!(
        no_rate(&case("frame")).ends_with(": `finish` (painted or raw)."),
        "{}",
        no_rate(&case("frame"))
    );
    assert_eq!(
        no_rate(&case("hub")),
        "unknown: No duty rate is known for these goods, and their duty is not in the total. Ask customs or the carrier."
    );
}

#[test]
fn findings_that_are_alike_are_said_once() {
    let ran = landwaiter("rates --gaps --to DE --on 2026-11-25")
        .go()
        .ends(0);
    let text = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(
        text.matches("in force until 2027-02-17").count(),
        1,
        "{}",
        ran.out
    );
    assert!(
        text.contains(" and 7318220098 from China: in force until 2027-02-17")
            && !text.contains(".csv:"),
        "{}",
        ran.out
    );
    for shown in ["--trail", "--format csv"] {
        let rows = landwaiter(&format!("rates --gaps --to DE --on 2026-11-25 {shown}"))
            .go()
            .ends(0);
        assert!(rows.out.contains("rates/eu/tariff.csv:"), "{}", rows.out);
    }
    // the same findings, each for itself, are there for programs
    let json = landwaiter("rates --gaps --to DE --on 2026-11-25 --format json")
        .go()
        .ends(0);
    let json: serde_json::Value = serde_json::from_str(&json.out).unwrap();
    let all = json["gaps"].as_array().unwrap();
    let ending = all
        .iter()
        .filter(|gap| {
            gap["what"]
                .as_str()
                .unwrap()
                .ends_with(" CN: in force until 2027-02-17")
        })
        .count();
    assert!(ending > 20, "{ending}");
    assert!(
        text.contains(&format!("{} findings", all.len())),
        "{}",
        ran.out
    );
    for gap in all {
        let digits = gap["what"]
            .as_str()
            .unwrap()
            .split([' ', ':'])
            .nth(1)
            .unwrap_or_default();
        assert!(text.contains(digits), "{gap} is not on the screen");
    }
}
