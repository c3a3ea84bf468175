//! Runs killed at random moments, and pairs of runs at once: nothing is lost, nothing is left behind.
//!
//! `LANDWAITER_KILLS=400 LANDWAITER_PAIRS=100 cargo test --test it -- kills::` runs the whole number; `LANDWAITER_SEED` says from
//! which number the moments are drawn.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Stdio;
use std::time::{Duration, Instant};

use crate::made::{Dice, number};
use crate::writes::{RECEIPTS, ROW, command, folder, left_behind};

const LIST: &str = "date,seller,price,commodity,dispatch,currency\n2026-03-02,Alder,25.00,871491,CN,USD\n2026-03-02,Alder,x,871491,CN,USD\n";
const WEIGHED: &str = "weighings,Bar,271,1,,2026-10-05";

/// Every command that writes.
const COMMANDS: [&[&str]; 9] = [
    &["settle", "book", "--day", "2026-10-20", "--add", ROW],
    &[
        "settle",
        "book",
        "--day",
        "2026-10-20",
        "--add",
        ROW,
        "--add",
        WEIGHED,
    ],
    &["rates", "import", "ecb.csv"],
    &["report", "book", "-o", "page.html"],
    &["report", "book", "-o", "sums.xlsx"],
    &["report", "book", "--pictures", "pics"],
    &["new", "started", "--kind", "road"],
    &["new", "started", "--kind", "road", "--workbook"],
    &[
        "bulk",
        "list.csv",
        "book",
        "--to",
        "GB",
        "--keep-going",
        "bad.csv",
    ],
];

/// What stands before every run: what earlier runs made, and a user's own.
fn before() -> tempfile::TempDir {
    let days: String = (1..=28)
        .flat_map(|d| (1..=9).map(move |m| format!("2026-0{m}-{d:02},1.1712,\n")))
        .collect();
    let list = format!("{LIST}{}", "2026-03-02,Alder,x,871491,CN,USD\n".repeat(500));
    let receipts = format!(
        "{}{RECEIPTS}",
        "# a note that makes it longer\n".repeat(3000)
    );
    folder(&[
        ("book/receipts.csv", receipts.as_bytes()),
        (
            "book/weighings.csv",
            b"what,mass_g,scale_g,basis,date\nBar,270,1,,2026-10-04\n",
        ),
        ("ecb.csv", format!("Date,USD,\n{days}").as_bytes()),
        (
            "rates/exchange.csv",
            b"# mine\nuse,base,quote,rate,valid_from,source\nmarket,EUR,USD,1.17,2025-09-21,me\n",
        ),
        ("list.csv", list.as_bytes()),
        ("bad.csv", b"line,reason,old\n"),
        (
            "page.html",
            b"<meta name=\"generator\" content=\"landwaiter c6ee43c9\">",
        ),
        ("mine.txt", b"mine"),
    ])
}

/// All files under a folder that have a name of the user's or of the command's, with their bytes.
fn files(folder: &Path, within: &str) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap().map(Result::unwrap) {
        let name = format!("{within}{}", entry.file_name().into_string().unwrap());
        if entry.file_type().unwrap().is_dir() {
            found.extend(files(&entry.path(), &format!("{name}/")));
        } else if !entry.file_name().to_string_lossy().starts_with('.') {
            found.insert(name, fs::read(entry.path()).unwrap());
        }
    }
    found
}

/// Two files that are the same but for the moment of making that a workbook holds.
fn alike(name: &str, one: &[u8], other: &[u8]) -> bool {
    one == other
        || (Path::new(name).extension().is_some_and(|end| end == "xlsx")
            && one.starts_with(b"PK")
            && one.len().abs_diff(other.len()) < 64)
}

/// Each file is what it was before or what a whole run makes of it.
#[track_caller]
fn whole(
    found: &BTreeMap<String, Vec<u8>>,
    old: &BTreeMap<String, Vec<u8>>,
    new: &BTreeMap<String, Vec<u8>>,
    about: &str,
) {
    for (name, bytes) in found {
        let is = |state: &BTreeMap<String, Vec<u8>>| {
            state.get(name).is_some_and(|own| alike(name, bytes, own))
        };
        assert!(
            is(old) || is(new),
            "{about}: {name} is neither the old nor the new file"
        );
    }
    let lost: Vec<&String> = old
        .keys()
        .filter(|name| !found.contains_key(*name))
        .collect();
    assert!(lost.is_empty(), "{about}: {lost:?} are gone");
}

