//! Moves that have been seen: relative changes over a number of days, and how they lay.

use super::{float, shown};
use crate::units::Dec;

/// Relative moves out of a hundred, sorted.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct History {
    sorted: Vec<f64>,
}

/// Fewer windows than this say nothing.
const FEWEST: usize = 60;

/// The moves of a series over a number of steps, in percent; none when the series is too short.
pub(crate) fn moves(series: &[Dec], steps: usize) -> Option<History> {
    let figures: Vec<f64> = series.iter().map(|d| float(*d)).collect();
    let pairs = figures.iter().zip(figures.iter().skip(steps));
    let mut sorted: Vec<f64> = pairs
        .filter(|(then, _)| **then > 0.0)
        .map(|(then, later)| (later / then - 1.0) * 100.0)
        .collect();
    sorted.sort_by(f64::total_cmp);
    (sorted.len() >= FEWEST).then_some(History { sorted })
}

impl History {
    /// How many windows were seen; they overlap.
    pub(crate) fn windows(&self) -> usize {
        self.sorted.len()
    }

    /// The move below which this many out of a hundred lay, to two decimals.
    pub(crate) fn point(&self, percent: u32) -> Dec {
        shown(self.quantile(f64::from(percent) / 100.0), 2)
    }

    /// The least and the most, rounded outwards to two decimals.
    pub(crate) fn ends(&self) -> (Dec, Dec) {
        let (low, high) = (self.quantile(0.0), self.quantile(1.0));
        (
            shown((low * 100.0).floor() / 100.0, 2),
            shown((high * 100.0).ceil() / 100.0, 2),
        )
    }

    pub(super) fn quantile(&self, share: f64) -> f64 {
        let last = self.sorted.len().saturating_sub(1);
        let at = share * last as f64;
        let from = at.floor() as usize;
        let value = |index: usize| self.sorted.get(index.min(last)).copied().unwrap_or(0.0);
        value(from) + (at - from as f64) * (value(from + 1) - value(from))
    }

    /// The share below a move, straight between two that were seen.
    pub(super) fn below(&self, x: f64) -> f64 {
        let last = self.sorted.len().saturating_sub(1);
        let at = self.sorted.partition_point(|move_seen| *move_seen <= x);
        if at == 0 {
            return 0.0;
        }
        if at > last {
            return 1.0;
        }
        let (one, other) = (self.sorted[at - 1], self.sorted[at]);
        let within = if other > one {
            (x - one) / (other - one)
        } else {
            0.0
        };
        ((at - 1) as f64 + within) / last as f64
    }
}
