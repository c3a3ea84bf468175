//! All integration tests in one binary.

mod bad;
mod cli;
mod common;
mod compare;
mod examples;
mod failures;
mod front;
mod frontier;
mod harness;
mod kit;
mod layers;
mod oracles;
mod properties;
mod rank;
mod rates;
mod readme;
mod shapes;
mod small;
mod tables;
mod value;
