//! The program as it is typed: each flag once, exit statuses, formats, the trail, and the files it writes.

use serde_json::Value;

use crate::harness::{Run, landwaiter, project};

const PARTS: &str = "part,place,seller,price,currency,dispatch,mass_g,freight\n\
    Spindrift wheels,wheels,Taolin Parts House,398.00,USD,TW,1486,34.00\n\
    Gannet saddle,saddle,Taolin Parts House,58.00,USD,TW,194,34.00\n";
const SETTINGS: &str = "setting,value\ndestination,GB\ndate,2026-03-02\n";

/// A run within a small book.
fn in_book(args: &str) -> Run {
    landwaiter(args)
        .file("parts.csv", PARTS)
        .file("settings.csv", SETTINGS)
}

fn example(name: &str) -> std::path::PathBuf {
    project("examples").join(name)
}

/// What `cost` says as JSON, with more flags.
fn cost(flags: &str) -> Value {
    in_book(&format!("cost --format json {flags}"))
        .go()
        .ends(0)
        .json()
}

fn landed(cost: &Value) -> String {
    cost["totals"]["landed"].as_str().unwrap().to_owned()
}

#[test]
fn alone_in_a_book_it_says_where_the_build_stands_and_check_names_the_next_command() {
    let ran = in_book("").go().ends(0);
    assert!(ran.out.starts_with("0 of 2 parts are here"), "{}", ran.out);
    let ran = in_book("check").go().ends(0);
    assert!(
        ran.out
            .starts_with("No errors: 2 rows and 1 parcel checked."),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("Next: `landwaiter cost`"), "{}", ran.out);
    let outside = landwaiter("").go().ends(1);
    assert!(
        outside.err.contains("there is no `parts.csv` in this book"),
        "{}",
        outside.err
    );
}

#[test]
fn each_flag_changes_what_it_says() {
    let plain = cost("");
    assert_eq!(
        (plain["destination"].as_str(), plain["date"].as_str()),
        (Some("GB"), Some("2026-03-02"))
    );
    assert_eq!(cost("--on 2026-02-02")["date"], "2026-02-02");
    assert_eq!(cost("--in EUR")["currency"], "EUR");
    assert_eq!(
        cost("--arrival 2026-04-20")["consignments"][0]["arrival"],
        "2026-04-20"
    );
    assert_eq!(cost("--budget 900.50")["totals"]["budget"], "900.50");
    assert_eq!(cost("--max-mass 8500")["totals"]["max_mass_g"], "8500");
    assert_ne!(landed(&cost("--card-fee 2.5")), landed(&plain));
    assert_ne!(landed(&cost("--choice courier=road")), landed(&plain));
    assert!(plain["consignments"][0].get("trail").is_none());
    assert!(cost("--trail")["consignments"][0]["trail"].is_array());
    for same in [
        "--to GB",
        "--kind gravel",
        "--basis ride",
        "--worth 300",
        "--fact gears=electronic",
        "--remedies count",
    ] {
        assert_eq!(landed(&cost(same)), landed(&plain), "{same}");
    }
}

