//! What the commands say that write a step down: what was done in a sentence with its figure, then what to do next; and the same for
//! programs.

mod built;
mod placed;
mod receive;
mod seen;
mod weigh;

pub(crate) use self::{
    built::{planned_step, taken_step},
    placed::{cancelled_step, placed_step},
    receive::{claim_json, received_step},
    seen::seen_step,
    weigh::weighed_step,
};

use serde_json::Value;

use super::view::{Grid, View};
use crate::units::{Dec, Grams, Overflow};

/// A step as it is told.
pub(crate) struct Step {
    /// What was done, with its figure.
    pub(crate) answer: String,
    /// What follows from it.
    pub(crate) then: Vec<String>,
    /// The rows that it moved, where there are several.
    pub(crate) table: Option<Grid>,
    /// What to do next.
    pub(crate) next: String,
    /// Whether nothing had to be written.
    pub(crate) idle: bool,
    /// The same for programs.
    pub(crate) json: Value,
}

/// A step as a view.
pub(crate) fn step_view(step: &Step) -> View {
    let mut view = View::default();
    view.answer(&step.answer);
    step.then.iter().for_each(|line| view.say(line));
    if let Some(table) = &step.table {
        view.table(table.clone());
    }
    view.say("");
    let undo = if step.idle {
        ""
    } else {
        " `landwaiter undo` takes this back."
    };
    view.say(format!("Next: {}{undo}", step.next));
    view
}

/// By how much a weight is more or less than another.
fn heavier(now: Grams, before: Grams) -> Result<String, Overflow> {
    let more = now.minus(before)?;
    Ok(match more.0.is_negative() {
        _ if more.0.is_zero() => "as much".to_owned(),
        true => format!("{} g less", Grams(more.0.negated()).grouped()),
        false => format!("{} g more", more.grouped()),
    })
}

/// The same for two amounts, with how amounts are written.
fn dearer(now: Dec, before: Dec, amount: impl Fn(Dec) -> String) -> Result<String, Overflow> {
    let more = now.minus(before)?;
    Ok(match more.is_negative() {
        _ if more.is_zero() => "as much".to_owned(),
        true => format!("{} less", amount(more.negated())),
        false => format!("{} more", amount(more)),
    })
}
