//! Rows of `charges.csv`: one row of the sum that customs, the carrier and the seller make up.

use super::after::{After, read_after};
use super::coin::currency;
use super::law_names::charge;
use super::stamp::{PROVENANCE, Rule};
use super::sum::SumExpr;
use super::tariff::RateFrom;
use super::when::When;
use crate::text::words::{one_of, word_of};
use crate::text::{Columns, Problems, Row};
use crate::units::{Currency, Dec, Percent, Rounding, number};

/// What a charge is, whatever its own law calls it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Kind {
    /// A named figure that nobody pays.
    Value,
    /// Customs duty.
    Duty,
    /// Anti-dumping or countervailing duty.
    Remedy,
    /// Tax at the border.
    Tax,
    /// Tax the seller takes at the sale.
    SaleTax,
    /// A fee for handling.
    Fee,
}

/// The kinds by the names sums use for them.
pub(crate) const KINDS: [(&str, Kind); 6] = [
    ("value", Kind::Value),
    ("duty", Kind::Duty),
    ("remedy", Kind::Remedy),
    ("tax", Kind::Tax),
    ("sale-tax", Kind::SaleTax),
    ("fee", Kind::Fee),
];

impl Kind {
    /// Its name in the tables.
    pub(crate) fn name(self) -> &'static str {
        word_of(&KINDS, self)
    }

    /// Finds a kind by name.
    pub(crate) fn named(text: &str) -> Option<Kind> {
        KINDS
            .iter()
            .find(|(name, _)| *name == text)
            .map(|(_, kind)| *kind)
    }
}

/// Over what a row is calculated and rounded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Level {
    /// Each line on its own.
    Line,
    /// Lines alike in this many digits and in what the declaration calls them.
    Item(usize),
    /// Lines alike in this many digits, whatever the declaration calls them.
    Digits(usize),
    /// The whole consignment.
    Consignment,
}

const LEVELS: [(&str, Level); 6] = [
    ("line", Level::Line),
    ("item6", Level::Item(6)),
    ("item8", Level::Item(8)),
    ("item10", Level::Item(10)),
    ("digits6", Level::Digits(6)),
    ("consignment", Level::Consignment),
];

/// What a flat amount is counted by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Per {
    /// Once.
    Consignment,
    /// Each item beyond those that are free.
    Item {
        /// Items that cost nothing.
        above: u32,
    },
    /// Each piece.
    Piece,
    /// Each kilogram of packed mass.
    Kilogram,
}

impl Per {
    fn parse(text: &str) -> Result<Per, String> {
        if let Some(above) = text.strip_prefix("item above ") {
            let above = above
                .parse()
                .map_err(|_| "expected a whole number, such as `item above 5`".to_owned())?;
            return Ok(Per::Item { above });
        }
        let words = [
            ("consignment", Per::Consignment),
            ("item", Per::Item { above: 0 }),
            ("piece", Per::Piece),
            ("kg", Per::Kilogram),
        ];
        one_of(&words, text)
    }
}

/// Rows of which only one counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Group {
    /// Its name.
    pub(crate) name: String,
    /// The least amount counts; otherwise the first row that holds.
    pub(crate) least: bool,
}

impl Group {
    fn parse(text: &str) -> Result<Group, String> {
        let expected = || "expected a name and `least` or `first`, such as `gift least`".to_owned();
        let (name, which) = text.rsplit_once(' ').ok_or_else(expected)?;
        let least = one_of(&[("least", true), ("first", false)], which).map_err(|_| expected())?;
        Ok(Group {
            name: name.to_owned(),
            least,
        })
    }
}

/// One row of the sum.
#[derive(Debug, Clone)]
pub(crate) struct Charge {
    /// Its id, shared by rows that exclude each other.
    pub(crate) id: String,
    /// What it is.
    pub(crate) kind: Kind,
    /// When it is calculated.
    pub(crate) order: u32,
    /// Rows of which only one counts.
    pub(crate) group: Option<Group>,
    /// Over what it is calculated.
    pub(crate) level: Level,
    /// What its percentage is of.
    pub(crate) of: Option<SumExpr>,
    /// Its percentage.
    pub(crate) percent: Option<Percent>,
    /// Where its percentage comes from.
    pub(crate) rate_from: Option<RateFrom>,
    /// Its flat amount.
    pub(crate) flat: Option<Dec>,
    /// What the flat amount is counted by.
    pub(crate) per: Per,
    /// It is at least this.
    pub(crate) min: Option<Dec>,
    /// It is at most this.
    pub(crate) max: Option<Dec>,
    /// The currency of flat, least and most.
    pub(crate) currency: Option<Currency>,
    /// How it is rounded.
    pub(crate) round: Option<Rounding>,
    /// When it applies.
    pub(crate) when: When,
    /// Whether a seller's own `handling` stands in its place.
    pub(crate) carriers: bool,
    /// Whether the tariff layer it looks in owes a rate for every line.
    pub(crate) owes: bool,
    /// What is known of the days after it ended.
    pub(crate) after: After,
}

impl Rule for Charge {
    const COLUMNS: Columns = Columns {
        needed: &["charge", "kind", "order", "level"],
        optional: &[
            "group",
            "of",
            "percent",
            "rate_from",
            "flat",
            "per",
            "min",
            "max",
            "currency",
            "round",
            "when",
            "payee",
            "owes",
            "after",
        ],
        shared: PROVENANCE,
    };

