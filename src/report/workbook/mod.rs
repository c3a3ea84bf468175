//! The whole calculation as a workbook of live formulas: goods, exchange, rates, a sheet for each parcel, the total. Every
//! figure stands beside the row it comes from, every formula beside its value.

mod charged;
mod exchange;
mod formula;
mod live;
mod parcel;
mod prices;
mod rates;
mod sheets;
mod starter;
mod total;
mod write;

use self::exchange::Figures;
use self::formula::NumExpr;
use self::sheets::Sheets;
use super::mark::mark_workbook;
use crate::landed::{Landed, Working};
use crate::tables::Quote;
use crate::units::{Currency, Overflow};

pub use starter::starter_workbook;

/// What the sheets of all parcels share.
struct Common {
    currency: Currency,
    goods: usize,
    rates: rates::Rates,
    exchange: usize,
    figures: Figures,
    /// The row of the parcel's first line on the sheet of goods.
    first_line: u32,
}

impl Common {
    /// An amount converted by a quote's figures: multiplied first, divided once.
    fn convert(&self, quote: &Quote, from: Currency, amount: NumExpr) -> NumExpr {
        self.figures.convert(self.exchange, quote, from, amount)
    }
}

/// What a parcel comes to: its sheet and the row of each sum there.
struct Summed {
    id: String,
    sheet: usize,
    rows: Vec<(&'static str, u32)>,
    lines: u16,
}

/// The workbook of a landed cost, as the bytes of an .xlsx file; the error says what is too large or cannot be written, or where
/// its formulas come to other sums than the bills.
pub fn workbook(landed: &Landed, works: &[Working<'_>]) -> Result<Vec<u8>, String> {
    write::bytes(&laid_out(landed, works)?).map(mark_workbook)
}

/// Calculates the formulas of a workbook without writing it; refused where that is.
pub fn workbook_agrees(landed: &Landed, works: &[Working<'_>]) -> Result<(), String> {
    laid_out(landed, works).map(|_| ())
}

/// All sheets, with the values of their formulas.
fn laid_out(landed: &Landed, works: &[Working<'_>]) -> Result<Sheets, String> {
    let mut sheets = Sheets::default();
    let names = ["total", "1 goods", "2 exchange", "3 rates"].map(|name| sheets.add(name));
    let [first, goods, exchange, rates] = names;
    let lines = parcel::goods(&mut sheets, goods, works);
    let figures = exchange::write(&mut sheets, exchange, works);
    let rates = rates::write(&mut sheets, rates, works);
    let mut common = Common {
        currency: landed.currency,
        goods,
        rates,
        exchange,
        figures,
        first_line: 0,
    };
    let said = |overflow: Overflow| overflow.to_string();
    let mut summed = Vec::new();
    for (at, (work, line)) in works.iter().zip(lines).enumerate() {
        common.first_line = line;
        let sheet = sheets.add(&format!("{} parcel {}", at + 4, at + 1));
        summed.push(parcel::write(&mut sheets, sheet, work, &common).map_err(said)?);
    }
    total::write(&mut sheets, first, landed, &summed)?;
    parcel::landed_beside_goods(&mut sheets, &common, works, &summed).map_err(said)?;
    Ok(sheets)
}

#[cfg(test)]
mod tests {
    use super::formula::At;
    use super::sheets::Cell;
    use super::*;
    use crate::book::{Book, BookFile};
    use crate::landed::{Jurisdiction, Question, cost_at, workings};
    use crate::tables::Tables;
    use crate::text::Problems;
    use crate::units::{Date, Dec};

    /// The formulas, calculated exactly here, come to the engine's own total.
    #[test]
    fn formulas_come_to_the_tools_total() {
        let parts = "part,place,seller,price,currency,dispatch,quantity,freight,handling,insurance,mass_g\n\
            Wheels,wheels,Taolin,333.33,USD,TW,1,35,2.5 % min 12.50,1 %,1500\nSaddle,saddle,Taolin,10.05,USD,TW,3,35,2.5 % min 12.50,1 %,200\n\
            Bar,handlebar,Immerfeld,99.95,EUR,DE,1,,,,\n";
        let receipts = "consignment,charge,amount,currency,date\nTaolin,duty,11.11,GBP,2026-09-30\n\
            Taolin,to_pay_carrier,77.77,USD,2026-09-30\nTaolin,freight,31.35,USD,2026-09-24\n\
            Immerfeld,to_pay_seller,91.01,EUR,2026-09-25\nImmerfeld,refund,3.33,EUR,2026-10-01\n\
            Taolin,refund,20.01,USD,2026-10-01\nTaolin,refund of duty,1.11,GBP,2026-10-01\nTaolin,discount,2000.00,USD,2026-10-01\n";
        let summed = "consignment,charge,amount,currency,date\nTaolin,duty,11.11,GBP,2026-09-30\nTaolin,handling,66.66,GBP,2026-09-30\n\
            Taolin,to_pay_carrier,77.77,GBP,2026-09-30\nTaolin,goods,350.00,USD,2026-09-24\nTaolin,freight,31.35,USD,2026-09-24\n\
            Taolin,to_pay_seller,381.35,USD,2026-09-24\n";
        // one part is sent back; the other parcel is lost on its way
        let lost = "consignment,charge,amount,currency,date,part\nTaolin,refund,30.15,USD,2026-10-01,Saddle\n\
            Taolin,return freight,9.99,USD,2026-10-01,Saddle\nTaolin,handling,14.00,GBP,2026-10-01,\nTaolin,refund,333.33,USD,2026-10-01,Wheels\n";
        let on_order = parts
            .replace("part,place", "standing,part,place")
            .replace("\nWheels", "\non-order,Wheels")
            .replace("\nSaddle", "\non-order,Saddle");
        let on_order = on_order
            .replace("\nBar", "\non-order,Bar")
            .replace("mass_g\n", "mass_g,paid\n")
            .replace("1500\n", "1500,300\n")
            .replace("200\n", "200,30\n");
        let on_order = on_order.replace(",,,,\n", ",,,,,85\n");
        let file = |table: &str, text: &str| BookFile {
            path: format!("{table}.csv"),
            table: table.into(),
            bytes: text.into(),
        };
        let mut problems = Problems::new();
        for files in [
            vec![file("parts", parts)],
            vec![file("parts", parts), file("receipts", receipts)],
            vec![file("parts", parts), file("receipts", summed)],
            vec![file("parts", parts), file("receipts", lost)],
            vec![file("parts", &on_order), file("receipts", lost)],
        ] {
            come_to_the_tools_total(Book::read(&files, &mut problems));
        }
        assert!(!problems.refuse(), "{problems:?}");
    }

    /// A bill that comes to another sum than the formulas is a defect: no workbook is made, and both figures are told.
    fn differences_are_refused(mut landed: Landed, works: &[Working<'_>]) {
        let duty = landed.bills[0].amounts.duty;
        for amounts in [&mut landed.bills[0].amounts, &mut landed.totals.amounts] {
            amounts.duty = amounts.duty.plus(Dec::from(7_u32)).unwrap();
        }
        let digits = landed.currency.digits();
        let (id, now) = (&landed.bills[0].id, landed.bills[0].amounts.duty);
        let named = format!(
            "{id}, duty: {} and not {};",
            duty.grouped(digits),
            now.grouped(digits)
        );
        let said = workbook(&landed, works).unwrap_err();
        for words in [&named, "all together, lands at: ", "please report it"] {
            assert!(said.contains(words), "{words}: {said}");
        }
    }

    /// However long a parcel is, no formula is: spreadsheets refuse those of more than 8,192 letters, and nobody reads them.
    #[test]
    fn formulas_are_short_however_long_the_parcel() {
        let mut parts = String::from(
            "part,place,seller,price,currency,dispatch,origin,commodity,freight,insurance,mass_g\n",
        );
        for part in 1..=150 {
            let (origin, digits) = (
                ["CN", "TW"][part % 2],
                ["87149110", "87149990"][part / 2 % 2],
            );
            parts += &format!(
                "Part {part},spare,Taolin,{part}.37,USD,TW,{origin},{digits},35,1 %,{part}\n"
            );
        }
        let mut problems = Problems::new();
        let file = BookFile {
            path: "parts.csv".into(),
            table: "parts".into(),
            bytes: parts.into(),
        };
        let mut book = Book::read(&[file], &mut problems);
        let tables = Tables::load(Vec::new(), &mut problems);
        for to in ["GB", "DE", "JP"] {
            book.settings.set("destination", to).unwrap();
            let ask = Question::new(&book.settings, Date::parse("2026-09-23").unwrap()).unwrap();
            let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
            let landed = cost_at(&book, &jurisdiction).unwrap();
            let sheets = laid_out(&landed, &workings(&book, &jurisdiction).unwrap()).unwrap();
            let leaves = sheets.leaves.iter().enumerate();
            let formulas: Vec<String> = leaves
                .flat_map(|(at, leaf)| leaf.cells.values().map(move |(cell, _)| (at, cell)))
                .filter_map(|(at, cell)| match cell {
                    Cell::Formula(formula, _) => Some(formula.text(at, &sheets)),
                    _ => None,
                })
                .collect();
            let longest = formulas.iter().max_by_key(|text| text.len()).unwrap();
            assert!(longest.len() <= 1_000, "to {to}: {longest}");
            assert!(formulas.len() > 10_000, "{}", formulas.len());
        }
        assert!(!problems.refuse(), "{problems:?}");
    }

    fn come_to_the_tools_total(mut book: Book) {
        let mut problems = Problems::new();
        let tables = Tables::load(Vec::new(), &mut problems);
        assert!(!problems.refuse(), "{problems:?}");
        for to in ["GB", "DE", "US", "JP", "AU", "CH"] {
            book.settings.set("destination", to).unwrap();
            book.settings.set("card_fee", "2.75").unwrap();
            let ask = Question::new(&book.settings, Date::parse("2026-09-23").unwrap()).unwrap();
            let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
            let landed = cost_at(&book, &jurisdiction).unwrap();
            let works = workings(&book, &jurisdiction).unwrap();
            let sheets = laid_out(&landed, &works).unwrap();
            differences_are_refused(landed.clone(), &works);
            let row = 4 + u32::try_from(landed.bills.len()).unwrap();
            let cell = sheets.leaves[0]
                .cells
                .get(&(row, 11))
                .map(|(cell, _)| cell.clone());
            let Some(Cell::Formula(_, total)) = cell else {
                panic!(
                    "no total at {:?}",
                    At {
                        sheet: 0,
                        row,
                        col: 11
                    }
                )
            };
            assert_eq!(total, landed.totals.landed().unwrap(), "to {to}");
            assert!(total > Dec::from(100_u32));
        }
    }
}
