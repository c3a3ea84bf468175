//! `rates --gaps` and `rates import`: what the tables want, and what a published file brought.

use serde_json::Value;

use super::view::{Cell, Grid, View};
use crate::landed::{Ask, Gap, Landed};
use crate::tables::Publication;
use crate::text::words::count;
use crate::units::{Date, Dec};

/// What is to be said about a destination's tables.
pub fn gaps_view(gaps: &[Gap], ask: &Ask) -> View {
    let mut view = View::default();
    view.say(format!(
        "What to know about the tables for {} ({}) on {}: {}.",
        ask.to.in_words(),
        ask.to,
        ask.date,
        count(gaps.len(), "finding", "findings")
    ));
    let mut grid = Grid::new("gaps", &["what", "row"]);
    grid.stacked = true;
    let mut heading = "";
    for gap in gaps {
        if gap.why.name() != heading {
            heading = gap.why.name();
            grid.rows.push(vec![Cell::text(heading)]);
        }
        grid.rows.push(vec![Cell::text(format!("  {}", gap.what)), Cell::text(&gap.row)]);
    }
    view.table(grid);
    view
}

/// The same as JSON.
pub fn gaps_json(gaps: &[Gap], ask: &Ask) -> Value {
    let gaps: Vec<Value> = gaps.iter().map(|g| serde_json::json!({"why": g.why.name(), "what": g.what, "row": g.row})).collect();
    serde_json::json!({"format": "landwaiter.gaps/1", "destination": ask.to.to_string(), "date": ask.date.to_string(), "gaps": gaps})
}

/// What a book lands at with new rates, beside what it landed at without them.
pub fn moved_text(before: Option<&Landed>, after: Option<&Landed>) -> String {
    let sum = |landed: &Landed| landed.totals.landed().ok();
    let (Some(before), Some(after)) = (before, after) else {
        return match after.and_then(sum).zip(after) {
            Some((sum, after)) => {
                format!("The book lands at {} {}; without these rates it could not be reckoned.\n", amount(sum, after), after.currency)
            }
            None => "The book cannot be reckoned: `landwaiter check` says why.\n".to_owned(),
        };
    };
    let (Some(old), Some(new)) = (sum(before), sum(after)) else { return String::new() };
    if old == new {
        return format!("The book lands at {} {}, as before.\n", amount(new, after), after.currency);
    }
    let mut out = format!("The book lands at {} {} instead of {}.\n", amount(new, after), after.currency, amount(old, before));
    for bill in &after.bills {
        let was = before.bills.iter().find(|other| other.id == bill.id).and_then(|other| other.amounts.landed().ok());
        if let (Ok(now), Some(was)) = (bill.amounts.landed(), was)
            && now != was
        {
            out.push_str(&format!("- {}: {} instead of {}\n", bill.id, amount(now, after), amount(was, before)));
        }
    }
    out
}

fn amount(sum: Dec, landed: &Landed) -> String {
    sum.grouped(landed.currency.digits())
}

/// What an import found and added.
pub fn import_text(publication: &Publication, days: &[Date], differing: usize, target: &str) -> String {
    let first = publication.rates.iter().map(|r| r.from).min();
    let last = publication.rates.iter().map(|r| r.to.unwrap_or(r.from)).max();
    let span = first.zip(last).map(|(a, b)| if a == b { format!(" of {a}") } else { format!(" from {a} to {b}") }).unwrap_or_default();
    let mut out = format!("Found {}: {}{span}.\n", publication.kind, count(publication.rates.len(), "rate", "rates"));
    if !publication.unknown.is_empty() {
        out.push_str(&format!("Passed over, not money of ISO 4217 today: {}.\n", publication.unknown.join(", ")));
    }
    match days {
        [] if differing > 0 => {
            let others = count(differing, "rate differs", "rates differ");
            out.push_str(&format!(
                "Nothing new: every day is in {target} already, and {others} from the file; the table is left as it is.\n"
            ));
        }
        [] => out.push_str(&format!("Nothing new: every rate is in {target} already.\n")),
        [day] => out.push_str(&format!("Added to {target}: {day}.\n")),
        [first, .., last] => {
            out.push_str(&format!("Added to {target}: {}, {first} to {last}.\n", count(days.len(), "new day", "new days")));
        }
    }
    out
}
