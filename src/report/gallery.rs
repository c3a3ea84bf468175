//! Everything a report shows, and the pictures that can be drawn of it: those whose figures are not there are left out.

use super::findings::{apart, best_change, big_number, price_against_mass};
use super::picture::{self, Foot, Ladder, Mark, Picture, Shape, Told};
use super::picture_data::More;
use super::redact::Figures;
use super::shown::shown;
use super::telling::telling;
use crate::compare::Comparison;
use crate::landed::{Jurisdiction, Landed, Question};
use crate::rank::Ranking;
use crate::units::{Dec, Grams, Overflow};
use crate::value::Standing;

/// What a report is made of.
pub(crate) struct Showing<'a> {
    /// The landed cost.
    pub(crate) landed: &'a Landed,
    /// The question.
    pub(crate) ask: &'a Question,
    /// The tables it was asked of.
    pub(crate) jurisdiction: &'a Jurisdiction<'a>,
    /// How figures are written.
    pub(crate) figures: Figures,
    /// The build against complete bikes.
    pub(crate) comparison: Option<&'a Comparison>,
    /// The upgrades.
    pub(crate) ranking: Option<&'a Ranking>,
    /// What other parts of the program know.
    pub(crate) more: More,
}

impl Showing<'_> {
    /// The foot of the pictures.
    pub(crate) fn foot(&self) -> Foot {
        let money = if self.figures.hidden.is_some() {
            "shares of the whole, in steps".to_owned()
        } else {
            format!("in {}", self.figures.show.currency)
        };
        Foot {
            facts: format!(
                "{}, to {}, {money}",
                self.ask.date.in_words(),
                self.ask.to.name()
            ),
            basis: format!("{} basis", self.ask.basis.name()),
        }
    }

    /// The ladder of `rank`; where it ends before it saves a gram, the upgrades by themselves, which are no ladder.
    pub(super) fn ladder(&self) -> Result<Ladder, Overflow> {
        Ok(match (&self.more.ladder, self.ranking) {
            (Some(rungs), _) => Ladder {
                rungs: rungs.clone(),
                climbed: true,
            },
            (None, Some(ranking)) => Ladder {
                rungs: picture::rungs(ranking)?,
                climbed: false,
            },
            (None, None) => Ladder::default(),
        })
    }

    /// The ladder as it is drawn: where prices are hidden, a step for what each rung adds, and no price of a kilogram, which with
    /// the grams beside it would tell the same once more.
    fn drawn_ladder(&self, shape: Shape) -> Result<Ladder, Overflow> {
        let mut ladder = self.ladder()?.folded(shape)?;
        if self.figures.hidden.is_some() {
            for rung in &mut ladder.rungs {
                (rung.cost, rung.per_kg) = (self.figures.step(rung.cost)?, None);
            }
        }
        Ok(ladder)
    }
}

/// What was expected against what came: the bills, and the masses.
fn before_and_after(
    showing: &Showing<'_>,
    shape: Shape,
    foot: &Foot,
) -> Result<Vec<Picture>, Overflow> {
    let figures = &showing.figures;
    let mut found = Vec::new();
    // where prices are hidden there are only steps, and what lies between two steps is none
    if !showing.more.bill.is_empty() && figures.hidden.is_none() {
        let (bill, shown) = (&showing.more.bill, |amount| figures.amount(amount));
        let told = Told {
            name: "bill",
            title: apart(bill, ("Charged", "estimated"), |sum| figures.money(sum))?,
            words: ("estimated", "charged"),
            shown: &shown,
        };
        found.push(picture::pairs(&told, bill, shape, foot)?);
    }
    if !showing.more.scale.is_empty() {
        let shown = |grams: Dec| format!("{} g", Grams(grams).grouped());
        let told = Told {
            name: "scale",
            title: apart(&showing.more.scale, ("Weighed", "claimed"), shown)?,
            words: ("claimed", "weighed"),
            shown: &shown,
        };
        found.push(picture::pairs(&told, &showing.more.scale, shape, foot)?);
    }
    Ok(found)
}

