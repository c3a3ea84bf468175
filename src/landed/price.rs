//! What the seller asks, in the seller's money: goods, discounts, freight, insurance, line by line.

use super::discount;
use super::freight;
use super::jurisdiction::Jurisdiction;
use super::parcel::{Consignment, group};
use crate::book::{Book, Discount, Freight, Included, Insurance, Part};
use crate::rules::{AskedLine, Carriage, Given, Held, Sale, SaleLine, Worth, ask};
use crate::text::{Cell, Diagnostic, Problems, words};
use crate::units::{
    Currency, Date, Dec, Grams, HomeMoney, Overflow, Percent, Rounding, SellerMoney,
};

/// What the seller asks for one consignment.
#[derive(Debug, Clone)]
pub(super) struct Priced<'a> {
    /// The seller's money.
    pub(crate) currency: Currency,
    /// Line by line, as the consignment's rows.
    pub(crate) lines: Vec<AskedLine>,
    /// The price tags as they were typed, times how many.
    pub(crate) typed: SellerMoney,
    /// Discounts that were used, each with what it took.
    pub(crate) used: Vec<(&'a Discount, SellerMoney)>,
    /// Mass of the parcel, for freight.
    pub(crate) packed: Grams,
    /// Parts whose mass was taken from their place's usual range.
    pub(crate) guessed: Vec<&'a str>,
    /// Whether nobody has said what carrying costs.
    pub(crate) freight_unknown: bool,
}

/// Which tax the prices are read as holding.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Reading<'a> {
    /// As the seller's row says; a sale tax of these percentages is taken out, line by line.
    Net(&'a [Percent]),
    /// As typed.
    Typed,
}

/// What the seller offers for one consignment, before anything is calculated.
pub(super) struct Offer<'a, 'r> {
    /// The seller's money.
    pub(crate) currency: Currency,
    /// The terms.
    pub(crate) sale: Sale<'r>,
    /// Prices, pieces and masses, as the consignment's rows.
    pub(crate) lines: Vec<SaleLine>,
    /// Discounts that may hold, as those of the terms.
    pub(crate) discounts: Vec<&'a Discount>,
    /// Parts whose mass was taken from their place's usual range.
    pub(super) guessed: Vec<&'a str>,
    /// Mass of the parcel as packed.
    mass: Grams,
    /// The mass that freight is charged for; where that cannot be found, why.
    pub(super) charged: Result<Grams, Diagnostic>,
}

/// Calculates what the seller asks, by the form of the sale.
pub(super) fn price<'a>(
    book: &'a Book,
    consignment: &Consignment<'a>,
    jurisdiction: &Jurisdiction<'_>,
    reading: Reading<'_>,
) -> Result<Priced<'a>, Diagnostic> {
    let offer = offer(book, consignment, jurisdiction, reading)?;
    let asked = ask(&offer.sale, &offer.lines)?;
    let packed = if asked.free {
        offer.mass
    } else {
        offer.charged?
    };
    let used = offer.discounts.into_iter().zip(asked.taken);
    Ok(Priced {
        currency: offer.currency,
        lines: asked.lines,
        typed: asked.typed,
        used: used
            .filter_map(|(discount, taken)| Some((discount, taken?)))
            .collect(),
        packed,
        guessed: offer.guessed,
        freight_unknown: consignment.freight == Freight::Unknown && !asked.free,
    })
}

/// The terms of a consignment's sale, and its lines as the seller sells them.
pub(super) fn offer<'a: 'r, 'r>(
    book: &'a Book,
    consignment: &Consignment<'a>,
    jurisdiction: &Jurisdiction<'_>,
    reading: Reading<'r>,
) -> Result<Offer<'a, 'r>, Diagnostic> {
    // A row that names no money is in the destination's.
    let currency = consignment
        .rows
        .first()
        .and_then(|row| row.currency)
        .unwrap_or(jurisdiction.currency());
    let digits = currency.digits();
    let (masses, guessed) = packed_masses(consignment, jurisdiction)?;
    let mass = Grams::total(masses.iter().copied())?;
    let rows = consignment.rows.iter().zip(masses);
    let lines = rows.map(|(row, packed)| {
        Ok(SaleLine {
            price: jurisdiction.what_if.price_of(row, digits)?,
            pieces: row.quantity,
            packed,
        })
    });
    let lines = lines.collect::<Result<Vec<_>, Overflow>>()?;
    // a parcel that travels free asks for no schedule, and is not refused where there is none
    let looked_up = asked_freight(book, consignment, jurisdiction, currency, mass);
    let freight = looked_up
        .as_ref()
        .map_or(SellerMoney::ZERO, |(freight, _)| *freight);
    let discounts = discount::holding(book, consignment);
    let freight = jurisdiction
        .what_if
        .freight_of(freight, consignment, digits)?;
    let (carriage, by) = (Given::Known(freight), (reading, jurisdiction));
    let sale = terms(consignment, &discounts, carriage, by, digits);
    Ok(Offer {
        currency,
        sale,
        lines,
        discounts,
        guessed,
        mass,
        charged: looked_up.map(|(_, charged)| charged),
    })
}

