//! Where no plan keeps the limits: the nearest ones on either side, as a screen and as JSON.

use serde_json::{Value, json};

use super::cautions::LAST;
use super::plan_changes::changes;
use super::show::Show;
use super::view::{Cell, Grid, View};
use crate::landed::Question;
use crate::plan::{Near, NoPlan, Side};
use crate::text::words::list;
use crate::units::{Grams, Overflow};

/// The nearest plans; nothing where the limits are not the reason.
pub(crate) fn nearest_view(none: &NoPlan, show: &Show) -> Result<View, Overflow> {
    let mut view = View::default();
    if let Some(near) = none.nearest.first() {
        view.answer(answer(near, show));
    }
    let landed = format!("landed {}", show.currency);
    let over = format!("{} over", show.currency);
    let heads = ["nearest plan", "weight g", "g over", &landed, &over];
    let mut grid = Grid::new("nearest", &heads);
    for near in &none.nearest {
        let mass = |mass: Grams| Cell::number(mass.grouped());
        grid.rows.push(vec![
            Cell::text(name(near.side)),
            mass(near.plan.mass),
            near.over_mass.map_or(Cell::Empty, mass),
            Cell::number(show.amount(near.plan.landed)),
            near.over_budget
                .map_or(Cell::Empty, |over| Cell::number(show.amount(over))),
        ]);
    }
    view.table(grid);
    for near in &none.nearest {
        view.head(format!("What changes in {}", name(near.side)));
        if near.changes.is_empty() {
            view.say("Nothing: it is the build as it is now.");
        }
        let mut table = changes(&near.changes, &near.plan, none.build, show)?;
        table.name = near.side.name();
        view.table(table);
    }
    if !none.nearest.is_empty() {
        view.say("");
        view.say("Next: raise the limit that is missed, or add offers: rows whose `role` is `rival` or `option`.");
        LAST.iter().for_each(|line| view.say(*line));
    }
    Ok(view)
}

/// The nearest plan, and by how much it misses a limit; the error before it says which limit.
fn answer(near: &Near, show: &Show) -> String {
    let mut beyond = Vec::new();
    if let Some(over) = near.over_mass {
        beyond.push(format!("{} g over the weight limit", over.grouped()));
    }
    if let Some(over) = near.over_budget {
        beyond.push(format!("{} over the budget", show.amount(over)));
    }
    format!(
        "The nearest plan is {}: {} landed, {} g; {}.",
        name(near.side),
        show.money(near.plan.landed),
        near.plan.mass.grouped(),
        list(&beyond, "and")
    )
}

/// Which plan it is, in words.
fn name(side: Side) -> &'static str {
    match side {
        Side::WithinMass => "the cheapest within the weight limit",
        Side::Lightest => "the lightest there is",
        Side::WithinBudget => "the lightest within the budget",
        Side::Cheapest => "the cheapest there is",
    }
}

/// The same for programs: no plans, the reason, and the nearest ones.
pub(crate) fn nearest_json(none: &NoPlan, ask: &Question, show: &Show, tables: &Value) -> Value {
    let place = none.reason.place.as_ref().map(ToString::to_string);
    let near = |near: &Near| {
        json!({
            "side": near.side.name(),
            "landed": show.exact(near.plan.landed),
            "mass_g": near.plan.mass.to_string(),
            "proven": near.plan.proven,
            "over_mass_g": near.over_mass.map(|over| over.to_string()),
            "over_budget": near.over_budget.map(|over| show.exact(over)),
            "choices": super::plan_view::choices(&near.plan),
            "changes": super::plan_changes::changes_json(&near.changes, show),
        })
    };
    json!({
        "format": super::plan_view::FORMAT,
        "destination": ask.to.to_string(),
        "currency": show.currency.to_string(),
        "date": ask.date.to_string(),
        "tables": tables,
        "limits": super::plan_view::limits_json(ask, show),
        "max_mass_g": ask.max_mass.map(|m| m.to_string()),
        "budget": ask.budget.map(|b| show.exact(b)),
        "plans": [],
        "reason": none.reason.message,
        "place": place,
        "notes": none.reason.notes,
        "nearest": none.nearest.iter().map(near).collect::<Vec<_>>(),
    })
}
