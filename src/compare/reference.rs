//! One complete bike brought to the build's terms: tax-paid in the destination's money, on the build's basis.

use crate::book::{Bike, Book, Freight, Part, PriceKind};
use crate::landed::{Bill, Cautions, Jurisdiction, Landed, Saying, cost_rows, disputed_kinds};
use crate::text::words;
use crate::units::{Basis, Date, Dec, Grams, Mode, Money};
use crate::value::basis::{Converted, Own, convert};
use crate::value::bike::{as_order, is_abroad};

/// A complete bike on the build's terms.
#[derive(Debug, Clone)]
pub struct Reference {
    /// Its name.
    pub name: String,
    /// What it costs on the doormat, in the destination's money.
    pub price: Dec,
    /// What kind of price that is.
    pub(crate) price_kind: PriceKind,
    /// When the price was seen.
    pub(crate) seen: Option<Date>,
    /// Whether that is its landed cost from a seller abroad.
    pub imported: bool,
    /// The bill of that.
    pub(crate) bills: Vec<Bill>,
    /// Its mass as told.
    pub(crate) told: Grams,
    /// The basis that was told.
    pub(crate) told_basis: Basis,
    /// Its mass on the build's basis, and how that came about.
    pub mass: Converted,
    /// Its size, class and season, as told.
    pub(crate) size: String,
    /// Its class.
    pub(crate) class: String,
    /// Its season.
    pub(crate) season: String,
    /// Where it stands in the book.
    pub(crate) row: String,
}

/// Brings a bike to the build's terms; the error is the reason why it is left out.
pub(super) fn reference(
    bike: &Bike,
    book: &Book,
    own: &Own,
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) -> Result<Reference, String> {
    let told = bike.mass.ok_or("its weight is unknown")?;
    let price = bike.price.ok_or("its price is unknown")?;
    let mass = convert(
        told,
        bike.basis,
        jurisdiction.ask.basis,
        &adding(own, bike, jurisdiction),
        jurisdiction,
    )?;
    let told_basis = bike.basis.unwrap_or(jurisdiction.ask.basis);
    let landed = match &bike.seller {
        Some(seller) if is_abroad(bike, book, jurisdiction) => {
            Some(landed(bike, seller, book, jurisdiction, cautions)?)
        }
        _ => None,
    };
    let (imported, price, bills) = match landed.flatten() {
        Some((landed, bills)) => (true, landed, bills),
        None => (false, converted(bike, price, jurisdiction)?, Vec::new()),
    };
    Ok(Reference {
        name: bike.name.clone(),
        price: price.round_to(jurisdiction.currency().digits(), Mode::HalfUp),
        price_kind: bike.price_kind,
        seen: bike.seen,
        imported,
        bills,
        told,
        told_basis,
        mass,
        size: bike.size.clone(),
        class: bike.class.clone(),
        season: bike.season.clone(),
        row: bike.at.place().to_string(),
    })
}

/// Pieces that go on the bike are the build's own; pieces that come off it are its maker's, and nobody has weighed those.
fn adding(own: &Own, bike: &Bike, jurisdiction: &Jurisdiction<'_>) -> Own {
    if bike
        .basis
        .is_some_and(|basis| basis > jurisdiction.ask.basis)
    {
        Own::new()
    } else {
        own.clone()
    }
}

/// The price at the market rate.
fn converted(bike: &Bike, price: Dec, jurisdiction: &Jurisdiction<'_>) -> Result<Dec, String> {
    let currency = bike.currency.unwrap_or(jurisdiction.currency());
    let quote = jurisdiction
        .market_rate(currency, jurisdiction.ask.date)
        .map_err(|problem| problem.message)?;
    quote
        .rate
        .convert(price)
        .map_err(|overflow| overflow.to_string())
}

/// Says of an imported bike what the tables lack for it, and what was taken as given.
fn pass_on(landed: &Landed, about: &[&str; 1], cautions: &mut Cautions) {
    if landed.bills.iter().any(|bill| !bill.gaps.is_empty()) {
        let saying = Saying::new("No duty rate is known for an imported bicycle of this origin, and its duty is not in the price")
            .so("Ask customs or the carrier.")
            .costs_unknown();
        cautions.say("bike-no-rate", saying, about);
    }
    for one in landed.bills.iter().flat_map(|bill| &bill.ended) {
        let text = format!(
            "`{}` ended {}, and what followed is not known and not in the price of an imported bike",
            one.id, one.on
        );
        let saying = Saying::new(text)
            .so("Look up what applies now.")
            .costs_unknown();
        cautions.say("bike-charge-ended", saying, about);
    }
    let assumed = landed.cautions.iter().filter(|c| c.id == "origin-assumed");
    for caution in assumed {
        cautions.say("bike-origin", caution, about);
    }
}

/// What the bike lands at, as one part in a parcel of its own; none where the destination's tables do not say what a
/// bicycle is to its customs, and the price stands as typed.
fn landed(
    bike: &Bike,
    seller: &str,
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) -> Result<Option<(Dec, Vec<Bill>)>, String> {
    let about = [bike.name.as_str()];
    let Some(own) = as_order(bike, book, jurisdiction) else {
        let saying = Saying::new("The tables do not say what a bicycle is to customs here, so the price of an imported bike is as typed, without its charges")
            .so("Add what customs and the carrier ask for to its price.")
            .costs_unknown();
        cautions.say("bike-as-typed", saying, &about);
        return Ok(None);
    };
    let rows: Vec<&Part> = own.parts.iter().collect();
    let landed = cost_rows(&own, &rows, jurisdiction).map_err(|problems| {
        format!(
            "its landed cost cannot be calculated: {}",
            problems.joined()
        )
    })?;
    let sender = book.sellers.get(seller);
    if sender.is_some_and(|s| s.freight == Freight::Unknown) {
        let saying = Saying::new("Shipping of an imported bike is not known and not in its price")
            .so("Ask the seller, and fill in `freight` of the seller.")
            .costs_unknown();
        cautions.say("bike-freight-unknown", saying, &about);
    }
    pass_on(&landed, &about, cautions);
    if let Some((without, rows)) = landed
        .decided_otherwise()
        .map_err(|overflow| overflow.to_string())?
    {
        let sum = Money::new(without.amount(), jurisdiction.currency());
        let kinds = disputed_kinds(&rows);
        let text = format!(
            "The law behind the price of an imported bike is disputed ({}): decided otherwise its landed cost is {sum}",
            words::list(&kinds, "and")
        );
        let counted = landed
            .totals
            .landed()
            .map_err(|overflow| overflow.to_string())?;
        let difference = without
            .minus(counted)
            .map_err(|overflow| overflow.to_string())?;
        let saying = Saying::new(text).so("Compare with both.").costs(difference);
        cautions.say("bike-disputed", saying, &about);
    }
    let sum = landed
        .totals
        .landed()
        .map_err(|overflow| overflow.to_string())?;
    Ok(Some((sum.amount(), landed.bills)))
}
