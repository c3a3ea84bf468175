//! `check` as a screen: what is wrong is drawn with the problems; here are what is missing, what to look at and what comes next.

use serde_json::Value;

use super::cautions::{End, Warnings, caution_lines, cautions as cautions_json};
use super::show::Show;
use super::view::{Block, Cell, Grid, View};
use crate::landed::{Caution, Landed, UnknownChoice};
use crate::tables::Need;
use crate::text::words::list;
use crate::text::{Problems, Severity};
use crate::value::bench::{Empty, Findings};

/// Adds the choices that change nothing to what a command says that has no such cautions of its own.
pub(crate) fn add_choices(unknown: Vec<UnknownChoice>, view: &mut View, json: &mut Value) {
    let cautions: Vec<Caution> = unknown.into_iter().map(UnknownChoice::caution).collect();
    view.notes(caution_lines(&cautions));
    add_to_json(&cautions, json);
}

/// Adds cautions to those of a JSON alone, where the view says them in its own order.
pub(crate) fn add_to_json(cautions: &[Caution], json: &mut Value) {
    if let Some(list) = json.get_mut("cautions").and_then(Value::as_array_mut) {
        list.extend(cautions_json(cautions));
    }
}

/// As [`caution_lines`]; of parts without a test report every one is named.
pub(crate) fn check_lines(cautions: &[Caution]) -> Vec<String> {
    let named = |caution: &Caution| match caution.id {
        "evidence" => vec![format!(
            "{} ({}). {} [{}]",
            caution.text,
            list(&caution.about, "and"),
            caution.action,
            caution.id
        )],
        _ => caution_lines(std::slice::from_ref(caution)),
    };
    cautions.iter().flat_map(named).collect()
}

/// Places that nothing fills, by how much they are needed, and which missing facts would tell whether they are needed.
pub(crate) fn empty_places(findings: &Findings) -> Vec<String> {
    let named = |empty: &Empty| match empty.usual {
        Some((low, high)) => format!("{} ({low} to {high} g)", empty.place),
        None => empty.place.clone(),
    };
    let of = |need: Need, forgotten: bool| {
        findings
            .empty
            .iter()
            .filter(move |e| e.need == need && e.often_forgotten == forgotten)
            .map(named)
            .collect::<Vec<_>>()
    };
    let mut lines = Vec::new();
    let mut say = |what: &str, names: Vec<String>| {
        if !names.is_empty() {
            lines.push(format!("{what}: {}", names.join(", ")));
        }
    };
    say(
        "required and empty",
        [of(Need::Required, false), of(Need::Required, true)].concat(),
    );
    say("usual, empty and often forgotten", of(Need::Usual, true));
    say("usual and empty", of(Need::Usual, false));
    say(
        "not said in settings, so not asked for",
        findings.unsaid.clone(),
    );
    lines
}

/// What `check` says when nothing is refused: what is missing, what to look at, and the next useful command.
pub(crate) fn check_view(
    answer: String,
    landed: &Landed,
    findings: &Findings,
    shown: (&[Caution], &Show),
    next: &str,
) -> View {
    let (cautions, show) = shown;
    let mut view = View::default();
    view.answer(answer);
    view.notes(missing(landed, findings));
    let mut more = View::default();
    let masses = empty_places(findings);
    if !masses.is_empty() {
        more.head("Empty places, and what usually goes there weighs");
        more.notes(masses);
    }
    view.more(more);
    let end = End {
        next,
        at_the_door: landed.totals.to_pay_carrier.is_positive(),
    };
    Warnings::of(cautions, show).conclude("Before you order", &end, show, &mut view);
    view
}

