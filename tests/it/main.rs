//! All integration tests in one binary.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking, its helpers too")]

mod examples;
mod front;
mod kit;
mod oracles;
mod properties;
mod rates;
mod readme;
mod shapes;
