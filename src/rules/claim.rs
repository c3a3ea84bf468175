//! Claims of a preference: which of them a row grants. A claim that none grants is taken back, and said.

use std::collections::BTreeSet;

use super::condition::Facts;
use super::ledger::Ledger;
use super::parcel::{Line, Parcel};
use super::program::Program;
use super::step::ChargeStep;
use crate::tables::{Kind, RateFrom};
use crate::units::Overflow;

/// The layer of rates that a claim earns.
const PREFERENCE: &str = "preference";

/// Takes back the claims of a preference that no row grants, and returns the lines that made them.
pub(crate) fn grant(program: &Program, parcel: &mut Parcel) -> Result<Vec<usize>, Overflow> {
    let ungranted = program.ungranted(parcel)?;
    for at in &ungranted {
        if let Some(line) = parcel.lines.get_mut(*at) {
            line.preference = false;
        }
    }
    Ok(ungranted)
}

impl Program {
    /// Lines whose claimed preference no row of the tables grants, though a duty looks at them.
    pub(crate) fn ungranted(&self, parcel: &Parcel) -> Result<Vec<usize>, Overflow> {
        let lines = parcel.lines.iter().enumerate();
        let claims: Vec<(usize, &Line)> = lines.filter(|(_, line)| line.preference).collect();
        if claims.is_empty() {
            return Ok(Vec::new());
        }
        let ledger = Ledger::open(&self.names, parcel, parcel.customs)?;
        let facts = Facts {
            parcel,
            ledger: &ledger,
            collect: &[],
            groups: &self.groups,
        };
        let mut unclaimed = parcel.clone();
        unclaimed
            .lines
            .iter_mut()
            .for_each(|line| line.preference = false);
        let without = Facts {
            parcel: &unclaimed,
            ..facts
        };
        let (mut looked_at, mut granted) = (BTreeSet::new(), BTreeSet::new());
        let (mut beside, mut refused) = (BTreeSet::new(), BTreeSet::new());
        for step in self.charges().filter(|step| step.kind == Kind::Duty) {
            // what a condition asks of the parcel is looked at once, not line by line
            let (test, unclaimed) = (step.test.of_lines(facts)?, step.test.of_lines(without)?);
            for (at, line) in &claims {
                if !test.holds(facts, *at)? {
                    continue;
                }
                looked_at.insert(*at);
                if granted.contains(at) {
                    continue;
                }
                let by_claim = !unclaimed.holds(without, *at)?;
                match self.earned(step, (line, *at), by_claim, (facts, without))? {
                    Earned::Rate => granted.insert(*at),
                    Earned::Beside => beside.insert(*at),
                    Earned::Refusal => refused.insert(*at),
                    Earned::Nothing => false,
                };
            }
        }
        // what is spared beside the duty hangs on the duty's own preference
        granted.extend(beside.difference(&refused));
        Ok(looked_at.difference(&granted).copied().collect())
    }

    /// What a claim earns a line from a charge: its rate by a row of the layer `preference`, or by a charge that holds for the claim
    /// alone from the layer it looks in first; a lower rate by a row of rates whose own condition asks for the claim.
    fn earned(
        &self,
        step: &ChargeStep,
        (line, at): (&Line, usize),
        by_claim: bool,
        (facts, without): (Facts<'_>, Facts<'_>),
    ) -> Result<Earned, Overflow> {
        let Some(from @ RateFrom::Tariff(layers)) = &step.rate_from else {
            return Ok(if by_claim {
                Earned::Rate
            } else {
                Earned::Nothing
            });
        };
        let first = layers.first().filter(|_| by_claim);
        for layer in layers
            .iter()
            .filter(|layer| *layer == PREFERENCE)
            .chain(first)
        {
            if self.tariff.find(layer, line, at, facts)?.is_some() {
                return Ok(Earned::Rate);
            }
        }
        let rate = self.tariff.of_charge(from, line, at, facts)?;
        if by_claim {
            // goods that are free without the claim need no row of their own to be entered under the agreement
            let free = rate.is_some_and(|(rate, _)| rate.is_nothing());
            let asks = layers.iter().any(|layer| layer == PREFERENCE);
            return Ok(if asks && !free {
                Earned::Refusal
            } else {
                Earned::Nothing
            });
        }
        let differs = rate != self.tariff.of_charge(from, line, at, without)?;
        Ok(if differs {
            Earned::Beside
        } else {
            Earned::Nothing
        })
    }
}

/// What a claim earns a line from one charge.
enum Earned {
    /// The rate of the preference.
    Rate,
    /// Less of a duty that stands beside the one that the preference is for.
    Beside,
    /// The charge is for those who claim, and has no preference for these goods.
    Refusal,
    /// Nothing that hangs on the claim.
    Nothing,
}
