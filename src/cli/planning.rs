//! `plan`: the clock and the interrupt around the search; its progress, and the points of a frontier as they are closed.

use std::cell::{Cell, RefCell};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use super::args::{CommonArgs, Wanted};
use super::case::{Answer, Answered, Case, read, refused, show, sound, tell, write};
use super::exit::Exit;
use super::world;
use crate::landed::Jurisdiction;
use crate::plan::{NoPlan, Planned, Plans, Progress, Stopped, Watch, Wishes, plan as search};
use crate::report;
use crate::text::words::count;
use crate::text::{Problems, draw};
use crate::units::{Currency, Dec, Grams};

/// Set by the first interrupt.
static INTERRUPTED: AtomicBool = AtomicBool::new(false);

/// How long a search is quiet.
const QUIET: Duration = Duration::from_secs(1);

/// How often the line of progress is written anew.
const EVERY: Duration = Duration::from_millis(250);

/// Looks at the clock and the interrupt for the search.
struct Clock {
    begun: Instant,
    limit: Option<Duration>,
    currency: Currency,
    /// When the line of progress was last written.
    last: Cell<Duration>,
    /// Whether somebody watches standard error.
    watched: bool,
    /// Points closed while the search was quiet.
    held: RefCell<Vec<String>>,
}

impl Watch for Clock {
    fn stop(&self) -> Option<Stopped> {
        if INTERRUPTED.load(Ordering::Relaxed) {
            return Some(Stopped::Interrupted);
        }
        self.limit
            .filter(|limit| self.begun.elapsed() >= *limit)
            .map(|_| Stopped::TimeLimit)
    }

    fn progress(&self, so_far: Progress) {
        let now = self.begun.elapsed();
        if !self.watched || now <= QUIET || now.saturating_sub(self.last.get()) <= EVERY {
            return;
        }
        self.last.set(now);
        let found = count(so_far.found, "plan", "plans");
        let rest = match so_far.gap {
            Some(gap) => format!(
                "at most {} {} less is possible",
                Dec::new(gap, self.currency.digits()).grouped(self.currency.digits()),
                self.currency
            ),
            None => format!("{} closed", so_far.closed),
        };
        world::complain(&format!(
            "\r{} s: {found} seen, {rest}\u{1b}[K",
            now.as_secs()
        ));
    }

    fn point(&self, landed: Dec, mass: Grams) {
        let landed = landed.grouped(self.currency.digits());
        self.held.borrow_mut().push(format!(
            "closed: {mass} g, lands at {landed} {}\n",
            self.currency
        ));
        if self.begun.elapsed() > QUIET {
            self.clear();
            world::complain(&self.held.take().concat());
        }
    }
}

impl Clock {
    fn new(limit: Option<u32>, currency: Currency) -> Clock {
        Clock {
            begun: Instant::now(),
            limit: limit.map(|seconds| Duration::from_secs(u64::from(seconds))),
            currency,
            last: Cell::new(Duration::ZERO),
            watched: world::watched(),
            held: RefCell::default(),
        }
    }

    /// Wipes the progress line.
    fn clear(&self) {
        if !self.last.get().is_zero() {
            world::complain("\r\u{1b}[K");
        }
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
    let case = read(asked, &mut problems).filter(|_| !problems.refuse());
    let Some(case) = case else {
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
        let clock = Clock::new(wanted.limit, jurisdiction.currency());
        let planned = search(&case.book, &jurisdiction, &wishes, &clock);
        clock.clear();
        let planned = planned?;
        let plans = match planned {
            Planned::Found(plans) => plans,
            Planned::Nothing(none) => {
                let answer = nearest(&none, &case, &jurisdiction)?;
                return Ok(Err((none.reason, answer)));
            }
        };
        told(&plans, &case, &jurisdiction, asked).map(Ok)
    });
    match answered {
        Ok(Ok(answer)) => {
            tell(problems);
            write(&answer, asked.format)
        }
        Ok(Err((reason, nearest))) => {
            problems.push(reason);
            world::complain(&draw(&problems.sorted(), world::colour_err()));
            match write(&nearest, asked.format) {
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
