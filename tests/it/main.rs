//! All integration tests in one binary.

mod compare;
mod examples;
mod front;
mod frontier;
mod kit;
mod oracles;
mod properties;
mod rank;
mod rates;
mod readme;
mod shapes;
mod small;
mod value;
