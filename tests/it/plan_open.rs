//! `plan` of books that are not finished: a few parts with rivals, places without an offer; and what it says of each change.

use std::collections::BTreeSet;
use std::fs;

use serde_json::Value;

use crate::kit;
use crate::small::dec;

/// Six parts, two of them with a rival: nothing else is in the book, no frame and no grommets.
const ROWS: &str = "\
part,place,role,seller,price,currency,dispatch,freight,mass_g
Spindrift wheels,wheels,build,Alder Cycle,398.00,USD,TW,34.00,1486
Spindrift wheels,,rival,Home Shop,455.00,GBP,GB,5.00,
Windrow bar,handlebar,build,Alder Cycle,72.00,USD,TW,34.00,236
Windrow stem,stem,build,Alder Cycle,46.00,USD,TW,34.00,121
Light stem,stem,option,Home Shop,95.00,GBP,GB,5.00,101
Windrow post,seatpost,build,Alder Cycle,61.00,USD,TW,34.00,187
Gannet saddle,saddle,build,Alder Cycle,58.00,USD,TW,34.00,194
Skein tape,bar-tape,build,Alder Cycle,18.50,USD,TW,34.00,92
";

fn book(rows: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("parts.csv"), rows).unwrap();
    let settings = "setting,value\ndestination,GB\ndate,2026-10-21\nkind,road\n";
    fs::write(folder.path().join("settings.csv"), settings).unwrap();
    folder
}

#[track_caller]
fn planned(rows: &str, args: &[&str]) -> String {
    let folder = book(rows);
    let ran = kit::landwaiter(&[&["plan", folder.path().to_str().unwrap()], args].concat());
    assert_eq!(ran.status, 0, "{}", ran.stderr);
    ran.stdout
}

#[track_caller]
fn json(rows: &str, args: &[&str]) -> Value {
    serde_json::from_str(&planned(rows, &[args, &["--format", "json"]].concat())).unwrap()
}

#[test]
fn the_first_build_is_planned_though_places_are_empty() {
    let ran = kit::landwaiter(&["plan", "examples/first-build", "--format", "json"]);
    assert_eq!(ran.status, 0, "{}", ran.stderr);
    let plan: Value = serde_json::from_str(&ran.stdout).unwrap();
    assert_eq!(plan["plans"][0]["landed"], plan["build"]["landed"]);
    assert_eq!((&plan["offers"], &plan["places"]), (&0.into(), &0.into()));
    let open: Vec<&str> = (plan["unfilled"].as_array().unwrap().iter())
        .map(|place| place.as_str().unwrap())
        .collect();
    assert!(
        open.len() > 20 && open.contains(&"frame") && open.contains(&"grommets"),
        "{open:?}"
    );
    assert!(!open.contains(&"wheels"), "{open:?}");
    let ran = kit::landwaiter(&["plan", "examples/first-build"]);
    let said = ran.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        said.contains("every place has one offer at most")
            && said.contains(
                "these places stay open, and neither money nor grams are counted for them."
            ),
        "{said}"
    );
}

/// 398.00 and 46.00 USD with their shares of freight and charges, against 455.00 + 95.00 + 5.00 at home.
#[test]
fn six_parts_with_rivals_are_a_choice() {
    let plan = json(ROWS, &["--max-mass", "2300"]);
    assert_eq!((&plan["offers"], &plan["places"]), (&4.into(), &2.into()));
    assert_eq!(plan["stopped"], "proven");
    let places: Vec<&str> = (plan["changes"].as_array().unwrap().iter())
        .map(|change| change["place"].as_str().unwrap())
        .collect();
    assert!(places.contains(&"stem"), "{places:?}");
    // A place is not left open because its only seller is not wanted.
    let folder = book(ROWS);
    let path = folder.path().to_str().unwrap();
    let ran = kit::landwaiter(&["plan", path, "--without", "Alder Cycle"]);
    assert_eq!(ran.status, 3, "{}", ran.stderr);
    assert!(
        ran.stderr.contains("has no fitting offer"),
        "{}",
        ran.stderr
    );
}

