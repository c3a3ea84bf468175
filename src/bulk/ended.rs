//! Rows of law that ended and would have touched lines of a list: each found once, however many lines it is missing from.

use std::collections::BTreeSet;

use super::offer::Offer;
use crate::landed::EndedCharge;
use crate::units::{Date, Lookup, digest};

/// More goods than this are not kept: memory does not grow with the list.
const MOST: usize = 1 << 14;

/// A row that ended, of which it is not known what followed.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct EndedRow {
    /// Its last day.
    pub(crate) on: Date,
    /// What it is, in plain words: `a duty`.
    pub(crate) kind: String,
    /// The charge.
    pub(crate) id: String,
    /// The row, in words.
    pub(crate) row: String,
}

/// What has been found.
#[derive(Default)]
pub(super) struct AllEnded {
    /// Goods of terms and days that were looked at, with what of them ended.
    looked_at: Lookup,
    told: BTreeSet<EndedRow>,
    /// Rows found for the first time and still to be told.
    pub(super) untold: Vec<EndedRow>,
}

impl AllEnded {
    /// Whether a line priced in whole numbers, which knows the rows by their number alone, is the first of its kind, so that the
    /// rows are to be asked for.
    #[cold]
    pub(super) fn is_new(
        &mut self,
        offer: &Offer<'_>,
        (frame, rules, ended): (u32, u32, u64),
    ) -> bool {
        let seed = ended ^ (u64::from(frame) << 32 | u64::from(rules)).rotate_left(17);
        let key = digest(
            offer.commodity,
            digest(offer.origin, digest(offer.dispatch, seed)),
        )
        .max(1);
        if self.looked_at.get(key).is_some() {
            return false;
        }
        if self.looked_at.len() >= MOST {
            self.looked_at = Lookup::default();
        }
        self.looked_at.insert(key, 0);
        true
    }

    /// Notes what a bill says of them.
    pub(super) fn note(&mut self, found: &[EndedCharge]) {
        for one in found {
            let row = EndedRow {
                on: one.on,
                kind: one.words(),
                id: one.id.clone(),
                row: one.row.to_string(),
            };
            if self.told.insert(row.clone()) {
                self.untold.push(row);
            }
        }
    }
}
