//! All integration tests in one binary.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking, its helpers too")]
#![allow(clippy::doc_markdown, reason = "headers name files of the oracles")]

mod bad;
mod bulk;
mod cli;
mod common;
mod compare;
mod estimate;
mod examples;
mod failures;
mod front;
mod frontier;
mod harness;
mod kit;
mod layers;
mod leeway;
mod oracles;
mod plan;
mod properties;
mod rank;
mod rates;
mod readme;
mod returns;
mod settle;
mod shapes;
mod small;
mod tables;
mod value;
mod world;
