//! What several tests share: the program run in the project's folder, and files of expected output.

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::sync::{Arc, Mutex, OnceLock};

pub(crate) use crate::made::{
    Dice, SMALL_PLACES, ask, book, built_in, cost, home, one_in, records, seed, share, tried,
};

/// What a run of the program left behind.
#[derive(Debug, Clone)]
pub(crate) struct Ran {
    pub(crate) stdout: String,
    pub(crate) stderr: String,
    pub(crate) status: i32,
}

/// Runs the program in the project's folder, without terminal and without standard input. What only reads an example is run once
/// for all tests that look at it.
pub(crate) fn landwaiter(args: &[&str]) -> Ran {
    static MADE: Once<Ran> = Mutex::new(BTreeMap::new());
    if only_reads(args) {
        once(&MADE, args, || run(args))
    } else {
        run(args)
    }
}

/// What is made once, by the words it is made with.
type Once<T> = Mutex<BTreeMap<Vec<String>, Arc<OnceLock<T>>>>;

fn once<T: Clone>(all: &Once<T>, words: &[&str], make: impl FnOnce() -> T) -> T {
    let words = words.iter().map(|word| (*word).to_owned()).collect();
    let made = all.lock().unwrap().entry(words).or_default().clone();
    made.get_or_init(make).clone()
}

/// What a report of an example is written as: `page.html`, or the pictures and their words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum As {
    Page,
    Pictures,
}

/// The texts that a report of an example writes, by the names of their files; each report is made once for all tests that look at it.
/// Pictures are square unless a shape is asked for, as those kept beside the examples are, so that one run does for both.
pub(crate) fn report(book: &str, what: As, more: &[&str]) -> Arc<BTreeMap<String, String>> {
    static MADE: Once<Arc<BTreeMap<String, String>>> = Mutex::new(BTreeMap::new());
    let make = || {
        let folder = tempfile::tempdir().unwrap();
        let page = folder.path().join("page.html");
        let place = match what {
            As::Page => ["-o", page.to_str().unwrap()],
            As::Pictures => ["--pictures", folder.path().to_str().unwrap()],
        };
        let shape: &[&str] = if what == As::Pictures && !more.contains(&"--shape") {
            &["--shape", "square"]
        } else {
            &[]
        };
        let ran = run(&[&["report", book], &place[..], shape, more].concat());
        assert_eq!(
            (ran.status, ran.stderr.as_str()),
            (0, ""),
            "{book} {more:?}"
        );
        let files = fs::read_dir(folder.path())
            .unwrap()
            .map(|entry| entry.unwrap().path());
        let named = files.map(|path| {
            (
                path.file_name().unwrap().to_string_lossy().into_owned(),
                fs::read(path).unwrap(),
            )
        });
        Arc::new(
            named
                .filter_map(|(name, bytes)| Some((name, String::from_utf8(bytes).ok()?)))
                .collect(),
        )
    };
    once(
        &MADE,
        &[
            &[book, if what == As::Page { "page" } else { "pictures" }],
            more,
        ]
        .concat(),
        make,
    )
}

fn only_reads(args: &[&str]) -> bool {
    let reads = [
        "check", "cost", "compare", "rank", "leeway", "settle", "return",
    ]
    .contains(&args[0])
        && !args.contains(&"--add");
    reads
        && args
            .get(1)
            .is_some_and(|book| book.starts_with("examples/"))
}

/// The same on a terminal of so many columns.
pub(crate) fn at_columns(args: &[&str], columns: usize) -> Ran {
    run_at(args, Some(&columns.to_string()))
}

fn run(args: &[&str]) -> Ran {
    run_at(args, None)
}

fn run_at(args: &[&str], columns: Option<&str>) -> Ran {
    let mut command = Command::new(env!("CARGO_BIN_EXE_landwaiter"));
    command.env_remove("COLUMNS");
    if let Some(columns) = columns {
        command.env("COLUMNS", columns);
    }
    let output = command
        .args(args)
        .current_dir(home())
        .stdin(Stdio::null())
        .env("NO_COLOR", "1")
        .env("LC_ALL", "C.UTF-8")
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Ran {
        stdout: text(output.stdout),
        stderr: text(output.stderr),
        status: output.status.code().unwrap(),
    }
}

/// Whether expected outputs are to be written anew.
pub(crate) fn updating() -> bool {
    std::env::var_os("UPDATE_EXPECTED").is_some_and(|value| value == "1")
}

/// Compares a text with a file of the project, or writes it there with `UPDATE_EXPECTED=1`.
#[track_caller]
pub(crate) fn same_as_file(file: &str, text: &str) {
    let path: PathBuf = home().join(file);
    if updating() {
        fs::write(&path, text).unwrap();
        return;
    }
    let expected = fs::read_to_string(&path).unwrap_or_default();
    assert!(
        expected == text,
        "{file} is not what the program says now; look at the difference, then run again with UPDATE_EXPECTED=1\n{}",
        difference(&expected, text)
    );
}

/// The first lines that differ.
fn difference(expected: &str, found: &str) -> String {
    let mut lines: Vec<String> = Vec::new();
    let (mut a, mut b) = (expected.lines(), found.lines());
    for number in 1.. {
        let (one, other) = (a.next(), b.next());
        if (one, other) == (None, None) || lines.len() > 20 {
            break;
        }
        if one != other {
            lines.push(format!(
                "line {number}\n  - {}\n  + {}",
                one.unwrap_or("(end)"),
                other.unwrap_or("(end)")
            ));
        }
    }
    lines.join("\n")
}

/// The first heading of a page, without its tags.
pub fn heading(page: &str) -> String {
    let inside = page
        .split("<h1>")
        .nth(1)
        .and_then(|text| text.split("</h1>").next());
    let pieces = inside.unwrap_or_default().split('<');
    pieces
        .map(|piece| piece.split_once('>').map_or(piece, |(_, text)| text))
        .collect()
}
