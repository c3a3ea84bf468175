//! How sure the mass of parts is: what a scale will probably say, and how far from it, by how each mass is known.
//!
//! Claims run light: their range, a row of `spreads.csv`, leans to the heavy side, and so the expected mass of claimed parts is
//! more than they claim. The figures are exact; chances are drawn from them above.

use crate::book::{MassKind, Part};
use crate::landed::Desk;
use crate::units::{Dec, Grams, Overflow, number};

/// What a scale will probably say of some parts together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Doubt {
    /// The expected mass.
    pub expected: Grams,
    /// The square of its standard deviation, in square grams.
    pub variance: Dec,
}

impl Doubt {
    /// Of parts by themselves; a part without a mass is left out. None where the tables have no range for how one is known.
    pub fn of(rows: &[&Part], desk: &Desk<'_>) -> Result<Option<Doubt>, Overflow> {
        let mut sum = Doubt::default();
        for row in rows {
            let Some(mass) = row.total_mass() else { continue };
            let Some([low, likely, high]) = range(row, mass, desk)? else { return Ok(None) };
            sum.expected = sum.expected.plus(Grams(low.plus(likely)?.plus(high)?.over(Dec::from(3_u32))?))?;
            sum.variance = sum.variance.plus(triangular(low, likely, high)?)?;
        }
        Ok(Some(sum))
    }

    /// The difference of two sets of parts that share none.
    pub fn less(self, other: Doubt) -> Result<Doubt, Overflow> {
        Ok(Doubt { expected: self.expected.minus(other.expected)?, variance: self.variance.plus(other.variance)? })
    }
}

/// The variance of a triangular range: (a² + m² + b² - am - ab - mb) / 18.
fn triangular(low: Dec, likely: Dec, high: Dec) -> Result<Dec, Overflow> {
    let (up, down) = (high.minus(likely)?, likely.minus(low)?);
    // The same, from the two differences, so that large masses lose no digits.
    up.times(up)?.plus(down.times(down)?)?.plus(up.times(down)?)?.over(Dec::from(18_u32))
}

/// The least, the likely and the most that a scale may say of a row.
fn range(row: &Part, mass: Grams, desk: &Desk<'_>) -> Result<Option<[Dec; 3]>, Overflow> {
    let what = match row.mass_kind {
        MassKind::Weighed => "mass:weighed",
        MassKind::Claimed => "mass:claimed",
        MassKind::Guess => "mass:guess",
    };
    let found = desk.tables.spreads.iter().find(|spread| spread.rule.what == what && spread.stamp.in_force(desk.ask.date));
    let Some(texts) = found.and_then(|spread| spread.rule.range.as_ref()) else { return Ok(None) };
    let mut moves = [Dec::ZERO; 3];
    for (own, text) in moves.iter_mut().zip(texts) {
        let Some(figure) = number::plain(text.trim_end_matches(['%', ' '])).ok() else { return Ok(None) };
        *own = if text.contains('%') { figure.times(mass.0)?.over(Dec::HUNDRED)? } else { figure.times(Dec::from(row.quantity))? };
    }
    let [low, likely, high] = moves;
    let [low, high] = match row.mass_kind {
        // common practice, no source: a kitchen scale is out by a gram or by its percentage, whichever is more
        MassKind::Weighed => [low.min(Dec::from(row.quantity).negated()), high.max(Dec::from(row.quantity))],
        MassKind::Claimed => [low, high],
        MassKind::Guess => narrowed(row, mass, [low, high], desk)?,
    };
    Ok(Some([mass.0.plus(low)?, mass.0.plus(likely)?, mass.0.plus(high)?]))
}

/// A guess is no wider than what usually stands at its place, where that range holds the guess.
fn narrowed(row: &Part, mass: Grams, [low, high]: [Dec; 2], desk: &Desk<'_>) -> Result<[Dec; 2], Overflow> {
    let mut usual: Option<(Grams, Grams)> = None;
    for place in &row.places {
        let Some((least, most)) = desk.place(place).and_then(|place| place.usual) else { return Ok([low, high]) };
        let (a, b) = usual.unwrap_or_default();
        usual = Some((a.plus(least)?, b.plus(most)?));
    }
    match usual.filter(|(least, most)| *least <= mass && mass <= *most) {
        Some((least, most)) => Ok([low.max(least.minus(mass)?.0), high.min(most.minus(mass)?.0)]),
        None => Ok([low, high]),
    }
}

/// The part of a mass that was weighed.
pub fn weighed(rows: &[&Part]) -> Result<Grams, Overflow> {
    Grams::total(rows.iter().filter(|row| row.mass_kind == MassKind::Weighed).filter_map(|row| row.total_mass()))
}
