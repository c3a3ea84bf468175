//! How sure a figure is, and what curves say of it: three-point estimates, histories, sums of unknowns, the normal curve, a line
//! through points, the power on a climb.
//!
//! The only floats of the crate. What comes out is a count of minor units to be shown beside an exact amount, a chance, a
//! percentage, seconds: nothing here goes back into a sum of money. Nothing is drawn at random.

#![allow(
    clippy::float_arithmetic,
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_sign_loss,
    clippy::excessive_precision,
    clippy::float_cmp,
    clippy::many_single_char_names,
    clippy::similar_names,
    reason = "estimates are floats; they are shown, and no exact amount is calculated from them"
)]

mod beta;
mod history;
mod normal;
mod power;
mod regression;
mod response;
mod spread;
mod sum;
mod three;
mod variance;

pub(crate) use history::moves;
pub(crate) use normal::saves;
pub(crate) use power::{Climb, climb};
pub(crate) use regression::MarketLine;
pub(crate) use response::{Curve, Point};
pub(crate) use spread::Spread;
pub(crate) use sum::{Distribution, Group, Slice};
pub(crate) use three::{Shape, ThreePoint, mean_and_deviation};
pub(crate) use variance::{Variance, in_the_hundred};

use crate::units::{Dec, Mode};

/// An exact decimal as the nearest float.
fn float(exact: Dec) -> f64 {
    exact.to_string().parse().unwrap_or(0.0)
}

/// The square root of a figure, to this many decimals, for what is shown as plus or minus.
pub(crate) fn root(figure: Dec, decimals: u32) -> Dec {
    shown(float(figure).max(0.0).sqrt(), decimals)
}

/// A float rounded to this many decimals for showing.
fn shown(figure: f64, decimals: u32) -> Dec {
    let steps = (figure * 10_f64.powi(decimals.cast_signed())).round();
    if steps.is_finite() && steps.abs() < 9.0e15 {
        Dec::from_units(steps as i128, decimals).unwrap_or_default()
    } else {
        Dec::ZERO
    }
    .round_to(decimals, Mode::HalfUp)
}

#[cfg(test)]
mod tests;
