//! How an unknown lies: by three points, or by its history.

use super::history::History;
use super::three::ThreePoint;

/// How an unknown lies.
#[derive(Debug, Clone, PartialEq)]
pub enum Spread {
    /// By three points.
    Points(ThreePoint),
    /// As it has moved before.
    Seen(History),
}

impl Spread {
    /// The share below a figure.
    pub fn below(&self, x: f64) -> f64 {
        match self {
            Spread::Points(points) => points.below(x),
            Spread::Seen(history) => history.below(x),
        }
    }
}
