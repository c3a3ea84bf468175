//! Tests of the calculation that look behind its front door.

use crate::units::{Dec, Mode};

mod bounds;
mod checkout;
mod months;
mod pairs;

/// How much of a cost a bound lacks, rounded up, when the cost is cut into `parts` equal parts; none where it costs nothing.
fn lacks(least: Dec, cost: Dec, parts: u32) -> Option<i64> {
    let apart = cost.minus(least).unwrap().times(Dec::from(parts)).unwrap();
    let part = (cost > Dec::ZERO).then(|| apart.over(cost).unwrap())?;
    let whole = part.round_to(0, Mode::Ceiling);
    whole.in_units(0).and_then(|part| i64::try_from(part).ok())
}
