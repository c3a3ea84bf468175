//! The staircase of the best plans seen: least cost by mass, none dominated; and the corners where a better one could lie.

/// A plan that was seen and priced exactly.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// Its cost in minor units.
    pub cost: i64,
    /// Its mass.
    pub mass: i64,
    /// Its offers, ascending.
    pub offers: Vec<u32>,
    /// No unseen plan is lighter than it and cheaper than its lighter neighbour.
    pub(super) closed: bool,
    /// Its neighbourhood was searched.
    pub(super) tried: bool,
}

impl Found {
    /// The same where its offers mean nothing: a plan of another part of the choice, to be beaten.
    pub(super) fn elsewhere(&self) -> Found {
        Found {
            offers: Vec::new(),
            closed: false,
            tried: true,
            ..*self
        }
    }
}

/// The largest cost and mass that would still be better than what is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Corner {
    pub(super) cost: i64,
    pub(super) mass: i64,
}

/// Plans by ascending mass and descending cost.
#[derive(Debug, Default)]
pub(super) struct ParetoFront {
    pub(super) steps: Vec<Found>,
    /// Grows with every change.
    pub(super) version: u64,
}

impl ParetoFront {
    /// Whether a plan of this cost and mass is new and not dominated.
    pub(super) fn wants(&self, cost: i64, mass: i64) -> bool {
        let at = self.steps.partition_point(|s| s.mass <= mass);
        at == 0 || self.steps[at - 1].cost > cost
    }

    /// Adds a plan unless one at least as good is known.
    pub(super) fn add(&mut self, cost: i64, mass: i64, mut offers: Vec<u32>) -> bool {
        if !self.wants(cost, mass) {
            return false;
        }
        offers.sort_unstable();
        let from = self.steps.partition_point(|s| s.mass < mass);
        let mut to = from;
        while to < self.steps.len() && self.steps[to].cost >= cost {
            to += 1;
        }
        let closed = self
            .steps
            .get(from)
            .is_some_and(|s| to > from && s.mass == mass && s.closed);
        self.steps.splice(
            from..to,
            [Found {
                cost,
                mass,
                offers,
                closed,
                tried: false,
            }],
        );
        self.version += 1;
        true
    }

    /// The cheapest plan up to a mass.
    pub(super) fn cheapest(&self, most: i64) -> Option<&Found> {
        let at = self.steps.partition_point(|s| s.mass <= most);
        at.checked_sub(1).map(|at| &self.steps[at])
    }

    /// The lightest plan up to a cost.
    pub(super) fn lightest(&self, most: i64) -> Option<&Found> {
        let at = self.steps.partition_point(|s| s.cost > most);
        self.steps.get(at)
    }

    /// The corner below a step: lighter than it, cheaper than its lighter neighbour.
    pub(super) fn corner(&self, at: usize, dearest: i64) -> Corner {
        let cost = at
            .checked_sub(1)
            .map_or(dearest, |left| self.steps[left].cost - 1);
        Corner {
            cost,
            mass: self.steps[at].mass - 1,
        }
    }
}
