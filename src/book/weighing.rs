//! `weighings.csv`: what the scale said, of parts and of the whole bike.

use super::read::{grams, sheet, whole};
use super::{Book, BookFile, Part};
use crate::text::words::{self, one_of};
use crate::text::{Columns, Diagnostic, Problems, Spot};
use crate::units::{BASES, Basis, Date, Dec, Grams, Overflow};

/// One reading of a scale.
#[derive(Debug, Clone)]
pub(crate) struct Weighing {
    /// The part; none for the whole bike.
    pub(crate) part: Option<String>,
    /// What the scale said; of a part that is bought by twos, the mass of one unless `pieces` tells otherwise.
    pub(crate) mass: Grams,
    /// The scale's tolerance either way, when told.
    pub(crate) scale: Option<Grams>,
    /// How the bike was weighed.
    pub(crate) basis: Option<Basis>,
    /// When.
    pub(crate) date: Option<Date>,
    /// How many of what the part's `quantity` counts lay on the scale; none when not told.
    pub(crate) pieces: Option<u32>,
    /// Which piece of the part lay on it, such as `front`; empty for any of them, or for the whole.
    pub(crate) piece: String,
    /// Where it stands.
    pub(crate) at: Spot,
}

pub(super) const COLUMNS: Columns = Columns {
    needed: &["what", "mass_g"],
    optional: &["scale_g", "basis", "date", "pieces", "piece"],
    shared: &[],
};

/// Reads `weighings.csv`.
pub(super) fn read(file: &BookFile, book: &Book, problems: &mut Problems) -> Vec<Weighing> {
    let spots: Vec<Spot> = Spot::rows(&sheet(file, &COLUMNS, problems)).collect();
    spots
        .iter()
        .filter_map(|at| one(at, book, problems))
        .collect()
}

fn one(at: &Spot, book: &Book, problems: &mut Problems) -> Option<Weighing> {
    let what = at.cell("what");
    let bike = what.text() == "bike";
    if !bike && book.main_row(what.text()).is_none() {
        if book.lost_rows {
            return None;
        }
        let unknown = what.error("expected a part of `parts.csv`, or `bike`");
        problems.push(
            match words::nearest(what.text(), book.parts.iter().map(|p| p.name.as_str())) {
                Some(near) => unknown.help(format!("did you mean `{near}`?")),
                None => unknown,
            },
        );
        return None;
    }
    let cell = at.cell("mass_g");
    if cell.is_empty() {
        problems.push(cell.error("expected what the scale said, in grams"));
        return None;
    }
    let mass = if bike {
        super::bike::mass(&cell, problems)?
    } else {
        grams(&cell, problems)?
    };
    Some(Weighing {
        part: (!bike).then(|| what.text().to_owned()),
        mass,
        scale: grams(&at.cell("scale_g"), problems),
        basis: at.cell("basis").optional(problems, |t| one_of(&BASES, t)),
        date: at.cell("date").optional(problems, Date::parse),
        pieces: at.cell("pieces").optional(problems, |t| whole(t, 1, 1000)),
        piece: at.cell("piece").text().to_lowercase(),
        at: at.clone(),
    })
}

/// Brings the masses of weighed parts to what the scale said, and returns what was claimed before.
pub(super) fn apply(book: &mut Book, problems: &mut Problems) -> Vec<super::Claim> {
    let mut names: Vec<String> = book
        .weighings
        .iter()
        .filter_map(|w| w.part.clone())
        .collect();
    names.sort_unstable();
    names.dedup();
    let mut claims = Vec::new();
    for name in names {
        let Some(main) = book.main_row(&name) else {
            continue;
        };
        let claim = super::Claim {
            part: main.name.clone(),
            mass: main.mass,
            kind: main.mass_kind,
        };
        let mass = match of_one(main, &book.weighings, problems) {
            Ok(Some(mass)) => mass,
            Ok(None) => continue,
            Err(overflow) => {
                problems.push(overflow.into());
                continue;
            }
        };
        claims.push(claim);
        for part in book.parts.iter_mut().filter(|part| part.name == name) {
            part.mass = Some(mass);
            part.mass_kind = super::MassKind::Weighed;
        }
    }
    claims
}

