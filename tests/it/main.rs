//! All integration tests in one binary.

mod estimate;
mod leeway;
mod oracles;
mod properties;
mod returns;
mod settle;
mod shapes;
