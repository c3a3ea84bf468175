//! How sure the mass of parts is: what a scale will probably say, and how far from it, by how each mass is known.
//!
//! The book's own rows of `unknowns.csv` go before the usual ranges; a table of unknowns without rows says that nothing is
//! unknown. Claims run light: their range, a row of `spreads.csv`, leans to the heavy side, and so the expected mass of claimed
//! parts is more than they claim. The figures are exact; chances are drawn from them above.

use crate::book::{About, Book, Figure, MassKind, Part};
use crate::landed::Jurisdiction;
use crate::units::number::Style;
use crate::units::{Dec, Grams, Overflow};

/// The least, the likely and the most that a scale may say of a row, in grams.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct MassSpread {
    /// The three.
    pub(crate) grams: [Dec; 3],
    /// Whether they are a beta-PERT estimate; else a triangle.
    pub(crate) pert: bool,
}

/// What a scale will probably say of some parts together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Doubt {
    /// The expected mass.
    pub(crate) expected: Grams,
    /// The square of its standard deviation, in square grams.
    pub(crate) variance: Dec,
}

impl Doubt {
    /// Of parts of a book by themselves; a part without a mass is left out. None where the tables have no range for how one is
    /// known.
    pub(crate) fn of(
        rows: &[&Part],
        book: &Book,
        jurisdiction: &Jurisdiction<'_>,
    ) -> Result<Option<Doubt>, Overflow> {
        let mut sum = Doubt::default();
        for row in rows {
            let Some(mass) = row.total_mass() else {
                continue;
            };
            let Some(spread) = spread(row, mass, book, jurisdiction)? else {
                return Ok(None);
            };
            let (mean, variance) = spread.moments()?;
            sum.expected = sum.expected.plus(Grams(mean))?;
            sum.variance = sum.variance.plus(variance)?;
        }
        Ok(Some(sum))
    }

    /// Of a mass that lies between two ends, with the likely one between them.
    pub(crate) fn between(grams: [Dec; 3]) -> Result<Doubt, Overflow> {
        let (mean, variance) = MassSpread { grams, pert: false }.moments()?;
        Ok(Doubt {
            expected: Grams(mean),
            variance,
        })
    }

    /// Both together, where they share nothing.
    pub(crate) fn plus(self, other: Doubt) -> Result<Doubt, Overflow> {
        Ok(Doubt {
            expected: self.expected.plus(other.expected)?,
            variance: self.variance.plus(other.variance)?,
        })
    }

    /// The difference of two sets of parts that share none.
    pub(crate) fn less(self, other: Doubt) -> Result<Doubt, Overflow> {
        Ok(Doubt {
            expected: self.expected.minus(other.expected)?,
            variance: self.variance.plus(other.variance)?,
        })
    }
}

impl MassSpread {
    /// The mean and the variance. Of a triangle (a + m + b) / 3 and (a² + m² + b² - am - ab - mb) / 18; of a beta-PERT estimate
    /// (a + 4m + b) / 6 = µ and (µ - a)(b - µ) / 7.
    fn moments(&self) -> Result<(Dec, Dec), Overflow> {
        let [low, likely, high] = self.grams;
        // From differences, so that large masses lose no digits.
        let (up, down) = (high.minus(likely)?, likely.minus(low)?);
        let lean = up.minus(down)?;
        if self.pert {
            let mean = likely.plus(lean.over(Dec::from(6_u32))?)?;
            return Ok((
                mean,
                mean.minus(low)?
                    .times(high.minus(mean)?)?
                    .over(Dec::from(7_u32))?,
            ));
        }
        let variance = up
            .times(up)?
            .plus(down.times(down)?)?
            .plus(up.times(down)?)?
            .over(Dec::from(18_u32))?;
        Ok((likely.plus(lean.over(Dec::from(3_u32))?)?, variance))
    }
}

