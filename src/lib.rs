//! What every part of a home-built bicycle will really have cost by the time it lies on the doormat.
//!
//! # The front door
//!
//! [`cost`] takes a [`book`](book::Book) (the tables a user writes), the [`tables`](tables::Tables) of rules and rates, and
//! the [question](Question): where to, and when. A book of six columns is enough:
//!
//! ```
//! use landwaiter::book::{Book, BookFile};
//! use landwaiter::tables::Tables;
//! use landwaiter::text::Problems;
//! use landwaiter::units::Date;
//! use landwaiter::{Question, cost};
//!
//! let parts = "\
//! part,place,seller,price,currency,dispatch
//! Spindrift 28 wheels,wheels,Taolin Parts House,250.00,USD,TW
//! ";
//! let file = BookFile { path: "parts.csv".into(), table: "parts".into(), bytes: parts.into() };
//! let mut problems = Problems::new();
//! let mut book = Book::read(&[file], &mut problems);
//! let tables = Tables::load(Vec::new(), &mut problems);
//! assert!(problems.is_empty());
//!
//! book.settings.set("destination", "GB")?;
//! let day = Date::parse("2026-10-21")?;
//! let question = Question::new(&book.settings, day).map_err(|problem| problem.message)?;
//! let landed = cost(&book, &tables, &question).map_err(|problems| format!("{} problems", problems.iter().count()))?;
//!
//! let sums = &landed.totals.amounts;
//! // 250.00 dollars at that day's reference rates: 250 / 1.1234 * 0.83825.
//! assert_eq!(sums.goods.fixed(2), "186.54");
//! // Customs converts by its own rate of the month, 250 / 1.3456: 185.79 is more than 135 pounds, so the parcel bears duty,
//! // 4 % on wheels, cut to the penny.
//! assert_eq!(sums.duty.fixed(2), "7.43");
//! // VAT is taken at the border: 20 % of 185.79 and duty, cut.
//! assert_eq!(sums.tax_at_border.fixed(2), "38.64");
//! // The courier takes 2.5 % of duty and VAT for paying them, and at least 12 pounds.
//! assert_eq!(sums.handling.fixed(2), "12.00");
//! assert_eq!(landed.totals.landed()?.fixed(2), "244.61");
//! // What is not in it is said: nobody has told what the freight costs.
//! assert!(landed.cautions.iter().any(|caution| caution.id == "freight-unknown"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # What may be used from outside
//!
//! | module | what it offers |
//! |---|---|
//! | [`book`] | a book read out of tables, its parts and settings |
//! | [`tables`] | the rows of rules and rates, built in or a user's own |
//! | [`landed`] | [`cost`] and what comes of it: bills, their charges, trails and cautions |
//! | [`compare`], [`rank`], [`leeway`], [`plan`], [`returns`], [`settle`] | what a book says beyond its cost, each by the function of its name |
//! | [`bulk`] | long price lists, priced as a stream |
//! | [`report`] | results as views and JSON |
//! | [`text`] | problems of what was read, with their places, and how they are drawn |
//! | [`units`] | exact decimals, money, masses, dates, countries |
//! | [`value`] | places filled and differences weighed, where results tell them |
//! | [`cli`] | the whole program, as `main` runs it |
//!
//! All else is the crate's own and may change at any time.
//!
//! # Layers
//!
//! The crate is built in layers; a module uses only modules above it in this list, never a sibling:
//!
//! ```text
//! 0 units   1 text   2 tables, book   3 rules   4 landed   5 value, estimate   6 compare, rank, plan, leeway, returns, settle, bulk   7 steps   8 report   9 answer   10 cli
//! ```

#![cfg_attr(
    test,
    allow(
        clippy::cast_possible_truncation,
        clippy::cast_possible_wrap,
        clippy::cast_sign_loss,
        clippy::manual_is_multiple_of,
        clippy::semicolon_if_nothing_returned,
        reason = "small numbers made up for a test, as in the tests outside"
    )
)]

mod answer;
pub mod book;
pub mod bulk;
pub mod cli;
pub mod compare;
mod estimate;
pub mod landed;
pub mod leeway;
pub mod plan;
pub mod rank;
pub mod report;
pub mod returns;
mod rules;
pub mod settle;
mod steps;
pub mod tables;
pub mod text;
pub mod units;
pub mod value;

pub use landed::{Question, cost};

// What tests inside and outside share stands beside those outside, and names the library as they do.
#[cfg(test)]
extern crate self as landwaiter;
#[cfg(test)]
#[path = "../tests/it/abroad.rs"]
#[allow(dead_code, reason = "tests outside use the rest")]
mod abroad;
#[cfg(test)]
#[path = "../tests/it/laws.rs"]
#[allow(dead_code, reason = "tests outside use the rest")]
mod laws;
#[cfg(test)]
#[path = "../tests/it/made.rs"]
#[allow(dead_code, reason = "tests outside use the rest")]
mod made;
#[cfg(test)]
#[path = "../tests/it/small.rs"]
mod small;
