//! landwaiter

pub mod book;
pub mod rules;
pub mod tables;
pub mod text;
pub mod units;
