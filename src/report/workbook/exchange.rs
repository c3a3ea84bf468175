//! The sheet of exchange: each published figure once, whatever it is used for, and the conversion by it.

use std::collections::BTreeMap;

use super::formula::{At, NumExpr};
use super::sheets::{Look, Sheets};
use crate::landed::Working;
use crate::tables::Quote;
use crate::units::{Currency, Dec, number};

/// The row of each figure on the sheet, by the row of the tables and the figure itself.
#[derive(Debug, Clone, Default)]
pub(super) struct Figures(BTreeMap<String, u32>);

/// `1 EUR = 1.1234 USD` read again: base, rate, quote.
fn read(figure: &str) -> Option<(Currency, Dec, Currency)> {
    let words: Vec<&str> = figure.split(' ').collect();
    let ["1", base, "=", rate, quote] = words.as_slice() else {
        return None;
    };
    Some((
        Currency::parse(base)?,
        number::plain(rate).ok()?,
        Currency::parse(quote)?,
    ))
}

fn key(quote: &Quote, at: usize) -> String {
    let row = quote
        .rows
        .get(at)
        .map(ToString::to_string)
        .unwrap_or_default();
    format!(
        "{row} {}",
        quote
            .figures
            .get(at)
            .map(String::as_str)
            .unwrap_or_default()
    )
}

/// Writes the sheet.
pub(super) fn write(sheets: &mut Sheets, sheet: usize, works: &[Working<'_>]) -> Figures {
    let mut figures = Figures::default();
    let at = |row: u32, col: u16| At { sheet, row, col };
    sheets.label(
        at(0, 0),
        "Exchange: change a figure and every sum that rests on it moves",
        Look::Head,
    );
    for (col, name) in (0..).zip(["one", "is", "of", "row", "source", "day"]) {
        sheets.label(at(1, col), name, Look::Head);
    }
    let mut row = 2;
    let quotes = |work| {
        let work: &Working<'_> = work;
        std::iter::once(&work.market)
            .chain(&work.customs)
            .chain(work.receipts.iter().map(|receipt| &receipt.quote))
    };
    for quote in works.iter().flat_map(quotes) {
        for (n, figure) in quote.figures.iter().enumerate() {
            let (Some((base, rate, other)), false) =
                (read(figure), figures.0.contains_key(&key(quote, n)))
            else {
                continue;
            };
            let from = at(row, 0);
            published(sheets, from, (base.code(), rate, other.code()), (quote, n));
            figures.0.insert(key(quote, n), row);
            row += 1;
        }
    }
    if let Some(leaf) = sheets.leaves.get_mut(sheet) {
        leaf.widths = vec![(3, 30), (4, 60)];
        leaf.frozen = (2, 0);
    }
    figures
}

/// Writes a published figure in a row, with the row of the tables it comes from.
fn published(
    sheets: &mut Sheets,
    from: At,
    (base, rate, other): (&str, Dec, &str),
    (quote, n): (&Quote, usize),
) {
    let at = |col: u16| At { col, ..from };
    sheets.label(at(0), base, Look::Plain);
    sheets.figure(at(1), rate, Look::Input);
    sheets.label(at(2), other, Look::Plain);
    let told = [
        quote.rows.get(n).map(ToString::to_string),
        quote.sources.first().map(ToString::to_string),
        quote.day.map(|day| day.to_string()),
    ];
    for (col, text) in (3..).zip(told) {
        if let Some(text) = text {
            sheets.label(at(col), text, Look::Source);
        }
    }
}

impl Figures {
    /// An amount converted: multiplied by what is published for its money, divided by what is published the other way round.
    pub(super) fn convert(
        &self,
        sheet: usize,
        quote: &Quote,
        from: Currency,
        amount: NumExpr,
    ) -> NumExpr {
        let (mut times, mut over, mut now) = (vec![amount], Vec::new(), from);
        for (n, figure) in quote.figures.iter().enumerate() {
            let (Some((base, _, other)), Some(row)) = (read(figure), self.0.get(&key(quote, n)))
            else {
                continue;
            };
            let cell = NumExpr::R(At {
                sheet,
                row: *row,
                col: 1,
            });
            if base == now {
                times.push(cell);
                now = other;
            } else {
                over.push(cell);
                now = base;
            }
        }
        match (times.len(), over.is_empty()) {
            (1, true) => times.remove(0),
            (_, true) => NumExpr::Mul(times),
            _ => NumExpr::Div(Box::new(NumExpr::Mul(times)), Box::new(NumExpr::Mul(over))),
        }
    }
}
