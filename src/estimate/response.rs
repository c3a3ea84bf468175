//! What an unknown does to a sum: the sum's answer at points, straight between them.

use super::float;
use super::spread::Spread;
use crate::units::Dec;

/// One answer: an unknown's figure, and by how many minor units the sum is then away from its likely value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    x: f64,
    y: f64,
}

impl Point {
    /// The answer at a figure.
    pub fn new(x: Dec, minor_units: i64) -> Point {
        Point { x: float(x), y: minor_units as f64 }
    }
}

/// The answers of a sum to one unknown, in order of the unknown.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    pub(super) spread: Spread,
    pub(super) points: Vec<Point>,
}

impl Curve {
    /// A curve through these points; they are put in order.
    pub fn new(spread: Spread, mut points: Vec<Point>) -> Curve {
        points.sort_by(|a, b| a.x.total_cmp(&b.x));
        Curve { spread, points }
    }

    /// The least and the most that the sum moves.
    pub(super) fn range(&self) -> (f64, f64) {
        let ys = || self.points.iter().map(|p| p.y);
        (ys().fold(f64::INFINITY, f64::min), ys().fold(f64::NEG_INFINITY, f64::max))
    }

    /// The pieces of the curve: chance, and the answers between which it is spread evenly.
    pub(super) fn pieces(&self) -> Vec<(f64, f64, f64)> {
        const SLICES: u32 = 64;
        let mut found = Vec::new();
        let chance = |from: f64, to: f64| (self.spread.below(to) - self.spread.below(from)).max(0.0);
        if let Some(first) = self.points.first() {
            found.push((self.spread.below(first.x), first.y, first.y));
        }
        for pair in self.points.windows(2) {
            let [one, other] = pair else { continue };
            let at = |slice: u32| f64::from(slice) / f64::from(SLICES);
            for slice in 0..SLICES {
                let x = |share: f64| one.x + share * (other.x - one.x);
                let y = |share: f64| one.y + share * (other.y - one.y);
                found.push((chance(x(at(slice)), x(at(slice + 1))), y(at(slice)), y(at(slice + 1))));
            }
        }
        if let Some(last) = self.points.last() {
            found.push(((1.0 - self.spread.below(last.x)).max(0.0), last.y, last.y));
        }
        found.retain(|(chance, ..)| *chance > 0.0);
        found
    }
}
