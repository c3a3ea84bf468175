//! A book with other rows as its build: what each row must say so that nothing typed is lost, and every sum is as it was foretold.
//!
//! Another offer of a part, a `rival`, takes what it leaves empty from the part's own row. Once it is that row itself it must say it,
//! and the one that was it before must go on saying what it said: cells are written out, and a row that said nothing where the new
//! one says something gets a `-`.

use std::collections::{BTreeMap, BTreeSet};

use super::{Cells, Edits, set, text};
use crate::book::{Book, INHERITED, NOTHING, Part, Role};
use crate::text::Diagnostic;
use crate::text::words::quoted;

/// Rows that are to be the build, by their numbers, and the parcels of those that travel in another one than they say.
pub(super) struct Build {
    pub(super) rows: BTreeSet<usize>,
    pub(super) labels: BTreeMap<usize, String>,
}

/// The edits that make rows the build of a book; all others are options, or rivals of a row of their name.
pub(super) fn as_build(book: &Book, build: &Build) -> Result<Edits, Diagnostic> {
    let mut names: BTreeMap<&str, Vec<&Part>> = BTreeMap::new();
    for row in &book.parts {
        names.entry(&row.name).or_default().push(row);
    }
    let mut changed: Vec<(&Part, Cells)> = Vec::new();
    for rows in names.values() {
        changed.extend(of_name(rows, build)?);
    }
    for (row, cells) in &mut changed {
        let label = build.labels.get(&row.at.number());
        cells.extend(label.map(|label| text("parcel", label)));
    }
    changed.retain(|(_, cells)| !cells.is_empty());
    // from below, so that a cell of several lines moves no row that is still to be changed
    changed.sort_by_key(|(row, _)| std::cmp::Reverse(row.at.number()));
    let edits = changed.into_iter().map(|(row, cells)| set(row, cells));
    Ok(edits.collect())
}

/// What the rows of one name must say.
fn of_name<'b>(rows: &[&'b Part], build: &Build) -> Result<Vec<(&'b Part, Cells)>, Diagnostic> {
    let chosen = |row: &&&Part| build.rows.contains(&row.at.number());
    let main = rows.iter().copied().find(|row| row.role != Role::Rival);
    let all: Vec<&Part> = rows.iter().filter(chosen).copied().collect();
    let new = match all.as_slice() {
        [] => None,
        [one] => Some(*one),
        [one, ..] => {
            let what = format!("two offers of {} would be in the build", quoted(&one.name));
            return Err(Diagnostic::error(what)
                .help("give one of them another name: parts of one name are offers of one part"));
        }
    };
    let Some(main) = main else {
        return Ok(Vec::new());
    };
    match new {
        None if main.role == Role::Build => Ok(vec![(main, vec![text("role", "option")])]),
        None => Ok(Vec::new()),
        Some(new) if std::ptr::eq(new, main) && main.role == Role::Build => {
            Ok(vec![(main, Cells::new())])
        }
        Some(new) if std::ptr::eq(new, main) => Ok(vec![(main, vec![text("role", "build")])]),
        Some(new) if main.is_paid() => {
            let seller = new.seller.as_deref().unwrap_or_default();
            let what = format!(
                "{} from {} cannot take the place of the one that is `{}`: its money is spent",
                quoted(&new.name),
                quoted(seller),
                main.standing.name()
            );
            Err(Diagnostic::error(what).at(main.at.line()).help(
                "give the new one another name and the role `option`, then both can be in the book",
            ))
        }
        Some(new) => Ok(exchanged(rows, main, new)),
    }
}

/// What rows of one name must say once another of them is the part's own.
fn exchanged<'b>(rows: &[&'b Part], main: &'b Part, new: &'b Part) -> Vec<(&'b Part, Cells)> {
    let written = |row: &&'b Part| {
        let is_new = std::ptr::eq(*row, new);
        let is_old = std::ptr::eq(*row, main);
        let mut cells = Cells::new();
        if is_new {
            cells.push(text("role", "build"));
        } else if is_old {
            cells.push(text("role", "rival"));
        }
        for column in INHERITED {
            let (own, said) = (row.at.cell(column).text(), said(row, main, column));
            let wanted = if is_new {
                said
            } else if !own.is_empty() || said == self::said(new, main, column) {
                own
            } else if said.is_empty() {
                NOTHING
            } else {
                said
            };
            if own != wanted {
                cells.push(text(column, wanted));
            }
        }
        cells.extend(price(row, main));
        (*row, cells)
    };
    rows.iter().map(written).collect()
}

/// What a row says in a column, itself or by the part's own row.
fn said<'b>(row: &'b Part, main: &'b Part, column: &'static str) -> &'b str {
    let own = row.at.cell(column).text();
    match row.role {
        Role::Rival if own.is_empty() => main.at.cell(column).text(),
        Role::Rival if own == NOTHING => "",
        _ => own,
    }
}

/// The price of a row that had the part's own one, with its currency.
fn price(row: &Part, main: &Part) -> Cells {
    let own = row.at.cell("price");
    let taken = main.at.cell("price").text();
    if row.role != Role::Rival || !own.is_empty() || taken.is_empty() {
        return Cells::new();
    }
    let mut cells = vec![text("price", taken)];
    let money = row.currency.filter(|_| row.at.cell("currency").is_empty());
    cells.extend(money.map(|money| text("currency", money.code())));
    cells
}
