//! Keep it or send it back: what comes back, what does not, until when, and what is lost either way.

mod loss;

pub(crate) use loss::lost;
pub use loss::{BackLine, Returned, returned};

#[cfg(test)]
mod tests;
