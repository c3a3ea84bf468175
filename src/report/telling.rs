//! What a build is told to others by, in one go: what it costs without and with the charges of importing, what was given and at
//! what value, what of it is no part of the bike, its weight and what was on it, and each complete bike's difference.

use super::gallery::Showing;
use super::picture::{Foot, Picture, Shape, card};
use crate::book::{Book, Part, Standing};
use crate::landed::{Jurisdiction, Sum};
use crate::text::words::{capital, few, list};
use crate::units::{Basis, Dec, Grams, HomeMoney, Overflow};
use crate::value::bench::build_rows;
use crate::value::scale::OnScale;

/// What the book knows and a landed cost does not.
#[derive(Debug, Clone, Default)]
pub(crate) struct Owned {
    /// Parts that were given, each with its value where that is known, in the destination's money.
    given: Vec<(String, Option<Dec>)>,
    /// Parts that were on the scale and that a bike in a shop has not on it.
    on_it: Vec<String>,
}

/// Looks up in the book what was given, and what lay on the scale.
pub(crate) fn owned(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    scale: Option<&OnScale>,
) -> Result<Owned, Overflow> {
    let mut found = Owned::default();
    for row in book.build().filter(|row| row.standing == Standing::Given) {
        found
            .given
            .push((row.name.clone(), value(row, jurisdiction)?));
    }
    if let Some(scale) = scale {
        let more = |row: &&Part| {
            let in_basis = |basis: Basis| {
                let mut places = row.places.iter();
                places.any(|place| {
                    jurisdiction
                        .place(place)
                        .is_some_and(|place| place.counts_in(basis))
                })
            };
            in_basis(scale.basis) && !in_basis(Basis::Showroom)
        };
        let rows = build_rows(book, jurisdiction, false).into_iter();
        let rows = rows.filter(|row| !scale.not_here.contains(&row.name));
        found.on_it = rows.filter(more).map(|row| row.name.clone()).collect();
    }
    Ok(found)
}

/// What a given part would cost, in the destination's money; none where the book has no price for it.
fn value(row: &Part, jurisdiction: &Jurisdiction<'_>) -> Result<Option<Dec>, Overflow> {
    let Some(price) = row.price else {
        return Ok(None);
    };
    let price = price.times(Dec::from(row.quantity))?;
    let home = jurisdiction.currency();
    let currency = row.currency.unwrap_or(home);
    if currency == home {
        return Ok(Some(price));
    }
    let quote = jurisdiction.market_rate(currency, jurisdiction.ask.date);
    quote
        .ok()
        .map(|quote| quote.rate.convert(price))
        .transpose()
}

/// A complete bike beside the build.
struct Beside<'a> {
    name: &'a str,
    /// What the build costs less than it; none where nothing can be said on price.
    less: Option<Dec>,
    /// What the build is lighter.
    lighter: Grams,
}

/// What there is to be told.
struct Facts<'a> {
    /// Without and with the charges of importing; none where prices are hidden, or nothing has a price.
    sums: Option<(Dec, Dec)>,
    /// Whether all of it is paid.
    paid: bool,
    given: &'a [(String, Option<Dec>)],
    /// What is no part of the bike, and what that comes to.
    apart: (Vec<&'a str>, Dec),
    /// What it weighs on the basis of the comparison; none where nothing has a mass.
    weight: Option<Grams>,
    scale: Option<&'a OnScale>,
    on_it: &'a [String],
    bikes: Vec<Beside<'a>>,
}

