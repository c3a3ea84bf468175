//! Plans that are written down: the book costs and weighs what was planned, to the penny.

use super::drawn::{FREIGHT, drawn};
use crate::abroad;
use crate::book::Book;
use crate::landed::{Jurisdiction, cost_at};
use crate::made;
use crate::plan::{Patient, Planned, plan};
use crate::steps::changed;
use crate::text::{Problems, draw};

/// Whether the book of a number has a plan, which changes it; then the book that has it is as it was planned.
fn is_as_planned(number: u64) -> Option<usize> {
    let tables = abroad::tables(&[("freight.csv", FREIGHT)]);
    let drawn = drawn(number);
    let typed = made::borrowed(&drawn.text);
    let book = made::taken(&typed);
    let ask = made::ask(&book);
    let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
    let planned = plan(&book, &jurisdiction, &drawn.wishes, &Patient).unwrap();
    let Planned::Found(plans) = planned else {
        return None;
    };
    for best in &plans.plans {
        let edits = crate::steps::plan(&book, best).unwrap();
        let mut problems = Problems::new();
        let now = Book::read(&changed(&typed, &edits), &mut problems);
        let about = format!("book {number} to {}", drawn.to);
        assert!(!problems.refuse(), "{about}: {}", draw(&problems, false));
        let totals = cost_at(&now, &jurisdiction)
            .unwrap_or_else(|why| panic!("{about}: {}", draw(&why, false)))
            .totals;
        assert_eq!(totals.landed().unwrap().amount(), best.landed, "{about}");
        assert_eq!(totals.mass, best.mass, "{about}");
    }
    Some(plans.changes.len())
}

#[test]
fn a_plan_that_is_written_costs_what_was_planned() {
    let numbers = 0..made::share(400, 16);
    let changed: Vec<usize> = numbers
        .filter_map(|number| is_as_planned(number + made::seed()))
        .collect();
    let moved = changed.iter().filter(|places| **places > 0).count();
    assert!(changed.len() > 8 && moved > 5, "{changed:?}");
}
