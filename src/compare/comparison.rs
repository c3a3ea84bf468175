//! The build on one side, the bikes on the other, and the two differences between them.

use super::against::{Against, against};
use super::market::{Market, market};
use super::mine::{Mine, mine};
use super::reference::reference;
use crate::book::{Book, Part, PriceKind};
use crate::landed::{
    Bill, Caution, Cautions, Jurisdiction, Landed, Question, Saying, Totals, cost_rows, lost_apart,
    replacement_rows,
};
use crate::tables::Tables;
use crate::text::Problems;
use crate::text::words::{count, list};
use crate::units::{Basis, Currency, Dec, Grams, Overflow};
use crate::value::bench::{self, Bench};
use crate::value::{Point, Standing, Status, basis, fit, frontier};

/// A bike that is not compared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// Its name.
    pub bike: String,
    /// Why.
    pub reason: String,
}

/// The build against complete bikes.
#[derive(Debug, Clone)]
pub struct Comparison {
    /// The destination's money.
    pub currency: Currency,
    /// The basis all masses are on.
    pub(crate) basis: Basis,
    /// The build.
    pub mine: Mine,
    /// The bills of the build bought again.
    pub(crate) bills: Vec<Bill>,
    /// The bikes, by name.
    pub bikes: Vec<Against>,
    /// Those that are not compared, by name.
    pub left_out: Vec<LeftOut>,
    /// What the market asks at the build's mass.
    pub market: Market,
    /// The least a bike may weigh to be raced, in words and grams, where the basis and the kind of bike have one.
    pub racing_minimum: Option<(String, Grams)>,
    /// What must be said.
    pub cautions: Vec<Caution>,
}

/// What a comparison may be asked beside the book.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Options {
    /// Whether tools, consumables, shop work and spares count.
    pub with_tools: bool,
}

/// Compares a book's build with its complete bikes.
pub fn compare(book: &Book, tables: &Tables, ask: &Question) -> Result<Comparison, Problems> {
    compare_with(book, tables, ask, Options::default())
}

/// As [`compare`], with what else was asked.
pub fn compare_with(
    book: &Book,
    tables: &Tables,
    ask: &Question,
    options: Options,
) -> Result<Comparison, Problems> {
    let jurisdiction = Jurisdiction::open(tables, ask)?;
    compare_at(&lost_apart(book, &jurisdiction), &jurisdiction, options)
}

/// The bikes against the build, and those that are left out with the reason, each by name.
fn bikes(
    book: &Book,
    (rows, mine): (&[&Part], &Mine),
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) -> Result<(Vec<Against>, Vec<LeftOut>), Problems> {
    let own = basis::own_parts(rows)?;
    let (mut bikes, mut left_out) = (Vec::new(), Vec::new());
    for bike in &book.bikes {
        match reference(bike, book, &own, jurisdiction, cautions) {
            Ok(reference) => bikes.push(against(reference, mine, jurisdiction)?),
            Err(reason) => left_out.push(LeftOut {
                bike: bike.name.clone(),
                reason,
            }),
        }
    }
    bikes.sort_by(|a, b| a.reference.name.cmp(&b.reference.name));
    left_out.sort_by(|a, b| a.bike.cmp(&b.bike));
    Ok((bikes, left_out))
}

/// As [`compare_with`], for a jurisdiction that is open already, of a book of which [`lost_apart`] was asked.
pub(crate) fn compare_at(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    options: Options,
) -> Result<Comparison, Problems> {
    let rows = bench::build_rows(book, jurisdiction, options.with_tools);
    let bench = Bench::lay(&rows, jurisdiction);
    bench::refuse_doubled(&bench)?;
    let totals = totals(book, &rows, jurisdiction)?;
    let mut cautions = Cautions::default();
    let tools = book.build().count() - rows.len();
    let today = replacement_rows(book, &rows, jurisdiction)?;
    pass_on(&today, &mut cautions);
    let mine = mine(
        book,
        &rows,
        &bench,
        (&totals, &today),
        tools,
        jurisdiction,
        &mut cautions,
    )?;
    let (bikes, left_out) = bikes(book, (&rows, &mine), jurisdiction, &mut cautions)?;
    fit::say_clashes(&rows, jurisdiction, &mut cautions);
    let mut comparison = Comparison {
        currency: jurisdiction.currency(),
        basis: jurisdiction.ask.basis,
        market: market(&bikes, &mine, jurisdiction),
        racing_minimum: basis::racing_minimum(jurisdiction.ask.basis, jurisdiction)
            .map(|(least, row)| (row.text.clone(), least)),
        mine,
        bills: today.bills,
        bikes,
        left_out,
        cautions: Vec::new(),
    };
    place_on_frontier(&mut comparison)?;
    say(&comparison, &mut cautions);
    comparison.cautions = cautions.into_list();
    Ok(comparison)
}

