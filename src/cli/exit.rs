//! What the program returns.

use std::process::ExitCode;

/// The status of a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// Done; a closed pipe is done too.
    Done,
    /// The input was refused.
    Refused,
    /// The command was not understood.
    Usage,
    /// No plan is feasible.
    Nothing,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> ExitCode {
        match exit {
            Exit::Done => ExitCode::SUCCESS,
            Exit::Refused => ExitCode::from(1),
            Exit::Usage => ExitCode::from(2),
            Exit::Nothing => ExitCode::from(3),
        }
    }
}
