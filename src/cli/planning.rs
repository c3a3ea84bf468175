//! `plan`: the clock and the interrupt around the search, and its answer.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use super::args::{CommonArgs, Wanted};
use super::case::{Answer, Answered, Case, read, refused, show, sound, tell, write};
use super::exit::Exit;
use super::progress::Line;
use super::world;
use crate::landed::Jurisdiction;
use crate::plan::{NoPlan, Planned, Plans, SoFar, Stopped, Watch, Wishes, plan as search};
use crate::report;
use crate::text::{Problems, draw};
use crate::units::Currency;

/// Set by the first interrupt.
static INTERRUPTED: AtomicBool = AtomicBool::new(false);

/// Looks at the clock and the interrupt for the search, and passes on how far it is.
pub(super) struct Clock<'a> {
    begun: Instant,
    limit: Option<Duration>,
    currency: Currency,
    line: &'a Line,
}

impl<'a> Clock<'a> {
    /// Begins now, for a search that may take no longer than the limit.
    pub(super) fn begin(limit: Option<Duration>, currency: Currency, line: &'a Line) -> Clock<'a> {
        Clock {
            begun: Instant::now(),
            limit,
            currency,
            line,
        }
    }
}

impl Watch for Clock<'_> {
    fn stop(&self) -> Option<Stopped> {
        if INTERRUPTED.load(Ordering::Relaxed) {
            return Some(Stopped::Interrupted);
        }
        self.limit
            .filter(|limit| self.begun.elapsed() >= *limit)
            .map(|_| Stopped::TimeLimit)
    }

    fn so_far(&self, so_far: SoFar) {
        self.line.tell(so_far, self.currency);
    }
}

/// Plans that were found, with the trail of their bills where it is asked for.
fn told(
    plans: &Plans,
    case: &Case,
    jurisdiction: &Jurisdiction<'_>,
    asked: &CommonArgs,
) -> Answered {
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
    Ok(answer.with_trails(asked, bills, &show))
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

/// Plans a book and writes what was found.
pub(super) fn plan(asked: &CommonArgs, wanted: &Wanted) -> Exit {
    let mut problems = Problems::new();
    let line = Line::begin();
    let case = read(asked, &mut problems).filter(|_| !problems.refuse());
    let Some(case) = case else {
        drop(line);
        return refused(problems);
    };
    let wishes = Wishes {
        keep: wanted.keep.clone(),
        without: wanted.without.clone(),
        max_sellers: wanted.max_sellers,
        frontier: wanted.frontier,
        lightest: asked.names_only_a_budget(),
    };
    // the first interrupt ends the search, not the program; where it cannot be caught it ends both
    let _ = ctrlc::set_handler(|| INTERRUPTED.store(true, Ordering::Relaxed));
    let answered = Jurisdiction::open(&case.tables, &case.ask).and_then(|jurisdiction| {
        problems.also(&jurisdiction.warnings);
        sound(&case, &jurisdiction)?;
        let seconds = |seconds| Duration::from_secs(u64::from(seconds));
        let limit = wanted.limit.map(seconds);
        let clock = Clock::begin(limit, jurisdiction.currency(), &line);
        let plans = match search(&case.book, &jurisdiction, &wishes, &clock)? {
            Planned::Found(plans) => plans,
            Planned::Nothing(none) => {
                let answer = nearest(&none, &case, &jurisdiction)?;
                return Ok(Err((none.reason, answer)));
            }
        };
        told(&plans, &case, &jurisdiction, asked).map(Ok)
    });
    drop(line);
    match answered {
        Ok(Ok(answer)) => {
            tell(problems);
            write(&answer, asked)
        }
        Ok(Err((reason, nearest))) => {
            problems.push(reason);
            world::complain(&draw(&problems.sorted(), world::colour_err()));
            match write(&nearest, asked) {
                Exit::Done => Exit::Nothing,
                failed => failed,
            }
        }
        Err(more) => {
            problems.extend(more);
            refused(problems)
        }
    }
}
