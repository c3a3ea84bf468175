//! What is paid to a seller before all is paid: deposits that rows tell, deposits that a receipt alone tells, and the balances that
//! they leave.

use super::bill::{Bill, BillLine};
use super::jurisdiction::Jurisdiction;
use super::parcel::ConsignmentState;
use super::reading::{Deposit, Reading};
use super::receipt::{at_door, home, money, pennies};
use crate::book::{Book, ChargeWord, Part, Receipt};
use crate::text::Diagnostic;
use crate::units::{Dec, Overflow};

/// In the hundred of the goods: what less is paid of is paid in part, and the balance is still to pay.
const PAID_IN_FULL: u32 = 90;

/// What ends the question whether a receipt is of a deposit, in its note.
const IN_FULL: &str = "in full";

impl Deposit<'_> {
    /// The question, where no row tells the deposit.
    pub(super) fn question(&self, jurisdiction: &Jurisdiction<'_>) -> String {
        format!(
            "is this a deposit? {} is well below the price of what is ordered",
            money(self.paid, jurisdiction)
        )
    }
}

/// What a row of a line tells as paid.
pub(super) fn paid_of(line: &BillLine, book: &Book) -> Option<Dec> {
    row_of(line, book.paid_for()).map(|(_, paid)| paid)
}

pub(super) fn is_low(paid: Dec, goods: Dec) -> Result<bool, Overflow> {
    Ok(paid.is_positive() && paid.times(Dec::HUNDRED)? < goods.times(Dec::from(PAID_IN_FULL))?)
}

/// Sets the receipts of a deposit apart: the seller's total is just what rows of a parcel on its way tell as paid, or is well below
/// the price with no row that tells as much, and in both cases is less than nine tenths of the goods.
pub(super) fn deposit(
    bill: &Bill,
    book: &Book,
    reading: &mut Reading<'_>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<(), Diagnostic> {
    let lumps: Vec<&Receipt> = reading
        .used
        .iter()
        .copied()
        .filter(|r| r.charge == ChargeWord::ToPaySeller)
        .collect();
    let beside = |r: &&Receipt| {
        !matches!(
            r.charge,
            ChargeWord::ToPaySeller | ChargeWord::ReturnFreight
        ) && !at_door(r, bill)
    };
    if !matches!(
        bill.kind,
        ConsignmentState::ToOrder | ConsignmentState::OnOrder
    ) || lumps.is_empty()
        || reading.used.iter().copied().any(|r| beside(&r))
    {
        return Ok(());
    }
    let paid = match told(bill, book, &lumps, jurisdiction)? {
        Some(paid) => Some((paid, true)),
        None => asked(bill, &lumps, jurisdiction)?.map(|paid| (paid, false)),
    };
    if let Some((paid, told)) = paid {
        let (receipts, used) = std::mem::take(&mut reading.used)
            .into_iter()
            .partition(|r| r.charge == ChargeWord::ToPaySeller);
        (reading.used, reading.deposit) = (
            used,
            Some(Deposit {
                receipts,
                paid,
                told,
                came_back: false,
            }),
        );
    }
    Ok(())
}

/// What the rows tell, where the receipts say the same; a row that tells nothing is paid as calculated.
fn told(
    bill: &Bill,
    book: &Book,
    lumps: &[&Receipt],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<Dec>, Diagnostic> {
    let (mut told, mut silent) = (Dec::ZERO, Dec::ZERO);
    for line in &bill.lines {
        match paid_of(line, book) {
            Some(paid) => told = told.plus(paid)?,
            None => silent = silent.plus(line.amounts.to_seller()?)?,
        }
    }
    let paid = told.plus(silent)?;
    let goods = bill.amounts.goods.minus(bill.amounts.discount)?;
    if bill.kind != ConsignmentState::OnOrder || told.is_zero() || !is_low(paid, goods)? {
        return Ok(None);
    }
    let same = home(lumps, bill, jurisdiction)?.minus(paid)?.abs() <= pennies(bill, jurisdiction)?;
    let typed = Dec::total(lumps.iter().map(|r| r.amount))? == paid;
    Ok((same || typed).then_some(paid))
}

/// What the receipts come to, where that is well below the price and no note says that it is all.
fn asked(
    bill: &Bill,
    lumps: &[&Receipt],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<Dec>, Diagnostic> {
    let all = lumps
        .iter()
        .any(|r| r.at.cell("note").text().to_lowercase().contains(IN_FULL));
    let paid = home(lumps, bill, jurisdiction)?;
    let goods = bill.amounts.goods.minus(bill.amounts.discount)?;
    Ok((!all && is_low(paid, goods)?).then_some(paid))
}

/// The row of a line, where it tells what was paid for it.
fn row_of<'a>(
    line: &BillLine,
    mut rows: impl Iterator<Item = &'a Part>,
) -> Option<(&'a Part, Dec)> {
    let row = rows.find(|row| row.name == line.part && row.at.line().to_string() == line.row)?;
    Some((row, row.paid?))
}

/// What was really paid to a seller, and for sending goods back, less what came back: as a deposit or as told for each row, else as
/// calculated.
pub(super) fn paid_to_seller(bill: &Bill, rows: &[&Part]) -> Result<Dec, Overflow> {
    if let Some(deposit) = bill.deposit {
        return bill.lines.iter().try_fold(deposit, |sum, line| {
            sum.plus(line.sent_back)?.minus(line.refunded)
        });
    }
    bill.lines.iter().try_fold(Dec::ZERO, |sum, line| {
        match row_of(line, rows.iter().copied()) {
            Some((_, paid)) => sum.plus(paid)?.plus(line.sent_back)?.minus(line.refunded),
            None => sum.plus(line.amounts.to_seller()?),
        }
    })
}

/// What is still to be paid to a seller of what is paid in part, as a deposit or row by row; more than a tenth below the price of
/// its goods is no discount that was left untold.
pub(super) fn balances(bill: &Bill, rows: &[&Part]) -> Result<Vec<(String, Dec, Dec)>, Overflow> {
    let mut found = Vec::new();
    if bill.kind != ConsignmentState::OnOrder || bill.seller_told {
        return Ok(found);
    }
    let asked_of = |line: &BillLine| {
        line.amounts
            .to_seller()?
            .plus(line.refunded)?
            .minus(line.sent_back)
    };
    if bill.lines.iter().all(|line| line.cancelled) {
        return Ok(found);
    }
    if let Some(deposit) = bill.deposit {
        let asked = bill
            .lines
            .iter()
            .map(asked_of)
            .collect::<Result<Vec<_>, _>>()?;
        return Ok(vec![(
            bill.id.clone(),
            deposit,
            Dec::total(asked)?.minus(deposit)?,
        )]);
    }
    for line in bill.lines.iter().filter(|line| !line.cancelled) {
        let Some((row, paid)) = row_of(line, rows.iter().copied()) else {
            continue;
        };
        let asked = asked_of(line)?;
        let goods = line
            .amounts
            .goods
            .minus(line.amounts.discount)?
            .plus(line.refunded)?
            .min(line.amounts.goods)
            .min(asked);
        if is_low(paid, goods)? || (paid.is_zero() && goods.is_positive()) {
            found.push((row.name.clone(), paid, asked.minus(paid)?));
        }
    }
    Ok(found)
}
