//! How an unknown lies: by three points, or by its history.

use super::history::History;
use super::shown;
use super::three::ThreePoint;
use crate::units::Dec;

/// How an unknown lies.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Spread {
    /// By three points.
    Points(ThreePoint),
    /// As it has moved before.
    Seen(History),
}

impl Spread {
    /// The share below a figure.
    pub(crate) fn below(&self, x: f64) -> f64 {
        match self {
            Spread::Points(points) => points.below(x),
            Spread::Seen(history) => history.below(x),
        }
    }

    /// The figure below which this many in ten thousand lie, to six decimals.
    pub(crate) fn point(&self, share: u32) -> Dec {
        let share = f64::from(share) / 10_000.0;
        match self {
            Spread::Points(points) => shown(points.quantile(share), 6),
            Spread::Seen(history) => shown(history.quantile(share), 6),
        }
    }

    /// Whether nothing moves.
    pub(crate) fn is_constant(&self) -> bool {
        match self {
            Spread::Points(points) => points.is_constant(),
            Spread::Seen(history) => history.ends().0 == history.ends().1,
        }
    }
}
