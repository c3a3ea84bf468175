//! What is paid to the seller, written as a form: summed in the seller's money, converted once, the card's fee taken on that,
//! and both shared back so that the parts add up. Its exchange rate is the market's.

use std::sync::Arc;

use super::maker::Maker;
use super::{Form, Id, Input, Measure, Op, Origin, SaleInput, Settle, Term};
use crate::rules::sale::{Given, Payer};
use crate::units::{Overflow, Rounding, SellerMoney};

/// Where the answers stand.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Paying {
    /// Goods, discounts below zero, freight, insurance and tax at the sale of each line, in the seller's money.
    pub(crate) cells: [Id; 5],
    /// The same converted exactly.
    pub(crate) exact: [Id; 5],
    /// The sum in the seller's money.
    pub(crate) sum: Id,
    /// The sum converted and rounded.
    pub(crate) converted: Id,
    /// Goods, discounts below zero, freight, insurance and tax at the sale of each line, in the destination's money.
    pub(crate) shares: [Id; 5],
    /// The card's fee.
    pub(crate) card_fee: Id,
    /// Each line's share of it.
    pub(crate) card_shares: Id,
    /// The price tags converted.
    pub(crate) tags: Id,
}

/// The payment of a parcel, what the seller asks and the tax at the sale being supplied; `typed` are its price tags.
pub(crate) fn lower_paying(
    lines: usize,
    typed: SellerMoney,
    payer: Payer,
) -> Result<(Form, Paying), Overflow> {
    Maker::new(lines).written(|make| make.paying(typed, payer))
}

/// The same with the card's fee kept apart, so that it can be changed.
pub(super) fn lower_paying_live(
    lines: usize,
    payer: Payer,
    card: Origin,
) -> Result<(Form, Paying), Overflow> {
    let mut make = Maker::new(lines);
    make.origin = Some(card);
    make.written(|make| make.paying(SellerMoney::ZERO, payer))
}

/// The same as [`lower_paying`] for packages that hold some of the lines.
pub(crate) fn lower_paying_open(
    lines: usize,
    typed: SellerMoney,
    payer: Payer,
) -> Result<(Form, Paying), Overflow> {
    Maker::open(lines).written(|make| make.paying(typed, payer))
}

impl Maker {
    pub(super) fn paying(&mut self, typed: SellerMoney, payer: Payer) -> Result<Paying, Overflow> {
        let minor = Some(Rounding::minor(payer.digits));
        let cells = self.cells(payer)?;
        let mut sum = self.zero();
        for cell in cells {
            let whole = self.total(cell)?;
            sum = self.plus(sum, whole)?;
        }
        let exact = cells.map(|cell| self.home(cell));
        let converted = self.home(sum);
        let converted = self.round(converted, minor)?;
        let typed = if payer.gift { SellerMoney::ZERO } else { typed };
        let typed = self.money(typed.amount(), Measure::Seller);
        let tags = self.home(typed);
        let card_fee = self.share_of(Given::Known(payer.card), Term::CardFee, converted)?;
        let card_fee = self.round(card_fee, minor)?;
        let (goods, all) = (self.input(Input::Goods), self.sure(true));
        Ok(Paying {
            cells,
            exact,
            sum,
            converted,
            shares: self.settle(converted, exact, payer.digits),
            card_fee,
            card_shares: self.spread(card_fee, goods, all, payer.digits),
            tags: self.round(tags, minor)?,
        })
    }

    /// What is to be paid for each line in the seller's money; nobody pays for a gift.
    fn cells(&mut self, payer: Payer) -> Result<[Id; 5], Overflow> {
        let zero = self.zero();
        if payer.gift {
            return Ok([zero; 5]);
        }
        Ok([
            self.input(Input::List),
            self.input(Input::Sale(SaleInput::Off)),
            self.input(Input::Freight),
            self.input(Input::Insurance),
            self.tax_at_sale(payer)?,
        ])
    }

    /// Tax at the sale. What a price held of it is what was taken out, so that goods and tax are again the price that was typed;
    /// tax on freight and insurance is added as the rules have it.
    fn tax_at_sale(&mut self, payer: Payer) -> Result<Id, Overflow> {
        let by_rules = self.input(Input::Sale(SaleInput::SaleTax));
        if !payer.held {
            return Ok(by_rules);
        }
        let held = self.input(Input::Sale(SaleInput::TaxHeld));
        let [goods, freight, insurance] =
            [Input::Goods, Input::Freight, Input::Insurance].map(|input| self.input(input));
        let beside = self.plus(freight, insurance)?;
        let base = self.plus(goods, beside)?;
        let on_them = self.proportion(by_rules, beside, base);
        let on_them = self.round(on_them, Some(Rounding::minor(payer.paid_digits)))?;
        let both = self.plus(held, on_them)?;
        let is_held = self.some(held)?;
        self.choose(is_held, both, by_rules)
    }

    /// An amount times one amount over another of the same money. The product is of no money, and stands only under its divisor.
    fn proportion(&mut self, a: Id, part: Id, of: Id) -> Id {
        let (measure, by_line) = (self.measure(a), self.by_line(&[a, part, of]));
        let product = self.add(Op::Times(a, part), Measure::Plain, by_line);
        self.add(Op::Over(product, of), measure, by_line)
    }

    /// Brings exact parts to whole minor units that add up to a rounded whole.
    fn settle(&mut self, whole: Id, parts: [Id; 5], digits: u32) -> [Id; 5] {
        if self.is_zero(whole) {
            return parts;
        }
        let (measure, by_line) = (self.measure(whole), !self.single());
        let all: Arc<[Id]> = parts.into();
        [0, 1, 2, 3, 4].map(|nth| {
            let how = Settle {
                whole,
                parts: Arc::clone(&all),
                nth,
                digits,
            };
            self.add(Op::Settle(how), measure, by_line)
        })
    }
}
