//! The trail of bills: for each amount the rule, the row and the source, on a screen and as JSON.

use serde_json::{Value, json};

use super::law_words::known;
use super::show::Show;
use super::view::{Cell, Grid, View};
use crate::compare::Comparison;
use crate::landed::{Bill, Step};
use crate::rank::Ranking;
use crate::units::{Dec, Money};

/// How sure the rows behind a step are, after its source: ` (read)`, ` (disputed, from memory)`.
pub(super) fn marks(step: &Step) -> String {
    step.certainty
        .zip(step.evidence)
        .map(|(certainty, evidence)| format!(" ({})", known(certainty, evidence)))
        .unwrap_or_default()
}

/// How every amount of a bill came about; `whose` says with what it is calculated, where it is not the build as it stands.
pub(super) fn trail_of(bill: &Bill, whose: &str, show: &Show) -> Grid {
    let mut grid = Grid::new("trail", &["rule", "amount", "row", "how, and the source"]);
    grid.stacked = true;
    grid.rows
        .push(vec![Cell::text(format!("trail of {}{whose}", bill.id))]);
    let own = show.as_it_is();
    for step in &bill.trail {
        let amount = match (step.amount, step.kind) {
            (Some(amount), "price" | "discount") => {
                Cell::number(Money::new(amount, bill.paid_in).to_string())
            }
            (Some(amount), _) => Cell::number(own.amount(amount)),
            (None, "exchange") => Cell::Empty,
            (None, _) => Cell::NotDue("nil".to_owned()),
        };
        let rows: Vec<String> = step
            .row
            .iter()
            .chain(&step.rate_rows)
            .map(ToString::to_string)
            .collect();
        let marks = marks(step);
        let sources: Vec<&str> = std::iter::once(&step.source)
            .chain(&step.rate_sources)
            .map(String::as_str)
            .collect();
        let disputes: String = step
            .disputes
            .iter()
            .map(|said| format!(" {said}"))
            .collect();
        let how = format!(
            "{} — {}{marks}{disputes}",
            step.text,
            sources.join("; the rate: ")
        );
        grid.rows.push(vec![
            Cell::text(format!("  {} {}", step.kind, step.id)),
            amount,
            Cell::text(rows.join(" ")),
            Cell::text(how),
        ]);
    }
    grid
}

/// What is disputed, as one text; none where nothing is.
pub(super) fn joined(disputes: &[String]) -> Option<String> {
    (!disputes.is_empty()).then(|| disputes.join(" "))
}

/// The same for programs.
pub(super) fn steps_json(bill: &Bill) -> Vec<Value> {
    let step = |step: &Step| {
        json!({
            "id": step.id,
            "kind": step.kind,
            "amount": step.amount.map(|a: Dec| a.to_string()),
            "row": step.row.as_ref().map(ToString::to_string),
            "rate_rows": step.rate_rows.iter().map(ToString::to_string).collect::<Vec<_>>(),
            "source": step.source,
            "rate_sources": step.rate_sources,
            "certainty": step.certainty.map(|c| c.to_string()),
            "dispute": joined(&step.disputes),
            "evidence": step.evidence.map(|e| e.to_string()),
            "text": step.text,
        })
    };
    bill.trail.iter().map(step).collect()
}

/// Adds the trails of a build's bills, at the end of a screen and as `trails`.
pub(crate) fn add_trails(bills: &[Bill], show: &Show, view: &mut View, json: &mut Value) {
    view.head("How every amount came about");
    if bills.is_empty() {
        view.say("No seller is paid: there is nothing to calculate.");
    }
    bills
        .iter()
        .for_each(|bill| view.table(trail_of(bill, "", show)));
    json["trails"] = trails_json(bills);
}

/// Beside a ranking: the bills that each option changes.
pub(crate) fn add_option_trails(ranking: &Ranking, show: &Show, view: &mut View, json: &mut Value) {
    let each = ranking.options.iter().map(|option| {
        (
            format!(", with {}", option.title()),
            option.bills.as_slice(),
        )
    });
    add_each("options", each, show, view, json);
}

/// Beside a comparison: the bills of bikes from abroad.
pub(crate) fn add_bike_trails(
    comparison: &Comparison,
    show: &Show,
    view: &mut View,
    json: &mut Value,
) {
    let bikes = comparison.bikes.iter().map(|against| &against.reference);
    let each = bikes.map(|bike| (format!(", for {}", bike.name), bike.bills.as_slice()));
    add_each("bikes", each, show, view, json);
}

/// Trails of things that stand in the JSON under a name in the same order.
fn add_each<'a>(
    under: &str,
    each: impl Iterator<Item = (String, &'a [Bill])>,
    show: &Show,
    view: &mut View,
    json: &mut Value,
) {
    let mut entries = json
        .get_mut(under)
        .and_then(Value::as_array_mut)
        .map(|all| all.iter_mut());
    for (whose, bills) in each {
        bills
            .iter()
            .for_each(|bill| view.table(trail_of(bill, &whose, show)));
        if let Some(entry) = entries.as_mut().and_then(Iterator::next) {
            entry["trails"] = trails_json(bills);
        }
    }
}

fn trails_json(bills: &[Bill]) -> Value {
    bills
        .iter()
        .map(|bill| json!({"id": bill.id, "trail": steps_json(bill)}))
        .collect()
}
