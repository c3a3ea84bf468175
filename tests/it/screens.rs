//! The screens of `compare` and `rank` on the large example: they fit terminals of three widths, and what they say behind `--more`.

use super::kit;
use crate::harness::landwaiter;

/// What a default screen of eighty columns may have of lines, for each command.
const HIGH: [(&str, usize); 2] = [("compare", 40), ("rank", 40)];

/// The whole answer to a question, after its first screen was found to fit terminals of three widths.
#[track_caller]
fn screen(args: &[&str]) -> String {
    let asked = [&[args[0], "examples/gravel-build"], &args[1..]].concat();
    for columns in [60, 80, 120] {
        let ran = kit::at_columns(&asked, columns);
        assert_eq!((ran.status, ran.stderr.as_str()), (0, ""), "{args:?}");
        for line in ran.stdout.lines() {
            let wide = line.chars().count();
            assert!(
                wide <= columns,
                "{args:?}: {wide} columns of {columns}\n{line}"
            );
        }
        let lines = ran.stdout.lines().count();
        let high = HIGH.iter().find(|(command, _)| *command == args[0]);
        let high = high.map_or(40, |(_, lines)| *lines);
        assert!(
            columns != 80 || args.len() > 1 || lines <= high,
            "{args:?}: {lines} lines\n{}",
            ran.stdout
        );
    }
    let more = [&asked[..], &["--more"]].concat();
    kit::at_columns(&more, 100).stdout
}

/// A figure of the JSON, in units of so many decimals.
fn units(figure: &serde_json::Value, decimals: usize) -> i64 {
    let text = figure.as_str().unwrap();
    let (whole, rest) = text.split_once('.').unwrap_or((text, ""));
    format!("{whole}{rest:0<decimals$}").parse().unwrap()
}

#[test]
fn compare_says_whether_it_is_worth_it_against_each_bike() {
    let text = screen(&["compare"]);
    let json = kit::landwaiter(&["compare", "examples/gravel-build", "--format", "json"]).stdout;
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    // The ratio is worked out here: pennies over tenths of a gram, half up.
    let verdict = |name: &str| {
        let bike = json["bikes"]
            .as_array()
            .unwrap()
            .iter()
            .find(|bike| bike["bike"] == name)
            .unwrap();
        let (cost, saved) = (units(&bike["dC"], 2), units(&bike["dM"], 1));
        let per_kg = (cost.abs() * 10_000 * 2 + saved.abs()) / (saved.abs() * 2);
        let per_kg = landwaiter::units::Dec::new(per_kg, 2).grouped(2);
        match (cost > 0, saved > 0) {
            (false, true) => "cheaper and lighter".to_owned(),
            (true, true) => format!("{per_kg} a kg saved"),
            (false, false) => format!("{per_kg} a kg given up"),
            (true, false) => "dearer and heavier".to_owned(),
        }
    };
    for (bike, words) in [
        ("Brandreth Skerry", "cheaper and lighter"),
        ("Corrie Ten", " a kg saved"),
        ("Hollin Clough Two", "cheaper and lighter"),
        ("Staithe Nine", " a kg saved"),
        ("Tarn Edge Light", " a kg given up"),
        ("Ullock P", " a kg saved"),
    ] {
        let line = text.lines().find(|line| line.starts_with(bike));
        let verdict = verdict(bike);
        assert!(
            line.is_some_and(
                |line| line.ends_with(words) && line.ends_with(&format!("  {verdict}"))
            ),
            "{bike}: {verdict}, {line:?}"
        );
    }
    for said in [
        "Compared is the cost to buy again",
        "Still to pay",
        "Already paid",
        "From here on",
        "Market line through 5 bikes",
        "6.8 kg is",
        "% of its mass was weighed",
    ] {
        assert!(text.contains(said), "{said} is missing\n{text}");
    }
}

#[test]
fn rank_says_what_next_and_what_would_break() {
    let text = screen(&["rank"]);
    let after = |heading: &str| {
        text.split(heading)
            .nth(1)
            .unwrap_or_else(|| panic!("no {heading}\n{text}"))
            .to_owned()
    };
    assert!(
        after("One after another")
            .replace('\n', " ")
            .contains("Then stop: what is known is within 8,700 g")
    );
    let breaks = after("Does not fit\n");
    let breaks = breaks.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        breaks.contains("`Cinderford")
            && breaks.contains("rear hub - frame")
            && breaks.contains("`Saltmarsh frame` says 12x142")
    );
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("Last, because a claim so small is not sure: Kelpwood hollow chain"));
    assert!(
        flat.contains("The anti-dumping duty is disputed. By the text every importer")
            && flat.contains(" decides. Decided otherwise, the cost is: ")
            && flat.contains("Spindrift 32 wheels +"),
        "{text}"
    );
    assert!(text.contains("Air and tyres usually move more"));
}

