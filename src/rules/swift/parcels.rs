//! The seller's side of parcels that hold some of a seller's lines, in whole numbers: what they cost, and the payment. A program is made
//! once for all lines; a parcel names those that it holds.

use super::build::Maker;
use super::fixed::Whole;
use super::many::PackageLine;
use super::run::{Work, in_minor};
use super::sheet::Sheet;
use super::{Charges, Reg, Scratch, WholeRate};
use crate::rules::form::{Input, SaleInput, lower_asking_open, lower_paying_open};
use crate::rules::sale::{Payer, Sale};
use crate::tables::Collect;
use crate::units::SellerMoney;

/// One line that a parcel may hold.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct OfferLine {
    /// The price of one, in minor units of the seller's money.
    pub(crate) price: i64,
    /// How many.
    pub(crate) pieces: i64,
    /// Packed mass in tenths of grams.
    pub(crate) packed: i64,
    /// What all pieces weigh without packing, in tenths of grams; zero where it is not known.
    pub(crate) bare: i64,
}

/// An amount that stands somewhere over a denominator; none for zero.
type Amount = Option<(Reg, i64)>;

/// What the seller asks.
#[derive(Debug, Clone)]
pub(crate) struct Asks {
    sheet: Sheet,
    /// List, off, credit, freight, insurance, tax that the price held.
    amounts: [Amount; 6],
    minor: i64,
}

/// The payment.
#[derive(Debug, Clone)]
pub(crate) struct Pays {
    sheet: Sheet,
    converted: Amount,
    card_fee: Amount,
    minor: i64,
}

/// What the seller asks for one line, in minor units of the seller's money.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct AskedInWhole {
    list: i64,
    off: i64,
    credit: i64,
    freight: i64,
    insurance: i64,
    tax_in_price: i64,
}

impl AskedInWhole {
    /// The line as the law looks at it.
    pub(crate) fn line(&self, offer: &OfferLine) -> Option<PackageLine> {
        Some(PackageLine {
            list: self.list,
            goods: self.list.checked_sub(self.off)?,
            freight: self.freight,
            insurance: self.insurance,
            pieces: offer.pieces,
            packed: offer.packed,
            bare: offer.bare,
        })
    }
}

impl Asks {
    /// Makes the seller's side of all lines, the freight being told for each parcel; none where it cannot be whole numbers.
    pub(crate) fn build(sale: &Sale<'_>) -> Option<Asks> {
        let (form, at) = lower_asking_open(sale).ok()?;
        let mut maker = Maker::new(&form, sale.digits)?;
        let ids = [
            at.list,
            at.off,
            at.credit,
            at.freight,
            at.insurance,
            at.tax_in_price,
        ];
        let mut amounts = [None; 6];
        for (amount, id) in amounts.iter_mut().zip(ids) {
            *amount = maker.money(id)?;
        }
        Some(Asks {
            sheet: Sheet::of(maker),
            amounts,
            minor: 10_i64.checked_pow(sale.digits)?,
        })
    }

    /// What the seller asks for the lines of a parcel, whose freight is told.
    pub(crate) fn ask(
        &self,
        which: &[usize],
        lines: &[OfferLine],
        carriage: i64,
        scratch: &mut Scratch,
    ) -> Option<Vec<AskedInWhole>> {
        let short = self.calculate(which, lines, carriage, &mut scratch.short);
        short.or_else(|| self.calculate(which, lines, carriage, &mut scratch.long))
    }

    fn calculate<N: Whole>(
        &self,
        which: &[usize],
        lines: &[OfferLine],
        carriage: i64,
        room: &mut Vec<N>,
    ) -> Option<Vec<AskedInWhole>> {
        let input = |of: Input, nth: usize| {
            let line = lines.get(*which.get(nth)?)?;
            Some(match of {
                Input::Pieces => line.pieces,
                Input::Sale(SaleInput::Price) => line.price,
                Input::Sale(SaleInput::Packed) => line.packed,
                Input::Sale(SaleInput::Carriage) => carriage,
                _ => return None,
            })
        };
        self.sheet
            .run(which, input, &Work::new(WholeRate::SAME), room)?;
        let of_line = |nth: usize| {
            let mut found = [0; 6];
            for (own, amount) in found.iter_mut().zip(&self.amounts) {
                if let Some((reg, under)) = amount {
                    let figure = self.sheet.at(room, *reg, which.len(), nth)?;
                    *own = in_minor(figure, self.minor, N::from(*under))?;
                }
            }
            let [list, off, credit, freight, insurance, tax_in_price] = found;
            Some(AskedInWhole {
                list,
                off,
                credit,
                freight,
                insurance,
                tax_in_price,
            })
        };
        (0..which.len()).map(of_line).collect()
    }
}

impl Pays {
    /// Makes the payment of all lines; none where it cannot be whole numbers.
    pub(crate) fn build(lines: usize, payer: Payer) -> Option<Pays> {
        let (form, at) = lower_paying_open(lines, SellerMoney::ZERO, payer).ok()?;
        let mut maker = Maker::new(&form, payer.paid_digits)?;
        let (converted, card_fee) = (maker.money(at.converted)?, maker.money(at.card_fee)?);
        Some(Pays {
            sheet: Sheet::of(maker),
            converted,
            card_fee,
            minor: 10_i64.checked_pow(payer.digits)?,
        })
    }

    /// What is paid to the seller for a parcel and to the card's issuer, at the market rate, in minor units of the destination's
    /// money.
    pub(crate) fn pay(
        &self,
        which: &[usize],
        asked: &[AskedInWhole],
        charges: &[Charges],
        rate: WholeRate,
        scratch: &mut Scratch,
    ) -> Option<i64> {
        let short = self.calculate(which, (asked, charges), rate, &mut scratch.short);
        short.or_else(|| self.calculate(which, (asked, charges), rate, &mut scratch.long))
    }

    fn calculate<N: Whole>(
        &self,
        which: &[usize],
        (asked, charges): (&[AskedInWhole], &[Charges]),
        rate: WholeRate,
        room: &mut Vec<N>,
    ) -> Option<i64> {
        let work = Work::new(rate);
        let input = |of: Input, nth: usize| {
            let own = asked.get(nth)?;
            Some(match of {
                Input::List => own.list,
                Input::Goods => own.list.checked_sub(own.off)?,
                Input::Freight => own.freight,
                Input::Insurance => own.insurance,
                Input::Sale(SaleInput::Off) => own.off.checked_add(own.credit)?.checked_neg()?,
                Input::Sale(SaleInput::TaxHeld) => own.tax_in_price,
                Input::Sale(SaleInput::SaleTax) => charges.get(nth)?.sale_tax,
                _ => return None,
            })
        };
        self.sheet.run(which, input, &work, room)?;
        let amount = |amount: Amount| match amount {
            None => Some(0),
            Some((reg, under)) => {
                let figure = self.sheet.at(room, reg, which.len(), 0)?;
                in_minor(figure, self.minor, N::from(under).by(work.over)?)
            }
        };
        amount(self.converted)?.checked_add(amount(self.card_fee)?)
    }
}

/// Whether every line's tax is taken at the sale.
pub(crate) fn all_at_sale(charges: &[Charges]) -> bool {
    charges.iter().all(|line| line.collect.0 == Collect::AtSale)
}

/// Whether any price held a tax that is taken at the sale.
pub(crate) fn any_held(asked: &[AskedInWhole]) -> bool {
    asked.iter().any(|line| line.tax_in_price != 0)
}
