//! `plan`: the clock, the interrupt and the progress line around the search.

use std::cell::Cell;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use super::args::{Asked, Wanted};
use super::exit::Exit;
use super::run::{Answer, read, refusal, refused, show, tell, write};
use super::world;
use crate::landed::Desk;
use crate::plan::{Planned, Progress, Stopped, Watch, Wishes, plan as search};
use crate::report;
use crate::text::{Problems, draw};

/// Set by the first interrupt.
static INTERRUPTED: AtomicBool = AtomicBool::new(false);

/// Looks at the clock and the interrupt for the search.
struct Clock {
    begun: Instant,
    limit: Option<Duration>,
    last: Cell<Duration>,
    shows: bool,
}

impl Watch for Clock {
    fn stop(&self) -> Option<Stopped> {
        if INTERRUPTED.load(Ordering::Relaxed) {
            return Some(Stopped::Interrupted);
        }
        self.limit.filter(|limit| self.begun.elapsed() >= *limit).map(|_| Stopped::TimeLimit)
    }

    fn progress(&self, so_far: Progress) {
        let now = self.begun.elapsed();
        if self.shows && now > Duration::from_secs(1) && now.saturating_sub(self.last.get()) > Duration::from_millis(250) {
            self.last.set(now);
            world::complain(&format!("\r{} s: {} points, {} closed", now.as_secs(), so_far.found, so_far.closed));
        }
    }
}

impl Clock {
    /// Wipes the progress line.
    fn clear(&self) {
        if !self.last.get().is_zero() {
            world::complain("\r\u{1b}[K");
        }
    }
}

/// Plans a book and writes what was found.
pub(super) fn plan(asked: &Asked, wanted: &Wanted) -> Exit {
    let mut problems = Problems::new();
    let case = read(asked, &mut problems).filter(|_| !problems.refuse());
    let Some(case) = case else { return refused(problems) };
    let wishes = Wishes {
        keep: wanted.keep.clone(),
        without: wanted.without.clone(),
        max_sellers: wanted.max_sellers,
        frontier: wanted.frontier,
        lightest: asked.names_only_a_budget(),
    };
    let limit = wanted.limit.map(|seconds| Duration::from_secs(u64::from(seconds)));
    let clock = Clock { begun: Instant::now(), limit, last: Cell::new(Duration::ZERO), shows: world::colour_err() };
    // the first interrupt ends the search, not the program; where it cannot be caught it ends both
    let _ = ctrlc::set_handler(|| INTERRUPTED.store(true, Ordering::Relaxed));
    let answered = Desk::open(&case.tables, &case.ask).and_then(|desk| {
        let planned = search(&case.book, &desk, &wishes, &clock)?;
        let plans = match planned {
            Planned::Found(plans) => plans,
            Planned::Nothing(reason) => return Ok(Err(reason)),
        };
        let show = show(&case, desk.currency())?;
        let tables = report::tables_json(&desk, &case.ask);
        let view = report::plan_view(&plans, &case.ask, &show).map_err(refusal)?;
        Ok(Ok(Answer { view, json: report::plan_json(&plans, &case.ask, &show, &tables) }))
    });
    clock.clear();
    match answered {
        Ok(Ok(answer)) => {
            tell(problems);
            write(&answer, asked.format)
        }
        Ok(Err(reason)) => {
            problems.push(reason);
            world::complain(&draw(&problems.sorted(), world::colour_err()));
            Exit::Nothing
        }
        Err(more) => {
            problems.extend(more);
            refused(problems)
        }
    }
}