/// Both comparisons, and one of the three rankings; all of them in the whole run.
#[test]
fn other_questions_fit_too() {
    screen(&["compare", "--basis", "showroom"]);
    screen(&["compare", "--basis", "ride", "--in", "JPY"]);
    let ranked: [&[&str]; 3] = [
        &[
            "rank",
            "--max-mass",
            "8000",
            "--worth",
            "5000",
            "--budget",
            "3130",
        ],
        &["rank", "--in", "JPY"],
        &[
            "rank",
            "--max-mass",
            "8000",
            "--worth",
            "1000",
            "--budget",
            "9000",
        ],
    ];
    for args in kit::one_in(3, ranked) {
        screen(args);
    }
}

#[test]
fn a_hardtail_is_told_what_grams_do_off_the_road() {
    let parts = "part,place,role,standing,price,currency,paid,mass_g\nOld saddle,saddle,build,in-hand,,,0,300\nNew saddle,saddle,option,,10,GBP,,200\n";
    let run = |kind: &str, command: &str, parts: &str| {
        let asked = format!("{command} . --to GB --on 2026-03-02 --kind {kind}");
        crate::harness::landwaiter(&asked)
            .file("parts.csv", parts)
            .go()
            .ends(0)
    };
    // The rest of the bike is there, whatever this kind of bike must have.
    let said = |kind: &str| {
        let missing = run(kind, "check --format json", parts).json();
        let rest: Vec<&str> = missing["empty"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| one["place"].as_str().unwrap())
            .collect();
        let rest: String = rest
            .iter()
            .map(|place| format!("Old {place},{place},build,in-hand,,,0,100\n"))
            .collect();
        run(
            kind,
            "rank --more --rider-kg 74 --rider-watts 210",
            &format!("{parts}{rest}"),
        )
        .out
    };
    assert!(
        said("hardtail").contains("11.6, 12.6 and 13.6 kg") && !said("road").contains("13.6 kg")
    );
}

/// Figures are never cut: a page is as wide as it must be, and no example needs more than a usual terminal has. Of `leeway`, which
/// takes long, one example is looked at, and all of them in the whole run.
#[test]
fn no_line_of_any_command_is_wider_than_the_page() {
    let leeway: [&[&str]; 3] = [
        &["leeway", "examples/after-delivery"],
        &["leeway", "examples/first-build", "--in", "JPY"],
        &["leeway", "examples/gravel-build"],
    ];
    let asked: [&[&str]; 5] = [
        &["settle", "examples/after-delivery", "--day", "2026-11-25"],
        &[
            "return",
            "examples/gravel-build",
            "--part",
            "Saltmarsh frame",
            "--day",
            "2026-11-25",
        ],
        &["check", "examples/gravel-build"],
        &["compare", "examples/gravel-build", "--trail"],
        &["cost", "examples/after-delivery"],
    ];
    for args in kit::one_in(3, leeway).chain(asked) {
        let ran = kit::landwaiter(args);
        assert_eq!((ran.status, ran.stderr.as_str()), (0, ""), "{args:?}");
        for line in ran.stdout.lines() {
            assert!(
                line.chars().count() <= 80,
                "{args:?}: {} columns\n{line}",
                line.chars().count()
            );
        }
    }
}

/// The answer stands first, then one table; cautions are at most five, each with what to do, and two lines always stand last.
#[test]
fn the_screens_of_leeway_settle_and_return_fit_a_page() {
    let asked: [(&[&str], &str); 3] = [
        (&["leeway", "examples/gravel-build"], "Landed cost "),
        (
            &["settle", "examples/after-delivery", "--day", "2026-11-25"],
            "Charged ",
        ),
        (
            &[
                "return",
                "examples/after-delivery",
                "--part",
                "Windrow one-piece bar",
                "--day",
                "2026-11-25",
            ],
            "Send Windrow one-piece bar back and you lose ",
        ),
    ];
    for (args, answer) in asked {
        let ran = kit::landwaiter(args);
        let lines: Vec<&str> = ran.stdout.lines().collect();
        assert!(ran.stdout.starts_with(answer), "{}", ran.stdout);
        assert!(lines.len() <= 40, "{} lines: {}", lines.len(), ran.stdout);
        let rules = lines.iter().filter(|line| line.starts_with('─')).count();
        assert!((1..=2).contains(&rules), "one table: {}", ran.stdout);
        let at = lines
            .iter()
            .position(|line| line.ends_with(", largest sum first"))
            .unwrap_or_else(|| panic!("{}", ran.stdout));
        let cautions = lines[at + 1..]
            .iter()
            .take_while(|line| line.starts_with("  "));
        assert!(cautions.count() <= 14, "{}", ran.stdout);
        assert!(
            lines.iter().any(|line| line.starts_with("Next: ")),
            "{}",
            ran.stdout
        );
        assert!(
            lines[lines.len() - 2].starts_with("Estimate, not a ruling"),
            "{}",
            ran.stdout
        );
    }
}

