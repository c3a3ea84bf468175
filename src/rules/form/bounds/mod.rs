//! Bounds: what no package of a case is below, read from the form.
//!
//! The form is that of all the lines that a seller's package may hold. A package is some of them, so a sum over lines is a
//! figure for those that are always there and one more for each that may be (`Lin`). Reading the form upwards keeps every
//! figure of the parcel between two such sums, and every figure of a line between two numbers with the sum over the lines beside
//! them. What is due is then never below its lower sum: each operation hands on bounds of its own arguments, and rounding takes
//! one step of a line or a group off. The seller's side and the payment are forms too, and are read by the same walk.
//!
//! Limits are not known here, neither those of the law nor those of the seller. They are found: a comparison whose two sides are
//! not apart for all packages of a case asks for the case to be split at the goods where they may begin to cross and where they
//! surely have. On either side it is settled; between them, and where goods do not tell, the case is read twice, once as if it
//! held and once as if not. Every package lies in one of the cases, and the case's sum is not above what it bears.

mod frame;
mod groups;
mod lin;
mod lines;
mod sold;
mod walk;

pub(crate) use frame::Frame;
pub(crate) use lin::{Between, Lin, Nano, Unbounded, around};
pub(crate) use lines::Each;
pub(crate) use sold::{AskedFor, Due, LawForm, Offered, SellerForms};
pub(crate) use walk::{Effort, Stop, Value};
