//! The first sheet: all parcels and what is simply held, each kind of sum in a column, and the landed cost.

use super::Summed;
use super::formula::{At, Block, Cells, NumExpr};
use super::sheets::{Look, Sheets, TOGETHER};
use crate::landed::{ChargeBreakdown, Landed};
use crate::report::lacking::lacks;
use crate::text::REPORT;
use crate::units::{Dec, Overflow};

const SUMS: [&str; 11] = [
    "goods",
    "discount",
    "freight",
    "insurance",
    "duty",
    "anti-dumping",
    "tax at the sale",
    "tax at the border",
    "carrier's fee",
    "card fee",
    "lands at",
];

/// The column of the landed cost.
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
        "dates and least spends were looked at; their percentages and amounts are live",
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
) -> Result<(), String> {
    let at = |row: u32, col: u16| At { sheet, row, col };
    let digits = landed.currency.digits();
    let title = format!(
        "What the build lands at in {} ({}), {}, ordered {}",
        landed.to.in_words(),
        landed.to,
        landed.currency,
        landed.date
    );
    sheets.label(at(0, 0), title, Look::Head);
    let note = "An estimate, not a ruling: customs and the carrier decide. Figures on a pale ground may be changed, and every sum moves.";
    sheets.label(at(1, 0), note, Look::Source);
    for (col, name) in (0..).zip(std::iter::once("parcel").chain(SUMS)) {
        sheets.label(at(3, col), name, Look::Head);
    }
    let row = parcels(sheets, at(4, 0), digits, summed).map_err(said)?;
    let row = held(sheets, at(row, 0), landed).map_err(said)?;
    sheets.label(at(row, 0), "together", Look::Head);
    for col in 1..=LANDS_AT {
        let block = Block {
            from: at(4, col),
            to: at(row.max(5) - 1, col),
        };
        (sheets.formula(at(row, col), NumExpr::Total(block), Look::Sum(digits))).map_err(said)?;
    }
    let differing = differing(sheets, (sheet, row), landed, summed).map_err(said)?;
    if !differing.is_empty() {
        return Err(format!(
            "its formulas come to other sums than `cost`: {}. {REPORT}",
            differing.join("; ")
        ));
    }
    let next = not_in_it(sheets, at(row + 2, 0), landed);
    sheets.label(at(next, 0), "What is fixed here, and why", Look::Head);
    for (row, (what, why)) in (next + 1..).zip(FIXED) {
        sheets.label(at(row, 0), what, Look::Plain);
        sheets.label(at(row, 1), why, Look::Source);
    }
    if let Some(leaf) = sheets.leaves.get_mut(sheet) {
        leaf.widths = vec![(0, 34)];
        leaf.frozen = (4, 1);
    }
    Ok(())
}

/// Writes the sums of each parcel in a row; the row that comes after them.
fn parcels(sheets: &mut Sheets, from: At, digits: u32, summed: &[Summed]) -> Result<u32, Overflow> {
    let mut row = from.row;
    for one in summed {
        sheets.label(At { row, ..from }, &one.id, Look::Plain);
        for (col, name) in (1..).zip(SUMS) {
            let there = one.rows.iter().find(|(own, _)| *own == name);
            let cell = match there.filter(|_| one.lines > 0) {
                Some((_, there)) => NumExpr::R(At {
                    sheet: one.sheet,
                    row: *there,
                    col: TOGETHER,
                }),
                None => NumExpr::N(Dec::ZERO),
            };
            sheets.formula(At { row, col, ..from }, cell, Look::Money(digits))?;
        }
        row += 1;
    }
    Ok(row)
}

/// Writes what is simply held in a row, where there is something; the row that comes after it.
fn held(sheets: &mut Sheets, from: At, landed: &Landed) -> Result<u32, Overflow> {
    if landed.held.is_empty() {
        return Ok(from.row);
    }
    sheets.label(from, "in hand and given, as paid", Look::Plain);
    let paid = At { col: 1, ..from };
    sheets.figure(paid, landed.totals.held, Look::Input);
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
        sheets.label(
            At {
                row,
                col: 1,
                ..from
            },
            lack.what,
            Look::Source,
        );
        row += 1;
    }
    row + 1
}

fn said(overflow: Overflow) -> String {
    overflow.to_string()
}

/// Each sum of each parcel, and of all together in the last row, that is another than the bill's.
fn differing(
    sheets: &Sheets,
    (sheet, last): (usize, u32),
    landed: &Landed,
    summed: &[Summed],
) -> Result<Vec<String>, Overflow> {
    let digits = landed.currency.digits();
    let mut found = Vec::new();
    let mut hold = |row: u32, name: &str, sums: [Dec; SUMS.len()]| {
        for ((col, what), sum) in (1..).zip(SUMS).zip(sums) {
            let here = sheets.number(At { sheet, row, col });
            if here != sum {
                let (here, sum) = (here.grouped(digits), sum.grouped(digits));
                found.push(format!("{name}, {what}: {here} and not {sum}"));
            }
        }
    };
    for (row, one) in (4..).zip(summed) {
        if let Some(bill) = landed.bills.iter().find(|bill| bill.id == one.id) {
            hold(row, &one.id, sums_of(&bill.amounts)?);
        }
    }
    let totals = sums_of(&landed.totals.amounts)?;
    hold(last, "all together", totals);
    Ok(found)
}

/// Sums in the order of the columns.
fn sums_of(amounts: &ChargeBreakdown) -> Result<[Dec; SUMS.len()], Overflow> {
    Ok([
        amounts.goods,
        amounts.discount,
        amounts.freight,
        amounts.insurance,
        amounts.duty,
        amounts.remedy,
        amounts.tax_at_sale,
        amounts.tax_at_border,
        amounts.handling,
        amounts.card_fee,
        amounts.landed()?,
    ])
}
