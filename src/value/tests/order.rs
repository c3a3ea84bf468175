//! The order of differences.

use crate::small::dec;
use crate::units::Grams;
use crate::value::{Difference, Quadrant};

#[test]
fn what_is_beaten_never_stands_above_what_beats_it() {
    let steps = ["-2", "-1", "-0.01", "0", "0.01", "1", "2"];
    let grid = || {
        steps.iter().flat_map(|cost| {
            steps
                .iter()
                .map(|saved| Difference::new(dec(cost), Grams(dec(saved)), 2))
        })
    };
    let mut all: Vec<Difference> = grid().collect();
    all.sort_by(|a, b| a.rank(b).unwrap());
    for (at, one) in all.iter().enumerate() {
        for above in &all[..at] {
            let beaten = one.cost <= above.cost && one.saved >= above.saved && one != above;
            assert!(!beaten, "{above:?} stands above {one:?}");
        }
    }
    let quadrants: Vec<Quadrant> = all.iter().map(Difference::quadrant).collect();
    assert!(quadrants.is_sorted());
}
