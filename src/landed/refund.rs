//! Money back: what a refund lowers, never below zero, and what it leaves as it was.

use super::bill::Bill;
use super::caution::{Cautions, Saying};
use super::deposit::paid_of;
use super::jurisdiction::Jurisdiction;
use super::parcel::ConsignmentState;
use super::reading::{Back, Receiving};
use super::receipt::with_slack;
use super::sums::Sum;
use crate::book::{ChargeWord, Receipt};
use crate::text::Diagnostic;
use crate::units::{Date, HomeMoney, Overflow, Rounding};

/// A refund that is looked at: what it may be of, and what there is for it to take.
struct Taking<'a> {
    receipt: &'a Receipt,
    of: Option<ChargeWord>,
    /// The lines it is for.
    lines: Vec<usize>,
    /// The sums that it can lower, in order.
    sums: &'static [Sum],
    /// What it comes to.
    amount: HomeMoney,
    /// What those sums of those lines hold.
    there: HomeMoney,
    /// As was really paid, where rows or a deposit tell that.
    paid: Option<HomeMoney>,
    /// What the refund is worth by the rate of the order, where it came in foreign money.
    then: Option<HomeMoney>,
}

/// What a refund lowers, in order: the goods and then what else the seller took, or the charge it is of.
fn sums(of: Option<ChargeWord>, taxed_at_sale: bool, one_sum: bool) -> &'static [Sum] {
    use Sum::{AtBorder, AtSale, CardFee, Discount, Duty, Freight, Handling, Insurance, Remedy};
    match of {
        Some(ChargeWord::Freight | ChargeWord::ReturnFreight) => &[Freight],
        Some(ChargeWord::Insurance) => &[Insurance],
        Some(ChargeWord::CardFee) => &[CardFee],
        Some(ChargeWord::TaxAtSale) => &[AtSale],
        Some(ChargeWord::Tax) if taxed_at_sale => &[AtSale],
        Some(ChargeWord::Tax | ChargeWord::TaxAtBorder) => &[AtBorder],
        Some(ChargeWord::Duty) if one_sum => &[Duty, Remedy],
        Some(ChargeWord::Remedy) if one_sum => &[Remedy, Duty],
        Some(ChargeWord::Duty) => &[Duty],
        Some(ChargeWord::Remedy) => &[Remedy],
        Some(ChargeWord::Handling) => &[Handling],
        Some(ChargeWord::ToPayCarrier) => &[AtBorder, Duty, Remedy, Handling],
        None
        | Some(
            ChargeWord::Goods | ChargeWord::Discount | ChargeWord::Refund | ChargeWord::ToPaySeller,
        ) => &[Discount, AtSale, Freight, Insurance, CardFee],
    }
}

/// Charges beside the price, of which a refund may be to the penny.
const BESIDE: [ChargeWord; 7] = [
    ChargeWord::Duty,
    ChargeWord::Remedy,
    ChargeWord::TaxAtBorder,
    ChargeWord::Tax,
    ChargeWord::TaxAtSale,
    ChargeWord::Handling,
    ChargeWord::ToPayCarrier,
];

/// A refund that says neither a part nor a charge, and is to the penny what one charge beside the price was: it is of that charge.
fn of_charge(receipt: &Receipt, used: &[&Receipt]) -> Option<ChargeWord> {
    let money = |r: &Receipt| (r.amount, r.currency);
    let same = |r: &&&Receipt| BESIDE.contains(&r.charge) && money(r) == money(receipt);
    let found = || used.iter().find(same).filter(|_| receipt.part.is_none());
    receipt.of.or_else(|| found().map(|receipt| receipt.charge))
}

