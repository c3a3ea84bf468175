//! The market line: what bikes of one class and season ask at a mass, and what the build costs beside it.

use std::collections::BTreeMap;

use super::against::Against;
use super::mine::{Compared, Mine};
use crate::book::PriceKind;
use crate::estimate::MarketLine;
use crate::landed::Jurisdiction;
use crate::text::words::{count, list};
use crate::units::{Dec, Grams, Overflow};

/// No line is drawn through fewer bikes than this.
pub(crate) const LEAST_BIKES: usize = 5;

/// The line, or the reason why there is none.
#[derive(Debug, Clone)]
pub enum Market {
    /// It is drawn, and says something at the build's mass.
    Line(Asked),
    /// It is drawn, and the build lies outside the bikes' masses: nothing is said there.
    Outside {
        /// The bikes it goes through.
        set: Set,
        /// The lightest and the heaviest of them.
        masses: (Grams, Grams),
        /// How far each bike's price lies off the line, out of a hundred, by name.
        residuals: Vec<(String, Dec)>,
        /// The line itself.
        curve: Vec<Along>,
    },
    /// It is not drawn.
    None(String),
}

/// The line at one mass: the price it asks, and the band in which 95 in 100 bikes would lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Along {
    /// The mass.
    pub(crate) mass: Grams,
    /// The middle price.
    pub(crate) asks: Dec,
    /// The band.
    pub(crate) band: (Dec, Dec),
}

impl Market {
    /// The line from the lightest of its bikes to the heaviest; empty where it is not drawn.
    pub(crate) fn curve(&self) -> &[Along] {
        match self {
            Market::Line(asked) => &asked.curve,
            Market::Outside { curve, .. } => curve,
            Market::None(_) => &[],
        }
    }
}

/// What the line says.
#[derive(Debug, Clone)]
pub struct Asked {
    /// The bikes it goes through.
    pub set: Set,
    /// The middle price at the build's mass.
    pub asks: Dec,
    /// The band in which 95 in 100 bikes of that mass would lie.
    pub(crate) band: (Dec, Dec),
    /// How far the build's cost, as it is compared, lies off the line, out of a hundred.
    pub off: Dec,
    /// What one kilogram less costs there; below zero where lighter bikes cost less.
    pub next_kilogram: Dec,
    /// The share of the squares that the line explains, out of a hundred.
    pub(crate) explained: Dec,
    /// How far each bike's price lies off the line, out of a hundred, by name.
    pub residuals: Vec<(String, Dec)>,
    /// The line itself.
    pub(crate) curve: Vec<Along>,
}

/// The bikes a line goes through.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Set {
    /// Their class, as told.
    pub(crate) class: String,
    /// Their season, as told.
    pub(crate) season: String,
    /// The kinds of their prices.
    pub(crate) kinds: Vec<&'static str>,
    /// Their names.
    pub(crate) bikes: Vec<String>,
    /// Bikes that are compared and are of another class, season or kind of price.
    pub others: Vec<String>,
}

impl Set {
    /// `6 bikes (gravel, 2026, list and street)`.
    pub fn words(&self) -> String {
        let facts: Vec<String> = [
            self.class.clone(),
            self.season.clone(),
            list(&self.kinds, "and"),
        ]
        .into_iter()
        .filter(|f| !f.is_empty())
        .collect();
        format!(
            "{} ({})",
            count(self.bikes.len(), "bike", "bikes"),
            facts.join(", ")
        )
    }
}

/// New prices stand together; a sale and a used bike each ask something else.
fn kind(kind: PriceKind) -> PriceKind {
    if kind == PriceKind::Street {
        PriceKind::List
    } else {
        kind
    }
}

