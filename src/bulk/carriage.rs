//! What carrying costs, in whole numbers: an amount, or the steps of a schedule.

use crate::tables::FreightStep;
use crate::units::Currency;

/// What carrying costs: steps, of which the first that a mass fits into counts.
pub(super) struct FreightPlan(Vec<Step>);

/// One step.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Step {
    /// The heaviest mass that fits into it, in tenths of grams; none where any mass does.
    pub(super) up_to: Option<i64>,
    /// The price in minor units.
    pub(super) price: i64,
    /// Whether that is the price of a mass of `up_to`, and a lighter one costs its share of it.
    pub(super) by_mass: bool,
    /// Whether it is one of a schedule, which looks at the mass.
    pub(super) scheduled: bool,
}

impl FreightPlan {
    /// An amount whatever the mass.
    pub(super) fn flat(price: i64) -> FreightPlan {
        let step = Step {
            price,
            ..Step::default()
        };
        FreightPlan(vec![step])
    }

    /// The step of a mass; none beyond the last.
    #[inline]
    pub(super) fn step(&self, tenths: i64) -> Option<Step> {
        let fits = |step: &&Step| step.up_to.is_none_or(|up_to| tenths <= up_to);
        self.0.iter().find(fits).copied()
    }

    /// A schedule in whole numbers; none where its steps need decimals: packing, volume, another currency.
    pub(super) fn of_schedule(found: &[&FreightStep], currency: Currency) -> Option<FreightPlan> {
        let plain = |step: &&FreightStep| {
            step.currency == currency
                && step.packing_percent.is_zero()
                && step.packing_g.is_zero()
                && step.volumetric_divisor.is_none()
                && step.extra_per_kg.is_none()
        };
        if found.is_empty() || !found.iter().all(plain) {
            return None;
        }
        let step = |step: &&FreightStep| {
            let up_to = match step.up_to_g {
                Some(grams) => Some(grams.small_units(1)?),
                None => None,
            };
            Some(Step {
                up_to,
                price: step.price.small_units(currency.digits())?,
                by_mass: step.pro_rata && up_to.is_some_and(|up_to| up_to > 0),
                scheduled: true,
            })
        };
        Some(FreightPlan(found.iter().map(step).collect::<Option<_>>()?))
    }
}
