//! The sheet of goods, and the sheet of one parcel: prices, charges, payment, what each part lands at.

use super::formula::{At, NumExpr};
use super::sheets::{FIRST, Look, Page, Sheets, TOGETHER};
use super::{Common, Summed, charged, live, prices};
use crate::landed::Working;
use crate::tables::Kind;
use crate::units::{Dec, Overflow};

/// Writes the goods of all parcels, one under the other; returned is the row of each parcel's first line.
pub(super) fn goods(sheets: &mut Sheets, sheet: usize, works: &[Working<'_>]) -> Vec<u32> {
    let at = |row: u32, col: u16| At { sheet, row, col };
    sheets.label(
        at(0, 0),
        "Goods: price, quantity and packed mass are live",
        Look::Head,
    );
    for (col, name) in (0..).zip([
        "part", "parcel", "row", "price", "currency", "quantity", "packed g", "lands at",
    ]) {
        sheets.label(at(1, col), name, Look::Head);
    }
    let mut row = 2;
    let mut first = Vec::new();
    for work in works {
        first.push(row);
        for line in &work.lines {
            sheets.label(at(row, 0), &line.part.name, Look::Plain);
            sheets.label(at(row, 1), &work.bill.id, Look::Plain);
            sheets.label(at(row, 2), line.part.at.place().to_string(), Look::Source);
            sheets.figure(
                at(row, 3),
                line.part.price.unwrap_or(Dec::ZERO),
                Look::Input,
            );
            sheets.label(at(row, 4), work.paid_in.code(), Look::Plain);
            sheets.figure(at(row, 5), Dec::from(line.part.quantity), Look::Input);
            sheets.figure(at(row, 6), line.packed.0, Look::Input);
            row += 1;
        }
    }
    if let Some(leaf) = sheets.leaves.get_mut(sheet) {
        leaf.widths = vec![(0, 34), (1, 26), (2, 30)];
        leaf.frozen = (2, 1);
    }
    first
}

/// What each part lands at, beside its price.
pub(super) fn landed_beside_goods(
    sheets: &mut Sheets,
    common: &Common,
    works: &[Working<'_>],
    summed: &[Summed],
) -> Result<(), Overflow> {
    let mut row = 2;
    for (work, sum) in works.iter().zip(summed) {
        let landed = sum
            .rows
            .iter()
            .find(|(name, _)| *name == "lands at")
            .map_or(0, |(_, row)| *row);
        for (line, _) in (0..).zip(&work.lines) {
            let at = At {
                sheet: common.goods,
                row,
                col: 7,
            };
            sheets.formula(
                at,
                NumExpr::R(At {
                    sheet: sum.sheet,
                    row: landed,
                    col: FIRST + line,
                }),
                Look::Money(common.currency.digits()),
            )?;
            row += 1;
        }
    }
    Ok(())
}

/// Writes one parcel.
pub(super) fn write(
    sheets: &mut Sheets,
    sheet: usize,
    work: &Working<'_>,
    common: &Common,
) -> Result<Summed, Overflow> {
    let lines = u16::try_from(work.lines.len()).map_err(|_| Overflow)?;
    if let Some(leaf) = sheets.leaves.get_mut(sheet) {
        leaf.widths = vec![(0, 34), (1, 34), (2, 40), (3, 12), (TOGETHER, 14)];
        leaf.frozen = (2, 1);
    }
    let mut page = Page {
        sheets,
        sheet,
        row: 0,
        lines,
    };
    let bill = &work.bill;
    let title = format!(
        "{}: from {}, ordered {}, arrives {}",
        bill.id,
        bill.dispatch.in_words(),
        bill.ordered,
        bill.arrival
    );
    let at = page.at(0, 0);
    page.sheets.label(at, title, Look::Head);
    for (col, name) in (0..).zip(["what", "row and source", "how", "figure", "together"]) {
        let at = page.at(1, col);
        page.sheets.label(at, name, Look::Head);
    }
    for (line, own) in (0..).zip(&work.lines) {
        let at = page.of(1, line);
        page.sheets.label(at, &own.part.name, Look::Head);
    }
    page.row = 2;
    let rows = prices::prices(&mut page, work, common)?;
    let due = live::law(&mut page, work, common, &rows)?;
    let paid = prices::paid(&mut page, work, common, &rows, &due.paid)?;
    let rows = sums(&mut page, work, common, &due, &paid)?;
    Ok(Summed {
        id: bill.id.clone(),
        sheet,
        rows,
        lines,
    })
}

/// What each part lands at: the sums of the outputs, line by line.
fn sums(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
    due: &live::Due,
    paid: &prices::Paid,
) -> Result<Vec<(&'static str, u32)>, Overflow> {
    let digits = common.currency.digits();
    page.head(&format!("What it lands at, in {}", common.currency));
    let mut rows = Vec::new();
    let shared = [
        ("goods", 0, false),
        ("discount", 1, true),
        ("freight", 2, false),
        ("insurance", 3, false),
        ("tax at the sale", 4, false),
    ];
    for (name, k, off) in shared {
        let row = page.each(name, "", Look::Money(digits), |p, i| {
            let own = NumExpr::R(p.of(paid.shares + k, i));
            if off {
                NumExpr::Add(vec![(true, own)])
            } else {
                own
            }
        })?;
        rows.push((name, row));
    }
    rows.push((
        "card fee",
        page.each("card fee", "", Look::Money(digits), |p, i| {
            NumExpr::R(p.of(paid.card, i))
        })?,
    ));
    let at_door = [
        ("duty", Kind::Duty),
        ("anti-dumping", Kind::Remedy),
        ("tax at the border", Kind::Tax),
        ("carrier's fee", Kind::Fee),
    ];
    for (name, kind) in at_door {
        let how = if work.ddp {
            "due, and collected in the price: not added"
        } else {
            ""
        };
        let row = page.each(name, how, Look::Money(digits), |_, i| {
            if work.ddp {
                NumExpr::N(Dec::ZERO)
            } else {
                due.of(kind, i)
            }
        })?;
        rows.push((name, row));
    }
    charged::charged(page, work, common, &mut rows)?;
    let all = rows.clone();
    let landed = page.each("lands at", "", Look::Sum(digits), |p, i| {
        NumExpr::Add(
            all.iter()
                .map(|(name, row)| (*name == "discount", NumExpr::R(p.of(*row, i))))
                .collect(),
        )
    })?;
    rows.push(("lands at", landed));
    Ok(rows)
}
