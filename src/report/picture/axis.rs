//! A stretch of a sheet for a stretch of figures, and the round figures that are written beside it.

use crate::units::{Dec, Mode, Overflow};

/// From figures to units; the units may run backwards.
#[derive(Debug, Clone, Copy)]
pub(super) struct Axis {
    low: Dec,
    span: Dec,
    from: i64,
    to: i64,
}

impl Axis {
    /// From `low` at `from` to `high` at `to`.
    pub(super) fn new(low: Dec, high: Dec, from: i64, to: i64) -> Result<Axis, Overflow> {
        let span = high.minus(low)?;
        Ok(Axis {
            low,
            span: if span.is_positive() { span } else { Dec::ONE },
            from,
            to,
        })
    }

    /// Where a figure stands.
    pub(super) fn at(&self, figure: Dec) -> Result<i64, Overflow> {
        let share = figure
            .minus(self.low)?
            .times(Dec::from(self.to - self.from))?
            .over(self.span)?;
        Ok(self.from + whole(share))
    }

    /// Round figures within it, at most about `most` of them.
    pub(super) fn marks(&self, most: u32) -> Result<Vec<Dec>, Overflow> {
        let step = round_step(self.span.over(Dec::from(most.max(1)))?)?;
        let mut mark = self
            .low
            .over(step)?
            .round_to(0, Mode::Ceiling)
            .times(step)?;
        let end = self.low.plus(self.span)?;
        let mut found = Vec::new();
        while mark <= end && found.len() < 40 {
            found.push(mark);
            mark = mark.plus(step)?;
        }
        Ok(found)
    }
}

/// 1, 2 or 5 times a power of ten, not under a figure.
fn round_step(least: Dec) -> Result<Dec, Overflow> {
    let ten = Dec::from(10_u32);
    let mut step = Dec::new(1, 4);
    for _ in 0..16 {
        for times in [1_u32, 2, 5] {
            let tried = step.times(Dec::from(times))?;
            if tried >= least {
                return Ok(tried);
            }
        }
        step = step.times(ten)?;
    }
    Ok(least)
}

/// A figure as whole units, half up.
pub(super) fn whole(figure: Dec) -> i64 {
    figure
        .round_to(0, Mode::HalfUp)
        .in_units(0)
        .and_then(|units| i64::try_from(units).ok())
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_round_and_within() {
        let axis = Axis::new(Dec::from(7_830_u32), Dec::from(9_420_u32), 100, 3900).unwrap();
        let marks: Vec<String> = axis
            .marks(5)
            .unwrap()
            .iter()
            .map(ToString::to_string)
            .collect();
        assert_eq!(marks, ["8000", "8500", "9000"]);
        assert_eq!(
            (
                axis.at(Dec::from(7_830_u32)).unwrap(),
                axis.at(Dec::from(9_420_u32)).unwrap()
            ),
            (100, 3900)
        );
    }
}
