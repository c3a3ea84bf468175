//! All integration tests in one binary.

mod bad;
mod cli;
mod failures;
mod harness;
mod layers;
mod oracles;
mod properties;
mod shapes;