/// Every command that calculates shows how, on a screen and to programs, where it is asked; the others say why they do not.
#[test]
#[expect(clippy::too_many_lines, reason = "one book is told in one piece")]
fn a_trail_is_shown_or_refused() {
    let book = |command: &str, flags: &str| {
        let receipts = "consignment,charge,amount,currency,date\nTaolin Parts House,freight,34.00,USD,2026-03-03\n";
        let option = "Light saddle,saddle,option,Taolin Parts House,88.00,USD,TW,134,34.00\n";
        let parts = PARTS
            .replace("place,", "place,role,")
            .replace(",wheels,", ",wheels,,")
            .replace(",saddle,", ",saddle,,")
            + option;
        let parts = parts.replace("Spindrift wheels", "Wheels");
        landwaiter(&format!("{command} {flags}"))
            .file("parts.csv", parts)
            .file("settings.csv", SETTINGS)
            .file("receipts.csv", receipts)
            .file("bikes.csv", "bike,price,currency,mass_g,basis,seller\nAbroad,900.00,USD,9000,racing,Taolin Parts House\n")
            .go()
    };
    for command in [
        "leeway .",
        "compare .",
        "rank .",
        "settle .",
        "return . --part Wheels",
    ] {
        let (plain, asked) = (
            book(command, "--format json").ends(0).json(),
            book(command, "--format json --trail").ends(0).json(),
        );
        assert!(plain.get("trails").is_none(), "{command}");
        let [bill] = asked["trails"].as_array().unwrap().as_slice() else {
            panic!("{command}: {}", asked["trails"])
        };
        assert_eq!(bill["id"], "Taolin Parts House", "{command}");
        let steps = bill["trail"].as_array().unwrap();
        let duty = steps
            .iter()
            .find(|step| step["kind"] == "duty" && !step["amount"].is_null())
            .unwrap_or_else(|| panic!("{command}: {steps:?}"));
        assert!(
            duty["row"]
                .as_str()
                .unwrap()
                .starts_with("rates/gb/charges.csv:"),
            "{command}: {duty}"
        );
        let (plain, told) = (
            book(command, "").ends(0).out,
            book(command, "--trail").ends(0).out,
        );
        let trail = "How every amount came about\ntrail of Taolin Parts House\n";
        assert!(
            !plain.contains("trail of") && told.contains(trail),
            "{command}:\n{told}"
        );
    }
    let plan = |flags: &str| {
        landwaiter(&format!("plan . {flags}"))
            .within(example("gravel-build"))
            .go()
            .ends(0)
    };
    let planned = plan("--format json --trail").json();
    let ids: Vec<&Value> = planned["trails"]
        .as_array()
        .unwrap()
        .iter()
        .map(|bill| &bill["id"])
        .collect();
    let sellers = planned["plans"][0]["choices"]
        .as_array()
        .unwrap()
        .iter()
        .map(|choice| &choice["seller"]);
    assert!(
        sellers
            .filter(|seller| **seller != "")
            .all(|seller| ids.contains(&seller)),
        "{ids:?}"
    );
    assert!(
        plan("--trail")
            .out
            .contains("\ntrail of Taolin Parts House\n")
            && !plan("").out.contains("trail of")
    );
    let ranked = book("rank .", "--format json --trail").json();
    assert_eq!(
        ranked["options"][0]["trails"][0]["id"],
        "Taolin Parts House"
    );
    assert_ne!(
        ranked["options"][0]["trails"], ranked["trails"],
        "with the option in it"
    );
    let compared = book("compare .", "--format json --trail").json();
    assert!(
        compared["bikes"][0]["trails"][0]["trail"]
            .as_array()
            .unwrap()
            .len()
            > 5,
        "{}",
        compared["bikes"]
    );
    for (command, why) in [
        ("", "`check` calculates no amount"),
        ("check .", "`check` calculates no amount"),
        (
            "report . -o page.html",
            "a page shows how every amount came about",
        ),
        ("bulk parts.csv", "`bulk` writes a line for each line"),
    ] {
        let ran = book(command, "--trail").ends(2);
        assert!(
            ran.err.contains(why) && ran.out.is_empty(),
            "{command}: {}",
            ran.err
        );
    }
}

#[test]
fn anti_dumping_stands_in_the_headline_or_beside_it() {
    let of = |remedies: &str| {
        let args = format!("cost . --format json --remedies {remedies}");
        let ran = landwaiter(&args)
            .within(example("gravel-build"))
            .go()
            .ends(0)
            .json();
        ["landed", "landed_with_disputed"]
            .map(|sum| ran["totals"][sum].as_str().unwrap().parse::<f64>().unwrap())
    };
    let ([counted, _], [beside, with]) = (of("count"), of("show"));
    assert!(
        beside < counted && with > beside,
        "{counted} {beside} {with}"
    );
}

