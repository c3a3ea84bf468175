//! Plans of odd books: little to choose, wishes that cannot be, parts without a price, joints of several pieces; and what
//! the program does when a long search is interrupted.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::kit;

const HEAD: &str = "part,place,role,standing,seller,price,currency,dispatch,quantity,mass_g,comes_with,needs,fits\n";
const CASSETTE: &str = "old cassette,cassette,build,in-hand,,,,,1,300,,,\n";
const ROTORS: &str = "old rotors,rotors,build,in-hand,,,,,2,110,,,\n";
const CALIPERS: &str = "old calipers,calipers,build,in-hand,,,,,2,120,,,\n";
const WHEELS: &str =
    "w,wheels,build,to-order,Amberway,100,USD,CN,1,1500,,,\nw,,rival,,Brackwater,90,USD,TW,,,,,\n";
const LIGHT: &str = "w2,wheels,option,to-order,Brackwater,300,USD,TW,1,1200,,,\n";

fn write(folder: &Path, rows: &[&str]) {
    let mut parts = HEAD.to_owned();
    for place in kit::SMALL_PLACES {
        let _ = writeln!(parts, "old {place},{place},build,in-hand,,,,,1,100,,,");
    }
    rows.iter().for_each(|row| parts += row);
    fs::write(folder.join("parts.csv"), parts).unwrap();
    fs::write(
        folder.join("settings.csv"),
        "setting,value\ndestination,GB\ndate,2026-03-02\nkind,road\n",
    )
    .unwrap();
}

/// The program's answer to a book of these rows and whatever else the bike must have.
#[track_caller]
fn asked(rows: &[&str], args: &[&str]) -> kit::Ran {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), rows);
    let book = folder.path().to_str().unwrap();
    kit::landwaiter(&[&["plan", book], args].concat())
}

#[track_caller]
fn json(rows: &[&str], args: &[&str]) -> Value {
    let ran = asked(rows, &[args, &["--format", "json"]].concat());
    assert_eq!(ran.status, 0, "{}", ran.stderr);
    serde_json::from_str(&ran.stdout).unwrap()
}

#[track_caller]
fn refused(rows: &[&str], args: &[&str], status: i32, why: &str) {
    let ran = asked(rows, args);
    assert_eq!(ran.status, status, "{}", ran.stderr);
    // where a limit is the reason the nearest plans are shown
    let limited = args
        .iter()
        .any(|arg| ["--max-mass", "--budget"].contains(arg));
    assert_eq!(!ran.stdout.is_empty(), limited, "{}", ran.stdout);
    assert!(ran.stderr.contains(why), "{}", ran.stderr);
}

const REST: [&str; 3] = [CASSETTE, ROTORS, CALIPERS];

fn book<'t>(rows: &[&'t str]) -> Vec<&'t str> {
    [&REST, rows].concat()
}

#[test]
fn the_smallest_reason_is_said() {
    let both = book(&[WHEELS, LIGHT]);
    refused(
        &both,
        &["--without", "Amberway", "--without", "Brackwater"],
        3,
        "no plan: the place `wheels` has no fitting offer",
    );
    refused(
        &both,
        &["--max-mass", "1500"],
        3,
        "no plan weighs 1,500 g or less: the least is 4,960 g",
    );
    refused(
        &both,
        &["--budget", "0"],
        3,
        "no plan costs 0.00 GBP or less: the least is ",
    );
    refused(
        &both,
        &["--max-sellers", "0"],
        3,
        "no plan: not with so few sellers",
    );
    refused(
        &both,
        &["--keep", "w", "--keep", "w2"],
        3,
        "no plan: `w2` is to be kept, but ",
    );
    refused(
        &both,
        &["--keep", "w9"],
        1,
        "`--keep w9`: the book has no such name",
    );
    refused(
        &both,
        &["--without", "Amberwey"],
        1,
        "did you mean `Amberway`?",
    );
    let wanting = [
        WHEELS,
        "c,calipers,build,to-order,Amberway,80,USD,CN,2,120,,,\n",
    ];
    refused(
        &wanting,
        &["--without", "Amberway", "--without", "Brackwater"],
        3,
        "the place `wheels` has no fitting offer; nor has `calipers`",
    );
}

