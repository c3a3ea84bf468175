//! The facts of one consignment that rules look at: the parcel as customs sees it, line by line.

use std::collections::BTreeMap;

use crate::book::{Channel, Sender};
use crate::tables::RowRef;
use crate::units::{
    Country, Currency, Date, Dec, Grams, HomeMoney, Percent, Rate, SellerMoney, number,
};

/// A carrier's own fee.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Handling {
    /// Of duty, remedies and tax advanced.
    pub(crate) percent: Percent,
    /// At least this; the whole fee where there is no percentage.
    pub(crate) least: HomeMoney,
    /// The row of the book that gives it.
    pub(crate) row: RowRef,
}

/// One consignment.
#[derive(Debug, Clone)]
pub(crate) struct Parcel {
    /// The destination.
    pub(crate) to: Country,
    /// Its region, where tax depends on it.
    pub(crate) region: String,
    /// Where it leaves from.
    pub(crate) dispatch: Country,
    /// How it travels.
    pub(crate) channel: Channel,
    /// Who sent it.
    pub(crate) sender: Sender,
    /// Whether the seller takes the destination's tax.
    pub(crate) collects_tax: bool,
    /// Incoterms, upper case; empty for charges at the door.
    pub(crate) terms: String,
    /// The day of ordering.
    pub(crate) ordered: Date,
    /// The day of arrival.
    pub(crate) arrival: Date,
    /// Choices for the destination.
    pub(crate) choices: BTreeMap<String, String>,
    /// What the seller is paid in.
    pub(crate) paid_in: Currency,
    /// From that to the destination's money, at the customs rate.
    pub(crate) customs: Rate,
    /// Share of the freight that counts up to the border.
    pub(crate) border_freight: Percent,
    /// The carrier's own fee, where the seller's row gives one.
    pub(crate) handling: Option<Handling>,
    /// Prices of schedules that rules name.
    pub(crate) schedules: BTreeMap<String, HomeMoney>,
    /// The lines, by part name and seller.
    pub(crate) lines: Vec<Line>,
}

impl Parcel {
    /// Whether nobody here pays its price.
    pub(crate) fn given(&self) -> bool {
        self.sender == Sender::Gift
    }

    /// The lines that are one line of the declaration with this one; the line itself where it stands alone.
    pub(super) fn declared_with(&self, at: usize) -> Vec<usize> {
        if !self.is_part(at) {
            return vec![at];
        }
        (0..self.lines.len())
            .filter(|other| self.is_part(*other))
            .collect()
    }

    /// Whether a line is part of a thing that is declared as one line.
    pub(super) fn is_part(&self, at: usize) -> bool {
        self.lines.get(at).is_some_and(|line| line.whole.is_some())
    }

    /// How many pieces are declared on the line of the declaration that this line is on.
    pub(super) fn declared_pieces(&self, at: usize) -> u32 {
        self.lines
            .get(at)
            .map_or(0, |line| line.whole.unwrap_or(line.pieces))
    }
}

/// One line of a consignment.
#[derive(Debug, Clone, Default)]
pub(crate) struct Line {
    /// The places it fills.
    pub(crate) places: Vec<String>,
    /// Digits as far as known.
    pub(crate) commodity: String,
    /// What a declaration calls it.
    pub(crate) declared_as: String,
    /// The country of making.
    pub(crate) origin: String,
    /// Whether a preference is claimed.
    pub(crate) preference: bool,
    /// Pieces.
    pub(crate) pieces: u32,
    /// Where the line is part of a thing that is declared as one line: how many of that thing there are.
    pub(crate) whole: Option<u32>,
    /// Mass of one piece; none when not known.
    pub(crate) unit_mass: Option<Grams>,
    /// Packed mass of the line.
    pub(crate) packed: Grams,
    /// Facts a rule may ask for.
    pub(crate) traits: BTreeMap<String, String>,
    /// Price times quantity.
    pub(crate) list: SellerMoney,
    /// The same less discounts that lower the price.
    pub(crate) goods: SellerMoney,
    /// Its share of the freight.
    pub(crate) freight: SellerMoney,
    /// Its share of the insurance.
    pub(crate) insurance: SellerMoney,
}

impl Line {
    /// A fact that is a figure.
    pub(super) fn figure(&self, name: &str) -> Option<Dec> {
        self.traits
            .get(name)
            .and_then(|text| number::plain(text).ok())
    }
}
