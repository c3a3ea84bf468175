//! The answer about a landed cost that can move: its range, what each unknown does alone, and how the method was checked.

use super::driver::Driver;
use crate::landed::Jurisdiction;
use crate::text::Problems;
use crate::units::Dec;

/// What one unknown does alone.
#[derive(Debug, Clone)]
pub(crate) struct Effect {
    /// The unknown.
    pub(crate) driver: Driver,
    /// The landed cost with it at its low figure, all others likely.
    pub(crate) at_low: Dec,
    /// And at its high figure.
    pub(crate) at_high: Dec,
    /// Of what all unknowns spread the cost by, each alone, so much out of a hundred; none where no shares were asked for.
    pub(crate) share: Option<Dec>,
}

impl Effect {
    /// What is in dispute as an unknown of its own: the likely cost as it is counted, and decided otherwise.
    pub(super) fn of_disputed(
        (chance, at): &(Dec, String),
        counted: bool,
        likely: Dec,
        otherwise: Dec,
        jurisdiction: &Jurisdiction<'_>,
    ) -> Result<Effect, Problems> {
        let (with, without) = if counted {
            (likely, otherwise)
        } else {
            (otherwise, likely)
        };
        let driver = Driver::disputed(
            *chance,
            with.minus(without)?,
            counted,
            at,
            jurisdiction.currency(),
        );
        Ok(Effect {
            driver,
            at_low: with.min(without),
            at_high: with.max(without),
            share: None,
        })
    }
}

/// How the method was held against the engine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Checked {
    /// At how many points, drawn by which seed.
    pub(crate) draws: u32,
    /// By which seed.
    pub(crate) seed: u64,
    /// The difference on average, in the destination's money.
    pub(crate) mean: Dec,
    /// The largest difference.
    pub(crate) largest: Dec,
    /// The step of the grid.
    pub(crate) step: Dec,
}

/// The range of a landed cost.
#[derive(Debug, Clone)]
pub struct Outcomes {
    /// The cost with nothing moved.
    pub cost: Dec,
    /// The cost with every unknown at its likely figure.
    pub(crate) likely: Dec,
    /// The share in percent, and the cost that this share of outcomes stays below.
    pub quantiles: Vec<(u32, Dec)>,
    /// The assurance asked for, and the cost that goes with it.
    pub assured: (Dec, Dec),
    /// The chance out of a hundred of staying inside the budget.
    pub within_budget: Option<Dec>,
}