#[test]
fn killed_at_random_moments_nothing_is_lost_and_nothing_left_behind() {
    let kills = number("LANDWAITER_KILLS", 18);
    let mut draw = Dice(number("LANDWAITER_SEED", 13));
    let quiet = |folder: &Path, args: &[&str]| {
        let mut command = command(folder, args);
        command.stdout(Stdio::null()).stderr(Stdio::null());
        command
    };
    let mut known = Vec::new();
    for args in COMMANDS {
        let place = before();
        let old = files(place.path(), "");
        let began = Instant::now();
        let status = quiet(place.path(), args).status().unwrap().code();
        assert_eq!(status, Some(i32::from(args[0] == "bulk")), "{args:?}");
        known.push((began.elapsed(), old, files(place.path(), "")));
    }
    let (mut untouched, mut written, mut midway) = (0, 0, 0);
    for kill in 0..kills {
        let which = usize::try_from(kill).unwrap() % COMMANDS.len();
        let (args, (taken, old, new)) = (COMMANDS[which], &known[which]);
        let place = before();
        let at = place.path();
        let mut child = quiet(at, args).spawn().unwrap();
        if draw.below(2) == 0 {
            std::thread::sleep(*taken * u32::try_from(draw.below(1100)).unwrap() / 1000);
        } else {
            // as soon as something is on its way, and a little later
            let until = Instant::now() + *taken * 3;
            while left_behind(at).is_empty()
                && child.try_wait().unwrap().is_none()
                && Instant::now() < until
            {}
            std::thread::sleep(Duration::from_micros(draw.below(4000)));
        }
        let _ = child.kill();
        child.wait().unwrap();
        let about = format!("kill {kill} of {args:?}");
        let found = files(at, "");
        whole(&found, old, new, &about);
        midway += u64::from(!left_behind(at).is_empty());
        untouched += u64::from(&found == old);
        written += u64::from(&found != old);
        if args[0] == "settle" {
            // a run that only reads brings tables that were written together to their places
            assert!(
                quiet(at, &["settle", "book"]).status().unwrap().success(),
                "{about}"
            );
            let found = files(at, "");
            let rows = |name: &str| usize::from(found[name] == new[name] && old[name] != new[name]);
            let wanted = usize::from(args.contains(&WEIGHED));
            assert!(
                rows("book/receipts.csv") * wanted == rows("book/weighings.csv"),
                "{about}: one table has its row, the other not"
            );
        }
        let again = quiet(at, args).status().unwrap().code();
        let made = args[0] == "new" && found.len() > old.len();
        assert!(
            again == Some(i32::from(args[0] == "bulk"))
                || made
                || (args[0] == "new" && again == Some(1)),
            "{about}: then {again:?}"
        );
        let found = files(at, "");
        if args[0] != "settle" {
            whole(&found, old, new, &about);
            assert!(
                new.iter().all(|(name, bytes)| found
                    .get(name)
                    .is_some_and(|own| alike(name, own, bytes))),
                "{about}: not written"
            );
        }
        assert_eq!(left_behind(at), Vec::<String>::new(), "{about}");
        assert!(
            found["book/receipts.csv"].starts_with(&old["book/receipts.csv"])
                && found["mine.txt"] == b"mine"
        );
    }
    println!(
        "{kills} kills: {untouched} before, {written} after something was written, {midway} with a file on its way"
    );
    assert!(
        kills < 100 || (untouched > 0 && written > 0 && midway > 0),
        "{untouched} {written} {midway}"
    );
}

#[test]
fn two_runs_at_once_keep_both_rows() {
    let pairs = number("LANDWAITER_PAIRS", 4);
    let (mut draw, both) = (
        Dice(number("LANDWAITER_SEED", 13)),
        ["handling", "tax_at_border"],
    );
    for pair in 0..pairs {
        let place = before();
        if draw.below(2) == 0 {
            fs::remove_file(place.path().join("book/receipts.csv")).unwrap();
        }
        let rows = both.map(|charge| {
            format!(
                "Alder Cycle,{charge},{}.00,GBP,2026-10-01",
                2 + draw.below(40)
            )
        });
        let mut runs: Vec<_> = rows
            .iter()
            .map(|row| {
                let typed = format!("receipts,{row}");
                std::thread::sleep(Duration::from_micros(draw.below(3000)));
                let mut command = command(
                    place.path(),
                    &["settle", "book", "--day", "2026-10-20", "--add", &typed],
                );
                command
                    .stdout(Stdio::null())
                    .stderr(Stdio::null())
                    .spawn()
                    .unwrap()
            })
            .collect();
        assert!(
            runs.iter_mut().all(|run| run.wait().unwrap().success()),
            "pair {pair}"
        );
        let receipts = fs::read_to_string(place.path().join("book/receipts.csv")).unwrap();
        for row in &rows {
            assert_eq!(
                receipts.lines().filter(|line| line == row).count(),
                1,
                "pair {pair}: {row}"
            );
        }
        assert_eq!(
            left_behind(place.path()),
            Vec::<String>::new(),
            "pair {pair}"
        );
    }
    println!("{pairs} pairs kept both rows");
}

