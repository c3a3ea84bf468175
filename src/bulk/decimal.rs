//! Lines by the engine that makes the bill of a book: several together, and those that whole numbers do not serve.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::columns::PricedLine;
use super::day::Day;
use super::offer::{Offer, bad};
use super::terms::Terms;
use super::{BadLine, Wants};
use crate::book::{Book, Discount, Freight, Included, Part, Pays, Scope, Seller, Sender, Worth};
use crate::landed::{
    Bill, BillLine, Consignment, ConsignmentState, EndedCharge, Jurisdiction, bill,
};
use crate::text::{Columns, Problems, Sheet, Spot};
use crate::units::{Country, Date, Dec, Grams, HomeMoney, Mode, Percent, Span, number};

/// A row for parts that stand in no file of a book.
pub(super) struct DecimalPricer {
    spot: Option<Spot>,
    /// What ended of the rules for the lines priced last.
    pub(super) ended: Vec<EndedCharge>,
}

const NAMELESS: Columns = Columns {
    needed: &["line"],
    optional: &[],
    shared: &[],
};

impl DecimalPricer {
    pub(super) fn new() -> DecimalPricer {
        let (text, mut problems) = ("line\n0\n".to_owned(), Problems::new());
        let sheet = Sheet::from_text("price list", text, &NAMELESS, &mut problems);
        DecimalPricer {
            spot: Spot::rows(&Arc::new(sheet)).next(),
            ended: Vec::new(),
        }
    }

