//! The destinations outside Great Britain: published sums, tax by date, imports.

mod changes;
mod countries;
mod engine;
mod everywhere;
mod examples;
mod imports;
mod shown;
mod vat;

use crate::abroad::{ask, bill, built_in, day, expect, landed, oracle, row, tables};
use crate::small::dec;

/// The built program.
fn program() -> std::process::Command {
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_landwaiter"));
    command.env("NO_COLOR", "1");
    command
}
