//! The program's `leeway`: the figures of `cost` where nothing is unknown, the same bytes twice, lasting names in its JSON.

use std::process::Command;
use std::sync::OnceLock;

use super::kit;
use super::made::{FEW_PARTS, FEW_SETTINGS};
use super::small::dec;

/// What a command says of the large example where nothing is unknown; `leeway` without flags is run once for both tests that ask it.
fn of_certain(words: &[&str]) -> serde_json::Value {
    static LEEWAY: OnceLock<serde_json::Value> = OnceLock::new();
    let run = || {
        let dir = certain("gravel-build");
        let ran = Command::new(env!("CARGO_BIN_EXE_landwaiter"))
            .args(words)
            .args(["--format", "json"])
            .arg(dir.path())
            .output()
            .unwrap();
        assert!(
            ran.status.success(),
            "{}",
            String::from_utf8_lossy(&ran.stderr)
        );
        serde_json::from_slice(&ran.stdout).unwrap()
    };
    if words == ["leeway"] {
        LEEWAY.get_or_init(run).clone()
    } else {
        run()
    }
}

/// An example of which nothing is unknown, so that no shares of outcomes are calculated.
fn certain(example: &str) -> tempfile::TempDir {
    let example = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("examples")
        .join(example);
    let dir = tempfile::tempdir().unwrap();
    std::fs::create_dir(dir.path().join("rates")).unwrap();
    for folder in ["", "rates"] {
        for entry in std::fs::read_dir(example.join(folder))
            .unwrap()
            .map(Result::unwrap)
            .filter(|e| e.path().is_file())
        {
            std::fs::copy(
                entry.path(),
                dir.path().join(folder).join(entry.file_name()),
            )
            .unwrap();
        }
    }
    std::fs::write(dir.path().join("unknowns.csv"), "what,low,likely,high\n").unwrap();
    dir
}

#[test]
fn with_nothing_unknown_the_programs_figures_are_those_of_cost() {
    let (cost, leeway) = (of_certain(&["cost"]), of_certain(&["leeway"]));
    let landed = &cost["totals"]["landed"];
    for name in ["cost", "likely", "all_low", "all_high"] {
        assert_eq!(&leeway[name], landed, "{name}");
    }
    assert!(
        leeway["quantiles"]
            .as_object()
            .unwrap()
            .values()
            .all(|amount| amount == landed),
        "{}",
        leeway["quantiles"]
    );
    assert_eq!(&leeway["assurance"]["total"], landed);
    let mass = &leeway["mass"];
    assert!(
        ["low_g", "middle_g", "high_g"]
            .iter()
            .all(|name| mass[name] == mass["stated_g"]),
        "{mass}"
    );
    assert_eq!(leeway["drivers"].as_array().unwrap().len(), 0);
}

/// The same bikes, the same rows: what `leeway` saves now is what `compare` finds dearer, with tools and without.
#[test]
fn bikes_are_held_against_the_rows_that_compare_looks_at() {
    let margins = |flags: &[&str], tools: u32| -> Vec<(String, String)> {
        let (compared, found) = (
            of_certain(&[&["compare"], flags].concat()),
            of_certain(&[&["leeway"], flags].concat()),
        );
        assert_eq!(
            (
                &compared["build"]["tools_left_out"],
                &found["tools_left_out"]
            ),
            (&tools.into(), &tools.into()),
            "{flags:?}"
        );
        let of = |name: &serde_json::Value| {
            let bike = compared["bikes"]
                .as_array()
                .unwrap()
                .iter()
                .find(|bike| bike["bike"] == *name)
                .unwrap();
            dec(bike["cost_difference"].as_str().unwrap()).negated()
        };
        let bikes = found["break_even"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|edge| edge["against"] == "bike");
        bikes
            .map(|edge| {
                assert_eq!(
                    dec(edge["margin"].as_str().unwrap()),
                    of(&edge["name"]),
                    "{flags:?} {edge}"
                );
                (edge["name"].to_string(), edge["margin"].to_string())
            })
            .collect()
    };
    let (without, with) = (margins(&[], 4), margins(&["--with-tools"], 0));
    assert_eq!((without.len(), with.len()), (6, 6));
    assert!(
        without
            .iter()
            .zip(&with)
            .all(|(one, other)| one.0 == other.0 && one.1 != other.1),
        "{without:?} {with:?}"
    );
    crate::harness::landwaiter("cost . --with-tools")
        .within(crate::harness::project("examples/gravel-build"))
        .go()
        .ends(2);
}

#[test]
fn the_same_command_twice_prints_the_same_bytes() {
    let example = |name: &str| format!("{}/examples/{name}", env!("CARGO_MANIFEST_DIR"));
    let (before, after) = (example("gravel-build"), example("after-delivery"));
    // Some of the formats of each command, and of `leeway` one parcel with an exchange rate, a price, a freight and a fee that move:
    // in a whole run all formats, and the example itself.
    let small = tempfile::tempdir().unwrap();
    let row = FEW_PARTS
        .lines()
        .take(2)
        .fold(String::new(), |text, line| text + line + "\n");
    for (table, text) in [("parts", row.as_str()), ("settings", FEW_SETTINGS)] {
        std::fs::write(small.path().join(format!("{table}.csv")), text).unwrap();
    }
    let moved = if kit::share(1, 0) == 1 {
        before.clone()
    } else {
        small.path().to_str().unwrap().to_owned()
    };
    let asked: [&[&str]; 5] = [
        &["leeway", &moved],
        &["rank", &before],
        &["compare", &before],
        &["settle", &after, "--day", "2026-11-25"],
        &[
            "return",
            &before,
            "--part",
            "Saltmarsh frame",
            "--day",
            "2026-11-25",
        ],
    ];
    for (at, args) in asked.into_iter().enumerate() {
        let formats = ["table", "json", "csv"]
            .into_iter()
            .cycle()
            .skip((at + usize::try_from(kit::seed() % 3).unwrap()) % 3);
        for format in formats.take(usize::try_from(kit::share(3, 1)).unwrap()) {
            let run = || {
                Command::new(env!("CARGO_BIN_EXE_landwaiter"))
                    .args(args)
                    .args(["--format", format])
                    .output()
                    .unwrap()
            };
            let (one, other) = (run(), run());
            assert!(
                one.status.success(),
                "{args:?}: {}",
                String::from_utf8_lossy(&one.stderr)
            );
            assert!(one.stdout == other.stdout, "{args:?} {format}");
        }
    }
}

#[test]
fn json_has_its_lasting_names() {
    let ran = kit::landwaiter(&[
        "leeway",
        "examples/after-delivery",
        "--in",
        "EUR",
        "--format",
        "json",
    ]);
    let json: serde_json::Value = serde_json::from_str(&ran.stdout).unwrap();
    assert_eq!(json["format"], "landwaiter.leeway/1");
    assert_eq!(
        json["quantiles"]
            .as_object()
            .unwrap()
            .keys()
            .collect::<Vec<_>>(),
        ["5", "25", "50", "75", "95"]
    );
    let drivers = json["drivers"].as_array().unwrap();
    assert!(drivers.len() > 5, "{}", drivers.len());
    for name in ["what", "unit", "effect", "total_low", "total_high"] {
        assert!(
            drivers.iter().all(|driver| driver.get(name).is_some()),
            "{name}: {drivers:?}"
        );
    }
}