#[test]
fn a_folder_of_tables_of_ones_own_is_laid_over() {
    let table =
        "use,base,quote,rate,valid_from,valid_to\nmarket,USD,GBP,0.5,2026-03-02,2026-03-02\n";
    let ran = in_book("cost --format json --rates mine")
        .file("mine/exchange.csv", table)
        .go()
        .ends(0)
        .json();
    assert_eq!(ran["consignments"][0]["goods"], "228.00");
}

#[test]
fn statuses() {
    in_book("cost").go().ends(0);
    in_book("cost --to XX").go().ends(1);
    landwaiter("cost nowhere").go().ends(1);
    in_book("cost --no-such-flag").go().ends(2);
    in_book("cost --format pdf").go().ends(2);
    landwaiter("help nothing").go().ends(2);
    landwaiter("new x --kind tandem").go().ends(2);
    let ran = landwaiter("new x").go().ends(2);
    assert!(
        ran.err.contains("road, gravel, hardtail") && !ran.has("x"),
        "{}",
        ran.err
    );
    landwaiter("--help").go().ends(0);
    landwaiter("--version").go().ends(0);
    for command in ["new", "check", "cost", "rates"] {
        assert!(
            landwaiter(&format!("help {command}"))
                .go()
                .ends(0)
                .out
                .contains("Usage"),
            "{command}"
        );
    }
}

#[test]
fn a_closed_pipe_is_done() {
    for args in ["cost", "cost --format json", "check", "rates", "help words"] {
        assert_eq!(in_book(args).go_unread(), 0, "{args}");
    }
}

#[test]
fn files_as_windows_saves_them_are_the_same_book() {
    let plain = landed(&cost(""));
    let saved = |text: &str| format!("\u{feff}{}", text.replace('\n', "\r\n"));
    let ran = landwaiter("cost --format json")
        .file("parts.csv", saved(PARTS))
        .file("settings.csv", saved(SETTINGS))
        .go()
        .ends(0);
    assert_eq!(landed(&ran.json()), plain);
    let alone = landwaiter("cost - --to GB --on 2026-03-02 --format json")
        .stdin(saved(PARTS))
        .go()
        .ends(0);
    assert_eq!(landed(&alone.json()), plain);
    let named = in_book("cost parts.csv --to GB --on 2026-03-02 --format json")
        .go()
        .ends(0);
    assert_eq!(landed(&named.json()), plain);
}

