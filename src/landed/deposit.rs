//! What is paid to a seller before all is paid: deposits that rows tell, deposits that a receipt alone tells, and the balances that
//! they leave.

use super::bill::{Bill, BillLine};
use super::jurisdiction::Jurisdiction;
use super::parcel::ConsignmentState;
use super::reading::{Deposit, Receiving};
use super::receipt::notes;
use crate::book::{Book, ChargeWord, Part, Receipt};
use crate::text::Diagnostic;
use crate::units::{Dec, HomeMoney, Overflow};

/// The percentage of the price of goods below which they are paid in part, so that the balance is still to pay.
const PAID_IN_FULL: u32 = 90;

/// What ends the question whether a receipt is of a deposit, in its note.
const IN_FULL: &str = "in full";

impl Deposit<'_> {
    /// The question, where no row tells the deposit.
    pub(super) fn question(&self, jurisdiction: &Jurisdiction<'_>) -> String {
        format!(
            "is this a deposit? {} is well below the price of the parts ordered",
            jurisdiction.money(self.paid)
        )
    }
}

/// What a row of a line tells as paid.
pub(super) fn paid_of(line: &BillLine, book: &Book) -> Option<HomeMoney> {
    row_of(line, book.paid_for()).map(|(_, paid)| paid)
}

/// Whether so little is paid of some goods that it is paid in part.
pub(super) fn is_low(paid: HomeMoney, goods: HomeMoney) -> Result<bool, Overflow> {
    let in_full = goods.times(Dec::from(PAID_IN_FULL))?;
    Ok(paid.is_positive() && paid.times(Dec::HUNDRED)? < in_full)
}

impl Receiving<'_, '_> {
    /// Sets the receipts of a deposit apart: the seller's total is just what rows of a parcel on its way tell as paid, or is well
    /// below the price with no row that tells as much, and in both cases is less than nine tenths of the goods.
    pub(super) fn set_deposit_apart(&mut self) -> Result<(), Diagnostic> {
        let total = |r: &&&Receipt| r.charge == ChargeWord::ToPaySeller;
        let used = &self.reading.used;
        let lumps: Vec<&Receipt> = used.iter().filter(total).copied().collect();
        let beside = |r: &&Receipt| !total(&r) && !self.ground.is_door(r.charge);
        let is_ordered = matches!(
            self.ground.kind,
            ConsignmentState::ToOrder | ConsignmentState::OnOrder
        );
        if !is_ordered || lumps.is_empty() || used.iter().any(beside) {
            return Ok(());
        }
        let (paid, told) = match self.told_deposit(&lumps)? {
            Some(paid) => (Some(paid), true),
            None => (self.asked_deposit(&lumps)?, false),
        };
        if let Some(paid) = paid {
            self.reading.deposit = Some(Deposit {
                receipts: self.reading.take(ChargeWord::ToPaySeller),
                paid,
                told,
                came_back: false,
            });
        }
        Ok(())
    }

    /// What the rows tell, where the receipts say the same; a row that tells nothing is paid as calculated.
    fn told_deposit(&self, lumps: &[&Receipt]) -> Result<Option<HomeMoney>, Diagnostic> {
        let (mut told, mut paid) = (HomeMoney::ZERO, HomeMoney::ZERO);
        for line in &self.calculated.lines {
            let own = paid_of(line, self.book);
            // What no row tells adds nothing to what is told, and to what is paid what is calculated.
            told = told.plus(own.unwrap_or(HomeMoney::ZERO))?;
            paid = paid.plus(own.map_or_else(|| line.amounts.to_seller(), Ok)?)?;
        }
        let goods = self.calculated.amounts.net_goods()?;
        let on_order = self.ground.kind == ConsignmentState::OnOrder;
        if !on_order || told.is_zero() || !is_low(paid, goods)? {
            return Ok(None);
        }
        let differs = self.ground.total(lumps)?.minus(paid)?.abs();
        let typed = Dec::total(lumps.iter().map(|r| r.amount))? == paid.amount();
        Ok((differs <= self.ground.pennies()? || typed).then_some(paid))
    }