/// The readings of a part, the earliest first, each with whether it counts: those of the last day, or the last of each piece
/// that is named.
pub(crate) fn readings<'a>(part: &str, all: &'a [Weighing]) -> Vec<(&'a Weighing, bool)> {
    let mut own: Vec<&Weighing> = all
        .iter()
        .filter(|w| w.part.as_deref() == Some(part))
        .collect();
    own.sort_by_key(|w| w.date);
    let last = |of: &dyn Fn(&Weighing) -> bool| own.iter().filter(|w| of(w)).map(|w| w.date).max();
    let named = |w: &Weighing| !w.piece.is_empty();
    // Pieces by name count unless the part was weighed again after them without any name.
    let by_name = own.iter().any(|w| named(w)) && last(&named) >= last(&|w: &Weighing| !named(w));
    let counts = |w: &Weighing| {
        named(w) == by_name
            && last(&|other: &Weighing| named(other) == by_name && other.piece == w.piece)
                == Some(w.date)
    };
    own.iter().map(|w| (*w, counts(w))).collect()
}

/// What the readings that count say of one of what `quantity` counts; none where they say nothing of it yet, or nothing that
/// has one meaning, which is said.
fn of_one(
    part: &Part,
    all: &[Weighing],
    problems: &mut Problems,
) -> Result<Option<Grams>, Overflow> {
    let all = readings(&part.name, all);
    let counting: Vec<&Weighing> = all
        .iter()
        .filter(|(_, counts)| *counts)
        .map(|(w, _)| *w)
        .collect();
    let Some(first) = counting.first() else {
        return Ok(None);
    };
    let sum = || Grams::total(counting.iter().map(|w| w.mass));
    let each = |sum: Grams, pieces: u32| {
        Ok(Some(Grams(
            sum.0
                .over(Dec::from(pieces))?
                .round_to(1, crate::units::Mode::HalfUp),
        )))
    };
    let quantity = part.quantity;
    let met = u32::try_from(counting.len()).unwrap_or(u32::MAX);
    if !first.piece.is_empty() {
        return match by_name(part, &counting, problems) {
            false => Ok(None),
            // The pieces of one thing, such as a pair of wheels, add up to it.
            true if quantity == 1 => sum().map(Some),
            true => match before(&all).filter(|_| met < quantity) {
                // One piece was weighed again: the others are as they were.
                Some(one) => each(
                    sum()?.plus(one.times(quantity.saturating_sub(met))?)?,
                    quantity,
                ),
                None => each(sum()?, met),
            },
        };
    }
    if let [one] = counting.as_slice() {
        return if alone(part, one, all.len(), problems) {
            each(one.mass, one.pieces.unwrap_or(1))
        } else {
            Ok(None)
        };
    }
    let alike = counting
        .iter()
        .all(|w| w.mass == first.mass && w.pieces == first.pieces);
    if alike {
        return each(first.mass, first.pieces.unwrap_or(1));
    }
    let pieces: u32 = counting
        .iter()
        .map(|w| w.pieces.unwrap_or(1))
        .fold(0, u32::saturating_add);
    if quantity > 1 && pieces == quantity {
        return each(sum()?, quantity);
    }
    match counting.last() {
        Some(last) if is_whole(part, last.mass, sum()?) => {
            problems.push(which(part, &counting, "the last row counts").as_warning());
            each(last.mass, last.pieces.unwrap_or(1))
        }
        _ => {
            problems.push(which(part, &counting, UNCLEAR));
            Ok(None)
        }
    }
}

/// What one piece weighed when no piece had a name yet.
fn before(all: &[(&Weighing, bool)]) -> Option<Grams> {
    let unnamed = all
        .iter()
        .rev()
        .map(|(reading, _)| *reading)
        .find(|reading| reading.piece.is_empty())?;
    unnamed
        .mass
        .0
        .over(Dec::from(unnamed.pieces.unwrap_or(1)))
        .ok()
        .map(Grams)
}

