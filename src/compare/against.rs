//! One complete bike, and how the build stands against it.

use super::mine::Mine;
use super::reference::Reference;
use crate::landed::Jurisdiction;
use crate::units::{Dec, Grams, Mode, Overflow};
use crate::value::{Difference, Status};

/// One bike and how the build stands against it.
#[derive(Debug, Clone)]
pub struct Against {
    /// The bike on the build's terms.
    pub reference: Reference,
    /// Cost of the build less that of the bike; mass of the bike less that of the build.
    pub difference: Difference,
    /// The grams saved at the least and at most, by the range of the bike's mass on this basis.
    pub saved: (Grams, Grams),
    /// Cost of finishing the build less that of the bike: what has been spent cannot be had back in either case.
    pub to_finish: Dec,
    /// How the bike stands among all that are compared.
    pub(crate) status: Status,
}

pub(super) fn against(
    reference: Reference,
    mine: &Mine,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Against, Overflow> {
    let saved = reference.mass.mass.likely.minus(mine.mass)?;
    Ok(Against {
        difference: Difference::new(
            mine.cost.minus(reference.price)?,
            saved,
            jurisdiction.currency().digits(),
        ),
        saved: saved_range(&reference, mine)?,
        to_finish: mine
            .to_pay
            .minus(reference.price)?
            .round_to(jurisdiction.currency().digits(), Mode::HalfUp),
        reference,
        status: Status::ALONE,
    })
}

impl Against {
    /// Cost per kilogram saved at most and at the least that is saved, where the build is dearer and lighter over the
    /// whole range.
    pub fn per_kg_range(&self) -> Result<Option<(Dec, Dec)>, Overflow> {
        let at = |saved: Grams| {
            Difference {
                saved,
                ..self.difference
            }
            .per_kg()
        };
        Ok(at(self.saved.1)?.zip(at(self.saved.0)?))
    }

    /// The difference where the build costs otherwise, as without rows in dispute.
    pub(crate) fn difference_at(&self, cost: Dec) -> Result<Difference, Overflow> {
        Ok(Difference {
            cost: cost.minus(self.reference.price)?,
            ..self.difference
        })
    }

    /// Whether the range of the bike's mass leaves open which of the two is lighter.
    pub(crate) fn is_open(&self) -> bool {
        self.saved.0.0.is_negative() && self.saved.1.0.is_positive()
    }
}

/// The grams saved at the least and at most. What the rider carries goes on both bikes and cancels, unless the bike was
/// weighed with somebody else's.
fn saved_range(reference: &Reference, mine: &Mine) -> Result<(Grams, Grams), Overflow> {
    let mass = reference.mass.mass;
    let (under, over) = mine.give;
    let (low, high) = (
        mass.low.minus(mine.mass)?.minus(over)?,
        mass.high.minus(mine.mass)?.plus(under)?,
    );
    let Some(carried) = mine.carried else {
        return Ok((low, high));
    };
    let (under, over) = (
        carried.likely.minus(carried.low)?,
        carried.high.minus(carried.likely)?,
    );
    if reference
        .mass
        .steps
        .iter()
        .any(|step| step.place.is_empty())
    {
        return Ok((low.plus(under)?, high.minus(over)?));
    }
    Ok((low.minus(over)?, high.plus(under)?))
}
