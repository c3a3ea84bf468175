//! `order --placed` and `order --cancelled`: what is on the way now, and how what was paid differs from what was expected.

use serde_json::json;

use super::Step;
use crate::report::show::Show;
use crate::steps::Placed;
use crate::text::words::count;
use crate::units::{Dec, Overflow};

/// An order that was placed, and what the build lands at with it.
pub(crate) fn placed_step(placed: &Placed, landed: Dec, show: &Show) -> Result<Step, Overflow> {
    let more = placed.paid.minus(placed.expected)?;
    let differs = if more.is_zero() {
        "as expected".to_owned()
    } else {
        let word = if more.is_negative() { "less" } else { "more" };
        format!("{} {word} than expected", show.amount(more.abs()))
    };
    let total = placed.total.amount().grouped(placed.currency.digits());
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
    let mut then = vec![format!(
        "The checkout should have shown {total} {}. The landed cost of the build is {} now.",
        placed.currency,
        show.money(landed)
    )];
    if !more.is_zero() {
        then.push("If the seller's mail shows another total than the one you confirmed, ask before it is sent.".to_owned());
    }
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
