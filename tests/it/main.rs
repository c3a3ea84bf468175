//! All integration tests in one binary.

mod kit;
mod oracles;
mod properties;
mod rates;
mod shapes;
