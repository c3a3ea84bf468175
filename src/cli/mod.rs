//! The only door to the world: arguments, files, clock, terminal. Everything below is given what it needs.

mod args;
mod beside;
mod book_files;
mod bulk;
mod case;
mod changing;
mod common_args;
mod consignment_log;
mod exit;
mod far;
mod files;
#[cfg(feature = "pages")]
mod fonts;
mod idle;
mod importing;
mod list;
mod pace;
mod planning;
mod progress;
mod rate_files;
mod rates;
mod reads;
mod run;
mod show;
mod sink;
mod starting;
mod step_args;
mod stepping;
mod stream;
mod target;
mod undoing;
mod workbook;
mod world;
mod write;

pub use exit::Exit;
pub use run::run;
