//! The clock and the terminal.

use std::io::{self, IsTerminal, Write};
use std::time::{SystemTime, UNIX_EPOCH};

use super::exit::Exit;
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

/// Whether results may be coloured.
pub(super) fn colour_out() -> bool {
    io::stdout().is_terminal() && std::env::var_os("NO_COLOR").is_none()
}

/// Whether complaints may be coloured.
pub(super) fn colour_err() -> bool {
    io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none()
}
