//! `take` and `plan --write`: what the build has now, what it lands at and weighs, and what that replaced.

use serde_json::{Value, json};

use super::{Step, dearer, heavier};
use crate::landed::Question;
use crate::plan::Plans;
use crate::report::plan_changes::changes;
use crate::report::plan_view::plan_json;
use crate::report::show::Show;
use crate::steps::{Sums, Taken};
use crate::text::words::{count, list};
use crate::units::{Dec, Overflow};

/// What follows from a build that changed: what it lands at and weighs now, and how far that is from the limits.
fn follows(
    before: Option<Sums>,
    after: Sums,
    ask: &Question,
    show: &Show,
) -> Result<Vec<String>, Overflow> {
    let (cost, weight) = match before {
        Some(before) => {
            let shown = show.as_it_is();
            let (now, was) = (show.rounded(after.landed)?, show.rounded(before.landed)?);
            let far = dearer(now, was, |amount| shown.amount(amount))?;
            (
                format!(", {}", than(&far)),
                format!(", {}", than(&heavier(after.mass, before.mass)?)),
            )
        }
        None => (String::new(), String::new()),
    };
    let mut said = vec![format!(
        "Landed cost {}{cost}. Weight {} g{weight}.",
        show.money(after.landed),
        after.mass.grouped()
    )];
    let mut limits = Vec::new();
    if let Some(budget) = ask.budget {
        limits.push(budget_left(budget, after.landed, show)?);
    }
    if let Some(limit) = ask.max_mass {
        let left = limit.minus(after.mass)?;
        limits.push(if left.0.is_negative() {
            format!(
                "Weight limit {} g: {} g over.",
                limit.grouped(),
                after.mass.minus(limit)?.grouped()
            )
        } else {
            format!(
                "Weight limit {} g: {} g left.",
                limit.grouped(),
                left.grouped()
            )
        });
    }
    if !limits.is_empty() {
        said.push(limits.join(" "));
    }
    Ok(said)
}

fn budget_left(budget: Dec, landed: Dec, show: &Show) -> Result<String, Overflow> {
    let left = budget.minus(landed)?;
    Ok(if left.is_negative() {
        format!(
            "Budget {}: {} over.",
            show.amount(budget),
            show.amount(left.negated())
        )
    } else {
        format!(
            "Budget {}: {} left.",
            show.amount(budget),
            show.amount(left)
        )
    })
}

fn than(far: &str) -> String {
    if far == "as much" {
        "as before".to_owned()
    } else {
        format!("{far} than before")
    }
}

/// An offer that is in the build now.
pub(crate) fn taken_step(
    taken: &Taken,
    (before, after): (Sums, Sums),
    ask: &Question,
    show: &Show,
) -> Result<Step, Overflow> {
    let option = &taken.option;
    let from = option
        .seller
        .as_ref()
        .map(|seller| format!(" from {seller}"))
        .unwrap_or_default();
    let together = [&option.with[..], &option.needs, &option.bundled].concat();
    let with = match together.as_slice() {
        [] => String::new(),
        names => format!(", with {}", list(names, "and")),
    };
    let off = [&option.replaces[..], &option.gone].concat();
    let off: Vec<String> = off
        .into_iter()
        .filter(|name| *name != option.part)
        .collect();
    let mut then = follows(Some(before), after, ask, show)?;
    if !off.is_empty() {
        let are = if off.len() == 1 {
            "is an option"
        } else {
            "are options"
        };
        then.push(format!(
            "{} {are} now, in case you want to go back.",
            list(&off, "and")
        ));
    }
    if option.offer && option.replaces.contains(&option.part) {
        then.push("The offer that was in the build stays in the book as another offer.".to_owned());
    }
    if !option.resale.is_zero() {
        then.push(format!(
            "What it replaces should fetch {}: that is not in the landed cost.",
            show.money(option.resale)
        ));
    }
    if !option.usual.is_empty() {
        let bare: Vec<String> = option
            .usual
            .iter()
            .map(|cure| format!("`{}`", cure.place))
            .collect();
        then.push(format!(
            "{} {} empty now: add a row for it to `parts.csv`.",
            list(&bare, "and"),
            if bare.len() == 1 { "is" } else { "are" }
        ));
    }
    let json = json!({
        "format": "landwaiter.take/1",
        "part": option.part,
        "seller": option.seller,
        "with": together,
        "replaces": off,
        "shown_in": show.currency.code(),
        "landed_before": show.exact(before.landed),
        "landed": show.exact(after.landed),
        "mass_before_g": before.mass.to_string(),
        "mass_g": after.mass.to_string(),
        "resale": show.exact(option.resale),
    });
    Ok(Step {
        answer: format!("{}{from} is in the build now{with}.", option.part),
        then,
        table: None,
        next: "`landwaiter rank` shows what is worth taking next.".to_owned(),
        idle: false,
        json,
    })
}

/// A plan that is the build now.
pub(crate) fn planned_step(
    plans: &Plans,
    after: Sums,
    (ask, tables): (&Question, &Value),
    show: &Show,
) -> Result<Step, Overflow> {
    let before = plans.build.map(|(landed, mass)| Sums { landed, mass });
    let many = plans.changes.len();
    let answer = if many == 0 {
        "The build is the plan already: nothing had to change.".to_owned()
    } else {
        format!(
            "The plan is the build now: {}.",
            count(many, "place has changed", "places have changed")
        )
    };
    let table = match plans.plans.last() {
        Some(plan) => Some(changes(&plans.changes, plan, plans.build, show)?),
        None => None,
    };
    let json = json!({
        "format": "landwaiter.plan-write/1",
        "shown_in": show.currency.code(),
        "landed_before": before.map(|before| show.exact(before.landed)),
        "landed": show.exact(after.landed),
        "mass_before_g": before.map(|before| before.mass.to_string()),
        "mass_g": after.mass.to_string(),
        "plan": plan_json(plans, ask, show, tables)?,
    });
    Ok(Step {
        answer,
        then: follows(before, after, ask, show)?,
        table,
        next: "`landwaiter cost` shows parcel by parcel what to order.".to_owned(),
        idle: many == 0,
        json,
    })
}