#[test]
fn a_new_book_is_a_book() {
    for kind in ["road", "gravel", "hardtail"] {
        let ran = landwaiter(&format!("new build --kind {kind}")).go().ends(0);
        assert!(
            ran.out.contains("Next: `landwaiter check build`"),
            "{}",
            ran.out
        );
        let (parts, settings) = (ran.left("build/parts.csv"), ran.left("build/settings.csv"));
        assert_eq!(
            parts.lines().next(),
            Some("part,place,quantity,seller,price,currency,dispatch,mass_g,note")
        );
        assert!(parts.lines().count() > 20, "{parts}");
        let filled = |args: &str| {
            landwaiter(args)
                .file("build/parts.csv", &parts)
                .file("build/settings.csv", &settings)
        };
        for command in ["check", "cost"] {
            let ran = filled(&format!("{command} build --to GB --on 2026-03-02"))
                .go()
                .ends(0);
            assert!(ran.err.is_empty(), "{kind} {command}:\n{}", ran.err);
        }
        assert!(settings.contains(&format!("kind,{kind}\n")), "{settings}");
        // Two of what a place takes two of, and a table of sellers that says what its columns are for.
        let of = |place: &str| {
            let row = parts
                .lines()
                .find(|row| row.starts_with(&format!("{place},")));
            row.map(|row| row.split(',').nth(2).unwrap().to_owned())
        };
        assert_eq!(
            (of("tyre").as_deref(), of("frame").as_deref()),
            (Some("2"), Some(""))
        );
        let sellers = ran.left("build/sellers.csv");
        for column in sellers
            .lines()
            .last()
            .unwrap()
            .split(',')
            .filter(|one| *one != "note")
        {
            assert!(
                sellers.contains(&format!("{column}: ")),
                "{column}: {sellers}"
            );
        }
        // What nobody has typed into is made again, of another kind too; what somebody has is refused by name, and nothing else is written.
        let other = filled("new build --kind hardtail").go().ends(0);
        assert!(other.left("build/settings.csv").contains("kind,hardtail\n"));
        let typed = parts.replacen(",,,", ",,Birk Frames,", 1);
        let again = landwaiter("new build --kind hardtail")
            .file("build/parts.csv", &typed)
            .file("build/settings.csv", &settings)
            .go()
            .ends(1);
        assert!(
            again
                .err
                .contains("`build/parts.csv` is there already and is left as it is")
                && !again.err.contains("settings.csv"),
            "{}",
            again.err
        );
        assert_eq!(
            (
                again.left("build/parts.csv"),
                again.left("build/settings.csv")
            ),
            (typed, settings)
        );
        // A start that was broken off is completed, and sellers of one's own stay.
        let half = landwaiter(&format!("new build --kind {kind}"))
            .file("build/parts.csv", &parts)
            .file("build/sellers.csv", "seller\nBirk\n")
            .go()
            .ends(0);
        assert!(half.has("build/settings.csv"));
        assert_eq!(half.left("build/sellers.csv"), "seller\nBirk\n");
    }
}

#[test]
fn the_words_are_explained() {
    let ran = landwaiter("help words").go().ends(0);
    for word in [
        "book",
        "standing",
        "landed cost",
        "relief",
        "certainty",
        "replacement",
    ] {
        assert!(ran.out.lines().any(|line| line.starts_with(word)), "{word}");
    }
}

#[test]
fn every_format_can_be_read_again() {
    for name in ["first-build", "gravel-build"] {
        let of = |format: &str| {
            landwaiter(&format!("cost . --trail --format {format}"))
                .within(example(name))
                .go()
                .ends(0)
        };
        let json = of("json").json();
        assert_eq!(json["format"], "landwaiter.cost/1");
        let sheet = of("csv").out;
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .from_reader(sheet.as_bytes());
        let records = reader.records().collect::<Result<Vec<_>, _>>().unwrap();
        let parts = json["consignments"]
            .as_array()
            .unwrap()
            .iter()
            .map(|c| c["lines"].as_array().unwrap().len())
            .sum::<usize>();
        assert!(records.len() > parts, "{name}: {} records", records.len());
        let page = of("markdown").out;
        for table in page.split("\n\n").filter(|block| block.starts_with('|')) {
            let bars = |line: &str| line.replace("\\|", "").matches('|').count();
            let first = bars(table.lines().next().unwrap());
            assert!(
                table.lines().all(|line| bars(line) == first),
                "{name}: {table}"
            );
        }
        let sum = json["totals"]["landed"].as_str().unwrap().replace(',', "");
        assert!(
            of("table")
                .out
                .replace(',', "")
                .starts_with(&format!("Landed cost {sum} ")),
            "{name}"
        );
    }
}

