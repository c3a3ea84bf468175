//! Spreadsheet files as rows of cells: .xlsx and .ods, read in a stream and within bounds, so that no file, however it is
//! made, takes more than a moment or much memory. What is wrong ends the reading with the bound and the sheet.

use crate::book::{BookFile, Leaf, sheet_tables};
use crate::text::{Diagnostic, Location, Problems};

#[cfg(feature = "pages")]
mod bounds;
#[cfg(feature = "pages")]
mod digits;
#[cfg(feature = "pages")]
mod look;
#[cfg(feature = "pages")]
mod ods;
#[cfg(feature = "pages")]
mod pack;
#[cfg(feature = "pages")]
mod styles;
#[cfg(feature = "pages")]
mod xlsx;
#[cfg(feature = "pages")]
mod xml;

/// A spreadsheet file of more bytes than this is refused.
pub(super) const MOST_BYTES: u64 = 32 << 20;

/// Why a spreadsheet is refused, and where: the sheet and its row, when it is about one.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Refusal {
    sheet: Option<(String, usize)>,
    what: String,
}

impl From<String> for Refusal {
    fn from(what: String) -> Refusal {
        Refusal { sheet: None, what }
    }
}

/// The tables of a book in a spreadsheet file.
pub(super) fn tables(shown: &str, bytes: &[u8], problems: &mut Problems) -> Vec<BookFile> {
    match leaves(bytes) {
        Ok(leaves) => sheet_tables(shown, &leaves, problems),
        Err(Refusal { sheet, what }) => {
            let place = match sheet {
                Some((name, row)) => Location::line(format!("{shown}, sheet {name}").into(), row),
                None => Location::line(shown.into(), 1),
            };
            problems.push(
                Diagnostic::error(format!("the spreadsheet cannot be read: {what}")).at(place),
            );
            Vec::new()
        }
    }
}

/// The message about a file that is too large to be a spreadsheet.
pub(super) fn too_large(shown: &str) -> Diagnostic {
    let what = format!(
        "the spreadsheet cannot be read: the file is larger than {} MiB",
        MOST_BYTES >> 20
    );
    Diagnostic::error(what).at(Location::line(shown.into(), 1))
}

#[cfg(not(feature = "pages"))]
fn leaves(_: &[u8]) -> Result<Vec<Leaf>, Refusal> {
    Err("this program was built without spreadsheets"
        .to_owned()
        .into())
}

#[cfg(feature = "pages")]
fn leaves(bytes: &[u8]) -> Result<Vec<Leaf>, Refusal> {
    let pack = pack::Pack::open(bytes)?;
    let budget = bounds::Budget::default();
    if pack.holds("content.xml") {
        ods::leaves(&pack, &budget)
    } else {
        xlsx::leaves(&pack, &budget)
    }
}
