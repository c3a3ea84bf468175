//! All integration tests in one binary.

mod compare;
mod frontier;
mod oracles;
mod properties;
mod rank;
mod shapes;
mod small;
mod value;
