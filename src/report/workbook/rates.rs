//! The sheet of rates: each row of the tariff or of taxes that applies, once. That it applies is fixed.

use std::collections::BTreeMap;

use super::formula::At;
use super::sheets::{Look, Sheets};
use crate::landed::Working;
use crate::rules::{Bears, Outline, RateUsed};
use crate::tables::Stamp;

/// A rate's own name: its row, else the row of its charge.
pub(super) fn key(rate: &RateUsed, stamp: &Stamp) -> String {
    let row = rate.row.as_ref().unwrap_or(&stamp.row);
    format!("{row} {} {} {}", rate.percent, rate.per_kg, rate.per_piece)
}

/// Writes the sheet; returned is the row of each rate.
pub(super) fn write(
    sheets: &mut Sheets,
    sheet: usize,
    works: &[Working<'_>],
) -> BTreeMap<String, u32> {
    let at = |row: u32, col: u16| At { sheet, row, col };
    sheets.label(
        at(0, 0),
        "Rates: percentages are live; that these rows apply is fixed by place, digits and origin",
        Look::Head,
    );
    for (col, name) in (0..).zip(["row", "percent", "a kilogram", "a piece", "for", "source"]) {
        sheets.label(at(1, col), name, Look::Head);
    }
    let mut known = BTreeMap::new();
    let mut row = 2;
    let charges = works
        .iter()
        .flat_map(|work| &work.steps)
        .filter_map(|step| match step {
            Outline::Charge(charge) => Some(charge),
            Outline::Relief(_) => None,
        });
    for charge in charges {
        for bears in &charge.bears {
            let Bears::Rate(rate, source) = bears else {
                continue;
            };
            let key = key(rate, &charge.stamp);
            if known.contains_key(&key) {
                continue;
            }
            let own = rate.row.as_ref().unwrap_or(&charge.stamp.row);
            sheets.label(at(row, 0), own.to_string(), Look::Source);
            for (col, figure) in (1..).zip([rate.percent.0, rate.per_kg, rate.per_piece]) {
                sheets.number(at(row, col), figure, Look::Input);
            }
            sheets.label(at(row, 4), charge.id.replace('_', " "), Look::Plain);
            let source = if source.is_empty() {
                charge.stamp.source.to_string()
            } else {
                source.clone()
            };
            sheets.label(at(row, 5), source, Look::Source);
            known.insert(key, row);
            row += 1;
        }
    }
    if let Some(leaf) = sheets.0.get_mut(sheet) {
        leaf.widths = vec![(0, 30), (4, 22), (5, 70)];
        leaf.frozen = (2, 0);
    }
    known
}
