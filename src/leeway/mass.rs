//! How far the mass of the build can move: claims against what scales usually say.

use crate::book::{About, Book, Figure, MassKind, Part};
use crate::estimate::{Shape, Sum, ThreePoint};
use crate::landed::Desk;
use crate::units::number::Style;
use crate::units::{Dec, Grams, Overflow};

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
    let certain = book.unknowns.as_ref().is_some_and(Vec::is_empty);
    let mut terms = Vec::new();
    let mut stated = Grams::ZERO;
    for part in book.build() {
        let on_the_bike = part.places.iter().any(|place| desk.place(place).is_some_and(|p| !p.is_workshop()));
        let Some(mass) = part.total_mass().filter(|_| on_the_bike) else { continue };
        stated = stated.plus(mass)?;
        let figures = if certain { None } else { figures(book, part, desk) };
        let at = |figure: Figure| -> Result<Dec, Overflow> {
            if figure.relative {
                figure.value.over(Dec::HUNDRED)?.plus(Dec::ONE)?.times(mass.0)
            } else {
                figure.value.times(Dec::from(part.quantity))
            }
        };
        let points = match figures {
            Some([low, likely, high]) => ThreePoint::new(at(low)?, at(likely)?, at(high)?, Shape::Triangular),
            None => ThreePoint::new(mass.0, mass.0, mass.0, Shape::Triangular),
        };
        terms.extend(points);
    }
    if terms.is_empty() {
        return Ok(None);
    }
    let sum = Sum::of_points(&terms);
    let within = desk.ask.max_mass.map(|limit| sum.chance_below(limit.0));
    let at = |percent: u32| Grams(sum.point(percent));
    Ok(Some(MassRange { stated, low: at(5), middle: at(50), high: at(95), within }))
}

/// The book's own row for a part, for all parts, or the usual range of masses known as this one is.
fn figures(book: &Book, part: &Part, desk: &Desk<'_>) -> Option<[Figure; 3]> {
    let own = |name: &str| book.unknowns.iter().flatten().find(|row| row.about == About::Mass && row.name == name);
    if let Some(row) = own(&part.name).or_else(|| own("")) {
        return row.range;
    }
    let kind = match part.mass_kind {
        MassKind::Weighed => "mass:weighed",
        MassKind::Claimed => "mass:claimed",
        MassKind::Guess => "mass:guess",
    };
    let row = desk.tables.spreads.iter().find(|row| row.rule.what == kind && row.stamp.in_force(desk.ask.date))?;
    let [low, likely, high] = row.rule.range.as_ref()?;
    let read = |text: &String| Figure::parse(text, Style::Point).ok();
    Some([read(low)?, read(likely)?, read(high)?])
}
