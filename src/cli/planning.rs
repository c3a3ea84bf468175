//! The clock and the interrupt around the searches of `plan` and `report`.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use super::args::Wanted;
use super::case::{deliver, told};
use super::common_args::CommonArgs;
use super::exit::Exit;
use super::progress::Line;
use crate::answer::Command;
use crate::plan::{SoFar, Stopped, Watch, Wishes};

/// Set by the first interrupt.
static INTERRUPTED: AtomicBool = AtomicBool::new(false);

/// Looks at the clock and the interrupt for the search, and passes on how far it is.
pub(super) struct Clock<'a> {
    begun: Instant,
    limit: Option<Duration>,
    line: &'a Line,
}

impl<'a> Clock<'a> {
    /// Begins now, for a search that may take no longer than the limit.
    pub(super) fn begin(limit: Option<Duration>, line: &'a Line) -> Clock<'a> {
        Clock {
            begun: Instant::now(),
            limit,
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
        self.line.tell(so_far);
    }
}

/// Plans a book and writes what was found.
pub(super) fn plan(asked: &CommonArgs, wanted: &Wanted, typed: &str) -> Exit {
    let wishes = Wishes {
        keep: wanted.keep.clone(),
        without: wanted.without.clone(),
        max_sellers: wanted.max_sellers,
        frontier: wanted.frontier,
        lightest: asked.names_only_a_budget(),
    };
    // the first interrupt ends the search, not the program; where it cannot be caught it ends both
    let _ = ctrlc::set_handler(|| INTERRUPTED.store(true, Ordering::Relaxed));
    let line = Line::begin();
    let limit = wanted.limit.map(u64::from).map(Duration::from_secs);
    if wanted.write {
        return super::stepping::write_plan(asked, typed, wishes, (line, limit));
    }
    let told = told(asked, &Command::Plan(wishes), &Clock::begin(limit, &line));
    // the line is wiped before anything is said
    drop(line);
    deliver(told, asked)
}
