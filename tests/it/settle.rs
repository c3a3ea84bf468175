//! Receipts against the estimate: every penny has a cause, causes add up; weighings; rows added safely, whatever stops them.

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use landwaiter::book::{Book, BookFile, ChargeWord};
use landwaiter::landed::{Ask, Bill, Desk, cost_at};
use landwaiter::settle::{Cause, Entry, Ledger, added, history, settle, weigh};
use landwaiter::tables::Tables;
use landwaiter::text::Problems;
use landwaiter::units::{Currency, Date, Dec, Mode, number};

fn dec(text: &str) -> Dec {
    number::plain(text).unwrap()
}

fn tables() -> Tables {
    let mut problems = Problems::new();
    let tables = Tables::load(Vec::new(), &mut problems);
    assert!(!problems.refuse(), "{problems:?}");
    tables
}

fn read(files: &[(&str, &str)]) -> (Book, Problems) {
    let file = |(table, text): &(&str, &str)| BookFile {
        path: format!("{table}.csv"),
        table: (*table).to_owned(),
        bytes: text.as_bytes().to_vec(),
    };
    let mut problems = Problems::new();
    let book = Book::read(&files.iter().map(file).collect::<Vec<_>>(), &mut problems);
    (book, problems)
}

fn book(files: &[(&str, &str)]) -> Book {
    let (book, problems) = read(files);
    assert!(!problems.refuse(), "{problems:?}");
    book
}

fn ask(book: &Book) -> Ask {
    Ask::new(&book.settings, Date::new(2026, 9, 23).unwrap()).unwrap()
}

/// Numbers from a seed, the same in every run.
struct Draw(u64);

impl Draw {
    fn below(&mut self, most: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % most
    }
}

const SELLERS: &str = "\
seller,dispatch,currency,freight,channel,transit_days,collects_tax,carrier
Alder Cycle,TW,USD,18.00,post,11,yes,post
Birk Rad,DE,EUR,12.00,courier,6,yes,courier
Cobb Parts,US,USD,24.00,courier,9,no,courier
Dael Cykel,JP,JPY,2600,post,12,no,post
";
const SETTINGS: &str = "setting,value\ndestination,GB\ndate,2026-10-20\nkind,gravel\ncard_fee,2.75 %\n";

/// A year of orders: one parcel each, one to three parts, on days spread from October 2025 to September 2026.
struct Year {
    parts: String,
    parcels: String,
}

fn year(draw: &mut Draw, orders: u64) -> Year {
    let mut parts = "part,place,standing,seller,parcel,price,currency,mass_g\n".to_owned();
    let mut parcels = "seller,parcel,ordered,arrived\n".to_owned();
    let first = Date::new(2025, 10, 1).unwrap();
    let places = ["spare", "tool", "consumable"];
    for order in 0..orders {
        let (seller, currency, unit) =
            [("Alder Cycle", "USD", 1), ("Birk Rad", "EUR", 1), ("Cobb Parts", "USD", 1), ("Dael Cykel", "JPY", 150)][draw.below(4) as usize];
        let ordered = first.plus_days(u32::try_from(order * 350 / orders + draw.below(5)).unwrap());
        parcels.push_str(&format!("{seller},p{order},{ordered},{}\n", ordered.plus_days(8 + draw.below(6) as u32)));
        for line in 0..=draw.below(3) {
            let whole = (20 + draw.below(260)) * unit;
            let price = if unit == 1 { format!("{whole}.{:02}", draw.below(100)) } else { whole.to_string() };
            let place = places[draw.below(3) as usize];
            parts.push_str(&format!("Thing {order}-{line},{place},in-hand,{seller},p{order},{price},{currency},{}\n", 50 + draw.below(900)));
        }
    }
    Year { parts, parcels }
}

fn in_money(bill: &Bill, amount: Dec, desk: &Desk<'_>) -> String {
    let there = desk.market_rate(bill.paid_in, bill.ordered).unwrap().rate.back(amount).unwrap();
    there.round_to(bill.paid_in.digits(), Mode::HalfUp).fixed(bill.paid_in.digits())
}

