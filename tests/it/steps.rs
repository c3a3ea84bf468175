//! The commands that write a step down, as the program runs them: what they say, what they write, and that `undo` takes it back.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use landwaiter::units::Dec;

use crate::harness::project;
use crate::writes::{command, left_behind};

/// A copy of an example, in a folder of its own.
pub(crate) fn copy_of(example: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    copy(
        &project("examples").join(example),
        &folder.path().join("book"),
    );
    folder
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap().map(Result::unwrap) {
        let (from, to) = (entry.path(), to.join(entry.file_name()));
        match entry.file_name().to_str() {
            Some("pictures") => {}
            _ if from.is_dir() => copy(&from, &to),
            _ => {
                fs::copy(from, to).unwrap();
            }
        }
    }
}

/// The tables of a book with their bytes.
pub(crate) fn tables(at: &Path) -> BTreeMap<String, Vec<u8>> {
    fs::read_dir(at.join("book"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.is_file())
        .map(|path| {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            (name, fs::read(path).unwrap())
        })
        .filter(|(name, _)| name != "journal.csv")
        .collect()
}

/// Runs the program; its status and what it said.
pub(crate) fn run(at: &Path, args: &[&str]) -> (i32, String, String) {
    let output = command(at, args).output().unwrap();
    assert_eq!(left_behind(at), Vec::<String>::new());
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (
        output.status.code().unwrap(),
        text(output.stdout),
        text(output.stderr),
    )
}

/// Runs a step that must be done; its lines joined.
#[track_caller]
pub(crate) fn done(at: &Path, args: &[&str]) -> String {
    let (status, said, err) = run(at, args);
    assert_eq!(status, 0, "{args:?}: {err}");
    said.replace('\n', " ")
}

/// Runs a step that must be refused and changes nothing.
#[track_caller]
pub(crate) fn refused(at: &Path, args: &[&str], why: &str) {
    let before = tables(at);
    let (status, _, err) = run(at, args);
    assert!(status == 1 && err.contains(why), "{args:?} {status}: {err}");
    assert!(err.ends_with("Nothing was written.\n"), "{err}");
    assert_eq!(tables(at), before);
}

/// What `cost` says.
pub(crate) fn cost(at: &Path) -> serde_json::Value {
    let (status, said, err) = run(at, &["cost", "book", "--format", "json"]);
    assert_eq!(status, 0, "{err}");
    serde_json::from_str(&said).unwrap()
}

/// A figure of an answer.
fn dec(figure: &serde_json::Value) -> Dec {
    crate::small::dec(figure.as_str().unwrap())
}

/// What the build lands at and weighs, as `cost` says.
fn sums(at: &Path) -> (Dec, Dec) {
    let totals = &cost(at)["totals"];
    (dec(&totals["landed"]), dec(&totals["mass_g"]))
}

/// The chain is said to weigh 252 g: 8 g less, and the bike with it.
#[test]
fn a_weighing_is_entered_and_taken_back() {
    let folder = copy_of("gravel-build");
    let at = folder.path();
    let first = tables(at);
    let before = cost(at)["totals"]["mass_g"].as_str().map(str::to_owned);
    let weigh = [
        "weigh",
        "Kelpwood chain",
        "244",
        "book",
        "--date",
        "2026-10-01",
    ];
    let said = done(at, &weigh);
    assert!(
        said.starts_with("Kelpwood chain weighs 244 g: 8 g less than claimed. The bike weighs 8,529.3 g now, 8 g less than before."),
        "{said}"
    );
    assert!(
        said.contains("170.7 g under the limit of 8,700 g"),
        "{said}"
    );
    assert_eq!(before.as_deref(), Some("8537.3"));
    assert_eq!(cost(at)["totals"]["mass_g"], "8529.3");
    let (_, said, _) = run(at, &["undo", "book"]);
    assert!(
        said.starts_with("Taken back: weigh \"Kelpwood chain\" 244 book --date 2026-10-01, of "),
        "{said}"
    );
    assert_eq!(tables(at), first);
}

#[test]
fn a_price_is_entered_with_what_it_does() {
    let folder = copy_of("gravel-build");
    let at = folder.path();
    let landed = || cost(at)["totals"]["landed"].as_str().unwrap().to_owned();
    let before = landed();
    let wheels = ["seen", "Lowtide 40 wheels", "480", "book"];
    refused(
        at,
        &wheels,
        "is offered by `Radhaus Immerfeld` and `Weihu Composite Works`",
    );
    let own = [
        &wheels[..],
        &["--seller", "Radhaus Immerfeld", "--format", "json"],
    ]
    .concat();
    let json: serde_json::Value = serde_json::from_str(&done(at, &own)).unwrap();
    assert_eq!(json["format"], "landwaiter.seen/1");
    assert_eq!(json["landed_or_added_before"], before.as_str());
    assert_eq!(json["landed_or_added"], landed().as_str());
    assert_ne!(landed(), before);
    // an offer that is not in the build changes nothing but what taking it would do
    let now = landed();
    let said = done(at, &["seen", "Clew pedals", "90", "book"]);
    assert!(
        said.starts_with("Clew pedals from Radhaus Immerfeld costs 90.00 EUR now, 6.00 EUR less than the last price, seen on 2026-09-21. Taking it would add "),
        "{said}"
    );
    assert_eq!(landed(), now);
}

/// What `rank` says of a step is what `cost` says of the book that has it, resale apart; another offer goes in and the old one comes
/// back by its seller's name, and `undo` gives the first bytes.
#[test]
fn a_step_is_taken_and_the_sums_are_those_of_rank() {
    let folder = copy_of("gravel-build");
    let at = folder.path();
    let first = tables(at);
    let (landed, _) = sums(at);
    let rank = |at: &Path| -> serde_json::Value {
        let (_, said, _) = run(at, &["rank", "book", "--format", "json"]);
        serde_json::from_str(&said).unwrap()
    };
    let together = |ranking: &serde_json::Value, part: &str, seller: &str| {
        let options = ranking["options"].as_array().unwrap();
        let own = options
            .iter()
            .find(|o| o["part"] == part && o["seller"] == seller);
        let option = own.unwrap_or_else(|| panic!("{part}: {ranking}"));
        dec(&option["together"])
            .plus(dec(&option["resale"]))
            .unwrap()
    };
    let ranking = rank(at);
    let wheels = "Lowtide 40 wheels";
    let more = together(&ranking, wheels, "Weihu Composite Works");
    let said = done(at, &["take", wheels, "book"]);
    assert!(
        said.starts_with("Lowtide 40 wheels from Weihu Composite Works is in the build now. Landed cost 2,983.35 GBP, 153.98 less than before."),
        "{said}"
    );
    assert_eq!(sums(at).0, landed.plus(more).unwrap());
    // the same part, from whom it was before
    done(
        at,
        &["take", wheels, "book", "--seller", "Radhaus Immerfeld"],
    );
    assert_eq!(sums(at).0, landed);
    let more = together(&rank(at), "Clew pedals", "Radhaus Immerfeld");
    done(at, &["take", "Clew pedals", "book"]);
    assert_eq!(sums(at).0, landed.plus(more).unwrap());
    refused(
        at,
        &["take", "Clew pedals", "book"],
        "is in the build already",
    );
    refused(
        at,
        &["take", "Cinderford 40 wheels", "book"],
        "does not fit the build",
    );
    refused(
        at,
        &["take", "Oval rail clamp", "book"],
        "cannot be taken alone",
    );
    refused(
        at,
        &["take", "Clow pedals", "book"],
        "there is no part `Clow pedals`",
    );
    for _ in 0..3 {
        assert_eq!(run(at, &["undo", "book"]).0, 0);
    }
    assert_eq!(tables(at), first);
}

#[test]
fn a_plan_is_written_and_taken_back() {
    let folder = copy_of("gravel-build");
    let at = folder.path();
    let first = tables(at);
    let plan = ["plan", "book", "--max-mass", "8500"];
    let (_, said, _) = run(at, &[&plan[..], &["--format", "json"]].concat());
    let planned: serde_json::Value = serde_json::from_str(&said).unwrap();
    let best = &planned["plans"][0];
    let said = done(at, &[&plan[..], &["--write"]].concat());
    assert!(said.starts_with("The plan is the build now: "), "{said}");
    assert_eq!(sums(at), (dec(&best["landed"]), dec(&best["mass_g"])));
    let (_, said, _) = run(at, &["undo", "book"]);
    assert!(
        said.starts_with("Taken back: plan book --max-mass 8500 --write, of "),
        "{said}"
    );
    assert_eq!(tables(at), first);
    // where no plan keeps the limits nothing is written, and the status says which it is
    let (status, _, err) = run(at, &["plan", "book", "--max-mass", "3000", "--write"]);
    assert!(
        status == 3 && err.contains("no plan weighs 3,000 g or less"),
        "{status} {err}"
    );
    assert_eq!(tables(at), first);
}

/// The post that was not in the parcel weighs 178 g, and what was paid for it stays in the sum; a penny is the rounding of the receipt.
#[test]
fn a_parcel_comes_without_one_of_its_parts() {
    let folder = copy_of("gravel-build");
    let at = folder.path();
    let first = tables(at);
    let (landed, mass) = sums(at);
    let post = "Windrow post 27.2";
    let came = ["receive", "summer", "book", "--date", "2026-09-25"];
    refused(
        at,
        &[&came[..], &["--missing", "Windrow pst 27.2"]].concat(),
        "did you mean `Windrow post 27.2`?",
    );
    let said = done(at, &[&came[..], &["--missing", post]].concat());
    assert!(
        said.starts_with("Taolin Parts House/summer came on 2026-09-25: 1 part is in hand (Windrow one-piece bar), 1 is not as ordered."),
        "{said}"
    );
    assert!(
        said.contains("Windrow post 27.2 was not in it, and its place is open: claim ")
            && said.contains(" GBP from Taolin Parts House; another ")
            && said.contains("may come back, until 2027-09-25."),
        "{said}"
    );
    let now = sums(at);
    assert_eq!(now.1, mass.minus(crate::small::dec("178")).unwrap());
    let moved = now.0.minus(landed).unwrap().abs();
    assert!(moved <= crate::small::dec("0.01"), "{moved}");
    let (_, check, _) = run(at, &["check", "book"]);
    assert!(check.contains("not there yet: seatpost"), "{check}");
    refused(at, &came, "is here already since 2026-09-25");
    refused(
        at,
        &["receive", "Nagihama Cycle", "book"],
        "nothing of `Nagihama Cycle` is on its way",
    );
    let (_, said, _) = run(at, &["undo", "book"]);
    assert!(
        said.starts_with(
            "Taken back: receive summer book --date 2026-09-25 --missing \"Windrow post 27.2\", of "
        ),
        "{said}"
    );
    assert_eq!(tables(at), first);
}

/// Each command's help fits a screen and shows two ways to type it.
#[test]
fn the_help_of_a_step_is_short_and_has_examples() {
    let folder = tempfile::tempdir().unwrap();
    for command in ["weigh", "seen", "take", "receive"] {
        let (_, help, _) = run(folder.path(), &[command, "--help"]);
        assert!(help.lines().count() <= 30, "{help}");
        assert_eq!(
            help.matches(&format!("  landwaiter {command} ")).count(),
            2,
            "{help}"
        );
    }
}

/// A workbook is left as it is: what is to be typed is said, with the row. A book of one file, or of standard input, is no place for it.
#[cfg(feature = "pages")]
#[test]
fn a_workbook_is_told_what_to_type_and_where() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    fs::create_dir(at.join("book")).unwrap();
    fs::write(at.join("parts.csv"), crate::writes::PARTS).unwrap();
    crate::writes::workbook(&at.join("book/mine.xlsx"), true);
    let weigh = [
        "weigh",
        "Bar",
        "271",
        "book/mine.xlsx",
        "--date",
        "2026-10-05",
    ];
    refused(
        at,
        &weigh,
        "the workbook `book/mine.xlsx` has no sheet `weighings`, and is left as it is",
    );
    refused(
        at,
        &weigh,
        "add a sheet `weighings` with the columns `what`, `mass_g` and `date`, and type below them: `Bar,271,2026-10-05`",
    );
    for book in ["-", "parts.csv"] {
        refused(
            at,
            &["weigh", "Bar", "271", book],
            "a book that is a folder of tables",
        );
    }
}
