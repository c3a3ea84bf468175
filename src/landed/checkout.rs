//! What a seller's checkout should show for a parcel that is to be ordered: the basket, the codes in their order, the sums in the
//! seller's money, and the payment that `cost` counts for it.

use super::bill::Bill;
use super::billing::{Made, made};
use super::jurisdiction::Jurisdiction;
use super::parcel::{Consignment, ConsignmentState};
use super::price::Priced;
use super::total::{each, unless_refused};
use crate::book::{Book, Discount, Included, Part, is_parcel};
use crate::rules::AskedLine;
use crate::text::{Diagnostic, Problems};
use crate::units::{HomeMoney, Overflow, Percent, SellerMoney};

/// A parcel that is to be ordered, as its seller asks for it.
pub(crate) struct Checkout<'a> {
    /// What it comes to; its sum to the seller is that of `cost`.
    pub(crate) bill: Bill,
    /// What goes into the basket, as the bill's lines.
    pub(crate) basket: Vec<&'a Part>,
    /// The codes that count, in the order in which they are taken, each with what it takes.
    pub(crate) codes: Vec<(&'a Discount, SellerMoney)>,
    /// The seller's own tax, which the prices hold and which comes off for export.
    pub(crate) own_tax: Option<Percent>,
    /// Whether nobody has said what shipping costs: then it is in no sum.
    pub(crate) freight_unknown: bool,
    /// The sums, which add up to what is paid.
    pub(crate) sums: CheckoutSums,
}

/// The sums of a checkout, in the seller's money.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct CheckoutSums {
    /// Prices times pieces, without a tax that comes off.
    pub(crate) goods: SellerMoney,
    /// What lowers the prices.
    pub(crate) off: SellerMoney,
    /// What an earlier order or points pay.
    pub(crate) credit: SellerMoney,
    /// Shipping, after codes.
    pub(crate) freight: SellerMoney,
    pub(crate) insurance: SellerMoney,
    /// The destination's tax, where the seller takes it.
    pub(crate) tax: SellerMoney,
    /// What is paid.
    pub(crate) total: SellerMoney,
}

impl CheckoutSums {
    /// The sums of some lines of which this much is paid; what is left over is tax.
    fn of(lines: &[AskedLine], total: SellerMoney) -> Result<CheckoutSums, Overflow> {
        let sum = |of: fn(&AskedLine) -> SellerMoney| SellerMoney::total(lines.iter().map(of));
        let mut sums = CheckoutSums {
            goods: sum(|line| line.list)?,
            off: sum(|line| line.off)?,
            credit: sum(|line| line.credit)?,
            freight: sum(|line| line.freight)?,
            insurance: sum(|line| line.insurance)?,
            tax: SellerMoney::ZERO,
            total,
        };
        sums.tax = total.minus(sums.untaxed()?)?;
        Ok(sums)
    }

    /// What is paid without the destination's tax.
    pub(crate) fn untaxed(&self) -> Result<SellerMoney, Overflow> {
        let goods = self.goods.minus(self.off)?.minus(self.credit)?;
        goods.plus(self.freight)?.plus(self.insurance)
    }

    /// What is paid without shipping and insurance.
    pub(crate) fn without_shipping(&self) -> Result<SellerMoney, Overflow> {
        self.total.minus(self.freight)?.minus(self.insurance)
    }
}

impl Checkout<'_> {
    /// The label of its parcel.
    pub(crate) fn label(&self) -> &str {
        self.basket.first().map_or("", |row| &row.parcel)
    }

    /// Whether it is meant by what was typed.
    pub(crate) fn is_meant(&self, typed: &str) -> bool {
        is_parcel(typed, &self.bill.seller, self.label())
    }

    /// What leaves the account for it, without the card's fee.
    pub(crate) fn converted(&self) -> Result<HomeMoney, Overflow> {
        self.to_seller()?.minus(self.bill.amounts.card_fee)
    }

    /// What leaves the account for it.
    pub(crate) fn to_seller(&self) -> Result<HomeMoney, Overflow> {
        self.bill.amounts.to_seller()
    }
}

/// The parcels of a book's build that are to be ordered.
pub(crate) fn checkouts<'a>(
    book: &'a Book,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Vec<Checkout<'a>>, Problems> {
    let rows: Vec<&Part> = book.paid_for().collect();
    let mut problems = Problems::new();
    let one = |parcel: &Consignment<'a>| checkout(book, parcel, jurisdiction);
    let found = each(book, &rows, jurisdiction, &mut problems, one);
    unless_refused(problems, found.into_iter().flatten().collect())
}

/// One of them; none where it is not to be ordered.
fn checkout<'a>(
    book: &'a Book,
    consignment: &Consignment<'a>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<Checkout<'a>>, Diagnostic> {
    if consignment.kind != ConsignmentState::ToOrder {
        return Ok(None);
    }
    let Made { bill, priced, .. } = made(book, consignment, jurisdiction)?;
    let Priced {
        lines,
        used,
        freight_unknown,
        ..
    } = priced;
    Ok(Some(Checkout {
        sums: CheckoutSums::of(&lines, bill.seller_sum)?,
        bill,
        basket: consignment.rows.clone(),
        codes: used,
        freight_unknown,
        own_tax: match consignment.tax_to_take_out(jurisdiction) {
            Included::Own(percent) => Some(percent),
            Included::Nothing | Included::SaleTax => None,
        },
    }))
}
