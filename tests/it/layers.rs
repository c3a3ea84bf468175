//! The layers of the code: a module uses only lower ones, never a sibling, and only `cli` touches the world.

use std::fs;
use std::path::Path;

use crate::harness::project;

/// Each line is a layer; what stands beside each other are siblings. Modules that do not exist yet are no error.
const LAYERS: [&[&str]; 11] = [
    &["units"],
    &["text"],
    &["tables", "book"],
    &["rules"],
    &["landed"],
    &["value", "estimate"],
    &[
        "compare", "rank", "plan", "leeway", "returns", "settle", "bulk",
    ],
    &["steps"],
    &["report"],
    &["answer"],
    &["cli"],
];

/// What only `cli` may name.
const WORLD: [&str; 5] = ["fs", "env", "io", "net", "process"];

fn layer_of(module: &str) -> Option<usize> {
    LAYERS.iter().position(|layer| layer.contains(&module))
}

/// The module a file of `src/` belongs to: `landed` for `landed/bill.rs`, `bulk` for `bulk.rs`.
fn module_of(path: &str) -> &str {
    path.split('/')
        .next()
        .unwrap_or(path)
        .trim_end_matches(".rs")
}

/// The code of a file: no comments, and nothing from its tests on, which may use what they like.
fn code_of(text: &str) -> Vec<(usize, String)> {
    let lines = text
        .lines()
        .enumerate()
        .take_while(|(_, line)| !line.starts_with("#[cfg(test)]"));
    lines
        .map(|(at, line)| {
            (
                at + 1,
                line.split("//").next().unwrap_or_default().to_owned(),
            )
        })
        .collect()
}

/// The first names of the paths in a line that leave their module: `crate::X`, and as many `super::` as lead out of it.
fn named(path: &str, line: &str) -> Vec<String> {
    let depth = path.split('/').count() - usize::from(path.ends_with("/mod.rs"));
    [
        names_after("crate::", line),
        names_after(&"super::".repeat(depth), line),
    ]
    .concat()
}

/// The names that follow the start of a path, one by one or in braces.
fn names_after(start: &str, line: &str) -> Vec<String> {
    let mut found = Vec::new();
    let is_word = |c: char| c.is_alphanumeric() || c == '_';
    let mut heads = |rest: &str| match rest.strip_prefix('{') {
        None => found.push(rest.chars().take_while(|c| is_word(*c)).collect::<String>()),
        Some(list) => {
            let mut open = 0;
            let mut word = String::new();
            for c in list.chars().chain(",".chars()) {
                match c {
                    '{' => open += 1,
                    '}' if open > 0 => open -= 1,
                    ',' | '}' if open == 0 => found.push(std::mem::take(&mut word)),
                    _ if open == 0 => word.push(c),
                    _ => {}
                }
            }
        }
    };
    for (at, _) in line.match_indices(start) {
        let before = line[..at].chars().next_back();
        if !before.is_some_and(|c| is_word(c) || c == ':' || c == '$') {
            heads(&line[at + start.len()..]);
        }
    }
    found
        .iter()
        .map(|name| {
            name.split("::")
                .next()
                .unwrap_or_default()
                .trim()
                .to_owned()
        })
        .filter(|name| !name.is_empty())
        .collect()
}

/// Joins what `use` spreads over several lines, keeping the line it begins on.
fn statements(code: Vec<(usize, String)>) -> Vec<(usize, String)> {
    let mut found: Vec<(usize, String)> = Vec::new();
    let mut open = false;
    for (at, line) in code {
        let starts =
            line.trim_start().starts_with("use ") || line.trim_start().starts_with("pub use ");
        match found.last_mut().filter(|_| open) {
            Some((_, whole)) => whole.push_str(line.trim()),
            None => found.push((at, line.clone())),
        }
        open = (open || starts) && !line.contains(';');
    }
    found
}

/// What a file does against the layers.
fn faults(path: &str, text: &str) -> Vec<String> {
    let module = module_of(path);
    let own = layer_of(module);
    let mut found = Vec::new();
    if own.is_none() && !matches!(module, "lib" | "main") {
        found.push(format!("src/{path}: `{module}` stands in no layer"));
    }
    for (line, code) in statements(code_of(text)) {
        for name in named(path, &code) {
            let (Some(own), Some(other)) = (own, layer_of(&name)) else {
                continue;
            };
            if name != module && other >= own {
                let way = if other == own { "sideways" } else { "upward" };
                found.push(format!(
                    "src/{path}:{line}: `{module}` imports {way} from `{name}`"
                ));
            }
        }
        let worldly = names_after("std::", &code)
            .into_iter()
            .filter(|name| WORLD.contains(&name.as_str()));
        let clock = code.contains("SystemTime").then(|| "SystemTime".to_owned());
        for name in worldly
            .chain(clock)
            .filter(|_| module != "cli" && path != "main.rs")
        {
            found.push(format!("src/{path}:{line}: only `cli` may name {name}"));
        }
    }
    found
}

