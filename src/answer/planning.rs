//! `plan`: the search, and what it found.

use super::case::show;
use super::{Answer, Answered, Case, Found, Shape};
use crate::landed::Jurisdiction;
use crate::plan::{NoPlan, Planned, Plans, Watch, Wishes, plan as search};
use crate::report;
use crate::text::Problems;

/// Plans a book.
pub(super) fn plan(
    case: &Case,
    jurisdiction: &Jurisdiction<'_>,
    wishes: &Wishes,
    shape: Shape,
    watch: &dyn Watch,
) -> Result<Found, Problems> {
    match search(&case.book, jurisdiction, wishes, watch)? {
        Planned::Found(plans) => told(&plans, case, jurisdiction, shape).map(Found::Answer),
        Planned::Nothing(none) => {
            let answer = nearest(&none, case, jurisdiction)?;
            Ok(Found::Nothing(none.reason, answer))
        }
    }
}

/// Plans that were found, with the trail of their bills where it is asked for.
fn told(plans: &Plans, case: &Case, jurisdiction: &Jurisdiction<'_>, shape: Shape) -> Answered {
    let show = show(case, jurisdiction.currency())?;
    let tables = report::tables_json(jurisdiction, &case.ask);
    let answer = Answer {
        view: report::plan_view(plans, &case.ask, &show)?,
        json: report::plan_json(plans, &case.ask, &show, &tables)?,
    };
    let bills = match &plans.landed {
        Some(landed) => landed.bills.as_slice(),
        None => &[],
    };
    Ok(answer.with_trails(shape, bills, &show))
}

/// What comes nearest where no plan keeps the limits.
fn nearest(none: &NoPlan, case: &Case, jurisdiction: &Jurisdiction<'_>) -> Answered {
    let show = show(case, jurisdiction.currency())?;
    let tables = report::tables_json(jurisdiction, &case.ask);
    Ok(Answer {
        view: report::nearest_view(none, &show)?,
        json: report::nearest_json(none, &case.ask, &show, &tables),
    })
}
