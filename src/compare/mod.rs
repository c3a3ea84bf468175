//! The build against complete bikes, on one basis and on tax-paid terms.
//!
//! What is compared is the build's *replacement value*: what the next person would pay for the same bike today. A bike
//! whose price, mass or basis is not known is left out, by name and with the reason.

mod against;
mod comparison;
mod market;
mod mine;
mod reference;

pub use against::Against;
pub(crate) use comparison::compare_at;
pub use comparison::{Comparison, LeftOut, Options, compare, compare_with};
pub use market::{Along, Market};
pub(crate) use market::{Asked, Set};
pub use mine::Compared;
pub(crate) use mine::Mine;
pub use reference::Reference;
