//! The seller's side: what the seller asks for a parcel and what is paid for it, told as facts, lowered into a form and read
//! exactly.
//!
//! A figure is known, or it is supplied to the form while it is read: a price list supplies nearly all of them, so that one
//! form serves all its lines.

use super::form::{
    Asking, Form, Id, Input, Origin, Paying, SaleInput, Supply, lower_asking, lower_paying,
    read_exactly,
};
use crate::units::{Dec, Grams, HomeMoney, Overflow, Percent, Rate, SellerMoney};

/// A figure of the seller's side.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Given<T> {
    /// It is known while the form is made.
    Known(T),
    /// Who reads the form supplies it.
    Supplied(SaleInput),
}

impl<T> Given<T> {
    /// The same figure without its type.
    pub(super) fn bare(self, figure: impl FnOnce(T) -> Dec) -> Given<Dec> {
        match self {
            Given::Known(known) => Given::Known(figure(known)),
            Given::Supplied(input) => Given::Supplied(input),
        }
    }
}

/// What a discount is taken from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Cover {
    /// The freight.
    Freight,
    /// Goods: for each line, whether it is covered.
    Lines(Vec<bool>),
}

/// What a discount or an insurance is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Worth {
    /// A percentage of what it is taken from.
    Share(Given<Percent>),
    /// An amount.
    Amount(Given<SellerMoney>),
}

/// One discount; they are told in the order in which they are taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Code<'a> {
    /// What it is taken from.
    pub(crate) cover: Cover,
    /// What it is worth.
    pub(crate) worth: Worth,
    /// At most this.
    pub(crate) most: Option<SellerMoney>,
    /// Goods before any discount must come to this.
    pub(crate) min_spend: Option<SellerMoney>,
    /// Whether an earlier order or points pay it, so that the price stands.
    pub(crate) credit: bool,
    /// Of one group only the best counts; empty for none.
    pub(crate) group: &'a str,
}

/// What carrying costs before any discount on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Carriage<'a> {
    /// An amount.
    Amount(Given<SellerMoney>),
    /// The price of a number of grams, which are the second figure: the packed mass costs in proportion to them.
    ByMass(Given<SellerMoney>, Given<Grams>),
    /// By a table of steps, read for the packed mass of the lines.
    Steps(&'a Steps),
}

/// A table of what carrying costs by mass, in the seller's money, for whoever keeps its figures open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Steps {
    /// The steps in the order in which they are looked at.
    pub(crate) rows: Vec<MassStep>,
    /// What each kilogram begun beyond the last step costs; none where the table ends there.
    pub(crate) extra_per_kg: Option<Dec>,
    /// What packing adds to the mass, out of a hundred.
    pub(crate) packing_percent: Dec,
    /// What packing adds to the mass, once, in grams.
    pub(crate) packing_g: Dec,
    /// Cubic centimetres that count as a kilogram.
    pub(crate) volumetric_divisor: Option<Dec>,
    /// Cubic centimetres of one piece of each line; zero where no box is stated.
    pub(crate) volumes: Vec<Dec>,
}

/// One step of such a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct MassStep {
    /// The grams up to which it serves; none serves any mass.
    pub(crate) up_to: Option<Dec>,
    /// Its price.
    pub(crate) price: Dec,
    /// Whether the price is for `up_to` and is charged by the gram.
    pub(crate) pro_rata: bool,
    /// Its row.
    pub(crate) origin: Origin,
}

/// The tax that prices hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Held<'a> {
    /// None that is to be taken out.
    Nothing,
    /// The seller's own, which is taken off for export.
    Own(Percent),
    /// The destination's, taken at the sale: its percentage for each line.
    AtSale(&'a [Percent]),
}

