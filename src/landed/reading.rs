//! What the receipts of a parcel are understood to say: each as a charge, a deposit, a refund or a question.

use super::bill::Bill;
use super::caution::Caution;
use super::receipt::Ground;
use super::sums::Sum;
use crate::book::{Book, ChargeWord, Receipt};
use crate::units::HomeMoney;

/// The receipts of a parcel as they are understood.
#[derive(Debug, Default)]
pub(crate) struct Reading<'a> {
    /// Charges that are used, in the order of the book.
    pub(crate) used: Vec<&'a Receipt>,
    /// Refunds that are used, with what each lowers.
    pub(crate) refunds: Vec<Back<'a>>,
    /// Receipts that are asked about and not used, each with the question.
    pub(crate) questioned: Vec<(&'a Receipt, String)>,
    /// Totals whose items have receipts of their own: each is the sum of those, and counts once.
    pub(crate) summed: Vec<&'a Receipt>,
    /// Receipts of a deposit: the balance is still to pay.
    pub(crate) deposit: Option<Deposit<'a>>,
    /// What sending goods back cost.
    pub(crate) sent_back: Vec<&'a Receipt>,
    /// Whether everything in the parcel came back before it arrived.
    pub(crate) lost: bool,
    /// What was cancelled because all that was paid for it came back.
    pub(super) cancelled: Option<Cancelled>,
    /// The word under which duty and anti-dumping were charged in one sum.
    pub(crate) one_sum: Option<ChargeWord>,
    /// Whether the card fee stands beside the seller's total; else the total is taken to hold it.
    pub(crate) fee_apart: bool,
    /// Whether the discount is shared by price and not as calculated.
    pub(crate) discount_by_price: bool,
    /// What must be said of it.
    pub(crate) cautions: Vec<Caution>,
}

impl<'a> Reading<'a> {
    /// Whether a receipt of this word is used.
    pub(super) fn uses(&self, word: ChargeWord) -> bool {
        self.used.iter().any(|receipt| receipt.charge == word)
    }

    /// Takes the receipts of a word out of those that are used.
    pub(super) fn take(&mut self, word: ChargeWord) -> Vec<&'a Receipt> {
        let (taken, kept) = std::mem::take(&mut self.used)
            .into_iter()
            .partition(|receipt| receipt.charge == word);
        self.used = kept;
        taken
    }

    /// The receipts of a deposit.
    pub(super) fn of_deposit(&self) -> impl Iterator<Item = &&'a Receipt> {
        self.deposit.iter().flat_map(|deposit| &deposit.receipts)
    }

    /// Whether receipts say all that was paid on the side of a total: it has one, or its items have.
    pub(super) fn is_whole(&self, total: ChargeWord) -> bool {
        self.is_summed(total) || self.uses(total)
    }

    /// Whether the items of a total have receipts of their own, so that nothing else was charged on its side.
    pub(crate) fn is_summed(&self, total: ChargeWord) -> bool {
        self.summed.iter().any(|r| r.charge == total)
    }

    /// Whether no receipt of the parcel is in use.
    pub(crate) fn is_idle(&self) -> bool {
        self.used.is_empty() && self.refunds.is_empty() && self.sent_back.is_empty()
    }
}

/// A parcel whose receipts are being read into its bill.
pub(super) struct Receiving<'r, 'a> {
    /// The bill as it was calculated.
    pub(crate) calculated: &'r Bill,
    /// The bill with what receipts say in it so far.
    pub(crate) bill: Bill,
    /// How they are understood so far.
    pub(crate) reading: Reading<'a>,
    /// The book they stand in.
    pub(crate) book: &'a Book,
    /// What of the parcel decides how they are read.
    pub(crate) ground: Ground<'r>,
}

/// The receipts of a deposit: they say what was paid, and not what the goods cost.
#[derive(Debug)]
pub(crate) struct Deposit<'a> {
    /// They.
    pub(crate) receipts: Vec<&'a Receipt>,
    /// What was paid, in the destination's money.
    pub(crate) paid: HomeMoney,
    /// Whether rows tell the same in `paid`; else it is asked about.
    pub(crate) told: bool,
    /// Whether it came back in full, so that no balance is owed.
    pub(crate) came_back: bool,
}

/// A refund that is used.
#[derive(Debug, Clone)]
pub(crate) struct Back<'a> {
    /// Its receipt.
    pub(crate) receipt: &'a Receipt,
    /// The charge it is of; none where the seller gave it for goods.
    pub(crate) of: Option<ChargeWord>,
    /// What it comes to in the destination's money.
    pub(crate) amount: HomeMoney,
    /// What of it is more than was paid, by exchange: a gain, off the price like the rest of it.
    pub(crate) gain: HomeMoney,
    /// What of it was paid beyond what is calculated: it lowers what is spent and no sum.
    pub(crate) beyond: HomeMoney,
    /// What it takes of each sum, line by line.
    pub(crate) taken: Vec<(Sum, Vec<HomeMoney>)>,
    /// What is owed no more because of it, line by line: a cancelled order has no balance.
    pub(crate) released: Vec<(Sum, Vec<HomeMoney>)>,
}

/// What is to be said of one.
#[derive(Debug)]
pub(super) enum Cancelled {
    /// These parts were on their way: they do not come, and so much is owed no more.
    Parts(Vec<String>, HomeMoney),
    /// The rows say that it is still to be ordered: it is asked about.
    Asked(HomeMoney),
}
