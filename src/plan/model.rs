//! What the search works on: places to fill once, offers that fill them, sellers whose packages have an exact cost.
//!
//! All figures are whole numbers: costs in minor units, masses in any small unit (tenths of grams for books). What one
//! seller's package costs is known only to a [`PackageCost`]; beside the exact figure it gives [`Case`]s, lower bounds
//! that are linear in the offers, so that any rule can be searched and only the bounds must stay below it.

/// Fractions of a minor unit in which bounds are calculated.
pub const UNIT: i64 = 1_000_000;

/// Beyond every sum: no limit.
pub const NO_LIMIT: i64 = i64::MAX / 8;

/// The largest total a model may reach, in minor units and in mass; keeps every bound far from overflow.
pub(super) const LARGEST: i64 = 100_000_000_000;

/// The most places of a choice.
pub(super) const PLACES: usize = 64;

/// The most parcels, that of what costs nothing more included.
pub(super) const PARCELS: usize = 127;

/// One way to fill one or several places.
#[derive(Debug, Clone, Default)]
pub struct Offer {
    /// The seller, by number.
    pub seller: usize,
    /// The places it fills, one bit each.
    pub places: u64,
    /// What it adds to the bike.
    pub mass: i64,
    /// What it adds to a sum that thresholds of money look at.
    pub goods: i64,
    /// What it adds to a sum that steps of freight look at.
    pub weight: i64,
    /// What it says at joints: the key, and the values it allows, one bit each.
    pub fits: Vec<(usize, u64)>,
    /// Each entry is a set of offers of which one must be chosen with this one.
    pub needs: Vec<Vec<u32>>,
}

/// A lower bound on the cost of a package, linear in its offers, for packages within its limits.
#[derive(Debug, Clone)]
pub struct Case {
    /// Which row of [`Cases::classes`] gives the offers' shares.
    pub class: usize,
    /// What the package costs beside its offers' shares, in [`UNIT`]s.
    pub fixed: i64,
    /// The least goods.
    pub goods_least: i64,
    /// The most goods.
    pub goods_most: i64,
    /// The most weight.
    pub weight_most: i64,
}

/// All cases of one seller: every package falls within one whose bound is not above its exact cost.
#[derive(Debug, Clone, Default)]
pub struct Cases {
    /// Shares by class, then by the seller's offers in ascending order, in [`UNIT`]s.
    pub classes: Vec<Vec<i64>>,
    /// The cases.
    pub cases: Vec<Case>,
}

/// What packages cost.
pub trait PackageCost {
    /// The exact cost of a package (ascending, not empty) in minor units; none when it cannot be had.
    fn exact(&self, seller: usize, offers: &[u32]) -> Option<i64>;
    /// Its lower bounds.
    fn cases(&self, seller: usize) -> Cases;
    /// Up to how many packages of this seller are priced one by one, exactly, instead of being bounded by cases.
    fn room(&self, _seller: usize) -> usize {
        0
    }
    /// Whether the time is up: whoever prices packages one after another then makes do with what is known.
    fn is_late(&self) -> bool {
        false
    }
    /// Steps of a walk over one seller's packages, beyond which its bound stands in for the least of them.
    fn patience(&self, _seller: usize) -> u64 {
        u64::MAX
    }
}

/// A choice problem.
#[derive(Debug, Clone, Default)]
pub struct Model {
    /// How many places there are, at most 64.
    pub places: usize,
    /// Places that must be filled; the others may stay empty.
    pub required: u64,
    /// All offers.
    pub offers: Vec<Offer>,
    /// How many sellers there are.
    pub sellers: usize,
    /// At most this many sellers in one plan.
    pub max_sellers: Option<usize>,
    /// Sellers that are bought from anyway and do not count, one bit each.
    pub settled: u128,
    /// The seller that each counts as, where one sends several parcels; each as itself when empty.
    pub same: Vec<usize>,
    /// For each key of a joint, the values that parts outside the choice allow.
    pub joints: Vec<u64>,
    /// Plans that are known before the search, each as its offers.
    pub begin: Vec<Vec<u32>>,
}

impl Model {
    /// Whether figures are within what the search calculates with; the reason when not.
    pub(crate) fn check(&self) -> Result<(), String> {
        if self.places > PLACES || self.sellers > PARCELS {
            return Err(format!(
                "a choice over {} places and {} sellers is too large",
                self.places, self.sellers
            ));
        }
        let mut sum: i64 = 0;
        for offer in &self.offers {
            let largest = offer.mass.max(offer.goods).max(offer.weight);
            if offer.mass < 0
                || offer.goods < 0
                || offer.weight < 0
                || offer.seller >= self.sellers
                || offer.places == 0
            {
                return Err("an offer is without a place, or below zero".to_owned());
            }
            sum = sum
                .checked_add(largest)
                .filter(|s| *s < LARGEST)
                .ok_or("the sums of this choice are too large")?;
        }
        Ok(())
    }

    /// Whether nothing couples offers but their places.
    pub(crate) fn is_plain(&self) -> bool {
        self.max_sellers.is_none()
            && self
                .offers
                .iter()
                .all(|o| o.fits.is_empty() && o.needs.is_empty())
    }

    /// Whether joints may still close for these offers.
    pub(crate) fn joints_close(&self, offers: &[u32]) -> bool {
        let mut open = self.joints.clone();
        offers
            .iter()
            .flat_map(|o| &self.offers[*o as usize].fits)
            .all(|(key, values)| {
                open[*key] &= values;
                open[*key] != 0
            })
    }

    /// Whether a complete choice keeps every rule that couples offers.
    pub fn holds(&self, offers: &[u32]) -> bool {
        let met = |any: &Vec<u32>| any.iter().any(|n| offers.contains(n));
        let needs = |o: &u32| self.offers[*o as usize].needs.iter().all(met);
        self.sellers_in(offers) <= self.max_sellers.unwrap_or(usize::MAX)
            && offers.iter().all(needs)
            && self.joints_close(offers)
    }

    /// How many sellers a choice buys from.
    pub(crate) fn sellers_in(&self, offers: &[u32]) -> usize {
        self.counted(offers.iter().map(|o| self.offers[*o as usize].seller))
    }

    /// How many of these sellers count.
    pub(super) fn counted(&self, sellers: impl Iterator<Item = usize>) -> usize {
        let seen = sellers.fold(0u128, |seen, s| {
            seen | 1u128 << self.same.get(s).copied().unwrap_or(s)
        });
        (seen & !self.settled).count_ones() as usize
    }

    /// Cost and mass of a choice, exactly.
    pub fn price(&self, cost: &dyn PackageCost, offers: &[u32]) -> Option<(i64, i64)> {
        let mut sum = 0;
        for seller in 0..self.sellers {
            let mut package: Vec<u32> = offers
                .iter()
                .copied()
                .filter(|o| self.offers[*o as usize].seller == seller)
                .collect();
            package.sort_unstable();
            if !package.is_empty() {
                sum += cost.exact(seller, &package)?;
            }
        }
        Some((
            sum,
            offers.iter().map(|o| self.offers[*o as usize].mass).sum(),
        ))
    }
}

/// The places of a mask, in order.
pub(super) fn places(mask: u64) -> impl Iterator<Item = usize> {
    let mut left = mask;
    std::iter::from_fn(move || {
        if left == 0 {
            return None;
        }
        let at = left.trailing_zeros() as usize;
        left &= left - 1;
        Some(at)
    })
}
