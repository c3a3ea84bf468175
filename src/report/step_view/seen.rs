//! `seen`: what an offer costs now, and what that does to the landed cost.

use serde_json::json;

use super::{Step, dearer};
use crate::book::Part;
use crate::report::show::Show;
use crate::steps::Leads;
use crate::units::{Dec, Money, Overflow};

/// An offer before and after its price was entered, and what the price leads to before and after.
pub(crate) fn seen_step(
    (old, new): (&Part, &Part),
    (before, after): (&Leads, &Leads),
    show: &Show,
) -> Result<Step, Overflow> {
    let then = match (before, after) {
        (Leads::Build(before), Leads::Build(after)) => format!(
            "The landed cost is {} now, {} before.",
            show.money(*after),
            changed(show, *after, *before)?
        ),
        (Leads::Adds(before), Leads::Adds(after)) => format!(
            "Taking it would {} the landed cost; at the last price it would {}.",
            adds(*after, show.money(after.abs()), " to", " off"),
            adds(*before, show.amount(before.abs()), "", " off")
        ),
        (_, Leads::Adds(after) | Leads::Build(after)) => format!(
            "Taking it would {} the landed cost.",
            adds(*after, show.money(after.abs()), " to", " off")
        ),
        (_, Leads::Unknown(why)) => {
            format!("What taking it would add cannot be worked out: {why}.")
        }
    };
    let figure = |leads: &Leads| match leads {
        Leads::Build(amount) | Leads::Adds(amount) => Some(show.exact(*amount)),
        Leads::Unknown(_) => None,
    };
    let json = json!({
        "format": "landwaiter.seen/1",
        "part": new.name,
        "seller": new.seller,
        "price": new.price.map(|price| price.to_string()),
        "price_before": old.price.map(|price| price.to_string()),
        "currency": new.currency.map(|money| money.to_string()),
        "seen": new.seen.map(|day| day.to_string()),
        "in_build": matches!(after, Leads::Build(_)),
        "shown_in": show.currency.code(),
        "landed_or_added": figure(after),
        "landed_or_added_before": figure(before),
    });
    Ok(Step {
        answer: sentence(old, new)?,
        then: vec![then],
        table: None,
        next: "`landwaiter check` lists the prices that are old.".to_owned(),
        idle: false,
        json,
    })
}

/// Whether an amount is added to something or taken off it.
fn adds(amount: Dec, told: String, to: &str, off: &str) -> String {
    if amount.is_negative() {
        format!("take {told}{off}")
    } else {
        format!("add {told}{to}")
    }
}

fn changed(show: &Show, after: Dec, before: Dec) -> Result<String, Overflow> {
    let (after, before) = (show.rounded(after)?, show.rounded(before)?);
    let far = dearer(after, before, |amount| show.as_it_is().amount(amount))?;
    Ok(if far == "as much" {
        "as".to_owned()
    } else {
        format!("{far} than")
    })
}

/// What an offer costs now beside what it cost.
fn sentence(old: &Part, new: &Part) -> Result<String, Overflow> {
    let from = new
        .seller
        .as_ref()
        .map(|seller| format!(" from {seller}"))
        .unwrap_or_default();
    let told = |price: Dec| match new.currency {
        Some(money) => Money::new(price, money).to_string(),
        None => price.to_string(),
    };
    let now = new.price.map(told).unwrap_or_default();
    let name = &new.name;
    Ok(match (old.price, new.price) {
        (Some(was), Some(price)) if old.currency == new.currency => {
            let day = old
                .seen
                .map(|day| format!(", seen on {day}"))
                .unwrap_or_default();
            let far = dearer(price, was, told)?;
            if far == "as much" {
                format!("{name}{from} still costs {now}.")
            } else {
                format!("{name}{from} costs {now} now, {far} than the last price{day}.")
            }
        }
        _ => format!("{name}{from} costs {now}: it had no price before."),
    })
}
