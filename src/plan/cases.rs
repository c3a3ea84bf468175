//! What a parcel costs at least, as the search takes it: the cases of the law's bounds in the search's whole numbers.

use std::collections::BTreeMap;

use super::model::{Case, Cases, NO_LIMIT};
use crate::landed::{LeastCase, SellerBounds};

/// The bounds of one parcel's offers.
pub(super) struct Bounds {
    /// What each offer adds to the sum that cases look at.
    pub(super) goods: Vec<i64>,
    /// Its packed mass.
    pub(super) weight: Vec<i64>,
    /// The cases, of what the offers add to the parcel of what comes anyway.
    pub(super) cases: Cases,
}

impl Bounds {
    /// From the law's bounds, without what the parcel costs already. `per_nano` is how many of the search's least units a billionth
    /// of the destination's money is, as a fraction; `scale` by how much goods are stretched, so that they look like costs.
    pub(super) fn of(
        bounds: &SellerBounds,
        base: i64,
        per_nano: (i128, i128),
        scale: i64,
    ) -> Option<Bounds> {
        let mut classes: BTreeMap<Vec<i64>, usize> = BTreeMap::new();
        let mut rows: Vec<Vec<i64>> = Vec::new();
        let mut cases = Vec::new();
        let small = |nano: i128| {
            let units = nano.checked_mul(per_nano.0)?.div_euclid(per_nano.1);
            i64::try_from(units).ok()
        };
        for case in &bounds.cases {
            let row = case
                .by_offer
                .iter()
                .map(|own| small(*own))
                .collect::<Option<Vec<i64>>>()?;
            let class = *classes.entry(row.clone()).or_insert_with(|| {
                rows.push(row);
                rows.len() - 1
            });
            let fixed = small(case.fixed)?.checked_sub(base)?;
            cases.push(of_case(case, class, fixed, scale)?);
        }
        let stretch = |goods: &i64| goods.checked_mul(scale);
        Some(Bounds {
            goods: bounds.goods.iter().map(stretch).collect::<Option<_>>()?,
            weight: bounds.weight.clone(),
            cases: Cases {
                classes: rows,
                cases,
            },
        })
    }
}

fn of_case(case: &LeastCase, class: usize, fixed: i64, scale: i64) -> Option<Case> {
    let limit = |goods: i64| {
        if goods >= NO_LIMIT / scale {
            NO_LIMIT
        } else {
            goods * scale
        }
    };
    Some(Case {
        class,
        fixed,
        goods_least: limit(case.goods.0.max(0)),
        goods_most: limit(case.goods.1),
        weight_most: case.weight_most.unwrap_or(NO_LIMIT),
    })
}
