//! The bill of one consignment: amounts by line, in the destination's money, with limits, doubts and the trail.

use super::caution::Caution;
use super::disputed::Disputed;
use super::parcel::ConsignmentState;
use super::trail::Step;
use crate::book::{Channel, Part};
use crate::rules::AskedLine;
use crate::tables::{Kind as ChargeKind, RowRef};
use crate::text::Diagnostic;
use crate::units::{Country, Currency, Date, Dec, Grams, Overflow, SellerMoney};

/// The sums of a line, a consignment or a build; `landed` is made of the others and nothing else.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
#[expect(missing_docs, reason = "named as in the outputs")]
pub struct ChargeBreakdown {
    pub goods: Dec,
    pub discount: Dec,
    pub freight: Dec,
    pub insurance: Dec,
    pub duty: Dec,
    pub remedy: Dec,
    pub tax_at_sale: Dec,
    pub tax_at_border: Dec,
    pub handling: Dec,
    pub card_fee: Dec,
}

impl ChargeBreakdown {
    /// `goods - discount + freight + insurance + duty + remedy + tax + handling + card_fee`.
    pub fn landed(&self) -> Result<Dec, Overflow> {
        self.to_seller()?.plus(self.at_door()?)
    }

    /// What is paid with the order.
    pub fn to_seller(&self) -> Result<Dec, Overflow> {
        let parts = [
            self.goods,
            self.discount.negated(),
            self.freight,
            self.insurance,
            self.tax_at_sale,
            self.card_fee,
        ];
        Dec::total(parts)
    }

    /// What is paid at the door.
    pub fn at_door(&self) -> Result<Dec, Overflow> {
        Dec::total([self.duty, self.remedy, self.tax_at_border, self.handling])
    }

    /// All tax.
    pub fn tax(&self) -> Result<Dec, Overflow> {
        self.tax_at_sale.plus(self.tax_at_border)
    }

    /// Both together.
    pub fn plus(&self, other: &ChargeBreakdown) -> Result<ChargeBreakdown, Overflow> {
        Ok(ChargeBreakdown {
            goods: self.goods.plus(other.goods)?,
            discount: self.discount.plus(other.discount)?,
            freight: self.freight.plus(other.freight)?,
            insurance: self.insurance.plus(other.insurance)?,
            duty: self.duty.plus(other.duty)?,
            remedy: self.remedy.plus(other.remedy)?,
            tax_at_sale: self.tax_at_sale.plus(other.tax_at_sale)?,
            tax_at_border: self.tax_at_border.plus(other.tax_at_border)?,
            handling: self.handling.plus(other.handling)?,
            card_fee: self.card_fee.plus(other.card_fee)?,
        })
    }

    /// All of them together.
    pub fn total<'a>(
        all: impl IntoIterator<Item = &'a ChargeBreakdown>,
    ) -> Result<ChargeBreakdown, Overflow> {
        all.into_iter()
            .try_fold(ChargeBreakdown::default(), |sum, one| sum.plus(one))
    }
}

/// One part's share of a bill.
#[derive(Debug, Clone)]
pub struct BillLine {
    /// The part.
    pub part: String,
    /// The places it fills.
    pub places: Vec<String>,
    /// How many.
    pub quantity: u32,
    /// Its sums.
    pub amounts: ChargeBreakdown,
    /// The digits it was declared under.
    pub commodity: String,
    /// The country of making that was calculated with.
    pub origin: String,
    /// What came back of what the seller took.
    pub refunded: Dec,
    /// The same and what came back of charges at the door, sum by sum; what came off the price is at the goods.
    pub back: ChargeBreakdown,
    /// What sending it back cost; it is in its freight.
    pub sent_back: Dec,
    /// Whether its price came back in full, and no receipt says that it was kept.
    pub gone: bool,
    /// Whether all that was paid for it came back before it arrived: nothing more is owed for it.
    pub cancelled: bool,
    /// Where it stands in the book.
    pub row: String,
    /// What the seller asks for the goods, discounts taken off.
    pub asked: SellerMoney,
    /// What hangs on its digits where they stop above rows that differ: from the cheapest of these to the dearest, which counts.
    pub hangs: Option<Dec>,
}

impl BillLine {
    /// One row of a parcel.
    pub(super) fn of(
        row: &Part,
        amounts: ChargeBreakdown,
        priced: Option<&AskedLine>,
        (commodity, origin): (String, String),
    ) -> Result<BillLine, Overflow> {
        Ok(BillLine {
            part: row.name.clone(),
            places: row.places.clone(),
            quantity: row.quantity,
            amounts,
            commodity,
            origin,
            refunded: Dec::ZERO,
            back: ChargeBreakdown::default(),
            sent_back: Dec::ZERO,
            gone: false,
            cancelled: false,
            row: row.at.line().to_string(),
            asked: priced.map_or(Ok(SellerMoney::ZERO), AskedLine::net)?,
            hangs: None,
        })
    }
}

