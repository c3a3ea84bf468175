//! All integration tests in one binary.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking, its helpers too")]

mod bad;
mod cli;
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
mod report;
mod shapes;
mod small;
mod value;
mod world;
