//! What the search of one seller works with: prices of cost, mass and places; its offers laid out; packages found.

use super::model::{Case, UNIT};

/// What a unit of cost and of mass counts, and the price of each place.
#[derive(Debug, Clone)]
pub(super) struct Prices {
    /// One, or zero when only mass counts.
    pub(super) cost: i64,
    /// Worth of a unit of mass.
    pub(super) mass: i64,
    /// The most that a unit of mass may be worth, so that no value overflows.
    pub(super) steepest: i64,
    /// Price of each place.
    pub(super) place: Vec<i64>,
}

impl Prices {
    /// The value of a plan.
    pub(super) fn value(&self, cost: i64, mass: i64) -> i64 {
        held(
            i128::from(self.cost) * i128::from(UNIT) * i128::from(cost)
                + i128::from(self.mass) * i128::from(mass),
            LARGEST_VALUE,
        )
    }

    /// The same prices at another worth of mass.
    pub(super) fn at(&self, mass: i64) -> Prices {
        Prices {
            mass: mass.clamp(0, self.steepest),
            ..self.clone()
        }
    }

    /// The price of a place after a move: any price proves a bound, and within these no sum of them overflows.
    pub(super) fn moved(&mut self, place: usize, by: i128) {
        let most = (1 << 62) / i64::try_from(self.place.len().max(1)).unwrap_or(64);
        if let Some(price) = self.place.get_mut(place) {
            *price = held(i128::from(*price) + by, most);
        }
    }
}

/// The largest value of a plan: beyond it all are as bad.
const LARGEST_VALUE: i64 = 1 << 61;

/// A figure within this much of zero.
pub(super) fn held(figure: i128, most: i64) -> i64 {
    let most = i128::from(most);
    figure.clamp(-most, most) as i64
}

/// A seller as the walk sees it: its offers by the first of their places.
#[derive(Debug)]
pub(super) struct Seller {
    pub(super) number: usize,
    pub(super) ids: Vec<u32>,
    pub(super) mask: Vec<u64>,
    pub(super) mass: Vec<i64>,
    pub(super) goods: Vec<i64>,
    pub(super) weight: Vec<i64>,
    pub(super) slots: Vec<(usize, usize)>,
    pub(super) classes: Vec<Vec<i64>>,
    pub(super) cases: Vec<Case>,
    /// The most goods of the slots from here on.
    pub(super) most_goods: Vec<i64>,
    pub(super) multipliers: Vec<(i64, i64)>,
    /// All its packages, where they are few.
    pub(super) all: Option<Vec<Priced>>,
}

/// A package with its exact cost, as numbers local to the seller.
#[derive(Debug)]
pub(super) struct Priced {
    pub(super) locals: Box<[u16]>,
    pub(super) mask: u64,
    pub(super) cost: i64,
    pub(super) mass: i64,
}

/// A package and its reduced value.
#[derive(Debug, Clone, Default)]
pub(super) struct Least {
    pub(super) value: i64,
    pub(super) offers: Vec<u32>,
}

/// A package of the list.
#[derive(Debug, Clone)]
pub(super) struct Pack {
    pub(super) seller: usize,
    pub(super) mask: u64,
    pub(super) cost: i64,
    pub(super) mass: i64,
    pub(super) offers: Box<[u32]>,
}
