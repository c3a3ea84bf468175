//! `check`: everything that is wrong in a book, then what is open and what comes next.

use super::args::{Asked, Format};
use super::case::{Answer, Case, open, read, show, tell, write};
use super::exit::Exit;
use super::world;
use crate::book::dated_after;
use crate::landed::{Landed, cost_at};
use crate::plan::refusals;
use crate::report::{self};
use crate::text::words::count;
use crate::text::{Problems, Severity};
use crate::value::{self, bench::Findings};

/// Checks a book: everything that is wrong, then what is open and what comes next.
pub(super) fn check(asked: &Asked) -> Exit {
    let mut problems = Problems::new();
    let case = read(asked, &mut problems);
    let mut landed: Option<Landed> = None;
    let mut findings = Findings::default();
    let mut only_plan = false;
    if let Some(case) = &case
        && let Some(desk) = open(case, &mut problems)
    {
        desk.warnings
            .iter()
            .for_each(|warning| problems.push(warning.clone()));
        match cost_at(&case.book, &desk) {
            Ok(done) => {
                done.bills
                    .iter()
                    .flat_map(|bill| &bill.questions)
                    .chain(&done.questions)
                    .for_each(|question| problems.push(question.clone()));
                landed = Some(done);
            }
            Err(more) => problems.extend(more),
        }
        later_receipts(case, &mut problems);
        findings = value::check(&case.book, &desk, &mut problems);
        if !problems.refuse() {
            problems.extend(refusals(&case.book, &desk));
            only_plan = problems.refuse();
        }
        // Sums may be asked for in another currency, which needs a rate.
        if let Err(more) = show(case, desk.currency()) {
            problems.extend(more);
        }
    }
    let problems = problems.sorted();
    let told = match asked.format {
        Format::Json => Some(report::json(&report::check_json(
            &problems,
            landed.as_ref(),
            &findings,
        ))),
        Format::Csv => {
            let open = landed
                .as_ref()
                .filter(|_| !problems.refuse())
                .map(|landed| open_places(landed, &findings))
                .unwrap_or_default();
            Some(report::csv(&report::check_table(&problems, open)))
        }
        Format::Table | Format::Markdown => None,
    };
    if let Some(told) = told {
        let exit = if problems.refuse() {
            Exit::Refused
        } else {
            Exit::Done
        };
        return match world::print(&told) {
            Exit::Done => exit,
            other => other,
        };
    }
    let refuse = problems.refuse();
    let [errors, warnings] =
        [Severity::Error, Severity::Warning].map(|severity| problems.count(severity));
    tell(problems);
    let (Some(case), Some(landed), false) = (case, landed, refuse) else {
        let warned = if warnings == 0 {
            String::new()
        } else {
            format!(" and {}", count(warnings, "warning", "warnings"))
        };
        let found = count(errors, "error", "errors");
        let what = if only_plan {
            "`plan` has no answer"
        } else {
            "nothing is reckoned"
        };
        world::complain(&format!(
            "{found}{warned}: {what} until the errors are mended\n"
        ));
        return Exit::Refused;
    };
    let view = report::check_view(
        sentence(&case, &landed, warnings),
        open_places(&landed, &findings),
        next_command(&case, &landed),
    );
    write(
        &Answer {
            view,
            json: serde_json::Value::Null,
        },
        asked.format,
    )
}

/// Receipts of days that are yet to come, today and on the book's own day.
fn later_receipts(case: &Case, problems: &mut Problems) {
    let day = world::today().max(case.ask.date);
    for receipt in dated_after(&case.book.receipts, day) {
        let what = format!("is the day right? it is after {day}; the receipt is counted");
        problems.push(receipt.at.cell("date").error(what).as_warning());
    }
}

fn sentence(case: &Case, landed: &Landed, warnings: usize) -> String {
    let rows = count(case.book.parts.len(), "row", "rows");
    // what is bought over the counter at home travels in no parcel
    let sent = landed
        .bills
        .iter()
        .filter(|bill| !bill.seller.is_empty())
        .count();
    let parcels = count(sent, "parcel", "parcels");
    format!(
        "{rows} read, {parcels}, {}, {}.",
        count(warnings, "warning", "warnings"),
        count(
            landed.open.len(),
            "row without a price yet",
            "rows without a price yet"
        )
    )
}

fn open_places(landed: &Landed, findings: &Findings) -> Vec<String> {
    let mut lines = report::empty_places(findings);
    if !landed.open.is_empty() {
        lines.push(format!("no price yet: {}", landed.open.join(", ")));
    }
    // A receipt that is asked about, and a choice that changes nothing, stand among the warnings already.
    let warned = [
        "receipt-questioned",
        "receipt-twice",
        "deposit-asked",
        "choice-unused",
        "choice-value-unused",
    ];
    let cautions: Vec<_> = landed
        .cautions
        .iter()
        .filter(|caution| !warned.contains(&caution.id))
        .cloned()
        .collect();
    lines.extend(report::check_lines(&cautions));
    lines
}

/// The next useful command.
fn next_command(case: &Case, landed: &Landed) -> &'static str {
    if landed.bills.is_empty() && landed.held.is_empty() {
        "fill in seller, price, currency, dispatch and mass_g, then `landwaiter cost`"
    } else if !case.book.receipts.is_empty() {
        "`landwaiter settle`"
    } else if !case.book.bikes.is_empty() {
        "`landwaiter cost`, then `landwaiter compare`"
    } else if case.book.options().next().is_some() {
        "`landwaiter cost`, then `landwaiter rank`"
    } else {
        "`landwaiter cost`"
    }
}
