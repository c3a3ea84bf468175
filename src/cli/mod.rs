//! The only door to the world: arguments, files, clock, terminal. Everything below is given what it needs.

mod after;
mod args;
mod bulk;
mod exit;
mod files;
mod planning;
mod run;
mod show;
mod workbook;
mod world;

pub use exit::Exit;
pub use run::run;
