//! The first sheet: all parcels and what is simply held, each kind of sum in a column, and the landed cost.

use super::Summed;
use super::formula::{At, Block, Cells, NumExpr};
use super::page::TOGETHER;
use super::refused::{Made, Refused};
use super::sheets::{Look, Sheets};
use super::sums::Sum;
use crate::landed::{ChargeBreakdown, Landed};
use crate::report::lacking::lacks;
use crate::units::Dec;

/// The column of the landed cost, behind those of the sums.
const LANDS_AT: u16 = 11;

/// What does not move with the figures, and the reason.
const FIXED: [(&str, &str); 6] = [
    (
        "rows of tariff, taxes and codes",
        "they hang on digits, origin and dates, which are searched for in tables that are not in here; their rates are live",
    ),
    (
        "which rows of charges and limits",
        "what they ask of the parcel (channel, sender, days) is answered; what they ask of sums is live",
    ),
    (
        "which discounts hold",
        "their dates were looked at; their least spends, percentages and amounts are live",
    ),
    (
        "freight by a schedule",
        "the step of the schedule is that of the packed mass as it was; type another amount in its place",
    ),
    (
        "whether prices hold tax",
        "the reading that fits the limit was chosen; the rate by which tax is taken out is live",
    ),
    (
        "days",
        "exchange, rates and limits are those of the days on the sheets of parcels",
    ),
];

/// Writes it; refused where the formulas come to other sums than the bills, which is never the book's fault.
pub(super) fn write(
    sheets: &mut Sheets,
    sheet: usize,
    landed: &Landed,
    summed: &[Summed],
) -> Made<()> {
    let at = |row: u32, col: u16| At { sheet, row, col };
    let title = format!(
        "What the build lands at in {} ({}), {}, ordered {}",
        landed.to.in_words(),
        landed.to,
        landed.currency,
        landed.date
    );
    let names: Vec<&str> = std::iter::once("parcel").chain(names()).collect();
    sheets.head(sheet, &title, (3, &names));
    let note = "An estimate, not a ruling: customs and the carrier decide. Figures on a pale ground may be changed, and every sum moves.";
    sheets.label(at(1, 0), note, Look::Source);
    let money = landed.currency.digits();
    let row = parcels(sheets, at(4, 0), money, summed)?;
    let row = held(sheets, at(row, 0), landed)?;
    sheets.label(at(row, 0), "together", Look::Head);
    for col in 1..=LANDS_AT {
        let block = Block {
            from: at(4, col),
            to: at(row.max(5) - 1, col),
        };
        sheets.formula(at(row, col), NumExpr::Total(block), Look::Sum(money))?;
    }
    agrees(sheets, at(row, 0), landed, summed)?;
    let next = not_in_it(sheets, at(row + 2, 0), landed);
    sheets.label(at(next, 0), "What is fixed here, and why", Look::Head);
    for (row, (what, why)) in (next + 1..).zip(FIXED) {
        sheets.label(at(row, 0), what, Look::Plain);
        sheets.label(at(row, 1), why, Look::Source);
    }
    sheets.lay_out(sheet, &[(0, 34)], (4, 1));
    Ok(())
}

/// What stands in the columns behind the first.
fn names() -> impl Iterator<Item = &'static str> {
    Sum::ALL.into_iter().map(Sum::name).chain(["lands at"])
}

/// Writes the sums of each parcel in a row; the row that comes after them.
fn parcels(sheets: &mut Sheets, from: At, digits: u32, summed: &[Summed]) -> Made<u32> {
    let mut row = from.row;
    for one in summed {
        sheets.label(At { row, ..from }, &one.id, Look::Plain);
        let rows = Sum::ALL.map(|sum| one.rows.of(sum));
        for (col, there) in (1..).zip(rows.into_iter().chain([one.landed])) {
            let cell = NumExpr::R(At {
                sheet: one.sheet,
                row: there,
                col: TOGETHER,
            });
            sheets.formula(At { row, col, ..from }, cell, Look::Money(digits))?;
        }
        row += 1;
    }
    Ok(row)
}

/// Writes what is simply held in a row, where there is something; the row that comes after it.
fn held(sheets: &mut Sheets, from: At, landed: &Landed) -> Made<u32> {
    if landed.held.is_empty() {
        return Ok(from.row);
    }
    sheets.label(from, "in hand and given, as paid", Look::Plain);
    let paid = At { col: 1, ..from };
    sheets.figure(paid, landed.totals.held.amount(), Look::Input);
    let sum = At {
        col: LANDS_AT,
        ..from
    };
    let look = Look::Money(landed.currency.digits());
    sheets.formula(sum, NumExpr::R(paid), look)?;
    Ok(from.row + 1)
}

/// Writes what is not in the sum, where there is something; the row that comes after it.
fn not_in_it(sheets: &mut Sheets, from: At, landed: &Landed) -> u32 {
    let lacks = lacks(landed);
    if lacks.is_empty() {
        return from.row;
    }
    sheets.label(from, "Not in the sum", Look::Head);
    let mut row = from.row + 1;
    for lack in lacks {
        sheets.label(At { row, ..from }, lack.about, Look::Plain);
        let col = 1;
        sheets.label(At { row, col, ..from }, lack.what, Look::Source);
        row += 1;
    }
    row + 1
}

/// Holds each sum of each parcel, and of all together in the last row, against the bills.
fn agrees(sheets: &Sheets, last: At, landed: &Landed, summed: &[Summed]) -> Made<()> {
    let digits = landed.currency.digits();
    let mut differing = Vec::new();
    let mut hold = |row: u32, name: &str, amounts: &ChargeBreakdown| -> Made<()> {
        for ((col, what), sum) in (1..).zip(names()).zip(sums_of(amounts)?) {
            let here = sheets.number(At { row, col, ..last });
            if here != sum {
                let (here, sum) = (here.grouped(digits), sum.grouped(digits));
                differing.push(format!("{name}, {what}: {here} and not {sum}"));
            }
        }
        Ok(())
    };
    for (row, one) in (4..).zip(summed) {
        let bill = landed.bills.iter().find(|bill| bill.id == one.id);
        let missing = || Refused::defect(format!("the parcel {} has no bill", one.id));
        hold(row, &one.id, &bill.ok_or_else(missing)?.amounts)?;
    }
    hold(last.row, "all together", &landed.totals.amounts)?;
    if differing.is_empty() {
        return Ok(());
    }
    let differing = differing.join("; ");
    let what = format!("its formulas come to other sums than `cost`: {differing}");
    Err(Refused::defect(what))
}

/// Sums in the order of the columns.
fn sums_of(amounts: &ChargeBreakdown) -> Made<Vec<Dec>> {
    let sums = Sum::ALL.into_iter().map(|sum| amounts[sum].amount());
    Ok(sums.chain([amounts.landed()?.amount()]).collect())
}
