//! All integration tests in one binary.

mod frontier;
mod oracles;
mod properties;
mod shapes;
