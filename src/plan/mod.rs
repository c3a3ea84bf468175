//! The plan: which offer for which place, exactly and with proof.
mod bound;
mod cover;
mod dual;
mod frontier;
mod gap;
mod model;
mod places;
mod repair;
mod search;
mod stair;
mod watch;

pub use model::{Case, Cases, Model, NO_LIMIT, Offer, PackageCost, UNIT};
pub use search::{Goal, Outcome, search};
pub use stair::Found;
pub use watch::{Patient, Progress, Stopped, Watch};
