//! The first sheet: what everything lands at, a row for each parcel in a few columns and in all of them, a chart, what is not in
//! the sum, and what is fixed.

use super::Summed;
use super::fixed::fixed;
use super::formula::{At, Block, Cells, NumExpr};
use super::inputs::Inputs;
use super::page::TOGETHER;
use super::refused::{Made, Refused};
use super::sheets::{Bars, Look, Sheets};
use super::sums::Sum;
use crate::landed::{ChargeBreakdown, Landed, Working};
use crate::report::lacking::lacks;
use crate::units::Dec;

/// The column of the landed cost, behind those of the sums.
const LANDS_AT: u16 = 11;
/// The row of the first parcel in the short table.
const SHORT: u32 = 5;
/// How many rows the chart takes at least.
const CHART: u32 = 15;

/// The columns of the short table, each with the sums in it.
const IN_SHORT: [(&str, &[Sum]); 4] = [
    (
        "goods and freight",
        &[Sum::Goods, Sum::Discount, Sum::Freight, Sum::Insurance],
    ),
    ("duty", &[Sum::Duty, Sum::Remedy]),
    ("tax", &[Sum::AtSale, Sum::AtBorder]),
    ("fees", &[Sum::Handling, Sum::CardFee]),
];

/// The sheet as it is written.
struct First<'a> {
    sheets: &'a mut Sheets,
    sheet: usize,
    digits: u32,
    /// The rows of parcels, and of parts that are simply held.
    names: Vec<String>,
}

