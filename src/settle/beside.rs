//! Receipts of parts that are held by what was paid for them: nothing of theirs was calculated.

use super::cause::Cause;
use super::settled::{Entry, Settled};
use crate::book::{ChargeWord, Receipt};
use crate::landed::Jurisdiction;
use crate::units::{HomeMoney, Overflow};

/// Receipts of parts that are held by what was paid for them: nothing was calculated, and each has one cause.
pub(super) fn beside_bills(
    used: &[(&Receipt, HomeMoney)],
    jurisdiction: &Jurisdiction<'_>,
    parcels: &mut Vec<Settled>,
) -> Result<(), Overflow> {
    for (receipt, amount) in used {
        let entry = match receipt.charge {
            ChargeWord::Refund => {
                Entry::of_one(ChargeWord::Refund, Cause::Refund, amount.negated().amount())
            }
            other => Entry::of_one(other, Cause::ReturnFreight, amount.amount()),
        };
        let id = &receipt.consignment;
        let at = parcels
            .iter()
            .position(|parcel| parcel.id == *id)
            .unwrap_or_else(|| {
                let seller = id.split('/').next().unwrap_or(id).to_owned();
                let arrival = receipt.date.unwrap_or(jurisdiction.ask.date);
                parcels.push(Settled {
                    id: id.clone(),
                    seller,
                    arrival,
                    entries: Vec::new(),
                    disputed: Vec::new(),
                });
                parcels.len().saturating_sub(1)
            });
        let Some(parcel) = parcels.get_mut(at) else {
            continue;
        };
        match parcel
            .entries
            .iter_mut()
            .find(|own| own.charge == entry.charge)
        {
            Some(own) => own.add(&entry)?,
            None => parcel.entries.push(entry),
        }
    }
    Ok(())
}
