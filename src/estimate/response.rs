//! What an unknown does to a sum: the sum's answer at points, straight between them.

use super::float;
use super::spread::Spread;
use crate::units::Dec;

/// One answer: an unknown's figure, and by how many minor units the sum is then away from its likely value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Point {
    x: f64,
    y: f64,
}

impl Point {
    /// The answer at a figure.
    pub(crate) fn new(x: Dec, minor_units: i64) -> Point {
        Point {
            x: float(x),
            y: minor_units as f64,
        }
    }
}

/// The answers of a sum to one unknown, in order of the unknown.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Curve {
    pub(super) spread: Spread,
    pub(super) points: Vec<Point>,
}

impl Curve {
    /// A curve through these points; they are put in order.
    pub(crate) fn new(spread: Spread, mut points: Vec<Point>) -> Curve {
        points.sort_by(|a, b| a.x.total_cmp(&b.x));
        Curve { spread, points }
    }

    /// The least and the most that the sum moves.
    pub(super) fn range(&self) -> (f64, f64) {
        let ys = || self.points.iter().map(|p| p.y);
        (
            ys().fold(f64::INFINITY, f64::min),
            ys().fold(f64::NEG_INFINITY, f64::max),
        )
    }

    /// The answer at a figure, straight between two points.
    pub(super) fn answer(&self, x: f64) -> f64 {
        let after = self.points.partition_point(|p| p.x < x);
        let at = |index: usize| self.points.get(index);
        match (after.checked_sub(1).and_then(at), at(after)) {
            (Some(one), Some(other)) if other.x > one.x => {
                one.y + (other.y - one.y) * (x - one.x) / (other.x - one.x)
            }
            (_, Some(only)) | (Some(only), None) => only.y,
            (None, None) => 0.0,
        }
    }

    /// The pieces of the curve within a span of the unknown: chance, and the answers between which it is spread evenly.
    pub(super) fn pieces_within(&self, from: f64, to: f64) -> Vec<(f64, f64, f64)> {
        const SLICES: u32 = 128;
        let mut found = Vec::new();
        let share = |x: f64| {
            if x == f64::INFINITY {
                1.0
            } else if x == f64::NEG_INFINITY {
                0.0
            } else {
                self.spread.below(x)
            }
        };
        let mut piece = |a: f64, b: f64| {
            let (a, b) = (a.max(from), b.min(to));
            if a < b {
                let y = |x: f64| self.answer(x.clamp(self.first_x(), self.last_x()));
                found.push(((share(b) - share(a)).max(0.0), y(a), y(b)));
            }
        };
        piece(f64::NEG_INFINITY, self.first_x());
        for pair in self.points.windows(2) {
            let [one, other] = pair else { continue };
            let x = |slice: u32| one.x + f64::from(slice) / f64::from(SLICES) * (other.x - one.x);
            (0..SLICES).for_each(|slice| piece(x(slice), x(slice + 1)));
        }
        piece(self.last_x(), f64::INFINITY);
        found.retain(|(chance, ..)| *chance > 0.0);
        found
    }

    /// The mean of the answer, and of its square.
    pub(super) fn moments(&self) -> (f64, f64) {
        if self.spread.is_constant() {
            let all = self.points.iter().map(|p| p.y).fold(0.0, |most: f64, y| {
                if y.abs() > most.abs() { y } else { most }
            });
            return (all, all * all);
        }
        let pieces = self.pieces_within(f64::NEG_INFINITY, f64::INFINITY);
        let whole: f64 = pieces.iter().map(|(p, ..)| p).sum();
        if whole <= 0.0 {
            return (0.0, 0.0);
        }
        let mean: f64 = pieces.iter().map(|(p, a, b)| p * (a + b) / 2.0).sum();
        let square: f64 = pieces
            .iter()
            .map(|(p, a, b)| p * (a * a + a * b + b * b) / 3.0)
            .sum();
        (mean / whole, square / whole)
    }

    fn first_x(&self) -> f64 {
        self.points.first().map_or(0.0, |p| p.x)
    }

    fn last_x(&self) -> f64 {
        self.points.last().map_or(0.0, |p| p.x)
    }
}