/// Draws the line through the largest set of bikes of one class, one season and one kind of price.
pub(super) fn market(bikes: &[Against], mine: &Mine, jurisdiction: &Jurisdiction<'_>) -> Market {
    let mut sets: BTreeMap<(String, String, PriceKind), Vec<&Against>> = BTreeMap::new();
    for against in bikes {
        let bike = &against.reference;
        sets.entry((
            bike.class.to_lowercase(),
            bike.season.clone(),
            kind(bike.price_kind),
        ))
        .or_default()
        .push(against);
    }
    let own = |class: &str| class == jurisdiction.ask.kind;
    let best = sets.into_iter().max_by(
        |((a, season_a, kind_a), one), ((b, season_b, kind_b), other)| {
            let enough = |set: &Vec<&Against>| set.len() >= LEAST_BIKES;
            let by_size = enough(one)
                .cmp(&enough(other))
                .then(own(a).cmp(&own(b)))
                .then(one.len().cmp(&other.len()));
            by_size
                .then(season_a.cmp(season_b))
                .then(kind_b.cmp(kind_a))
                .then(b.cmp(a))
        },
    );
    let Some((_, members)) = best else {
        return Market::None("no bike can be compared".to_owned());
    };
    let set = set(&members, bikes);
    if members.len() < LEAST_BIKES {
        let text = "it takes five bikes of one class, one season and one kind of price, and the most that stand together are";
        return Market::None(format!("{text} {}", set.words()));
    }
    drawn(&members, set, mine, jurisdiction)
}

fn set(members: &[&Against], bikes: &[Against]) -> Set {
    let names = |all: &mut dyn Iterator<Item = &Against>| {
        all.map(|a| a.reference.name.clone()).collect::<Vec<_>>()
    };
    let first = members.first().map(|a| &a.reference);
    let mut kinds: Vec<PriceKind> = members.iter().map(|a| a.reference.price_kind).collect();
    kinds.sort_unstable();
    kinds.dedup();
    let own = names(&mut members.iter().copied());
    Set {
        class: first.map(|bike| bike.class.clone()).unwrap_or_default(),
        season: first.map(|bike| bike.season.clone()).unwrap_or_default(),
        kinds: kinds.into_iter().map(PriceKind::name).collect(),
        others: names(&mut bikes.iter().filter(|a| !own.contains(&a.reference.name))),
        bikes: own,
    }
}

fn drawn(members: &[&Against], set: Set, mine: &Mine, jurisdiction: &Jurisdiction<'_>) -> Market {
    let digits = jurisdiction.currency().digits();
    let points: Vec<(Dec, Grams)> = members
        .iter()
        .map(|a| (a.reference.price, a.reference.mass.mass.likely))
        .collect();
    let Some(line) = MarketLine::fit(&points) else {
        return Market::None(format!(
            "no line goes through the masses of {}",
            set.words()
        ));
    };
    let off = |a: &&Against| {
        let (price, mass) = (a.reference.price, a.reference.mass.mass.likely);
        (a.reference.name.clone(), line.off(price, mass))
    };
    let residuals = members.iter().map(off).collect();
    let masses = || points.iter().map(|(_, mass)| *mass);
    let (least, most) = (
        masses().min().unwrap_or_default(),
        masses().max().unwrap_or_default(),
    );
    let Ok(curve) = along(&line, (least, most), digits) else {
        return Market::None("the bikes' masses are too large".to_owned());
    };
    if mine.mass < least || mine.mass > most {
        return Market::Outside {
            set,
            masses: (least, most),
            residuals,
            curve,
        };
    }
    if mine.compared == Compared::Nothing || !mine.cost.is_positive() {
        return Market::None("nothing is known of what the build costs".to_owned());
    }
    Market::Line(Asked {
        asks: line.asks(mine.mass, digits),
        band: line.band(mine.mass, digits),
        off: line.off(mine.cost, mine.mass),
        next_kilogram: line.next_kilogram(mine.mass, digits),
        explained: line.explained(),
        residuals,
        curve,
        set,
    })
}

/// The line at both ends of its masses and at equal steps between them.
fn along(
    line: &MarketLine,
    (least, most): (Grams, Grams),
    digits: u32,
) -> Result<Vec<Along>, Overflow> {
    const STEPS: u32 = 16;
    let step = most.0.minus(least.0)?.over(Dec::from(STEPS))?;
    let at = |n: u32| {
        let mass = Grams(least.0.plus(step.times(Dec::from(n))?)?);
        Ok(Along {
            mass,
            asks: line.asks(mass, digits),
            band: line.band(mass, digits),
        })
    };
    (0..=STEPS).map(at).collect()
}
