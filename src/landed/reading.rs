//! What the receipts of a parcel are understood to say: each as a charge, a deposit, a refund or a question.

use super::caution::Caution;
use crate::book::{ChargeWord, Receipt};
use crate::units::Dec;

/// The receipts of a parcel as they are understood.
#[derive(Debug, Default)]
pub struct Reading<'a> {
    /// Charges that are used, in the order of the book.
    pub used: Vec<&'a Receipt>,
    /// Refunds that are used, with what each lowers.
    pub refunds: Vec<Back<'a>>,
    /// Receipts that are asked about and not used, each with the question.
    pub questioned: Vec<(&'a Receipt, String)>,
    /// Totals whose items have receipts of their own: each is the sum of those, and counts once.
    pub summed: Vec<&'a Receipt>,
    /// Receipts of a deposit: the balance is still to pay.
    pub deposit: Option<Deposit<'a>>,
    /// What sending goods back cost.
    pub sent_back: Vec<&'a Receipt>,
    /// Whether everything in the parcel came back before it arrived.
    pub lost: bool,
    /// What was cancelled because all that was paid for it came back.
    pub(super) cancelled: Option<Cancelled>,
    /// The word under which duty and anti-dumping were charged in one sum.
    pub one_sum: Option<ChargeWord>,
    /// Whether the card fee stands beside the seller's total; else the total is taken to hold it.
    pub fee_apart: bool,
    /// Whether the discount is shared by price and not as calculated.
    pub discount_by_price: bool,
    /// What must be said of it.
    pub cautions: Vec<Caution>,
}

impl Reading<'_> {
    /// Whether the items of a total have receipts of their own, so that nothing else was charged on its side.
    pub fn is_summed(&self, total: ChargeWord) -> bool {
        self.summed.iter().any(|r| r.charge == total)
    }

    /// Whether no receipt of the parcel is in use.
    pub fn is_idle(&self) -> bool {
        self.used.is_empty() && self.refunds.is_empty() && self.sent_back.is_empty()
    }
}

/// The receipts of a deposit: they say what was paid, and not what the goods cost.
#[derive(Debug)]
pub struct Deposit<'a> {
    /// They.
    pub receipts: Vec<&'a Receipt>,
    /// What was paid, in the destination's money.
    pub paid: Dec,
    /// Whether rows tell the same in `paid`; else it is asked about.
    pub told: bool,
    /// Whether it came back in full, so that no balance is owed.
    pub came_back: bool,
}

/// A refund that is used.
#[derive(Debug, Clone)]
pub struct Back<'a> {
    /// Its receipt.
    pub receipt: &'a Receipt,
    /// The charge it is of; none where the seller gave it for goods.
    pub of: Option<ChargeWord>,
    /// What it comes to in the destination's money.
    pub amount: Dec,
    /// What of it is more than was paid, by exchange: a gain, off the price like the rest of it.
    pub gain: Dec,
    /// What of it was paid beyond what is calculated: it lowers what is spent and no sum.
    pub beyond: Dec,
    /// What it takes of each sum, line by line.
    pub taken: Vec<(&'static str, Vec<Dec>)>,
    /// What is owed no more because of it, line by line: a cancelled order has no balance.
    pub released: Vec<(&'static str, Vec<Dec>)>,
}

/// What is to be said of one.
#[derive(Debug)]
pub(super) enum Cancelled {
    /// These parts were on their way: they do not come, and so much is owed no more.
    Parts(Vec<String>, Dec),
    /// The rows say that it is still to be ordered: it is asked about.
    Asked(Dec),
}
