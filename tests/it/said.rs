//! What is said once and rightly: which parts have a test report, what "to pay" leaves out, what is a parcel.

use serde_json::Value;

use crate::harness::landwaiter;
use crate::kit;

/// The book is of 2 March 2026: what is dated later has not been tested yet.
#[test]
fn a_report_of_a_day_yet_to_come_counts_in_no_check() {
    let check = |day: &str| {
        landwaiter("check --format json")
            .file(
                "parts.csv",
                format!("part,place,seller,price,currency,dispatch,evidence\nBar,handlebar,Skerry Supply,60.00,USD,TW,\"ISO 4210-5, Nordlab, {day}\"\n"),
            )
            .file("settings.csv", "setting,value\ndestination,GB\ndate,2026-03-02\n")
            .go()
            .ends(0)
            .json()["without_report"]
            .clone()
    };
    assert_eq!(check("2026-03-01"), serde_json::json!([]));
    assert_eq!(check("2026-04-01"), serde_json::json!(["Bar"]));
}

/// Eight parts that steer and stop: all but the one with a report are named, on the screen and to programs.
#[test]
fn check_names_every_part_without_a_report() {
    let places = [
        "frame",
        "fork",
        "handlebar",
        "stem",
        "seatpost",
        "wheels",
        "calipers",
        "headset",
    ];
    let mut parts =
        "part,place,seller,price,currency,dispatch,mass_g,freight,evidence\n".to_owned();
    for (place, evidence) in places.iter().zip([
        "none shown",
        "\"claimed, no report\"",
        "no",
        "unknown",
        "-",
        "",
        "asked for",
        "",
    ]) {
        parts += &format!("Heath {place},{place},Skerry Supply,60.00,USD,TW,400,5,{evidence}\n");
    }
    parts += "Proven stem,spare,Skerry Supply,60.00,USD,TW,400,5,\"ISO 4210-5, laboratory, 2025-05-01\"\n";
    let run = |flags: &str| {
        landwaiter(&format!("check {flags}"))
            .file("parts.csv", &parts)
            .file(
                "settings.csv",
                "setting,value\ndestination,GB\ndate,2026-03-02\n",
            )
            .go()
    };
    let text = run("")
        .ends(0)
        .out
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    let json = run("--format json").ends(0).json();
    let named = json["without_report"].as_array().unwrap();
    for place in &places[..7] {
        assert!(text.contains(&format!("Heath {place}")), "{place}: {text}");
        assert!(
            named.contains(&Value::from(format!("Heath {place}"))),
            "{place}: {named:?}"
        );
    }
    assert_eq!(named.len(), 7, "{named:?}\n{text}");
    let named = text
        .split("No test report in `evidence`: ")
        .nth(1)
        .and_then(|rest| rest.split('.').next())
        .unwrap();
    assert!(
        named.starts_with("Heath frame") && !named.contains("Proven stem"),
        "{named}"
    );
}

/// What is bought over the counter travels in no parcel.
#[test]
fn what_is_bought_at_home_is_no_parcel() {
    let ran = landwaiter("check")
        .file(
            "parts.csv",
            "part,place,price,currency,mass_g\nHeath saddle,saddle,48.00,GBP,180\n",
        )
        .file(
            "settings.csv",
            "setting,value\ndestination,GB\ndate,2026-03-02\n",
        )
        .go()
        .ends(0);
    assert!(
        ran.out
            .starts_with("No errors: 1 row and 0 parcels checked."),
        "{}",
        ran.out
    );
}

