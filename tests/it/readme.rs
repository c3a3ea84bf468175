//! README.md shows what the program says today: its session, its help, and no command or option that is not there.

use std::collections::BTreeSet;
use std::fs;

use crate::kit;

const PROMPT: &str = "$ ";

/// The page as blocks of lines: fenced blocks with their language, and the text between them.
fn fenced(page: &str) -> Vec<(String, String)> {
    let mut blocks = Vec::new();
    let mut open: Option<(String, String)> = None;
    for line in page.lines() {
        match (line.strip_prefix("```"), &mut open) {
            (Some(language), None) => open = Some((language.to_owned(), String::new())),
            (Some(_), Some(_)) => blocks.extend(open.take()),
            (None, Some((_, text))) => text.push_str(&format!("{line}\n")),
            (None, None) => {}
        }
    }
    assert!(open.is_none(), "a block is not closed");
    blocks
}

fn page() -> String {
    fs::read_to_string(kit::home().join("README.md")).unwrap()
}

/// What a command of the page says now.
#[track_caller]
fn said(command: &str) -> String {
    let words: Vec<&str> = command.split_whitespace().collect();
    assert_eq!(words.first(), Some(&"landwaiter"), "{command}");
    let ran = kit::landwaiter(&words[1..]);
    assert_eq!((ran.status, ran.stderr.as_str()), (0, ""), "{command}");
    ran.stdout
}

/// The help's list of commands.
fn listing() -> String {
    let help = kit::landwaiter(&["--help"]).stdout;
    let list = help
        .lines()
        .skip_while(|line| *line != "Before you order")
        .take_while(|line| !line.is_empty());
    list.map(|line| format!("{line}\n")).collect()
}

/// The blocks of one language, and what each should be now.
fn blocks(page: &str, language: &str, now: impl Fn(&str) -> String) -> Vec<(String, String)> {
    let shown = fenced(page).into_iter().filter(|(of, _)| of == language);
    shown
        .map(|(_, text)| {
            (
                format!("```{language}\n{text}```"),
                format!("```{language}\n{}```", now(&text)),
            )
        })
        .collect()
}

#[test]
fn the_run_and_the_list_of_commands_are_what_the_program_says() {
    let mut page = page();
    let session = |text: &str| {
        let command = text
            .lines()
            .next()
            .and_then(|line| line.strip_prefix(PROMPT))
            .unwrap_or_else(|| panic!("no command:\n{text}"));
        format!("{PROMPT}{command}\n{}", said(command))
    };
    let (sessions, lists) = (
        blocks(&page, "console", session),
        blocks(&page, "text", |_| listing()),
    );
    assert_eq!(
        (sessions.len(), lists.len()),
        (1, 1),
        "one run, one list of commands"
    );
    for (old, new) in sessions.into_iter().chain(lists) {
        if kit::updating() {
            page = page.replace(&old, &new);
        } else {
            assert!(
                old == new,
                "README.md is out of date; run again with UPDATE_EXPECTED=1\n--- the page\n{old}\n--- now\n{new}"
            );
        }
    }
    if kit::updating() {
        fs::write(kit::home().join("README.md"), page).unwrap();
    }
}

/// Words of the page set in code type: between single backticks, and the lines of shell blocks.
fn code(page: &str) -> Vec<String> {
    let mut found = Vec::new();
    let blocks = fenced(page);
    let shell = blocks.iter().filter(|(language, _)| language == "sh");
    found.extend(shell.flat_map(|(_, text)| text.lines().map(str::to_owned)));
    let mut inside = false;
    for line in page.lines() {
        if line.starts_with("```") {
            inside = !inside;
        } else if !inside {
            found.extend(line.split('`').skip(1).step_by(2).map(str::to_owned));
        }
    }
    found
}

