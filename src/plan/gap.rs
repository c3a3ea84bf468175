//! The gaps of open corners at the slopes of a search: what a plan may exceed the bounds by and still be better.

use super::dual::Slope;
use super::model::{NO_LIMIT, UNIT};
use super::pareto::{Corner, Found, ParetoFront};
use super::search::lowest;
use super::so_far::so_far;
use super::watch::Progress;

/// Slopes that a closing search looks at, at most.
pub(super) const SLOPES: usize = 5;

/// What is spent above the bounds, at each slope.
pub(super) type Excess = [i64; SLOPES];

/// Where better plans are looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Target {
    /// Cheaper, up to a mass; or as cheap and lighter.
    Cheaper(i64),
    /// Lighter, up to a cost; or as light and cheaper.
    Lighter(i64),
    /// Below the staircase, at corners of these masses.
    Below(i64, i64),
}

impl Target {
    /// The best plan known of it; of a frontier the cheapest.
    pub(super) fn best(self, stair: &ParetoFront) -> Option<&Found> {
        match self {
            Target::Cheaper(most) => stair.cheapest(most),
            Target::Lighter(most) => stair.lightest(most),
            Target::Below(..) => stair.steps.last(),
        }
    }

    /// The least cost or mass that is sought, by the bound of a slope; zero where that says nothing.
    pub(super) fn least(self, slope: &Slope) -> i64 {
        let (cost, mass) = (slope.prices.cost * UNIT, slope.prices.mass);
        match self {
            Target::Cheaper(most) => lowest(slope.bound, mass, most, cost),
            Target::Lighter(most) => lowest(slope.bound, cost, most, mass),
            Target::Below(..) => 0,
        }
    }
}

/// The gaps of all corners of a target.
pub(super) struct Gaps<'a> {
    slopes: Vec<&'a Slope>,
    target: Target,
    /// A cost that is not of interest beyond.
    dearest: i64,
    gaps: Vec<Excess>,
    most: Excess,
    version: u64,
}

/// Corners that a target still has.
pub(super) fn corners(target: Target, stair: &ParetoFront, dearest: i64) -> Vec<Corner> {
    match target {
        Target::Cheaper(most) => match stair.cheapest(most) {
            None => vec![Corner {
                cost: dearest,
                mass: most,
            }],
            Some(best) => vec![
                Corner {
                    cost: best.cost - 1,
                    mass: most,
                },
                Corner {
                    cost: best.cost,
                    mass: best.mass - 1,
                },
            ],
        },
        Target::Lighter(most) => match stair.lightest(most) {
            None => vec![Corner {
                cost: most,
                mass: NO_LIMIT,
            }],
            Some(best) => vec![
                Corner {
                    cost: most,
                    mass: best.mass - 1,
                },
                Corner {
                    cost: best.cost - 1,
                    mass: best.mass,
                },
            ],
        },
        Target::Below(from, to) => {
            let first = stair.steps.partition_point(|s| s.mass - 1 < from);
            let last = stair.steps.partition_point(|s| s.mass - 1 <= to);
            (first..last)
                .filter(|at| !stair.steps[*at].closed)
                .map(|at| stair.corner(at, dearest))
                .collect()
        }
    }
}

impl<'a> Gaps<'a> {
    /// The gaps of a target at one to three slopes.
    pub(super) fn new(
        slopes: Vec<&'a Slope>,
        target: Target,
        stair: &ParetoFront,
        dearest: i64,
    ) -> Gaps<'a> {
        let mut gaps = Gaps {
            slopes,
            target,
            dearest,
            gaps: Vec::new(),
            most: [0; SLOPES],
            version: u64::MAX,
        };
        gaps.refresh(stair);
        gaps
    }

    /// Calculates anew when the staircase has changed.
    pub(super) fn refresh(&mut self, stair: &ParetoFront) {
        if self.version == stair.version {
            return;
        }
        self.version = stair.version;
        self.gaps.clear();
        for corner in corners(self.target, stair, self.dearest) {
            let mut gap = [i64::MAX / 2; SLOPES];
            for (k, slope) in self.slopes.iter().enumerate() {
                gap[k] = slope.gap(corner);
            }
            if gap.iter().all(|g| *g >= 0) {
                self.gaps.push(gap);
            }
        }
        self.gaps.sort_unstable_by_key(|g| std::cmp::Reverse(g[0]));
        self.most = self
            .gaps
            .iter()
            .fold([-1; SLOPES], |m, g| std::array::from_fn(|k| m[k].max(g[k])));
    }

    /// The largest gap at a slope; below zero when all corners are closed.
    pub(super) fn most(&self, slope: usize) -> i64 {
        self.most[slope]
    }

    /// The largest gap at every slope.
    pub(super) fn most_all(&self) -> Excess {
        self.most
    }

    /// How far the search is.
    pub(super) fn so_far(&self, stair: &ParetoFront) -> Option<Progress> {
        let slope = self.slopes.first()?;
        Some(so_far(self.target, stair, slope))
    }

    /// Whether a plan with at least this excess at each slope could still be better somewhere.
    pub(super) fn alive(&self, spent: Excess) -> bool {
        if (0..SLOPES).any(|k| spent[k] > self.most[k]) {
            return false;
        }
        let mut left = self.gaps.iter().take_while(|g| g[0] >= spent[0]);
        left.any(|g| (1..SLOPES).all(|k| spent[k] <= g[k]))
    }
}

impl Slope {
    /// By how much a corner's value is above the bound.
    pub(super) fn gap(&self, corner: Corner) -> i64 {
        let cost = i128::from(self.prices.cost * UNIT) * i128::from(corner.cost);
        let value = cost + i128::from(self.prices.mass) * i128::from(corner.mass);
        i64::try_from(value - i128::from(self.bound))
            .unwrap_or(i64::MAX / 4)
            .min(i64::MAX / 4)
    }
}
