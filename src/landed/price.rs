//! What the seller asks, in the seller's money: goods, discounts, freight, insurance, line by line.

use super::desk::Desk;
use super::discount::{self, Carriage, Goods, Used};
use super::freight;
use super::parcel::{Consignment, group};
use crate::book::{Book, Freight, Included, Insurance, Part};
use crate::text::{Cell, Diagnostic, Problems, words};
use crate::units::{Currency, Date, Dec, Grams, Overflow, Percent, Rounding, share};

/// One line of what the seller asks.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct PricedLine {
    /// Price times quantity.
    pub list: Dec,
    /// What lowers the price.
    pub off: Dec,
    /// What an earlier order or points pay.
    pub credit: Dec,
    /// Its share of the freight.
    pub freight: Dec,
    /// Its share of the insurance.
    pub insurance: Dec,
    /// The destination's tax that its price held.
    pub tax_in_price: Dec,
    /// Its packed mass in grams.
    pub packed_g: Dec,
}

impl PricedLine {
    /// What is to be paid for the goods.
    pub(super) fn net(self) -> Result<Dec, Overflow> {
        self.list.minus(self.off)?.minus(self.credit)
    }
}

/// What the seller asks for one consignment.
#[derive(Debug, Clone)]
pub(super) struct Priced<'a> {
    /// The seller's money.
    pub currency: Currency,
    /// Line by line, as the consignment's rows.
    pub lines: Vec<PricedLine>,
    /// The price tags as they were typed, times how many.
    pub typed: Dec,
    /// The freight before discounts.
    pub asked: Dec,
    /// Discounts that were used.
    pub used: Vec<Used<'a>>,
    /// Mass of the parcel in grams, for freight.
    pub packed_g: Dec,
    /// Parts whose mass was taken from their place's usual range.
    pub guessed: Vec<&'a str>,
    /// Whether nobody has said what carrying costs.
    pub freight_unknown: bool,
}

/// Which tax the prices are read as holding.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Reading<'a> {
    /// As the seller's row says; a sale tax of these percentages is taken out, line by line.
    Net(&'a [Percent]),
    /// As typed.
    Typed,
}

/// Calculates what the seller asks.
pub(super) fn price<'a>(
    book: &'a Book,
    consignment: &Consignment<'a>,
    desk: &Desk<'_>,
    reading: Reading<'_>,
) -> Result<Priced<'a>, Diagnostic> {
    let currency = consignment
        .rows
        .first()
        .and_then(|row| row.currency)
        .unwrap_or(desk.currency());
    let digits = currency.digits();
    let (masses, guessed) = packed_masses(consignment, desk)?;
    let mut goods = consignment
        .rows
        .iter()
        .map(|row| line_goods(row, desk, digits))
        .collect::<Result<Vec<_>, _>>()?;
    let gross_mass = Dec::total(masses.iter().copied())?;
    let spend = Dec::total(goods.iter().map(|g| g.list))?;
    let freight_unknown =
        consignment.freight == Freight::Unknown && !travels_free(consignment, spend);
    let (asked, charged) = asked_freight(book, consignment, desk, currency, spend, gross_mass)?;
    let asked = desk.what_if.freight_of(asked, consignment, digits)?;
    let mut freight = Carriage {
        asked,
        credit: Dec::ZERO,
    };
    let names: Vec<&str> = consignment
        .rows
        .iter()
        .map(|row| row.name.as_str())
        .collect();
    let codes: Vec<_> = book
        .discounts
        .iter()
        .filter(|d| Some(d.seller.as_str()) == consignment.seller.map(|s| s.name.as_str()))
        .collect();
    let used = discount::take(
        &codes,
        &names,
        spend,
        consignment.ordered,
        digits,
        &mut goods,
        &mut freight,
    )?;
    let mut lines = goods
        .iter()
        .zip(&masses)
        .map(|(g, mass)| PricedLine {
            list: g.list,
            off: g.off,
            credit: g.credit,
            packed_g: *mass,
            ..PricedLine::default()
        })
        .collect::<Vec<_>>();
    take_tax_out(
        consignment.tax_to_take_out(desk),
        reading,
        digits,
        &mut lines,
    )?;
    spread(&mut lines, freight.asked, &masses, digits, |line, own| {
        line.freight = own
    })?;
    for (line, own) in lines
        .iter_mut()
        .zip(share(freight.credit, &masses, digits)?)
    {
        line.credit = line.credit.plus(own)?;
    }
    let values: Vec<Dec> = lines
        .iter()
        .map(|l| l.list.minus(l.off))
        .collect::<Result<_, Overflow>>()?;
    let goods_total = Dec::total(values.iter().copied())?;
    let insurance = match consignment.insurance {
        None => Dec::ZERO,
        Some(Insurance::Amount(amount)) => amount,
        Some(Insurance::Share(percent)) => {
            Rounding::minor(digits).apply(percent.of(goods_total.plus(freight.asked)?)?)?
        }
    };
    spread(&mut lines, insurance, &values, digits, |line, own| {
        line.insurance = own
    })?;
    Ok(Priced {
        currency,
        lines,
        typed: spend,
        asked,
        used,
        packed_g: charged,
        guessed,
        freight_unknown,
    })
}