/// The totals of the rows that are compared, and of options that are paid for beside them; bought again the rows are calculated by
/// themselves.
fn totals(
    book: &Book,
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Totals, Problems> {
    let compared = Book {
        settings: book.settings.clone(),
        parts: rows.iter().copied().chain(book.beside()).cloned().collect(),
        sellers: book.sellers.clone(),
        parcels: book.parcels.clone(),
        discounts: book.discounts.clone(),
        receipts: book.receipts.clone(),
        ..Book::default()
    };
    Ok(cost_rows(
        &compared,
        &compared.parts.iter().collect::<Vec<_>>(),
        jurisdiction,
    )?
    .totals)
}

/// Cautions of the build bought again that are passed on: what its price rests on, and what is not in it.
const PASSED_ON: [&str; 6] = [
    "origin-assumed",
    "no-rate",
    "charge-ended",
    "fee-ended",
    "freight-unknown",
    "tax-over-limit",
];

fn pass_on(today: &Landed, cautions: &mut Cautions) {
    for caution in today
        .cautions
        .iter()
        .filter(|caution| PASSED_ON.contains(&caution.id))
    {
        let about: Vec<&str> = caution.about.iter().map(String::as_str).collect();
        cautions.say(caution.id, caution, &about);
    }
}

/// The frontier of price and lightness over the build and the bikes.
fn place_on_frontier(comparison: &mut Comparison) -> Result<(), Overflow> {
    let mine = &comparison.mine;
    let point = |name: &str, cost: Dec, mass: Grams| Point {
        name: name.to_owned(),
        cost,
        effect: mass.0.negated(),
    };
    let known = mine.is_judged();
    let mut points: Vec<Point> = known
        .then(|| point("", mine.cost, mine.mass))
        .into_iter()
        .collect();
    points.extend(comparison.bikes.iter().map(|a| {
        point(
            &a.reference.name,
            a.reference.price,
            a.reference.mass.mass.likely,
        )
    }));
    let mut found = frontier(&points)?.into_iter();
    if known {
        comparison.mine.status = found.next().unwrap_or(Status::ALONE);
    }
    comparison
        .bikes
        .iter_mut()
        .zip(found)
        .for_each(|(against, status)| against.status = status);
    Ok(())
}

/// The build's own pieces that were added to bikes, each once.
fn moved(comparison: &Comparison) -> Vec<String> {
    let bikes = comparison.bikes.iter();
    let steps = bikes.flat_map(|a| &a.reference.mass.steps);
    let added = steps.filter(|step| !step.grams.likely.0.is_negative());
    let mut moved: Vec<String> = added.filter_map(|step| step.own.clone()).collect();
    moved.sort();
    moved.dedup();
    moved
}

/// Says what a reader must know before comparing.
fn say(comparison: &Comparison, cautions: &mut Cautions) {
    let mine = &comparison.mine;
    let mut told = |id: &'static str, saying: Saying, about: &[String]| {
        if !about.is_empty() {
            let about: Vec<&str> = about.iter().map(String::as_str).collect();
            cautions.say(id, saying, &about);
        }
    };
    told(
        "replacement-unknown",
        Saying::new("It is unknown what these parts cost to buy again, and what was paid for them, so the build costs more than is compared")
            .so("Fill in `price` or `paid`.")
            .costs_unknown(),
        &mine.price_unknown,
    );
    told(
        "replacement-paid",
        Saying::new(
            "These parts have no price to buy them again, so what was paid for them is compared",
        )
        .so("Fill in `price` to compare what they cost now."),
        &mine.by_paid,
    );
    told(
        "mass-unknown",
        Saying::new(
            "The weight of these parts is unknown, so the build weighs more than is compared",
        )
        .so("Fill in `mass_g`."),
        &mine.mass_unknown,
    );
    told(
        "places-empty",
        Saying::new("Nothing fills these places yet, so the whole bike costs and weighs more than is compared")
            .so("Add the parts, or a row that says which part they come with."),
        &mine.empty,
    );
    let lacking: Vec<String> = lacking(comparison);
    told(
        "basis-lacking",
        Saying::new("These were added to the bikes to bring them to this basis, and are not in the build's own weight")
            .so("Add them to the build, or choose another `--basis`."),
        &lacking,
    );
    let saying = Saying::new("Shop bikes come without these parts: their weight was added to the shop bikes, their price was not")
        .so("Add what they cost to the price of a bike without them.");
    told("basis-money", saying, &moved(comparison));
    for (kind, text, action) in [
        (
            PriceKind::Used,
            "A used bike's price is not the price of a new one",
            "Compare it with new bikes too.",
        ),
        (
            PriceKind::Sale,
            "A sale price may end, and this is last season's bike",
            "Ask how long the price holds.",
        ),
    ] {
        let of_kind = comparison
            .bikes
            .iter()
            .filter(|a| a.reference.price_kind == kind)
            .map(|a| a.reference.name.clone());
        let saying = Saying::new(text).so(action);
        told("price-kind", saying, &of_kind.collect::<Vec<_>>());
    }
    if !comparison.bikes.is_empty() {
        let saying = Saying::new(
            "A shop bike comes built, with one warranty and a right to return; yours does not",
        )
        .so("Count your own time and what a workshop asks.");
        cautions.say("shop-bike", saying, &[]);
    }
}

