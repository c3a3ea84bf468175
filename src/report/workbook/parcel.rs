//! The sheet of one parcel: prices, charges, payment, what each part lands at.

use super::formula::{At, NumExpr};
use super::page::{FIGURE, FIRST, Page, TOGETHER, lines_of};
use super::refused::Made;
use super::sheets::{Look, Sheets};
use super::sums::{Rows, Sum};
use super::{Common, Summed, charged, law, seller};
use crate::landed::Working;
use crate::tables::Kind;

/// The most parts with which a sheet is printed upright.
const UPRIGHT: u16 = 12;

/// How wide the column of a part is.
const PART: u32 = 12;

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
    sheets.head(sheet, &title, (2, &["what", "row and source", "how"]));
    for (col, name) in [(FIGURE, "figure"), (TOGETHER, "together")] {
        let row = 2;
        sheets.label(At { sheet, row, col }, name, Look::Column);
    }
    sheets.leaves[sheet].upright = lines <= UPRIGHT;
    let fixed = [(0, 34), (1, 14), (2, 24), (FIGURE, 10), (TOGETHER, 12)];
    let parts = (0..lines).map(|line| (FIRST + line, PART));
    let widths: Vec<(u16, u32)> = fixed.into_iter().chain(parts).collect();
    sheets.lay_out(sheet, &widths, (3, 1));
    let mut page = Page {
        sheets,
        sheet,
        row: 3,
        lines,
    };
    for (line, own) in (0..).zip(&work.lines) {
        let at = page.of(2, line);
        page.sheets.label(at, &own.part.name, Look::Column);
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
    let (name, answer) = (page.at(1, 0), page.at(1, TOGETHER));
    let all = format!("lands at, in {}", common.currency);
    page.sheets.label(name, all, Look::Head);
    let digits = common.currency.digits();
    let sum = page.total(landed);
    page.sheets.formula(answer, sum, Look::Answer(digits))?;
    Ok(Summed {
        id: bill.id.clone(),
        sheet,
        rows,
        landed,
        lines,
    })
}

/// What a sum is called among those that a part lands at: one that is taken off says so.
pub(super) fn called(sum: Sum) -> &'static str {
    if sum == Sum::Discount {
        "less discount"
    } else {
        sum.name()
    }
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
        page.each(called(sum), how, look, |_, i| match sum {
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