/// Receipts of a year whose causes are known, written from the estimates; returns how often each was used.
fn receipts(bills: &[Bill], desk: &Desk<'_>, draw: &mut Draw) -> (String, [u32; 6]) {
    let mut text = "consignment,charge,amount,currency,date\n".to_owned();
    let mut used = [0; 6];
    for bill in bills {
        let later = bill.ordered.plus_days(draw.below(5) as u32);
        let a = &bill.amounts;
        let mut add = |charge: &str, amount: &str, currency: &str, date: Date| {
            text.push_str(&format!("{},{charge},{amount},{currency},{date}\n", bill.id));
        };
        let own = bill.paid_in.to_string();
        let choice = draw.below(6);
        used[choice as usize] += 1;
        let goods = if choice == 1 { a.goods.times(dec("1.07")).unwrap() } else { a.goods };
        add("goods", &in_money(bill, goods, desk), &own, later);
        let freight = if choice == 2 { a.freight.times(dec("1.3")).unwrap() } else { a.freight };
        add("freight", &in_money(bill, freight, desk), &own, later);
        let priced = choice == 1 || choice == 2;
        if !a.tax_at_sale.is_zero() && !priced {
            add("tax_at_sale", &in_money(bill, a.tax_at_sale, desk), &own, later);
        }
        if priced {
            continue;
        }
        if choice == 3 && !a.tax_at_sale.is_zero() {
            add("tax_at_border", &a.tax_at_sale.fixed(2), "GBP", bill.arrival);
            add("handling", "12.00", "GBP", bill.arrival);
            continue;
        }
        for (charge, amount) in [("duty", a.duty), ("tax_at_border", a.tax_at_border), ("handling", a.handling)] {
            match (choice, charge) {
                (4, "duty" | "tax_at_border" | "handling") => add(charge, "0", "GBP", bill.arrival),
                (5, "handling") => add(charge, &amount.plus(dec("6.50")).unwrap().fixed(2), "GBP", bill.arrival),
                _ if !amount.is_zero() => add(charge, &amount.fixed(2), "GBP", bill.arrival),
                _ => {}
            }
        }
    }
    (text, used)
}

/// Every difference is the sum of its causes and what is unexplained; returns the differences and the unexplained,
/// without their signs.
fn adds_up(ledger: &Ledger) -> (Dec, Dec) {
    let (mut moved, mut unexplained) = (Dec::ZERO, Dec::ZERO);
    for entry in ledger.parcels.iter().flat_map(|p| &p.entries) {
        let causes = Dec::total(entry.causes.iter().map(|(_, amount)| *amount)).unwrap();
        assert_eq!(entry.difference().unwrap(), causes.plus(entry.unexplained).unwrap(), "{entry:?}");
        assert!(entry.causes.iter().all(|(_, amount)| amount.decimals() <= 2), "whole pennies: {entry:?}");
        let steps = entry.causes.iter().map(|(_, amount)| amount.abs());
        moved = Dec::total(steps.chain([moved, entry.unexplained.abs()])).unwrap();
        unexplained = unexplained.plus(entry.unexplained.abs()).unwrap();
    }
    (moved, unexplained)
}

