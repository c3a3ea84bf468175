//! The bill of one consignment: amounts by line, in the destination's money, with limits, doubts and the trail.

use super::caution::Caution;
use super::disputed::Disputed;
use super::parcel::ConsignmentState;
use super::sums::{ChargeBreakdown, Sum};
use super::trail::Step;
use crate::book::{Channel, Part};
use crate::rules::AskedLine;
use crate::tables::{Kind as ChargeKind, RowRef};
use crate::text::{Diagnostic, words};
use crate::units::{
    Amount, Country, Currency, Date, Grams, Home, HomeMoney, Overflow, SellerMoney,
};

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
    pub(crate) refunded: HomeMoney,
    /// The same and what came back of charges at the door, sum by sum; what came off the price is at the goods.
    pub(crate) back: ChargeBreakdown,
    /// What sending it back cost; it is in its freight.
    pub sent_back: HomeMoney,
    /// Whether its price came back in full, and no receipt says that it was kept.
    pub gone: bool,
    /// Whether all that was paid for it came back before it arrived: nothing more is owed for it.
    pub(crate) cancelled: bool,
    /// Where it stands in the book.
    pub(crate) row: String,
    /// What the seller asks for the goods, discounts taken off.
    pub(crate) asked: SellerMoney,
    /// What hangs on its digits where they stop above rows that differ: from the cheapest of these to the dearest, which counts.
    pub(crate) hangs: Option<HomeMoney>,
}

impl BillLine {
    /// One row of a parcel.
    pub(super) fn of(
        row: &Part,
        amounts: ChargeBreakdown,
        priced: &AskedLine,
        (commodity, origin): (String, String),
    ) -> Result<BillLine, Overflow> {
        Ok(BillLine {
            part: row.name.clone(),
            places: row.places.clone(),
            quantity: row.quantity,
            amounts,
            commodity,
            origin,
            refunded: HomeMoney::ZERO,
            back: ChargeBreakdown::default(),
            sent_back: HomeMoney::ZERO,
            gone: false,
            cancelled: false,
            row: row.at.line().to_string(),
            asked: priced.net()?,
            hangs: None,
        })
    }

    /// Notes what came back of one of its sums.
    fn came_back(&mut self, sum: Sum, part: HomeMoney) -> Result<(), Overflow> {
        let at = sum.lowered();
        self.back[at] = self.back[at].plus(part)?;
        if !sum.is_door() {
            self.refunded = self.refunded.plus(part)?;
        }
        Ok(())
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
    pub(crate) channel: Channel,
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
    pub(crate) known: ChargeBreakdown,
    /// Whether receipts, refunds left aside, say what the seller took.
    pub(crate) seller_told: bool,
    /// What was paid to the seller, where a receipt alone tells it and it is taken for a deposit.
    pub(crate) deposit: Option<HomeMoney>,
    /// Receipts that are asked about and not used, as warnings at their cells.
    pub questions: Vec<Diagnostic>,
    /// Its price tags as they were typed, times how many, at the market rate; nobody pays those of a gift.
    pub(crate) tags: HomeMoney,
    /// The goods' price net of discount, at the customs rate.
    pub intrinsic_value: HomeMoney,
    /// What duty is charged on.
    pub customs_value: HomeMoney,
    /// Where tax is taken: `at-sale`, `at-border`, `in-price`, `none`, `mixed`.
    pub tax_collected: &'static str,
    /// The landed sum without the rows in dispute, whatever `remedies` says: anti-dumping that is only shown is not in it.
    pub landed_undisputed: HomeMoney,
    /// The landed sum with every row, whatever `remedies` says: anti-dumping that is only shown is in it.
    pub(crate) landed_with_disputed: HomeMoney,
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
    pub otherwise: Option<(String, HomeMoney)>,
    /// What must be said.
    pub cautions: Vec<Caution>,
}

impl Bill {
    /// Sets one of its sums and shares it over the lines by what was calculated of it, else by goods.
    pub(super) fn set(&mut self, sum: Sum, amount: HomeMoney, digits: u32) -> Result<(), Overflow> {
        let of_lines = |sum: Sum| self.lines.iter().map(|line| line.amounts[sum]).collect();
        let own: Vec<HomeMoney> = of_lines(sum);
        let nothing = own.iter().all(|weight| weight.is_zero());
        let weights = if nothing { of_lines(Sum::Goods) } else { own };
        for (line, part) in self.lines.iter_mut().zip(amount.share(&weights, digits)?) {
            line.amounts[sum] = part;
        }
        self.amounts[sum] = amount;
        Ok(())
    }

    /// Lowers one of its sums by these parts, line by line; whether that is money that came back, or only what is owed no more.
    pub(super) fn lower(
        &mut self,
        sum: Sum,
        parts: &[HomeMoney],
        came: bool,
    ) -> Result<(), Overflow> {
        for (line, part) in self.lines.iter_mut().zip(parts) {
            line.amounts.lower(sum, *part)?;
            if came {
                line.came_back(sum, *part)?;
            }
        }
        let taken = HomeMoney::total(parts.iter().copied())?;
        self.amounts.lower(sum, taken)?;
        if came {
            self.known.lower(sum, taken)?;
        }
        self.move_disputed(taken.negated())
    }

    /// The numbers of all its lines.
    pub(super) fn all(&self) -> Vec<usize> {
        (0..self.lines.len()).collect()
    }

    /// What came back of what the seller took for some of its lines.
    pub(super) fn refunded(&self, lines: &[usize]) -> Result<HomeMoney, Overflow> {
        HomeMoney::total(lines.iter().map(|at| self.lines[*at].refunded))
    }

    /// Moves its sums with and without what is in dispute by what moved its landed sum.
    pub(super) fn move_disputed(&mut self, by: HomeMoney) -> Result<(), Overflow> {
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
    pub(crate) fn taxed_at_sale(&self) -> bool {
        self.tax_collected == "at-sale"
    }
}

/// A charge that would have touched the parcel had its row not ended, and no row follows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EndedCharge {
    /// The charge.
    pub id: String,
    /// What it is, in the tables' word.
    pub(crate) kind: &'static str,
    /// The last day of the row.
    pub on: Date,
    /// The row.
    pub(crate) row: RowRef,
    /// The parts it would have touched.
    pub parts: Vec<String>,
}

impl EndedCharge {
    /// What it is, in plain words: `a duty`.
    pub(crate) fn words(&self) -> String {
        let kind = super::disputed::kind_words(ChargeKind::named(self.kind));
        format!("{} {kind}", words::article(kind))
    }
}

/// How far a sum is from a limit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Headroom<K = Home> {
    /// The relief.
    pub id: String,
    /// The limit, in the destination's money.
    pub(crate) amount: Amount<K>,
    /// The limit as the table writes it.
    pub(crate) text: String,
    /// The sum held against it.
    pub value: Amount<K>,
    /// Whether that sum is a value of the goods, and not one of charges.
    pub(crate) of_price: bool,
    /// Limit less sum; below zero when it is crossed.
    pub left: Amount<K>,
    /// Whether the relief holds.
    pub holds: bool,
}
