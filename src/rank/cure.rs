//! What fills a small place that an option leaves bare and no option of the book fills: such a piece with what it usually costs and
//! weighs. A place is small where the tables say what a piece for it usually costs.

use crate::book::Figure;
use crate::landed::Jurisdiction;
use crate::tables::PlaceRow;
use crate::units::number::Style;
use crate::units::{Dec, Grams, HomeMoney, Overflow, Rounding};
use crate::value::doubt::Doubt;

/// A piece that stands in no book, with its usual figures.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cure {
    /// The place that it fills.
    pub place: String,
    /// What it is.
    pub(crate) text: String,
    /// What it usually costs at home, in the destination's money.
    pub cost: Dec,
    /// The least, the middle and the most of what it usually weighs, as the basis asked for counts it.
    pub(crate) grams: [Dec; 3],
}

impl Cure {
    /// What fills a place; none where the tables do not say what that usually costs and weighs, or have no rate for the money.
    pub(super) fn of(place: &str, jurisdiction: &Jurisdiction<'_>) -> Option<Cure> {
        let row = jurisdiction.place(place)?;
        let cost = usual_cost(place, jurisdiction)?;
        Some(Cure {
            place: row.place.clone(),
            text: if row.text.is_empty() {
                row.place.clone()
            } else {
                row.text.clone()
            },
            cost,
            grams: usual_grams(row, jurisdiction).ok()??,
        })
    }

    /// What it is taken to weigh.
    pub(crate) fn mass(&self) -> Grams {
        Grams(self.grams[1])
    }

    /// What all of some cost.
    pub(super) fn cost(all: &[Cure]) -> Result<Dec, Overflow> {
        Dec::total(all.iter().map(|cure| cure.cost))
    }

    /// What all of some are taken to weigh.
    pub(super) fn grams(all: &[Cure]) -> Result<Grams, Overflow> {
        Grams::total(all.iter().map(Cure::mass))
    }

    /// How sure that is of all of some.
    pub(super) fn doubt(all: &[Cure]) -> Result<Doubt, Overflow> {
        all.iter().try_fold(Doubt::default(), |sum, cure| {
            sum.plus(Doubt::between(cure.grams)?)
        })
    }
}

/// What a piece for a place usually costs at home, in the destination's money.
fn usual_cost(place: &str, jurisdiction: &Jurisdiction<'_>) -> Option<Dec> {
    let row = jurisdiction.spread(&format!("cost:{place}"))?;
    let [_, likely, _] = row.rule.range.as_ref()?;
    let figure = Figure::parse(likely, Style::Point).ok()?;
    let money = row.rule.currency.filter(|_| !figure.relative)?;
    let rate = jurisdiction
        .market_rate(money, jurisdiction.ask.date)
        .ok()?
        .rate;
    let cost = HomeMoney::of(rate.convert(figure.value).ok()?);
    let digits = jurisdiction.currency().digits();
    Some(cost.rounded(Rounding::minor(digits)).ok()?.amount())
}

/// What the pieces of a place usually weigh; nothing on a basis that does not count them, none where the tables do not say.
fn usual_grams(
    place: &PlaceRow,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<[Dec; 3]>, Overflow> {
    let Some((Grams(low), Grams(high))) = place.usual else {
        return Ok(None);
    };
    if !place.counts_in(jurisdiction.ask.basis) {
        return Ok(Some([Dec::ZERO; 3]));
    }
    let middle = low.plus(high)?.over(Dec::from(2_u32))?;
    Ok(Some([low, middle, high]))
}
