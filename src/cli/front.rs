//! The plans that `report` draws: the whole frontier, as far as a search of some seconds goes.

use std::time::Duration;

use super::case::Case;
use super::planning::Clock;
use super::progress::Line;
use crate::landed::Jurisdiction;
use crate::plan::{Planned, Plans, Wishes, plan};

/// How long the search for a picture may take: long enough for nearly every book, so that one book has one picture. Points that are
/// not proven by then are drawn as such.
const LONGEST: Duration = Duration::from_secs(15);

/// The plans that no other beats, whatever the limits are, for the picture; none where there is no choice.
pub(super) fn front(case: &Case) -> Option<Box<Plans>> {
    let mut ask = case.ask.clone();
    (ask.budget, ask.max_mass) = (None, None);
    let free = Jurisdiction::open(&case.tables, &ask).ok()?;
    let wishes = Wishes {
        frontier: true,
        ..Wishes::default()
    };
    let line = Line::begin();
    let clock = Clock::begin(Some(LONGEST), free.currency(), &line);
    match plan(&case.book, &free, &wishes, &clock).ok()? {
        Planned::Found(plans) => Some(plans),
        Planned::Nothing(_) => None,
    }
}
