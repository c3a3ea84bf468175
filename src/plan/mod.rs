//! The plan: which offer for which place, exactly and with proof.
//!
//! The landed cost of a plan is a sum over sellers of what each one's package costs. With a price on every place and a
//! worth on mass, each seller's best package can be found apart, and the sum of those minima bounds every plan from below:
//! prices and worth are a certificate that a checker can verify. What is between the bound and the best plan known is
//! closed by exact covers of packages, or place by place where a seller has too many. What a package of a book costs at least
//! comes from the law's bounds, and what it costs from the law in whole numbers, or from a bill where those do not reach.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_sign_loss,
    reason = "places, offers and sellers are counted in hundreds and kept small where millions of them are looked at"
)]
#![allow(
    clippy::too_many_lines,
    clippy::type_complexity,
    clippy::unnecessary_wraps,
    clippy::unused_self,
    reason = "the search's inner steps share one form, and one of them is long because it is one loop"
)]
#![allow(
    clippy::needless_range_loop,
    reason = "several tables are walked by one number"
)]

mod apart;
mod begin;
mod book;
mod bound;
mod cases;
mod changes;
mod cover;
mod dual;
mod foresee;
mod frontier;
mod gap;
mod goal;
mod limits;
mod mass;
mod model;
mod offers;
mod pareto;
mod places;
mod plans;
mod pool;
mod proof;
mod ready;
mod refusal;
mod repair;
mod search;
mod seller;
mod slopes;
mod so_far;
mod split;
mod unfilled;
mod walk;
mod watch;
mod why;

// What may be used from outside.
pub use self::{
    changes::Change,
    goal::{Goal, search},
    limits::{Near, NoPlan, Side},
    model::{Case, Cases, Model, NO_LIMIT, Offer, PackageCost, UNIT},
    pareto::Found,
    plans::{Choice, Plan, Planned, Plans, look_at, plan},
    pool::Wishes,
    search::Outcome,
    watch::{Better, Patient, Progress, SoFar, Stopped, Watch},
};

pub(crate) use foresee::refusals;
pub(crate) use plans::Sought;
pub(crate) use why::{Crossed, Why};

#[cfg(test)]
mod sums;
#[cfg(test)]
mod tests;
