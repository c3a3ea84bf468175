//! A line of its own in whole numbers: what the seller asks, what the rules say, what is paid. None wherever a figure is not
//! whole, and the engine of bills is asked instead.

use super::Wants;
use super::columns::Amounts;
use super::day::Day;
use super::figures::read_units;
use super::offer::Offer;
use super::terms::{FreightPlan, InsurancePlan, Terms};
use crate::landed::Desk;
use crate::rules::{LineAmounts, LineCharges, Scale, Scratch, Swift, times_over};
use crate::tables::Collect;
use crate::units::Mode;

/// Ten-thousandths of a percent in one.
const WHOLE: i64 = 1_000_000;

/// What a line costs; without a program it crosses no border.
pub(super) fn price(
    offer: &Offer<'_>,
    terms: &mut Terms<'_>,
    program: Option<&Swift>,
    day: &Day,
    desk: &Desk<'_>,
    scratch: &mut Scratch,
) -> Option<Amounts> {
    let asked = asked(offer, terms, day, desk)?;
    let charges = match program {
        Some(program) => program.apply(&asked.line, day.customs?, scratch)?,
        None => LineCharges::default(),
    };
    let paid = pay(&asked, charges.sale_tax, terms, day.market?)?;
    let [goods, discount, freight, insurance, sale_tax, card_fee] = paid;
    let parts = [
        goods,
        -discount,
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
    Some(Amounts {
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
    programs: &[&Swift],
    day: &Day,
    desk: &Desk<'_>,
    scratch: &mut Scratch,
) -> Option<Amounts> {
    let mut all: Vec<Amounts> = Vec::with_capacity(programs.len());
    for program in programs {
        all.push(price(offer, terms, Some(program), day, desk, scratch)?);
    }
    let rank = |amounts: &Amounts| (amounts.landed(), !amounts.wants.rate);
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
            .map(Amounts::landed)
    };
    let hangs = known().max()?.checked_sub(known().min()?)?;
    Some(Amounts {
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

/// What the seller asks, in minor units of the seller's money.
struct Asked {
    line: LineAmounts,
    off: i64,
    /// Whether its freight hangs on a mass that is not told.
    massless: bool,
}

fn asked(offer: &Offer<'_>, terms: &mut Terms<'_>, day: &Day, desk: &Desk<'_>) -> Option<Asked> {
    let list = read_units(offer.price, terms.digits)?.checked_mul(offer.quantity)?;
    let off = match offer.discount {
        0 => 0,
        discount => share_of(list, discount)?,
    };
    let goods = list - off;
    let tenths = offer.tenths.unwrap_or(0).checked_mul(offer.quantity)?;
    let (mut charged, mut massless) = (0, false);
    if terms.free_over.is_none_or(|over| list < over) {
        let plan = terms.freight(day, desk)?;
        massless = offer.tenths.is_none() && matches!(plan, FreightPlan::Steps(_));
        charged = freight(plan, tenths)?;
    }
    let freight = charged;
    let insurance = match terms.insurance {
        InsurancePlan::Flat(amount) => amount,
        InsurancePlan::Share(percent) => share_of(goods.checked_add(freight)?, percent)?,
    };
    Some(Asked {
        line: LineAmounts {
            list,
            goods,
            freight,
            insurance,
            pieces: offer.quantity,
            tenths,
            mass_known: offer.tenths.is_some(),
        },
        off,
        massless,
    })
}

/// Ten-thousandths of a percent of an amount, rounded half up.
fn share_of(amount: i64, percent: i64) -> Option<i64> {
    times_over(amount, percent, WHOLE, Mode::HalfUp)
}

fn freight(plan: &FreightPlan, tenths: i64) -> Option<i64> {
    let steps = match plan {
        FreightPlan::Flat(amount) => return Some(*amount),
        FreightPlan::Steps(steps) => steps,
    };
    let (up_to, price, by_gram) = steps
        .iter()
        .find(|(up_to, _, _)| up_to.is_none_or(|up_to| tenths <= up_to))?;
    match up_to {
        Some(up_to) if *by_gram && *up_to > 0 => times_over(*price, tenths, *up_to, Mode::HalfUp),
        _ => Some(*price),
    }
}

/// Converts the payment once, and shares it back by largest remainder: goods, discount, freight, insurance, tax at the
/// sale, and the card's fee on the whole.
fn pay(asked: &Asked, sale_tax: i64, terms: &Terms<'_>, scale: Scale) -> Option<[i64; 6]> {
    let line = &asked.line;
    let cells = [
        line.list,
        -asked.off,
        line.freight,
        line.insurance,
        sale_tax,
    ];
    let sum = cells
        .iter()
        .try_fold(0_i64, |sum, cell| sum.checked_add(*cell))?;
    let paid = scale.half_up(sum)?;
    let card = match terms.card {
        0 => 0,
        card => share_of(paid, card)?,
    };
    let mut shares = [0_i64; 5];
    let mut rests = [0_i64; 5];
    let mut left = paid;
    for (at, cell) in cells.iter().enumerate().filter(|(_, cell)| **cell != 0) {
        (shares[at], rests[at]) = scale.floor(*cell)?;
        left = left.checked_sub(shares[at])?;
    }
    for (at, share) in shares.iter_mut().enumerate() {
        let (earlier, later) = rests.split_at(at);
        let before = earlier.iter().filter(|rest| **rest >= rests[at]).count()
            + later.iter().filter(|rest| **rest > rests[at]).count();
        *share = share.checked_add(i64::from(
            i64::try_from(before).is_ok_and(|before| before < left),
        ))?;
    }
    Some([
        shares[0],
        shares[1].checked_neg()?,
        shares[2],
        shares[3],
        shares[4],
        card,
    ])
}
