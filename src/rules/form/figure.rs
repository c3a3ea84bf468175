//! Figures that a user may change: what each is, and the row it stands in. A form for a reading that shows them keeps them apart;
//! any other works them in as they stand.

use std::sync::Arc;

use super::lower::Lowering;
use super::maker::Maker;
use super::{Id, Measure, Op};
use crate::rules::rate::RateUsed;
use crate::tables::{Per, Provenance};
use crate::units::{Dec, Overflow};

/// One figure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Figure {
    /// As the row has it, in the destination's money where it is money.
    pub(crate) value: Dec,
    /// What it is.
    pub(crate) what: What,
    /// Where it comes from.
    pub(crate) origin: Origin,
}

/// The row a figure stands in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Origin {
    /// Its file and line.
    pub(crate) place: String,
    /// What is behind it.
    pub(crate) source: String,
    /// What the row is called.
    pub(crate) id: String,
}

impl Origin {
    /// That of a row of the tables.
    pub(super) fn of(stamp: &Provenance, id: &str) -> Origin {
        Origin {
            place: stamp.row.to_string(),
            source: stamp.source.to_string(),
            id: id.to_owned(),
        }
    }

    /// A table as a whole.
    pub(super) fn table(name: &str) -> Origin {
        Origin {
            place: name.to_owned(),
            source: String::new(),
            id: String::new(),
        }
    }
}

/// A figure of a rate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum RatePart {
    /// Percent of the sum.
    Percent,
    /// An amount for each kilogram.
    PerKilogram,
    /// An amount for each piece.
    PerPiece,
}

impl RatePart {
    /// That part of a rate.
    pub(crate) fn of(self, rate: &RateUsed) -> Dec {
        match self {
            RatePart::Percent => rate.percent.0,
            RatePart::PerKilogram => rate.per_kg,
            RatePart::PerPiece => rate.per_piece,
        }
    }
}

/// Figures that belong together for whoever lists them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Group {
    /// The card's fee.
    Card,
    /// What a seller asks beside the prices.
    Seller,
    /// Discounts and credits.
    Discount,
    /// Tables of freight by mass.
    FreightTable,
    /// Rates of duty and tax.
    Rate,
    /// Other figures of the law: limits, flat amounts, least and most.
    Law,
}

/// What a figure is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum What {
    /// A part of a rate.
    Rate(RatePart, Arc<RateUsed>),
    /// A flat amount, and what it is counted by.
    Flat(Per),
    /// The least that a row lets it come to.
    Least,
    /// The most.
    Most,
    /// What a limit tests against.
    Limit,
    /// What a condition compares with.
    Condition,
    /// The percentage of the freight that counts up to the border.
    BorderFreight,
    /// The percentage of the carrier's own fee.
    OwnFee,
    /// The price of a freight schedule.
    Schedule(String),
    /// One of the seller's terms, or the card's.
    Term(Term),
}

/// What a figure of the seller's side is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Term {
    /// What carrying costs.
    Freight,
    /// The grams that the price of carrying is for.
    FreightGrams,
    /// The grams up to which a step of a freight table serves.
    StepUpTo,
    /// The price of a step of a freight table.
    StepPrice,
    /// What each kilogram begun beyond the last step costs.
    StepExtra,
    /// What is beyond a freight table that ends: nothing that could be written down.
    Beyond,
    /// What packing adds to the mass, out of a hundred.
    PackingPercent,
    /// What packing adds to the mass, once.
    PackingGrams,
    /// Cubic centimetres that count as a kilogram.
    Divisor,
    /// Goods of at least this price travel free.
    FreeOver,
    /// The goods that a discount asks for.
    Spend,
    /// The percentage of a discount.
    Percent,
    /// Its amount.
    Amount,
    /// The most that it takes off.
    Most,
    /// What insuring costs.
    Premium,
    /// The percentage of an insurance.
    PremiumPercent,
    /// The percentage of the seller's own tax in the prices.
    OwnTax,
    /// That of the destination's, taken at the sale.
    SaleTax,
    /// The percentage of the card's fee.
    CardFee,
}

impl Term {
    /// In words: what it is, and what there is to say of it, which of freight and card the row says.
    fn words(self, origin: &Origin) -> (String, &str) {
        let code = |what: &str| format!("discount {}, {what}", origin.id);
        let step = |what: &str| format!("{}: {what}", origin.id);
        let dates = "its dates hold; that is fixed";
        let (what, how) = match self {
            Term::Spend => (code("least spend"), "in goods before any discount"),
            Term::Percent => (code("percent"), dates),
            Term::Amount => (code("amount"), dates),
            Term::Most => (code("at most"), ""),
            Term::Freight => ("freight asked".into(), origin.source.as_str()),
            Term::FreightGrams => ("grams that it is asked for".into(), ""),
            Term::StepUpTo => (step("it serves up to"), "grams with packing"),
            Term::StepPrice => (step("price"), "freight by the packed mass"),
            Term::StepExtra => (step("each kilogram beyond"), "every kilogram that is begun"),
            Term::Beyond => (
                step("beyond the last step"),
                "the table has no price for it",
            ),
            Term::PackingPercent => (step("packing, percent"), "on the mass of the goods"),
            Term::PackingGrams => (step("packing"), "grams, once for the parcel"),
            Term::Divisor => (
                step("cubic centimetres to the kilogram"),
                "by the size of the boxes",
            ),
            Term::FreeOver => ("free from this on".into(), "in goods before any discount"),
            Term::Premium => ("insurance".into(), "as told"),
            Term::PremiumPercent => ("insurance, percent".into(), "of goods and freight"),
            Term::OwnTax => (
                "the seller's own tax in the prices, percent".into(),
                "taken off for export",
            ),
            Term::SaleTax => (
                "tax in the prices, percent".into(),
                "taken at the sale; that is fixed",
            ),
            Term::CardFee => ("card fee, percent".into(), origin.source.as_str()),
        };
        (what, how)
    }
}

