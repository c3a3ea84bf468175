//! What `landwaiter` says alone in a build's folder: how far the build is, what is expected and what is late, which deadlines come
//! next, what has grown old, and what to do now. One page that is short enough to be read each morning.

use serde::Serialize;
use serde_json::{Value, json};

use super::show::Show;
use super::shown::shown;
use super::view::{Cell, Grid, View};
use crate::landed::{Landed, Question};
use crate::text::words::{count, few, some};
use crate::units::{Date, HomeMoney, Overflow, ShownMoney};

/// How many parcels and deadlines are shown; the others are counted.
const SHOWN: usize = 4;

/// A right that ends later than this many days from now is not shown yet.
const SOON: i64 = 60;

/// How many parts are in each state.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub(crate) struct Progress {
    /// Rows of the build.
    pub(crate) all: usize,
    /// Here, given, or in the box of a part that is here.
    pub(crate) here: usize,
    /// Paid and on the way.
    pub(crate) on_the_way: usize,
    /// Not ordered yet, with a price.
    pub(crate) to_order: usize,
    /// Without a price.
    pub(crate) open: usize,
    /// Beside them, missing, damaged, lost, or sent back: paid for, and not on the bike.
    pub(crate) gone: usize,
    /// Here and weighed.
    pub(crate) weighed: usize,
}

/// A parcel on its way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Expected {
    pub(crate) parcel: String,
    pub(crate) parts: Vec<String>,
    /// When it is to arrive; none where nobody has said how long it is on its way.
    pub(crate) on: Option<Date>,
    /// What is due at the door, in the money shown.
    pub(crate) at_door: ShownMoney,
}

impl Expected {
    /// How many days it is late.
    fn late(&self, today: Date) -> Option<i64> {
        self.on
            .map(|on| today.days_since(on))
            .filter(|days| *days > 0)
    }
}

/// A day by which something must be done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Deadline {
    pub(crate) on: Date,
    pub(crate) what: String,
    /// Whether money is to be claimed by then; else it is the end of a right that may never be needed.
    pub(crate) claim: bool,
}

/// All that the page says.
pub(crate) struct TodayReport<'a> {
    pub(crate) landed: &'a Landed,
    pub(crate) ask: &'a Question,
    pub(crate) today: Date,
    pub(crate) progress: Progress,
    /// By the day on which they are expected.
    pub(crate) expected: Vec<Expected>,
    /// Those that are not over, the next first.
    pub(crate) deadlines: Vec<Deadline>,
    /// Parts whose price was seen too long ago.
    pub(crate) old_prices: Vec<String>,
    /// Currencies whose rate is old.
    pub(crate) old_rates: Vec<String>,
    /// Parcels that have come and have no receipt.
    pub(crate) unbilled: Vec<String>,
    /// Parts that are here and were never weighed.
    pub(crate) unweighed: Vec<String>,
    /// Places that must be filled and are not.
    pub(crate) empty: Vec<String>,
    /// Parts that were missing or damaged, and for which nothing has come back yet.
    pub(crate) faulty: Vec<String>,
    /// How many warnings `check` has.
    pub(crate) warnings: usize,
}

/// The view of the page.
pub(crate) fn today_view(report: &TodayReport<'_>, show: &Show) -> Result<View, Overflow> {
    let mut view = View::default();
    view.answer(progress(&report.progress));
    view.say(money(report, show)?);
    if !report.expected.is_empty() {
        view.table(on_the_way(report, show));
    }
    let deadlines = deadlines(report);
    if !deadlines.is_empty() {
        view.head("Deadlines");
        view.notes(deadlines);
    }
    let old = old(report);
    if !old.is_empty() {
        view.head("Out of date");
        view.notes(old);
    }
    view.head("To do now");
    let mut lines = to_do(report);
    lines.truncate(SHOWN + 1);
    view.notes(lines);
    Ok(view)
}

