//! The whole calculation as a workbook of live formulas: the total, all inputs in one place, a sheet for each parcel. Every
//! figure stands beside the row it comes from, every formula beside its value.

mod charged;
mod exchange;
mod fixed;
mod formula;
mod inputs;
mod law;
mod listed;
mod live;
mod names;
mod page;
mod parcel;
mod refused;
mod seller;
mod shares;
mod sheets;
mod starter;
mod sums;
mod text;
mod total;
mod write;

use self::formula::NumExpr;
use self::inputs::Inputs;
use self::refused::Made;
use self::sheets::Sheets;
use self::sums::Rows;
use super::mark::mark_workbook;
use crate::landed::{Landed, Working};
use crate::tables::Quote;
use crate::units::Currency;

pub(crate) use starter::starter_workbook;

/// What the sheets of all parcels share.
struct Common {
    currency: Currency,
    inputs: Inputs,
    /// Which parcel is written.
    parcel: usize,
}

impl Common {
    /// An amount converted by a quote's figures: multiplied first, divided once.
    fn convert(&self, quote: &Quote, from: Currency, amount: NumExpr) -> Made<NumExpr> {
        self.inputs.exchange().convert(quote, from, amount)
    }
}

/// What a parcel comes to: its sheet, the row of each sum there, and that of what it lands at.
struct Summed {
    id: String,
    sheet: usize,
    rows: Rows,
    landed: u32,
    lines: u16,
}

/// The workbook of a landed cost, as the bytes of an .xlsx file; the error says what is too large or cannot be written, or where
/// its formulas come to other sums than the bills.
pub(crate) fn workbook(landed: &Landed, works: &[Working<'_>]) -> Result<Vec<u8>, String> {
    write::bytes(&laid_out(landed, works)?).map(mark_workbook)
}

/// Calculates the formulas of a workbook without writing it; refused where that is.
pub(super) fn workbook_agrees(landed: &Landed, works: &[Working<'_>]) -> Result<(), String> {
    laid_out(landed, works)?;
    Ok(())
}

/// All sheets, with the values of their formulas.
fn laid_out(landed: &Landed, works: &[Working<'_>]) -> Made<Sheets> {
    let mut sheets = Sheets::default();
    let [first, second] = ["total", "inputs"].map(|name| sheets.add(name));
    let ids = works.iter().map(|work| work.bill.id.as_str());
    let own: Vec<usize> = names::names_of(ids)
        .iter()
        .map(|name| sheets.add(name))
        .collect();
    let inputs = inputs::write(&mut sheets, second, landed, works)?;
    let mut common = Common {
        currency: landed.currency,
        inputs,
        parcel: 0,
    };
    let mut summed = Vec::new();
    for (parcel, (work, sheet)) in works.iter().zip(own).enumerate() {
        common.parcel = parcel;
        summed.push(parcel::write(&mut sheets, sheet, work, &common)?);
    }
    let about = (landed, works);
    total::write(&mut sheets, first, about, &summed, &common.inputs)?;
    inputs::landed_beside_goods(&mut sheets, &common, &summed)?;
    Ok(sheets)
}

#[cfg(test)]
mod tests;
