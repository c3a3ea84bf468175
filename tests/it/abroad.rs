//! Tools for tests of destinations: a one-parcel book, the built-in tables with a test's rows laid over them, and files of expected
//! text that `UPDATE_EXPECTED=1` writes anew.

use std::path::Path;

use landwaiter::Question;
use landwaiter::book::{Book, Settings};
use landwaiter::landed::{Bill, Landed};
use landwaiter::tables::Tables;
use landwaiter::text::{Problems, draw};
use landwaiter::units::{Date, Dec};

pub(crate) use crate::made::built_in;
use crate::made::{self, cost, home};

/// A day as `2026-11-20`.
pub(crate) fn day(text: &str) -> Date {
    Date::parse(text).unwrap()
}

/// The built-in tables with a test's own files laid over them.
pub(crate) fn tables(own: &[(&str, &str)]) -> Tables {
    let mut problems = Problems::new();
    let tables = Tables::load(own.iter().map(made::own).collect(), &mut problems);
    assert!(!problems.refuse(), "{}", draw(&problems, false));
    tables
}

/// What is asked: destination, day, and settings as `choice.pay=counter`.
pub(crate) fn ask(to: &str, on: &str, more: &[(&str, &str)]) -> Question {
    let mut settings = Settings::default();
    for (name, value) in [("destination", to), ("date", on)].iter().chain(more) {
        settings
            .set(name, value)
            .unwrap_or_else(|error| panic!("{name} {value}: {error}"));
    }
    Question::new(&settings, day("2000-01-01")).unwrap()
}

/// A book of parts alone.
pub(crate) fn book(parts: &str) -> Book {
    made::taken(&[("parts", parts)])
}

/// The landed cost through the front door.
pub(crate) fn landed(parts: &str, tables: &Tables, ask: &Question) -> Landed {
    cost(&book(parts), tables, ask).unwrap_or_else(|problems| panic!("{}", draw(&problems, false)))
}

/// The only bill.
pub(crate) fn bill(parts: &str, tables: &Tables, ask: &Question) -> Bill {
    let mut bills = landed(parts, tables, ask).bills;
    assert_eq!(bills.len(), 1);
    bills.remove(0)
}

/// What a row of the sum came to; zero when it is not due.
pub(crate) fn row(bill: &Bill, id: &str) -> Dec {
    let found = bill
        .trail
        .iter()
        .filter(|step| step.id == id && step.kind != "relief")
        .filter_map(|step| step.amount);
    Dec::total(found).unwrap()
}

/// A file among the oracles, as rows by the names in its header.
pub(crate) fn oracle(name: &str) -> Vec<std::collections::BTreeMap<String, String>> {
    let text = std::fs::read_to_string(home().join("tests/data/oracles").join(name)).unwrap();
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    let header = reader.headers().unwrap().clone();
    let rows = reader.records().map(|row| row.unwrap());
    rows.map(|row| {
        header
            .iter()
            .zip(row.iter())
            .map(|(name, cell)| (name.to_owned(), cell.trim().to_owned()))
            .collect()
    })
    .collect()
}

/// Compares with a file that stands in the project, or writes it when `UPDATE_EXPECTED=1`.
pub(crate) fn expect(path: &str, found: &str) {
    let whole = home().join(path);
    if std::env::var_os("UPDATE_EXPECTED").is_some_and(|value| value == "1") {
        std::fs::create_dir_all(whole.parent().unwrap_or(Path::new("."))).unwrap();
        std::fs::write(&whole, found).unwrap();
        return;
    }
    let expected = std::fs::read_to_string(&whole).unwrap_or_default();
    if expected != found {
        let differs = expected
            .lines()
            .zip(found.lines())
            .position(|(one, other)| one != other);
        let at = differs.unwrap_or_else(|| expected.lines().count().min(found.lines().count()));
        let line = |text: &str| text.lines().nth(at).unwrap_or("(nothing)").to_owned();
        let (was, is) = (line(&expected), line(found));
        panic!(
            "{path} differs in line {}:\n  stands  {was}\n  is now  {is}\nrun the tests with UPDATE_EXPECTED=1 to write it anew",
            at + 1
        );
    }
}
