//! All options in one order, with those that do not fit and those that cannot be ranked beside it.

use std::collections::BTreeSet;

use super::base::Base;
use super::ladder::{Ladder, ladder};
use super::order::ordered;
use super::ranked::{Ranked, Unranked};
use super::survey::{Survey, survey};
use crate::book::{Book, Part};
use crate::estimate::{Climb, climb};
use crate::landed::{
    Caution, Cautions, Jurisdiction, KnownParcels, Question, Saying, check_places, cost_at,
    lacking, lost_apart,
};
use crate::tables::Tables;
use crate::text::Problems;
use crate::units::{Currency, Dec, Grams, HomeMoney};
use crate::value::basis::racing_minimum;
use crate::value::bench::{self, Bench};
use crate::value::fit;
use crate::value::scale::{OnScale, weighed};

/// The options of a book in order.
#[derive(Debug, Clone)]
pub struct Ranking {
    /// The destination's money.
    pub currency: Currency,
    /// The landed total of the build as it is.
    pub landed: Dec,
    /// Really paid: no option changes that.
    pub spent: Dec,
    /// Still to pay for the build as it is.
    pub to_pay: Dec,
    /// What the next person would pay for the same bike; none where no part has a price.
    pub(crate) replacement: Option<Dec>,
    /// The mass of the build: as the scale said, else what its parts add up to on the basis asked for.
    pub mass: Grams,
    /// The whole bike on the scale; none when it was not weighed, or the reading cannot be used.
    pub(crate) scale: Option<OnScale>,
    /// Parts of the build without a weight, which is not in its mass; none where the whole bike was weighed.
    pub(crate) mass_unknown: Vec<String>,
    /// Required places that nothing fills: of a bike that is not whole no climb is told.
    pub(crate) empty: Vec<String>,
    /// What a kilogram less is worth, when told.
    pub(crate) worth_per_kg: Option<Dec>,
    /// The options, best first.
    pub options: Vec<Ranked>,
    /// Those that do not fit the build.
    pub unfit: Vec<Unranked>,
    /// Those that cannot be ranked.
    pub left_out: Vec<Unranked>,
    /// The best next steps, one after another.
    pub ladder: Ladder,
    /// What a kilogram, and the ladder, are worth on a climb for the rider, when told.
    pub climb: Vec<Climb>,
    /// What must be said.
    pub cautions: Vec<Caution>,
}

impl Ranking {
    /// Whether the bike weighs more than its mass says, as parts have no weight or are still missing.
    pub(crate) fn is_floor(&self) -> bool {
        !self.mass_unknown.is_empty() || (self.scale.is_none() && !self.empty.is_empty())
    }
}

/// Ranks the options of a book by what each really adds to the bill.
pub fn rank(book: &Book, tables: &Tables, ask: &Question) -> Result<Ranking, Problems> {
    let jurisdiction = Jurisdiction::open(tables, ask)?;
    rank_at(&lost_apart(book, &jurisdiction), &jurisdiction)
}

/// As [`rank`], for a jurisdiction that is open already, of a book of which [`lost_apart`] was asked.
pub(crate) fn rank_at(book: &Book, jurisdiction: &Jurisdiction<'_>) -> Result<Ranking, Problems> {
    rank_by(book, jurisdiction, &KnownParcels::default())
}

