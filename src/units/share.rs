//! Sharing a sum so that the parts add up to the last unit: the largest-remainder method.
//!
//! Ties go by the caller's order, which is by part name and seller, never by row order.

use super::{Dec, Mode, Overflow};

/// Shares `total` over `weights` in steps of ten to the minus `decimals`; weights that are all zero share evenly.
///
/// The total must be a whole number of steps; what is left after that (it never is, for rounded money) goes to the
/// first share.
pub(crate) fn share(total: Dec, weights: &[Dec], decimals: u32) -> Result<Vec<Dec>, Overflow> {
    if weights.is_empty() {
        return Ok(Vec::new());
    }
    let sum = Dec::total(weights.iter().copied())?;
    let even = vec![Dec::ONE; weights.len()];
    let (weights, sum) = if sum.settled().is_zero() {
        (even.as_slice(), Dec::total(even.iter().copied())?)
    } else {
        (weights, sum)
    };
    let exact = weights
        .iter()
        .map(|w| total.times(*w)?.over(sum))
        .collect::<Result<Vec<_>, _>>()?;
    share_exact(total, &exact, decimals)
}

/// Brings exact parts to steps of ten to the minus `decimals` so that they add up to `total`, which differs from their
/// sum by less than a step. Parts may be negative.
pub(crate) fn share_exact(total: Dec, exact: &[Dec], decimals: u32) -> Result<Vec<Dec>, Overflow> {
    let mut parts = Vec::with_capacity(exact.len());
    let mut remainders = Vec::with_capacity(exact.len());
    for (at, part) in exact.iter().enumerate() {
        let settled = part.settled();
        let floor = settled.round_to(decimals, Mode::Floor);
        remainders.push((settled.minus(floor)?, at));
        parts.push(floor);
    }
    let step = Dec::new(1, decimals);
    let mut left = total.minus(Dec::total(parts.iter().copied())?)?;
    let steps = left
        .max(Dec::ZERO)
        .over(step)
        .map_or(usize::MAX, whole_steps);
    for at in largest(remainders, steps) {
        parts[at] = parts[at].plus(step)?;
        left = left.minus(step)?;
    }
    if let (true, Some(first)) = (!left.is_zero(), parts.first_mut()) {
        *first = first.plus(left)?;
    }
    Ok(parts)
}

/// How many whole steps there are; what lacks of one only by the end of its digits is one.
fn whole_steps(steps: Dec) -> usize {
    let whole = steps.settled().round_to(0, Mode::Floor).in_units(0);
    whole.map_or(usize::MAX, |whole| {
        usize::try_from(whole).unwrap_or(usize::MAX)
    })
}

/// The places of the `wanted` largest remainders, the first of equals first; in no order, so that nothing is sorted.
fn largest(mut remainders: Vec<(Dec, usize)>, wanted: usize) -> impl Iterator<Item = usize> {
    if wanted > 0 && wanted < remainders.len() {
        remainders.select_nth_unstable_by(wanted, |a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    }
    remainders.into_iter().take(wanted).map(|(_, at)| at)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn dec(cents: i64) -> Dec {
        Dec::new(cents, 2)
    }

    #[test]
    fn three_thirds_of_a_pound() {
        let parts = share(dec(100), &[Dec::ONE, Dec::ONE, Dec::ONE], 2).unwrap();
        assert_eq!(parts, [dec(34), dec(33), dec(33)]);
    }

    #[test]
    fn no_weights_share_evenly_and_an_empty_list_is_empty() {
        assert_eq!(
            share(dec(5), &[Dec::ZERO, Dec::ZERO], 2).unwrap(),
            [dec(3), dec(2)]
        );
        assert!(share(dec(5), &[], 2).unwrap().is_empty());
    }

    /// Yen at 100 for 148: 37 of them are 25.00, but 28 digits of 10 and of 27 lack a little of it. The odd unit goes to the
    /// largest remainder, and not with what is missing to the first.
    #[test]
    fn a_sum_without_all_its_digits_is_shared_as_the_whole_it_is() {
        let turned = |yen: u32| Dec::from(yen * 25).over(Dec::from(37_u32)).unwrap();
        let weights = [10, 10, 17].map(turned);
        let total = Dec::total(weights).unwrap();
        assert_eq!(total.settled(), dec(25_00));
        let lacking = total.min(dec(25_00).minus(Dec::new(1, 26)).unwrap());
        let parts = share(lacking, &weights, 2).unwrap();
        assert_eq!(
            parts.into_iter().map(Dec::settled).collect::<Vec<_>>(),
            [dec(6_76), dec(6_76), dec(11_48)]
        );
    }

    #[test]
    fn negative_parts_keep_the_total() {
        let exact = [Dec::new(100_004, 4), Dec::new(-33_336, 4), Dec::new(5, 3)];
        let total = Dec::total(exact).unwrap().round_to(2, Mode::HalfUp);
        let parts = share_exact(total, &exact, 2).unwrap();
        assert_eq!(Dec::total(parts).unwrap(), total);
    }
}
