//! The commands that write something down: what the door is asked for by each.

use std::cell::Cell;
use std::time::Duration;

use super::changing::{Before, Order, change};
use super::common_args::CommonArgs;
use super::exit::Exit;
use super::planning::Clock;
use super::progress::Line;
use super::step_args::Steps;
use super::world;
use crate::answer::{Deed, Was, done, settle, wished};
use crate::plan::{Patient, Wishes};
use crate::settle::{added, with_parcel};
use crate::steps::Edits;
use crate::text::{Diagnostic, Problems};
use crate::units::Date;

/// The day that `--date` names, else today.
fn day(typed: Option<&str>) -> Result<Date, Problems> {
    let Some(typed) = typed else {
        return Ok(world::today());
    };
    let refused = |why: &str| Problems::from(Diagnostic::error(format!("`--date {typed}`: {why}")));
    let day = Date::parse(typed).map_err(|why| refused(&why))?;
    if day > world::today() {
        return Err(refused(
            "this day is yet to come: expected the day on which it happened",
        ));
    }
    Ok(day)
}

/// Does a step and says what came of it.
pub(super) fn step(step: &Steps, typed: &str) -> Exit {
    let (into, what) = step.deed();
    let asked = CommonArgs::bare(&into.of);
    let order = order(&asked, typed, &what);
    write_down(&order, &what, into.date.as_deref())
}

/// Writes down what became of an order.
pub(super) fn ordered(
    asked: &CommonArgs,
    typed: &str,
    what: &Deed<'_>,
    date: Option<&str>,
) -> Exit {
    write_down(&order(asked, typed, what), what, date)
}

/// Writes a step of a day down.
fn write_down(order: &Order<'_>, what: &Deed<'_>, date: Option<&str>) -> Exit {
    let make = |before: &Before<'_>| wished(&before.case()?, what, day(date)?, &Patient);
    change(order, make, |case, jurisdiction, before| {
        done(case, jurisdiction, what, &before)
    })
}

/// Writes the plan that is found.
pub(super) fn write_plan(
    asked: &CommonArgs,
    typed: &str,
    wishes: Wishes,
    (line, limit): (Line, Option<Duration>),
) -> Exit {
    let what = Deed::Plan(wishes);
    let order = order(asked, typed, &what);
    let found = Cell::new(true);
    let make = |before: &Before<'_>| {
        let case = before.case()?;
        let made = wished(&case, &what, world::today(), &Clock::begin(limit, &line));
        // the line is wiped before anything is said
        drop(line);
        found.set(!matches!(made, Ok((_, Was::Nothing(_)))));
        made
    };
    let exit = change(&order, make, |case, jurisdiction, before| {
        done(case, jurisdiction, &what, &before)
    });
    if found.get() { exit } else { Exit::Nothing }
}

/// How a step is typed, with the folder of a book.
fn example(what: &Deed<'_>) -> &'static str {
    match what {
        Deed::Weigh { .. } => "weigh PART GRAMS FOLDER",
        Deed::Seen { .. } => "seen PART PRICE FOLDER",
        Deed::Take { .. } => "take PART FOLDER",
        Deed::Receive { .. } => "receive PARCEL FOLDER",
        Deed::Plan(_) => "plan FOLDER --write",
        Deed::Placed { .. } => "order SELLER FOLDER --placed --paid AMOUNT",
        Deed::Cancelled { .. } => "order SELLER FOLDER --cancelled",
    }
}

/// What the door is asked for by a step.
fn order<'a>(asked: &'a CommonArgs, typed: &str, what: &Deed<'_>) -> Order<'a> {
    Order {
        asked,
        command: typed.to_owned(),
        example: example(what),
        // the journal holds what was there before
        copies: false,
        nothing: "Nothing was written.\n",
        all_the_same: "The change is written all the same: do not enter it again.\n",
    }
}

/// Adds rows as they are typed, and settles the book that has them.
pub(super) fn add(asked: &CommonArgs, rows: &[String], day: Option<&str>) -> Exit {
    let typed = rows
        .iter()
        .map(|row| format!(" --add \"{}\"", row.replace('"', "\\\"")));
    let order = Order {
        asked,
        command: format!("settle{}", typed.collect::<String>()),
        example: "settle FOLDER --add ...",
        copies: true,
        nothing: "Nothing was added.\n",
        all_the_same: "The rows are added all the same: do not add them again.\n",
    };
    let make = |before: &Before<'_>| {
        let mut problems = Problems::new();
        // a book that cannot be read is told of when it is read with the rows in it
        let case = before.case().ok();
        let whole = |row: &String| match &case {
            Some(case) => with_parcel(row, &case.book),
            None => Ok(row.clone()),
        };
        let (rows, edits): (Vec<String>, Edits) = rows
            .iter()
            .map(|row| whole(row).and_then(|row| added(&row).map(|edit| (row, edit))))
            .filter_map(|row| problems.keep(row))
            .unzip();
        if problems.refuse() {
            return Err(problems);
        }
        Ok((edits, rows))
    };
    change(&order, make, |case, jurisdiction, rows| {
        settle(case, jurisdiction, asked.shape(), &rows, day)
    })
}
