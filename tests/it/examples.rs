//! The examples are run as a reader of their pages would run them, and their output is compared letter by letter.
//!
//! `UPDATE_EXPECTED=1 cargo test examples` writes what the program says now; look at the difference before it is kept.

use std::collections::BTreeSet;
use std::fs;

use landwaiter::book::{Book, BookFile, Role, Standing, TABLES};
use landwaiter::text::Problems;

use crate::kit::{self, Ran};

fn names() -> Vec<String> {
    let folders = fs::read_dir(kit::home().join("examples")).unwrap();
    let folders = folders
        .map(Result::unwrap)
        .filter(|entry| entry.path().is_dir());
    let mut names: Vec<String> = folders
        .map(|entry| entry.file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

/// The commands a page shows, each on a line of its own and indented.
fn commands(page: &str) -> Vec<Vec<String>> {
    let shown = page
        .lines()
        .filter_map(|line| line.strip_prefix("    landwaiter "));
    shown
        .map(|line| line.split_whitespace().map(str::to_owned).collect())
        .collect()
}

/// What a run wrote: the result, or the drawn problems of what was refused.
#[track_caller]
fn written(ran: &Ran, refused: bool) -> String {
    if refused {
        assert_eq!(
            (ran.status, ran.stdout.as_str()),
            (1, ""),
            "refused input leaves no result\n{}",
            ran.stderr
        );
        ran.stderr.clone()
    } else {
        assert_eq!(
            (ran.status, ran.stderr.as_str()),
            (0, ""),
            "a sound example leaves no complaint\n{}",
            ran.stdout
        );
        ran.stdout.clone()
    }
}

#[test]
fn every_example_says_what_its_expected_file_says() {
    assert_eq!(
        names(),
        [
            "after-delivery",
            "everything-wrong",
            "first-build",
            "gravel-build"
        ]
    );
    for name in names() {
        let folder = format!("examples/{name}");
        let ran = kit::landwaiter(&["cost", &folder]);
        kit::same_as_file(
            &format!("{folder}/expected.txt"),
            &written(&ran, name == "everything-wrong"),
        );
    }
}

#[test]
fn everything_wrong_names_every_problem() {
    let ran = kit::landwaiter(&["check", "examples/everything-wrong", "--format", "json"]);
    assert_eq!((ran.status, ran.stderr.as_str()), (1, ""));
    kit::same_as_file("examples/everything-wrong/expected-check.txt", &ran.stdout);
    let json: serde_json::Value = serde_json::from_str(&ran.stdout).unwrap();
    let problems = json["problems"].as_array().unwrap();
    let placed = problems
        .iter()
        .filter(|p| p["file"].is_string() && p["line"].is_u64())
        .count();
    assert_eq!(
        placed,
        problems.len(),
        "each problem names its file and line"
    );
    for table in ["settings", "sellers", "parts", "discounts", "bikes"] {
        let file = format!("examples/everything-wrong/{table}.csv");
        let reached = problems
            .iter()
            .any(|p| p["file"] == file.as_str() && p["severity"] == "error");
        assert!(reached, "no error in {file}");
    }
}

#[test]
fn the_commands_on_an_examples_page_work() {
    for name in names() {
        let page =
            fs::read_to_string(kit::home().join(format!("examples/{name}/README.md"))).unwrap();
        let commands = commands(&page);
        let first = vec!["cost".to_owned(), format!("examples/{name}")];
        assert_eq!(
            commands.first(),
            Some(&first),
            "the page of {name} begins with its cost"
        );
        for command in commands {
            let words: Vec<&str> = command.iter().map(String::as_str).collect();
            let ran = kit::landwaiter(&words);
            let expected = i32::from(name == "everything-wrong");
            assert_eq!(
                ran.status,
                expected,
                "landwaiter {}\n{}",
                command.join(" "),
                ran.stderr
            );
        }
    }
}

fn read(name: &str) -> Book {
    let file = |table: &str| {
        let path = format!("examples/{name}/{table}.csv");
        let bytes = fs::read(kit::home().join(&path)).ok()?;
        Some(BookFile {
            path,
            table: table.to_owned(),
            bytes,
        })
    };
    let files: Vec<BookFile> = TABLES.into_iter().filter_map(file).collect();
    Book::read(&files, &mut Problems::new())
}

#[test]
fn examples_do_not_change_with_the_calendar() {
    for name in ["after-delivery", "first-build", "gravel-build"] {
        assert!(
            read(name).settings.date.is_some(),
            "{name} does not fix its date"
        );
    }
    let settings =
        fs::read_to_string(kit::home().join("examples/everything-wrong/settings.csv")).unwrap();
    assert!(settings.lines().any(|line| line.starts_with("date,")));
}

/// The story of the gravel build: what a real one has, so that each rule of the tool has something to work on.
#[test]
fn the_gravel_build_has_what_a_real_one_has() {
    let book = read("gravel-build");
    let build = || book.parts.iter().filter(|part| part.role == Role::Build);
    let standing = |wanted: Standing| build().filter(|part| part.standing == wanted).count();
    let bought = build().filter(|part| part.seller.is_some()).count();
    assert!((22..=30).contains(&bought), "{bought} parts from sellers");
    let currencies: BTreeSet<_> = book
        .sellers
        .values()
        .filter_map(|seller| seller.currency)
        .collect();
    assert_eq!(
        (book.sellers.len(), currencies.len()),
        (6, 4),
        "sellers, currencies"
    );
    assert!(
        standing(Standing::InHand) >= 3 && standing(Standing::Given) == 1,
        "spares, something given"
    );
    assert!(
        standing(Standing::Bundled) >= 8 && standing(Standing::OnOrder) >= 2,
        "bundles, a parcel on its way"
    );
    let parcels = |seller: &str| {
        build()
            .filter(|p| p.seller.as_deref() == Some(seller))
            .map(|p| p.parcel.as_str())
            .collect::<BTreeSet<_>>()
    };
    assert!(
        book.sellers.keys().any(|seller| parcels(seller).len() > 1),
        "a seller used twice"
    );
    let role = |wanted: Role| book.parts.iter().filter(|part| part.role == wanted).count();
    assert!(
        role(Role::Option) >= 4 && role(Role::Rival) >= 3,
        "options and rivals"
    );
    let rows = |table: &str| {
        let path = format!("examples/gravel-build/{table}.csv");
        let text = fs::read_to_string(kit::home().join(path)).unwrap();
        kit::records(&text).len()
    };
    assert_eq!(
        (rows("bikes"), rows("discounts")),
        (6, 6),
        "reference bikes, discounts"
    );
}