pub(super) fn line_goods(row: &Part, desk: &Desk<'_>, digits: u32) -> Result<Goods, Overflow> {
    let list = desk
        .what_if
        .price_of(row, digits)?
        .times(Dec::from(row.quantity))?;
    Ok(Goods {
        list,
        ..Goods::default()
    })
}

/// Packed masses of the rows: as told, else the mass of the part and what lies in its box, else the middle of the
/// place's usual range.
pub(super) fn packed_masses<'a>(
    consignment: &Consignment<'a>,
    desk: &Desk<'_>,
) -> Result<(Vec<Dec>, Vec<&'a str>), Overflow> {
    let mut guessed = Vec::new();
    let mut masses = Vec::with_capacity(consignment.rows.len());
    for row in &consignment.rows {
        let held = consignment
            .bundled
            .iter()
            .filter(|b| b.comes_with.as_deref() == Some(row.name.as_str()));
        let mass = match (row.packed, desk.what_if.mass_of(row)?) {
            (Some(packed), _) => packed.times(row.quantity)?.0,
            (None, Some(mass)) => {
                let held = held
                    .filter_map(|b| desk.what_if.mass_of(b).transpose())
                    .collect::<Result<Vec<_>, _>>()?;
                Grams::total(std::iter::once(mass).chain(held))?.0
            }
            (None, None) => {
                guessed.push(row.name.as_str());
                usual_mass(row, desk)?
            }
        };
        masses.push(mass);
    }
    Ok((masses, guessed))
}

/// The middle of the usual range of a part's places, for its pieces.
pub(super) fn usual_mass(row: &Part, desk: &Desk<'_>) -> Result<Dec, Overflow> {
    let mut total = Dec::ZERO;
    for place in row.places.iter().filter_map(|name| desk.place(name)) {
        let Some((low, high)) = place.usual else {
            continue;
        };
        let middle = low.plus(high)?.0.over(Dec::from(2_u32))?;
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
    Ok(total.max(Dec::ZERO))
}

/// Whether the goods come to what the seller carries free.
fn travels_free(consignment: &Consignment<'_>, spend: Dec) -> bool {
    consignment
        .seller
        .and_then(|s| s.free_freight_over)
        .is_some_and(|over| spend >= over)
}

/// The freight the seller asks, in the seller's money, and the mass it was charged for.
fn asked_freight(
    book: &Book,
    consignment: &Consignment<'_>,
    desk: &Desk<'_>,
    currency: Currency,
    spend: Dec,
    mass: Dec,
) -> Result<(Dec, Dec), Diagnostic> {
    match &consignment.freight {
        _ if travels_free(consignment, spend) => Ok((Dec::ZERO, mass)),
        Freight::Unknown => Ok((Dec::ZERO, mass)),
        Freight::Amount(amount) => Ok((*amount, mass)),
        Freight::Schedule(name) => {
            let steps = desk.schedule(
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
                    desk,
                ));
            };
            let charged = freight::charged_mass(&steps, mass, volume(consignment)?)?;
            let price = freight::price(&steps, charged)?
                .ok_or_else(|| freight::too_heavy(name, charged, &consignment.id))?;
            let price = if first.currency == currency {
                price
            } else {
                let into_home = desk.market_rate(first.currency, consignment.ordered)?.rate;
                let to_seller = desk.market_rate(currency, consignment.ordered)?.rate;
                to_seller.back(into_home.convert(price)?)?
            };
            Ok((Rounding::minor(currency.digits()).apply(price)?, charged))
        }
    }
}

/// The price of a schedule that a rule names, in the destination's money.
pub(super) fn ruled_freight(
    name: &str,
    consignment: &Consignment<'_>,
    desk: &Desk<'_>,
    mass: Dec,
) -> Result<Dec, Diagnostic> {
    let nowhere = Book::default();
    let steps = desk.schedule(
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
            desk,
        ));
    };
    let price = freight::price(&steps, mass)?
        .ok_or_else(|| freight::too_heavy(name, mass, &consignment.id))?;
    Ok(desk
        .customs_rate(first.currency, consignment.arrival)?
        .quote
        .rate
        .convert(price)?)
}

