//! A reading of a scale, as a row of `weighings.csv`.

use super::find::rows_of;
use super::{Cells, Edits, number, text};
use crate::book::edit::{Edit, Find};
use crate::book::{Book, Part, Weighing};
use crate::landed::{Cautions, Jurisdiction, cost_at};
use crate::text::words::quoted;
use crate::text::{Diagnostic, Problems};
use crate::units::{Basis, Date, Grams, Overflow, number as digits};
use crate::value::scale;

/// What lay on the scale, and what it said.
pub(crate) struct OnScale<'a> {
    /// The part, or `bike`.
    pub(crate) part: &'a str,
    /// The weight as typed.
    pub(crate) grams: &'a str,
    /// Which piece of the part lay there alone.
    pub(crate) piece: Option<&'a str>,
    /// Whether two of what `quantity` counts lay there together.
    pub(crate) pair: bool,
    /// The day.
    pub(crate) date: Date,
}

/// The row that a reading becomes. A reading of the whole bike is on the basis that the book is asked on.
pub(crate) fn weigh(book: &Book, said: &OnScale<'_>, basis: Basis) -> Result<Edits, Diagnostic> {
    let mass = grams(said.grams)?;
    let mut cells: Cells = vec![text("what", said.part), number("mass_g", mass)];
    if said.part == "bike" {
        if said.pair || said.piece.is_some() {
            let what = "the whole bike is weighed at once: leave `--piece` and `--pair` out";
            return Err(Diagnostic::error(what));
        }
        cells.push(text("basis", basis.name()));
    } else {
        cells.extend(pieces(book, said, mass)?);
    }
    cells.push(text("date", said.date.to_string()));
    let edit = match same(book, said) {
        Some(row) => Edit::Set(Find::Line(row.at.row().line()), cells),
        None => Edit::Add(cells),
    };
    Ok(vec![("weighings", edit)])
}

/// The reading of the same thing on the same day, whose place a new one takes: the scale was read again, or a slip is mended.
fn same<'b>(book: &'b Book, said: &OnScale<'_>) -> Option<&'b Weighing> {
    let several = book
        .main_row(said.part)
        .is_some_and(|part| part.quantity > 1);
    let pieces = (said.pair && several).then_some(2);
    book.weighings.iter().find(|row| {
        let part = row.part.as_deref().unwrap_or("bike");
        let piece = (!row.piece.is_empty()).then_some(row.piece.as_str());
        (part, row.date, piece, row.pieces) == (said.part, Some(said.date), said.piece, pieces)
    })
}

/// The weight that was typed, with or without its unit.
fn grams(typed: &str) -> Result<Grams, Diagnostic> {
    let bare = typed.trim();
    let bare = bare.strip_suffix('g').map_or(bare, str::trim_end);
    let read = digits::plain(bare).map_err(|_| {
        Diagnostic::error(format!("{} is not a weight", quoted(typed)))
            .help("enter what the scale said in grams, as in `244` or `37.5`")
    })?;
    if !read.is_positive() {
        let what = format!("a part cannot weigh {read} g");
        return Err(Diagnostic::error(what).help("enter what the scale said, more than 0"));
    }
    if read.decimals() > 1 {
        let what = format!("{read} g has more decimals than a scale shows");
        return Err(Diagnostic::error(what)
            .help("enter grams: for 1.512 kg write `1512`, and at most one decimal"));
    }
    Ok(Grams(read))
}

/// How many of a part's pieces lay on the scale, or which one.
fn pieces(book: &Book, said: &OnScale<'_>, mass: Grams) -> Result<Cells, Diagnostic> {
    let rows = rows_of(book, said.part)?;
    let part = book.main_row(said.part).or(rows.first().copied());
    let Some(part) = part else {
        return Ok(Cells::new());
    };
    match said.piece {
        Some(piece) => Ok(vec![text("piece", piece)]),
        // a pair that is sold as one weighs what both do
        None if said.pair && part.quantity == 1 => Ok(Cells::new()),
        None if said.pair => Ok(vec![number("pieces", 2)]),
        None => is_one(book, part, mass).map(|()| Cells::new()),
    }
}

/// Refuses a reading that is nearer to what all pieces of a part are said to weigh than to what one is.
fn is_one(book: &Book, part: &Part, mass: Grams) -> Result<(), Diagnostic> {
    let claimed = claim_of(book, part);
    let both = |claimed: Grams| -> Result<bool, Overflow> {
        Ok(mass.times(2)? > claimed.times(part.quantity.saturating_add(1))?)
    };
    let Some(claimed) =
        claimed.filter(|claimed| part.quantity > 1 && both(*claimed).unwrap_or(false))
    else {
        return Ok(());
    };
    let what = format!(
        "{} are in the book, of {claimed} g each: did several lie on the scale?",
        format_args!("{} of {}", part.quantity, quoted(&part.name)),
    );
    Err(Diagnostic::error(what).help(
        "add `--pair` if two lay there together, or `--piece front` if it was one of them alone",
    ))
}

/// What was said of one of a part before it was weighed.
fn claim_of(book: &Book, part: &Part) -> Option<Grams> {
    let claim = book.claims.iter().find(|claim| claim.part == part.name);
    claim.map_or(part.mass, |claim| claim.mass)
}

/// What the bike weighs, as `cost` says it: as the scale told, else as its parts add up.
pub(super) fn bike_mass(book: &Book, jurisdiction: &Jurisdiction<'_>) -> Result<Grams, Problems> {
    let parts = cost_at(book, jurisdiction)?.totals.mass;
    let scale = scale::weighed(book, jurisdiction, &mut Cautions::default())?;
    Ok(scale.map_or(parts, |scale| scale.likely()))
}
