//! Keep it or send it back: what comes back, what does not, until when, and what is lost either way.

mod loss;

pub use loss::{BackLine, Returned, lost, returned};