/// Why a schedule has no step for a parcel on a day: there is none of that name, it serves other parcels, it has not begun
/// or it has ended.
fn no_schedule(
    name: &str,
    book: &Book,
    consignment: &Consignment<'_>,
    day: Date,
    desk: &Desk<'_>,
) -> Diagnostic {
    let (dispatch, channel) = (consignment.dispatch, consignment.channel.name());
    let lane = format!("from {dispatch} by {channel}");
    let at_cell = |what: String| match freight_cell(name, book, consignment) {
        Some(cell) => cell.error(what),
        None => Diagnostic::error(what),
    };
    let add = "write an amount, or add the schedule to `freight.csv` in a folder named by `rates`";
    let quoted = words::quoted(name);
    if desk.tables.freight_of(name).is_empty() {
        let missing = at_cell(format!("there is no freight schedule {quoted} {lane}"));
        let known = desk
            .tables
            .freight
            .iter()
            .map(|row| row.rule.schedule.as_str());
        return match words::nearest(name, known) {
            Some(near) => missing.help(format!("did you mean `{near}`?")),
            None => missing.help(add),
        };
    }
    let spans = desk.schedule_spans(name, dispatch.code(), channel);
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
        (None, None) => at_cell(format!("the freight schedule {quoted} has no step {lane} to {}", desk.ask.to)).help(add),
    }
}

/// The cell that names a consignment's schedule: the parcel's own, else the seller's.
fn freight_cell<'b>(
    name: &str,
    book: &'b Book,
    consignment: &'b Consignment<'_>,
) -> Option<Cell<'b>> {
    let seller = consignment.seller?;
    let id = |label: &str| {
        if label.is_empty() {
            seller.name.clone()
        } else {
            format!("{}/{label}", seller.name)
        }
    };
    let parcel = book
        .parcels
        .iter()
        .find(|row| row.seller == seller.name && id(&row.parcel) == consignment.id);
    let cells = parcel
        .map(|row| row.at.cell("freight"))
        .into_iter()
        .chain([seller.at.cell("freight")]);
    cells.into_iter().find(|cell| cell.text() == name)
}

/// Names every cell of the consignments of some rows that asks for a freight schedule which no table has, whether or not the
/// rows are on the bike: what one command refuses all refuse.
pub fn check_schedules(book: &Book, rows: &[&Part], desk: &Desk<'_>, problems: &mut Problems) {
    for consignment in group(book, rows, desk, &mut Problems::new()) {
        if let Freight::Schedule(name) = &consignment.freight
            && desk.tables.freight_of(name).is_empty()
        {
            problems.push(no_schedule(
                name,
                book,
                &consignment,
                consignment.ordered,
                desk,
            ));
        }
    }
}

/// Cubic centimetres of the boxes that are told.
fn volume(consignment: &Consignment<'_>) -> Result<Dec, Overflow> {
    let boxes = consignment
        .rows
        .iter()
        .filter_map(|row| Some((row.box_cm?, row.quantity)));
    let mut total = Dec::ZERO;
    for ([a, b, c], count) in boxes {
        total = total.plus(a.times(b)?.times(c)?.times(Dec::from(count))?)?;
    }
    Ok(total)
}

/// Takes tax out of prices that hold it: the seller's own for export, or the destination's taken at the sale.
fn take_tax_out(
    included: Included,
    reading: Reading<'_>,
    digits: u32,
    lines: &mut [PricedLine],
) -> Result<(), Overflow> {
    for (at, line) in lines.iter_mut().enumerate() {
        let percent = match (included, reading) {
            (Included::Nothing, _) | (Included::SaleTax, Reading::Typed) => return Ok(()),
            (Included::Own(own), _) => own,
            (Included::SaleTax, Reading::Net(percents)) => {
                percents.get(at).copied().unwrap_or_default()
            }
        };
        let paid = line.list.minus(line.off)?;
        let net = percent.taken_out_of(paid, Rounding::minor(digits))?;
        let list = percent.taken_out_of(line.list, Rounding::minor(digits))?;
        line.list = list.max(net);
        line.off = line.list.minus(net)?;
        if included == Included::SaleTax {
            line.tax_in_price = paid.minus(net)?;
        } else {
            line.credit = line.credit.min(net);
        }
    }
    Ok(())
}

/// Shares an amount over the lines.
fn spread(
    lines: &mut [PricedLine],
    amount: Dec,
    weights: &[Dec],
    digits: u32,
    set: impl Fn(&mut PricedLine, Dec),
) -> Result<(), Overflow> {
    for (line, own) in lines.iter_mut().zip(share(amount, weights, digits)?) {
        set(line, own);
    }
    Ok(())
}
