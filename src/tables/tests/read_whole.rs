//! The built-in tables read as a user's are, with all checks that a run leaves out for them.

use std::borrow::Cow;

use crate::tables::{File, Tables, built_in};
use crate::text::Problems;

/// What a run does not look at in the built-in tables is looked at here: all rows of all tables, and that none stands twice.
#[test]
fn the_built_in_tables_have_no_problem_when_they_are_read_as_others_are() {
    let owned = |file: File| File {
        bytes: Cow::Owned(file.bytes.into_owned()),
        ..file
    };
    let mut problems = Problems::new();
    let tables = Tables::of(built_in().into_iter().map(owned).collect(), &mut problems);
    for row in &tables.destinations {
        tables.law(&row.rule, &mut problems);
        tables.customs_rates(&row.rule, &mut problems);
    }
    let told: Vec<&str> = problems.iter().map(|one| one.message.as_str()).collect();
    assert!(told.is_empty(), "{told:?}");
    assert!(tables.destinations.len() > 30 && tables.refunds.len() > 3);
}

/// A row that stands twice is found so, which the test above rests on.
#[test]
fn a_row_that_stands_twice_is_a_problem_of_a_table_that_is_read_as_others_are() {
    let twice = |file: File| {
        let mut bytes = file.bytes.into_owned();
        let last = bytes.trim_ascii_end().rsplit(|byte| *byte == b'\n').next();
        let last = last.unwrap_or_default().to_vec();
        bytes.extend_from_slice(&last);
        File {
            bytes: Cow::Owned(bytes),
            ..file
        }
    };
    let mut problems = Problems::new();
    Tables::of(built_in().into_iter().map(twice).collect(), &mut problems);
    let told = |name: &str| {
        let of = |one: &&crate::text::Diagnostic| {
            let place = one.place.as_ref().map(|place| place.path.to_string());
            place.is_some_and(|path| path.ends_with(name))
        };
        problems.iter().filter(of).count()
    };
    for name in [
        "refunds.csv",
        "territories.csv",
        "places.csv",
        "exchange.csv",
    ] {
        assert!(told(name) > 0, "{name}");
    }
}