impl Showing<'_> {
    fn facts(&self) -> Result<Facts<'_>, Overflow> {
        let totals = &self.landed.totals;
        let landed = totals.landed()?;
        let a = &totals.amounts;
        let import =
            HomeMoney::total(Sum::DOOR.into_iter().chain([Sum::AtSale]).map(|sum| a[sum]))?;
        let without = landed.minus(import)?.amount();
        let told = self.figures.hidden.is_none() && !landed.is_zero();
        let scale = self.more.whole.as_ref();
        let mass = scale.map_or(totals.mass, OnScale::likely);
        Ok(Facts {
            sums: told.then(|| (without, landed.amount())),
            paid: totals.to_pay.is_zero(),
            given: &self.more.owned.given,
            apart: self.apart()?,
            weight: (!mass.0.is_zero()).then_some(mass),
            scale,
            on_it: &self.more.owned.on_it,
            bikes: self.beside()?,
        })
    }

    /// Rows that carry money and no mass, such as tools and shop work.
    fn apart(&self) -> Result<(Vec<&str>, Dec), Overflow> {
        let workshop = |places: &[String]| {
            !places.iter().any(|place| {
                let place = self.jurisdiction.place(place);
                place.is_some_and(|place| !place.is_workshop())
            })
        };
        let (mut names, mut sum) = (Vec::new(), Dec::ZERO);
        for line in self.landed.bills.iter().flat_map(|bill| &bill.lines) {
            if workshop(&line.places) {
                names.push(line.part.as_str());
                sum = sum.plus(line.amounts.landed()?.amount())?;
            }
        }
        for held in &self.landed.held {
            if let Some(paid) = held.paid.filter(|_| workshop(&held.places)) {
                names.push(held.part.as_str());
                sum = sum.plus(paid.amount())?;
            }
        }
        names.sort_unstable();
        Ok((names, sum))
    }

    /// Every complete bike, unless parts of the build are missing: half a bike is beside none.
    fn beside(&self) -> Result<Vec<Beside<'_>>, Overflow> {
        let Some(comparison) = self.comparison.filter(|one| one.mine.is_weighable()) else {
            return Ok(Vec::new());
        };
        let mine = &comparison.mine;
        let priced = mine.is_judged() && self.figures.hidden.is_none();
        let bikes = comparison.bikes.iter().map(|bike| {
            Ok(Beside {
                name: &bike.reference.name,
                less: priced.then(|| bike.difference.cost.negated()),
                lighter: bike.difference.saved,
            })
        });
        bikes.collect()
    }

    fn basis(&self) -> String {
        format!("on the {} basis", self.ask.basis.name())
    }
}

/// The sentences, each with its sums by `about`; nothing is said of what there is not.
pub(super) fn sentences(
    showing: &Showing<'_>,
    about: &dyn Fn(Dec) -> String,
) -> Result<Vec<String>, Overflow> {
    let facts = showing.facts()?;
    let hidden = showing.figures.hidden.is_some();
    let sums = facts.sums.map(|(without, with)| {
        if without == with {
            format!("There are no import charges in the {}.", about(with))
        } else {
            let (without, with) = (about(without), about(with));
            if facts.paid {
                format!("Without import charges, {without} was paid; with them, {with}.")
            } else {
                format!("Without import charges it comes to {without}; with them to {with}.")
            }
        }
    });
    let worth = |(name, value): &(String, Option<Dec>)| match value {
        _ if hidden => name.clone(),
        Some(value) => format!("{name}, worth {}", about(*value)),
        None => format!("{name}, of which no value is known"),
    };
    let given: Vec<String> = facts.given.iter().map(worth).collect();
    let given = (!given.is_empty())
        .then(|| format!("Given, and not in any sum paid: {}.", given.join("; ")));
    let (apart, cost) = &facts.apart;
    let names: Vec<String> = apart.iter().map(|name| (*name).to_owned()).collect();
    let apart = (!names.is_empty()).then(|| match facts.sums {
        Some((_, with)) if with.minus(*cost).is_ok() => format!(
            "Tools, supplies and shop work are {} of that: {}; the bike alone comes to {}.",
            about(*cost),
            few(&names),
            about(with.minus(*cost).unwrap_or(with))
        ),
        _ => format!(
            "Tools, supplies and shop work are no part of the bike: {}.",
            few(&names)
        ),
    });
    let all = [sums, given, apart, weight(showing, &facts)];
    let mut found: Vec<String> = all.into_iter().flatten().collect();
    found.extend(bikes(showing, &facts, about));
    Ok(found)
}

/// What it weighs, as the scale said it where it did, and with what on it.
fn weight(showing: &Showing<'_>, facts: &Facts<'_>) -> Option<String> {
    let mass = facts.weight?;
    let basis = showing.basis();
    let Some(scale) = facts.scale else {
        let unknown = &showing.landed.totals.mass_unknown;
        let aside = if unknown.is_empty() {
            String::new()
        } else {
            format!(", {} aside, of which no mass is known", few(unknown))
        };
        return Some(format!(
            "It has not been weighed whole; its parts add up to {} grams {basis}{aside}.",
            mass.grouped()
        ));
    };
    let on = on_it(facts);
    let same = scale.basis == showing.ask.basis;
    let there = if same {
        String::new()
    } else {
        format!("; that is {} grams {basis}", mass.grouped())
    };
    let day = scale
        .date
        .map_or_else(String::new, |day| format!(" on {}", day.in_words()));
    Some(format!(
        "Weighed whole{day}, with {on}, it is {} grams{there}.",
        scale.read.grouped()
    ))
}

/// What was on the bike that lay on the scale.
fn on_it(facts: &Facts<'_>) -> String {
    if facts.on_it.is_empty() {
        "nothing on it that a shop leaves off".to_owned()
    } else {
        format!("{} on it", list(facts.on_it, "and"))
    }
}