/// The terms of one parcel's sale.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Sale<'a> {
    /// How many lines there are.
    pub(crate) lines: usize,
    /// Decimals of the seller's money.
    pub(crate) digits: u32,
    /// Discounts, in their order.
    pub(crate) codes: Vec<Code<'a>>,
    /// What carrying costs.
    pub(crate) carriage: Carriage<'a>,
    /// Goods of this much travel free.
    pub(crate) free_over: Option<Given<SellerMoney>>,
    /// What the freight is, whether or not the goods would travel free.
    pub(crate) freight_anyway: bool,
    /// What insuring costs, a share being one of goods and freight.
    pub(crate) insurance: Option<Worth>,
    /// The tax that prices hold.
    pub(crate) held: Held<'a>,
}

/// One line of goods as the seller sells it.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct SaleLine {
    /// The price of one.
    pub(crate) price: SellerMoney,
    /// How many.
    pub(crate) pieces: u32,
    /// The packed mass of all.
    pub(crate) packed: Grams,
}

/// One line of what the seller asks.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct AskedLine {
    /// Price times quantity.
    pub(crate) list: SellerMoney,
    /// What lowers the price.
    pub(crate) off: SellerMoney,
    /// What an earlier order or points pay.
    pub(crate) credit: SellerMoney,
    /// Its share of the freight.
    pub(crate) freight: SellerMoney,
    /// Its share of the insurance.
    pub(crate) insurance: SellerMoney,
    /// The destination's tax that its price held.
    pub(crate) tax_in_price: SellerMoney,
    /// Its packed mass.
    pub(crate) packed: Grams,
}

impl AskedLine {
    /// Price times quantity less what lowers the price.
    pub(crate) fn goods(&self) -> Result<SellerMoney, Overflow> {
        self.list.minus(self.off)
    }

    /// What is to be paid for the goods.
    pub(crate) fn net(&self) -> Result<SellerMoney, Overflow> {
        self.goods()?.minus(self.credit)
    }
}

/// What the seller asks for a parcel.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Asked {
    /// Line by line.
    pub(crate) lines: Vec<AskedLine>,
    /// The price tags as they were typed, times how many.
    pub(crate) typed: SellerMoney,
    /// Whether the goods come to what travels free.
    pub(crate) free: bool,
    /// The freight before discounts.
    pub(crate) freight: SellerMoney,
    /// What each discount takes; none where it does not hold, or another of its group takes more.
    pub(crate) taken: Vec<Option<SellerMoney>>,
}

/// Calculates what the seller asks.
pub(crate) fn ask(sale: &Sale<'_>, lines: &[SaleLine]) -> Result<Asked, Overflow> {
    let (form, at): (Form, Asking) = lower_asking(sale)?;
    let cells = read_exactly(&form, lines)?;
    let whole = |id: Id| cells.first(id).copied().unwrap_or(Dec::ZERO);
    let money = |id: Id| SellerMoney::of(whole(id));
    let each = lines.iter().enumerate().map(|(line, own)| {
        let of = |id: Id| SellerMoney::of(*cells.at(id, line));
        AskedLine {
            list: of(at.list),
            off: of(at.off),
            credit: of(at.credit),
            freight: of(at.freight),
            insurance: of(at.insurance),
            tax_in_price: of(at.tax_in_price),
            packed: own.packed,
        }
    });
    let taken = at.codes.iter();
    Ok(Asked {
        lines: each.collect(),
        typed: money(at.typed),
        free: !whole(at.free).is_zero(),
        freight: money(at.carriage),
        taken: taken
            .map(|code| (!whole(code.counts).is_zero()).then(|| money(code.taken)))
            .collect(),
    })
}

impl Supply for [SaleLine] {
    fn figure(&self, input: Input, line: usize) -> Result<Dec, Overflow> {
        let own = self.get(line).ok_or(Overflow)?;
        match input {
            Input::Sale(SaleInput::Price) => Ok(own.price.amount()),
            Input::Sale(SaleInput::Packed) => Ok(own.packed.0),
            Input::Pieces => Ok(Dec::from(own.pieces)),
            _ => Err(Overflow),
        }
    }

