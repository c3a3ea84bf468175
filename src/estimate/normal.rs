//! The normal curve: the chance of lying below a point, and what follows for masses and gaps.

use super::{float, shown};
use crate::units::Dec;

/// The share of a normal curve below a number of deviations, by the complementary error function: its series near the middle, its
/// continued fraction in the tails.
pub(super) fn below(deviations: f64) -> f64 {
    let x = deviations / std::f64::consts::SQRT_2;
    0.5 * upper(-x)
}

/// The complementary error function.
fn upper(x: f64) -> f64 {
    let z = x.abs();
    let tail = if z < 2.5 {
        1.0 - series(z)
    } else {
        fraction(z)
    };
    if x < 0.0 { 2.0 - tail } else { tail }
}

fn series(z: f64) -> f64 {
    let (mut term, mut sum) = (z, z);
    for n in 1..200 {
        term *= -z * z / f64::from(n);
        let part = term / f64::from(2 * n + 1);
        sum += part;
        if part.abs() < 1.0e-18 {
            break;
        }
    }
    2.0 / std::f64::consts::PI.sqrt() * sum
}

fn fraction(z: f64) -> f64 {
    let inner = (1..120)
        .rev()
        .fold(z, |under, k| z + f64::from(k) / 2.0 / under);
    (-z * z).exp() / std::f64::consts::PI.sqrt() / inner
}

/// The chance out of a hundred that a difference with this deviation is above zero: that a saving is real.
pub(crate) fn saves(difference: Dec, deviation: Dec) -> Dec {
    within(difference, Dec::ZERO, deviation)
}

/// The chance out of a hundred that a figure with this mean and deviation stays at or below a limit.
pub(crate) fn within(limit: Dec, mean: Dec, deviation: Dec) -> Dec {
    let room = float(limit) - float(mean);
    let deviation = float(deviation);
    if deviation <= 0.0 {
        return if room >= 0.0 { Dec::HUNDRED } else { Dec::ZERO };
    }
    shown(100.0 * below(room / deviation), 2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_curve_at_tabled_points() {
        for (deviations, share) in [
            (0.0, 0.5),
            (1.0, 0.841_344_746_068_542_9),
            (-1.96, 0.024_997_895_148_220_435),
            (2.0, 0.977_249_868_051_820_8),
            (-4.0, 3.167_124_183_311_992e-5),
            (6.0, 0.999_999_999_013_412_4),
        ] {
            assert!(
                (below(deviations) - share).abs() < 1.0e-14,
                "{deviations}: {}",
                below(deviations)
            );
        }
    }
}