/// How the build differs from a bike, in words.
fn differs(beside: &Beside<'_>, about: &dyn Fn(Dec) -> String) -> String {
    let grams = beside.lighter.0;
    let mass = if grams.is_zero() {
        "weighs the same".to_owned()
    } else {
        let word = if grams.is_negative() {
            "heavier"
        } else {
            "lighter"
        };
        format!("is {} grams {word}", Grams(grams.abs()).grouped())
    };
    match beside.less {
        None => mass,
        Some(less) if less.is_zero() => format!("costs the same and {mass}"),
        Some(less) => {
            let word = if less.is_negative() { "more" } else { "less" };
            format!("costs {} {word} and {mass}", about(less.abs()))
        }
    }
}

fn bikes(
    showing: &Showing<'_>,
    facts: &Facts<'_>,
    about: &dyn Fn(Dec) -> String,
) -> Option<String> {
    if facts.bikes.is_empty() {
        return None;
    }
    let bought = if facts.bikes.iter().any(|bike| bike.less.is_some()) {
        let unknown = showing.comparison.map(|one| few(&one.mine.price_unknown));
        match unknown.filter(|names| !names.is_empty()) {
            Some(names) => format!(
                " and at what it would cost to buy again without tools, {names} aside, of which no price is known"
            ),
            None => " and at what it would cost to buy again without tools".to_owned(),
        }
    } else {
        String::new()
    };
    let each = |bike: &Beside<'_>| format!("beside {} it {}", bike.name, differs(bike, about));
    let all: Vec<String> = facts.bikes.iter().map(each).collect();
    let first = capital(&showing.basis());
    Some(format!("{first}{bought}, {}.", all.join("; ")))
}

/// The lines of the card: what, and the figure.
fn lines(showing: &Showing<'_>) -> Result<Vec<[String; 2]>, Overflow> {
    let facts = showing.facts()?;
    let money = |amount: Dec| showing.figures.money(amount);
    let mut found = Vec::new();
    let mut line = |what: String, figure: String| found.push([what, figure]);
    if let Some((without, with)) = facts.sums {
        line("without import charges".to_owned(), money(without));
        line("with import charges".to_owned(), money(with));
    }
    for (name, value) in facts.given {
        let (what, worth) = match value {
            _ if showing.figures.hidden.is_some() => ("given".to_owned(), name.clone()),
            Some(value) => (format!("given: {name}"), format!("worth {}", money(*value))),
            None => (format!("given: {name}"), "value not known".to_owned()),
        };
        line(what, worth);
    }
    let (apart, cost) = &facts.apart;
    if let Some((_, with)) = facts.sums.filter(|_| !apart.is_empty()) {
        line(
            "tools, supplies and shop work in it".to_owned(),
            money(*cost),
        );
        line("the bike alone".to_owned(), money(with.minus(*cost)?));
    }
    if let Some(mass) = facts.weight {
        let basis = showing.ask.basis.name();
        if let Some(scale) = facts.scale {
            let read = format!("{} g", scale.read.grouped());
            line(format!("weighed with {}", on_it(&facts)), read);
        }
        if facts
            .scale
            .is_none_or(|scale| scale.basis != showing.ask.basis)
        {
            let what = if facts.scale.is_some() {
                "that is"
            } else {
                "parts add up to"
            };
            line(
                format!("{what}, {basis} basis"),
                format!("{} g", mass.grouped()),
            );
        }
    }
    for bike in &facts.bikes {
        let words = differs(bike, &money).replace(" grams", " g");
        let words = words.replace("costs ", "").replace("is ", "");
        line(format!("beside {}", bike.name), words);
    }
    let unknown = showing.comparison.map(|one| &one.mine.price_unknown);
    let unknown = unknown.filter(|names| !names.is_empty());
    if let Some(names) = unknown.filter(|_| facts.bikes.iter().any(|bike| bike.less.is_some())) {
        line("no price is known of".to_owned(), few(names));
    }
    if facts.scale.is_none() && !showing.landed.totals.mass_unknown.is_empty() {
        let names = few(&showing.landed.totals.mass_unknown);
        line("no mass is known of".to_owned(), names);
    }
    Ok(found)
}

/// The card; none where there is nothing to tell.
pub(super) fn telling(
    showing: &Showing<'_>,
    shape: Shape,
    foot: &Foot,
) -> Result<Option<Picture>, Overflow> {
    let lines = lines(showing)?;
    Ok((!lines.is_empty()).then(|| card(&lines, shape, foot)))
}