/// The bill of one consignment.
#[derive(Debug, Clone)]
pub struct Bill {
    /// `SELLER` or `SELLER/PARCEL`.
    pub id: String,
    /// Who sends it; empty for what is bought at home.
    pub seller: String,
    /// What it is to its buyer.
    pub kind: ConsignmentState,
    /// Where it leaves from.
    pub dispatch: Country,
    /// How it travels.
    pub channel: Channel,
    /// The day of ordering.
    pub ordered: Date,
    /// The day of arrival.
    pub arrival: Date,
    /// Packed mass.
    pub mass: Grams,
    /// The seller's money.
    pub paid_in: Currency,
    /// What the seller is paid.
    pub seller_sum: SellerMoney,
    /// Its sums.
    pub amounts: ChargeBreakdown,
    /// Charges that are due and collected in the price.
    pub in_price: ChargeBreakdown,
    /// The sums among them that receipts cover.
    pub known: ChargeBreakdown,
    /// Whether receipts, refunds left aside, say what the seller took.
    pub seller_told: bool,
    /// What was paid to the seller, where a receipt alone tells it and it is taken for a deposit.
    pub deposit: Option<Dec>,
    /// Receipts that are asked about and not used, as warnings at their cells.
    pub questions: Vec<Diagnostic>,
    /// Its price tags as they were typed, times how many, at the market rate; nobody pays those of a gift.
    pub tags: Dec,
    /// The goods' price net of discount, at the customs rate.
    pub intrinsic_value: Dec,
    /// What duty is charged on.
    pub customs_value: Dec,
    /// Where tax is taken: `at-sale`, `at-border`, `in-price`, `none`, `mixed`.
    pub tax_collected: &'static str,
    /// The landed sum without the rows in dispute, whatever `remedies` says: anti-dumping that is only shown is not in it.
    pub landed_undisputed: Dec,
    /// The landed sum with every row, whatever `remedies` says: anti-dumping that is only shown is in it.
    pub landed_with_disputed: Dec,
    /// The rows that make the difference.
    pub disputed: Vec<Disputed>,
    /// Limits and how far away they are.
    pub limits: Vec<Headroom>,
    /// Its lines.
    pub lines: Vec<BillLine>,
    /// How every amount came about.
    pub trail: Vec<Step>,
    /// Parts for which no rate of duty is known.
    pub gaps: Vec<String>,
    /// Duties, taxes and fees that ended, of which it is not known what followed.
    pub ended: Vec<EndedCharge>,
    /// The same parcel looked at otherwise: what it would be, and its landed sum.
    pub otherwise: Option<(String, Dec)>,
    /// What must be said.
    pub cautions: Vec<Caution>,
}

impl Bill {
    /// Moves its sums with and without what is in dispute by what moved its landed sum.
    pub(super) fn move_disputed(&mut self, by: Dec) -> Result<(), Overflow> {
        self.landed_undisputed = self.landed_undisputed.plus(by)?;
        self.landed_with_disputed = self.landed_with_disputed.plus(by)?;
        Ok(())
    }

    /// Nothing in it is in dispute any more: what is charged at the door is known.
    pub(super) fn settle_dispute(&mut self) -> Result<(), Overflow> {
        (self.landed_undisputed, self.landed_with_disputed) =
            (self.amounts.landed()?, self.amounts.landed()?);
        self.disputed.clear();
        Ok(())
    }

    /// Whether it was on its way and everything in it came back in full: it does not come.
    pub fn is_lost(&self) -> bool {
        self.kind == ConsignmentState::OnOrder
            && !self.lines.is_empty()
            && self.lines.iter().all(|line| line.gone)
    }

    /// Whether the seller takes the tax on all of it.
    pub fn taxed_at_sale(&self) -> bool {
        self.tax_collected == "at-sale"
    }
}

/// A charge that would have touched the parcel had its row not ended, and no row follows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EndedCharge {
    /// The charge.
    pub id: String,
    /// What it is, in the tables' word.
    pub kind: &'static str,
    /// The last day of the row.
    pub on: Date,
    /// The row.
    pub row: RowRef,
    /// The parts it would have touched.
    pub parts: Vec<String>,
}

impl EndedCharge {
    /// What it is, in plain words: `a duty`.
    pub fn words(&self) -> String {
        let kind = super::disputed::kind_words(ChargeKind::named(self.kind));
        format!("{} {kind}", if kind.starts_with('a') { "an" } else { "a" })
    }
}

/// How far a sum is from a limit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Headroom {
    /// The relief.
    pub id: String,
    /// The limit, in the destination's money.
    pub amount: Dec,
    /// The limit as the table writes it.
    pub text: String,
    /// The sum held against it.
    pub value: Dec,
    /// Limit less sum; below zero when it is crossed.
    pub left: Dec,
    /// Whether the relief holds.
    pub holds: bool,
}