/// A frame is offered as an option for the empty place, with a fork it needs that nobody sells: the place stays open. With the
/// fork in the book, both are bought.
#[test]
fn what_an_offer_needs_decides_whether_its_place_stays_open() {
    let head = ROWS.lines().next().unwrap();
    let with = |line: &str, rest: &str| ROWS.replacen(head, line, 1) + rest;
    let rows: String = with(
        &format!("{head},needs"),
        "Moor frame,frame,option,Home Shop,400.00,GBP,GB,5.00,1100,Moor fork\n\
         Moor fork,fork,option,Home Shop,,GBP,GB,5.00,400,\n",
    );
    let open = json(&rows, &[]);
    let unfilled = open["unfilled"].to_string();
    assert!(
        unfilled.contains("\"frame\"") && unfilled.contains("\"fork\""),
        "{unfilled}"
    );
    let filled = json(&rows.replace("Home Shop,,GBP", "Home Shop,150.00,GBP"), &[]);
    let unfilled = filled["unfilled"].to_string();
    assert!(
        !unfilled.contains("\"frame\"") && !unfilled.contains("\"fork\""),
        "{unfilled}"
    );
    let parts = filled["plans"][0]["choices"].to_string();
    assert!(
        parts.contains("Moor frame") && parts.contains("Moor fork"),
        "{parts}"
    );
}

#[test]
fn changes_add_up_to_the_difference_of_the_whole() {
    for args in [
        &["--max-mass", "2300"][..],
        &["--budget", "900"],
        &["--in", "EUR", "--max-mass", "2300"],
    ] {
        let plan = json(ROWS, args);
        let figure = |value: &Value| dec(value.as_str().unwrap());
        let sum = |name: &str| {
            (plan["changes"].as_array().unwrap().iter())
                .map(|change| figure(&change[name]))
                .fold(dec("0"), |sum, one| sum.plus(one).unwrap())
        };
        let (last, build) = (&plan["plans"][0], &plan["build"]);
        let more = |name: &str| figure(&last[name]).minus(figure(&build[name])).unwrap();
        assert!(!plan["changes"].as_array().unwrap().is_empty(), "{args:?}");
        assert_eq!(sum("mass_g"), more("mass_g"), "{args:?}");
        let landed = sum("landed").plus(figure(&plan["other_parts"])).unwrap();
        assert_eq!(landed, more("landed"), "{args:?}");
    }
}

#[test]
fn a_mass_that_is_not_known_is_said_and_not_counted_as_nothing() {
    let rows = ROWS
        .replace("95.00,GBP,GB,5.00,101", "20.00,GBP,GB,5.00,")
        .replace(",34.00,121", ",34.00,");
    let plan = json(
        &rows.replace("Light stem,stem,option", "Windrow stem,,rival"),
        &[],
    );
    let stem = (plan["changes"].as_array().unwrap().iter())
        .find(|change| change["place"] == "stem")
        .unwrap();
    assert_eq!(stem["mass_g"], Value::Null, "{stem}");
}

/// Every table of the CSV has headings that differ, and rows as long as they are.
#[test]
fn headings_of_the_csv_are_distinct() {
    for args in [&["--max-mass", "2300"][..], &["--frontier"]] {
        let text = planned(ROWS, &[args, &["--format", "csv"]].concat());
        let mut tables = 0;
        for table in text.split("\n\n") {
            let mut rows = csv::ReaderBuilder::new()
                .comment(Some(b'#'))
                .from_reader(table.as_bytes());
            let heads = rows.headers().unwrap().clone();
            let names: BTreeSet<&str> = heads.iter().collect();
            assert_eq!(names.len(), heads.len(), "{heads:?}");
            assert!(rows.records().all(|row| row.is_ok()), "{table}");
            tables += 1;
        }
        assert!(tables >= 2, "{text}");
    }
}

/// A book whose settings hold these lines as well.
fn limited(limits: &str) -> tempfile::TempDir {
    let folder = book(ROWS);
    let path = folder.path().join("settings.csv");
    let settings = fs::read_to_string(&path).unwrap() + limits;
    fs::write(path, settings).unwrap();
    folder
}

#[track_caller]
fn nothing(folder: &tempfile::TempDir, args: &[&str]) -> (kit::Ran, Value) {
    let path = folder.path().to_str().unwrap();
    let ran = kit::landwaiter(&[&["plan", path], args].concat());
    assert_eq!(ran.status, 3, "{}", ran.stderr);
    let json = kit::landwaiter(&[&["plan", path, "--format", "json"], args].concat());
    assert_eq!(json.status, 3, "{}", json.stderr);
    let json: Value = serde_json::from_str(&json.stdout).unwrap();
    assert_eq!(json["plans"], Value::Array(Vec::new()));
    (ran, json)
}

