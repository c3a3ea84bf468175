//! The commands that write a step down: the edits that a sound book gets, and what is said of the book that has them.

use super::case::{show, sound};
use super::{Answer, Answered, Case};
use crate::book::Part;
use crate::landed::Jurisdiction;
use crate::report;
use crate::steps::{self, Edits, Leads, OnScale, Seen, Sums};
use crate::text::Problems;
use crate::units::{Date, Grams};

/// A step that is to be written down.
pub(crate) enum Deed<'a> {
    /// What the scale said.
    Weigh {
        part: &'a str,
        grams: &'a str,
        piece: Option<&'a str>,
        pair: bool,
    },
    /// The price of an offer now.
    Seen {
        part: &'a str,
        price: &'a str,
        seller: Option<&'a str>,
    },
}

/// What was so before a step, as far as it is told afterwards.
pub(crate) enum Was {
    /// The weight of the bike.
    Weighed(Grams),
    /// The offer, and what its price led to.
    Priced(Box<Part>, Leads),
}

impl Deed<'_> {
    /// How it is typed, with the folder of a book.
    pub(crate) fn example(&self) -> &'static str {
        match self {
            Deed::Weigh { .. } => "weigh PART GRAMS DIR",
            Deed::Seen { .. } => "seen PART PRICE DIR",
        }
    }
}

/// The edits that write a step down, and what was so before it.
pub(crate) fn wished(case: &Case, what: &Deed<'_>, date: Date) -> Result<(Edits, Was), Problems> {
    let jurisdiction = Jurisdiction::open(&case.tables, &case.ask)?;
    sound(case, &jurisdiction)?;
    let book = &case.book;
    match *what {
        Deed::Weigh {
            part,
            grams,
            piece,
            pair,
        } => {
            let said = OnScale {
                part,
                grams,
                piece,
                pair,
                date,
            };
            let edits = steps::weigh(book, &said, case.ask.basis)?;
            Ok((edits, Was::Weighed(Sums::of(book, &jurisdiction)?.mass)))
        }
        Deed::Seen {
            part,
            price,
            seller,
        } => {
            let wish = Seen {
                part,
                price,
                seller,
                date,
            };
            let edits = steps::seen(book, &wish)?;
            let row = steps::offer(book, part, seller)?;
            let leads = steps::leads(book, row, &jurisdiction)?;
            Ok((edits, Was::Priced(Box::new(row.clone()), leads)))
        }
    }
}

/// What is said of a step that a book has.
pub(crate) fn done(
    case: &Case,
    jurisdiction: &Jurisdiction<'_>,
    what: &Deed<'_>,
    was: &Was,
) -> Answered {
    let book = &case.book;
    let step = match (what, was) {
        (Deed::Weigh { part, .. }, Was::Weighed(before)) => {
            let after = Sums::of(book, jurisdiction)?.mass;
            report::weighed_step(book, part, (*before, after), case.ask.max_mass)?
        }
        (Deed::Seen { part, seller, .. }, Was::Priced(old, before)) => {
            let row = steps::offer(book, part, *seller)?;
            let after = steps::leads(book, row, jurisdiction)?;
            let show = show(case, jurisdiction.currency())?;
            report::seen_step((old, row), (before, &after), &show)?
        }
        _ => return Err(crate::text::Diagnostic::defect("a step was taken for another").into()),
    };
    Ok(Answer {
        view: report::step_view(&step),
        json: step.json,
    })
}
