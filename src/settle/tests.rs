//! Tests of receipts held against estimates.

mod ledger;

mod year;
