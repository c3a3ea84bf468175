//! Tests of the rows that are shipped and of published rates that are read.

mod beside;
mod imports;
mod rates;
mod read_whole;
mod vat;