/// The terms of a consignment's sale.
pub(super) fn terms<'t>(
    consignment: &Consignment<'_>,
    discounts: &[&'t Discount],
    carriage: Given<SellerMoney>,
    (reading, jurisdiction): (Reading<'t>, &Jurisdiction<'_>),
    digits: u32,
) -> Sale<'t> {
    let code = |discount: &&'t Discount| discount::code(discount, &consignment.rows);
    Sale {
        lines: consignment.rows.len(),
        digits,
        codes: discounts.iter().map(code).collect(),
        carriage: Carriage::Amount(carriage),
        free_over: consignment
            .seller
            .and_then(|seller| seller.free_freight_over)
            .map(|over| Given::Known(SellerMoney::of(over))),
        freight_anyway: jurisdiction.what_if.tells_freight(consignment),
        insurance: consignment.insurance.map(|insurance| match insurance {
            Insurance::Amount(amount) => Worth::Amount(Given::Known(SellerMoney::of(amount))),
            Insurance::Share(percent) => Worth::Share(Given::Known(percent)),
        }),
        held: match (consignment.tax_to_take_out(jurisdiction), reading) {
            (Included::Nothing, _) | (Included::SaleTax, Reading::Typed) => Held::Nothing,
            (Included::Own(own), _) => Held::Own(own),
            (Included::SaleTax, Reading::Net(percents)) => Held::AtSale(percents),
        },
    }
}

/// Packed masses of the rows: as told, else the mass of the part and what lies in its box, else the middle of the
/// place's usual range.
pub(super) fn packed_masses<'a>(
    consignment: &Consignment<'a>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<(Vec<Grams>, Vec<&'a str>), Overflow> {
    let mut guessed = Vec::new();
    let mut masses = Vec::with_capacity(consignment.rows.len());
    for row in &consignment.rows {
        let held = consignment
            .bundled
            .iter()
            .filter(|b| b.comes_with.as_deref() == Some(row.name.as_str()));
        let mass = match (row.packed, jurisdiction.what_if.mass_of(row)?) {
            (Some(packed), _) => packed.times(row.quantity)?,
            (None, Some(mass)) => {
                let held = held
                    .filter_map(|b| jurisdiction.what_if.mass_of(b).transpose())
                    .collect::<Result<Vec<_>, _>>()?;
                Grams::total(std::iter::once(mass).chain(held))?
            }
            (None, None) => {
                guessed.push(row.name.as_str());
                usual_mass(row, jurisdiction)?
            }
        };
        masses.push(mass);
    }
    Ok((masses, guessed))
}

/// The middle of the usual range of a part's places, for its pieces.
pub(super) fn usual_mass(row: &Part, jurisdiction: &Jurisdiction<'_>) -> Result<Grams, Overflow> {
    let mut total = Dec::ZERO;
    for place in row
        .places
        .iter()
        .filter_map(|name| jurisdiction.place(name))
    {
        let Some((low, high)) = place.usual else {
            continue;
        };
        let middle = low.plus(high)?.0.over(Dec::from(2_u32))?;
        // A place that tells no number of pieces holds one.
        let pieces = place.pieces.unwrap_or(1).max(1);
        let share = if row.quantity < pieces && row.quantity > 1 {
            middle
                .times(Dec::from(row.quantity))?
                .over(Dec::from(pieces))?
        } else {
            middle
        };
        total = total.plus(share)?;
    }
    Ok(Grams(total.max(Dec::ZERO)))
}

/// The freight the seller asks where the goods do not travel free, and the mass it was charged for.
fn asked_freight(
    book: &Book,
    consignment: &Consignment<'_>,
    jurisdiction: &Jurisdiction<'_>,
    currency: Currency,
    mass: Grams,
) -> Result<(SellerMoney, Grams), Diagnostic> {
    match &consignment.freight {
        Freight::Unknown => Ok((SellerMoney::ZERO, mass)),
        Freight::Amount(amount) => Ok((SellerMoney::of(*amount), mass)),
        Freight::Schedule(name) => {
            let steps = jurisdiction.schedule(
                name,
                consignment.dispatch.code(),
                consignment.channel.name(),
                consignment.ordered,
            );
            let Some(first) = steps.first() else {
                return Err(no_schedule(
                    name,
                    book,
                    consignment,
                    consignment.ordered,
                    jurisdiction,
                ));
            };
            let charged = freight::charged_mass(&steps, mass.0, volume(&consignment.rows)?)?;
            let price = freight::price(&steps, charged)?
                .ok_or_else(|| freight::too_heavy(name, charged, &consignment.id))?;
            let day = consignment.ordered;
            let price = sellers_price(price, first.currency, (currency, day), jurisdiction)?;
            Ok((price, Grams(charged)))
        }
    }
}