#[test]
fn a_year_of_orders_is_settled_to_the_penny() {
    let tables = tables();
    for seed in [7, 11] {
        let mut draw = Draw(seed);
        let made = year(&mut draw, 60);
        let files = [("parts", made.parts.as_str()), ("parcels", &made.parcels), ("sellers", SELLERS), ("settings", SETTINGS)];
        let plain = book(&files);
        let ask = ask(&plain);
        let desk = Desk::open(&tables, &ask).unwrap();
        let bills = cost_at(&plain, &desk).unwrap().bills;
        assert_eq!(bills.len(), 60);
        let (text, used) = receipts(&bills, &desk, &mut draw);
        assert!(used.iter().all(|n| *n > 2), "every cause occurs: {used:?}");
        let charged = book(&[files.as_slice(), &[("receipts", text.as_str())]].concat());
        let ledger = settle(&charged, &desk).unwrap();
        assert_eq!(ledger.parcels.len(), 60);
        let (moved, unexplained) = adds_up(&ledger);
        assert!(moved > dec("100"), "{moved}");
        assert!(unexplained.times(Dec::HUNDRED).unwrap() <= moved, "{unexplained} of {moved} is unexplained");
        for cause in [Cause::Rate, Cause::Price, Cause::Freight, Cause::Twice, Cause::NotAsked, Cause::Fee, Cause::NotForeseen] {
            let seen = ledger.parcels.iter().flat_map(|p| &p.entries).any(|e| e.causes.iter().any(|(c, _)| *c == cause));
            assert!(seen, "{cause:?}");
        }
        let (sellers, charges) = history(&ledger).unwrap();
        let sum = |of: &dyn Fn(&landwaiter::settle::Record) -> Dec, all: &[landwaiter::settle::Record]| Dec::total(all.iter().map(of)).unwrap();
        assert_eq!(sum(&|r| r.actual, &sellers), sum(&|r| r.actual, &charges));
        assert_eq!(sum(&|r| r.estimated, &sellers), sum(&|r| r.estimated, &charges));
    }
}

#[test]
fn receipts_written_at_random_still_add_up() {
    let tables = tables();
    let mut draw = Draw(23);
    let made = year(&mut draw, 40);
    let files = [("parts", made.parts.as_str()), ("parcels", &made.parcels), ("sellers", SELLERS), ("settings", SETTINGS)];
    let plain = book(&files);
    let ask = ask(&plain);
    let desk = Desk::open(&tables, &ask).unwrap();
    let bills = cost_at(&plain, &desk).unwrap().bills;
    let words = ["goods", "discount", "freight", "insurance", "duty", "remedy", "tax", "tax_at_sale", "tax_at_border", "handling", "card_fee", "refund", "to_pay_seller", "to_pay_carrier"];
    let mut text = "consignment,charge,amount,currency,date\n".to_owned();
    for bill in &bills {
        for _ in 0..draw.below(6) {
            let word = words[draw.below(14) as usize];
            let (currency, unit) = [("GBP", 1), ("USD", 1), ("EUR", 1), ("JPY", 150)][draw.below(4) as usize];
            let amount = if unit == 1 { format!("{}.{:02}", draw.below(300), draw.below(100)) } else { (draw.below(300) * unit).to_string() };
            text.push_str(&format!("{},{word},{amount},{currency},{}\n", bill.id, bill.ordered.plus_days(draw.below(30) as u32)));
        }
    }
    let charged = book(&[files.as_slice(), &[("receipts", text.as_str())]].concat());
    let ledger = settle(&charged, &desk).unwrap();
    adds_up(&ledger);
    let landed = cost_at(&charged, &desk).unwrap();
    for bill in &landed.bills {
        let lines = Dec::total(bill.lines.iter().map(|l| l.amounts.landed().unwrap())).unwrap();
        assert_eq!(lines, bill.amounts.landed().unwrap(), "lines of {} add up with receipts in them", bill.id);
    }
    let t = &landed.totals;
    assert_eq!(t.spent.plus(t.to_pay).unwrap(), t.landed().unwrap());
}

const ONE: &str = "\
part,place,standing,seller,price,currency,dispatch,freight,mass_g,channel,transit_days
Bar,handlebar,in-hand,Alder Cycle,120.00,USD,TW,18.00,260,post,10
Stem,stem,in-hand,Alder Cycle,60.00,USD,TW,18.00,120,post,10
Bottle,spare,in-hand,Small Shop,20.00,USD,TW,8.00,100,post,10
";