impl Figure {
    /// Where it belongs; none where it is nothing that could be written down.
    pub(crate) fn group(&self) -> Option<Group> {
        Some(match &self.what {
            What::Rate(..) => Group::Rate,
            What::Flat(_)
            | What::Least
            | What::Most
            | What::Limit
            | What::Condition
            | What::BorderFreight
            | What::OwnFee
            | What::Schedule(_) => Group::Law,
            What::Term(term) => match term {
                Term::Beyond => return None,
                Term::SaleTax => Group::Rate,
                Term::StepUpTo
                | Term::StepPrice
                | Term::StepExtra
                | Term::PackingPercent
                | Term::PackingGrams
                | Term::Divisor => Group::FreightTable,
                Term::Spend | Term::Percent | Term::Amount | Term::Most => Group::Discount,
                Term::CardFee => Group::Card,
                Term::Freight
                | Term::FreightGrams
                | Term::FreeOver
                | Term::Premium
                | Term::PremiumPercent
                | Term::OwnTax => Group::Seller,
            },
        })
    }

    /// Whether it is the price of a freight schedule that a row of the law names, looked up for the mass as it was.
    pub(crate) fn is_looked_up(&self) -> bool {
        matches!(self.what, What::Schedule(_))
    }

    /// What a figure that is no money counts; empty where it is a bare number.
    pub(crate) fn counts(&self) -> &'static str {
        match &self.what {
            What::Rate(RatePart::Percent, _)
            | What::BorderFreight
            | What::OwnFee
            | What::Term(
                Term::Percent
                | Term::PremiumPercent
                | Term::OwnTax
                | Term::SaleTax
                | Term::CardFee
                | Term::PackingPercent,
            ) => "%",
            What::Term(Term::StepUpTo | Term::PackingGrams | Term::FreightGrams) => "g",
            _ => "",
        }
    }

    /// In words: what it is, and what there is to say of it.
    pub(crate) fn words(&self) -> (String, &str) {
        let plain = |words: &str| words.to_owned();
        match &self.what {
            What::Rate(RatePart::Percent, _) => (plain("percent"), ""),
            What::Rate(RatePart::PerKilogram, _) => (plain("a kilogram"), ""),
            What::Rate(RatePart::PerPiece, _) => (plain("a piece"), ""),
            What::Flat(Per::Consignment) => (plain("flat amount"), "for the parcel"),
            What::Flat(Per::Item { above: 0 }) => (plain("flat amount"), "for each item"),
            What::Flat(Per::Item { .. }) => (
                plain("flat amount"),
                "for each item beyond those that are free",
            ),
            What::Flat(Per::Piece) => (plain("flat amount"), "for each piece"),
            What::Flat(Per::Kilogram) => (plain("flat amount"), "for each kilogram"),
            What::Least if self.origin.id.is_empty() => {
                (plain("the carrier's own fee, at least"), "")
            }
            What::Least => (plain("at least"), ""),
            What::Most => (plain("at most"), ""),
            What::Limit => (plain("the limit"), "in the destination's money"),
            What::Condition => (plain("figure of the condition"), ""),
            What::BorderFreight => (plain("freight up to the border, percent"), ""),
            What::OwnFee => (
                plain("the carrier's own fee, percent"),
                "of duty, anti-dumping and tax at the border",
            ),
            What::Schedule(name) => (
                format!("freight by the schedule `{name}`"),
                "at the packed mass as it was; type another amount for another mass",
            ),
            What::Term(term) => term.words(&self.origin),
        }
    }
}

impl Maker {
    /// A figure of the row that is being read: kept apart where the reading shows figures, else worked in.
    pub(super) fn figure(
        &mut self,
        value: Dec,
        measure: Measure,
        what: impl FnOnce() -> What,
    ) -> Id {
        let Some(origin) = self.origin.clone() else {
            return self.money(value, measure);
        };
        let figure = Figure {
            value,
            what: what(),
            origin,
        };
        let known = self.form.figures.iter().position(|own| *own == figure);
        let at = known.unwrap_or_else(|| {
            self.form.figures.push(figure);
            self.form.figures.len() - 1
        });
        self.add(Op::Figure(at), measure, false)
    }

    /// A percentage of a figure.
    pub(super) fn percent_of(&mut self, a: Id, percent: Id) -> Result<Id, Overflow> {
        if let Some(percent) = self.fixed_value(percent) {
            return self.part(a, percent, Dec::HUNDRED);
        }
        let times = self.times(a, percent)?;
        self.part(times, Dec::ONE, Dec::HUNDRED)
    }
}

impl Lowering<'_> {
    /// From here on figures are those of another row; what was before is returned.
    pub(super) fn reads(&mut self, stamp: &Provenance, id: &str) -> Option<Origin> {
        let before = self.make.origin.take();
        self.make.origin = before.as_ref().map(|_| Origin::of(stamp, id));
        before
    }
}
