//! `weighings.csv`: what the scale said, of parts and of the whole bike.

use super::read::{grams, sheet};
use super::{Book, BookFile};
use crate::text::words::{self, one_of};
use crate::text::{Columns, Problems, Spot};
use crate::units::{BASES, Basis, Date, Dec, Grams};

/// One reading of a scale.
#[derive(Debug, Clone)]
pub struct Weighing {
    /// The part; none for the whole bike.
    pub part: Option<String>,
    /// What the scale said; of a part that is bought by twos, the mass of one.
    pub mass: Grams,
    /// The scale's tolerance either way, when told.
    pub scale: Option<Grams>,
    /// How the bike was weighed.
    pub basis: Option<Basis>,
    /// When.
    pub date: Option<Date>,
    /// Where it stands.
    pub at: Spot,
}

pub(super) const COLUMNS: Columns = Columns { needed: &["what", "mass_g"], optional: &["scale_g", "basis", "date"], shared: &[] };

/// Reads `weighings.csv`.
pub(super) fn read(file: &BookFile, book: &Book, problems: &mut Problems) -> Vec<Weighing> {
    let spots: Vec<Spot> = Spot::rows(&sheet(file, &COLUMNS, problems)).collect();
    spots.iter().filter_map(|at| one(at, book, problems)).collect()
}

fn one(at: &Spot, book: &Book, problems: &mut Problems) -> Option<Weighing> {
    let what = at.cell("what");
    let whole = what.text() == "bike";
    if !whole && book.main_row(what.text()).is_none() {
        let unknown = what.error("expected a part of `parts.csv`, or `bike`");
        problems.push(match words::nearest(what.text(), book.parts.iter().map(|p| p.name.as_str())) {
            Some(near) => unknown.help(format!("did you mean `{near}`?")),
            None => unknown,
        });
        return None;
    }
    let cell = at.cell("mass_g");
    if cell.is_empty() {
        problems.push(cell.error("expected what the scale said, in grams"));
        return None;
    }
    let mass = grams(&cell, problems)?;
    Some(Weighing {
        part: (!whole).then(|| what.text().to_owned()),
        mass,
        scale: grams(&at.cell("scale_g"), problems),
        basis: at.cell("basis").optional(problems, |t| one_of(&BASES, t)),
        date: at.cell("date").optional(problems, Date::parse),
        at: at.clone(),
    })
}

/// Brings the masses of weighed parts to what the scale said, the mean where it was asked more than once, and returns
/// what was claimed before.
pub(super) fn apply(book: &mut Book) -> Vec<super::Claim> {
    let mut names: Vec<&str> = book.weighings.iter().filter_map(|w| w.part.as_deref()).collect();
    names.sort_unstable();
    names.dedup();
    let mut claims = Vec::new();
    for name in names {
        let read: Vec<Grams> = book.weighings.iter().filter(|w| w.part.as_deref() == Some(name)).map(|w| w.mass).collect();
        let count = u32::try_from(read.len()).unwrap_or(1);
        let Ok(mean) = Grams::total(read).and_then(|sum| sum.0.over(Dec::from(count))) else { continue };
        let mean = Grams(mean.round_to(1, crate::units::Mode::HalfUp));
        for part in book.parts.iter_mut().filter(|part| part.name == name) {
            if part.role != super::Role::Rival {
                claims.push(super::Claim { part: part.name.clone(), mass: part.mass, kind: part.mass_kind });
            }
            part.mass = Some(mean);
            part.mass_kind = super::MassKind::Weighed;
        }
    }
    claims
}
