//! How far the mass of the build can move: claims against what scales usually say.

use crate::book::Book;
use crate::estimate::{Shape, Sum, ThreePoint};
use crate::landed::Desk;
use crate::units::{Dec, Grams, Overflow};
use crate::value::doubt::{MassSpread, spread};

/// The mass of the build as added up, and what a scale will probably say, in grams.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MassRange {
    /// As added up.
    pub stated: Grams,
    /// A scale says less than this one time in twenty.
    pub low: Grams,
    /// As likely less as more.
    pub middle: Grams,
    /// A scale says more than this one time in twenty.
    pub high: Grams,
    /// The chance in the hundred of staying inside the mass limit.
    pub within: Option<Dec>,
}

/// The range of the build's mass; none when no mass is known.
pub fn mass_range(book: &Book, desk: &Desk<'_>) -> Result<Option<MassRange>, Overflow> {
    let mut terms = Vec::new();
    let mut stated = Grams::ZERO;
    for part in book.build() {
        let on_the_bike = part.places.iter().any(|place| desk.place(place).is_some_and(|p| !p.is_workshop()));
        let Some(mass) = part.total_mass().filter(|_| on_the_bike) else { continue };
        stated = stated.plus(mass)?;
        let constant = MassSpread { grams: [mass.0; 3], pert: false };
        let told = spread(part, mass, book, desk)?.unwrap_or(constant);
        let shape = if told.pert { Shape::Pert } else { Shape::Triangular };
        let [low, likely, high] = told.grams;
        terms.extend(ThreePoint::new(low, likely, high, shape));
    }
    if terms.is_empty() {
        return Ok(None);
    }
    let sum = Sum::of_points(&terms);
    let within = desk.ask.max_mass.map(|limit| sum.chance_below(limit.0));
    let still = terms.iter().all(ThreePoint::is_constant);
    let at = |percent: u32| if still { stated } else { Grams(sum.point(percent)) };
    Ok(Some(MassRange { stated, low: at(5), middle: at(50), high: at(95), within }))
}