/// The sources below a folder; a room's tests, `tests.rs` and the folder `tests`, may use what they like and are left out.
fn files(folder: &Path, found: &mut Vec<std::path::PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let of_a_room = folder.parent().is_some_and(|above| above == project("src"));
        if of_a_room && path.file_stem().is_some_and(|name| name == "tests") {
            continue;
        }
        if path.is_dir() {
            files(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
}

#[test]
fn every_module_uses_only_lower_layers() {
    let src = project("src");
    let mut found = Vec::new();
    files(&src, &mut found);
    assert!(found.len() > 30, "only {} files", found.len());
    let faults: Vec<String> = found
        .iter()
        .flat_map(|path| {
            let name = path
                .strip_prefix(&src)
                .unwrap()
                .to_string_lossy()
                .replace('\\', "/");
            faults(&name, &fs::read_to_string(path).unwrap())
        })
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// What is left out above is compiled for tests alone.
#[test]
fn the_tests_of_a_room_are_no_part_of_the_program() {
    let mut seen = 0;
    for room in fs::read_dir(project("src")).unwrap() {
        let room = room.unwrap().path();
        if room.join("tests.rs").exists() || room.join("tests").exists() {
            let text = fs::read_to_string(room.join("mod.rs")).unwrap();
            assert!(
                text.contains("#[cfg(test)]\nmod tests;"),
                "{}",
                room.display()
            );
            seen += 1;
        }
    }
    assert!(seen > 5, "{seen}");
}

/// The check itself can fail: each of these is a fault.
#[test]
fn the_check_sees_what_is_forbidden() {
    for (path, text) in [
        ("rules/assess.rs", "use crate::landed::Bill;\n"),
        (
            "tables/mod.rs",
            "fn f() { crate::book::Book::default(); }\n",
        ),
        ("book/mod.rs", "use super::tables::Tables;\n"),
        ("book/part.rs", "use super::super::tables::Tables;\n"),
        ("rank.rs", "use super::compare::Row;\n"),
        (
            "rank/ladder.rs",
            "use crate::{\n    units::Dec,\n    compare::Row,\n};\n",
        ),
        (
            "units/date.rs",
            "use std::time::{SystemTime, UNIX_EPOCH};\n",
        ),
        ("text/source.rs", "use std::{collections::BTreeMap, fs};\n"),
        ("report/show.rs", "fn f() { std::env::var(\"X\").ok(); }\n"),
        ("extra/mod.rs", "use crate::units::Dec;\n"),
    ] {
        assert_eq!(
            faults(path, text).len(),
            1,
            "{path}: {:?}",
            faults(path, text)
        );
    }
}

/// And it lets pass what is allowed.
#[test]
fn the_check_lets_pass_what_is_allowed() {
    for (path, text) in [
        (
            "landed/bill.rs",
            "use super::caution::Cautions;\nuse crate::rules::{RowFilter, Limit};\nuse crate::landed::Jurisdiction;\n",
        ),
        ("landed/mod.rs", "pub use crate::units::Dec;\n"),
        ("cli/files.rs", "use std::fs;\nuse crate::report::View;\n"),
        (
            "units/date.rs",
            "//! Nothing of std::fs here.\n// crate::landed is above\nfn f() {}\n#[cfg(test)]\nmod tests { use crate::landed::Bill; }\n",
        ),
        (
            "lib.rs",
            "pub mod cli;\npub use landed::{Question, cost};\n",
        ),
        (
            "main.rs",
            "fn main() { landwaiter::cli::run(std::env::args_os()); }\n",
        ),
    ] {
        assert_eq!(faults(path, text), Vec::<String>::new(), "{path}");
    }
}

/// What only the rows of law know of: who writes a form down or reads it in whole numbers knows none of it.
const LAW: [&str; 11] = [
    "Level",
    "Per",
    "Drop",
    "RateFrom",
    "TestPer",
    "ChargeStep",
    "ReliefStep",
    "Relief",
    "Charge",
    "level",
    "relief",
];

/// The words of a line of code.
fn words_of(line: &str) -> impl Iterator<Item = &str> {
    line.split(|c: char| !c.is_alphanumeric() && c != '_')
}

/// Lines of code that name what only the rows of law know of.
fn law_named(path: &str, text: &str) -> Vec<String> {
    let mut found = Vec::new();
    for (line, code) in code_of(text) {
        let rounding = code.contains(".round ") || code.contains("step.round");
        if rounding || words_of(&code).any(|word| LAW.contains(&word)) {
            found.push(format!("src/{path}:{line}: {}", code.trim()));
        }
    }
    found
}

#[test]
fn workbooks_and_price_lists_know_no_law() {
    let src = project("src");
    let mut paths = Vec::new();
    for folder in ["report/workbook", "bulk"] {
        files(&src.join(folder), &mut paths);
    }
    assert!(paths.len() > 15, "only {} files", paths.len());
    let found: Vec<String> = paths
        .iter()
        .flat_map(|path| {
            let name = path
                .strip_prefix(&src)
                .unwrap()
                .to_string_lossy()
                .into_owned();
            law_named(&name, &fs::read_to_string(path).unwrap())
        })
        .collect();
    assert!(found.is_empty(), "{}", found.join("\n"));
    // the check itself can fail
    for line in [
        "use crate::tables::{Kind, Level};",
        "match charge.per { Per::Piece => 1 }",
    ] {
        assert_eq!(law_named("bulk/x.rs", line).len(), 1, "{line}");
    }
}
