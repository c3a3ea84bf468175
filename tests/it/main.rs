//! All integration tests in one binary.

mod estimate;
mod oracles;
mod properties;
mod shapes;
