//! Three-point estimates: the least, the likely and the most.

use super::{beta, float, shown};
use crate::units::Dec;

/// How the chance lies between the least and the most.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Shape {
    /// Straight up to the likely figure and straight down from it.
    #[default]
    Triangular,
    /// The beta distribution with weight 4 on the likely figure: its mean is (low + 4 likely + high) / 6, and its
    /// deviation is the beta distribution's own, not (high - low) / 6.
    Pert,
}

impl Shape {
    /// How it is said on screen.
    pub(crate) fn text(self) -> &'static str {
        match self {
            Shape::Triangular => "triangular",
            Shape::Pert => {
                "beta-PERT with weight 4: mean (low + 4 likely + high) / 6, deviation of the beta distribution, not (high - low) / 6"
            }
        }
    }
}

/// An estimate; low, likely and high in order, all three alike for a constant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct ThreePoint {
    low: f64,
    likely: f64,
    high: f64,
    shape: Shape,
}

impl ThreePoint {
    /// An estimate, when the three are in order.
    pub(crate) fn new(low: Dec, likely: Dec, high: Dec, shape: Shape) -> Option<ThreePoint> {
        (low <= likely && likely <= high).then(|| ThreePoint {
            low: float(low),
            likely: float(likely),
            high: float(high),
            shape,
        })
    }

    /// One figure that does not move.
    pub(crate) fn constant(figure: Dec) -> ThreePoint {
        let figure = float(figure);
        ThreePoint {
            low: figure,
            likely: figure,
            high: figure,
            shape: Shape::Triangular,
        }
    }

    /// Whether nothing moves.
    pub(crate) fn is_constant(&self) -> bool {
        self.low == self.high
    }

    /// The least and the most.
    pub(crate) fn ends(&self) -> (f64, f64) {
        (self.low, self.high)
    }

    /// The mean of its shape.
    pub(crate) fn mean(&self) -> f64 {
        match self.shape {
            Shape::Triangular => (self.low + self.likely + self.high) / 3.0,
            Shape::Pert => self.classic_mean(),
        }
    }

    /// The standard deviation of its shape.
    pub(crate) fn deviation(&self) -> f64 {
        let (a, m, b) = (self.low, self.likely, self.high);
        let variance = match self.shape {
            Shape::Triangular => (a * a + m * m + b * b - a * m - a * b - m * b) / 18.0,
            Shape::Pert => (self.mean() - a) * (b - self.mean()) / 7.0,
        };
        variance.max(0.0).sqrt()
    }

    /// The textbook mean of a PERT estimate, (low + 4 likely + high) / 6.
    pub(crate) fn classic_mean(&self) -> f64 {
        (self.low + 4.0 * self.likely + self.high) / 6.0
    }

    /// The textbook deviation of a PERT estimate, (high - low) / 6: a rule of thumb, not the beta distribution's.
    #[cfg(test)]
    pub(crate) fn classic_deviation(&self) -> f64 {
        (self.high - self.low) / 6.0
    }

    /// The share below a figure.
    pub(crate) fn below(&self, x: f64) -> f64 {
        let (a, m, b) = (self.low, self.likely, self.high);
        if x < a {
            return 0.0;
        }
        if x >= b {
            return 1.0;
        }
        match self.shape {
            Shape::Triangular if x < m => (x - a) * (x - a) / ((b - a) * (m - a)),
            Shape::Triangular => 1.0 - (b - x) * (b - x) / ((b - a) * (b - m)),
            Shape::Pert => beta::below(
                (x - a) / (b - a),
                1.0 + 4.0 * (m - a) / (b - a),
                1.0 + 4.0 * (b - m) / (b - a),
            ),
        }
    }

    /// The figure below which a share of the outcomes lies.
    pub(crate) fn quantile(&self, share: f64) -> f64 {
        let (a, m, b) = (self.low, self.likely, self.high);
        if self.is_constant() {
            return a;
        }
        if self.shape == Shape::Triangular {
            let turn = (m - a) / (b - a);
            return if share < turn {
                a + (share * (b - a) * (m - a)).sqrt()
            } else {
                b - ((1.0 - share) * (b - a) * (b - m)).sqrt()
            };
        }
        let (mut from, mut to) = (a, b);
        for _ in 0..200 {
            let middle = from.midpoint(to);
            if middle <= from || middle >= to {
                break;
            }
            if self.below(middle) < share {
                from = middle;
            } else {
                to = middle;
            }
        }
        from.midpoint(to)
    }
}

/// The mean and the deviation of a triangle, to three decimals; zero and zero where the three are not in order.
pub(crate) fn mean_and_deviation(low: Dec, likely: Dec, high: Dec) -> (Dec, Dec) {
    let Some(points) = ThreePoint::new(low, likely, high, Shape::Triangular) else {
        return (Dec::ZERO, Dec::ZERO);
    };
    (shown(points.mean(), 3), shown(points.deviation(), 3))
}
