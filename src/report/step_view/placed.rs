//! `order --placed` and `order --cancelled`: what is on the way now, and how what was paid differs from what was expected.

use serde_json::json;

use super::Step;
use crate::report::show::Show;
use crate::steps::Placed;
use crate::text::words::count;
use crate::units::{Dec, Overflow};

/// An order that was placed, and what the build lands at before it and with it.
pub(crate) fn placed_step(
    placed: &Placed,
    (before, landed): (Dec, Dec),
    show: &Show,
) -> Result<Step, Overflow> {
    let total = placed.total.amount().grouped(placed.currency.digits());
    let more = placed.paid.minus(placed.expected)?;
    let word = if more.is_negative() { "less" } else { "more" };
    let apart = format!("{} {word} than expected", show.amount(more.abs()));
    let as_shown = placed.took == Some(placed.total);
    let differs = match as_shown {
        _ if more.is_zero() => "as expected".to_owned(),
        true => format!("{apart}, by the exchange rate of {}", placed.date),
        false => apart,
    };
    let json = json!({
        "format": "landwaiter.placed/1",
        "parcel": placed.parcel,
        "ordered": placed.date.to_string(),
        "parts": placed.parts,
        "checkout": placed.total.amount().fixed(placed.currency.digits()),
        "checkout_currency": placed.currency.code(),
        "currency": show.currency.code(),
        "expected": show.exact(placed.expected),
        "paid": show.exact(placed.paid),
        "landed": show.exact(landed),
    });
    let took = if as_shown {
        format!(
            "The checkout took {total} {}, as it should.",
            placed.currency
        )
    } else {
        format!(
            "The checkout should have shown {total} {}: if it took another sum, ask the seller before it is sent.",
            placed.currency
        )
    };
    let moved = show.difference(landed, before)?;
    let landed = if moved.is_zero() {
        format!("The landed cost of the build stays {}.", show.money(landed))
    } else {
        let word = if moved.is_negative() { "less" } else { "more" };
        format!(
            "The landed cost of the build is {} now, {} {word}: rates and codes are those of {}.",
            show.money(landed),
            show.as_it_is().amount(moved.abs()),
            placed.date
        )
    };
    let then = vec![took, landed];
    Ok(Step {
        answer: format!(
            "{} is on its way: {}, {} paid, {differs}.",
            placed.parcel,
            count(placed.parts, "part", "parts"),
            show.money(placed.paid)
        ),
        then,
        table: None,
        next: "`landwaiter` alone lists what is on its way and when it is expected.".to_owned(),
        idle: false,
        json,
    })
}

/// An order that was cancelled, and what the build lands at without it having been paid.
pub(crate) fn cancelled_step(parcel: &str, parts: usize, landed: Dec, show: &Show) -> Step {
    let json = json!({
        "format": "landwaiter.cancelled/1",
        "parcel": parcel,
        "parts": parts,
        "currency": show.currency.code(),
        "landed": show.exact(landed),
    });
    Step {
        answer: format!(
            "The order from {parcel} is cancelled: {} to order again.",
            count(parts, "part is", "parts are")
        ),
        then: vec![format!(
            "Nothing counts as paid for it any more: look for the refund on your account. The landed cost of the build is {}.",
            show.money(landed)
        )],
        table: None,
        next: "`landwaiter plan` finds what to order instead.".to_owned(),
        idle: false,
        json,
    }
}