#[test]
fn every_command_and_option_it_names_is_there() {
    // what a command's help does not list does nothing there
    let of = |command: &str| kit::landwaiter(&[command, "--help"]).stdout;
    let help = [
        "new", "cost", "rank", "plan", "settle", "return", "report", "rates", "bulk",
    ]
    .map(of);
    let update = kit::landwaiter(&["rates", "update", "--help"]).stdout;
    let help = format!(
        "{}{}{update}",
        kit::landwaiter(&["--help"]).stdout,
        help.concat()
    );
    let page = page();
    let (mut commands, mut options) = (BTreeSet::new(), BTreeSet::new());
    for text in code(&page) {
        let words: Vec<&str> = text.split_whitespace().collect();
        let start = match words.as_slice() {
            ["landwaiter", ..] => 1,
            ["cargo", "run", "--release", "--", ..] => 4,
            _ => continue,
        };
        commands.extend(
            words
                .get(start)
                .filter(|word| !word.starts_with('-'))
                .map(|word| (*word).to_owned()),
        );
        options.extend(
            words[start..]
                .iter()
                .filter(|word| word.starts_with("--"))
                .map(|word| (*word).to_owned()),
        );
    }
    assert!(commands.len() >= 4, "{commands:?}");
    for command in &commands {
        let ran = kit::landwaiter(&if command == "help" {
            vec!["help", "words"]
        } else {
            vec![command, "--help"]
        });
        assert_eq!(
            ran.status, 0,
            "README.md names `landwaiter {command}`, which is not there\n{}",
            ran.stderr
        );
    }
    for option in &options {
        assert!(
            help.contains(option.as_str()),
            "README.md names `{option}`, which the help does not"
        );
    }
}

#[test]
fn files_it_points_to_are_there() {
    for name in [
        "README.md",
        "DEVELOPERS.md",
        "rates/README.md",
        "examples/README.md",
    ] {
        let page = fs::read_to_string(kit::home().join(name)).unwrap();
        let folder = kit::home().join(name).parent().unwrap().to_owned();
        let links = page.match_indices("](").map(|(at, _)| {
            page[at + 2..]
                .split(')')
                .next()
                .unwrap()
                .split('#')
                .next()
                .unwrap()
                .to_owned()
        });
        for link in links.filter(|link| !link.is_empty() && !link.contains("://")) {
            assert!(
                folder.join(&link).exists(),
                "{name} points to {link}, which is not there"
            );
        }
    }
}

/// The source files below a folder.
fn sources(folder: &std::path::Path, found: &mut Vec<String>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            let name = path
                .strip_prefix(kit::home().join("src"))
                .unwrap()
                .to_string_lossy()
                .replace('\\', "/");
            found.push(name);
        }
    }
}

#[test]
fn the_developers_map_names_every_room_and_every_file_says_what_it_owns() {
    let page = fs::read_to_string(kit::home().join("DEVELOPERS.md")).unwrap();
    let mut found = Vec::new();
    sources(&kit::home().join("src"), &mut found);
    found.sort();
    let rooms: BTreeSet<&str> = found
        .iter()
        .filter_map(|name| name.strip_suffix("/mod.rs"))
        .collect();
    let missing: Vec<&&str> = rooms
        .iter()
        .filter(|room| !page.contains(&format!("`{room}`")))
        .collect();
    assert!(
        missing.is_empty(),
        "DEVELOPERS.md does not name {missing:?}"
    );
    let gone = code(&page).into_iter().filter(|text| {
        text.strip_suffix(".rs").is_some() && text.contains('/') && !text.starts_with("tests/")
    });
    let gone: Vec<String> = gone.filter(|name| !found.contains(name)).collect();
    assert!(
        gone.is_empty(),
        "DEVELOPERS.md names {gone:?}, which are not there"
    );
    for name in &found {
        let text = fs::read_to_string(kit::home().join("src").join(name)).unwrap();
        let first = text.lines().next().unwrap_or_default();
        let words = first
            .strip_prefix("//! ")
            .map_or(0, |said| said.split(' ').count());
        assert!(words >= 3, "{name} does not say what it owns: {first}");
    }
}
