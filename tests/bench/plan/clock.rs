//! A time limit for a search.

use std::time::Instant;

use landwaiter::plan::{Stopped, Watch};

/// Stops a search when its seconds are over.
pub(super) struct Clock {
    pub(super) begun: Instant,
    pub(super) limit: f64,
}

impl Watch for Clock {
    fn stop(&self) -> Option<Stopped> {
        (self.begun.elapsed().as_secs_f64() > self.limit).then_some(Stopped::TimeLimit)
    }
}
