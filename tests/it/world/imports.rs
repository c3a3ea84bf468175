//! `rates import`: published files of exchange rates, as they are published, into the user's own folder.
//!
//! The figures are those of `ecb_rates_extract.csv` (ECB statistics) and `hmrc_monthly_rates_extract.csv` (HM Revenue &
//! Customs, Crown copyright, Open Government Licence v3.0); the layouts are those the two publishers use.

use std::fs;
use std::path::Path;
use std::process::Output;

use super::program;

/// Newest first, a comma at each line's end, `N/A` where there was none, a column of money that is no more.
const ECB_HISTORY: &str = "Date,USD,JPY,CYP,GBP,ISK,\n\
    2026-10-30,1.1172,175.68,N/A,0.8338,136,\n2026-10-29,1.113,175.92,N/A,0.83578,135.8,\n2008-12-10,1.2925,119.77,N/A,0.87325,N/A,\n";

const HMRC_DAYS: &str = "Country/Territories,Currency,Currency Code,Currency Units per £1,Start Date,End Date\n\
    Eurozone,Euro,EUR,1.1692,01/07/2021,31/07/2021\nTaiwan,Dollar,TWD,39.11,01/07/2021,31/07/2021\n\
    Japan,Yen,JPY,154.77,01/07/2021,31/07/2021\n\"Korea, South\",Won,KRW,1589.11,01/07/2021,31/07/2021\n";

fn run(file: &Path, rates: &Path) -> Output {
    program()
        .args(["rates", "import"])
        .arg(file)
        .arg("--rates")
        .arg(rates)
        .output()
        .unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
}

#[test]
fn the_program_adds_says_which_days_are_new_and_uses_them() {
    let folder = tempfile::tempdir().unwrap();
    let (file, rates) = (folder.path().join("july.csv"), folder.path().join("own"));
    fs::write(&file, HMRC_DAYS).unwrap();
    let first = run(&file, &rates);
    assert!(first.status.success(), "{}", said(&first));
    assert!(said(&first).contains("Found the British customs authority's monthly rates: 4 rates from 2021-07-01 to 2021-07-31."));
    assert!(said(&first).contains(": 2021-07-01."), "{}", said(&first));
    // customs rates lie in the folder of the country whose customs published them
    let whole = fs::read_to_string(rates.join("gb/exchange.csv")).unwrap();
    let again = run(&file, &rates);
    assert!(
        again.status.success() && said(&again).contains("Nothing new"),
        "{}",
        said(&again)
    );
    assert_eq!(
        fs::read_to_string(rates.join("gb/exchange.csv")).unwrap(),
        whole
    );
    fs::write(&file, ECB_HISTORY).unwrap();
    let more = run(&file, &rates);
    assert!(
        said(&more).contains("3 new days, 2008-12-10 to 2026-10-30"),
        "{}",
        said(&more)
    );
    let market = fs::read_to_string(rates.join("exchange.csv")).unwrap();
    assert!(
        market.contains("market,EUR,USD,") && !market.contains("customs"),
        "{market}"
    );
    let book = folder.path().join("parts.csv");
    fs::write(&book, "part,place,seller,price,currency,dispatch,origin,freight\nBar,handlebar,Shop,10000,TWD,TW,TW,0\n").unwrap();
    let mut cost = program();
    cost.arg("cost")
        .arg(&book)
        .args([
            "--to",
            "GB",
            "--on",
            "2021-07-15",
            "--trail",
            "--format",
            "json",
            "--rates",
        ])
        .arg(&rates);
    let cost = cost.output().unwrap();
    assert!(
        !cost.status.success(),
        "customs has a rate, but no market rate of Taiwan's dollar is known"
    );
    assert!(
        said(&cost).contains("there is no market rate from TWD"),
        "{}",
        said(&cost)
    );
}

#[test]
fn a_bad_file_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let (file, rates) = (folder.path().join("bad.csv"), folder.path().join("own"));
    fs::write(&file, ECB_HISTORY.replace("175.92", "none")).unwrap();
    let refused = run(&file, &rates);
    assert_eq!(refused.status.code(), Some(1));
    assert!(said(&refused).contains("bad.csv:3"), "{}", said(&refused));
    assert!(!rates.exists(), "not even a folder is made");
    fs::create_dir(&rates).unwrap();
    fs::write(
        rates.join("exchange.csv"),
        "use,base,quote,rate,valid_from\nmarket,EUR,USD,1.2,2020-01-01\n",
    )
    .unwrap();
    let old = fs::read(rates.join("exchange.csv")).unwrap();
    assert_eq!(run(&file, &rates).status.code(), Some(1));
    assert_eq!(fs::read(rates.join("exchange.csv")).unwrap(), old);
    assert_eq!(
        fs::read_dir(&rates).unwrap().count(),
        1,
        "and nothing lies beside it"
    );
}