/// Every amount can be followed to a row with a source: what is no price is a row of a table.
#[test]
fn the_trail_ends_at_a_source() {
    let (mut steps, mut rated) = (0, 0);
    for name in ["first-build", "gravel-build"] {
        let json = landwaiter("cost . --trail --format json")
            .within(example(name))
            .go()
            .ends(0)
            .json();
        for consignment in json["consignments"].as_array().unwrap() {
            let trail = consignment["trail"].as_array().unwrap();
            for step in trail {
                let kind = step["kind"].as_str().unwrap();
                assert!(
                    step["source"].as_str().is_some_and(|s| !s.is_empty()),
                    "{name}: {step}"
                );
                assert!(
                    step["text"].as_str().is_some_and(|s| !s.is_empty()),
                    "{name}: {step}"
                );
                if !matches!(kind, "price" | "payment") {
                    assert!(
                        step["row"]
                            .as_str()
                            .is_some_and(|row| row.contains(".csv:")),
                        "{name}: {step}"
                    );
                }
                if step["text"]
                    .as_str()
                    .is_some_and(|text| text.starts_with("not due"))
                {
                    assert!(step["amount"].is_null(), "{name}: {step}");
                }
                if step["rate_rows"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .any(|row| row.as_str().is_some_and(|row| row.contains("tariff.csv")))
                {
                    rated += usize::from(!step["rate_sources"].as_array().unwrap().is_empty());
                }
                steps += 1;
            }
            for (amount, kinds) in [
                ("duty", &["duty"][..]),
                ("remedy", &["remedy"]),
                ("tax", &["tax", "sale-tax"]),
                ("handling", &["fee"]),
            ] {
                let charged = consignment[amount]
                    .as_str()
                    .unwrap()
                    .chars()
                    .any(|c| matches!(c, '1'..='9'));
                let followed = trail.iter().any(|step| {
                    kinds.contains(&step["kind"].as_str().unwrap()) && !step["amount"].is_null()
                });
                assert!(
                    !charged || followed,
                    "{name}: {} of {} is not in the trail",
                    amount,
                    consignment["id"]
                );
            }
        }
    }
    assert!(
        steps > 100 && rated > 3,
        "{steps} steps, {rated} name what is behind a rate of duty"
    );
}

/// What was paid for a parcel on its way may be other than what is calculated: both sums are said, as spent and to pay then do
/// not add up to the landed cost.
#[test]
fn a_parcel_paid_otherwise_than_calculated() {
    let said = |paid: &str| {
        let rows = "part,place,seller,price,currency,dispatch,channel,freight,standing,paid";
        let rows =
            format!("{rows}\nPlain saddle,saddle,Shop,150,GBP,TW,courier,0,on-order,{paid}\n");
        let asked = "cost . --to GB --on 2026-10-26 --format json";
        let json = landwaiter(asked)
            .file("parts.csv", rows)
            .go()
            .ends(0)
            .json();
        let cautions = json["cautions"].as_array().unwrap().iter();
        cautions
            .filter(|c| c["id"] == "paid-otherwise")
            .map(|c| c["text"].as_str().unwrap().to_owned())
            .collect::<Vec<_>>()
    };
    let both = "You paid 140.00 GBP where 150.00 GBP was estimated: `Already paid` counts the first, the landed cost the second";
    assert_eq!(said("140.00"), [both]);
    assert!(said("150.00").is_empty());
}

/// What `check` finds empty is for programs too, and one error is not "1 error and 0 warnings".
#[test]
fn what_is_empty_and_what_is_wrong_are_told_plainly() {
    let json = in_book("check --format json").go().ends(0).json();
    let empty = json["empty"].as_array().unwrap();
    let frame = empty.iter().find(|e| e["place"] == "frame").unwrap();
    assert_eq!(
        (&frame["need"], frame["low_g"].is_string()),
        (&"required".into(), true),
        "{frame}"
    );
    let ran = landwaiter("check . --to GB")
        .file(
            "parts.csv",
            "part,place,seller,price,currency,dispatch\nX,saddle,Shop,-1,GBP,TW\n",
        )
        .go();
    assert!(
        ran.err.contains("1 error: nothing is calculated"),
        "{}",
        ran.err
    );
    let ran = landwaiter("rates import nosuch.csv --rates mine").go();
    assert!(
        ran.err.contains("cannot be read: there is no such file"),
        "{}",
        ran.err
    );
}