    /// What the receipts come to, where that is well below the price and no note says that it is all.
    fn asked_deposit(&self, lumps: &[&Receipt]) -> Result<Option<HomeMoney>, Diagnostic> {
        let paid = self.ground.total(lumps)?;
        let all = lumps.iter().any(|receipt| notes(receipt, IN_FULL));
        let goods = self.calculated.amounts.net_goods()?;
        Ok((!all && is_low(paid, goods)?).then_some(paid))
    }
}

/// The row of a line, where it tells what was paid for it.
fn row_of<'a>(
    line: &BillLine,
    mut rows: impl Iterator<Item = &'a Part>,
) -> Option<(&'a Part, HomeMoney)> {
    let row = rows.find(|row| row.name == line.part && row.at.line().to_string() == line.row)?;
    Some((row, HomeMoney::of(row.paid?)))
}

impl BillLine {
    /// What the seller asked for it in all, before anything came back.
    pub(super) fn asked_in_all(&self) -> Result<HomeMoney, Overflow> {
        let now = self.amounts.to_seller()?;
        now.plus(self.refunded)?.minus(self.sent_back)
    }
}

/// What was really paid to a seller, and for sending goods back, less what came back: as a deposit or as told for each row, else as
/// calculated.
pub(super) fn paid_to_seller(bill: &Bill, rows: &[&Part]) -> Result<HomeMoney, Overflow> {
    let moved = |sum: HomeMoney, line: &BillLine| sum.plus(line.sent_back)?.minus(line.refunded);
    if let Some(deposit) = bill.deposit {
        return bill.lines.iter().try_fold(deposit, moved);
    }
    let mut sum = HomeMoney::ZERO;
    for line in &bill.lines {
        sum = match row_of(line, rows.iter().copied()) {
            Some((_, paid)) => moved(sum.plus(paid)?, line)?,
            None => sum.plus(line.amounts.to_seller()?)?,
        };
    }
    Ok(sum)
}

/// A payment that leaves a balance: of what, how much it was, and how much is left.
pub(super) type Balance = (String, HomeMoney, HomeMoney);

/// What is still to be paid to a seller for an order that is paid in part, by a deposit or row by row. A payment that is
/// more than a tenth below the price of the goods is not taken for a discount that nobody has told.
pub(super) fn balances(bill: &Bill, rows: &[&Part]) -> Result<Vec<Balance>, Overflow> {
    let cancelled = bill.lines.iter().all(|line| line.cancelled);
    if bill.kind != ConsignmentState::OnOrder || bill.seller_told || cancelled {
        return Ok(Vec::new());
    }
    if let Some(deposit) = bill.deposit {
        let asked = bill.lines.iter().map(BillLine::asked_in_all);
        let asked: Vec<HomeMoney> = asked.collect::<Result<_, _>>()?;
        let left = HomeMoney::total(asked)?.minus(deposit)?;
        return Ok(vec![(bill.id.clone(), deposit, left)]);
    }
    let open = bill.lines.iter().filter(|line| !line.cancelled);
    let balances = open
        .map(|line| balance(line, rows))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(balances.into_iter().flatten().collect())
}

/// The balance of one line, where its row tells that it is paid in part.
fn balance(line: &BillLine, rows: &[&Part]) -> Result<Option<Balance>, Overflow> {
    let Some((row, paid)) = row_of(line, rows.iter().copied()) else {
        return Ok(None);
    };
    let (asked, a) = (line.asked_in_all()?, &line.amounts);
    let goods = a.net_goods()?.plus(line.refunded)?.min(a.goods).min(asked);
    let left = is_low(paid, goods)? || (paid.is_zero() && goods.is_positive());
    Ok(if left {
        Some((row.name.clone(), paid, asked.minus(paid)?))
    } else {
        None
    })
}
