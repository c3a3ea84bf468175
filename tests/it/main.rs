//! All integration tests in one binary.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test fails by panicking, its helpers too"
)]
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_sign_loss,
    clippy::manual_is_multiple_of,
    clippy::semicolon_if_nothing_returned,
    unreachable_pub,
    reason = "small numbers made up for a test, and helpers shared with the benchmark"
)]
#![allow(clippy::doc_markdown, reason = "headers name files of the oracles")]

mod abroad;
mod agree;
mod at_fault;
mod at_home;
mod attacked;
mod bad;
mod classes;
mod cli;
mod common;
mod compare;
mod disputed_row;
mod drawn;
mod drift;
mod every_screen;
mod examples;
mod failures;
mod flags;
mod form_laws;
mod found;
mod front;
mod harness;
mod hidden;
mod imports;
#[cfg(feature = "pages")]
mod kills;
mod kit;
mod lacking;
mod ladder;
mod law_brokers;
mod law_engine;
mod law_europe;
mod law_gifts;
mod law_overseas;
mod law_parcels;
mod law_read_again;
mod law_read_overseas;
mod law_schedule;
mod law_us;
#[allow(dead_code, reason = "tests inside the library use the rest")]
mod laws;
mod layers;
mod leeway;
mod lists;
mod lists_said;
mod lost;
mod made;
mod market;
mod money_back;
mod newcomer;
mod on_the_scale;
mod one_seller;
mod one_weight;
mod oracles;
mod order;
mod owed;
mod own_tables;
#[cfg(feature = "pages")]
mod package;
mod pieces;
mod plan;
mod plan_limits;
mod plan_odd;
mod plan_open;
mod plan_parcels;
mod properties;
mod rank;
mod ranked;
mod rates_said;
mod readme;
mod receipts;
mod report;
mod returns;
mod said;
mod screens;
mod settle;
mod shapes;
#[cfg(feature = "pages")]
mod sheets;
#[cfg(feature = "pages")]
mod shown_units;
mod situations;
mod slips;
#[allow(dead_code, reason = "tests inside the library use the rest")]
mod small;
mod steps;
mod sums_shown;
mod tables;
mod telling;
mod territories;
mod today;
mod told;
mod told_shown;
mod undo;
mod unseen;
mod verdicts;
#[cfg(feature = "pages")]
mod workbooks;
mod world;
mod writes;
