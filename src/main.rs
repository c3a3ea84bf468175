//! The program: hands over to the library and returns its status.

use std::process::ExitCode;

fn main() -> ExitCode {
    landwaiter::cli::run(std::env::args_os()).into()
}
