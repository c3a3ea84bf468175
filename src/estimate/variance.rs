//! How much an unknown spreads a sum, and the share of each in what all spread it by.

use crate::units::{Dec, Overflow, share};

/// The square of the deviation that an unknown gives a sum on its own, in minor units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Variance(pub(super) f64);

impl Variance {
    /// Of something with these moments that happens with this chance, of one.
    pub(super) fn of((mean, square): (f64, f64), chance: f64) -> Variance {
        let chance = chance.clamp(0.0, 1.0);
        Variance((chance * square - (chance * mean).powi(2)).max(0.0))
    }

    /// Of one of two sums that lie `apart` minor units from each other; the chance is in percent.
    pub(crate) fn of_either(chance: Dec, apart: i64) -> Variance {
        Variance::of(
            (apart as f64, (apart as f64).powi(2)),
            super::float(chance) / 100.0,
        )
    }
}

/// The share of each in all of them, out of a hundred to one decimal; they add up to a hundred, or are all zero where nothing spreads.
pub(crate) fn in_the_hundred(all: &[Variance]) -> Result<Vec<Dec>, Overflow> {
    const PARTS: f64 = 1.0e9;
    let most = all.iter().map(|variance| variance.0).fold(0.0, f64::max);
    if most <= 0.0 {
        return Ok(vec![Dec::ZERO; all.len()]);
    }
    let part = |variance: &Variance| Dec::from((variance.0 / most * PARTS).round() as u32);
    let weights: Vec<Dec> = all.iter().map(part).collect();
    share(Dec::HUNDRED, &weights, 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Moving by 300 or not, half of the time: 300² / 4 = 22,500. By 100, a tenth of the time: 0.09 * 10,000 = 900.
    #[test]
    fn shares_add_up_to_a_hundred() {
        let dec = |text: &str| crate::units::number::plain(text).unwrap();
        let (wide, narrow) = (
            Variance::of_either(dec("50"), -300),
            Variance::of_either(dec("10"), 100),
        );
        assert_eq!((wide.0.round(), narrow.0.round()), (22_500.0, 900.0));
        // 900 / 23,400 = 3.85 %.
        assert_eq!(
            in_the_hundred(&[wide, narrow]).unwrap(),
            [dec("96.2"), dec("3.8")]
        );
        assert_eq!(
            in_the_hundred(&[narrow; 3]).unwrap(),
            [dec("33.4"), dec("33.3"), dec("33.3")]
        );
        let never = [
            Variance::of_either(Dec::ZERO, 300),
            Variance::of_either(Dec::HUNDRED, 300),
        ];
        assert_eq!(in_the_hundred(&never).unwrap(), [Dec::ZERO, Dec::ZERO]);
    }
}
