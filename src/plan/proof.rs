//! How far each point of a frontier is from what is proven: where its corners are still open, what lies in them costs at least.

use super::search::Outcome;
use super::watch::Stopped;

impl Outcome {
    /// The least cost of any plan that is no heavier than a point of the frontier, as far as it is proven; none where the point
    /// itself is proven. A plan that beats the point lies in an open corner below it or below a lighter one, or in the corner of its
    /// heavier neighbour, which holds what weighs the same. Beyond the last point there is no such corner, but a bound on all.
    pub(super) fn least_at(&self, point: usize) -> Option<i64> {
        let shut = |at: usize| self.plans.get(at).is_none_or(|found| found.closed);
        if self.stopped == Stopped::Proven || (shut(point) && shut(point + 1)) {
            return None;
        }
        let own = self.plans.get(point)?;
        let next = self.plans.get(point + 1);
        let reach = next.map_or(i64::MAX, |next| next.mass - 1);
        let corners = self.open.iter().filter(|(_, mass, _)| *mass <= reach);
        let beyond = next.is_none().then_some(self.bound);
        let least = corners.map(|(_, _, least)| *least).chain(beyond).min();
        Some(least.unwrap_or(self.bound).min(own.cost))
    }
}
