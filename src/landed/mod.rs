//! The landed cost: the order of the calculation for a book, consignment by consignment, and the totals.
//!
//! [`cost`] is the crate's front door. Data passes one way: rows → `parcel` (what travels together) → `price` (what
//! the seller asks) → `door` (what the rules say) → `payment` (what is paid) → `billing` → `total` → `build`.

mod actual;
mod age;
mod apart;
mod bill;
mod billing;
mod border;
mod bounds;
mod build;
mod cancelled;
mod caution;
mod checkout;
mod choice;
mod coverage;
mod deposit;
mod discount;
mod disputed;
mod doubt;
mod freight;
mod held;
mod jurisdiction;
mod known;
mod large;
mod lost;
mod lump;
mod mass;
mod offered;
mod packages;
mod parcel;
mod payment;
mod price;
mod question;
mod reading;
mod receipt;
mod refund;
mod refusing;
mod standing;
mod steps;
mod sums;
mod together;
mod told;
mod total;
mod trail;
mod understood;
mod wanting;
mod what_if;
mod whole;
mod working;

// What may be used from outside.
pub use self::{
    age::{Why, gaps},
    apart::lost_apart,
    bill::Bill,
    build::cost,
    caution::{Cautions, Stake},
    disputed::{Disputed, disputed_rows},
    jurisdiction::Jurisdiction,
    parcel::ConsignmentState,
    question::Question,
    sums::ChargeBreakdown,
    total::Landed,
    whole::NoWhole,
};
pub use crate::rules::NotWhole;

pub(crate) use age::{Gap, rows_in_force};
pub(crate) use bill::{BillLine, EndedCharge, Headroom};
pub(crate) use billing::bill;
pub(crate) use bounds::{LeastCase, SellerBounds, seller_bounds};
pub(crate) use build::{
    cost_at, paid_instead, replacement_of, replacement_rows, replacement_unknown,
};
pub(crate) use caution::{Caution, Saying, lacking};
pub(crate) use checkout::{Checkout, checkouts};
pub(crate) use choice::UnknownChoice;
pub(crate) use coverage::{Burden, burden};
pub(crate) use disputed::{disputed_kinds, named as disputes_named, own_rows, readings};
pub(crate) use held::{Held, holding};
pub(crate) use jurisdiction::no_rate;
pub(crate) use known::{KnownParcels, Rows};
pub(crate) use mass::{basis_rows, basis_steps, carried, counts, on_the_bike};
pub(crate) use offered::OfferedParcel;
pub(crate) use packages::Packages;
pub(crate) use parcel::{Consignment, check_fees, check_places, group, id_of, is_reckoned};
pub(crate) use payment::card_fee;
pub(crate) use price::check_schedules;
pub(crate) use reading::{Back, Reading};
pub(crate) use receipt::{at_door, at_its_day, in_home_money, pennies};
pub(crate) use standing::OLD_PRICE;
pub(crate) use sums::Sum;
pub(crate) use total::{Totals, bills_of, cost_rows, landed_rows, refuse_large};
pub(crate) use trail::Step;
pub(crate) use understood::understood;
pub(crate) use what_if::{Change, WhatIf};
pub(crate) use whole::whole_agrees;
pub(crate) use working::{Charged, WorkLine, Working, workings};

#[cfg(test)]
pub(crate) use coverage::{Coverage, Known, coverage};
#[cfg(test)]
pub(crate) use whole::agrees;
#[cfg(test)]
mod tests;
