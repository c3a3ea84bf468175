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
mod choice;
mod coverage;
mod deposit;
mod discount;
mod disputed;
mod doubt;
mod freight;
mod held;
mod jurisdiction;
mod large;
mod lost;
mod lump;
mod mass;
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
mod sums;
mod told;
mod total;
mod trail;
mod understood;
mod wanting;
mod what_if;
mod working;

pub use age::{Gap, Why, gaps, rows_in_force};
pub use apart::lost_apart;
pub use bill::{Bill, BillLine, EndedCharge, Headroom};
pub use billing::bill;
pub use bounds::{LeastCase, NoBounds, SellerBounds, seller_bounds};
pub use build::{
    cost, cost_at, paid_instead, replacement_of, replacement_rows, replacement_unknown,
};
pub use caution::{Caution, Cautions, LACKING, lacking};
pub use choice::UnknownChoice;
pub use coverage::{Burden, Coverage, Known, burden, coverage};
pub use disputed::{
    Disputed, decided_otherwise, disputed_kinds, disputed_rows, kind_words, some_rows,
};
pub use held::{Held, holding};
pub use jurisdiction::{Jurisdiction, customs_wednesday, no_rate};
pub use mass::{Aside, basis_rows, basis_steps, carried, counts};
pub(crate) use packages::Packages;
pub use parcel::{Consignment, ConsignmentState, check_fees, check_places, group, is_reckoned};
pub use price::check_schedules;
pub use question::Question;
pub use reading::{Back, Deposit, Reading};
pub use receipt::{at_door, at_its_day, in_home_money, pennies};
pub use sums::{ChargeBreakdown, Sum};
pub use total::{Landed, Totals, bills_of, cost_rows, landed_rows, refuse_large, sum_rows};
pub use trail::Step;
pub use understood::understood;
pub use what_if::{Change, WhatIf};
pub use working::{Charged, Ruled, Taken, WorkLine, Working, workings};