    fn rate(&self) -> Rate {
        Rate::SAME
    }
}

/// How a parcel is paid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Payer {
    /// Decimals of the seller's money.
    pub(crate) paid_digits: u32,
    /// Decimals of the destination's.
    pub(crate) digits: u32,
    /// The card's fee on the converted sum.
    pub(crate) card: Percent,
    /// Whether nobody here pays, since it is a gift.
    pub(crate) gift: bool,
    /// Whether a price held a tax that is taken at the sale.
    pub(crate) held: bool,
}

/// What one line costs at the seller's.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct PaidLine {
    /// Goods before discount.
    pub(crate) goods: HomeMoney,
    /// Discounts and credits.
    pub(crate) discount: HomeMoney,
    /// Freight.
    pub(crate) freight: HomeMoney,
    /// Insurance.
    pub(crate) insurance: HomeMoney,
    /// Tax taken at the sale.
    pub(crate) tax_at_sale: HomeMoney,
    /// The card's fee.
    pub(crate) card_fee: HomeMoney,
}

/// One payment.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Paid {
    /// Line by line.
    pub(crate) lines: Vec<PaidLine>,
    /// The sum.
    pub(crate) sum: SellerMoney,
    /// The sum converted and rounded.
    pub(crate) converted: HomeMoney,
    /// The card's fee on it.
    pub(crate) card_fee: HomeMoney,
    /// The price tags as they were typed, converted.
    pub(crate) tags: HomeMoney,
}

/// What the seller asks and is to be paid at a rate.
struct Due<'a> {
    lines: &'a [AskedLine],
    sale_tax: &'a [SellerMoney],
    rate: Rate,
}

/// Calculates what is paid to the seller for lines whose price tags come to `typed`, converted at the market rate. `sale_tax` is
/// each line's tax at the sale by the rules.
pub(crate) fn pay(
    (lines, typed): (&[AskedLine], SellerMoney),
    sale_tax: &[SellerMoney],
    rate: Rate,
    payer: Payer,
) -> Result<Paid, Overflow> {
    let (form, at): (Form, Paying) = lower_paying(lines.len(), typed, payer)?;
    let due = Due {
        lines,
        sale_tax,
        rate,
    };
    let cells = read_exactly(&form, &due)?;
    let whole = |id: Id| cells.first(id).copied().unwrap_or(Dec::ZERO);
    let each = (0..lines.len()).map(|line| {
        let [goods, off, freight, insurance, tax_at_sale] =
            at.shares.map(|id| HomeMoney::of(*cells.at(id, line)));
        PaidLine {
            goods,
            discount: off.negated(),
            freight,
            insurance,
            tax_at_sale,
            card_fee: HomeMoney::of(*cells.at(at.card_shares, line)),
        }
    });
    Ok(Paid {
        lines: each.collect(),
        sum: SellerMoney::of(whole(at.sum)),
        converted: HomeMoney::of(whole(at.converted)),
        card_fee: HomeMoney::of(whole(at.card_fee)),
        tags: HomeMoney::of(whole(at.tags)),
    })
}

impl Supply for Due<'_> {
    fn figure(&self, input: Input, line: usize) -> Result<Dec, Overflow> {
        let own = self.lines.get(line).ok_or(Overflow)?;
        let money = match input {
            Input::List => Ok(own.list),
            Input::Goods => own.goods(),
            Input::Freight => Ok(own.freight),
            Input::Insurance => Ok(own.insurance),
            Input::Sale(SaleInput::Off) => Ok(own.off.plus(own.credit)?.negated()),
            Input::Sale(SaleInput::TaxHeld) => Ok(own.tax_in_price),
            Input::Sale(SaleInput::SaleTax) => self.sale_tax.get(line).copied().ok_or(Overflow),
            _ => Err(Overflow),
        };
        money.map(SellerMoney::amount)
    }

    fn rate(&self) -> Rate {
        self.rate
    }
}
