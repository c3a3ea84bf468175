//! The plans that `report` draws: the whole frontier, as far as the watch lets the search go.

use super::Case;
use crate::landed::Jurisdiction;
use crate::plan::{Planned, Plans, Watch, Wishes, plan};

/// The plans that no other beats, whatever the limits are, for the picture; none where there is no choice.
pub(super) fn front(case: &Case, watch: &dyn Watch) -> Option<Box<Plans>> {
    let mut ask = case.ask.clone();
    (ask.budget, ask.max_mass) = (None, None);
    let free = Jurisdiction::open(&case.tables, &ask).ok()?;
    let wishes = Wishes {
        frontier: true,
        ..Wishes::default()
    };
    match plan(&case.book, &free, &wishes, watch).ok()? {
        Planned::Found(plans) => Some(plans),
        Planned::Nothing(_) => None,
    }
}
