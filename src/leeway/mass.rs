//! How far the mass of the build can move: what the scale said of it, else claims against what scales usually say.

use crate::book::Book;
use crate::estimate::{Distribution, Shape, ThreePoint};
use crate::landed::{Cautions, Jurisdiction, carried, counts};
use crate::units::{Basis, Dec, Grams, Overflow};
use crate::value::doubt::{MassSpread, spread};
use crate::value::scale::{OnScale, weighed};

/// The mass of the build as the scale said, else as added up, and what a scale will probably say, in grams.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MassRange {
    /// As the scale said of the whole bike, else as added up.
    pub stated: Grams,
    /// As added up.
    pub parts: Grams,
    /// A scale says less than this one time in twenty.
    pub low: Grams,
    /// As likely less as more.
    pub middle: Grams,
    /// A scale says more than this one time in twenty.
    pub high: Grams,
    /// The chance out of a hundred of staying inside the mass limit.
    pub within: Option<Dec>,
    /// The basis that all of these are told on.
    pub(crate) basis: Basis,
}

/// The range of the build's mass; none when no mass is known. Where the whole bike was weighed it is that figure, and its range is
/// that of what the tables added to it or took off.
pub fn mass_range(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<MassRange>, Overflow> {
    let scale = weighed(book, jurisdiction, &mut Cautions::default())?;
    scale.map_or_else(
        || of_parts(book, jurisdiction),
        |scale| Ok(Some(of_scale(&scale, jurisdiction))),
    )
}

fn of_scale(scale: &OnScale, jurisdiction: &Jurisdiction<'_>) -> MassRange {
    let span = scale.mass.mass;
    let terms: Vec<ThreePoint> =
        ThreePoint::new(span.low.0, span.likely.0, span.high.0, Shape::Triangular)
            .into_iter()
            .collect();
    ranged(
        (span.likely, scale.sum),
        &terms,
        span.is_exact(),
        jurisdiction,
    )
}

/// The range of a sum that is stated, out of its terms; `still` where none of them can move.
fn ranged(
    (stated, parts): (Grams, Grams),
    terms: &[ThreePoint],
    still: bool,
    jurisdiction: &Jurisdiction<'_>,
) -> MassRange {
    let (limit, basis) = (jurisdiction.ask.max_mass, jurisdiction.ask.basis);
    if still {
        let within = limit.map(|limit| {
            if stated <= limit {
                Dec::HUNDRED
            } else {
                Dec::ZERO
            }
        });
        return MassRange {
            stated,
            parts,
            low: stated,
            middle: stated,
            high: stated,
            within,
            basis,
        };
    }
    let sum = Distribution::of_points(terms);
    let at = |percent: u32| Grams(sum.point(percent));
    let within = limit.map(|limit| sum.chance_below(limit.0));
    MassRange {
        stated,
        parts,
        low: at(5),
        middle: at(50),
        high: at(95),
        within,
        basis,
    }
}

fn of_parts(book: &Book, jurisdiction: &Jurisdiction<'_>) -> Result<Option<MassRange>, Overflow> {
    let mut terms = Vec::new();
    let mut stated = Grams::ZERO;
    for part in book.build().filter(|part| counts(part, jurisdiction)) {
        let Some(mass) = part.total_mass() else {
            continue;
        };
        stated = stated.plus(mass)?;
        let constant = MassSpread {
            grams: [mass.0; 3],
            pert: false,
        };
        let told = spread(part, mass, book, jurisdiction)?.unwrap_or(constant);
        let shape = if told.pert {
            Shape::Pert
        } else {
            Shape::Triangular
        };
        let [low, likely, high] = told.grams;
        terms.extend(ThreePoint::new(low, likely, high, shape));
    }
    if terms.is_empty() {
        return Ok(None);
    }
    if let Some([low, likely, high]) = carried(jurisdiction.ask.basis, jurisdiction)? {
        stated = stated.plus(likely)?;
        terms.extend(ThreePoint::new(low.0, likely.0, high.0, Shape::Triangular));
    }
    let still = terms.iter().all(ThreePoint::is_constant);
    Ok(Some(ranged((stated, stated), &terms, still, jurisdiction)))
}