/// Killed at random moments while it takes back what was written: every table is as before or as after, and the next run ends
/// with all of them as they were before anything was written.
#[test]
fn killed_while_taking_back_all_or_nothing_is_taken_back_in_the_end() {
    let kills = number("LANDWAITER_KILLS", 18) / 2;
    let mut draw = Dice(number("LANDWAITER_SEED", 13));
    let start = before();
    fs::remove_file(start.path().join("book/weighings.csv")).unwrap();
    let own = files(start.path(), "");
    let quiet = |folder: &Path, args: &[&str]| {
        let mut command = command(folder, args);
        command.stdout(Stdio::null()).stderr(Stdio::null());
        command
    };
    assert!(quiet(start.path(), COMMANDS[1]).status().unwrap().success());
    let written = files(start.path(), "");
    let (mut untouched, mut partly, mut done) = (0, 0, 0);
    for kill in 0..kills {
        let place = tempfile::tempdir().unwrap();
        let at = place.path();
        for (name, bytes) in &written {
            fs::create_dir_all(at.join(name).parent().unwrap()).unwrap();
            fs::write(at.join(name), bytes).unwrap();
        }
        let mut child = quiet(at, &["undo", "book"]).spawn().unwrap();
        if draw.below(2) == 0 {
            std::thread::sleep(Duration::from_micros(draw.below(12_000)));
        } else {
            let until = Instant::now() + Duration::from_secs(5);
            while left_behind(at).is_empty()
                && child.try_wait().unwrap().is_none()
                && Instant::now() < until
            {}
            std::thread::sleep(Duration::from_micros(draw.below(3000)));
        }
        let _ = child.kill();
        child.wait().unwrap();
        let found = files(at, "");
        for name in ["book/receipts.csv", "book/weighings.csv"] {
            let found = found.get(name);
            assert!(
                found == own.get(name) || found == written.get(name),
                "kill {kill}: {name} is neither as before nor as after"
            );
        }
        assert_eq!(found["mine.txt"], b"mine");
        untouched += u64::from(found == written);
        let back = found["book/receipts.csv"] == own["book/receipts.csv"];
        let noted = found["book/journal.csv"] == written["book/journal.csv"];
        partly += u64::from(back && noted);
        done += u64::from(!noted);
        // what was taken back whole is noted no more, and there is nothing left to take back
        let again = quiet(at, &["undo", "book"]).status().unwrap().code();
        assert_eq!(again, Some(i32::from(!noted)), "kill {kill}");
        let end = files(at, "");
        for name in ["book/receipts.csv", "book/weighings.csv"] {
            assert_eq!(end.get(name), own.get(name), "kill {kill}: {name}");
        }
        assert_eq!(left_behind(at), Vec::<String>::new(), "kill {kill}");
    }
    println!("{kills} kills: {untouched} before, {partly} midway, {done} after");
}

/// Two runs that take back at once take back two changes; one that adds beside one that takes back leaves either row, whole.
#[test]
fn two_runs_at_once_take_back_one_change_each() {
    let pairs = number("LANDWAITER_PAIRS", 4);
    let mut draw = Dice(number("LANDWAITER_SEED", 13));
    let day = ["settle", "book", "--day", "2026-10-20", "--add"];
    let add = |charge: &str| format!("receipts,Alder Cycle,{charge},7.00,GBP,2026-10-01");
    for pair in 0..pairs {
        let place = before();
        let at = place.path();
        let own = fs::read(at.join("book/receipts.csv")).unwrap();
        let rows = ["handling", "tax_at_border", "freight"].map(add);
        for row in &rows[..2] {
            let args = [&day[..], &[row]].concat();
            let added = command(at, &args).output().unwrap();
            assert!(added.status.success(), "pair {pair}");
        }
        let both = pair % 2 == 0;
        let other = [&day[..], &[rows[2].as_str()]].concat();
        let second: &[&str] = if both { &["undo", "book"] } else { &other };
        let mut runs: Vec<_> = [&["undo", "book"], second]
            .iter()
            .map(|args| {
                std::thread::sleep(Duration::from_micros(draw.below(3000)));
                let mut command = command(at, args);
                command.stdout(Stdio::null()).stderr(Stdio::null());
                command.spawn().unwrap()
            })
            .collect();
        assert!(
            runs.iter_mut().all(|run| run.wait().unwrap().success()),
            "pair {pair}"
        );
        let left = fs::read(at.join("book/receipts.csv")).unwrap();
        if both {
            assert!(left == own, "pair {pair}: both changes are taken back");
        } else {
            let text = String::from_utf8(left).unwrap();
            let has = rows.each_ref().map(|row| text.contains(&row[9..]));
            assert!(
                has == [true, false, true] || has == [true, true, false],
                "pair {pair}: {has:?}"
            );
            // what is left is what the journal tells of
            for _ in 0..2 {
                assert!(
                    command(at, &["undo", "book"])
                        .output()
                        .unwrap()
                        .status
                        .success()
                );
            }
            assert!(
                fs::read(at.join("book/receipts.csv")).unwrap() == own,
                "pair {pair}"
            );
        }
        assert_eq!(left_behind(at), Vec::<String>::new(), "pair {pair}");
    }
    println!("{pairs} pairs");
}