fn settled(receipts: &str) -> (Ledger, Book, Tables) {
    let settings = SETTINGS.replace("2026-10-20", "2026-09-23");
    let text = format!("consignment,charge,amount,currency,date\n{receipts}");
    let book = book(&[("parts", ONE), ("settings", &settings), ("receipts", &text)]);
    let tables = tables();
    let ask = ask(&book);
    let ledger = settle(&book, &Desk::open(&tables, &ask).unwrap()).unwrap();
    (ledger, book, tables)
}

fn entry(ledger: &Ledger, charge: ChargeWord) -> &Entry {
    ledger.parcels.iter().flat_map(|p| &p.entries).find(|e| e.charge == charge).unwrap()
}

#[test]
fn taxed_at_the_sale_and_again_at_the_door() {
    let (ledger, ..) = settled("Small Shop,tax_at_sale,5.60,USD,2026-09-23\nSmall Shop,tax_at_border,4.20,GBP,2026-10-03\nSmall Shop,handling,8.00,GBP,2026-10-03\n");
    let tax = entry(&ledger, ChargeWord::TaxAtBorder);
    assert_eq!(tax.causes, [(Cause::Twice, dec("4.20"))]);
    let claim = tax.claim.as_ref().unwrap();
    assert_eq!((claim.amount, claim.until.unwrap().to_string().as_str()), (dec("4.20"), "2029-10-03"));
    assert_eq!(entry(&ledger, ChargeWord::Handling).causes, [(Cause::NotForeseen, dec("8.00"))]);
}

#[test]
fn two_receipts_alike_are_charged_twice() {
    let (ledger, book, tables) = settled("");
    assert!(ledger.parcels.is_empty());
    let ask = ask(&book);
    let landed = cost_at(&book, &Desk::open(&tables, &ask).unwrap()).unwrap();
    let due = landed.bills.iter().find(|b| b.id == "Alder Cycle").unwrap().amounts.tax_at_border;
    let line = format!("Alder Cycle,tax_at_border,{},GBP,2026-10-03\n", due.fixed(2));
    let (ledger, ..) = settled(&format!("{line}{line}"));
    assert_eq!(entry(&ledger, ChargeWord::TaxAtBorder).causes, [(Cause::Twice, due)]);
}

#[test]
fn what_nothing_explains_is_said_to_be_unexplained() {
    let (ledger, ..) = settled("Alder Cycle,goods,170.00,GBP,2026-09-23\n");
    let goods = entry(&ledger, ChargeWord::Goods);
    assert!(goods.causes.is_empty() && goods.unexplained.is_positive(), "{goods:?}");
}

#[test]
fn actuals_replace_estimates_everywhere() {
    let (_, book, tables) = settled("Alder Cycle,handling,31.00,GBP,2026-10-03\nAlder Cycle,tax_at_border,0,GBP,2026-10-03\n");
    let ask = ask(&book);
    let landed = cost_at(&book, &Desk::open(&tables, &ask).unwrap()).unwrap();
    let bill = landed.bills.iter().find(|b| b.id == "Alder Cycle").unwrap();
    assert_eq!((bill.amounts.handling, bill.amounts.tax_at_border), (dec("31.00"), Dec::ZERO));
    let shares = Dec::total(bill.lines.iter().map(|l| l.amounts.handling)).unwrap();
    assert_eq!(shares, dec("31.00"));
    let before = book.before();
    let estimate = cost_at(&before, &Desk::open(&tables, &ask).unwrap()).unwrap();
    assert_ne!(estimate.bills[0].amounts.handling, dec("31.00"));
    assert_eq!(estimate.totals.replacement, landed.totals.replacement, "what the next person pays knows no receipts");
}