/// The same by what is known of parcels.
pub(super) fn rank_by(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    known: &KnownParcels,
) -> Result<Ranking, Problems> {
    let mut problems = Problems::new();
    check_places(book, jurisdiction, &mut problems);
    if problems.refuse() {
        return Err(problems.sorted());
    }
    let build: Vec<&Part> = book.build().collect();
    let laid = Bench::lay(&build, jurisdiction);
    bench::refuse_doubled(&laid)?;
    let landed = cost_at(book, jurisdiction)?;
    let (totals, lacks) = (
        landed.totals.clone(),
        lacking(&landed.cautions).cloned().collect::<Vec<Caution>>(),
    );
    let owned: Vec<Part> = book.beside().cloned().collect();
    let base = Base::doubting(book, &owned, landed, (jurisdiction, known))?;
    let Survey {
        options,
        unfit,
        left_out,
        mut cautions,
    } = survey(book, &base, jurisdiction);
    let options = ordered(options, jurisdiction)?;
    let scale = weighed(book, jurisdiction, &mut cautions)?;
    let mass = scale.as_ref().map_or(totals.mass, OnScale::likely);
    let ladder = ladder(book, (jurisdiction, known), mass)?;
    let fewer = ladder.saved()?;
    let mut found = Ranking {
        currency: jurisdiction.currency(),
        landed: base.landed,
        spent: totals.spent.amount(),
        to_pay: totals.to_pay.amount(),
        replacement: totals.known_replacement().map(HomeMoney::amount),
        mass,
        mass_unknown: match &scale {
            None => totals.mass_unknown.clone(),
            Some(_) => Vec::new(),
        },
        scale,
        empty: laid.lacking(jurisdiction),
        worth_per_kg: jurisdiction.ask.worth_per_kg,
        options,
        unfit,
        left_out,
        ladder,
        climb: Vec::new(),
        cautions: Vec::new(),
    };
    found.climb = climbs(&found, jurisdiction.ask, fewer);
    found.unfit.sort();
    found.left_out.sort();
    found.left_out.dedup();
    let rows: Vec<&Part> = bench::build_rows(book, jurisdiction, false);
    fit::say_clashes(&rows, jurisdiction, &mut cautions);
    cautions.extend(lacks);
    say(&found, jurisdiction, &mut cautions);
    found.cautions = cautions.into_list();
    Ok(found)
}

/// Slopes that a climb is shown for, out of a hundred.
const GRADES: [u32; 2] = [5, 8];

/// What a kilogram, and all that a ladder saves, are worth on a climb; nothing of a bike that is not whole.
fn climbs(ranking: &Ranking, ask: &Question, fewer: Grams) -> Vec<Climb> {
    let bike = ranking.mass;
    let rider = ask
        .rider_kg
        .zip(ask.rider_watts)
        .filter(|_| bike.0.is_positive() && ranking.empty.is_empty());
    rider.map_or(Vec::new(), |(kg, watts)| {
        GRADES
            .iter()
            .map(|grade| climb(*grade, kg, bike, watts, fewer))
            .collect()
    })
}

/// Says what nobody has told, and where the ladder ends under the least that may be raced.
fn say(ranking: &Ranking, jurisdiction: &Jurisdiction<'_>, cautions: &mut Cautions) {
    let unknown: BTreeSet<&str> = ranking
        .options
        .iter()
        .flat_map(|o| o.resale_unknown.iter().map(String::as_str))
        .collect();
    let unknown: Vec<&str> = unknown.into_iter().collect();
    if !unknown.is_empty() {
        let saying = Saying::new(
            "No resale value is given for the parts that would be replaced, so none is deducted",
        )
        .so("Fill in `resale`.")
        .costs_unknown();
        cautions.say("resale-unknown", saying, &unknown);
    }
    let cured = ranking.options.iter().filter(|o| !o.usual.is_empty());
    let cured: BTreeSet<&str> = cured.map(|option| option.part.as_str()).collect();
    let cured: Vec<&str> = cured.into_iter().collect();
    if !cured.is_empty() {
        let saying = Saying::new("A small place would be left empty and no option fills it, so what such a piece usually costs and weighs is counted")
            .so("Add one as an option to count its own figures.");
        cautions.say("usual-counted", saying, &cured);
    }
    let end = ranking
        .ladder
        .rungs
        .last()
        .map_or(ranking.mass, |rung| rung.mass);
    if let Some((least, row)) = racing_minimum(jurisdiction.ask.basis, jurisdiction)
        && end < least
        && !ranking.ladder.rungs.is_empty()
        && ranking.empty.is_empty()
    {
        let saying = Saying::new(format!(
            "The steps end under {least} g, {}: what is saved below it is lost to ballast",
            row.text
        ))
        .so("Stop a step earlier if you race.");
        cautions.say("racing-minimum", saying, &[]);
    }
}
