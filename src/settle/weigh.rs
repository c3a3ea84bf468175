//! Weighings against claims, and the whole bike against the sum of its parts.

use crate::book::{Book, Claim, Figure, MassKind, Part, Weighing, readings};
use crate::estimate::{mean_and_deviation, root};
use crate::landed::{Caution, Cautions, Jurisdiction, carried};
use crate::units::number::Style;
use crate::units::{Basis, Date, Dec, Grams, Mode, Overflow};
use crate::value::scale::basis_of;

/// One part on the scale.
#[derive(Debug, Clone)]
pub(crate) struct Weighed {
    /// The part.
    pub(crate) part: String,
    /// What was said of one before; none when nothing was.
    pub(crate) claimed: Option<(Grams, MassKind)>,
    /// What the scale said of one.
    pub(crate) mass: Grams,
    /// How many there are.
    pub(crate) quantity: u32,
    /// By how many percent it is heavier than claimed.
    pub(crate) percent: Option<Dec>,
    /// Whether that lies outside what claims usually miss by.
    pub(crate) unusual: bool,
    /// Its readings, the earliest first.
    pub readings: Vec<Reading>,
}

/// One reading of a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Reading {
    /// When.
    pub(crate) date: Option<Date>,
    /// What the scale said.
    pub mass: Grams,
    /// How many lay on it, when told.
    pub(crate) pieces: Option<u32>,
    /// Which piece, when named.
    pub(crate) piece: String,
    /// Whether it counts.
    pub counts: bool,
}

/// A part's share of the doubt about the sum.
#[derive(Debug, Clone)]
pub(crate) struct Doubt {
    /// The part.
    pub(crate) part: String,
    /// Its mass in the sum.
    pub(crate) mass: Grams,
    /// The deviation of that, in grams.
    pub(crate) deviation: Dec,
    /// Its share of the whole doubt, out of a hundred.
    pub(crate) share: Dec,
}

/// The bike on the scale against the sum of its parts.
#[derive(Debug, Clone)]
pub(crate) struct Gap {
    /// How it was weighed.
    pub(crate) basis: Basis,
    /// What the scale said.
    pub(crate) scale: Grams,
    /// The sum of the parts that this basis counts.
    pub(crate) sum: Grams,
    /// Scale less sum.
    pub(crate) gap: Dec,
    /// How far claims usually lean: what the gap should be.
    pub(crate) expected: Dec,
    /// Twice the deviation of the gap: beyond that something is missing, or counted twice.
    pub(crate) tolerance: Dec,
    /// Whether the gap lies inside.
    pub(crate) inside: bool,
    /// Parts that were not weighed, by their share of the doubt.
    pub(crate) doubts: Vec<Doubt>,
    /// Parts that this basis counts and whose mass nobody knows.
    pub(crate) unknown: Vec<String>,
}

/// All readings.
#[derive(Debug, Clone, Default)]
pub(crate) struct Scales {
    /// Parts.
    pub parts: Vec<Weighed>,
    /// The whole bike, by its readings, the earliest first.
    pub(crate) bike: Vec<Gap>,
    /// What must be said of the readings of the whole bike.
    pub(crate) cautions: Vec<Caution>,
}

/// Sets the readings of a book's scales against what was said.
pub(crate) fn weigh(book: &Book, jurisdiction: &Jurisdiction<'_>) -> Result<Scales, Overflow> {
    let mut scales = Scales::default();
    for claim in &book.claims {
        let Some(part) = book.main_row(&claim.part) else {
            continue;
        };
        let readings = readings(&part.name, &book.weighings)
            .into_iter()
            .map(|(w, counts)| Reading {
                date: w.date,
                mass: w.mass,
                pieces: w.pieces,
                piece: w.piece.clone(),
                counts,
            });
        scales
            .parts
            .extend(weighed(part, claim, readings.collect(), jurisdiction)?);
    }
    scales.parts.sort_by(|a, b| a.part.cmp(&b.part));
    let mut whole: Vec<&Weighing> = book.weighings.iter().filter(|w| w.part.is_none()).collect();
    whole.sort_by_key(|w| w.date);
    let mut cautions = Cautions::default();
    for reading in whole {
        if let Some(basis) = basis_of(reading, book, &mut cautions) {
            scales.bike.push(gap(book, (reading, basis), jurisdiction)?);
        }
    }
    scales.cautions = cautions.into_list();
    Ok(scales)
}

