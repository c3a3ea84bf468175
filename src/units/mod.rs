//! Numbers with a meaning: exact decimals, money, masses, percentages, exchange rates, dates, countries.
//!
//! Owns the one door for numbers in ([`number`]) and the one door for numbers out ([`Dec::fixed`] and
//! [`Dec::grouped`]). Knows no files and no law; uses no other module of the crate.

mod country;
mod currency;
mod date;
mod decimal;
mod exchange;
mod lookup;
mod mass;
mod money;
pub mod number;
mod percent;
mod region;
mod rounding;
mod share;

pub use country::Country;
pub use currency::Currency;
pub(crate) use date::MONTHS;
pub use date::{Date, Span};
pub use decimal::{Dec, Mode, Overflow};
pub use exchange::Rate;
pub(crate) use lookup::{Lookup, Once, Packed, digest};
pub(crate) use mass::BASES;
pub use mass::{Basis, Grams};
pub use money::{Amount, Home, HomeMoney, Money, Seller, SellerMoney, Shown, ShownMoney};
pub use percent::Percent;
pub(crate) use region::regions;
pub use rounding::Rounding;
pub(crate) use rounding::SETTLED;
pub use share::{share, share_exact};