/// How far the build is, in a sentence.
fn progress(progress: &Progress) -> String {
    let Progress {
        all,
        here,
        on_the_way,
        to_order,
        open,
        gone,
        weighed,
    } = *progress;
    let mut rest = Vec::new();
    for (number, state) in [
        (on_the_way, "on the way"),
        (to_order, "to order"),
        (open, "without a price"),
        (gone, "missing, damaged or gone back"),
    ] {
        if number > 0 {
            rest.push(format!("{number} {state}"));
        }
    }
    let verb = if here == 1 { "is" } else { "are" };
    let of = format!("{here} of {} {verb} here", count(all, "part", "parts"));
    let of = if weighed > 0 {
        format!("{of} ({weighed} weighed)")
    } else {
        of
    };
    match rest.as_slice() {
        [] => format!("{of}."),
        some => format!("{of}, {}.", some.join(", ")),
    }
}

/// What the build costs, what is paid and what is not.
fn money(report: &TodayReport<'_>, show: &Show) -> Result<String, Overflow> {
    let shown = shown(report.landed, show)?;
    let (totals, there) = (&shown.totals, show.as_it_is());
    let landed = totals.landed()?;
    let budget = match report.ask.budget {
        None => String::new(),
        Some(budget) => {
            let left = show.shown(HomeMoney::of(budget))?.minus(landed)?;
            let word = if left.is_negative() {
                "over"
            } else {
                "left of"
            };
            format!(" That is {} {word} the budget.", there.amount(left.abs()))
        }
    };
    let [spent, seller, door] =
        [totals.spent, totals.to_pay_seller, totals.to_pay_carrier].map(|sum| there.amount(sum));
    Ok(format!(
        "Landed cost {}: {spent} paid, {seller} to pay to sellers, {door} at the door.{budget}",
        there.money(landed)
    ))
}

/// What is expected when, and what is late.
fn on_the_way(report: &TodayReport<'_>, show: &Show) -> Grid {
    let mut grid = Grid::new(
        "expected",
        &["On the way", "Parts", "Expected", "At the door"],
    );
    let there = show.as_it_is();
    for parcel in report.expected.iter().take(SHOWN) {
        let day = match (parcel.on, parcel.late(report.today)) {
            (None, _) => "unknown".to_owned(),
            (Some(on), None) => on.to_string(),
            (Some(on), Some(late)) => format!("{on}, {} late", count(days(late), "day", "days")),
        };
        grid.rows.push(vec![
            Cell::text(&parcel.parcel),
            Cell::text(some(&parcel.parts, 2)),
            Cell::text(day),
            Cell::number(there.amount(parcel.at_door)),
        ]);
    }
    if let Some(more) = report.expected.get(SHOWN..).filter(|more| !more.is_empty()) {
        let parcels: Vec<&str> = more.iter().map(|parcel| parcel.parcel.as_str()).collect();
        grid.rows.push(vec![
            Cell::text(format!("and {}", few(&parcels))),
            Cell::Empty,
            Cell::Empty,
            Cell::Empty,
        ]);
    }
    grid
}

fn days(days: i64) -> usize {
    usize::try_from(days).unwrap_or(usize::MAX)
}

/// The next deadlines: every claim, and rights that end soon.
fn deadlines(report: &TodayReport<'_>) -> Vec<String> {
    let left = |deadline: &Deadline| deadline.on.days_since(report.today);
    let (near, far): (Vec<&Deadline>, Vec<&Deadline>) = report
        .deadlines
        .iter()
        .partition(|deadline| deadline.claim || left(deadline) <= SOON);
    let line = |deadline: &&Deadline| {
        let left = count(days(left(deadline)), "day", "days");
        format!("{}, {left} left: {}", deadline.on, deadline.what)
    };
    let mut lines: Vec<String> = near.iter().take(SHOWN).map(line).collect();
    let more = near.len().saturating_sub(SHOWN) + far.len();
    if more > 0 && !lines.is_empty() {
        lines.push(format!("and {more} later: `landwaiter settle --more`"));
    }
    lines
}

/// Which prices and rates are old.
fn old(report: &TodayReport<'_>) -> Vec<String> {
    let mut lines = Vec::new();
    if !report.old_prices.is_empty() {
        lines.push(format!("Prices of {}", few(&report.old_prices)));
    }
    if !report.old_rates.is_empty() {
        lines.push(format!("Exchange rates of {}", few(&report.old_rates)));
    }
    lines
}

