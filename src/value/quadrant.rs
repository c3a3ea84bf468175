//! Difference first, ratio second: two differences, the quadrant they lie in, and a ratio only where it means something.

use std::cmp::Ordering;

use super::ratio::Ratio;
use crate::text::words;
use crate::units::{Dec, Grams, Mode, Overflow};

/// Where two differences lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Quadrant {
    /// Cheaper or as cheap, lighter or as light, and not both the same: nothing is given up.
    Better,
    /// Dearer and lighter: the only one with a cost per kilogram saved.
    TradeOff,
    /// Cheaper and heavier: grams are given up for money.
    GivesUp,
    /// The same price and the same mass.
    Same,
    /// Dearer or as dear, heavier or as heavy, and not both the same.
    Worse,
}

/// The quadrants by their words in the outputs.
pub(crate) const QUADRANTS: [(&str, Quadrant); 5] = [
    ("better", Quadrant::Better),
    ("trade-off", Quadrant::TradeOff),
    ("gives-up", Quadrant::GivesUp),
    ("same", Quadrant::Same),
    ("worse", Quadrant::Worse),
];

impl Quadrant {
    /// Its word.
    pub fn name(self) -> &'static str {
        words::word_of(&QUADRANTS, self)
    }
}

/// What one thing costs more and weighs less than another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Difference {
    /// Cost of this less cost of the other, in whole minor units: dC.
    pub cost: Dec,
    /// Mass of the other less mass of this: dM, the grams saved.
    pub saved: Grams,
}

impl Difference {
    /// The difference; the cost is rounded half up to a minor unit of `digits` decimals, so that the calculated figure is the one
    /// that is shown.
    pub(crate) fn new(cost: Dec, saved: Grams, digits: u32) -> Difference {
        Difference {
            cost: cost.round_to(digits, Mode::HalfUp),
            saved,
        }
    }

    /// The quadrant it lies in.
    pub fn quadrant(&self) -> Quadrant {
        let (cost, saved) = (self.cost.cmp(&Dec::ZERO), self.saved.cmp(&Grams::ZERO));
        match (cost, saved) {
            (Ordering::Equal, Ordering::Equal) => Quadrant::Same,
            (Ordering::Greater, Ordering::Greater) => Quadrant::TradeOff,
            (Ordering::Less, Ordering::Less) => Quadrant::GivesUp,
            (Ordering::Less | Ordering::Equal, _) if saved != Ordering::Less => Quadrant::Better,
            _ => Quadrant::Worse,
        }
    }

    /// Money for each gram saved, only where it is dearer and lighter.
    pub fn per_gram(&self) -> Result<Option<Ratio>, Overflow> {
        if self.quadrant() == Quadrant::TradeOff {
            Ratio::of(self.cost, self.saved.0)
        } else {
            Ok(None)
        }
    }

    /// Money for each gram given up, only where it is cheaper and heavier.
    pub(crate) fn per_gram_given_up(&self) -> Result<Option<Ratio>, Overflow> {
        if self.quadrant() == Quadrant::GivesUp {
            Ratio::of(self.cost.abs(), self.saved.0.abs())
        } else {
            Ok(None)
        }
    }

    /// Cost per kilogram saved, only where it is dearer and lighter.
    pub fn per_kg(&self) -> Result<Option<Dec>, Overflow> {
        self.per_gram()?
            .map(|ratio| ratio.times(Dec::THOUSAND))
            .transpose()
    }

    /// Money saved for each kilogram given up, only where it is cheaper and heavier.
    pub fn per_kg_given_up(&self) -> Result<Option<Dec>, Overflow> {
        self.per_gram_given_up()?
            .map(|ratio| ratio.times(Dec::THOUSAND))
            .transpose()
    }

    /// Grams saved for each unit of money, only where it is dearer and lighter.
    pub(crate) fn grams_per_unit(&self) -> Result<Option<Dec>, Overflow> {
        if self.quadrant() == Quadrant::TradeOff {
            self.saved.0.over(self.cost).map(Some)
        } else {
            Ok(None)
        }
    }

    /// What it is worth, net: the worth of a kilogram times the mass saved, less the cost.
    pub(crate) fn net_benefit(&self, worth_per_kg: Dec) -> Result<Dec, Overflow> {
        worth_per_kg
            .times(self.saved.0)?
            .over(Dec::THOUSAND)?
            .minus(self.cost)
    }

    /// The order in which differences are ranked: what gives nothing up first, the most money saved leading; then by cost
    /// per kilogram saved; then what saves money and adds mass, the most money per kilogram leading; then what changes
    /// nothing; then what is worse. One that is beaten on both counts never stands above the one that beats it.
    pub(crate) fn rank(&self, other: &Difference) -> Result<Ordering, Overflow> {
        let (own, others) = (self.quadrant(), other.quadrant());
        let plain = || {
            self.cost
                .cmp(&other.cost)
                .then(other.saved.cmp(&self.saved))
        };
        let within = match own {
            _ if own != others => own.cmp(&others),
            Quadrant::TradeOff => self.per_gram()?.cmp(&other.per_gram()?).then_with(plain),
            Quadrant::GivesUp => other
                .per_gram_given_up()?
                .cmp(&self.per_gram_given_up()?)
                .then_with(plain),
            Quadrant::Better | Quadrant::Same | Quadrant::Worse => plain(),
        };
        Ok(within)
    }

    /// In words, as said of the first thing: `cheaper by 386.60 GBP and lighter by 512 g`. `money` writes an amount.
    pub(crate) fn words(&self, money: impl Fn(Dec) -> String) -> Result<String, Overflow> {
        let amount = money(self.cost.abs());
        let grams = self.saved.0.abs();
        let mass = format!("{} g", grams.grouped(grams.decimals()));
        let (cost, saved) = (self.cost, self.saved.0);
        let words = match self.quadrant() {
            Quadrant::Same => "the same price and the same weight".to_owned(),
            Quadrant::TradeOff => {
                let per_kg = self.per_kg()?.map(money).unwrap_or_default();
                format!("more expensive by {amount} and lighter by {mass}: {per_kg} per kg saved")
            }
            Quadrant::GivesUp => {
                let per_kg = self.per_kg_given_up()?.map(money).unwrap_or_default();
                format!("cheaper by {amount} and heavier by {mass}: saves {per_kg} per kg given up")
            }
            Quadrant::Better if cost.is_zero() => format!("lighter by {mass} at the same price"),
            Quadrant::Better if saved.is_zero() => {
                format!("cheaper by {amount} at the same weight")
            }
            Quadrant::Better => format!("cheaper by {amount} and lighter by {mass}"),
            Quadrant::Worse if cost.is_zero() => format!("heavier by {mass} at the same price"),
            Quadrant::Worse if saved.is_zero() => {
                format!("more expensive by {amount} at the same weight")
            }
            Quadrant::Worse => format!("more expensive by {amount} and heavier by {mass}"),
        };
        Ok(words)
    }
}
