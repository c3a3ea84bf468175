//! `check`: everything that is wrong in a book, then what is open and what comes next.

use super::case::{open, show};
use super::{Answer, Case, Format, Shape, Status, Told};
use crate::book::dated_after;
use crate::landed::{Caution, Landed, cost_at};
use crate::plan::refusals;
use crate::report::{self, View};
use crate::text::words::count;
use crate::text::{Problems, Severity};
use crate::value::{self, bench::Findings};

/// What a check found beside its problems.
#[derive(Default)]
pub(super) struct Found {
    /// The landed cost, where it can be calculated.
    pub(super) landed: Option<Landed>,
    /// Findings about the build itself.
    pub(super) findings: Findings,
    /// Whether everything but `plan` has an answer.
    pub(super) only_plan: bool,
}

/// Checks a book: everything that is wrong, then what is open and what comes next.
pub(super) fn check(case: Option<&Case>, mut problems: Problems, shape: Shape) -> Told {
    let found = case.map_or_else(Found::default, |case| look(case, &mut problems));
    let problems = problems.sorted();
    let refuse = problems.refuse();
    if let Some(answer) = for_programs(shape.format, &problems, &found) {
        let status = if refuse {
            Status::Refused
        } else {
            Status::Done
        };
        return Told {
            status,
            ..Told::done(Problems::new(), answer)
        };
    }
    let [errors, warnings] =
        [Severity::Error, Severity::Warning].map(|severity| problems.count(severity));
    let (Some(case), Some(landed), false) = (case, &found.landed, refuse) else {
        return Told {
            closing: until_mended(errors, warnings, found.only_plan),
            ..Told::refused(problems)
        };
    };
    let show = match show(case, landed.currency) {
        Ok(show) => show,
        Err(more) => return Told::refused(more),
    };
    let view = report::check_view(
        sentence(case, landed, warnings),
        landed,
        &found.findings,
        (&to_say(landed), &show),
        next_command(case, landed),
    );
    let json = serde_json::Value::Null;
    Told::done(problems, Answer { view, json })
}

/// Calculates what can be, and gathers what every command would say of it.
pub(super) fn look(case: &Case, problems: &mut Problems) -> Found {
    let mut found = Found::default();
    let Some(jurisdiction) = open(case, problems) else {
        return found;
    };
    problems.also(&jurisdiction.warnings);
    match cost_at(&case.book, &jurisdiction) {
        Ok(done) => {
            let of_bills = done.bills.iter().flat_map(|bill| &bill.questions);
            for question in of_bills.chain(&done.questions) {
                problems.push(question.clone());
            }
            found.landed = Some(done);
        }
        Err(more) => problems.extend(more),
    }
    later_receipts(case, problems);
    found.findings = value::check(&case.book, &jurisdiction, problems);
    if !problems.refuse() {
        problems.extend(refusals(&case.book, &jurisdiction));
        found.only_plan = problems.refuse();
    }
    // Sums may be asked for in another currency, which needs a rate.
    if let Err(more) = show(case, jurisdiction.currency()) {
        problems.extend(more);
    }
    found
}

/// The answer in the formats that programs read, which hold the problems too.
fn for_programs(format: Format, problems: &Problems, found: &Found) -> Option<Answer> {
    let landed = found.landed.as_ref();
    match format {
        Format::Json => Some(Answer {
            view: View::default(),
            json: report::check_json(problems, landed, &found.findings),
        }),
        Format::Csv => {
            let open = match landed {
                Some(landed) if !problems.refuse() => open_places(landed, &found.findings),
                _ => Vec::new(),
            };
            Some(Answer {
                view: report::check_table(problems, open),
                json: serde_json::Value::Null,
            })
        }
        Format::Screen | Format::Markdown => None,
    }
}

/// How much is wrong, and what has no answer for it.
pub(super) fn until_mended(errors: usize, warnings: usize, only_plan: bool) -> String {
    let warned = match warnings {
        0 => String::new(),
        _ => format!(" and {}", count(warnings, "warning", "warnings")),
    };
    let what = if only_plan {
        "`plan` has no answer"
    } else {
        "nothing is calculated"
    };
    let found = count(errors, "error", "errors");
    format!(
        "{found}{warned}: {what} until they are corrected
"
    )
}

/// Receipts of days that are yet to come, today and on the book's own day.
fn later_receipts(case: &Case, problems: &mut Problems) {
    let day = case.today.max(case.ask.date);
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
    let warned = match warnings {
        0 => String::new(),
        _ => format!(" and {}", count(warnings, "warning", "warnings")),
    };
    let open = match landed.open.len() {
        0 => String::new(),
        open => format!(" {} no price yet.", count(open, "part has", "parts have")),
    };
    format!("No errors{warned}: {rows} and {parcels} checked.{open}")
}

fn open_places(landed: &Landed, findings: &Findings) -> Vec<String> {
    let mut lines = report::empty_places(findings);
    if !landed.open.is_empty() {
        lines.push(format!("no price yet: {}", landed.open.join(", ")));
    }
    lines.extend(report::check_lines(&to_say(landed)));
    lines
}

/// The cautions that no warning says already: a receipt that is asked about, and a choice that changes nothing, are drawn with the
/// problems.
fn to_say(landed: &Landed) -> Vec<Caution> {
    let warned = [
        "receipt-questioned",
        "receipt-twice",
        "deposit-asked",
        "choice-unused",
        "choice-value-unused",
    ];
    let open = landed
        .cautions
        .iter()
        .filter(|caution| !warned.contains(&caution.id));
    open.cloned().collect()
}

/// The next useful command.
fn next_command(case: &Case, landed: &Landed) -> &'static str {
    if landed.bills.is_empty() && landed.held.is_empty() {
        "fill in `seller`, `price`, `currency`, `dispatch` and `mass_g`, then `landwaiter cost`."
    } else if !case.book.receipts.is_empty() {
        "`landwaiter settle`."
    } else if !case.book.bikes.is_empty() {
        "`landwaiter cost`, then `landwaiter compare`."
    } else if case.book.options().next().is_some() {
        "`landwaiter cost`, then `landwaiter rank`."
    } else {
        "`landwaiter cost`."
    }
}