/// What a scale may say of a row: as the book's own row has it, or by how its mass is known. None where the tables have no range.
pub(crate) fn spread(
    row: &Part,
    mass: Grams,
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<MassSpread>, Overflow> {
    if book.unknowns.as_ref().is_some_and(Vec::is_empty) {
        return Ok(Some(MassSpread {
            grams: [mass.0; 3],
            pert: false,
        }));
    }
    let own = |name: &str| {
        book.unknowns
            .iter()
            .flatten()
            .find(|own| own.about == About::Mass && own.name == name)
    };
    if let Some((told, figures)) = own(&row.name)
        .or_else(|| own(""))
        .and_then(|told| Some((told, told.range?)))
    {
        let mut grams = figures.map(|figure| figure.value);
        for (own, figure) in grams.iter_mut().zip(figures) {
            *own = if figure.relative {
                mass.0.plus(share(figure.value, mass)?)?
            } else {
                figure.value.times(Dec::from(row.quantity))?
            };
        }
        return Ok(Some(MassSpread {
            grams,
            pert: told.pert,
        }));
    }
    Ok(usual(row, mass, jurisdiction)?.map(|grams| MassSpread { grams, pert: false }))
}

fn share(percent: Dec, mass: Grams) -> Result<Dec, Overflow> {
    percent.times(mass.0)?.over(Dec::HUNDRED)
}

/// The usual range of masses known as this one is.
fn usual(
    row: &Part,
    mass: Grams,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<[Dec; 3]>, Overflow> {
    let what = match row.mass_kind {
        MassKind::Weighed => "mass:weighed",
        MassKind::Claimed => "mass:claimed",
        MassKind::Guess => "mass:guess",
    };
    let Some(texts) = jurisdiction
        .spread(what)
        .and_then(|spread| spread.rule.range.as_ref())
    else {
        return Ok(None);
    };
    let mut moves = [Dec::ZERO; 3];
    for (own, text) in moves.iter_mut().zip(texts) {
        let Ok(figure) = Figure::parse(text, Style::Point) else {
            return Ok(None);
        };
        *own = if figure.relative {
            share(figure.value, mass)?
        } else {
            figure.value.times(Dec::from(row.quantity))?
        };
    }
    let [low, likely, high] = moves;
    let [low, high] = match row.mass_kind {
        // common practice, no source: a kitchen scale is out by a gram or by its percentage, whichever is more
        MassKind::Weighed => [
            low.min(Dec::from(row.quantity).negated()),
            high.max(Dec::from(row.quantity)),
        ],
        MassKind::Claimed => [low, high],
        MassKind::Guess => narrowed(row, mass, [low, high], jurisdiction)?,
    };
    Ok(Some([
        mass.0.plus(low)?,
        mass.0.plus(likely)?,
        mass.0.plus(high)?,
    ]))
}

/// A guess is no wider than what usually is at its place, where that range holds the guess.
fn narrowed(
    row: &Part,
    mass: Grams,
    [low, high]: [Dec; 2],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<[Dec; 2], Overflow> {
    let mut usual: Option<(Grams, Grams)> = None;
    for place in &row.places {
        let Some((least, most)) = jurisdiction.place(place).and_then(|place| place.usual) else {
            return Ok([low, high]);
        };
        let (a, b) = usual.unwrap_or_default();
        usual = Some((a.plus(least)?, b.plus(most)?));
    }
    match usual.filter(|(least, most)| *least <= mass && mass <= *most) {
        Some((least, most)) => Ok([low.max(least.minus(mass)?.0), high.min(most.minus(mass)?.0)]),
        None => Ok([low, high]),
    }
}

/// The part of a mass that was weighed.
pub(crate) fn weighed(rows: &[&Part]) -> Result<Grams, Overflow> {
    Grams::total(
        rows.iter()
            .filter(|row| row.mass_kind == MassKind::Weighed)
            .filter_map(|row| row.total_mass()),
    )
}