    /// Prices lines that travel together.
    pub(super) fn price(
        &mut self,
        offers: &[Offer<'_>],
        terms: &Terms<'_>,
        day: Day,
        jurisdiction: &Jurisdiction<'_>,
    ) -> Result<Vec<PricedLine>, (usize, BadLine)> {
        let (Some(spot), Some(first)) = (&self.spot, offers.first()) else {
            return Ok(Vec::new());
        };
        let seller = terms
            .seller
            .cloned()
            .unwrap_or_else(|| stranger(first, spot));
        let mut parts = Vec::with_capacity(offers.len());
        for (at, offer) in offers.iter().enumerate() {
            parts.push(part(offer, at, terms, &seller.name, spot).map_err(|bad| (at, bad))?);
        }
        let discounts = offers
            .iter()
            .zip(&parts)
            .filter(|(offer, _)| offer.discount > 0);
        let discounts = discounts
            .map(|(offer, part)| discount(offer, part, &seller.name, spot))
            .collect();
        let book = Book {
            sellers: BTreeMap::new(),
            discounts,
            ..Book::default()
        };
        let consignment = Consignment {
            id: seller.name.clone(),
            seller: Some(&seller),
            kind: if seller.sender == Some(Sender::Gift) {
                ConsignmentState::Gift
            } else {
                ConsignmentState::ToOrder
            },
            dispatch: terms.dispatch,
            channel: terms.channel,
            sender: seller.sender.unwrap_or(Sender::Business),
            ordered: day.date,
            arrival: day.arrival,
            freight: seller.freight.clone(),
            insurance: seller.insurance,
            handling: seller.handling,
            rows: parts.iter().collect(),
            bundled: Vec::new(),
        };
        let mut done = bill(&book, &consignment, jurisdiction).map_err(|problem| {
            (
                0,
                BadLine {
                    column: "",
                    what: problem.message,
                },
            )
        })?;
        let told = offers.iter().any(|offer| offer.tenths.is_some());
        let by_mass = matches!(consignment.freight, Freight::Schedule(_))
            || (told && done.amounts.freight.is_positive());
        let wanting =
            |at: usize| by_mass && offers.get(at).is_some_and(|offer| offer.tenths.is_none());
        let lines = done.lines.iter().enumerate();
        let priced = lines
            .map(|(at, line)| {
                amounts(&done, line, wanting(at), jurisdiction).ok_or_else(|| (at, too_large()))
            })
            .collect();
        self.ended = std::mem::take(&mut done.ended);
        priced
    }
}

fn too_large() -> BadLine {
    BadLine {
        column: "price",
        what: "a figure is too large to be calculated exactly".to_owned(),
    }
}

/// A seller the book does not know: a business, by courier, charges at the door.
fn stranger(offer: &Offer<'_>, spot: &Spot) -> Seller {
    Seller {
        name: String::from_utf8_lossy(offer.name).into_owned(),
        dispatch: None,
        currency: None,
        sender: None,
        freight: Freight::Amount(Dec::ZERO),
        free_freight_over: None,
        insurance: None,
        collects_tax: None,
        prices_include: Included::Nothing,
        terms: String::new(),
        channel: None,
        handling: None,
        handling_at: None,
        transit_days: None,
        return_freight: None,
        stated: Vec::new(),
        at: spot.clone(),
    }
}

fn part(
    offer: &Offer<'_>,
    at: usize,
    terms: &Terms<'_>,
    seller: &str,
    spot: &Spot,
) -> Result<Part, BadLine> {
    let text = std::str::from_utf8(offer.price).unwrap_or("");
    let price = number::plain(text)
        .ok()
        .filter(|price| !price.is_negative());
    let currency = terms.currency;
    let fine = price.is_some_and(|price| price.decimals() <= currency.digits());
    Ok(Part {
        seller: Some(seller.to_owned()),
        price: Some(price.filter(|_| fine).ok_or_else(|| {
            bad(
                "price",
                offer.price,
                "expected an amount such as `12.50`, in the currency's minor unit",
            )
        })?),
        currency: Some(currency),
        quantity: u32::try_from(offer.quantity)
            .map_err(|_| BadLine::new("quantity", "more pieces than can be counted"))?,
        mass: offer.tenths.map(|tenths| Grams(Dec::new(tenths, 1))),
        commodity: String::from_utf8_lossy(offer.commodity).into_owned(),
        origin: origin(offer)?,
        ..Part::bare(format!("{at:06}"), spot.clone())
    })
}

/// The country of making, when it is told.
fn origin(offer: &Offer<'_>) -> Result<Option<Country>, BadLine> {
    if offer.origin.is_empty() {
        return Ok(None);
    }
    let found = std::str::from_utf8(offer.origin)
        .ok()
        .and_then(Country::parse);
    found.map(Some).ok_or_else(|| {
        bad(
            "origin",
            offer.origin,
            "expected a country code of ISO 3166-1",
        )
    })
}

fn discount(offer: &Offer<'_>, part: &Part, seller: &str, spot: &Spot) -> Discount {
    Discount {
        code: part.name.clone(),
        seller: seller.to_owned(),
        scope: Scope::Item,
        part: Some(part.name.clone()),
        worth: Worth::Share(Percent(Dec::new(offer.discount, 4))),
        max_off: None,
        min_spend: None,
        order: 0,
        group: String::new(),
        pays: Pays::Price,
        span: Span {
            from: Some(Date::FIRST),
            to: None,
        },
        at: spot.clone(),
    }
}

/// One line's amounts in minor units; values of the whole consignment stand on each of its lines.
fn amounts(
    bill: &Bill,
    line: &BillLine,
    massless: bool,
    jurisdiction: &Jurisdiction<'_>,
) -> Option<PricedLine> {
    let digits = jurisdiction.currency().digits();
    let minor = |amount: HomeMoney| amount.amount().small_units(digits);
    let a = &line.amounts;
    let rounded = |amount: HomeMoney| {
        let amount = amount.amount().round_to(digits, Mode::HalfUp);
        amount.small_units(digits)
    };
    Some(PricedLine {
        figures: [
            minor(a.goods)?,
            minor(a.discount)?,
            minor(a.freight)?,
            minor(a.insurance)?,
            rounded(bill.intrinsic_value)?,
            rounded(bill.customs_value)?,
            minor(a.duty)?,
            minor(a.remedy)?,
            minor(a.tax_at_sale)?,
            minor(a.tax_at_border)?,
            minor(a.handling)?,
            minor(a.card_fee)?,
            minor(a.landed().ok()?)?,
        ],
        collected: bill.tax_collected,
        wants: Wants {
            rate: bill.gaps.contains(&line.part),
            ended: u64::from(bill.ended.iter().any(|one| one.parts.contains(&line.part))),
            massless: u64::from(massless),
        },
        hangs: line.hangs.and_then(minor),
    })
}
