//! Receipts added by the program: a copy is kept, what does not read is refused, and a killed run leaves a whole file.

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const SETTINGS: &str =
    "setting,value\ndestination,GB\ndate,2026-10-20\nkind,gravel\ncard_fee,2.75 %\n";

const ONE: &str = "\
part,place,standing,seller,price,currency,dispatch,freight,mass_g,channel,transit_days
Bar,handlebar,in-hand,Alder Cycle,120.00,USD,TW,18.00,260,post,10
Stem,stem,in-hand,Alder Cycle,60.00,USD,TW,18.00,120,post,10
Bottle,spare,in-hand,Small Shop,20.00,USD,TW,8.00,100,post,10
";

fn write_book(dir: &Path, receipts: &str) {
    std::fs::write(dir.join("parts.csv"), ONE).unwrap();
    std::fs::write(dir.join("settings.csv"), SETTINGS).unwrap();
    std::fs::write(dir.join("receipts.csv"), receipts).unwrap();
}

fn add(dir: &Path, row: &str) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_landwaiter"));
    command
        .args(["settle", "--day", "2026-10-20", "--add", row])
        .arg(dir)
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    command
}

#[test]
fn adding_keeps_a_copy_and_refuses_what_does_not_read() {
    let dir = tempfile::tempdir().unwrap();
    let old = "consignment,charge,amount,currency,date\nAlder Cycle,duty,5.00,GBP,2026-10-01\n";
    write_book(dir.path(), old);
    assert!(
        add(
            dir.path(),
            "receipts,Alder Cycle,handling,8.00,GBP,2026-10-01"
        )
        .status()
        .unwrap()
        .success()
    );
    let now = std::fs::read_to_string(dir.path().join("receipts.csv")).unwrap();
    assert_eq!(
        now,
        format!("{old}Alder Cycle,handling,8.00,GBP,2026-10-01\n")
    );
    assert_eq!(
        std::fs::read_to_string(dir.path().join("receipts.csv.old")).unwrap(),
        old
    );
    assert_eq!(
        add(dir.path(), "receipts,Nobody,handling,8.00,GBP,2026-10-01")
            .status()
            .unwrap()
            .code(),
        Some(1)
    );
    assert_eq!(
        std::fs::read_to_string(dir.path().join("receipts.csv")).unwrap(),
        now,
        "refused, and nothing touched"
    );
    assert!(
        add(dir.path(), "weighings,Bar,271,1,,2026-10-05")
            .status()
            .unwrap()
            .success()
    );
    let mut names: Vec<String> = std::fs::read_dir(dir.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert_eq!(
        names,
        [
            "journal.csv",
            "parts.csv",
            "receipts.csv",
            "receipts.csv.old",
            "settings.csv",
            "weighings.csv"
        ],
        "nothing is left beside but the copy and the journal"
    );
}

/// A file that only its owner may read stays one.
#[cfg(unix)]
#[test]
fn a_file_keeps_who_may_read_it() {
    use std::os::unix::fs::PermissionsExt;
    let dir = tempfile::tempdir().unwrap();
    let mode = |name: &str| {
        std::fs::metadata(dir.path().join(name))
            .unwrap()
            .permissions()
            .mode()
            & 0o777
    };
    write_book(
        dir.path(),
        "consignment,charge,amount,currency,date\nAlder Cycle,duty,5.00,GBP,2026-10-01\n",
    );
    std::fs::set_permissions(
        dir.path().join("receipts.csv"),
        PermissionsExt::from_mode(0o600),
    )
    .unwrap();
    assert!(
        add(
            dir.path(),
            "receipts,Alder Cycle,handling,8.00,GBP,2026-10-01"
        )
        .status()
        .unwrap()
        .success()
    );
    assert_eq!([mode("receipts.csv"), mode("receipts.csv.old")], [0o600; 2]);
}

#[test]
fn killed_at_any_moment_the_file_is_the_old_or_the_new_one() {
    let dir = tempfile::tempdir().unwrap();
    let notes: String = (0..10_000)
        .map(|n| format!("# note {n}: kept so that writing takes a while\n"))
        .collect();
    let old = format!(
        "{notes}consignment,charge,amount,currency,date\nAlder Cycle,duty,5.00,GBP,2026-10-01\n"
    );
    let row = "receipts,Alder Cycle,handling,8.00,GBP,2026-10-01";
    let new = format!("{old}Alder Cycle,handling,8.00,GBP,2026-10-01\n");
    write_book(dir.path(), &old);
    let began = Instant::now();
    assert!(add(dir.path(), row).status().unwrap().success());
    let whole = began.elapsed().max(Duration::from_millis(20));
    let (mut before, mut after) = (0, 0);
    // Half as long again as one write took alone, since later ones may take longer on a busy machine.
    let moments: u32 = 30;
    let longest = whole * 3 / 2;
    for moment in 0..moments {
        write_book(dir.path(), &old);
        let mut child = add(dir.path(), row).spawn().unwrap();
        std::thread::sleep(longest * moment / moments);
        // the last is let alone, however busy the machine is
        if moment + 1 < moments {
            let _ = child.kill();
        }
        child.wait().unwrap();
        let found = std::fs::read_to_string(dir.path().join("receipts.csv")).unwrap();
        match found.as_str() {
            text if text == old => before += 1,
            text if text == new => after += 1,
            _ => panic!(
                "neither the old nor the new file after {moment} of {moments}: {} bytes",
                found.len()
            ),
        }
        if dir.path().join("receipts.csv.old").exists() {
            assert_eq!(
                std::fs::read_to_string(dir.path().join("receipts.csv.old")).unwrap(),
                old,
                "the copy is whole too"
            );
        }
    }
    assert!(
        before > 0 && after > 0,
        "{before} before and {after} after the write"
    );
    assert!(
        add(dir.path(), row).status().unwrap().success(),
        "what a killed run left behind does not stand in the way"
    );
}
