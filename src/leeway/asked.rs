//! Charges that may not be asked for, and the chance that what is in dispute is.

use crate::book::{About, Book, Part, Remedies, Unknown};
use crate::landed::{Bill, Jurisdiction, bills_of};
use crate::text::Problems;
use crate::units::{Dec, HomeMoney};

/// A charge that may not be asked for: never its mean, always both.
#[derive(Debug, Clone)]
pub(crate) struct Asked {
    /// `remedy:SELLER`.
    pub(crate) id: String,
    /// The chance, out of a hundred, that it is asked for.
    pub(crate) chance: Dec,
    /// The landed cost when it is, as the law has it.
    pub(crate) asked: Dec,
    /// The landed cost when it is not.
    pub(crate) not_asked: Dec,
}

/// The chance that what is disputed is asked for: as the row `disputed` tells it, else as the one row tells it that is about an
/// anti-dumping duty which is all that is disputed; and where that row stands. `decided` is the cost with all of it decided the
/// other way than it is counted.
pub(super) fn chance_of_disputed(
    book: &Book,
    decided: Dec,
    counted: bool,
    asked: &[Asked],
) -> Option<(Dec, String)> {
    let told = |row: &Unknown| Some((row.chance?, row.at.place().to_string()));
    let rows = || book.unknowns.iter().flatten();
    let same = |a: &&Asked| {
        a.id.starts_with("remedy:") && decided == if counted { a.not_asked } else { a.asked }
    };
    rows()
        .find(|row| row.about == About::Disputed)
        .and_then(told)
        .or_else(|| {
            let of_all = asked.iter().find(same)?;
            rows()
                .find(|row| {
                    row.about == About::Remedy
                        && of_all.id.strip_prefix("remedy:") == Some(row.name.as_str())
                })
                .and_then(told)
        })
}

/// Charges that the book says may not be asked for: the cost as due, and the cost when they are not asked for.
pub(super) fn asked(
    book: &Book,
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
    cost: Dec,
    bills: &[Bill],
) -> Result<Vec<Asked>, Problems> {
    let mut found = Vec::new();
    for row in book.unknowns.iter().flatten() {
        let Some(chance) = row
            .chance
            .filter(|_| matches!(row.about, About::Charges | About::Remedy))
        else {
            continue;
        };
        let here = |bill: &&Bill| bill.id == row.name || bill.seller == row.name;
        // Anti-dumping that is only shown is not in the cost, and comes on top of it.
        let on_top = row.about == About::Remedy && jurisdiction.ask.remedies == Remedies::Show;
        let others = if row.about == About::Remedy {
            bills_of(book, rows, jurisdiction, on_top)?
        } else {
            Vec::new()
        };
        let mut moved = Dec::ZERO;
        for bill in bills.iter().filter(here) {
            let by = match others.iter().find(|other| other.id == bill.id) {
                Some(other) => bill
                    .amounts
                    .landed()
                    .and_then(|all| other.amounts.landed()?.minus(all)),
                None => bill.amounts.at_door().map(HomeMoney::negated),
            };
            moved = by.and_then(|by| moved.plus(by.amount()))?;
        }
        let other = cost.plus(moved)?;
        let (asked, not_asked) = if on_top { (other, cost) } else { (cost, other) };
        found.push(Asked {
            id: format!("{}:{}", row.about.name(), row.name),
            chance,
            asked,
            not_asked,
        });
    }
    Ok(found)
}
