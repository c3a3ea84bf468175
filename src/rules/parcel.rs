//! The facts of one consignment that rules look at: the parcel as customs sees it, line by line.

use std::collections::BTreeMap;

use crate::book::{Channel, Sender};
use crate::tables::RowRef;
use crate::units::{
    Country, Currency, Date, Dec, Grams, HomeMoney, Percent, Rate, SellerMoney, number,
};

/// A carrier's own fee.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Handling {
    /// Of duty, remedies and tax advanced.
    pub percent: Percent,
    /// At least this; the whole fee where there is no percentage.
    pub least: HomeMoney,
    /// The row of the book that gives it.
    pub row: RowRef,
}

/// One consignment.
#[derive(Debug, Clone)]
pub struct Parcel {
    /// The destination.
    pub to: Country,
    /// Its region, where tax depends on it.
    pub region: String,
    /// The customs group of the destination; empty for none.
    pub group: String,
    /// Where it leaves from.
    pub dispatch: Country,
    /// How it travels.
    pub channel: Channel,
    /// Who sent it.
    pub sender: Sender,
    /// Whether the seller takes the destination's tax.
    pub collects_tax: bool,
    /// Incoterms, upper case; empty for charges at the door.
    pub terms: String,
    /// The day of ordering.
    pub ordered: Date,
    /// The day of arrival.
    pub arrival: Date,
    /// Choices for the destination.
    pub choices: BTreeMap<String, String>,
    /// What the seller is paid in.
    pub paid_in: Currency,
    /// From that to the destination's money, at the customs rate.
    pub customs: Rate,
    /// Share of the freight that counts up to the border.
    pub border_freight: Percent,
    /// The carrier's own fee, where the seller's row gives one.
    pub handling: Option<Handling>,
    /// Prices of schedules that rules name.
    pub schedules: BTreeMap<String, HomeMoney>,
    /// The lines, by part name and seller.
    pub lines: Vec<Line>,
}

impl Parcel {
    /// Whether nobody here pays its price.
    pub fn given(&self) -> bool {
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
pub struct Line {
    /// The part, for messages and the order of ties.
    pub part: String,
    /// The places it fills.
    pub places: Vec<String>,
    /// Digits as far as known.
    pub commodity: String,
    /// What a declaration calls it.
    pub declared_as: String,
    /// The country of making.
    pub origin: String,
    /// Whether a preference is claimed.
    pub preference: bool,
    /// Pieces.
    pub pieces: u32,
    /// Where the line is part of a thing that is declared as one line: how many of that thing there are.
    pub whole: Option<u32>,
    /// Mass of one piece; none when not known.
    pub unit_mass: Option<Grams>,
    /// Packed mass of the line.
    pub packed: Grams,
    /// Facts a rule may ask for.
    pub traits: BTreeMap<String, String>,
    /// Price times quantity.
    pub list: SellerMoney,
    /// The same less discounts that lower the price.
    pub goods: SellerMoney,
    /// Its share of the freight.
    pub freight: SellerMoney,
    /// Its share of the insurance.
    pub insurance: SellerMoney,
}

impl Line {
    /// A fact that is a figure.
    pub(super) fn figure(&self, name: &str) -> Option<Dec> {
        self.traits
            .get(name)
            .and_then(|text| number::plain(text).ok())
    }
}
