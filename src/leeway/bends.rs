//! Where an answer is asked for: more often where it bends, and an exchange rate's range in slices of equal chance.

use std::collections::BinaryHeap;

use super::driver::Driver;
use crate::text::Problems;
use crate::units::{Dec, Mode};

/// Slices of an exchange rate's range, of equal chance.
const SLICES: u32 = 8;

/// A stretch of an answer between two points, with what the answer is in its middle and by how much it bends there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Stretch {
    bend: i64,
    one: (Dec, i64),
    middle: (Dec, i64),
    other: (Dec, i64),
    /// How often it may still be halved.
    depth: u32,
}

/// Halves the stretches of an answer, the one that bends most first, until it is straight within two minor units, the
/// stretches are as narrow as matters, or there are points enough. A law that rounds to whole units answers in thousands of small
/// steps: after the large ones they lie below the step of the grid on which the answers are added.
pub(super) fn refine(
    points: &mut Vec<(Dec, i64)>,
    answer: &impl Fn(Dec) -> Result<i64, Problems>,
) -> Result<(), Problems> {
    const STRAIGHT: i64 = 4;
    const HALVINGS: u32 = 12;
    const POINTS: usize = 64;
    let stretch =
        |one: (Dec, i64), other: (Dec, i64), depth: u32| -> Result<Option<Stretch>, Problems> {
            let middle = one
                .0
                .plus(other.0)
                .and_then(|both| both.over(Dec::from(2_u32)))?
                .round_to(8, Mode::HalfUp);
            if depth == 0 || middle <= one.0 || middle >= other.0 {
                return Ok(None);
            }
            let y = answer(middle)?;
            let bend = y
                .saturating_mul(2)
                .saturating_sub(one.1.saturating_add(other.1))
                .saturating_abs();
            Ok((bend > STRAIGHT).then_some(Stretch {
                bend,
                one,
                middle: (middle, y),
                other,
                depth,
            }))
        };
    let mut bent = BinaryHeap::new();
    for pair in points.clone().windows(2) {
        if let [one, other] = pair {
            bent.extend(stretch(*one, *other, HALVINGS)?);
        }
    }
    while let Some(widest) = bent.pop() {
        points.push(widest.middle);
        if points.len() >= POINTS {
            break;
        }
        bent.extend(stretch(widest.one, widest.middle, widest.depth - 1)?);
        bent.extend(stretch(widest.middle, widest.other, widest.depth - 1)?);
    }
    Ok(())
}

/// The ends and the middles of slices of equal chance; one slice where nothing is sliced.
pub(super) fn slices(first: Option<&Driver>) -> Vec<(Option<Dec>, Dec)> {
    let Some(first) = first.filter(|d| !d.spread.is_constant()) else {
        return vec![(None, first.map_or(Dec::ZERO, |d| d.likely))];
    };
    let at = |eighths: u32| first.spread.point(eighths * 10_000 / SLICES / 2);
    (0..SLICES)
        .map(|slice| {
            (
                (slice + 1 < SLICES).then(|| at(2 * slice + 2)),
                at(2 * slice + 1),
            )
        })
        .collect()
}
