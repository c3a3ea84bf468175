//! All integration tests in one binary.

mod examples;
mod front;
mod kit;
mod oracles;
mod properties;
mod rates;
mod readme;
mod shapes;
