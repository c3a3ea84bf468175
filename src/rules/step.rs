//! A row of charges or reliefs, prepared: names found, amounts in the destination's money, its condition made ready.

use super::condition::Test;
use super::ledger::{Resolved, Slot};
use crate::tables::{
    Coin, Collect, Drop, Kind, Level, Op, Per, Provenance, RateFrom, Relief, RowRef, TestPer, When,
};
use crate::units::{Currency, Dec, Percent, Rounding};

/// One row, in its order.
#[derive(Debug, Clone)]
pub(super) enum Step {
    Charge(Box<ChargeStep>),
    Relief(Box<ReliefStep>),
}

impl Step {
    pub(super) fn order(&self) -> u32 {
        match self {
            Step::Charge(step) => step.order,
            Step::Relief(step) => step.order,
        }
    }
}

/// A charge, prepared.
#[derive(Debug, Clone)]
pub(super) struct ChargeStep {
    pub(super) id: String,
    pub(super) kind: Kind,
    pub(super) order: u32,
    pub(super) slot: Slot,
    pub(super) group: Option<(String, bool)>,
    pub(super) level: Level,
    pub(super) of: Option<Resolved>,
    pub(super) of_text: String,
    pub(super) percent: Option<Percent>,
    pub(super) rate_from: Option<RateFrom>,
    pub(super) flat: Option<Dec>,
    pub(super) per: Per,
    pub(super) min: Option<Dec>,
    pub(super) max: Option<Dec>,
    pub(super) round: Option<Rounding>,
    pub(super) test: Test,
    pub(super) when: String,
    pub(super) carriers: bool,
    /// Whether the tariff layer it looks in owes a rate for every line.
    pub(super) owes: bool,
    pub(super) stamp: Provenance,
}

/// A charge that ended, that no row of its id follows, and of which it is not known what followed.
#[derive(Debug, Clone)]
pub(super) struct EndedStep {
    pub(super) id: String,
    pub(super) kind: Kind,
    pub(super) rate_from: Option<RateFrom>,
    pub(super) test: Test,
    pub(super) carriers: bool,
    pub(super) stamp: Provenance,
}

impl ChargeStep {
    /// Whether a flat amount lies on each item, so that the item's lines share it.
    pub(super) fn flat_by_item(&self) -> bool {
        matches!(
            (self.per, self.level),
            (Per::Item { above: 0 }, Level::Item(_) | Level::Digits(_))
        ) && self.flat.is_some()
    }

    /// The carrier's fee of a destination whose table has no row for it; it has no column, for nothing comes after it.
    pub(super) fn own_fee(row: RowRef) -> ChargeStep {
        ChargeStep {
            id: "carriers_fee".to_owned(),
            kind: Kind::Fee,
            order: u32::MAX,
            slot: Slot::MAX,
            group: None,
            level: Level::Consignment,
            of: None,
            of_text: String::new(),
            percent: None,
            rate_from: None,
            flat: None,
            per: Per::Consignment,
            min: None,
            max: None,
            round: None,
            test: Test::default(),
            when: String::new(),
            carriers: true,
            owes: false,
            stamp: Provenance::of_book(row),
        }
    }
}

/// A relief, prepared.
#[derive(Debug, Clone)]
pub(super) struct ReliefStep {
    pub(super) id: String,
    pub(super) order: u32,
    pub(super) tests: Resolved,
    pub(super) tests_text: String,
    pub(super) per: TestPer,
    pub(super) op: Op,
    pub(super) limit: Dec,
    pub(super) limit_text: String,
    pub(super) drops: Vec<Drop>,
    /// Whether what it tests counts duty: a rate that nobody knows is then missing from the very sum that decides.
    pub(super) tests_duty: bool,
    /// Whether what it tests is a value of the goods; else it is a sum of charges that is too small to be collected.
    pub(super) tests_price: bool,
    pub(super) collect: Option<Collect>,
    pub(super) test: Test,
    pub(super) picks_lines: bool,
    pub(super) when: String,
    pub(super) stamp: Provenance,
}

/// A condition as the tables write it; an amount in the destination's own money is turned by no rate, and none is said.
pub(super) fn said(when: &When, own: Currency) -> String {
    when.to_string().replace(
        &Coin {
            currency: own,
            october: true,
        }
        .to_string(),
        own.code(),
    )
}

/// A limit in words, with the rate that turns it where that is not the rate in force.
pub(super) fn limit_text(relief: &Relief, own: Currency) -> String {
    let coin = relief.currency;
    let money = if coin.currency == own {
        own.to_string()
    } else {
        coin.in_words()
    };
    format!("{} {money}", relief.amount.grouped(coin.currency.digits()))
}
