//! What a step moves: the figures of a book before it and after it.

use crate::book::{Book, Part, Role};
use crate::landed::{Jurisdiction, cost_at};
use crate::rank::{Ranked, rank_at};
use crate::text::Problems;
use crate::units::{Dec, Grams};

use super::weigh::bike_mass;

/// What a build lands at and weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Sums {
    /// The landed cost.
    pub(crate) landed: Dec,
    /// The weight of the bike.
    pub(crate) mass: Grams,
}

impl Sums {
    /// Those of a book, as `cost` says them.
    pub(crate) fn of(book: &Book, jurisdiction: &Jurisdiction<'_>) -> Result<Sums, Problems> {
        Ok(Sums {
            landed: cost_at(book, jurisdiction)?.totals.landed()?.amount(),
            mass: bike_mass(book, jurisdiction)?,
        })
    }
}

/// What an offer's price leads to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Leads {
    /// It is in the build, which lands at this.
    Build(Dec),
    /// Taking it would add this.
    Adds(Dec),
    /// What taking it would add cannot be told, for this reason.
    Unknown(String),
}

/// What the price of a row leads to: the landed cost of the build, or what taking the row would add to it.
pub(crate) fn leads(
    book: &Book,
    row: &Part,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Leads, Problems> {
    if row.role == Role::Build {
        let landed = cost_at(book, jurisdiction)?.totals.landed()?;
        return Ok(Leads::Build(landed.amount()));
    }
    let ranking = rank_at(book, jurisdiction)?;
    let own = row.at.line().to_string();
    let ranked = |option: &&Ranked| option.row == own;
    if let Some(option) = ranking.options.iter().find(ranked) {
        return Ok(Leads::Adds(option.together));
    }
    let left = ranking.unfit.iter().chain(&ranking.left_out);
    let why = left
        .filter(|left| left.part == row.name && left.seller == row.seller)
        .map(|left| left.reason.clone())
        .next();
    Ok(Leads::Unknown(why.unwrap_or_else(|| {
        "it is only bought together with another part".to_owned()
    })))
}