/// Places for which grams were added to a bike from the tables' range as the build has no part of its own there.
fn lacking(comparison: &Comparison) -> Vec<String> {
    let steps = comparison
        .bikes
        .iter()
        .flat_map(|a| &a.reference.mass.steps);
    let mut places: Vec<String> = steps
        .filter(|step| {
            step.own.is_none() && !step.place.is_empty() && !step.grams.likely.0.is_negative()
        })
        .map(|step| step.place.clone())
        .filter(|place| !comparison.mine.empty.contains(place))
        .collect();
    places.sort();
    places.dedup();
    places
}

impl Comparison {
    /// The names of all that stand so on the frontier of price and mass, the build as `the build`, cheapest first.
    pub fn standing(&self, standing: Standing) -> Vec<&str> {
        let build = self
            .mine
            .is_judged()
            .then_some((self.mine.cost, "the build", self.mine.status))
            .into_iter();
        let bikes = self
            .bikes
            .iter()
            .map(|a| (a.reference.price, a.reference.name.as_str(), a.status));
        let mut all: Vec<(Dec, &str, Status)> = build
            .chain(bikes)
            .filter(|(_, _, status)| status.standing == standing)
            .collect();
        all.sort_by(|a, b| (a.0, a.1).cmp(&(b.0, b.1)));
        all.into_iter().map(|(_, name, _)| name).collect()
    }

    /// `3 bikes`.
    pub(crate) fn counted(&self) -> String {
        count(self.bikes.len(), "bike", "bikes")
    }

    /// Bikes that the build beats on both counts, by name; none while something of its own price is not known, or parts of it
    /// are missing.
    pub fn beaten(&self) -> String {
        if self.mine.is_floor() || !self.mine.is_weighable() {
            return String::new();
        }
        let better = self
            .bikes
            .iter()
            .filter(|a| a.difference.cost.is_negative() && a.difference.saved.0.is_positive());
        let names: Vec<&str> = better.map(|a| a.reference.name.as_str()).collect();
        list(&names, "and")
    }
}