#[test]
fn a_part_kept_stands_among_the_changes() {
    let plan = json(&book(&[WHEELS, LIGHT]), &["--keep", "w2"]);
    assert_eq!(plan["changes"][0]["before"]["part"], "w");
    assert_eq!(plan["changes"][0]["after"]["part"], "w2");
}

#[test]
fn nothing_to_choose_is_the_build() {
    let plan = json(
        &book(&["w,wheels,build,to-order,Amberway,100,USD,CN,1,1500,,,\n"]),
        &[],
    );
    assert_eq!(plan["changes"].as_array().unwrap().len(), 0);
    assert_eq!(plan["plans"][0]["landed"], plan["build"]["landed"]);
    assert_eq!(plan["plans"][0]["proven"], true);
}

/// No price is not zero: such a row is not the cheapest.
#[test]
fn a_part_without_a_price_is_no_offer() {
    let bare = "w,wheels,build,to-order,Amberway,,USD,CN,1,1500,,,\n";
    let plan = json(&book(&[bare, LIGHT]), &[]);
    assert_eq!(plan["changes"][0]["after"]["part"], "w2");
    assert_eq!(plan["left_out"][0]["part"], "w");
    let alone = json(&book(&[bare]), &[]);
    assert_eq!(
        alone["left_out"][0]["reason"],
        "it has no price yet: nothing is counted for it"
    );
}

#[test]
fn a_tool_has_rivals_too() {
    let tool =
        "k,tool,build,to-order,Amberway,30,USD,CN,1,500,,,\nk,,rival,,Brackwater,10,USD,TW,,,,,\n";
    let plan = json(&book(&[WHEELS, tool]), &[]);
    let change = plan["changes"]
        .as_array()
        .unwrap()
        .iter()
        .find(|c| c["place"] == "tool")
        .unwrap();
    assert_eq!(change["after"]["seller"], "Brackwater");
    assert_eq!(
        plan["plans"][0]["mass_g"], "5260",
        "a tool is not on the bike"
    );
}

/// A front and a rear rotor of different size suit calipers that take both; a rotor that nothing suits is not taken.
#[test]
fn several_pieces_of_one_joint_need_not_be_alike() {
    let rows = "front rotor,rotors,build,to-order,Amberway,20,USD,CN,1,120,,,rotor_size=160\n\
        rear rotor,rotors,build,to-order,Amberway,20,USD,CN,1,100,,,rotor_size=140\n\
        big rotor,rotors,option,to-order,Amberway,1,USD,CN,1,90,,,rotor_size=220\n\
        calipers,calipers,build,to-order,Amberway,80,USD,CN,2,120,,,rotor_size=140|160\n";
    let both = "w,wheels,build,to-order,Amberway,100,USD,CN,1,1500,,,\n";
    let plan = json(&[CASSETTE, both, rows], &[]);
    let taken: Vec<&str> = plan["plans"][0]["choices"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|c| c["part"].as_str())
        .collect();
    assert!(
        taken.contains(&"front rotor") && taken.contains(&"rear rotor"),
        "{taken:?}"
    );
}

/// Two parcels of one seller are one seller.
#[test]
fn sellers_are_counted_not_parcels() {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), &REST);
    let path = folder.path().join("parts.csv");
    let mut parts: String = fs::read_to_string(&path)
        .unwrap()
        .lines()
        .filter(|l| !l.starts_with("old chain"))
        .fold(String::new(), |all, line| {
            let end = if all.is_empty() { ",parcel" } else { "," };
            all + line + end + "\n"
        });
    parts += "w,wheels,build,to-order,Amberway,100,USD,CN,1,1500,,,,first\nc,chain,build,to-order,Amberway,30,USD,CN,1,250,,,,second\n";
    parts += "w,,rival,,Brackwater,400,USD,TW,,,,,,\nc,,rival,,Brackwater,400,USD,TW,,,,,,\n";
    fs::write(path, parts).unwrap();
    let ran = kit::landwaiter(&[
        "plan",
        folder.path().to_str().unwrap(),
        "--max-sellers",
        "1",
        "--format",
        "json",
    ]);
    assert_eq!(ran.status, 0, "{}", ran.stderr);
    let plan: Value = serde_json::from_str(&ran.stdout).unwrap();
    assert_eq!(
        plan["changes"].as_array().unwrap().len(),
        0,
        "{}",
        plan["changes"]
    );
}

