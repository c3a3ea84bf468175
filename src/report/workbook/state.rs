//! How far the working of the rules has come: the columns so far, what reliefs dropped, and where tax is collected.

use super::formula::{At, B, F};
use super::prices::Prices;
use super::sheets::Page;
use crate::rules::{Asks, Holds, Term};
use crate::tables::{Drop, Kind};
use crate::units::Dec;

/// A column of the rules: what stands in it for each line, at this point of the order.
pub(super) struct Column {
    pub(super) slot: usize,
    pub(super) kind: Kind,
    pub(super) id: String,
    pub(super) row: u32,
    /// In the seller's money, for a tax at the sale.
    pub(super) paid: Option<u32>,
}

/// A charge of a group that may be the one that counts.
pub(super) struct Standing {
    pub(super) group: String,
    pub(super) slot: usize,
    pub(super) total: At,
    pub(super) active: At,
}

/// The state of the working.
pub(super) struct State {
    /// Parts of the price, home money: slot and row.
    pub(super) price: Vec<(usize, u32)>,
    /// Parts of the price, the seller's money.
    pub(super) sellers: Vec<(usize, u32)>,
    pub(super) columns: Vec<Column>,
    /// What reliefs dropped, with the row that says for which lines.
    pub(super) dropped: Vec<(Drop, u32)>,
    pub(super) collect: u32,
    pub(super) standing: Vec<Standing>,
    /// Cells that are 1 where the carrier's own fee has been taken.
    pub(super) fee_taken: Vec<At>,
    pub(super) kilograms: u32,
}

impl State {
    /// The rows of a column at this point; a kind has several columns.
    pub(super) fn rows_of(&self, slot: usize, sellers: bool) -> Vec<u32> {
        let price = if sellers { &self.sellers } else { &self.price };
        let own = price
            .iter()
            .filter(|(known, _)| *known == slot)
            .map(|(_, row)| *row);
        let columns = self
            .columns
            .iter()
            .filter(|column| !sellers && column.slot == slot)
            .map(|column| column.row);
        own.chain(columns).collect()
    }

    /// A sum for one line.
    pub(super) fn of_line(&self, page: &Page<'_>, terms: &[Term], line: u16, sellers: bool) -> F {
        let mut all = Vec::new();
        for term in terms {
            let cells = term
                .slots
                .iter()
                .flat_map(|slot| self.rows_of(*slot, sellers))
                .map(|row| F::R(page.of(row, line)));
            let sum = F::sum(cells);
            let (times, over) = term
                .factors
                .get(usize::from(line))
                .copied()
                .unwrap_or((Dec::ONE, Dec::ONE));
            let scaled = match (times == over, over == Dec::ONE) {
                (true, _) => sum,
                (false, true) => F::Mul(vec![sum, F::N(times)]),
                (false, false) => F::Div(
                    Box::new(F::Mul(vec![sum, F::N(times)])),
                    Box::new(F::N(over)),
                ),
            };
            all.push((term.minus, scaled));
        }
        F::Add(all)
    }

    /// A sum over all lines.
    pub(super) fn over_all(&self, page: &Page<'_>, terms: &[Term]) -> F {
        F::sum((0..page.lines).map(|line| self.of_line(page, terms, line, false)))
    }

    /// When a row works on a line.
    pub(super) fn when(&self, page: &Page<'_>, holds: &Holds, line: u16, rows: &Prices) -> B {
        let ask = |ask: &Asks| match ask {
            Asks::Sum(terms, op, figure) => B::Cmp(self.over_all(page, terms), *op, F::N(*figure)),
            Asks::Collect(op, word) => B::Word(page.of(self.collect, line), *op, word.clone()),
            Asks::UnitValue(op, figure) => {
                const GOODS: usize = 1;
                let goods = F::sum(
                    self.rows_of(GOODS, false)
                        .into_iter()
                        .map(|row| F::R(page.of(row, line))),
                );
                let each = F::Div(
                    Box::new(goods),
                    Box::new(F::R(page.of(rows.quantity, line))),
                );
                B::Cmp(each, *op, F::N(*figure))
            }
        };
        B::Any(
            holds
                .iter()
                .map(|side| B::All(side.iter().map(ask).collect()))
                .collect(),
        )
    }

    /// What a line bears at the border so far.
    pub(super) fn advanced(&self, page: &Page<'_>, line: u16) -> F {
        let border = self
            .columns
            .iter()
            .filter(|c| matches!(c.kind, Kind::Duty | Kind::Remedy | Kind::Tax));
        F::sum(border.map(|column| F::R(page.of(column.row, line))))
    }
}
