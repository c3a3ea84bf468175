//! The sheet of rates: each row of the tariff or of taxes that applies, once. That it applies is fixed.

use std::collections::BTreeMap;

use super::formula::At;
use super::sheets::{Look, Sheets};
use crate::landed::Working;
use crate::rules::{Figure, RatePart, RateUsed, What};

const PARTS: [RatePart; 3] = [RatePart::Percent, RatePart::PerKilogram, RatePart::PerPiece];

/// The row of each rate.
pub(super) struct Rates {
    sheet: usize,
    known: BTreeMap<String, u32>,
}

impl Rates {
    /// The cell of a figure; none where it is none of a rate.
    pub(super) fn cell(&self, figure: &Figure) -> Option<At> {
        let What::Rate(part, rate) = &figure.what else {
            return None;
        };
        let (_, col) = PARTS.iter().zip(1..).find(|(own, _)| *own == part)?;
        Some(At {
            sheet: self.sheet,
            row: *self.known.get(&key(figure, rate))?,
            col,
        })
    }
}

/// A rate's own name: its row, and what it charges.
fn key(figure: &Figure, rate: &RateUsed) -> String {
    let [percent, kilogram, piece] = PARTS.map(|part| part.of(rate));
    format!("{} {percent} {kilogram} {piece}", figure.origin.place)
}

/// Writes the sheet.
pub(super) fn write(sheets: &mut Sheets, sheet: usize, works: &[Working<'_>]) -> Rates {
    let at = |row: u32, col: u16| At { sheet, row, col };
    let title =
        "Rates: percentages are live; that these rows apply is fixed by place, digits and origin";
    let names = ["row", "percent", "a kilogram", "a piece", "for", "source"];
    sheets.head(sheet, title, (1, &names));
    let mut known = BTreeMap::new();
    let mut row = 2;
    let laws = works.iter().filter_map(|work| work.law.as_ref());
    for figure in laws.flat_map(|law| law.told.form.figures()) {
        let What::Rate(_, rate) = &figure.what else {
            continue;
        };
        let key = key(figure, rate);
        if known.contains_key(&key) {
            continue;
        }
        sheets.label(at(row, 0), &figure.origin.place, Look::Source);
        for (col, part) in (1..).zip(PARTS) {
            sheets.figure(at(row, col), part.of(rate), Look::Input);
        }
        let of = figure.origin.id.replace('_', " ");
        sheets.label(at(row, 4), of, Look::Plain);
        sheets.label(at(row, 5), &figure.origin.source, Look::Source);
        known.insert(key, row);
        row += 1;
    }
    sheets.lay_out(sheet, &[(0, 30), (4, 22), (5, 70)], (2, 0));
    Rates { sheet, known }
}
