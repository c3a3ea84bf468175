//! The frontier of cost and effect: what another option beats on both counts, and what two others could beat together.
//!
//! The second, extended dominance, rests on mixing two options, and nobody buys half a wheelset: it is advice, and removes
//! nothing. The procedure is the standard one of health economics (Drummond and others, Methods for the Economic Evaluation of
//! Health Care Programmes, 4th edition, 2015).

use super::ratio::Ratio;
use crate::units::{Dec, Overflow};

/// One option.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Point {
    /// Its name.
    pub(crate) name: String,
    /// What it costs.
    pub(crate) cost: Dec,
    /// What it does; more is better.
    pub(crate) effect: Dec,
}

/// How an option stands among the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// On the frontier.
    Frontier,
    /// Off it, as two others mixed would do more for the money: advice only.
    Extended,
    /// Another does at least as much for at most the money.
    Dominated,
}

impl Standing {
    /// Its letters in the outputs: `ND`, `ED`, `D`.
    pub(crate) fn letters(self) -> &'static str {
        match self {
            Standing::Frontier => "ND",
            Standing::Extended => "ED",
            Standing::Dominated => "D",
        }
    }
}

/// The finding about one option, in the order the options were given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Status {
    /// How it stands.
    pub(crate) standing: Standing,
    /// More cost for each more effect, against the next cheaper option on the frontier; none off the frontier and for its
    /// cheapest.
    pub(crate) step: Option<Ratio>,
}

impl Status {
    /// Of an option with no others beside it.
    pub(crate) const ALONE: Status = Status {
        standing: Standing::Frontier,
        step: None,
    };
}

/// Finds how every option stands.
pub(crate) fn frontier(points: &[Point]) -> Result<Vec<Status>, Overflow> {
    let dominated: Vec<bool> = points
        .iter()
        .map(|point| points.iter().any(|other| beats(other, point)))
        .collect();
    let mut alive: Vec<&Point> = points
        .iter()
        .zip(&dominated)
        .filter(|(_, out)| !**out)
        .map(|(point, _)| point)
        .collect();
    alive.sort_by(|a, b| a.cost.cmp(&b.cost).then(a.effect.cmp(&b.effect)));
    alive.dedup_by(|a, b| a.cost == b.cost && a.effect == b.effect);
    let hull = hull(&alive)?;
    let find = |point: &Point| {
        hull.iter()
            .position(|on| on.cost == point.cost && on.effect == point.effect)
    };
    let mut found = Vec::with_capacity(points.len());
    for (point, out) in points.iter().zip(dominated) {
        let status = match find(point) {
            _ if out => Status {
                standing: Standing::Dominated,
                step: None,
            },
            None => Status {
                standing: Standing::Extended,
                step: None,
            },
            Some(at) => {
                let before = at.checked_sub(1).and_then(|before| hull.get(before));
                let step = before
                    .map(|before| step(before, point))
                    .transpose()?
                    .flatten();
                Status {
                    standing: Standing::Frontier,
                    step,
                }
            }
        };
        found.push(status);
    }
    Ok(found)
}

/// Costs no more, does no less, and one of the two strictly.
fn beats(one: &Point, other: &Point) -> bool {
    one.cost <= other.cost
        && one.effect >= other.effect
        && (one.cost < other.cost || one.effect > other.effect)
}

/// Keeps the options whose steps rise; an option whose step is greater than the next one is left out.
fn hull<'a>(by_cost: &[&'a Point]) -> Result<Vec<&'a Point>, Overflow> {
    let mut kept: Vec<&Point> = Vec::with_capacity(by_cost.len());
    for next in by_cost {
        while let [.., before, last] = kept.as_slice() {
            if step(before, last)? > step(last, next)? {
                kept.pop();
            } else {
                break;
            }
        }
        kept.push(next);
    }
    Ok(kept)
}

/// More cost for each more effect.
fn step(from: &Point, to: &Point) -> Result<Option<Ratio>, Overflow> {
    Ratio::of(to.cost.minus(from.cost)?, to.effect.minus(from.effect)?)
}