/// Writes it; refused where the formulas come to other sums than the bills, which is never the book's fault.
pub(super) fn write(
    sheets: &mut Sheets,
    sheet: usize,
    (landed, works): (&Landed, &[Working<'_>]),
    summed: &[Summed],
    inputs: &Inputs,
) -> Made<()> {
    let mut names: Vec<String> = summed.iter().map(|one| one.id.clone()).collect();
    if !inputs.held.is_empty() {
        names.push("in hand and given, as paid".to_owned());
    }
    let mut first = First {
        sheets,
        sheet,
        digits: landed.currency.digits(),
        names,
    };
    let full = first.full_row();
    // sums are written after what they add up
    first.full(full, summed, inputs)?;
    first.short(full)?;
    first.answer(landed, full)?;
    let last = full + first.count();
    first.agrees(full, landed, summed)?;
    let next = first.not_in_it(last + 2, landed);
    first.fixed_here(next, works);
    let widths: Vec<(u16, u32)> = std::iter::once((0, 34))
        .chain((1..=LANDS_AT).map(|col| (col, 13)))
        .collect();
    first.sheets.lay_out(sheet, &widths, (1, 1));
    Ok(())
}

/// What stands in the columns of the full table behind the first.
fn names() -> impl Iterator<Item = &'static str> {
    Sum::ALL.into_iter().map(Sum::name).chain(["lands at"])
}

/// The look of a table's heading.
fn head_of(col: u16) -> Look {
    if col == 0 { Look::Head } else { Look::Column }
}

/// The column of a sum in the full table.
fn column(sum: Sum) -> u16 {
    (1..)
        .zip(Sum::ALL)
        .find_map(|(col, own)| (own == sum).then_some(col))
        .unwrap_or(LANDS_AT)
}

impl First<'_> {
    fn at(&self, row: u32, col: u16) -> At {
        let sheet = self.sheet;
        At { sheet, row, col }
    }

    fn label(&mut self, (row, col): (u32, u16), text: impl Into<String>, look: Look) {
        let at = self.at(row, col);
        self.sheets.label(at, text, look);
    }

    /// How many rows the tables have.
    fn count(&self) -> u32 {
        u32::try_from(self.names.len()).unwrap_or(u32::MAX)
    }

    /// The first row of the full table: below the short one and the chart.
    fn full_row(&self) -> u32 {
        SHORT + (self.count() + 1).max(CHART) + 3
    }

    /// The answer in a line, with its figure.
    fn answer(&mut self, landed: &Landed, full: u32) -> Made<()> {
        let title = format!(
            "What the build costs on the doormat in {} ({}), ordered {}",
            landed.to.in_words(),
            landed.to,
            landed.date
        );
        self.label((0, 0), title, Look::Head);
        let note = "An estimate, not a ruling: customs and the carrier decide. Every figure to be changed is on the sheet of inputs.";
        self.label((1, 0), note, Look::Note);
        self.label(
            (2, 0),
            format!("lands at, in {}", landed.currency),
            Look::Head,
        );
        let all = NumExpr::R(self.at(full + self.count(), LANDS_AT));
        let at = self.at(2, 1);
        self.sheets.formula(at, all, Look::Answer(self.digits))
    }

    /// The same sums in a few columns, with a chart of them.
    fn short(&mut self, full: u32) -> Made<()> {
        let heads = IN_SHORT.map(|(name, _)| name);
        let heads = std::iter::once("in short").chain(heads).chain(["lands at"]);
        for (col, name) in (0..).zip(heads) {
            self.label((SHORT - 1, col), name, head_of(col));
        }
        let rows = self.count();
        for (nth, name) in (0..rows).zip(self.names.clone()) {
            self.label((SHORT + nth, 0), name, Look::Plain);
            for (col, (_, sums)) in (1..).zip(IN_SHORT) {
                let cells = sums
                    .iter()
                    .map(|sum| NumExpr::R(self.at(full + nth, column(*sum))));
                let (at, sum) = (self.at(SHORT + nth, col), NumExpr::sum(cells));
                self.sheets.formula(at, sum, Look::Money(self.digits))?;
            }
            self.across(SHORT + nth, 5)?;
        }
        self.down("all together", (SHORT, SHORT + rows), 5)?;
        self.sheets.leaves[self.sheet].bars = Some(Bars {
            rows: (SHORT, SHORT + rows.max(1) - 1),
            columns: (1, 4),
            heads: SHORT - 1,
            at: (SHORT - 2, 7),
        });
        Ok(())
    }

    /// The sum of a row in its last column.
    fn across(&mut self, row: u32, last: u16) -> Made<()> {
        let block = Block {
            from: self.at(row, 1),
            to: self.at(row, last - 1),
        };
        let at = self.at(row, last);
        self.sheets
            .formula(at, NumExpr::Total(block), Look::Money(self.digits))
    }

    /// The sums of a table's columns in its last row.
    fn down(&mut self, name: &str, (first, row): (u32, u32), last: u16) -> Made<()> {
        self.label((row, 0), name, Look::Head);
        for col in 1..=last {
            let block = Block {
                from: self.at(first, col),
                to: self.at(row.max(first + 1) - 1, col),
            };
            let at = self.at(row, col);
            self.sheets
                .formula(at, NumExpr::Total(block), Look::Sum(self.digits))?;
        }
        Ok(())
    }

    /// Each kind of sum in a column; a discount stands below zero, so that every row adds up across.
    fn full(&mut self, full: u32, summed: &[Summed], inputs: &Inputs) -> Made<()> {
        for (col, name) in (0..).zip(std::iter::once("parcel").chain(names())) {
            self.label((full - 1, col), name, head_of(col));
        }
        let look = Look::Money(self.digits);
        for (row, one) in (full..).zip(summed) {
            self.label((row, 0), &one.id, Look::Plain);
            for (col, sum) in (1..).zip(Sum::ALL) {
                let cell = NumExpr::R(At {
                    sheet: one.sheet,
                    row: one.rows.of(sum),
                    col: TOGETHER,
                });
                let signed = NumExpr::Add(vec![(sum == Sum::Discount, cell)]);
                let at = self.at(row, col);
                self.sheets.formula(at, signed, look)?;
            }
            self.across(row, LANDS_AT)?;
        }
        if let (Some(held), Some(last)) =
            (self.names.get(summed.len()), self.count().checked_sub(1))
        {
            let row = full + last;
            self.label((row, 0), held.clone(), Look::Plain);
            let paid = inputs.held.iter().map(|at| NumExpr::R(*at));
            let at = self.at(row, 1);
            self.sheets.formula(at, NumExpr::sum(paid), look)?;
            self.across(row, LANDS_AT)?;
        }
        self.down("together", (full, full + self.count()), LANDS_AT)
    }

    /// Writes what is not in the sum, where there is something; the row that comes after it.
    fn not_in_it(&mut self, row: u32, landed: &Landed) -> u32 {
        let lacks = lacks(landed);
        if lacks.is_empty() {
            return row;
        }
        self.label((row, 0), "Not in the sum", Look::Head);
        let mut row = row + 1;
        for lack in lacks {
            self.label((row, 0), lack.about, Look::Plain);
            self.label((row, 1), lack.what, Look::Source);
            row += 1;
        }
        row + 1
    }

    /// Writes what does not move with the figures, each with its reason.
    fn fixed_here(&mut self, row: u32, works: &[Working<'_>]) {
        self.label((row, 0), "What is fixed here, and why", Look::Head);
        for (row, (what, why)) in (row + 1..).zip(fixed(works)) {
            self.label((row, 0), what, Look::Plain);
            self.label((row, 1), why, Look::Source);
        }
    }

    /// Holds each sum of each parcel, and of all together in the last row, against the bills.
    fn agrees(&self, full: u32, landed: &Landed, summed: &[Summed]) -> Made<()> {
        let mut differing = Vec::new();
        let mut hold = |row: u32, name: &str, amounts: &ChargeBreakdown| -> Made<()> {
            for ((col, what), sum) in (1..).zip(names()).zip(sums_of(amounts)?) {
                let here = self.sheets.number(self.at(row, col));
                if here != sum {
                    let (here, sum) = (here.grouped(self.digits), sum.grouped(self.digits));
                    differing.push(format!("{name}, {what}: {here} and not {sum}"));
                }
            }
            Ok(())
        };
        for (row, one) in (full..).zip(summed) {
            let bill = landed.bills.iter().find(|bill| bill.id == one.id);
            let missing = || Refused::defect(format!("the parcel {} has no bill", one.id));
            hold(row, &one.id, &bill.ok_or_else(missing)?.amounts)?;
        }
        let last = full + self.count();
        hold(last, "all together", &landed.totals.amounts)?;
        if differing.is_empty() {
            return Ok(());
        }
        let differing = differing.join("; ");
        let what = format!("its formulas come to other sums than `cost`: {differing}");
        Err(Refused::defect(what))
    }
}

/// Sums in the order of the columns, as they add up across.
fn sums_of(amounts: &ChargeBreakdown) -> Made<Vec<Dec>> {
    let one = |sum: Sum| {
        let amount = amounts[sum].amount();
        if sum == Sum::Discount {
            amount.negated()
        } else {
            amount
        }
    };
    let sums = Sum::ALL.into_iter().map(one);
    Ok(sums.chain([amounts.landed()?.amount()]).collect())
}