/// What to do now, most pressing first.
fn to_do(report: &TodayReport<'_>) -> Vec<String> {
    let mut lines = Vec::new();
    let late = report.expected.iter();
    let late = late.filter(|parcel| parcel.late(report.today).is_some());
    let late: Vec<&str> = late.map(|parcel| parcel.parcel.as_str()).collect();
    match late.as_slice() {
        [] => {}
        [one] => lines.push(format!(
            "Ask where {one} is; if it has come: `landwaiter receive \"{one}\"`"
        )),
        several => lines.push(format!(
            "Ask where {} are; for each that has come: `landwaiter receive PARCEL`",
            some(several, 2)
        )),
    }
    let next = report.deadlines.iter().find(|deadline| deadline.claim);
    let by = next.map_or_else(String::new, |next| format!(" by {}", next.on));
    if !report.faulty.is_empty() {
        lines.push(format!(
            "Claim{by} for what was missing or damaged ({}): `landwaiter settle`",
            some(&report.faulty, 2)
        ));
    } else if next.is_some() {
        lines.push(format!("Claim{by}: `landwaiter settle`"));
    }
    if !report.unbilled.is_empty() {
        lines.push(format!(
            "Enter what was charged for {}: `landwaiter settle --add`",
            few(&report.unbilled)
        ));
    }
    if !report.unweighed.is_empty() {
        lines.push(format!(
            "Weigh {}: `landwaiter weigh PART GRAMS`",
            some(&report.unweighed, 2)
        ));
    }
    if !report.old_prices.is_empty() {
        lines.push("Look at the old prices again: `landwaiter seen PART PRICE`".to_owned());
    }
    if !report.old_rates.is_empty() {
        lines.push("Import newer rates: `landwaiter rates update FILE`".to_owned());
    }
    if report.progress.to_order > 0 {
        lines.push("Order what is left: `landwaiter order`".to_owned());
    }
    if report.progress.open > 0 {
        lines.push(format!(
            "Fill in `seller`, `price` and `mass_g` of {}",
            some(&report.landed.open, 2)
        ));
    }
    if !report.empty.is_empty() {
        lines.push(format!(
            "Choose parts for {}: `landwaiter check` names them",
            count(report.empty.len(), "empty place", "empty places")
        ));
    }
    if report.warnings > 0 {
        lines.push(format!(
            "Look at {}: `landwaiter check`",
            count(report.warnings, "warning", "warnings")
        ));
    }
    if lines.is_empty() {
        lines.push("Ride it. `landwaiter report` tells others what it cost".to_owned());
    }
    lines
}

/// The page for programs.
pub(crate) fn today_json(report: &TodayReport<'_>, show: &Show) -> Result<Value, Overflow> {
    let shown = shown(report.landed, show)?;
    let (totals, there) = (&shown.totals, show.as_it_is());
    let expected: Vec<Value> = report
        .expected
        .iter()
        .map(|parcel| {
            json!({
                "id": parcel.parcel, "parts": parcel.parts,
                "on": parcel.on.map(|on| on.to_string()),
                "days_late": parcel.late(report.today),
                "to_pay_carrier": there.exact(parcel.at_door),
            })
        })
        .collect();
    let deadlines: Vec<Value> = report
        .deadlines
        .iter()
        .map(|deadline| json!({ "on": deadline.on.to_string(), "what": deadline.what, "claim": deadline.claim }))
        .collect();
    Ok(json!({
        "format": "landwaiter.today/1",
        "destination": report.ask.to.to_string(),
        "currency": show.currency.code(),
        "today": report.today.to_string(),
        "parts": report.progress,
        "landed": there.exact(totals.landed()?),
        "spent": there.exact(totals.spent),
        "to_pay_seller": there.exact(totals.to_pay_seller),
        "to_pay_carrier": there.exact(totals.to_pay_carrier),
        "expected": expected,
        "deadlines": deadlines,
        "old_prices": report.old_prices,
        "old_rates": report.old_rates,
        "without_receipt": report.unbilled,
        "unweighed": report.unweighed,
        "empty_places": report.empty,
        "to_claim": report.faulty,
        "warnings": report.warnings,
        "to_do": to_do(report),
    }))
}
