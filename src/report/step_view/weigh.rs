//! `weigh`: what a part weighs now, how far that is from what was claimed, and what the bike weighs.

use serde_json::json;

use super::{Step, heavier};
use crate::book::{Book, MassKind};
use crate::units::{Grams, Overflow};

/// What a reading says of a part, or of the whole bike, in a book that has it.
pub(crate) fn weighed_step(
    book: &Book,
    part: &str,
    (before, after): (Grams, Grams),
    limit: Option<Grams>,
) -> Result<Step, Overflow> {
    let row = book.main_row(part);
    let claim = book.claims.iter().find(|claim| claim.part == part);
    let one = row.and_then(|row| row.mass).filter(|_| claim.is_some());
    let bike = if before == after {
        format!("The bike weighs {} g, as before.", after.grouped())
    } else {
        format!(
            "The bike weighs {} g now, {} than before.",
            after.grouped(),
            heavier(after, before)?
        )
    };
    let quantity = row.map_or(1, |row| row.quantity);
    let claimed = claim.and_then(|claim| Some((claim.mass?, claim.kind)));
    let (answer, mut then) = match one {
        Some(mass) => (sentence(part, (mass, quantity), claimed)?, vec![bike]),
        None if row.is_some() => (
            format!(
                "The reading of {part} is entered and waits: it counts when its other pieces are weighed too."
            ),
            vec![bike],
        ),
        None => (bike, Vec::new()),
    };
    then.extend(limit.map(|limit| to_limit(after, limit)).transpose()?);
    let grams = |mass: Grams| mass.to_string();
    let json = json!({
        "format": "landwaiter.weigh/1",
        "part": part,
        "mass_g": one.map(grams),
        "quantity": quantity,
        "claimed_g": claimed.map(|(mass, _)| grams(mass)),
        "heavier_g": one.zip(claimed).map(|(now, (was, _))| now.minus(was)).transpose()?.map(grams),
        "bike_before_g": grams(before),
        "bike_g": grams(after),
    });
    Ok(Step {
        answer,
        then,
        table: None,
        next: "weigh the next part, or compare all weights with `landwaiter settle`.".to_owned(),
        idle: false,
        json,
    })
}

/// What a part weighs, beside what was said of it.
fn sentence(
    part: &str,
    (mass, quantity): (Grams, u32),
    claimed: Option<(Grams, MassKind)>,
) -> Result<String, Overflow> {
    let (each, together) = if quantity > 1 {
        let all = mass.times(quantity)?;
        (" each", format!(", {} g together", all.grouped()))
    } else {
        ("", String::new())
    };
    let Some((was, kind)) = claimed else {
        return Ok(format!(
            "{part} weighs {} g{each}{together}: no weight was known before.",
            mass.grouped()
        ));
    };
    let how = match kind {
        MassKind::Weighed => "weighed before",
        MassKind::Claimed => "claimed",
        MassKind::Guess => "guessed",
    };
    let far = if was == mass {
        format!("as {how}")
    } else {
        format!("{}{each} than {how}", heavier(mass, was)?)
    };
    Ok(format!(
        "{part} weighs {} g{each}{together}: {far}.",
        mass.grouped()
    ))
}

/// How far the bike is from its weight limit.
fn to_limit(mass: Grams, limit: Grams) -> Result<String, Overflow> {
    let left = limit.minus(mass)?;
    Ok(if left.0.is_negative() {
        format!(
            "That is {} g over the limit of {} g.",
            Grams(left.0.negated()).grouped(),
            limit.grouped()
        )
    } else {
        format!(
            "That is {} g under the limit of {} g.",
            left.grouped(),
            limit.grouped()
        )
    })
}