fn weighed(
    part: &Part,
    claim: &Claim,
    readings: Vec<Reading>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<Weighed>, Overflow> {
    let Some(mass) = part.mass else {
        return Ok(None);
    };
    let known = claim.mass.filter(|m| !m.0.is_zero());
    let percent = match known {
        Some(claimed) => Some(
            mass.minus(claimed)?
                .0
                .times(Dec::HUNDRED)?
                .over(claimed.0)?,
        ),
        None => None,
    };
    let usual = range(claim.kind, jurisdiction);
    let unusual = percent
        .zip(usual)
        .is_some_and(|(percent, (low, _, high))| percent < low || percent > high);
    let claimed = known.map(|claimed| (claimed, claim.kind));
    Ok(Some(Weighed {
        part: part.name.clone(),
        claimed,
        mass,
        quantity: part.quantity,
        percent,
        unusual,
        readings,
    }))
}

/// What masses known in this way usually miss by, out of a hundred.
fn range(kind: MassKind, jurisdiction: &Jurisdiction<'_>) -> Option<(Dec, Dec, Dec)> {
    let name = match kind {
        MassKind::Weighed => "mass:weighed",
        MassKind::Claimed => "mass:claimed",
        MassKind::Guess => "mass:guess",
    };
    let row = jurisdiction.spread(name)?;
    let [low, likely, high] = row.rule.range.as_ref()?;
    let read = |text: &String| {
        Figure::parse(text, Style::Point)
            .ok()
            .filter(|f| f.relative)
            .map(|f| f.value)
    };
    Some((read(low)?, read(likely)?, read(high)?))
}

/// Grams of a hanging scale either way where the reading does not tell: the tables' own range.
fn usual_scale(jurisdiction: &Jurisdiction<'_>) -> Dec {
    let row = jurisdiction.spread("mass:bike");
    let high = row.and_then(|row| Figure::parse(&row.rule.range.as_ref()?[2], Style::Point).ok());
    high.map_or(Dec::ZERO, |figure| figure.value)
}

/// Doubts with their shares of the whole spread, the greatest first.
fn shared_out(mut doubts: Vec<(Doubt, Dec)>, variance: Dec) -> Result<Vec<Doubt>, Overflow> {
    for (doubt, square) in &mut doubts {
        doubt.share = if variance.is_zero() {
            Dec::ZERO
        } else {
            square.times(Dec::HUNDRED)?.over(variance)?
        };
    }
    doubts.sort_by(|(a, x), (b, y)| y.cmp(x).then_with(|| a.part.cmp(&b.part)));
    Ok(doubts.into_iter().map(|(doubt, _)| doubt).collect())
}

fn gap(
    book: &Book,
    (reading, basis): (&Weighing, Basis),
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Gap, Overflow> {
    let counted = |part: &&Part| {
        let mut places = part
            .places
            .iter()
            .filter_map(|name| jurisdiction.place(name));
        places.any(|place| !place.is_workshop() && place.counts_in(basis))
    };
    let (mut sum, mut expected, mut variance) = of_the_rider(basis, jurisdiction)?;
    let (mut doubts, mut unknown) = (Vec::new(), Vec::new());
    for part in book.build().filter(counted) {
        let Some(mass) = part.total_mass() else {
            if part.comes_with.is_none() {
                unknown.push(part.name.clone());
            }
            continue;
        };
        sum = sum.plus(mass)?;
        let (mean, deviation) = doubt_of(book, part, mass, jurisdiction)?;
        expected = expected.plus(mean)?;
        let square = deviation.times(deviation)?;
        variance = variance.plus(square)?;
        if part.mass_kind != MassKind::Weighed {
            doubts.push((
                Doubt {
                    part: part.name.clone(),
                    mass,
                    deviation,
                    share: Dec::ZERO,
                },
                square,
            ));
        }
    }
    let scale = reading.scale.map_or(usual_scale(jurisdiction), |s| s.0);
    let (_, own) = mean_and_deviation(scale.negated(), Dec::ZERO, scale);
    variance = variance.plus(own.times(own)?)?;
    let doubts = shared_out(doubts, variance)?;
    let gap = reading.mass.minus(sum)?.0;
    let tolerance = root(variance, 3)
        .times(Dec::from(2_u32))?
        .round_to(1, Mode::HalfUp);
    let inside = gap.minus(expected)?.abs() <= tolerance && unknown.is_empty();
    unknown.sort();
    Ok(Gap {
        basis,
        scale: reading.mass,
        sum,
        gap,
        expected: expected.round_to(1, Mode::HalfUp),
        tolerance,
        inside,
        doubts,
        unknown,
    })
}

/// What a basis adds beyond any place: its likely mass, how it leans, and the square of how far it may be off.
fn of_the_rider(
    basis: Basis,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<(Grams, Dec, Dec), Overflow> {
    let Some([low, likely, high]) = carried(basis, jurisdiction)? else {
        return Ok((Grams::ZERO, Dec::ZERO, Dec::ZERO));
    };
    let (mean, deviation) =
        mean_and_deviation(low.minus(likely)?.0, Dec::ZERO, high.minus(likely)?.0);
    Ok((likely, mean, deviation.times(deviation)?))
}

/// How a part's mass leans and how far it may be off, in grams; a scale's own tolerance where the reading tells it.
fn doubt_of(
    book: &Book,
    part: &Part,
    mass: Grams,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<(Dec, Dec), Overflow> {
    let told = readings(&part.name, &book.weighings)
        .into_iter()
        .filter(|(_, counts)| *counts)
        .find_map(|(w, _)| w.scale);
    if let Some(scale) = told.filter(|_| part.mass_kind == MassKind::Weighed) {
        let all = scale.times(part.quantity)?.0;
        return Ok(mean_and_deviation(all.negated(), Dec::ZERO, all));
    }
    let Some((low, likely, high)) = range(part.mass_kind, jurisdiction) else {
        return Ok((Dec::ZERO, Dec::ZERO));
    };
    let of = |percent: Dec| mass.0.times(percent)?.over(Dec::HUNDRED);
    Ok(mean_and_deviation(of(low)?, of(likely)?, of(high)?))
}