#[test]
fn the_scale_against_the_parts() {
    let weighings = "what,mass_g,scale_g,basis,date\nBar,271,1,,2026-10-05\nStem,119,1,,\nStem,120,1,,\nbike,520,5,ride,2026-10-06\n";
    let settings = SETTINGS.replace("2026-10-20", "2026-09-23");
    let parts = format!("{ONE}Saddle,saddle,given,,,,,,150,,\n");
    let book = book(&[("parts", &parts), ("settings", &settings), ("weighings", weighings)]);
    let tables = tables();
    let ask = ask(&book);
    let desk = Desk::open(&tables, &ask).unwrap();
    let scales = weigh(&book, &desk).unwrap();
    let bar = scales.parts.iter().find(|w| w.part == "Bar").unwrap();
    assert_eq!((bar.mass.to_string().as_str(), bar.percent.unwrap().fixed(1).as_str()), ("271", "4.2"));
    assert_eq!(scales.parts.iter().find(|w| w.part == "Stem").unwrap().mass.to_string(), "119.5", "the mean of two readings");
    let gap = &scales.bike[0];
    assert_eq!((gap.sum.to_string().as_str(), gap.gap.to_string().as_str()), ("540.5", "-20.5"));
    assert!(!gap.inside, "{gap:?}");
    assert_eq!(gap.doubts.len(), 1);
    let shares = Dec::total(gap.doubts.iter().map(|d| d.share)).unwrap();
    assert!(shares > dec("60") && shares <= Dec::HUNDRED, "{shares}");
    assert_eq!(cost_at(&book, &desk).unwrap().totals.mass.to_string(), "540.5", "the weighed mass is the mass");
}

#[test]
fn bad_rows_are_refused_with_their_place() {
    let about = |table: &str, text: &str| {
        let (_, problems) = read(&[("parts", ONE), ("settings", SETTINGS), (table, text)]);
        problems.iter().map(|p| format!("{} {}", p.place.as_ref().map(ToString::to_string).unwrap_or_default(), p.message)).collect::<Vec<_>>()
    };
    for (row, word) in [
        ("Nobody,duty,5.00,GBP,2026-10-01", "parcel of the book"),
        ("Alder Cycle,dutty,5.00,GBP,2026-10-01", "did you mean `duty`"),
        ("Alder Cycle,duty,,GBP,2026-10-01", "expected an amount"),
        ("Alder Cycle,duty,5.00,,2026-10-01", "currency"),
        ("Alder Cycle,duty,-5.00,GBP,2026-10-01", "nought or more"),
        ("Alder Cycle,duty,5.00,GBP,yesterday", "date"),
    ] {
        let found = about("receipts", &format!("consignment,charge,amount,currency,date\n{row}\n"));
        assert!(found.iter().any(|p| p.starts_with("receipts.csv:2") && p.contains(word)), "{row}: {found:?}");
    }
    for (row, word) in [("Wheel,1400", "part of"), ("Bar,", "scale"), ("Bar,0", "more than nought"), ("Bar,1.55", "one decimal")] {
        let found = about("weighings", &format!("what,mass_g\n{row}\n"));
        assert!(found.iter().any(|p| p.starts_with("weighings.csv:2") && p.contains(word)), "{row}: {found:?}");
    }
}

#[test]
fn a_row_is_added_in_the_files_own_form() {
    let plain = |old: Option<&'static str>, row: &str| added(row, move |_| old.map(|t| t.as_bytes().to_vec())).map(|(_, text)| text);
    let row = "receipts,Alder Cycle,duty,5.00,GBP,2026-10-01";
    assert_eq!(plain(None, row).unwrap(), "consignment,charge,amount,currency,date\nAlder Cycle,duty,5.00,GBP,2026-10-01\n");
    let old = "# mine\r\ncharge;consignment;date;amount;currency\r\nduty;X;2026-01-01;1;GBP";
    assert_eq!(plain(Some(old), row).unwrap(), format!("{old}\r\nduty;Alder Cycle;2026-10-01;5.00;GBP\r\n"));
    assert_eq!(plain(None, "weighing,\"Bar, wide\",271").unwrap(), "what,mass_g,scale_g,basis,date\n\"Bar, wide\",271,,,\n".replace(",,,\n", "\n").replace("271\n", "271\n"));
    for bad in ["", "receipts", "prices,a,b", "receipts,a\nb,c"] {
        assert!(plain(None, bad).is_err(), "{bad:?}");
    }
    assert!(plain(Some("consignment,charge,amount\n"), row).unwrap_err().message.contains("no column `currency`"));
    let usd = Currency::parse("USD");
    assert!(usd.is_some());
}

