//! The rules: facts and rows in, charges with their reasons out. No files, no book, no printing.
//!
//! [`Program::prepare`] takes the rows of a destination that are in force on a day; [`assess()`] applies them to a
//! consignment. A new country is new rows: nothing here knows one from another.

mod assessment;
mod claim;
mod classify;
mod condition;
mod form;
mod ledger;
mod open;
mod parcel;
mod program;
mod programs;
mod rate;
mod sale;
mod step;
mod swift;

pub(crate) use assessment::{Assessment, Ended, Entry, Limit, RateApplication, WhyNot};
pub(crate) use claim::grant;
pub(crate) use classify::Codes;
pub(crate) use form::trail::assess;
pub(crate) use form::{
    Algebra, Asking, Cells, Figure, Form, Group, Id, Input, Law, Measure, Name, Op, Origin, Paying,
    SaleInput, SaleRows, Shared, Told, bounds, evaluate, law, tell_asking, tell_paying,
};
pub(crate) use open::{OpenDigits, has_open_digits, rows_beyond, settle_digits};
pub(crate) use parcel::{Handling, Line, Parcel};
pub(crate) use program::{Occasion, Program, RowFilter, currencies};
pub(crate) use programs::Programs;
pub(crate) use sale::{
    AskedLine, Carriage, Code, Cover, Given, Held, MassStep, Paid, PaidLine, Payer, Sale, SaleLine,
    Steps, Worth, ask, pay,
};
pub use swift::NotWhole;
pub(crate) use swift::{
    AskProgram, AskedInWhole, Asks, Charges as LineCharges, IntegerProgram,
    LineInput as LineAmounts, OfferLine, Package, PackageLine, PayProgram, Pays, SaleAmounts,
    Scratch, TariffTimeline, WholeRate, all_at_sale, any_held,
};

#[cfg(test)]
mod tests;