/// One figure in `cost`, `rank` and `compare --with-tools`; `compare` says that it leaves tools out.
#[test]
fn to_pay_is_one_figure_or_says_what_it_leaves_out() {
    let json = |args: &[&str]| -> Value {
        serde_json::from_str(&kit::landwaiter(&[args, &["--format", "json"]].concat()).stdout)
            .unwrap()
    };
    let book = "examples/gravel-build";
    let cost = json(&["cost", book])["totals"]["to_pay"].clone();
    assert_eq!(json(&["rank", book])["to_pay"], cost);
    assert_eq!(
        json(&["compare", book, "--with-tools"])["build"]["to_pay"],
        cost
    );
    let text = |args: &[&str]| {
        kit::landwaiter(args)
            .stdout
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    };
    let (without, with) = (
        text(&["compare", book, "--more"]),
        text(&["compare", book, "--with-tools", "--more"]),
    );
    assert_ne!(
        json(&["compare", book])["build"]["to_pay"],
        cost,
        "the example has tools to pay for"
    );
    assert!(
        without.contains("Still to pay, without tools and shop work: "),
        "{without}"
    );
    assert!(
        with.contains("Still to pay: ") && !with.contains("without tools"),
        "{with}"
    );
    let left_out = "left out of all these sums; `--with-tools` counts them.";
    assert!(
        without.contains(left_out) && !with.contains(left_out),
        "{without}\n{with}"
    );
}

/// A price at home is what is paid: no sum is "0.00 more"; and what the rider wears stands under a heading of its own.
#[test]
fn a_build_that_costs_its_price_tags_lands_at_as_much() {
    let parts = "part,place,seller,price,currency,dispatch\nSaddle,saddle,Radhaus,40.00,GBP,GB\nHat,helmet,Radhaus,79.00,GBP,GB\n";
    let book = |args: &str| {
        landwaiter(args)
            .file(
                "b/settings.csv",
                "setting,value\ndestination,GB\ndate,2026-10-21\n",
            )
            .file("b/parts.csv", parts)
    };
    let out = book("cost b").go().ends(0).out;
    assert!(
        out.starts_with("Landed cost 119.00 GBP: as much as the price tags."),
        "{out}"
    );
    assert!(
        out.lines().any(|line| line.trim() == "Rider")
            && !out.lines().any(|line| line.trim() == "Other"),
        "{out}"
    );
    let ran = book("report b --pictures p --hide prices").go().ends(0);
    assert!(
        ran.left("p/words.txt")
            .contains("this build costs at the door as much as on its price tags"),
        "{}",
        ran.left("p/words.txt")
    );
    let page = book("report b -o page.html --hide prices")
        .go()
        .ends(0)
        .left("page.html");
    assert!(page.contains("Costs as much at the door as on the price tags."));
}

/// The parts of the sentence to read aloud add up to what the build costs more than its tags: freight, charges and fees less the code and
/// the seller's own tax of 19 %, which stands on the tag and is not charged. Each figure is rounded to one.
#[test]
fn the_words_to_read_aloud_add_up() {
    let parts = "part,place,seller,price,currency,mass_g,origin\nWheels,wheels,Radhaus,714.00,EUR,1500,TW\nBar,handlebar,Taolin,200.00,USD,250,TW\n";
    let sellers = "seller,dispatch,currency,freight,prices_include\nRadhaus,DE,EUR,25.00,19\nTaolin,TW,USD,20.00,\n";
    let codes = "code,seller,scope,amount,currency\nOFF,Taolin,basket,40.00,USD\n";
    let ran = landwaiter("report b --pictures p")
        .file(
            "b/settings.csv",
            "setting,value\ndestination,GB\ndate,2026-03-02\nkind,road\n",
        )
        .file("b/parts.csv", parts)
        .file("b/sellers.csv", sellers)
        .file("b/discounts.csv", codes)
        .go()
        .ends(0);
    let words = ran.left("p/words.txt");
    let lines: Vec<&str> = words.lines().collect();
    let sums = |text: &str| -> Vec<i64> {
        let figures = text
            .split("about ")
            .skip(1)
            .filter_map(|rest| rest.split(' ').next());
        figures
            .filter_map(|figure| figure.replace(',', "").parse().ok())
            .collect()
    };
    let (added, off) = lines[1]
        .split_once("; taken off are ")
        .unwrap_or_else(|| panic!("{words}"));
    assert!(
        off.contains(" for discounts and ") && off.contains("such as a seller's own tax"),
        "{words}"
    );
    let more = sums(lines[0])[1];
    let (added, off) = (sums(added), sums(off));
    let left = added.iter().sum::<i64>() - off.iter().sum::<i64>();
    let figures = i64::try_from(added.len() + off.len()).unwrap() + 1;
    assert!(
        2 * (left - more).abs() <= figures && off.iter().sum::<i64>() > figures,
        "{words}"
    );
}
