//! All integration tests in one binary.
#![expect(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test that cannot go on is a test that fails")]

mod bad;
mod cli;
mod failures;
mod harness;
mod layers;
mod oracles;
mod properties;
mod shapes;