    fn read(row: &Row<'_>, problems: &mut Problems) -> Option<Charge> {
        let cell = |name: &'static str| row.cell(name);
        let amount = |name: &'static str, problems: &mut Problems| {
            cell(name).optional(problems, number::plain)
        };
        let id = cell("charge").needed(problems, charge_id);
        let kind = cell("kind").needed(problems, |t| one_of(&KINDS, t));
        let order = cell("order").needed(problems, order);
        let level = cell("level").needed(problems, |t| one_of(&LEVELS, t));
        let charge = Charge {
            id: id?,
            kind: kind?,
            order: order?,
            level: level?,
            group: cell("group").optional(problems, Group::parse),
            of: cell("of").optional(problems, SumExpr::parse),
            percent: cell("percent").optional(problems, |t| Percent::parse(t, 1000)),
            rate_from: cell("rate_from").optional(problems, RateFrom::parse),
            flat: amount("flat", problems),
            per: cell("per")
                .optional(problems, Per::parse)
                .unwrap_or(Per::Consignment),
            min: amount("min", problems),
            max: amount("max", problems),
            currency: cell("currency").optional(problems, currency),
            round: cell("round").optional(problems, Rounding::parse),
            when: cell("when")
                .optional(problems, When::parse)
                .unwrap_or_default(),
            carriers: cell("payee")
                .optional(problems, |t| {
                    one_of(&[("carrier", true), ("customs", false)], t)
                })
                .unwrap_or(false),
            owes: cell("owes")
                .optional(problems, |t| one_of(&[("yes", true), ("no", false)], t))
                .unwrap_or(false),
            after: read_after(
                row,
                if kind? == Kind::Value {
                    After::Nothing
                } else {
                    After::Unknown
                },
                problems,
            ),
        };
        charge.check(row, problems);
        Some(charge)
    }

    fn key(&self) -> String {
        self.id.clone()
    }

    fn titled(&self) -> String {
        let what = match self.kind {
            Kind::Fee => "fees",
            Kind::Value => "value",
            Kind::Tax | Kind::SaleTax => "tax",
            Kind::Duty | Kind::Remedy => "duty",
        };
        format!("{what}, {}", charge(&self.id))
    }

    fn twin(&self) -> String {
        if self.when.is_always() {
            self.id.clone()
        } else {
            format!("{} when {}", self.id, self.when)
        }
    }
}

impl Charge {
    /// A row must have something to calculate and a currency for its amounts.
    fn check(&self, row: &Row<'_>, problems: &mut Problems) {
        // a cell that cannot be read has been said, and says no more
        let stated = |name: &'static str| !row.cell(name).is_empty();
        let rated = self.percent.is_some()
            || self.rate_from.is_some()
            || stated("percent")
            || stated("rate_from");
        if self.percent.is_some() && self.rate_from.is_some() {
            problems.push(
                row.cell("rate_from")
                    .error("expected a percentage or a table to take it from, not both"),
            );
        }
        if !stated("of") && (rated || (self.kind == Kind::Value && !stated("flat"))) {
            problems.push(
                row.cell("of")
                    .error("expected the sum that the percentage is of"),
            );
        }
        if !stated("of") && !stated("flat") {
            problems.push(
                row.cell("flat")
                    .error("expected a percentage of a sum or a flat amount"),
            );
        }
        if self.of.is_some() && !rated && self.kind != Kind::Value {
            problems.push(
                row.cell("percent")
                    .error("expected a percentage of the sum in `of`"),
            );
        }
        let amounts = self.flat.is_some() || self.min.is_some() || self.max.is_some();
        if amounts && !stated("currency") {
            problems.push(
                row.cell("currency")
                    .error("expected the currency of `flat`, `min` and `max`"),
            );
        }
        if self.owes
            && !(self.kind == Kind::Duty && matches!(self.rate_from, Some(RateFrom::Tariff(_))))
        {
            problems.push(
                row.cell("owes")
                    .error("expected a row of kind `duty` that takes its rate from `tariff:LAYER`: only such a layer owes rates"),
            );
        }
        self.check_amounts(row, problems);
    }

    /// What somebody pays is never less than nothing; a figure that nobody pays may take a flat amount off.
    fn check_amounts(&self, row: &Row<'_>, problems: &mut Problems) {
        if self.kind != Kind::Value {
            for (name, amount) in [("flat", self.flat), ("min", self.min), ("max", self.max)] {
                if amount.is_some_and(Dec::is_negative) {
                    let expected = "expected 0 or more: a charge takes money and never gives any; only a row of kind `value` may take a flat amount off";
                    problems.push(row.cell(name).error(expected));
                }
            }
        }
        if let Some((min, max)) = self.min.zip(self.max).filter(|(min, max)| min > max) {
            problems.push(
                row.cell("min").error(format!("expected at most `max`, which is {max}: no amount is at least {min} and at most {max}")),
            );
        }
    }
}

/// An id may not be the name of a kind or of a part of the price.
fn charge_id(text: &str) -> Result<String, String> {
    let plain = text.chars().all(|c| c.is_ascii_alphanumeric() || c == '_')
        && text.starts_with(|c: char| c.is_ascii_alphabetic());
    if !plain || Kind::named(text).is_some() || super::sum::PRICE_NAMES.contains(&text) {
        return Err("expected an id of letters, digits and `_` that is not the name of a kind or of a part of the price".to_owned());
    }
    Ok(text.to_owned())
}

/// A place in the order.
pub(super) fn order(text: &str) -> Result<u32, String> {
    text.parse().map_err(|_| {
        "expected a whole number: the place in the order of the calculation".to_owned()
    })
}