/// All pictures that can be drawn, in the order in which they are read.
pub(crate) fn pictures(showing: &Showing<'_>, shape: Shape) -> Result<Vec<Picture>, Overflow> {
    let (figures, foot) = (&showing.figures, showing.foot());
    let total = showing.landed.totals.landed()?.amount();
    let mut found = Vec::new();
    let open = figures.hidden.is_none();
    if shape != Shape::Page && open && !total.is_zero() {
        let (card, range) = (big_number(showing)?, showing.more.range.as_ref());
        let range = range.filter(|range| range.is_drawn());
        found.push(picture::big_number(&card, range, figures, shape, &foot)?);
    }
    // a bike's price is known to every reader: where it stands beside the build gives the build's away
    if let Some(comparison) = showing.comparison.filter(|c| !c.bikes.is_empty() && open) {
        found.push(picture::scatter(
            &marks(comparison),
            showing.more.market.as_ref(),
            figures,
            &price_against_mass(comparison),
            (shape, &foot),
        )?);
    }
    if !total.is_zero() {
        let (landed, own) = (shown(showing.landed, &figures.show)?, figures.as_it_is());
        let (landed, own) = (own.steps_of(landed)?, own.of_steps());
        found.push(picture::by_charge(&landed, &own, shape, &foot)?);
        found.push(picture::by_part(&landed, &own, shape, &foot)?);
    }
    if !showing.more.upgrades.is_empty() && open {
        let advice = best_change(showing)?;
        let list = &showing.more.upgrades;
        found.push(picture::upgrades(list, &advice, figures, (shape, &foot))?);
    }
    let steps = figures.of_steps();
    let ladder = showing.drawn_ladder(shape)?;
    if !ladder.rungs.is_empty() && (ladder.climbed || shape != Shape::Page || !open) {
        // on the page, upgrades that no ladder joins are in the picture of them all
        found.push(picture::ladder(
            &ladder,
            ladder.rungs.len(),
            &steps,
            shape,
            &foot,
        )?);
    }
    // what plans differ by is mostly the price of one part, which every reader of a shop's page knows
    if showing.more.front.points.len() > 1 && figures.hidden.is_none() {
        found.push(picture::plans(&showing.more.front, figures, shape, &foot)?);
    }
    // the usual range of a price is known to every reader: how far it moves the total tells what is paid to a seller once more
    if !showing.more.drivers.is_empty() && figures.hidden.is_none() {
        found.push(picture::drivers(
            &showing.more.drivers,
            total,
            figures,
            shape,
            &foot,
        )?);
    }
    found.extend(before_and_after(showing, shape, &foot)?);
    found.extend(telling(showing, shape, &foot)?);
    Ok(found)
}

/// The ladder rung by rung on fixed axes, for a video; the last picture is the whole.
pub(crate) fn ladder_series(showing: &Showing<'_>, shape: Shape) -> Result<Vec<Picture>, Overflow> {
    let ladder = showing.drawn_ladder(shape)?;
    (1..ladder.rungs.len())
        .map(|shown| {
            picture::ladder(
                &ladder,
                shown,
                &showing.figures.of_steps(),
                shape,
                &showing.foot(),
            )
        })
        .collect()
}

fn marks(comparison: &Comparison) -> Vec<Mark> {
    let on = |standing| standing != Standing::Dominated;
    let mine = &comparison.mine;
    let own = || Mark {
        name: "the build".to_owned(),
        price: mine.cost,
        mass: mine.mass,
        build: true,
        frontier: on(mine.status.standing),
    };
    // A build with parts missing, or of which nothing is known in money, has no point.
    let mut marks: Vec<Mark> = mine.is_judged().then(own).into_iter().collect();
    marks.extend(comparison.bikes.iter().map(|against| Mark {
        name: against.reference.name.clone(),
        price: against.reference.price,
        mass: against.reference.mass.mass.likely,
        build: false,
        frontier: on(against.status.standing),
    }));
    marks
}
