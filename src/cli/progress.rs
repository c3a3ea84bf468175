//! The line that says how far a search is: written on a terminal alone, over and over in one place, and wiped before the answer.

use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use super::world;
use crate::plan::{Better, SoFar};
use crate::text::words::count;
use crate::units::Dec;

/// How often the line is written; the first time after as long.
const EVERY: Duration = Duration::from_millis(200);

/// Wipes the line.
const WIPE: &str = "\r\u{1b}[K";

/// What the search has told last.
type Told = Arc<Mutex<Option<SoFar>>>;

/// A line that writes itself until it is dropped, so that it moves while the search is busy with one thing.
#[derive(Default)]
pub(super) struct Line {
    told: Told,
    writer: Option<(Sender<()>, JoinHandle<()>)>,
}

impl Line {
    /// Begins the line, where somebody watches standard error.
    pub(super) fn begin() -> Line {
        let told = Told::default();
        let writer = world::watched().then(|| {
            let (sender, receiver) = channel();
            let seen = Arc::clone(&told);
            let writer = std::thread::spawn(move || write(&receiver, &seen));
            (sender, writer)
        });
        Line { told, writer }
    }

    /// Takes note of what the search tells.
    pub(super) fn tell(&self, so_far: SoFar) {
        let mut told = self.told.lock().unwrap_or_else(PoisonError::into_inner);
        *told = Some(so_far);
    }
}

impl Drop for Line {
    /// Waits until the line is wiped: nothing of it stands in the answer.
    fn drop(&mut self) {
        if let Some((sender, writer)) = self.writer.take() {
            drop(sender);
            // a writer that failed has nothing left to wipe
            let _ = writer.join();
        }
    }
}

/// Writes the line until the other end is dropped, and wipes it then.
fn write(ended: &Receiver<()>, told: &Told) {
    let begun = Instant::now();
    let mut written = false;
    while ended.recv_timeout(EVERY) == Err(RecvTimeoutError::Timeout) {
        let told = *told.lock().unwrap_or_else(PoisonError::into_inner);
        world::complain(&format!("{WIPE}{}", words(begun.elapsed(), told)));
        written = true;
    }
    if written {
        world::complain(WIPE);
    }
}

/// The time, the best so far, and how much better another can be; short enough for a narrow terminal.
fn words(elapsed: Duration, told: Option<SoFar>) -> String {
    let seconds = match elapsed.as_secs() {
        few @ 0..10 => format!("{few}.{} s", elapsed.subsec_millis() / 100),
        many => format!("{many} s"),
    };
    let Some(so_far) = told else {
        return format!("{seconds}: reading the book and the rules");
    };
    let currency = so_far.currency;
    let money = |amount: Dec| amount.grouped(currency.digits());
    let best = |name: &str| match so_far.best {
        None => "no plan so far".to_owned(),
        Some((landed, mass)) => {
            let (landed, mass) = (money(landed), mass.grouped());
            format!("{name} {landed} {currency}, {mass} g")
        }
    };
    if so_far.frontier {
        let found = count(so_far.found, "plan", "plans");
        let (closed, best) = (so_far.closed, best("cheapest"));
        return format!("{seconds}: {found} so far, {closed} final; {best}");
    }
    let rest = match so_far.better {
        Some(Better::Cheaper(amount)) => format!("; at most {} less", money(amount)),
        Some(Better::Lighter(mass)) => format!("; at most {} g less", mass.grouped()),
        None => String::new(),
    };
    format!("{seconds}: {}{rest}", best("best so far"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Currency, Grams};

    #[test]
    fn the_line_says_the_time_the_best_and_how_much_better_another_can_be() {
        let gbp = Currency::GBP;
        let best = Some((Dec::new(123_456, 2), Grams(Dec::new(85_373, 1))));
        let so_far = |better, frontier| SoFar {
            found: 14,
            closed: 3,
            best,
            currency: gbp,
            better,
            frontier,
        };
        let at = |millis, told| words(Duration::from_millis(millis), told);
        assert_eq!(at(250, None), "0.2 s: reading the book and the rules");
        let cheaper = Some(Better::Cheaper(Dec::new(1_230, 2)));
        assert_eq!(
            at(1_960, Some(so_far(cheaper, false))),
            "1.9 s: best so far 1,234.56 GBP, 8,537.3 g; at most 12.30 less"
        );
        let lighter = Some(Better::Lighter(Grams(Dec::new(35, 0))));
        assert_eq!(
            at(61_000, Some(so_far(lighter, false))),
            "61 s: best so far 1,234.56 GBP, 8,537.3 g; at most 35 g less"
        );
        assert_eq!(
            at(9_999, Some(so_far(None, true))),
            "9.9 s: 14 plans so far, 3 final; cheapest 1,234.56 GBP, 8,537.3 g"
        );
        let none = SoFar {
            best: None,
            ..so_far(None, false)
        };
        assert_eq!(at(300, Some(none)), "0.3 s: no plan so far");
    }
}
