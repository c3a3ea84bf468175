//! The build against complete bikes, on one basis and on tax-paid terms.
//!
//! What is compared is the build's *replacement value*: what the next person would pay for the same bike today. A bike
//! whose price, mass or basis is not known is left out, by name and with the reason.

mod against;
mod comparison;
mod market;
mod mine;
mod reference;

// What may be used from outside.
pub use self::{
    against::Against,
    comparison::{Comparison, LeftOut, Options, compare, compare_with},
    market::{Along, Market},
    mine::Compared,
    reference::Reference,
};

pub(crate) use comparison::compare_at;
pub(crate) use market::{Asked, Set};
pub(crate) use mine::Mine;
