//! Places that the build leaves empty and for which nothing is offered: they stay open and are named, as an unfinished build is
//! planned too.

use std::collections::BTreeSet;
use std::ops::Range;

use super::pool::{Bid, Pool};

impl Pool<'_> {
    /// Leaves these seats open where nothing that can be had is offered for them. What a wish takes away later is another matter:
    /// a place is not left open because its only seller is not wanted.
    pub(super) fn leave_open(&mut self, empty: Range<usize>) {
        let had = self.to_be_had();
        let bare: Vec<usize> = empty
            .filter(|seat| self.seats[*seat].required)
            .filter(|seat| !had.iter().any(|at| self.bids[*at].seats.contains(seat)))
            .collect();
        for seat in bare {
            self.seats[seat].required = false;
            self.unfilled.push(self.seats[seat].place.clone());
        }
        self.unfilled.sort();
        self.unfilled.dedup();
    }

    /// The numbers of offers for which everything that they need is offered as well.
    fn to_be_had(&self) -> BTreeSet<usize> {
        let mut left: BTreeSet<usize> = (0..self.bids.len()).collect();
        loop {
            let names: BTreeSet<&str> = left.iter().map(|at| self.name(*at)).collect();
            let whole = |bid: &Bid<'_>| bid.needs.iter().all(|need| names.contains(need.as_str()));
            let before = left.len();
            left = (left.iter().copied())
                .filter(|at| whole(&self.bids[*at]))
                .collect();
            if left.len() == before {
                return left;
            }
        }
    }

    fn name(&self, at: usize) -> &str {
        &self.bids[at].row.name
    }
}
