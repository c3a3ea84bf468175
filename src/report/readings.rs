//! A landed cost calculated again in every other way there is: by the live formulas of its workbook, and in whole numbers.

use crate::book::Book;
use crate::landed::{Jurisdiction, Landed, NoWhole, Working, whole_agrees, workings};
use crate::text::Problems;

/// Why whole numbers were not asked, for each parcel of which they say nothing; or where a reading comes to another sum.
type Agreed = Result<Vec<NoWhole>, String>;

/// Calculates what a book landed at by all exact readings, none of which may come to other sums: the inner error says where one
/// does, and the list why whole numbers were not asked, for each parcel that they cannot read.
pub fn readings_agree(
    landed: &Landed,
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Agreed, Problems> {
    let works = workings(book, jurisdiction)?;
    if let Err(difference) = by_formulas(landed, &works) {
        return Ok(Err(difference));
    }
    let digits = jurisdiction.currency().digits();
    let refused = works.iter().map(|work| whole_agrees(work, digits));
    let refused: Result<Vec<_>, String> = refused.collect();
    Ok(refused.map(|refused| refused.into_iter().flatten().collect()))
}

#[cfg(feature = "pages")]
fn by_formulas(landed: &Landed, works: &[Working<'_>]) -> Result<(), String> {
    super::workbook::workbook_agrees(landed, works)
}

/// Without workbooks there are no formulas that could say anything else.
#[cfg(not(feature = "pages"))]
fn by_formulas(_: &Landed, _: &[Working<'_>]) -> Result<(), String> {
    Ok(())
}
