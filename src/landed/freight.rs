//! What carrying costs: packed mass, volumetric mass, the step of a schedule, and free above a spend.

use super::parcel::Consignment;
use super::what_if::{Change, WhatIf};
use crate::tables::FreightStep;
use crate::text::Diagnostic;
use crate::units::{Dec, Mode, Overflow, Rounding, SellerMoney};

/// The mass of a parcel that a schedule charges for, in grams.
pub(super) fn charged_mass(
    steps: &[&FreightStep],
    packed_g: Dec,
    volume_cm3: Dec,
) -> Result<Dec, Overflow> {
    let Some(first) = steps.first() else {
        return Ok(packed_g);
    };
    let packing = packed_g
        .times(first.packing_percent)?
        .over(Dec::HUNDRED)?
        .plus(first.packing_g)?;
    let gross = packed_g.plus(packing)?;
    match first.volumetric_divisor {
        Some(divisor) => Ok(gross.max(volume_cm3.over(divisor)?.times(Dec::THOUSAND)?)),
        None => Ok(gross),
    }
}

/// The price of a schedule for a mass; none when the mass is beyond its last step.
pub(super) fn price(steps: &[&FreightStep], mass_g: Dec) -> Result<Option<Dec>, Overflow> {
    let fits = |step: &&&FreightStep| step.up_to_g.is_none_or(|up_to| mass_g <= up_to);
    if let Some(step) = steps.iter().find(fits) {
        return match step.up_to_g.filter(|_| step.pro_rata) {
            Some(up_to) if up_to.is_positive() => step.price.times(mass_g)?.over(up_to).map(Some),
            _ => Ok(Some(step.price)),
        };
    }
    let Some((last, up_to, extra)) = steps
        .last()
        .and_then(|last| Some((last, last.up_to_g?, last.extra_per_kg?)))
    else {
        return Ok(None);
    };
    let beyond = mass_g
        .minus(up_to)?
        .over(Dec::THOUSAND)?
        .round_to(0, Mode::Ceiling);
    last.price.plus(extra.times(beyond)?).map(Some)
}

/// A parcel heavier than its schedule reaches.
pub(super) fn too_heavy(schedule: &str, mass_g: Dec, about: &str) -> Diagnostic {
    Diagnostic::error(format!(
        "the parcel {about} weighs {} g packed, more than the freight schedule `{schedule}` reaches",
        mass_g.fixed(0)
    ))
    .help("give the schedule a further step or `extra_per_kg`, or write an amount in `freight`")
}

impl WhatIf {
    /// The freight of a consignment, in minor units of its money.
    pub(super) fn freight_of(
        &self,
        freight: SellerMoney,
        consignment: &Consignment<'_>,
        digits: u32,
    ) -> Result<SellerMoney, Overflow> {
        match self.freight_change(consignment) {
            Some(change) => {
                SellerMoney::of(change.of(freight.amount())?).rounded(Rounding::minor(digits))
            }
            None => Ok(freight),
        }
    }

    /// Whether it says what the freight of a consignment is, whatever the seller carries free.
    pub(super) fn tells_freight(&self, consignment: &Consignment<'_>) -> bool {
        matches!(self.freight_change(consignment), Some(Change::To(_)))
    }

    /// How the freight of a consignment is changed: by its own name, else by its seller's.
    fn freight_change(&self, consignment: &Consignment<'_>) -> Option<&Change> {
        let seller = || consignment.seller.and_then(|s| self.freight.get(&s.name));
        self.freight.get(&consignment.id).or_else(seller)
    }
}
