//! A line of its own in whole numbers: what the seller asks, what the rules say, what is paid. None wherever a figure is not
//! whole, and the engine of bills is asked instead.

use super::Wants;
use super::carriage::Step;
use super::columns::PricedLine;
use super::day::Day;
use super::figures::read_units;
use super::offer::Offer;
use super::terms::Terms;
use crate::landed::Jurisdiction;
use crate::rules::{IntegerProgram, LineAmounts, LineCharges, SaleAmounts, Scratch};
use crate::tables::Collect;

/// What a line costs; without a program it crosses no border.
pub(super) fn price(
    offer: &Offer<'_>,
    terms: &mut Terms<'_>,
    program: Option<&IntegerProgram>,
    day: &Day,
    jurisdiction: &Jurisdiction<'_>,
    scratch: &mut Scratch,
) -> Option<PricedLine> {
    let mut asked = ask(offer, terms, day, jurisdiction, scratch)?;
    landed(&mut asked, terms, program, day, scratch)
}

/// What the seller asks for a line.
struct Asked {
    line: LineAmounts,
    /// Whether its freight hangs on a mass that nobody has told.
    massless: bool,
    /// What is paid, once it is known for this tax at the sale.
    paid: Option<(i64, Paid)>,
}

/// Goods, discount below zero, freight, insurance, tax at the sale, and the card's fee.
type Paid = ([i64; 5], i64);

/// What a line lands at that a program is the law of.
fn landed(
    asked: &mut Asked,
    terms: &Terms<'_>,
    program: Option<&IntegerProgram>,
    day: &Day,
    scratch: &mut Scratch,
) -> Option<PricedLine> {
    let charges = match program {
        Some(program) => program.apply(&asked.line, day.customs?, scratch)?,
        None => LineCharges::default(),
    };
    let paid = pay(asked, charges.sale_tax, terms, day, scratch)?;
    let ([goods, off, freight, insurance, sale_tax], card_fee) = paid;
    let discount = off.checked_neg()?;
    let parts = [
        goods,
        off,
        freight,
        insurance,
        charges.duty,
        charges.remedy,
        sale_tax,
        charges.tax,
        charges.fee,
        card_fee,
    ];
    let landed = parts
        .iter()
        .try_fold(0_i64, |sum, part| sum.checked_add(*part))?;
    Some(PricedLine {
        figures: [
            goods,
            discount,
            freight,
            insurance,
            charges.intrinsic_value,
            charges.customs_value,
            charges.duty,
            charges.remedy,
            sale_tax,
            charges.tax,
            charges.fee,
            card_fee,
            landed,
        ],
        wants: Wants {
            rate: charges.gap,
            ended: charges.ended,
            massless: u64::from(asked.massless),
        },
        hangs: None,
        collected: if terms.home {
            "in-price"
        } else {
            word(charges.collect.0)
        },
    })
}

/// What a line costs by the dearest of several programs, of equals by one that knows every rate, of those by the first; and
/// by how much they differ where every rate is known.
#[cold]
pub(super) fn dearest(
    offer: &Offer<'_>,
    terms: &mut Terms<'_>,
    programs: &[&IntegerProgram],
    day: &Day,
    jurisdiction: &Jurisdiction<'_>,
    scratch: &mut Scratch,
) -> Option<PricedLine> {
    let mut all: Vec<PricedLine> = Vec::with_capacity(programs.len());
    let mut asked = ask(offer, terms, day, jurisdiction, scratch)?;
    for program in programs {
        all.push(landed(&mut asked, terms, Some(program), day, scratch)?);
    }
    let rank = |amounts: &PricedLine| (amounts.landed(), !amounts.wants.rate);
    let best = all.iter().copied().reduce(|best, other| {
        if rank(&other) > rank(&best) {
            other
        } else {
            best
        }
    })?;
    let unknown = all.iter().all(|amounts| amounts.wants.rate);
    let known = || {
        all.iter()
            .filter(|amounts| unknown || !amounts.wants.rate)
            .map(PricedLine::landed)
    };
    let hangs = known().max()?.checked_sub(known().min()?)?;
    Some(PricedLine {
        hangs: Some(hangs).filter(|hangs| *hangs > 0),
        ..best
    })
}

fn word(collect: Collect) -> &'static str {
    match collect {
        Collect::AtSale => "at-sale",
        Collect::AtBorder => "at-border",
        Collect::Nowhere => "none",
    }
}

fn ask(
    offer: &Offer<'_>,
    terms: &mut Terms<'_>,
    day: &Day,
    jurisdiction: &Jurisdiction<'_>,
    scratch: &mut Scratch,
) -> Option<Asked> {
    let tenths = offer.tenths.unwrap_or(0).checked_mul(offer.quantity)?;
    let step = terms
        .freight(day, jurisdiction)
        .and_then(|plan| plan.step(tenths));
    // a parcel that travels free needs no step
    let Step { up_to, price, .. } = step.unwrap_or_default();
    let mut line = LineAmounts {
        pieces: offer.quantity,
        tenths,
        mass_known: offer.tenths.is_some(),
        sale: SaleAmounts {
            price: read_units(offer.price, terms.digits)?,
            discount: offer.discount,
            carriage: price,
            carriage_grams: up_to.unwrap_or(0),
            free_over: terms.free_over.unwrap_or(0),
            premium: terms.premium,
            ..SaleAmounts::default()
        },
        ..LineAmounts::default()
    };
    let by_mass = step.is_some_and(|step| step.by_mass);
    let program = terms.programs.ask(by_mass, offer.discount != 0)?;
    let free = program.apply(&mut line, scratch)?;
    let scheduled = step.is_some_and(|step| step.scheduled);
    (free || step.is_some()).then_some(Asked {
        massless: !free && scheduled && !line.mass_known,
        line,
        paid: None,
    })
}

/// What is paid for a line, which is the same under every law that takes this tax at the sale.
fn pay(
    asked: &mut Asked,
    sale_tax: i64,
    terms: &Terms<'_>,
    day: &Day,
    scratch: &mut Scratch,
) -> Option<Paid> {
    if let Some((_, known)) = asked.paid.filter(|(tax, _)| *tax == sale_tax) {
        return Some(known);
    }
    asked.line.sale.sale_tax = sale_tax;
    let paid = terms
        .programs
        .pay()?
        .apply(&asked.line, day.market?, scratch)?;
    asked.paid = Some((sale_tax, paid));
    Some(paid)
}
