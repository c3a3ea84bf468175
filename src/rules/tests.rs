//! Tests of the readings of the law against each other and against sums in whole cents.

mod laws;
mod sold;
