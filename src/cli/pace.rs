//! How far a long list has come, on a terminal.

use std::cell::Cell;
use std::time::{Duration, Instant};

use super::world;

/// Lines, rate and time left, on a terminal.
pub(super) struct Progress {
    started: Instant,
    told: Instant,
    size: Option<u64>,
    /// Whether its line is open.
    shown: Cell<bool>,
}

impl Progress {
    /// Begun now, for a list of this size.
    pub(super) fn new(size: Option<u64>) -> Progress {
        let now = Instant::now();
        Progress {
            started: now,
            told: now,
            size,
            shown: Cell::new(false),
        }
    }

    /// Tells it, once a second at most.
    pub(super) fn tell(&mut self, lines: u64, read: u64) {
        if self.told.elapsed() < Duration::from_secs(1) || !world::watched() {
            return;
        }
        self.told = Instant::now();
        self.shown.set(true);
        world::complain(&format!(
            "\r{:<70}",
            pace(lines, read, self.size, self.started.elapsed())
        ));
    }

    /// Ends its line, so that the next message has a line of its own.
    pub(super) fn end(&self) {
        if self.shown.replace(false) {
            world::complain("\n");
        }
    }
}

/// Lines so far, how many a second, and how long the rest will take at the pace at which bytes were read.
fn pace(lines: u64, read: u64, size: Option<u64>, taken: Duration) -> String {
    let millis = taken.as_millis().max(1);
    let rate = u128::from(lines) * 1000 / millis;
    let left = size
        .filter(|size| *size > read && read > 0)
        .map(|size| u128::from(size - read) * millis / u128::from(read) / 1000);
    let left = left
        .map(|seconds| format!(", about {seconds} s left"))
        .unwrap_or_default();
    format!("{lines} lines, {rate} a second{left}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn progress_says_the_rate_and_the_time_left_where_the_size_is_known() {
        let two = Duration::from_secs(2);
        assert_eq!(
            pace(1_000_000, 50, Some(200), two),
            "1000000 lines, 500000 a second, about 6 s left"
        );
        assert_eq!(
            pace(1_000_000, 50, None, two),
            "1000000 lines, 500000 a second"
        );
        assert_eq!(
            pace(7, 200, Some(200), Duration::ZERO),
            "7 lines, 7000 a second"
        );
    }
}
