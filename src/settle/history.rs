//! How good the estimates were so far, by seller and by charge.

use std::collections::BTreeMap;

use super::ledger::Ledger;
use crate::units::{Dec, Overflow};

/// What was calculated and what was charged, over all receipts of one kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Record {
    /// The seller, or the charge.
    pub(crate) name: String,
    /// How many charges were held against receipts.
    pub(crate) charges: usize,
    /// As calculated.
    pub(crate) estimated: Dec,
    /// As charged.
    pub(crate) actual: Dec,
    /// The sum of the differences without their signs.
    pub(crate) off: Dec,
}

impl Record {
    /// Charged less calculated, out of a hundred of what was calculated; none where nothing was.
    pub(crate) fn percent(&self) -> Result<Option<Dec>, Overflow> {
        if self.estimated.is_zero() {
            return Ok(None);
        }
        self.actual
            .minus(self.estimated)?
            .times(Dec::HUNDRED)?
            .over(self.estimated.abs())
            .map(Some)
    }
}

/// The records by seller, and by charge.
pub(crate) fn history(ledger: &Ledger) -> Result<(Vec<Record>, Vec<Record>), Overflow> {
    let (mut sellers, mut charges) = (BTreeMap::new(), BTreeMap::new());
    for parcel in &ledger.parcels {
        for entry in &parcel.entries {
            let Some(actual) = entry.actual else { continue };
            add(&mut sellers, &parcel.seller, entry.estimated, actual)?;
            add(&mut charges, entry.charge.name(), entry.estimated, actual)?;
        }
    }
    Ok((
        sellers.into_values().collect(),
        charges.into_values().collect(),
    ))
}

fn add(
    records: &mut BTreeMap<String, Record>,
    name: &str,
    estimated: Dec,
    actual: Dec,
) -> Result<(), Overflow> {
    let record = records.entry(name.to_owned()).or_insert_with(|| Record {
        name: name.to_owned(),
        charges: 0,
        estimated: Dec::ZERO,
        actual: Dec::ZERO,
        off: Dec::ZERO,
    });
    record.charges += 1;
    record.estimated = record.estimated.plus(estimated)?;
    record.actual = record.actual.plus(actual)?;
    record.off = record.off.plus(actual.minus(estimated)?.abs())?;
    Ok(())
}
