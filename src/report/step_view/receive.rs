//! `receive`: what came, what it does to the sums, and what can be claimed for what did not come whole.

use serde_json::{Value, json};

use super::{Step, dearer};
use crate::book::Fault;
use crate::report::show::Show;
use crate::steps::{Claim, Received, Sums};
use crate::text::words::{count, some};
use crate::units::{Date, Overflow};

/// A parcel that came on a day, in a book that has it.
pub(crate) fn received_step(
    received: &Received,
    (before, after): (Sums, Sums),
    (claims, day): (&[Claim], Date),
    show: &Show,
) -> Result<Step, Overflow> {
    let here = match received.here.as_slice() {
        [] => "nothing is in hand".to_owned(),
        parts => format!(
            "{} in hand ({})",
            count(parts.len(), "part is", "parts are"),
            some(parts, 4)
        ),
    };
    let not = match claims.len() {
        0 => String::new(),
        faults => format!(", {} not as ordered", count(faults, "is", "are")),
    };
    let answer = format!("{} came on {day}: {here}{not}.", received.parcel);
    let (now, was) = (show.rounded(after.landed)?, show.rounded(before.landed)?);
    let far = match dearer(now, was, |amount| show.as_it_is().amount(amount))?.as_str() {
        "as much" => "as before".to_owned(),
        far => format!("{far} than before"),
    };
    let mut then = vec![format!(
        "Landed cost {}, {far}. Weight {} g.",
        show.money(after.landed),
        after.mass.grouped()
    )];
    for claim in claims {
        then.push(claimed(claim, show));
    }
    if let Some(sum) = received.receipt {
        then.push(format!(
            "The {} you paid the seller are in `receipts.csv` now: in `paid` they would count as everything.",
            show.money(sum)
        ));
    }
    if received.noted {
        then.push("What you had paid stands in `note` now: enter the seller's bill with `landwaiter settle --add`.".to_owned());
    }
    if received.unordered {
        then.push("`ordered` is empty in `parcels.csv`. Enter the day of the order: the exchange rate hangs on it.".to_owned());
    }
    let next = if claims.is_empty() {
        "weigh what came with `landwaiter weigh`, and enter the carrier's bill with `landwaiter settle --add`."
    } else {
        "photograph the box and write to the seller today."
    };
    let json = json!({
        "format": "landwaiter.receive/1",
        "parcel": received.parcel,
        "arrived": day.to_string(),
        "in_hand": received.here,
        "claims": claims.iter().map(|claim| claim_json(claim, show)).collect::<Vec<_>>(),
        "shown_in": show.currency.code(),
        "paid_to_seller": received.receipt.map(|sum| show.exact(sum)),
        "landed_before": show.exact(before.landed),
        "landed": show.exact(after.landed),
        "mass_before_g": before.mass.to_string(),
        "mass_g": after.mass.to_string(),
    });
    Ok(Step {
        answer,
        then,
        table: None,
        next: next.to_owned(),
        idle: false,
        json,
    })
}

/// What can be asked for a part, of whom, and until when.
fn claimed(claim: &Claim, show: &Show) -> String {
    let what = match claim.fault {
        Fault::Missing => "was not in it",
        Fault::Damaged => "came damaged",
    };
    let seller = if claim.seller.is_empty() {
        "the seller"
    } else {
        &claim.seller
    };
    let part = &claim.part;
    let Some(owed) = claim.owed else {
        return format!("{part} {what}: ask {seller} for it. Its place is open.");
    };
    let mut said = format!(
        "{part} {what}, and its place is open: claim {} from {seller}",
        show.money(owed)
    );
    if !claim.possible.is_zero() {
        said.push_str(&format!(
            "; another {} of shipping and charges may come back",
            show.money(claim.possible)
        ));
    }
    match claim.until {
        Some(until) => said.push_str(&format!(", until {until}.")),
        None => said.push_str(". No last day is known: do it today."),
    }
    said
}

/// A claim for programs.
pub(crate) fn claim_json(claim: &Claim, show: &Show) -> Value {
    json!({
        "part": claim.part,
        "standing": claim.fault.name(),
        "seller": claim.seller,
        "owed": claim.owed.map(|owed| show.exact(owed)),
        "possible": show.exact(claim.possible),
        "until": claim.until.map(|day| day.to_string()),
    })
}