#[test]
fn a_limit_of_the_settings_is_named_with_its_place() {
    let folder = limited("max_mass_g,2000\n");
    let (ran, json) = nothing(&folder, &[]);
    assert!(
        ran.stderr
            .contains("no plan weighs 2,000 g or less: the least is 2,296 g")
            && ran.stderr.contains("settings.csv:5:")
            && ran.stderr.contains("max_mass_g,2000"),
        "{}",
        ran.stderr
    );
    let place = json["place"].as_str().unwrap();
    assert!(place.ends_with("settings.csv:5"), "{place}");
    assert_eq!(json["limits"][0]["place"], json["place"]);
    // A flag has no place.
    let (ran, json) = nothing(&folder, &["--max-mass", "1900"]);
    assert!(!ran.stderr.contains("settings.csv"), "{}", ran.stderr);
    assert_eq!(json["place"], Value::Null);
    // A limit that is kept is named with its place too.
    let folder = limited("max_mass_g,2300\n");
    let ran = kit::landwaiter(&["plan", folder.path().to_str().unwrap(), "--more"]);
    let said = ran.stdout.split_whitespace().collect::<String>();
    assert!(
        said.contains("Theweightlimitissetat") && said.contains("settings.csv:5."),
        "{said}"
    );
}

/// Within 2,300 g the light stem is needed; within 1 GBP less than that costs, only the heavy one is left.
#[test]
fn the_nearest_plan_on_either_side_is_shown() {
    let light = json(ROWS, &["--max-mass", "2300"]);
    let heavy = json(ROWS, &[]);
    let landed = |plan: &Value| dec(plan["landed"].as_str().unwrap());
    let (light, heavy) = (&light["plans"][0], &heavy["plans"][0]);
    assert!(landed(heavy) < landed(light), "the light stem costs more");
    let budget = landed(light).minus(dec("0.50")).unwrap().fixed(2);
    let folder = limited(&format!("budget,{budget}\nmax_mass_g,2300\n"));
    for args in [&[][..], &["--frontier"], &["--budget", &budget]] {
        let (ran, json) = nothing(&folder, args);
        let near = json["nearest"].as_array().unwrap();
        assert_eq!(near.len(), 2, "{args:?}: {near:?}");
        assert_eq!(near[0]["side"], "cheapest-within-mass");
        assert_eq!(near[0]["landed"], light["landed"]);
        assert_eq!(
            (&near[0]["over_mass_g"], &near[0]["over_budget"]),
            (&Value::Null, &"0.50".into())
        );
        assert_eq!(near[1]["side"], "lightest-within-budget");
        assert_eq!(near[1]["mass_g"], "2316");
        assert_eq!(
            (&near[1]["over_mass_g"], &near[1]["over_budget"]),
            (&"16".into(), &Value::Null)
        );
        assert!(
            ran.stdout.contains("the cheapest within the weight limit")
                && ran
                    .stdout
                    .contains("What changes in the lightest within the budget"),
            "{}",
            ran.stdout
        );
        assert!(
            ran.stderr.contains("settings.csv"),
            "{args:?}: {}",
            ran.stderr
        );
    }
    // Where one limit alone cannot be kept, the plan that misses it by the least.
    let (_, json) = nothing(&limited("max_mass_g,2000\n"), &[]);
    let near = json["nearest"].as_array().unwrap();
    assert_eq!((near.len(), &near[0]["side"]), (1, &"lightest".into()));
    assert_eq!(near[0]["over_mass_g"], "296");
    let (_, json) = nothing(&limited("budget,100\n"), &[]);
    let near = json["nearest"].as_array().unwrap();
    assert_eq!((near.len(), &near[0]["side"]), (1, &"cheapest".into()));
    assert_eq!(near[0]["landed"], heavy["landed"]);
}

/// The points of a frontier say what changes from one to the next.
#[test]
fn points_of_a_frontier_say_what_changes_between_them() {
    let plan = json(ROWS, &["--frontier"]);
    let points = plan["plans"].as_array().unwrap();
    assert!(points.len() > 1, "{points:?}");
    assert_eq!(points[0]["changes"], Value::Null);
    for pair in points.windows(2) {
        let parts = |plan: &Value| -> BTreeSet<String> {
            let all = plan["choices"].as_array().unwrap().iter();
            all.map(|c| format!("{} {}", c["part"], c["seller"]))
                .collect()
        };
        let (before, after) = (parts(&pair[0]), parts(&pair[1]));
        let steps = pair[1]["changes"].as_array().unwrap();
        let side = |side: &str| -> BTreeSet<String> {
            let all = steps.iter().map(|step| &step[side]);
            all.map(|c| format!("{} {}", c["part"], c["seller"]))
                .collect()
        };
        assert_eq!(side("before"), before.difference(&after).cloned().collect());
        assert_eq!(side("after"), after.difference(&before).cloned().collect());
    }
    let screen = planned(ROWS, &["--frontier"]);
    assert!(screen.contains("Windrow stem from Alder Cycle"), "{screen}");
}