#[test]
fn a_million_is_planned_and_more_digits_are_refused() {
    let dear = "w,wheels,build,to-order,Amberway,1000000,GBP,CN,1,1500,,,\nw,,rival,,Brackwater,999999.99,GBP,TW,,,,,\n";
    let plan = json(&book(&[dear]), &["--frontier"]);
    assert_eq!(plan["plans"].as_array().unwrap().len(), 1);
    let dearest = "w,wheels,build,to-order,Amberway,999999999999,GBP,CN,1,1500,,,\nw,,rival,,Brackwater,999999999998,GBP,TW,,,,,\n";
    refused(
        &book(&[dearest]),
        &[],
        1,
        "a figure this large is not meant",
    );
}

/// A book of three sellers that each offer nearly everything, more than a test would wait for.
#[cfg(unix)]
#[test]
fn an_interrupted_search_gives_the_best_known() {
    use std::process::{Command, Stdio};
    use std::time::Duration;
    let folder = tempfile::tempdir().unwrap();
    let mut rows = String::new();
    for (at, place) in ["wheels", "cassette", "rotors", "calipers"]
        .iter()
        .chain(&kit::SMALL_PLACES[..12])
        .enumerate()
    {
        for (turn, seller) in ["Amberway", "Brackwater", "Cinderfold"]
            .into_iter()
            .enumerate()
        {
            for kind in 0..3 {
                let price = 20 + (at * 37 + turn * 13 + kind * 29) % 90;
                let role = if turn + kind == 0 { "build" } else { "option" };
                let mass = 400 - price * 2 + (at * 11 + kind * 7) % 40;
                let _ = writeln!(
                    rows,
                    "{place} {turn}{kind},{place},{role},to-order,{seller},{price}.{:02},USD,CN,1,{mass},,,",
                    at * 3 + kind
                );
            }
        }
    }
    let left: String = kit::SMALL_PLACES[12..30]
        .iter()
        .map(|place| format!("old {place},{place},build,in-hand,,,,,1,100,,,\n"))
        .collect();
    write(folder.path(), &[]);
    fs::write(
        folder.path().join("parts.csv"),
        format!("{HEAD}{left}{rows}"),
    )
    .unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_landwaiter"));
    command
        .args([
            "plan",
            folder.path().to_str().unwrap(),
            "--frontier",
            "--format",
            "json",
        ])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    let child = command.spawn().unwrap();
    std::thread::sleep(Duration::from_secs(3));
    Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .unwrap();
    let begun = std::time::Instant::now();
    let output = child.wait_with_output().unwrap();
    assert!(
        begun.elapsed() < Duration::from_mins(1),
        "an interrupt ends it soon"
    );
    assert_eq!(
        output.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    // how far the search is, is said on a terminal alone
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    let plan: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(plan["stopped"], "interrupted");
    assert!(
        !plan["plans"].as_array().unwrap().is_empty(),
        "something was known"
    );
    assert!(
        !plan["open"].as_array().unwrap().is_empty(),
        "and it is not called whole"
    );
}

/// A part is kept, and all that is left beside it says something else at the joint: there was a plan with both, called proven.
#[test]
fn a_kept_part_that_does_not_fit_is_no_plan() {
    let rows = [
        "old cassette,cassette,build,in-hand,,,,,1,300,,,freehub=spline-11\n",
        "w,wheels,build,to-order,Amberway,100,USD,CN,1,1500,,,freehub=spline-11\n",
        "w2,wheels,option,to-order,Brackwater,90,USD,TW,1,1200,,,freehub=spline-12\n",
        ROTORS,
        CALIPERS,
    ];
    refused(
        &rows,
        &["--keep", "w2"],
        3,
        "no plan: parts without another offer do not fit: freehub",
    );
    let plan = json(&rows, &[]);
    assert!(plan["plans"][0].to_string().contains("\"w\""), "{plan}");
}
