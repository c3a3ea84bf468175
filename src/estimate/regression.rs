//! A straight line through points by least squares, with its errors, and the market line: the logarithm of price on mass.

use super::{beta, float, shown};
use crate::units::{Dec, Grams};

/// A line fitted to points, about their middle so that large figures lose no digits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Line {
    /// Points.
    pub(crate) count: usize,
    /// Rise of y for each x.
    pub(crate) slope: f64,
    /// y where x is zero.
    pub(crate) intercept: f64,
    /// Standard error of the slope.
    pub(crate) slope_error: f64,
    /// Standard error of the intercept.
    pub(crate) intercept_error: f64,
    /// The sum of the squared residuals.
    pub(crate) residual_squares: f64,
    /// The sum of squares that the line explains.
    pub(crate) explained_squares: f64,
    /// The share of the squares that the line explains.
    pub(crate) explained: f64,
    mean_x: f64,
    mean_y: f64,
    spread_x: f64,
}

impl Line {
    /// The line of least squares; none under three points, or where all x are one.
    pub(crate) fn fit(points: &[(f64, f64)]) -> Option<Line> {
        let n = points.len() as f64;
        let mean = |of: fn(&(f64, f64)) -> f64| {
            let rough = points.iter().map(of).sum::<f64>() / n;
            rough + points.iter().map(|p| of(p) - rough).sum::<f64>() / n
        };
        let (mean_x, mean_y) = (mean(|p| p.0), mean(|p| p.1));
        let spread_x: f64 = points.iter().map(|(x, _)| (x - mean_x).powi(2)).sum();
        if points.len() < 3 || spread_x <= 0.0 {
            return None;
        }
        let spread_y: f64 = points.iter().map(|(_, y)| (y - mean_y).powi(2)).sum();
        let slope = points
            .iter()
            .map(|(x, y)| (x - mean_x) * (y - mean_y))
            .sum::<f64>()
            / spread_x;
        let residual = |(x, y): &(f64, f64)| (y - mean_y) - slope * (x - mean_x);
        let residual_squares: f64 = points.iter().map(|p| residual(p).powi(2)).sum();
        let variance = residual_squares / (n - 2.0);
        Some(Line {
            count: points.len(),
            slope,
            intercept: mean_y - slope * mean_x,
            slope_error: (variance / spread_x).sqrt(),
            intercept_error: (variance * (1.0 / n + mean_x * mean_x / spread_x)).sqrt(),
            residual_squares,
            explained_squares: slope * slope * spread_x,
            explained: if spread_y > 0.0 {
                1.0 - residual_squares / spread_y
            } else {
                1.0
            },
            mean_x,
            mean_y,
            spread_x,
        })
    }

    /// The variance of a point about the line.
    pub(crate) fn variance(&self) -> f64 {
        self.residual_squares / (self.count as f64 - 2.0)
    }

    /// The variance of slope and intercept together.
    #[cfg(test)]
    pub(crate) fn covariance(&self) -> f64 {
        -self.mean_x * self.variance() / self.spread_x
    }

    /// y on the line.
    pub(crate) fn at(&self, x: f64) -> f64 {
        self.mean_y + self.slope * (x - self.mean_x)
    }

    /// Half the width of the band in which one more point at x lies with this chance.
    pub(crate) fn band(&self, x: f64, chance: f64) -> f64 {
        let n = self.count as f64;
        let spread =
            (self.variance() * (1.0 + 1.0 / n + (x - self.mean_x).powi(2) / self.spread_x)).sqrt();
        student(f64::midpoint(1.0, chance), n - 2.0) * spread
    }
}

/// The point of Student's curve below which a share above a half lies.
pub(crate) fn student(share: f64, freedom: f64) -> f64 {
    let outside = |t: f64| 0.5 * beta::below(freedom / (freedom + t * t), freedom / 2.0, 0.5);
    let (mut low, mut high) = (0.0, 1.0);
    while outside(high) > 1.0 - share && high < 1.0e12 {
        high *= 2.0;
    }
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if outside(middle) > 1.0 - share {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

/// What the market asks at a mass: a line through the logarithms of prices, on kilograms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct MarketLine(Line);

impl MarketLine {
    /// The line through prices and masses; none where a price is not above zero or all masses are one.
    pub(crate) fn fit(bikes: &[(Dec, Grams)]) -> Option<MarketLine> {
        if bikes.iter().any(|(price, _)| !price.is_positive()) {
            return None;
        }
        let points: Vec<(f64, f64)> = bikes
            .iter()
            .map(|(price, mass)| (kilograms(*mass), float(*price).ln()))
            .collect();
        Line::fit(&points).map(MarketLine)
    }

    /// The middle price at a mass, to this many decimals.
    pub(crate) fn asks(&self, mass: Grams, decimals: u32) -> Dec {
        shown(self.0.at(kilograms(mass)).exp(), decimals)
    }

    /// The band in which 95 in 100 bikes of a mass would lie.
    pub(crate) fn band(&self, mass: Grams, decimals: u32) -> (Dec, Dec) {
        let (middle, half) = (
            self.0.at(kilograms(mass)),
            self.0.band(kilograms(mass), 0.95),
        );
        (
            shown((middle - half).exp(), decimals),
            shown((middle + half).exp(), decimals),
        )
    }

    /// How far a price lies above the line at its mass, out of a hundred of what the line asks; below zero where it lies below.
    pub(crate) fn off(&self, price: Dec, mass: Grams) -> Dec {
        shown(
            100.0 * (float(price).ln() - self.0.at(kilograms(mass))).exp_m1(),
            1,
        )
    }

    /// What one kilogram less costs at a mass on the line; below zero where lighter bikes cost less.
    pub(crate) fn next_kilogram(&self, mass: Grams, decimals: u32) -> Dec {
        shown(
            self.0.at(kilograms(mass)).exp() * (-self.0.slope).exp_m1(),
            decimals,
        )
    }

    /// The share of the squares that the line explains, out of a hundred.
    pub(crate) fn explained(&self) -> Dec {
        shown(100.0 * self.0.explained, 0)
    }
}

fn kilograms(mass: Grams) -> f64 {
    float(mass.0) / 1000.0
}
