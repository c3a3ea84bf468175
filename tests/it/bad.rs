//! Input as people really send it: every folder of `tests/data/bad` is a book, and what the program says about it is
//! pinned beside it. `UPDATE_EXPECTED=1` writes the expectations anew; read every one before it is kept.
//!
//! `cargo test` runs one case in two, which half `LANDWAITER_SEED` says, and those of which nothing is pinned yet; all of them with
//! `LANDWAITER_WHOLE=1`, as the checks against the outside do, and when expectations are written anew.
//!
//! A case may hold `args.txt`, the arguments, and `stdin.txt`, what stands on standard input.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use crate::harness::{Ran, landwaiter, project};
use crate::kit;

const USUAL: &str = "cost . --to GB --on 2026-03-02";

fn cases() -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = fs::read_dir(project("tests/data/bad"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    found.retain(|path| path.is_dir());
    found.sort();
    found
}

fn run(case: &Path) -> Ran {
    let args = fs::read_to_string(case.join("args.txt")).unwrap_or_else(|_| USUAL.to_owned());
    landwaiter(&args)
        .within(case)
        .stdin(fs::read(case.join("stdin.txt")).unwrap_or_default())
        .go()
}

/// The status, what stands on standard error, the first sentence of the result where there is one, and what it says
/// was of no use.
fn told(ran: &Ran) -> String {
    let mut text = format!("status {}\n", ran.status);
    if !ran.err.is_empty() {
        write!(text, "\n{}\n", ran.err.trim_end()).unwrap();
    }
    let block = ran.out.split("\n\n").next().unwrap_or_default();
    let mut items = block.split("\n- ");
    let sentence = items.next().unwrap_or_default();
    if !sentence.is_empty() {
        write!(text, "\n{sentence}\n").unwrap();
    }
    for item in items
        .map(|item| item.split("\nNext: ").next().unwrap_or_default())
        .filter(|item| item.contains("-unused]"))
    {
        writeln!(text, "- {item}").unwrap();
    }
    text
}

/// Cases that are about no file: the question itself, or a file that is not there.
fn about_no_file(case: &str) -> bool {
    ["flag-", "no-", "rates-folder-"]
        .iter()
        .any(|start| case.starts_with(start))
}

/// What is wrong with one case.
fn examine(case: &Path, update: bool) -> Option<String> {
    let name = case.file_name().unwrap().to_string_lossy().into_owned();
    let told = told(&run(case));
    let pinned = case.join("expected.txt");
    if update {
        fs::write(&pinned, &told).unwrap();
    }
    let refused = !told.starts_with("status 0");
    if told.contains("panicked") {
        Some(format!("{name} panics:\n{told}"))
    } else if refused == (name.starts_with("ok-") || name.starts_with("said-")) {
        Some(format!("{name} is read, or not, against its name:\n{told}"))
    } else if refused && !about_no_file(&name) && !told.contains("--> ") {
        Some(format!("{name} is refused without its place:\n{told}"))
    } else if fs::read_to_string(&pinned).unwrap_or_default() != told {
        Some(format!(
            "{name} says something else than is pinned:\n{told}"
        ))
    } else {
        None
    }
}

#[test]
fn every_case_says_what_is_pinned() {
    let update = std::env::var_os("UPDATE_EXPECTED").is_some();
    let mut cases = cases();
    assert!(cases.len() >= 60, "only {} cases", cases.len());
    if !update {
        let chosen: BTreeSet<PathBuf> = kit::one_in(2, cases.iter().cloned()).collect();
        cases.retain(|case| chosen.contains(case) || !case.join("expected.txt").exists());
    }
    let half = cases.len().div_ceil(2);
    let wrong: Vec<String> = std::thread::scope(|scope| {
        let start = |part: &'static str, cases: &[PathBuf]| {
            let cases = cases.to_vec();
            (
                part,
                scope.spawn(move || {
                    cases
                        .iter()
                        .filter_map(|case| examine(case, update))
                        .collect::<Vec<_>>()
                }),
            )
        };
        let halves = [
            start("first", &cases[..half]),
            start("second", &cases[half..]),
        ];
        halves
            .into_iter()
            .flat_map(|(_, half)| half.join().unwrap())
            .collect()
    });
    assert!(
        wrong.is_empty(),
        "{} cases of {} are wrong\n\n{}",
        wrong.len(),
        cases.len(),
        wrong.join("\n")
    );
}

const HEADER: &str = "part,place,seller,price,currency,dispatch,mass_g\n";

/// A book with this as its parts; generated, as it is too long to be stored.
fn refused(parts: impl AsRef<[u8]>) -> String {
    let ran = landwaiter("cost . --to GB --on 2026-03-02")
        .file("parts.csv", parts)
        .go()
        .ends(1);
    assert!(!ran.err.contains("panicked"), "{}", ran.err);
    assert!(
        ran.err.len() < 20_000,
        "{} bytes of complaint",
        ran.err.len()
    );
    ran.err
}

#[test]
fn ten_megabytes_on_one_line_are_refused_in_one_sentence() {
    let text = refused("x".repeat(10 << 20));
    let expected = "error: the first line names no column of this table: expected a header with part, place\n --> parts.csv:1:1\n";
    assert!(text.starts_with(expected), "{text}");
    assert_eq!(text.matches("error: ").count(), 1, "{text}");
}

#[test]
fn a_field_of_more_than_a_mebibyte_is_refused_in_one_sentence() {
    let long = format!(
        "{HEADER}Heath saddle,saddle,Skerry Supply,48.00,USD,TW,180\n{},fork,Skerry Supply,60.00,USD,TW,460\n",
        "fork ".repeat(300_000)
    );
    let text = refused(long);
    assert!(
        text.starts_with("error: a field is longer than 1 MiB\n --> parts.csv:3:1\n"),
        "{text}"
    );
    assert_eq!(text.matches("error: ").count(), 1, "{text}");
}

#[test]
fn thousands_of_bad_rows_are_counted_not_listed() {
    let rows = kit::share(50_000, 10_000);
    let row = |n: u64| format!("Part {n},saddle,Skerry Supply,cheap,USD,TW,180\n");
    let text = refused(HEADER.to_owned() + &(0..rows).map(row).collect::<String>());
    assert!(text.contains(" --> parts.csv:2:"), "{text}");
    assert!(
        text.ends_with(&format!("and {} more errors\n", rows - 20)),
        "{}",
        &text[text.len() - 200..]
    );
}

#[test]
fn parts_that_need_one_another_a_million_ways_are_read_at_once() {
    let header = "part,place,seller,price,currency,dispatch,mass_g,needs\n";
    let pair = |n: usize| {
        let needs = if n < 40 {
            format!("A{} + B{}", n + 1, n + 1)
        } else {
            String::new()
        };
        format!(
            "A{n},spare,Skerry Supply,1.00,USD,TW,10,{needs}\nB{n},spare,Skerry Supply,1.00,USD,TW,10,{needs}\n"
        )
    };
    landwaiter("cost . --to GB --on 2026-03-02")
        .file(
            "parts.csv",
            header.to_owned() + &(0..=40).map(pair).collect::<String>(),
        )
        .go()
        .ends(0);
}