/// What is missing, by name.
fn missing(landed: &Landed, findings: &Findings) -> Vec<String> {
    let places = |need: Need| -> Vec<&str> {
        let of = findings.empty.iter().filter(move |e| e.need == need);
        of.map(|empty| empty.place.as_str()).collect()
    };
    let unreported: Vec<&str> = landed
        .cautions
        .iter()
        .filter(|caution| caution.id == "evidence")
        .flat_map(|caution| caution.about.iter().map(String::as_str))
        .collect();
    let open: Vec<&str> = landed.open.iter().map(String::as_str).collect();
    let unsaid: Vec<&str> = findings.unsaid.iter().map(String::as_str).collect();
    let all = [
        ("No price yet, so not in any total", open),
        (
            "Required on such a bike, and not there yet",
            places(Need::Required),
        ),
        ("Usual on such a bike, and not there", places(Need::Usual)),
        (
            "Not set in `settings.csv`, so the parts that depend on it are not asked for",
            unsaid,
        ),
        ("No test report in `evidence`", unreported),
    ];
    all.into_iter()
        .filter(|(_, names)| !names.is_empty())
        .map(|(what, names)| format!("{what}: {}.", list(&names, "and")))
        .collect()
}

/// The problems of a book as one table, and what is open below them; its header stands even where there are none.
pub(crate) fn check_table(problems: &Problems, open: Vec<String>) -> View {
    let mut grid = Grid::new(
        "problems",
        &[
            "severity", "file", "line", "column", "message", "notes", "help",
        ],
    );
    for problem in problems.iter() {
        let place = problem.place.as_ref();
        grid.rows.push(vec![
            Cell::text(if problem.severity == Severity::Error {
                "error"
            } else {
                "warning"
            }),
            place.map_or(Cell::Empty, |at| Cell::text(at.path.to_string())),
            place.map_or(Cell::Empty, |at| Cell::number(at.line.to_string())),
            place
                .and_then(|at| at.column.clone())
                .map_or(Cell::Empty, Cell::text),
            Cell::text(problem.message.clone()),
            Cell::text(problem.notes.join("; ")),
            problem.help.clone().map_or(Cell::Empty, Cell::text),
        ]);
    }
    let empty = || [Cell::Empty, Cell::Empty, Cell::Empty];
    grid.rows.extend(open.into_iter().map(|line| {
        let said = [Cell::text(line), Cell::Empty, Cell::Empty];
        std::iter::once(Cell::text("open"))
            .chain(empty())
            .chain(said)
            .collect()
    }));
    View {
        blocks: vec![Block::Table(grid)],
    }
}

/// The problems of a book as JSON, with what is open and what must be said; where there are too many to keep, their numbers
/// count those left out too.
pub(crate) fn check_json(
    problems: &Problems,
    landed: Option<&Landed>,
    findings: &Findings,
) -> Value {
    let problem = |p: &crate::text::Diagnostic| {
        let place = p.place.as_ref();
        serde_json::json!({
            "severity": if p.severity == Severity::Error { "error" } else { "warning" },
            "message": p.message,
            "file": place.map(|at| at.path.to_string()),
            "line": place.map(|at| at.line),
            "column": place.and_then(|at| at.column.clone()),
            "notes": p.notes,
            "help": p.help,
        })
    };
    let empty = |e: &Empty| {
        serde_json::json!({
            "place": e.place,
            "need": if e.need == Need::Required { "required" } else { "usual" },
            "often_forgotten": e.often_forgotten,
            "low_g": e.usual.as_ref().map(|(low, _)| low.to_string()),
            "high_g": e.usual.as_ref().map(|(_, high)| high.to_string()),
        })
    };
    serde_json::json!({
        "format": "landwaiter.check/1",
        "problems": problems.iter().map(problem).collect::<Vec<_>>(),
        "errors": problems.count(Severity::Error),
        "warnings": problems.count(Severity::Warning),
        "empty": findings.empty.iter().map(empty).collect::<Vec<_>>(),
        "not_asked": findings.unsaid,
        "open": landed.map(|l| l.open.clone()).unwrap_or_default(),
        "without_report": landed.iter().flat_map(|l| &l.cautions).filter(|c| c.id == "evidence").flat_map(|c| c.about.clone()).collect::<Vec<_>>(),
        "cautions": landed.map(|l| cautions_json(&l.cautions)).unwrap_or_default(),
    })
}
