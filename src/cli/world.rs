//! The clock and the terminal.

use std::io::{self, IsTerminal, Write};
use std::time::{SystemTime, UNIX_EPOCH};

use super::exit::Exit;
use crate::report::Screen;
use crate::units::Date;

/// Today, by the machine's clock.
pub(super) fn today() -> Date {
    let seconds = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .map_or(0, |d| d.as_secs());
    let days = u32::try_from(seconds / 86_400).unwrap_or(0);
    Date::EPOCH.plus_days(days)
}

/// Writes a result; a closed pipe is done.
pub(super) fn print(text: &str) -> Exit {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Ok(()) => Exit::Done,
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Exit::Done,
        Err(error) => {
            complain(&format!("error: the result cannot be written: {error}\n"));
            Exit::Refused
        }
    }
}

/// Writes to standard error; nothing can be done when that fails.
pub(super) fn complain(text: &str) {
    let _ = io::stderr().lock().write_all(text.as_bytes());
}

/// Whether somebody watches standard error.
pub(super) fn watched() -> bool {
    io::stderr().is_terminal()
}

/// The screen that results are written for: as wide as the terminal, or as `COLUMNS` says, or of 80 columns.
pub(super) fn screen() -> Screen {
    let columns = || std::env::var("COLUMNS").ok()?.trim().parse().ok();
    let width = terminal_size::terminal_size_of(io::stdout())
        .map(|(width, _)| usize::from(width.0))
        .or_else(columns)
        .unwrap_or(80);
    Screen::of(width)
        .in_colour(io::stdout().is_terminal() && takes_colour())
        .in_ascii(asks_for_ascii())
}

/// Whether complaints may be coloured.
pub(super) fn colour_err() -> bool {
    io::stderr().is_terminal() && takes_colour()
}

/// Whether nothing speaks against colour: `NO_COLOR` that is not empty, or a terminal that calls itself dumb.
fn takes_colour() -> bool {
    let says = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty());
    says("NO_COLOR").is_none() && says("TERM").is_none_or(|term| term != "dumb")
}

/// Whether the locale names an encoding other than UTF-8. Of the variables the first that is set decides, as POSIX has it; where none
/// is set, as on Windows, nothing is asked.
fn asks_for_ascii() -> bool {
    let locale = ["LC_ALL", "LC_CTYPE", "LANG"]
        .into_iter()
        .filter_map(|name| std::env::var(name).ok())
        .find(|value| !value.is_empty());
    locale.is_some_and(|locale| {
        let locale = locale.to_ascii_lowercase();
        !locale.contains("utf-8") && !locale.contains("utf8")
    })
}
