//! What later parts of the program know, as pictures want it: the market line, the ladder, what moves the total, and once
//! there are receipts and weighings the estimate against the bill and the claims against the scale.

use std::collections::BTreeMap;

use super::leeway_view::{assumed, at_share, decided_words, title};
use super::picture::{Driver, Front, MarketLine, Pair, PlanPoint, Reach, Rung, Spread, Upgrade};
use super::plan_points::told;
use super::show::Show;
use super::telling::Owned;
use super::view::View;
use crate::book::{Book, Standing};
use crate::compare::Comparison;
use crate::landed::Question;
use crate::leeway::{Effect, Leeway, Outcomes};
use crate::plan::{Plan, Plans};
use crate::rank::Ranking;
use crate::settle::{Ledger, Scales, Settled};
use crate::units::{Dec, Grams, Overflow};
use crate::value::scale::OnScale;

/// At most this many changes are drawn.
const UPGRADES: usize = 12;

/// At most this many unknowns are drawn.
const DRIVERS: usize = 8;

/// Figures that are there only for some books.
#[derive(Debug, Clone, Default)]
pub(crate) struct More {
    /// The market line over the complete bikes.
    pub(crate) market: Option<MarketLine>,
    /// The ladder; none where it ends before it saves a gram.
    pub(crate) ladder: Option<Vec<Rung>>,
    /// The changes that can be made, the best first.
    pub(crate) upgrades: Vec<Upgrade>,
    /// How far the total can move.
    pub(crate) range: Option<Spread>,
    /// What `settle` says, once there are receipts.
    pub(crate) settled: Option<View>,
    /// What moves the total.
    pub(crate) drivers: Vec<Driver>,
    /// The estimate against the bill.
    pub(crate) bill: Vec<Pair>,
    /// Claims against the scale.
    pub(crate) scale: Vec<Pair>,
    /// The plans that no other beats.
    pub(crate) front: Front,
    /// The whole bike as it was weighed last, on the basis asked for.
    pub(crate) whole: Option<OnScale>,
    /// What was given, and what lay on the scale.
    pub(crate) owned: Owned,
    /// What each row of the book weighs, by where it stands.
    pub(crate) masses: BTreeMap<String, Grams>,
    /// What comes with a part, at no price of its own.
    pub(crate) bundled: Vec<CameWith>,
}

/// A row of the book that comes with another.
#[derive(Debug, Clone)]
pub(crate) struct CameWith {
    /// Where it stands.
    pub(crate) at: String,
    /// Its name, how many pieces, and its places.
    pub(crate) part: String,
    pub(crate) quantity: u32,
    pub(crate) places: Vec<String>,
    /// What it comes with.
    pub(crate) of: String,
}

/// What those results are drawn from.
#[derive(Default)]
pub(crate) struct Known<'a> {
    /// The build against complete bikes.
    pub(crate) comparison: Option<&'a Comparison>,
    /// The upgrades.
    pub(crate) ranking: Option<&'a Ranking>,
    /// How far the total can move, and what moves it.
    pub(crate) leeway: Option<&'a Leeway>,
    /// How the figures of unknowns are written.
    pub(crate) show: Option<&'a Show>,
    /// What `settle` says.
    pub(crate) settled: Option<View>,
    /// Receipts against the estimate.
    pub(crate) ledger: Option<&'a Ledger>,
    /// Scales against claims.
    pub(crate) scales: Option<&'a Scales>,
    /// The frontier of plans.
    pub(crate) plans: Option<&'a Plans>,
    /// The question, for its limits.
    pub(crate) ask: Option<&'a Question>,
    /// The whole bike on the scale.
    pub(crate) whole: Option<&'a OnScale>,
    /// The book, for what its rows weigh.
    pub(crate) book: Option<&'a Book>,
}

impl More {
    /// Takes from each result what is drawn of it.
    pub(crate) fn of(known: &Known<'_>) -> Result<More, Overflow> {
        let curve = known
            .comparison
            .map(|comparison| comparison.market.curve())
            .unwrap_or_default();
        let points: Vec<_> = curve
            .iter()
            .map(|at| (at.mass, at.band.0, at.asks, at.band.1))
            .collect();
        Ok(More {
            market: (!points.is_empty()).then_some(MarketLine { points }),
            ladder: known.ranking.map(ladder).transpose()?.flatten(),
            upgrades: known.ranking.map(upgrades).unwrap_or_default(),
            range: known.leeway.map(|leeway| spread(leeway, known.ask)),
            settled: known.settled.clone(),
            drivers: known
                .leeway
                .zip(known.show)
                .map(|(leeway, show)| {
                    let effects = leeway.effects.iter().take(DRIVERS);
                    effects.map(|effect| driver(effect, show)).collect()
                })
                .unwrap_or_default(),
            bill: known
                .ledger
                .map(|ledger| ledger.parcels.iter().map(bill).collect())
                .transpose()?
                .unwrap_or_default(),
            scale: known.scales.map(scale).unwrap_or_default(),
            front: (known.plans.zip(known.ask))
                .map(|(plans, ask)| front(plans, ask))
                .unwrap_or_default(),
            whole: known.whole.cloned(),
            owned: Owned::default(),
            masses: known.book.map(masses).unwrap_or_default(),
            bundled: known.book.map(bundled).unwrap_or_default(),
        })
    }
}