/// The new file is written beside the old one and renamed over it. Here the program is killed thirty times, from half the
/// time it takes up to a quarter more: every time the folder holds the old file whole or the new file whole, and what was
/// left half-written is not read.
#[test]
fn an_import_killed_at_any_moment_leaves_a_whole_file() {
    let folder = tempfile::tempdir().unwrap();
    let rates = folder.path().join("own");
    fs::create_dir(&rates).unwrap();
    let target = rates.join("exchange.csv");
    let old =
        "use,base,quote,rate,valid_from,valid_to,source\nmarket,EUR,TWD,36.5,2026-10-30,,my bank\n";
    let file = folder.path().join("hist.csv");
    let days = (0..1000_u32).map(|n| {
        landwaiter::units::Date::new(2024, 12, 31)
            .unwrap()
            .minus_days(n)
    });
    let history: String = days
        .map(|day| format!("{day},1.1172,175.68,0.8338,0.9194,\n"))
        .collect();
    fs::write(&file, format!("Date,USD,JPY,GBP,CHF,\n{history}")).unwrap();
    fs::write(&target, old).unwrap();
    let started = std::time::Instant::now();
    assert!(run(&file, &rates).status.success());
    let (whole, mut olds, mut news) = (started.elapsed(), 0, 0);
    let new = fs::read_to_string(&target).unwrap();
    assert_eq!(new.matches(",1.1172,").count(), 1000, "{new}");
    assert!(new.starts_with(old), "{new}");
    for step in 0..30_u32 {
        fs::write(&target, old).unwrap();
        let mut command = program();
        command
            .args(["rates", "import"])
            .arg(&file)
            .arg("--rates")
            .arg(&rates)
            .stdout(std::process::Stdio::null());
        let mut child = command.spawn().unwrap();
        std::thread::sleep(whole * (20 + step) / 40);
        let _ = child.kill();
        child.wait().unwrap();
        match fs::read_to_string(&target).unwrap() {
            text if text == old => olds += 1,
            text if text == new => news += 1,
            text => panic!("neither old nor new: {} bytes of {}", text.len(), new.len()),
        }
    }
    println!(
        "killed 30 times within {whole:?}: the old file stood {olds} times, the new one {news} times"
    );
    fs::write(&target, old).unwrap();
    fs::write(rates.join(".exchange.csv.1.new"), &new[..new.len() / 2]).unwrap();
    assert!(
        run(&file, &rates).status.success(),
        "a half-written file of an earlier run is in nobody's way"
    );
    assert_eq!(fs::read_to_string(&target).unwrap(), new);
}

/// What customs of one country published serves parcels to that country alone, and not one to another whose money is in it.
#[test]
fn customs_rates_serve_the_destination_of_their_customs() {
    let folder = tempfile::tempdir().unwrap();
    let (book, rates) = (folder.path().join("parts.csv"), folder.path().join("own"));
    fs::create_dir_all(rates.join("gb")).unwrap();
    let rows = "use,base,quote,rate,valid_from,valid_to\ncustoms,GBP,USD,2,2026-10-01,2026-10-31\ncustoms,GBP,EUR,4,2026-10-01,2026-10-31\n";
    fs::write(&book, "part,place,seller,price,currency,dispatch,origin,freight\nBar,handlebar,Shop,1000,USD,TW,TW,0\n").unwrap();
    let customs_value = |to: &str| {
        let mut cost = program();
        cost.arg("cost")
            .arg(&book)
            .args([
                "--to",
                to,
                "--on",
                "2026-10-20",
                "--format",
                "json",
                "--rates",
            ])
            .arg(&rates);
        let json: serde_json::Value =
            serde_json::from_slice(&cost.output().unwrap().stdout).unwrap();
        json["consignments"][0]["customs_value"]
            .as_str()
            .unwrap()
            .to_owned()
    };
    fs::write(rates.join("gb/exchange.csv"), rows).unwrap();
    let (france, swiss) = (customs_value("FR"), customs_value("CH"));
    assert_eq!(
        [
            customs_value("GB"),
            customs_value("JE"),
            customs_value("IM")
        ],
        ["500.00"; 3],
        "1,000 dollars at two for a pound"
    );
    fs::remove_file(rates.join("gb/exchange.csv")).unwrap();
    fs::write(rates.join("exchange.csv"), rows).unwrap();
    assert_eq!(
        [customs_value("FR"), customs_value("CH")],
        [france, swiss],
        "nor is it worked out through the pound"
    );
    assert_eq!(
        customs_value("GB"),
        "500.00",
        "rows of no named authority serve a destination whose money is in them"
    );
}

/// A book in dollars to Great Britain, and a month of customs rates that makes the pound dearer.
#[test]
fn an_update_says_what_it_moves_in_the_book() {
    let folder = tempfile::tempdir().unwrap();
    let (file, book) = (folder.path().join("new.csv"), folder.path().join("book"));
    fs::create_dir(&book).unwrap();
    fs::write(book.join("parts.csv"), "part,place,seller,price,currency,dispatch,origin,freight\nBar,handlebar,Shop,1000,USD,TW,TW,0\n")
        .unwrap();
    fs::write(
        book.join("settings.csv"),
        "setting,value\ndestination,GB\ndate,2021-07-15\nrates,mine\n",
    )
    .unwrap();
    let market = "use,base,quote,rate,valid_from\nmarket,GBP,USD,1.25,2021-07-01\n";
    fs::create_dir(book.join("mine")).unwrap();
    fs::write(book.join("mine/exchange.csv"), market).unwrap();
    let header = HMRC_DAYS.lines().next().unwrap();
    fs::write(
        &file,
        format!("{header}\nUSA,Dollar,USD,1.6,01/07/2021,31/07/2021\n"),
    )
    .unwrap();
    let update = |file: &Path| {
        program()
            .args(["rates", "update"])
            .arg(file)
            .arg("--book")
            .arg(&book)
            .output()
            .unwrap()
    };
    let said = said(&update(&file));
    // Paid 800.00. Before, customs takes the market rate too: duty 4 % 32.00, VAT 20 % of 832.00 166.40, the fee 10.50. Now its own:
    // 625.00, duty 25.00, VAT 20 % of 650.00 130.00, the fee as before.
    assert!(
        said.contains(
            "The book lands at 965.50 GBP instead of 1,008.90.\n- Shop: 965.50 instead of 1,008.90"
        ),
        "{said}"
    );
    assert!(book.join("mine/gb/exchange.csv").is_file(), "{said}");
    let again = self::said(&update(&file));
    assert!(
        again.contains("Nothing new") && again.contains(", as before."),
        "{again}"
    );
}