impl<'a> Receiving<'_, 'a> {
    /// Lowers the bill by a refund; the inner error is the question where it is more than can have come back.
    pub(super) fn lower(
        &mut self,
        receipt: &'a Receipt,
    ) -> Result<Result<Back<'a>, String>, Diagnostic> {
        let of = of_charge(receipt, &self.reading.used);
        let lines = self.lines_of(receipt);
        if lines.is_empty() {
            let question =
                "is the part right? It is not among the parts that are counted in this parcel";
            return Ok(Err(question.to_owned()));
        }
        if !self.is_paid(of, &lines) {
            return Ok(Err(self.never_paid(of).to_owned()));
        }
        let sums = sums(
            of,
            self.bill.taxed_at_sale(),
            self.reading.one_sum.is_some(),
        );
        let mut taking = Taking {
            receipt,
            of,
            sums,
            amount: self.ground.home(receipt)?,
            there: self.there(&lines, sums)?,
            lines,
            paid: None,
            then: None,
        };
        taking.paid = self.paid_left(&taking)?;
        taking.then = self.at_order(&taking)?;
        if let Some(question) = self.more_than_paid(&taking)? {
            return Ok(Err(question));
        }
        self.spread(&taking).map(Ok)
    }

    /// The lines that a receipt is for: those of its part, else all.
    fn lines_of(&self, receipt: &Receipt) -> Vec<usize> {
        let is_for = |at: &usize| {
            receipt
                .part
                .as_ref()
                .is_none_or(|part| self.bill.lines[*at].part == *part)
        };
        (0..self.bill.lines.len()).filter(is_for).collect()
    }

    /// What these sums of these lines hold.
    fn there(&self, lines: &[usize], sums: &[Sum]) -> Result<HomeMoney, Overflow> {
        let mut all = HomeMoney::ZERO;
        for sum in sums {
            all = all.plus(HomeMoney::total(available(&self.bill, lines, *sum)?)?)?;
        }
        Ok(all)
    }

    /// The question about a refund of more than was paid.
    fn more_than_paid(&self, taking: &Taking<'_>) -> Result<Option<String>, Diagnostic> {
        let (receipt, then) = (taking.receipt, taking.then);
        let limit = taking.paid.unwrap_or(taking.there);
        let foreign = receipt.currency != self.ground.paid_in;
        let loose = foreign || self.bill.seller_told || taking.paid.is_some();
        let most = with_slack(limit, then.is_some() && loose)?.plus(self.ground.pennies()?)?;
        // What came in the money it was paid in is worth today what it was then.
        if taking.amount.min(then.unwrap_or(taking.amount)) <= most {
            return Ok(None);
        }
        let parcel = || taking.of.map_or("this parcel", ChargeWord::name);
        Ok(Some(format!(
            "is the amount right? It is more than the {} that was paid for {}",
            self.ground.money(limit),
            receipt.part.as_deref().unwrap_or_else(parcel)
        )))
    }

    /// What a refund that came in foreign money, or came exchanged to more than there is, was worth by the rate of the order; none
    /// where no exchange lies between.
    fn at_order(&self, taking: &Taking<'_>) -> Result<Option<HomeMoney>, Diagnostic> {
        let (ground, receipt) = (&self.ground, taking.receipt);
        let rounding = Rounding::minor(ground.digits());
        let then = |currency, asked| -> Result<_, Diagnostic> {
            Ok(Some(ground.at_order(currency, asked)?.rounded(rounding)?))
        };
        if receipt.currency != ground.currency() {
            return then(receipt.currency, receipt.amount);
        }
        let within = taking.amount <= taking.there.plus(ground.pennies()?)?;
        if ground.paid_in == ground.currency() || within {
            return Ok(None);
        }
        let day = receipt.date.unwrap_or(ground.ordered);
        let Ok(quote) = ground.jurisdiction.market_rate(ground.paid_in, day) else {
            return Ok(None);
        };
        then(
            ground.paid_in,
            quote.rate.to_seller(taking.amount)?.amount(),
        )
    }

    /// What was really paid for some lines and has not come back, where only a part of the calculated amount was paid: by the
    /// rows of a parcel on its way or by a deposit, else by receipts.
    fn paid_left(&self, taking: &Taking<'_>) -> Result<Option<HomeMoney>, Overflow> {
        let door = self.ground.is_of_door(taking.of);
        match (self.bill.kind, self.bill.deposit.filter(|_| !door)) {
            (ConsignmentState::InHand | ConsignmentState::Gift, _) => Ok(None),
            (_, Some(deposit)) => {
                let refunded = self.bill.refunded(&self.bill.all())?;
                Ok(Some(deposit.minus(refunded)?.min(taking.there)))
            }
            (ConsignmentState::OnOrder, None) if !door && self.bill.seller_told => Ok(None),
            (ConsignmentState::OnOrder, None) if !door => {
                self.paid_by_rows(&taking.lines).map(Some)
            }
            _ => {
                let known = |sum: &Sum| self.bill.known.left_of(*sum);
                let known = taking
                    .sums
                    .iter()
                    .map(known)
                    .collect::<Result<Vec<_>, _>>()?;
                let known = known.into_iter().map(|held| held.max(HomeMoney::ZERO));
                Ok(Some(HomeMoney::total(known)?.min(taking.there)))
            }
        }
    }

    /// What rows tell as paid for some lines, less what came back; a row that tells nothing is paid as calculated.
    fn paid_by_rows(&self, lines: &[usize]) -> Result<HomeMoney, Overflow> {
        let mut sum = HomeMoney::ZERO;
        for line in lines.iter().map(|at| &self.bill.lines[*at]) {
            let told = paid_of(line, self.book);
            sum = sum.plus(told.map_or_else(|| line.asked_in_all(), Ok)?)?;
        }
        sum.minus(self.bill.refunded(lines)?)
    }

    /// Takes a refund off its sums in their order, the first as far as the money reaches, the others as far as it did by the rate of
    /// the order. What is left was paid beyond what is calculated, or is a gain from exchange, which comes off the price.
    fn spread(&mut self, taking: &Taking<'a>) -> Result<Back<'a>, Diagnostic> {
        let amount = taking.amount;
        let mut back = Back {
            receipt: taking.receipt,
            of: taking.of,
            amount,
            gain: HomeMoney::ZERO,
            beyond: HomeMoney::ZERO,
            taken: Vec::new(),
            released: Vec::new(),
        };
        self.take_in_order(taking, &mut back)?;
        let taken = back
            .taken
            .iter()
            .flat_map(|(_, parts)| parts.iter().copied());
        let rest = amount.minus(HomeMoney::total(taken)?)?;
        let beyond = match taking.paid {
            Some(paid) => paid.minus(taking.there)?.max(HomeMoney::ZERO),
            None => HomeMoney::ZERO,
        };
        back.beyond = rest.min(beyond);
        back.gain = rest.minus(back.beyond)?;
        if rest.is_positive() {
            self.off_the_price(&taking.lines, &mut back)?;
        }
        Ok(back)
    }

    fn take_in_order(&mut self, taking: &Taking<'_>, back: &mut Back<'_>) -> Result<(), Overflow> {
        let mut left = taking
            .paid
            .map_or(taking.amount, |paid| taking.amount.min(paid));
        let mut then = taking.then;
        let pennies = self.ground.pennies()?;
        for (at, sum) in taking.sums.iter().enumerate() {
            let reach = match then.filter(|_| at > 0) {
                Some(then) if then <= pennies => HomeMoney::ZERO,
                Some(then) => left.min(then),
                None => left,
            };
            let taken = self.take(&taking.lines, *sum, reach, back)?;
            left = left.minus(taken)?;
            then = then.map(|then| then.minus(taken)).transpose()?;
        }
        Ok(())
    }

    /// Takes of one sum what it holds, up to so much; returned is what that was.
    fn take(
        &mut self,
        lines: &[usize],
        sum: Sum,
        most: HomeMoney,
        back: &mut Back<'_>,
    ) -> Result<HomeMoney, Overflow> {
        let held = available(&self.bill, lines, sum)?;
        let taken = most.min(HomeMoney::total(held.iter().copied())?);
        if taken.is_positive() {
            let parts = taken.share(&held, self.ground.digits())?;
            self.came_back(lines, sum, &parts, back)?;
        }
        Ok(taken.max(HomeMoney::ZERO))
    }

    /// What no sum holds: shared by what the refund took of each line.
    fn off_the_price(&mut self, lines: &[usize], back: &mut Back<'_>) -> Result<(), Overflow> {
        let of = |at: &usize| HomeMoney::total(back.taken.iter().map(|(_, parts)| parts[*at]));
        let weights = lines.iter().map(of).collect::<Result<Vec<_>, _>>()?;
        let beyond = back.beyond.share(&weights, self.ground.digits())?;
        for (at, part) in lines.iter().zip(beyond) {
            let line = &mut self.bill.lines[*at];
            line.refunded = line.refunded.plus(part)?;
        }
        if back.gain.is_zero() {
            return Ok(());
        }
        let parts = back.gain.share(&weights, self.ground.digits())?;
        self.came_back(lines, Sum::Discount, &parts, back)
    }

    /// Lowers one sum of some lines by what came back of it.
    fn came_back(
        &mut self,
        lines: &[usize],
        sum: Sum,
        parts: &[HomeMoney],
        back: &mut Back<'_>,
    ) -> Result<(), Overflow> {
        let mut all = vec![HomeMoney::ZERO; self.bill.lines.len()];
        for (at, part) in lines.iter().zip(parts) {
            all[*at] = *part;
        }
        self.bill.lower(sum, &all, true)?;
        back.taken.push((sum, all));
        Ok(())
    }

    /// Whether something was paid of what a refund is of: as the standing of the parcel says or its rows tell, else by a receipt.
    fn is_paid(&self, of: Option<ChargeWord>, lines: &[usize]) -> bool {
        let door = self.ground.is_of_door(of);
        let tells = |at: &usize| {
            paid_of(&self.bill.lines[*at], self.book).is_some_and(HomeMoney::is_positive)
        };
        let by_standing = match self.bill.kind {
            ConsignmentState::ToOrder => false,
            ConsignmentState::OnOrder => !door && lines.iter().any(tells),
            ConsignmentState::InHand | ConsignmentState::Gift => true,
        };
        let charges = self.reading.used.iter().chain(&self.reading.sent_back);
        let pays = |r: &&Receipt| r.charge != ChargeWord::Discount && self.pays_on(door, r);
        by_standing || charges.chain(self.reading.of_deposit()).any(pays)
    }

    /// Whether a receipt is of a payment on one side.
    fn pays_on(&self, door: bool, receipt: &Receipt) -> bool {
        self.ground.is_door(receipt.charge) == door && receipt.amount.is_positive()
    }

    /// The question, where nothing is told to have been paid that could have come back.
    fn never_paid(&self, of: Option<ChargeWord>) -> &'static str {
        if self.bill.kind == ConsignmentState::OnOrder && !self.ground.is_of_door(of) {
            "what was paid? No payment is entered that could have come back; give the row its `paid`, or the payment a receipt"
        } else {
            "is this parcel's status right? No payment is entered that could have come back"
        }
    }

    /// What must be said of a refund.
    pub(super) fn say_refund(&self, back: &Back<'_>, cautions: &mut Cautions) {
        let about = [self.bill.id.as_str()];
        if let Some(of) = back.of.filter(|_| back.receipt.of.is_none()) {
            let text = format!(
                "A refund is to the penny what `{}` was, so it is read as a refund of that",
                of.name()
            );
            let saying = Saying::new(text)
                .so("If it is of something else, write `refund of ...` as its charge.");
            cautions.say("refund-of-charge", saying, &about);
        }
        if back.of.is_none() && back.receipt.part.is_none() && self.bill.lines.len() > 1 {
            let text = "A refund is shared over the parts of the parcel by their price";
            let saying = Saying::new(text)
                .so("If it is for one part, name it in the column `part` of `receipts.csv`.");
            cautions.say("refund-shared", saying, &about);
        }
        if back.gain.is_positive() {
            let exchanged = back.is_exchanged(&self.bill, self.ground.jurisdiction);
            let why = if exchanged {
                "by exchange"
            } else {
                "by rounding"
            };
            let text = format!(
                "A refund is {} more than was paid, {why}, and this comes off the price",
                self.ground.money(back.gain)
            );
            let saying = Saying::new(text)
                .so("Check the amount of the refund.")
                .costs(back.gain);
            cautions.say("refund-beyond", saying, &about);
        }
        self.ground.say_old_rate(back.receipt, cautions);
    }

    /// The first day on which something that a refund could be of was paid, where that is later than it.
    pub(super) fn paid_later(&self, back: &Back<'_>) -> Option<Date> {
        let door = self.ground.is_of_door(back.of);
        let paid = self.reading.used.iter().chain(self.reading.of_deposit());
        let paid = paid.filter(|r| self.pays_on(door, r));
        let days: Vec<Option<Date>> = paid.map(|receipt| receipt.date).collect();
        let first = if days.is_empty() {
            self.told_ordered()
        } else {
            days.into_iter()
                .collect::<Option<Vec<_>>>()?
                .into_iter()
                .min()
        };
        first.filter(|first| back.receipt.date.is_some_and(|day| day < *first))
    }

    /// The day of ordering, where the parcel's row tells it.
    fn told_ordered(&self) -> Option<Date> {
        self.book.parcel_row(&self.bill.id)?.ordered
    }
}

/// What a sum of each of these lines holds.
fn available(bill: &Bill, lines: &[usize], sum: Sum) -> Result<Vec<HomeMoney>, Overflow> {
    let of = |at: &usize| {
        let held = bill.lines[*at].amounts.left_of(sum)?;
        Ok(held.max(HomeMoney::ZERO))
    };
    lines.iter().map(of).collect()
}

impl Back<'_> {
    /// Whether an exchange lies between what was paid and what came back.
    pub(crate) fn is_exchanged(&self, bill: &Bill, jurisdiction: &Jurisdiction<'_>) -> bool {
        let home = jurisdiction.currency();
        self.receipt.currency != home || bill.paid_in != home
    }
}
