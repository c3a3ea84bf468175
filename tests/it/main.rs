//! All integration tests in one binary.

mod oracles;
mod properties;
mod shapes;
mod world;
