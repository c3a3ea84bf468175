//! What parcels cost that hold some of a seller's lines: the seller's side, the law and the payment in whole numbers. A program is
//! made once for all lines; a parcel names those that it holds.

use super::build::Maker;
use super::fixed::Whole;
use super::many::sum;
use super::run::{Work, in_minor};
use super::sheet::Sheet;
use super::{Charges, Outputs, Reg, WholeRate};
use crate::rules::form::{Input, SaleInput, lower_asking_open, lower_open, lower_paying_open};
use crate::rules::parcel::Parcel;
use crate::rules::program::Program;
use crate::rules::sale::{Payer, Sale};
use crate::tables::Collect;
use crate::units::{Dec, SellerMoney};

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

/// The law of the lines.
#[derive(Debug, Clone)]
pub(crate) struct Laws {
    sheet: Sheet,
    outputs: Outputs,
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

/// What is asked for one line, in minor units of the seller's money.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct AskedInWhole {
    list: i64,
    off: i64,
    credit: i64,
    freight: i64,
    insurance: i64,
    tax_in_price: i64,
}

/// What a parcel bears.
#[derive(Debug, Clone)]
pub(crate) struct Borne {
    /// Line by line, to the minor unit.
    pub(crate) lines: Vec<Charges>,
    /// All that is due at the door, in the destination's money.
    pub(crate) due: Dec,
}

/// Room for the running figures, kept from parcel to parcel.
#[derive(Debug, Clone, Default)]
pub(crate) struct Desk {
    short: Vec<i64>,
    long: Vec<i128>,
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

    /// What is asked for the lines of a parcel that costs so much to carry.
    pub(crate) fn ask(
        &self,
        which: &[usize],
        lines: &[OfferLine],
        carriage: i64,
        desk: &mut Desk,
    ) -> Option<Vec<AskedInWhole>> {
        let short = self.reckon(which, lines, carriage, &mut desk.short);
        short.or_else(|| self.reckon(which, lines, carriage, &mut desk.long))
    }

    fn reckon<N: Whole>(
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

impl Laws {
    /// Makes the law of all lines; none where it cannot be whole numbers, or looks at more of a parcel than the lines it holds.
    pub(crate) fn build(program: &Program, all: &Parcel) -> Option<Laws> {
        let (form, marks) = lower_open(program, all).ok()??;
        let mut maker = Maker::new(&form, all.paid_in.digits())?;
        let outputs = maker.outputs(program, &marks)?;
        Some(Laws {
            sheet: Sheet::of(maker),
            outputs,
            minor: 10_i64.checked_pow(program.currency.digits())?,
        })
    }

    /// What the lines of a parcel bear, at the customs rate.
    pub(crate) fn assess(
        &self,
        (which, lines): (&[usize], &[OfferLine]),
        asked: &[AskedInWhole],
        rate: WholeRate,
        desk: &mut Desk,
    ) -> Option<Borne> {
        let short = self.reckon((which, lines), asked, rate, &mut desk.short);
        short.or_else(|| self.reckon((which, lines), asked, rate, &mut desk.long))
    }

    fn reckon<N: Whole>(
        &self,
        (which, lines): (&[usize], &[OfferLine]),
        asked: &[AskedInWhole],
        rate: WholeRate,
        room: &mut Vec<N>,
    ) -> Option<Borne> {
        let work = Work::new(rate);
        let input = |of: Input, nth: usize| {
            let (line, own) = (lines.get(*which.get(nth)?)?, asked.get(nth)?);
            Some(match of {
                Input::List => own.list,
                Input::Goods => own.list.checked_sub(own.off)?,
                Input::Freight => own.freight,
                Input::Insurance => own.insurance,
                Input::Kilograms => line.packed,
                Input::Grams => line.bare,
                Input::Pieces => line.pieces,
                Input::Sale(_) => return None,
            })
        };
        self.sheet.run(which, input, &work, room)?;
        let of_line = |nth: usize| {
            self.outputs.close(
                |reg| self.sheet.at(room, reg, which.len(), nth),
                |figure: N, under| in_minor(figure, self.minor, N::from(under).by(work.over)?),
            )
        };
        Some(Borne {
            lines: (0..which.len()).map(of_line).collect::<Option<_>>()?,
            due: self.due(which.len(), &work, room)?,
        })
    }

    /// Duty, remedies, tax and fees of all lines, exactly.
    fn due<N: Whole>(&self, count: usize, work: &Work<N>, room: &[N]) -> Option<Dec> {
        let mut due = Dec::ZERO;
        for (reg, under) in self.outputs.money[2..].iter().flatten() {
            let lines = (0..count).map(|nth| self.sheet.at(room, *reg, count, nth));
            let lines = lines.collect::<Option<Vec<N>>>()?;
            let under = work.over.long().checked_mul((*under).into())?;
            let all = Dec::from_units(sum(&lines)?.long(), 0).ok()?;
            due = due
                .plus(all.over(Dec::from_units(under, 0).ok()?).ok()?)
                .ok()?;
        }
        Some(due)
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
        desk: &mut Desk,
    ) -> Option<i64> {
        let short = self.reckon(which, (asked, charges), rate, &mut desk.short);
        short.or_else(|| self.reckon(which, (asked, charges), rate, &mut desk.long))
    }

    fn reckon<N: Whole>(
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
