//! The plans that `report` draws: the whole frontier, as far as a search of some seconds goes.

use std::time::{Duration, Instant};

use super::case::Case;
use super::progress::Line;
use crate::landed::Jurisdiction;
use crate::plan::{Planned, Plans, SoFar, Stopped, Watch, Wishes, plan};
use crate::units::Currency;

/// How long the search for a picture may take: long enough for nearly every book, so that one book has one picture. Points that are
/// not proven by then are drawn as such.
const LONGEST: Duration = Duration::from_secs(15);

/// Looks at the clock for the search.
struct Patience {
    begun: Instant,
    line: Line,
    currency: Currency,
}

impl Watch for Patience {
    fn stop(&self) -> Option<Stopped> {
        (self.begun.elapsed() >= LONGEST).then_some(Stopped::TimeLimit)
    }

    fn so_far(&self, so_far: SoFar) {
        self.line.tell(so_far, self.currency);
    }
}

/// The plans that no other beats, whatever the limits are, for the picture; none where there is no choice.
pub(super) fn front(case: &Case) -> Option<Box<Plans>> {
    let mut ask = case.ask.clone();
    (ask.budget, ask.max_mass) = (None, None);
    let free = Jurisdiction::open(&case.tables, &ask).ok()?;
    let wishes = Wishes {
        frontier: true,
        ..Wishes::default()
    };
    let patience = Patience {
        begun: Instant::now(),
        line: Line::begin(),
        currency: free.currency(),
    };
    match plan(&case.book, &free, &wishes, &patience).ok()? {
        Planned::Found(plans) => Some(plans),
        Planned::Nothing(_) => None,
    }
}
