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

// What may be used from outside.
pub use self::{
    country::Country,
    currency::Currency,
    date::Date,
    decimal::{Dec, Mode},
    exchange::Rate,
    money::{Amount, HomeMoney},
};

pub(crate) use date::{MONTHS, Span};
pub(crate) use decimal::Overflow;
pub(crate) use lookup::{Lookup, Once, Packed, digest};
pub(crate) use mass::{BASES, Basis, Grams};
pub(crate) use money::{Home, Money, SellerMoney, Shown, ShownMoney};
pub(crate) use percent::Percent;
pub(crate) use region::regions;
pub(crate) use rounding::{Rounding, SETTLED};
pub(crate) use share::{share, share_exact};

#[cfg(test)]
mod tests;