/// Whether the last of several readings of one thing is nearer to what the thing is said to weigh than their sum is: then it was
/// weighed more than once, and not piece by piece.
fn is_whole(part: &Part, last: Grams, sum: Grams) -> bool {
    let Some(claimed) = part.mass else {
        return false;
    };
    let away = |mass: Grams| Some(mass.minus(claimed).ok()?.0.abs());
    part.quantity == 1 && matches!((away(last), away(sum)), (Some(one), Some(all)) if one < all)
}

/// Whether readings of named pieces say what one of the part weighs.
fn by_name(part: &Part, counting: &[&Weighing], problems: &mut Problems) -> bool {
    let mut seen: Vec<&Weighing> = Vec::new();
    for reading in counting {
        if seen
            .iter()
            .any(|other| other.piece == reading.piece && other.mass != reading.mass)
        {
            problems.push(which(part, counting, UNCLEAR));
            return false;
        }
        seen.push(reading);
    }
    let names = u32::try_from(seen.len()).unwrap_or(u32::MAX);
    let Some(last) = counting.last() else {
        return false;
    };
    if part.quantity > 1 && names > part.quantity {
        let what = format!(
            "{} of {} have been weighed, and its `quantity` is {}",
            names,
            words::quoted(&part.name),
            part.quantity
        );
        problems.push(last.at.cell("piece").error(what));
        return false;
    }
    if part.quantity == 1 && names == 1 {
        let what = format!(
            "only this piece of {} was weighed: the reading waits for the others",
            words::quoted(&part.name)
        );
        let help =
            "weigh the other pieces too, or leave `piece` empty when the whole lay on the scale";
        problems.push(last.at.cell("piece").error(what).as_warning().help(help));
        return false;
    }
    true
}

/// Whether the only reading that counts says what one of the part weighs: the reading is of one piece, or of the number of pieces
/// that it tells.
fn alone(part: &Part, one: &Weighing, all: usize, problems: &mut Problems) -> bool {
    let quantity = part.quantity;
    if one.pieces.is_some_and(|pieces| pieces > quantity) {
        let what = format!(
            "expected at most {quantity}, the `quantity` of {}",
            words::quoted(&part.name)
        );
        problems.push(one.at.cell("pieces").error(what));
        return false;
    }
    // Nearer to what all of them are said to weigh than to what one is.
    let together = |claimed: Grams| {
        let twice = |mass: Grams| mass.times(2).unwrap_or(mass);
        quantity > 1
            && one.pieces.is_none()
            && claimed
                .times(quantity + 1)
                .is_ok_and(|between| twice(one.mass) > between)
    };
    if let Some(claimed) = part.mass.filter(|claimed| together(*claimed)) {
        let what = format!(
            "expected the mass of one: {} is said to weigh {claimed} g each, and there are {quantity}; did several lie on the scale?",
            words::quoted(&part.name)
        );
        let help = format!(
            "say in a column `pieces` how many lay on the scale: {quantity} for all, 1 when one weighs so much"
        );
        problems.push(one.at.cell("mass_g").error(what).help(help));
        return false;
    }
    if all > 1 && quantity > 1 && one.pieces != Some(quantity) {
        let what = format!(
            "this last weighing of {} counts for each of the {quantity}, the earlier ones do not",
            words::quoted(&part.name)
        );
        let help = "when the readings are of different pieces, name each in a column `piece`, such as `front` and `rear`";
        problems.push(one.at.cell("mass_g").error(what).as_warning().help(help));
    }
    true
}

const UNCLEAR: &str = "nothing says which counts";

/// Readings of one day that do not say how they belong together, and what follows.
fn which(part: &Part, counting: &[&Weighing], follows: &str) -> Diagnostic {
    let masses: Vec<String> = counting
        .iter()
        .map(|w| format!("{} g ({})", w.mass, w.at.place()))
        .collect();
    let day = counting
        .last()
        .and_then(|w| w.date)
        .map_or("without a `date`".to_owned(), |day| format!("of {day}"));
    let what = format!(
        "several readings of {} {day}, and {follows}: {}",
        words::quoted(&part.name),
        words::list(&masses, "and")
    );
    let problem = match counting.last() {
        Some(last) => last.at.cell("mass_g").error(what),
        None => Diagnostic::error(what),
    };
    problem.help(
        "give the later one a later `date`; when they are of different pieces, name each in a column `piece`, such as `front` and `rear`",
    )
}