/// Up to 1 EUR of charges nothing is collected in Germany, and up to 5 CHF of tax nothing in Switzerland, where the tax is worked out
/// on trial: that is no value under which a parcel could stay, and no line says so.
#[test]
fn a_sum_too_small_to_be_collected_is_no_limit_of_value() {
    for (to, currency, relief, limit) in [
        ("DE", "EUR", "\"not_levied_de\"", "1.00 EUR limit"),
        ("CH", "CHF", "\"not_levied\"", "5.00 CHF limit"),
    ] {
        let parts = format!(
            "part,place,seller,price,currency,dispatch,origin\nWheels,wheels,Kelpwood,800.00,{currency},TW,TW\n"
        );
        let cost = |format: &str| {
            let ran = landwaiter(&format!(
                "cost parts.csv --to {to} --on 2026-11-20 {format}"
            ));
            ran.file("parts.csv", &parts).go()
        };
        let json = cost("--format json");
        assert!(json.out.contains(relief), "{}", json.out);
        for more in ["", "--more"] {
            let ran = cost(more);
            assert_eq!(ran.status, 0, "{}", ran.err);
            assert!(!ran.out.contains(limit), "{}", ran.out);
        }
    }
}

/// Where a row stands in the shipped tables is for the working: no screen of these commands says it, however much of it is shown.
/// (`return --more` has a column of rows.)
#[test]
fn no_screen_names_a_place_in_the_shipped_tables() {
    let mut asked: Vec<Vec<&str>> = vec![
        vec!["rates", "--to", "GB"],
        vec!["rates", "--to", "US", "--gaps"],
    ];
    for book in [
        "examples/first-build",
        "examples/gravel-build",
        "examples/after-delivery",
    ] {
        for command in [
            "check", "cost", "compare", "rank", "plan", "leeway", "settle",
        ] {
            asked.push(vec![command, book]);
        }
    }
    let mut seen = 0;
    for one in asked {
        for more in [&[][..], &["--more"][..]] {
            let ran = kit::at_columns(&[&one[..], more].concat(), 80);
            let flat: String = ran.stdout.split_whitespace().collect();
            let place = flat.split(".csv:").zip(flat.split(".csv:").skip(1));
            for (before, after) in place {
                let file = before.rsplit(['(', '`', ',', ' ', ':']).next().unwrap();
                let numbered = after.starts_with(|first: char| first.is_ascii_digit());
                assert!(
                    !(numbered && file.contains("rates/") && !file.contains("examples/")),
                    "{one:?}: {file}.csv:\n{}",
                    ran.stdout
                );
            }
            seen += usize::from(!ran.stdout.is_empty());
        }
    }
    assert!(seen > 30, "{seen}");
}

/// A duty in dispute that is counted, and a relief in dispute that frees of another: by the other reading the one falls away and the
/// other comes, so the sum is neither with them nor without them. Its figures are worked in
/// `law_read_again::three_euros_for_a_couriers_parcel_may_be_the_tariff_instead`.
#[test]
fn a_duty_in_the_place_of_another_is_said_as_two_readings() {
    let parts = "part,place,seller,price,currency,dispatch,origin,freight,channel,commodity\n\
                 Shoes,shoes,Kelpwood,120.00,EUR,CN,CN,20,courier,640411\n";
    let ran = landwaiter("cost parts.csv --to DE --on 2026-11-20");
    let ran = ran.file("parts.csv", parts).go();
    assert_eq!(ran.status, 0, "{}", ran.err);
    let out = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [
        "The duty and the relief are disputed. ",
        "3 EUR or the tariff is due; customs decides. Keep this money ready: if that is decided otherwise the landed cost is 193.55",
    ] {
        assert!(out.contains(said), "{}", ran.out);
    }
}