fn write_book(dir: &Path, receipts: &str) {
    std::fs::write(dir.join("parts.csv"), ONE).unwrap();
    std::fs::write(dir.join("settings.csv"), SETTINGS).unwrap();
    std::fs::write(dir.join("receipts.csv"), receipts).unwrap();
}

fn add(dir: &Path, row: &str) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_landwaiter"));
    command.args(["settle", "--day", "2026-10-20", "--add", row]).arg(dir).stdout(Stdio::null()).stderr(Stdio::null());
    command
}

#[test]
fn adding_keeps_a_copy_and_refuses_what_does_not_read() {
    let dir = tempfile::tempdir().unwrap();
    let old = "consignment,charge,amount,currency,date\nAlder Cycle,duty,5.00,GBP,2026-10-01\n";
    write_book(dir.path(), old);
    assert!(add(dir.path(), "receipts,Alder Cycle,handling,8.00,GBP,2026-10-01").status().unwrap().success());
    let now = std::fs::read_to_string(dir.path().join("receipts.csv")).unwrap();
    assert_eq!(now, format!("{old}Alder Cycle,handling,8.00,GBP,2026-10-01\n"));
    assert_eq!(std::fs::read_to_string(dir.path().join("receipts.csv.old")).unwrap(), old);
    assert_eq!(add(dir.path(), "receipts,Nobody,handling,8.00,GBP,2026-10-01").status().unwrap().code(), Some(1));
    assert_eq!(std::fs::read_to_string(dir.path().join("receipts.csv")).unwrap(), now, "refused, and nothing touched");
    assert!(add(dir.path(), "weighings,Bar,271,1,,2026-10-05").status().unwrap().success());
    assert!(dir.path().join("weighings.csv").exists() && !dir.path().join("weighings.csv.old").exists());
}

#[test]
fn killed_at_any_moment_the_file_is_the_old_or_the_new_one() {
    let dir = tempfile::tempdir().unwrap();
    let notes: String = (0..30_000).map(|n| format!("# note {n}: kept so that writing takes a while\n")).collect();
    let old = format!("{notes}consignment,charge,amount,currency,date\nAlder Cycle,duty,5.00,GBP,2026-10-01\n");
    let row = "receipts,Alder Cycle,handling,8.00,GBP,2026-10-01";
    let new = format!("{old}Alder Cycle,handling,8.00,GBP,2026-10-01\n");
    write_book(dir.path(), &old);
    let began = Instant::now();
    assert!(add(dir.path(), row).status().unwrap().success());
    let whole = began.elapsed().max(Duration::from_millis(20));
    let (mut before, mut after) = (0, 0);
    let moments: u32 = 60;
    for moment in 0..moments {
        write_book(dir.path(), &old);
        let mut child = add(dir.path(), row).spawn().unwrap();
        std::thread::sleep(whole * moment / moments);
        let _ = child.kill();
        child.wait().unwrap();
        let found = std::fs::read_to_string(dir.path().join("receipts.csv")).unwrap();
        match found.as_str() {
            text if text == old => before += 1,
            text if text == new => after += 1,
            _ => panic!("neither the old nor the new file after {moment} of {moments}: {} bytes", found.len()),
        }
        if dir.path().join("receipts.csv.old").exists() {
            assert_eq!(std::fs::read_to_string(dir.path().join("receipts.csv.old")).unwrap(), old, "the copy is whole too");
        }
    }
    assert!(before > 0 && after > 0, "{before} before and {after} after the write");
    assert!(add(dir.path(), row).status().unwrap().success(), "what a killed run left behind does not stand in the way");
}
