//! The sheet of goods, and the sheet of one parcel: prices, charges, payment, what each part lands at.

use super::formula::{At, NumExpr};
use super::page::{FIGURE, FIRST, Page, TOGETHER, lines_of};
use super::refused::Made;
use super::sheets::{Look, Sheets};
use super::sums::{Rows, Sum};
use super::{Common, Summed, charged, law, seller};
use crate::landed::Working;
use crate::tables::Kind;
use crate::units::Dec;

/// Writes the goods of all parcels, one under the other; returned is the row of each parcel's first line.
pub(super) fn goods(sheets: &mut Sheets, sheet: usize, works: &[Working<'_>]) -> Vec<u32> {
    let title = "Goods: price, quantity and packed mass are live";
    let names = [
        "part", "parcel", "row", "price", "currency", "quantity", "packed g", "lands at",
    ];
    sheets.head(sheet, title, (1, &names));
    let mut row = 2;
    let mut first = Vec::new();
    for work in works {
        first.push(row);
        for line in &work.lines {
            let at = |col: u16| At { sheet, row, col };
            sheets.label(at(0), &line.part.name, Look::Plain);
            sheets.label(at(1), &work.bill.id, Look::Plain);
            sheets.label(at(2), line.part.at.place().to_string(), Look::Source);
            sheets.figure(at(3), line.price.amount(), Look::Input);
            sheets.label(at(4), work.paid_in.code(), Look::Plain);
            sheets.figure(at(5), Dec::from(line.part.quantity), Look::Input);
            sheets.figure(at(6), line.packed.0, Look::Input);
            row += 1;
        }
    }
    sheets.lay_out(sheet, &[(0, 34), (1, 26), (2, 30)], (2, 1));
    first
}

/// What each part lands at, beside its price.
pub(super) fn landed_beside_goods(
    sheets: &mut Sheets,
    common: &Common,
    summed: &[Summed],
) -> Made<()> {
    let money = Look::Money(common.currency.digits());
    let cells = summed.iter().flat_map(|sum| {
        let (sheet, row) = (sum.sheet, sum.landed);
        let line = move |line| At {
            sheet,
            row,
            col: FIRST + line,
        };
        (0..sum.lines).map(line)
    });
    for (row, landed) in (2..).zip(cells) {
        let (sheet, col) = (common.goods, 7);
        sheets.formula(At { sheet, row, col }, NumExpr::R(landed), money)?;
    }
    Ok(())
}

/// Writes one parcel.
pub(super) fn write(
    sheets: &mut Sheets,
    sheet: usize,
    work: &Working<'_>,
    common: &Common,
) -> Made<Summed> {
    let bill = &work.bill;
    let lines = lines_of(&bill.id, work.lines.len())?;
    let title = format!(
        "{}: from {}, ordered {}, arrives {}",
        bill.id,
        bill.dispatch.in_words(),
        bill.ordered,
        bill.arrival
    );
    let names = ["what", "row and source", "how", "figure", "together"];
    sheets.head(sheet, &title, (1, &names));
    let widths = [(0, 34), (1, 34), (2, 40), (FIGURE, 12), (TOGETHER, 14)];
    sheets.lay_out(sheet, &widths, (2, 1));
    let mut page = Page {
        sheets,
        sheet,
        row: 2,
        lines,
    };
    for (line, own) in (0..).zip(&work.lines) {
        let at = page.of(1, line);
        page.sheets.label(at, &own.part.name, Look::Head);
    }
    let asked = seller::asked(&mut page, work, common)?;
    let due = law::due(&mut page, work, common, asked.clone())?;
    let paid = seller::paid(&mut page, work, common, asked, due.paid.clone())?;
    page.head(&format!("What it lands at, in {}", common.currency));
    let mut rows = sums(&mut page, work, common, (&due, &paid))?;
    charged::charged(&mut page, work, common, &mut rows)?;
    let look = Look::Sum(common.currency.digits());
    let landed = page.each("lands at", "", look, |p, i| {
        let term = |sum| (sum == Sum::Discount, NumExpr::R(p.of(rows.of(sum), i)));
        NumExpr::Add(Sum::ALL.map(term).to_vec())
    })?;
    Ok(Summed {
        id: bill.id.clone(),
        sheet,
        rows,
        landed,
        lines,
    })
}

/// What was calculated of each sum, line by line.
fn sums(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
    (due, paid): (&law::Due, &seller::Paid),
) -> Made<Rows> {
    let look = Look::Money(common.currency.digits());
    let [goods, off, freight, insurance, tax] = &paid.shares;
    let share = |lines: &[NumExpr], i: u16| lines[usize::from(i)].clone();
    let at_door = |kind, i| {
        if work.ddp {
            NumExpr::ZERO
        } else {
            due.of(kind, i)
        }
    };
    Rows::write(|sum| {
        let how = if work.ddp && Sum::DOOR.contains(&sum) {
            "due, and collected in the price: not added"
        } else {
            ""
        };
        page.each(sum.name(), how, look, |_, i| match sum {
            Sum::Goods => share(goods, i),
            Sum::Discount => NumExpr::Add(vec![(true, share(off, i))]),
            Sum::Freight => share(freight, i),
            Sum::Insurance => share(insurance, i),
            Sum::AtSale => share(tax, i),
            Sum::CardFee => share(&paid.card, i),
            Sum::Duty => at_door(Kind::Duty, i),
            Sum::Remedy => at_door(Kind::Remedy, i),
            Sum::AtBorder => at_door(Kind::Tax, i),
            Sum::Handling => at_door(Kind::Fee, i),
        })
    })
}