/// What rows of a book weigh, where that is known.
fn masses(book: &Book) -> BTreeMap<String, Grams> {
    let rows = book.parts.iter();
    rows.filter_map(|row| Some((row.at.place().to_string(), row.total_mass()?)))
        .collect()
}

/// What comes with a part of the build.
fn bundled(book: &Book) -> Vec<CameWith> {
    let rows = book.build();
    let rows = rows.filter(|row| row.standing == Standing::Bundled);
    rows.filter_map(|row| {
        Some(CameWith {
            at: row.at.place().to_string(),
            part: row.name.clone(),
            quantity: row.quantity,
            places: row.places.clone(),
            of: row.comes_with.clone()?,
        })
    })
    .collect()
}

/// The frontier, each point with what changes from the one before.
fn front(plans: &Plans, ask: &Question) -> Front {
    let point = |(at, plan): (usize, &Plan)| PlanPoint {
        landed: plan.landed,
        mass: plan.mass,
        proven: plan.proven,
        told: told(at.checked_sub(1).map(|before| &plans.plans[before]), plan),
    };
    Front {
        points: plans.plans.iter().enumerate().map(point).collect(),
        build: plans.build,
        max_mass: ask.max_mass,
        budget: ask.budget,
    }
}

/// The best of the changes, as they are ranked.
fn upgrades(ranking: &Ranking) -> Vec<Upgrade> {
    let one = |option: &crate::rank::Ranked| Upgrade {
        what: option.title(),
        short: option.part.clone(),
        cost: option.difference.cost,
        saved: option.difference.saved,
        doubtful: option.doubtful,
    };
    ranking.options.iter().take(UPGRADES).map(one).collect()
}

fn ladder(ranking: &Ranking) -> Result<Option<Vec<Rung>>, Overflow> {
    if !ranking.ladder.saved()?.0.is_positive() {
        return Ok(None);
    }
    let rung = |rung: &crate::rank::Rung| {
        let difference = &rung.option.difference;
        Ok(Rung {
            what: rung.option.title(),
            cost: difference.cost,
            saved: difference.saved,
            per_kg: difference.per_kg()?,
        })
    };
    ranking
        .ladder
        .rungs
        .iter()
        .map(rung)
        .collect::<Result<_, _>>()
        .map(Some)
}

/// The range, and what it would be with what is disputed decided otherwise; where both are joined, it is of both.
fn spread(leeway: &Leeway, ask: Option<&Question>) -> Spread {
    let reach = |cost, quantiles: &[(u32, Dec)]| Reach {
        cost,
        low: at_share(quantiles, 5).unwrap_or(cost),
        high: at_share(quantiles, 95).unwrap_or(cost),
    };
    let otherwise = |other: &Outcomes| (decided_words(leeway), reach(other.cost, &other.quantiles));
    Spread {
        counted: reach(leeway.cost, &leeway.quantiles),
        otherwise: leeway
            .decided_otherwise()
            .filter(|_| leeway.disputed_chance.is_none())
            .map(otherwise),
        budget: ask.and_then(|ask| ask.budget),
    }
}

fn driver(effect: &Effect, show: &Show) -> Driver {
    let (one, other) = (effect.at_low, effect.at_high);
    Driver {
        what: title(&effect.driver),
        assumed: assumed(&effect.driver, show),
        low: one.min(other),
        high: one.max(other),
    }
}

/// One parcel over the charges that have a receipt.
fn bill(parcel: &Settled) -> Result<Pair, Overflow> {
    let entries = || parcel.entries.iter().filter(|entry| entry.actual.is_some());
    Ok(Pair {
        what: parcel.id.clone(),
        told: Dec::total(entries().map(|entry| entry.estimated))?,
        found: Dec::total(entries().filter_map(|entry| entry.actual))?,
    })
}

fn scale(scales: &Scales) -> Vec<Pair> {
    let of = |part: &crate::settle::Weighed| {
        Some(Pair {
            what: part.part.clone(),
            told: part.claimed?.0.0,
            found: part.mass.0,
        })
    };
    scales.parts.iter().filter_map(of).collect()
}
