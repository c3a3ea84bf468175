//! What is paid to the seller: summed in the seller's money, converted once, the card's fee taken on that, and both
//! shared back so that the parts add up.

use super::price::Priced;
use crate::tables::Quote;
use crate::units::{Dec, Overflow, Percent, Rounding, share, share_exact};

/// What one line costs at the seller's, in the destination's money.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct PaidLine {
    /// Goods before discount.
    pub goods: Dec,
    /// Discounts and credits.
    pub discount: Dec,
    /// Freight.
    pub freight: Dec,
    /// Insurance.
    pub insurance: Dec,
    /// Tax taken at the sale.
    pub tax_at_sale: Dec,
    /// The card's fee.
    pub card_fee: Dec,
}

/// One payment.
#[derive(Debug, Clone)]
pub(super) struct Payment {
    /// Line by line.
    pub lines: Vec<PaidLine>,
    /// The sum in the seller's money.
    pub sum: Dec,
    /// The sum converted and rounded.
    pub converted: Dec,
    /// The card's fee on it.
    pub card_fee: Dec,
    /// The price tags as they were typed, converted.
    pub tags: Dec,
    /// The rate it was converted by.
    pub quote: Quote,
}

/// Converts what the seller is paid. `sale_tax` is each line's tax at the sale in the seller's money; nobody pays for a
/// gift.
pub(super) fn pay(
    priced: &Priced<'_>,
    sale_tax: &[Dec],
    quote: Quote,
    digits: u32,
    card: Percent,
    gift: bool,
) -> Result<Payment, Overflow> {
    let mut cells = Vec::with_capacity(priced.lines.len() * 5);
    for (line, tax) in priced.lines.iter().zip(sale_tax) {
        let off = line.off.plus(line.credit)?;
        let asked = [line.list, off.negated(), line.freight, line.insurance, *tax];
        cells.extend(if gift { [Dec::ZERO; 5] } else { asked });
    }
    let sum = Dec::total(cells.iter().copied())?;
    let exact = cells
        .iter()
        .map(|cell| quote.rate.convert(*cell))
        .collect::<Result<Vec<_>, _>>()?;
    let rounding = Rounding::minor(digits);
    let converted = rounding.apply(quote.rate.convert(sum)?)?;
    let tags = if gift {
        Dec::ZERO
    } else {
        rounding.apply(quote.rate.convert(priced.typed)?)?
    };
    let card_fee = rounding.apply(card.of(converted)?)?;
    let shared = share_exact(converted, &exact, digits)?;
    let values = priced
        .lines
        .iter()
        .map(|l| l.list.minus(l.off))
        .collect::<Result<Vec<_>, _>>()?;
    let fees = share(card_fee, &values, digits)?;
    let lines = shared
        .chunks_exact(5)
        .zip(fees)
        .map(|(cell, card_fee)| PaidLine {
            goods: cell[0],
            discount: cell[1].negated(),
            freight: cell[2],
            insurance: cell[3],
            tax_at_sale: cell[4],
            card_fee,
        });
    Ok(Payment {
        lines: lines.collect(),
        sum,
        converted,
        card_fee,
        tags,
        quote,
    })
}
