//! A line of its own in whole numbers: what the seller asks, what the rules say, what is paid. None wherever a figure is not
//! whole, and the engine of bills is asked instead.

use super::columns::Amounts;
use super::dates::Day;
use super::figures::read_units;
use super::lane::{FreightPlan, InsurancePlan, Lane};
use super::offer::Offer;
use crate::landed::Desk;
use crate::rules::{LineAmounts, LineCharges, Swift, WholeRate, divide};
use crate::tables::Collect;
use crate::units::Mode;

/// Ten-thousandths of a percent in one.
const WHOLE: i128 = 1_000_000;

pub(super) fn price(offer: &Offer<'_>, lane: &Lane, program: Option<&Swift>, day: &Day, desk: &Desk<'_>) -> Option<Amounts> {
    if !lane.plain || (program.is_none() && !lane.home) {
        return None;
    }
    let asked = asked(offer, lane)?;
    let charges = match program {
        Some(program) => program.apply(&asked.line, day.customs?)?,
        None => LineCharges::default(),
    };
    let paid = pay(&asked, charges.sale_tax, lane, day.market?, desk)?;
    let [goods, discount, freight, insurance, sale_tax, card_fee] = paid;
    let landed = goods - discount + freight + insurance + charges.duty + charges.remedy + sale_tax + charges.tax + charges.fee + card_fee;
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
        collected: if lane.home { "in-price" } else { word(charges.collect.0) },
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
}

fn asked(offer: &Offer<'_>, lane: &Lane) -> Option<Asked> {
    let price = read_units(offer.price, lane.digits)?;
    let list = price.checked_mul(offer.quantity)?;
    let off = i64::try_from(divide(i128::from(list) * i128::from(offer.discount), WHOLE, Mode::HalfUp)).ok()?;
    let goods = list - off;
    let tenths = offer.tenths.unwrap_or(0).checked_mul(offer.quantity)?;
    let freight = if lane.free_over.is_some_and(|over| list > over) { 0 } else { freight(&lane.freight, tenths)? };
    let insurance = match lane.insurance {
        InsurancePlan::Flat(amount) => amount,
        InsurancePlan::Share(percent) => {
            i64::try_from(divide(i128::from(goods.checked_add(freight)?) * i128::from(percent), WHOLE, Mode::HalfUp)).ok()?
        }
    };
    Some(Asked { line: LineAmounts { list, goods, freight, insurance, pieces: offer.quantity, tenths }, off })
}

fn freight(plan: &FreightPlan, tenths: i64) -> Option<i64> {
    let steps = match plan {
        FreightPlan::Flat(amount) => return Some(*amount),
        FreightPlan::Steps(steps) => steps,
    };
    let (up_to, price, by_gram) = steps.iter().find(|(up_to, _, _)| up_to.is_none_or(|up_to| tenths <= up_to))?;
    match up_to {
        Some(up_to) if *by_gram && *up_to > 0 => {
            i64::try_from(divide(i128::from(*price) * i128::from(tenths), i128::from(*up_to), Mode::HalfUp)).ok()
        }
        _ => Some(*price),
    }
}

/// Converts the payment once, and shares it back by largest remainder: goods, discount, freight, insurance, tax at the
/// sale, and the card's fee on the whole.
fn pay(asked: &Asked, sale_tax: i64, lane: &Lane, rate: WholeRate, desk: &Desk<'_>) -> Option<[i64; 6]> {
    let line = &asked.line;
    let cells = [line.list, -asked.off, line.freight, line.insurance, sale_tax];
    let (from, to) = (lane.digits, desk.currency().digits());
    let sum: i128 = cells.iter().map(|cell| i128::from(*cell)).sum();
    let (over, under) = rate.fraction(sum, from, to)?;
    let paid = divide(over, under, Mode::HalfUp);
    let mut shares = [0_i128; 5];
    let mut rests = [(0_i128, 0_usize); 5];
    let mut left = paid;
    for (at, cell) in cells.iter().enumerate() {
        let (over, under) = rate.fraction(i128::from(*cell), from, to)?;
        shares[at] = over.div_euclid(under);
        rests[at] = (over.rem_euclid(under), at);
        left -= shares[at];
    }
    rests.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    for (_, at) in rests {
        if left <= 0 {
            break;
        }
        shares[at] += 1;
        left -= 1;
    }
    shares[0] += left;
    let percent = lane.card.0.in_units(4)?;
    let card = divide(paid.checked_mul(percent)?, WHOLE, Mode::HalfUp);
    let minor = |amount: i128| i64::try_from(amount).ok();
    Some([minor(shares[0])?, minor(-shares[1])?, minor(shares[2])?, minor(shares[3])?, minor(shares[4])?, minor(card)?])
}