/// The price of a schedule in the seller's money.
pub(super) fn sellers_price(
    price: Dec,
    own: Currency,
    (currency, day): (Currency, Date),
    jurisdiction: &Jurisdiction<'_>,
) -> Result<SellerMoney, Diagnostic> {
    let price = if own == currency {
        price
    } else {
        let into_home = jurisdiction.market_rate(own, day)?.rate;
        let to_seller = jurisdiction.market_rate(currency, day)?.rate;
        to_seller.back(into_home.convert(price)?)?
    };
    Ok(SellerMoney::of(price).rounded(Rounding::minor(currency.digits()))?)
}

/// The price of a schedule that a rule names.
pub(super) fn ruled_freight(
    name: &str,
    consignment: &Consignment<'_>,
    jurisdiction: &Jurisdiction<'_>,
    mass: Grams,
) -> Result<HomeMoney, Diagnostic> {
    let nowhere = Book::default();
    let steps = jurisdiction.schedule(
        name,
        consignment.dispatch.code(),
        consignment.channel.name(),
        consignment.arrival,
    );
    let Some(first) = steps.first() else {
        return Err(no_schedule(
            name,
            &nowhere,
            consignment,
            consignment.arrival,
            jurisdiction,
        ));
    };
    let price = freight::price(&steps, mass.0)?
        .ok_or_else(|| freight::too_heavy(name, mass.0, &consignment.id))?;
    let rate = jurisdiction
        .customs_rate(first.currency, consignment.arrival)?
        .quote
        .rate;
    Ok(HomeMoney::of(rate.convert(price)?))
}

/// Why a schedule has no step for a parcel on a day: there is none of that name, it serves other parcels, it has not begun
/// or it has ended.
fn no_schedule(
    name: &str,
    book: &Book,
    consignment: &Consignment<'_>,
    day: Date,
    jurisdiction: &Jurisdiction<'_>,
) -> Diagnostic {
    let (dispatch, channel) = (consignment.dispatch, consignment.channel.name());
    let lane = format!("from {dispatch} by {channel}");
    let at_cell = |what: String| match freight_cell(name, book, consignment) {
        Some(cell) => cell.error(what),
        None => Diagnostic::error(what),
    };
    let add = "write an amount, or add the schedule to `freight.csv` in a folder named by `rates`";
    let quoted = words::quoted(name);
    if jurisdiction.tables.freight_of(name).is_empty() {
        let missing = at_cell(format!("there is no freight schedule {quoted} {lane}"));
        let known = jurisdiction
            .tables
            .freight
            .iter()
            .map(|row| row.rule.schedule.as_str());
        return match words::nearest(name, known) {
            Some(near) => missing.help(format!("did you mean `{near}`?")),
            None => missing.help(add),
        };
    }
    let spans = jurisdiction.schedule_spans(name, dispatch.code(), channel);
    let begins = spans
        .iter()
        .filter_map(|span| span.from)
        .filter(|from| *from > day)
        .min();
    let ended = spans
        .iter()
        .filter_map(|span| span.to)
        .filter(|to| *to < day)
        .max();
    match (begins, ended) {
        (Some(begins), _) => at_cell(format!("the freight schedule {quoted} {lane} is not in force on {day}: it begins on {begins}"))
            .help("write an amount, order on a later day, or add a row to `freight.csv` that is in force on this day"),
        (None, Some(ended)) => at_cell(format!("the freight schedule {quoted} {lane} is not in force on {day}: it ended on {ended}"))
            .help("write an amount, or add a row to `freight.csv` that is in force on this day"),
        (None, None) => at_cell(format!("the freight schedule {quoted} has no step {lane} to {}", jurisdiction.ask.to)).help(add),
    }
}

/// The cell that names a consignment's schedule: the parcel's own, else the seller's.
fn freight_cell<'b>(
    name: &str,
    book: &'b Book,
    consignment: &'b Consignment<'_>,
) -> Option<Cell<'b>> {
    let seller = consignment.seller?;
    let row = consignment.rows.first();
    let cells = row
        .and_then(|row| book.parcel_of(row))
        .map(|row| row.at.cell("freight"))
        .into_iter()
        .chain([seller.at.cell("freight")]);
    cells.into_iter().find(|cell| cell.text() == name)
}

/// Names every cell of the consignments of some rows that asks for a freight schedule which no table has, whether or not the
/// rows are on the bike: what one command refuses all refuse.
pub(crate) fn check_schedules(
    book: &Book,
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
    problems: &mut Problems,
) {
    for consignment in group(book, rows, jurisdiction, &mut Problems::new()) {
        if let Freight::Schedule(name) = &consignment.freight
            && jurisdiction.tables.freight_of(name).is_empty()
        {
            problems.push(no_schedule(
                name,
                book,
                &consignment,
                consignment.ordered,
                jurisdiction,
            ));
        }
    }
}

/// Cubic centimetres of the boxes that are told.
pub(super) fn volume(rows: &[&Part]) -> Result<Dec, Overflow> {
    let boxes = rows
        .iter()
        .filter_map(|row| Some((row.box_cm?, row.quantity)));
    let mut total = Dec::ZERO;
    for ([a, b, c], count) in boxes {
        total = total.plus(a.times(b)?.times(c)?.times(Dec::from(count))?)?;
    }
    Ok(total)
}
