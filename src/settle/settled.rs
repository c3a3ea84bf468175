//! One parcel's charges as calculated and as charged, with the causes of each difference and what can be asked back.

use super::cause::Cause;
use crate::book::ChargeWord;
use crate::landed::Disputed;
use crate::tables::Reason;
use crate::units::{Date, Dec, Overflow};

/// One charge of one parcel; money back and discounts stand below zero.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Its word.
    pub charge: ChargeWord,
    /// As calculated.
    pub estimated: Dec,
    /// As charged; none while there is no receipt.
    pub actual: Option<Dec>,
    /// What made the difference.
    pub causes: Vec<(Cause, Dec)>,
    /// What is left of it.
    pub unexplained: Dec,
    /// What can be asked back.
    pub claim: Option<Claimable>,
}

impl Entry {
    /// What nobody calculated with, and has one cause.
    pub(super) fn of_one(charge: ChargeWord, cause: Cause, amount: Dec) -> Entry {
        Entry {
            charge,
            estimated: Dec::ZERO,
            actual: Some(amount),
            causes: vec![(cause, amount)],
            unexplained: Dec::ZERO,
            claim: None,
        }
    }

    /// Charged less calculated.
    pub fn difference(&self) -> Result<Dec, Overflow> {
        self.actual
            .map_or(Ok(Dec::ZERO), |actual| actual.minus(self.estimated))
    }
}

/// Something that can be asked back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Claimable {
    /// Why.
    pub(crate) reason: Reason,
    /// How much, in the destination's money; not zero.
    pub amount: Dec,
    /// From whom.
    pub from: String,
    /// The last day.
    pub(crate) until: Option<Date>,
    /// The row of the tables.
    pub(crate) row: String,
    /// What it says.
    pub text: String,
}

/// One parcel.
#[derive(Debug, Clone)]
pub struct Settled {
    /// `SELLER` or `SELLER/PARCEL`.
    pub(crate) id: String,
    /// Who sent it.
    pub(crate) seller: String,
    /// When it came, or was to come.
    pub(crate) arrival: Date,
    /// Its charges.
    pub entries: Vec<Entry>,
    /// What of the estimate is in dispute.
    pub(crate) disputed: Vec<Disputed>,
}

impl Entry {
    /// Adds another of the same charge.
    pub(super) fn add(&mut self, other: &Entry) -> Result<(), Overflow> {
        self.actual = Some(
            self.actual
                .unwrap_or_default()
                .plus(other.actual.unwrap_or_default())?,
        );
        for (cause, amount) in &other.causes {
            match self.causes.iter_mut().find(|(own, _)| own == cause) {
                Some((_, sum)) => *sum = sum.plus(*amount)?,
                None => self.causes.push((cause.clone(), *amount)),
            }
        }
        Ok(())
    }
}
