//! The cells of a workbook in memory: labels, live numbers, formulas with their values.

use std::collections::BTreeMap;

use super::formula::{At, B, Block, Cells, F};
use crate::units::{Dec, Overflow};

/// How a cell looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Look {
    /// Plain.
    Plain,
    /// A heading.
    Head,
    /// Faint: where a figure comes from.
    Source,
    /// A figure to be changed.
    Input,
    /// Money with so many decimals.
    Money(u32),
    /// A sum of money, ruled off.
    Sum(u32),
    /// A step of the working.
    Step,
}

/// What a cell holds.
#[derive(Debug, Clone)]
pub(super) enum Cell {
    /// Text.
    Label(String),
    /// A number.
    Number(Dec),
    /// A formula for a number, and its value.
    Formula(F, Dec),
    /// One word or what another cell says, and the value.
    Word(B, String, At, String),
}

/// One sheet.
#[derive(Debug, Clone, Default)]
pub(super) struct Leaf {
    pub(super) name: String,
    pub(super) cells: BTreeMap<(u32, u16), (Cell, Look)>,
    /// Columns that are wider than others.
    pub(super) widths: Vec<(u16, u32)>,
    /// Rows and columns that stay in sight.
    pub(super) frozen: (u32, u16),
}

/// All sheets.
#[derive(Debug, Clone, Default)]
pub(super) struct Sheets(pub(super) Vec<Leaf>);

impl Cells for Sheets {
    fn number(&self, at: At) -> Dec {
        match self.get(at) {
            Some(Cell::Number(number) | Cell::Formula(_, number)) => *number,
            _ => Dec::ZERO,
        }
    }

    fn text(&self, at: At) -> String {
        match self.get(at) {
            Some(Cell::Label(text) | Cell::Word(_, _, _, text)) => text.clone(),
            _ => String::new(),
        }
    }

    fn name(&self, sheet: usize) -> String {
        self.0
            .get(sheet)
            .map(|leaf| leaf.name.clone())
            .unwrap_or_default()
    }
}

impl Sheets {
    fn get(&self, at: At) -> Option<&Cell> {
        self.0
            .get(at.sheet)?
            .cells
            .get(&(at.row, at.col))
            .map(|(cell, _)| cell)
    }

    /// A new sheet at the end.
    pub(super) fn add(&mut self, name: &str) -> usize {
        self.0.push(Leaf {
            name: name.to_owned(),
            ..Leaf::default()
        });
        self.0.len() - 1
    }

    pub(super) fn put(&mut self, at: At, cell: Cell, look: Look) {
        if let Some(leaf) = self.0.get_mut(at.sheet) {
            leaf.cells.insert((at.row, at.col), (cell, look));
        }
    }

    pub(super) fn label(&mut self, at: At, text: impl Into<String>, look: Look) {
        let text = text.into();
        if !text.is_empty() {
            self.put(at, Cell::Label(text), look);
        }
    }

    pub(super) fn number(&mut self, at: At, number: Dec, look: Look) {
        self.put(at, Cell::Number(number), look);
    }

    /// Writes a formula and what it comes to.
    pub(super) fn formula(&mut self, at: At, formula: F, look: Look) -> Result<(), Overflow> {
        let value = formula.value(self)?;
        self.put(at, Cell::Formula(formula, value), look);
        Ok(())
    }

    /// Writes one word where a condition holds, else what another cell says.
    pub(super) fn word(
        &mut self,
        at: At,
        when: B,
        word: &str,
        otherwise: At,
    ) -> Result<(), Overflow> {
        let value = if when.holds(self)? {
            word.to_owned()
        } else {
            self.text(otherwise)
        };
        self.put(
            at,
            Cell::Word(when, word.to_owned(), otherwise, value),
            Look::Step,
        );
        Ok(())
    }
}

/// One sheet being written line by line; each part has a column.
pub(super) struct Page<'a> {
    pub(super) sheets: &'a mut Sheets,
    pub(super) sheet: usize,
    pub(super) row: u32,
    pub(super) lines: u16,
}

/// The column of all lines together.
pub(super) const TOGETHER: u16 = 4;
/// The column of a step's own figure.
pub(super) const FIGURE: u16 = 3;
/// The column of the first line.
pub(super) const FIRST: u16 = 5;

impl Page<'_> {
    pub(super) fn at(&self, row: u32, col: u16) -> At {
        At {
            sheet: self.sheet,
            row,
            col,
        }
    }

    /// The cell of a line in a row.
    pub(super) fn of(&self, row: u32, line: u16) -> At {
        self.at(row, FIRST + line)
    }

    /// All lines of a row.
    pub(super) fn all(&self, row: u32) -> Block {
        Block::row(self.sheet, row, FIRST, FIRST + self.lines.max(1) - 1)
    }

    pub(super) fn total(&self, row: u32) -> F {
        F::Total(self.all(row))
    }

    pub(super) fn head(&mut self, text: &str) {
        self.row += 1;
        let at = self.at(self.row, 0);
        self.sheets.label(at, text, Look::Head);
        self.row += 1;
    }

    /// Names a row: what it is, where it comes from, how it is calculated.
    pub(super) fn name(&mut self, what: &str, source: &str, how: &str, look: Look) {
        for (col, text) in (0..).zip([what, source, how]) {
            let at = self.at(self.row, col);
            self.sheets
                .label(at, text, if col == 0 { look } else { Look::Source });
        }
    }

    /// A row of formulas, one for each line, with their sum; returned is the row.
    pub(super) fn each(
        &mut self,
        what: &str,
        how: &str,
        look: Look,
        mut formula: impl FnMut(&Self, u16) -> F,
    ) -> Result<u32, Overflow> {
        let row = self.row;
        self.name(
            what,
            "",
            how,
            if look == Look::Step {
                Look::Step
            } else {
                Look::Plain
            },
        );
        for line in 0..self.lines {
            let (at, formula) = (self.of(row, line), formula(self, line));
            self.sheets.formula(at, formula, look)?;
        }
        let (at, sum) = (self.at(row, TOGETHER), self.total(row));
        self.sheets.formula(at, sum, look)?;
        self.row += 1;
        Ok(row)
    }

    /// A row of fixed cells, one for each line: returned is the row. `looks` are those of its name and of its cells.
    pub(super) fn fixed(
        &mut self,
        [what, source, how]: [&str; 3],
        looks: (Look, Look),
        cells: impl IntoIterator<Item = Cell>,
    ) -> u32 {
        let row = self.row;
        self.name(what, source, how, looks.0);
        for (line, cell) in (0..self.lines).zip(cells) {
            let at = self.of(row, line);
            self.sheets.put(at, cell, looks.1);
        }
        self.row += 1;
        row
    }

    /// A row with one figure: returned is its cell.
    pub(super) fn figure(&mut self, what: &str, source: &str, how: &str, number: Dec) -> At {
        self.name(what, source, how, Look::Plain);
        let at = self.at(self.row, FIGURE);
        self.sheets.number(at, number, Look::Input);
        self.row += 1;
        at
    }

    /// A row with one sum: returned is its cell.
    pub(super) fn sum(
        &mut self,
        what: &str,
        how: &str,
        look: Look,
        formula: F,
    ) -> Result<At, Overflow> {
        self.name(
            what,
            "",
            how,
            if look == Look::Step {
                Look::Step
            } else {
                Look::Plain
            },
        );
        let at = self.at(self.row, TOGETHER);
        self.sheets.formula(at, formula, look)?;
        self.row += 1;
        Ok(at)
    }

    /// Shares amounts over the lines by largest remainder: `amount` gives each line the amount of its group, `keys` is the
    /// row of the groups' numbers, none where all lines are one group. Lines without weight get nothing.
    pub(super) fn share(
        &mut self,
        what: &str,
        amount: &dyn Fn(u16) -> F,
        weights: u32,
        keys: Option<u32>,
        digits: u32,
    ) -> Result<u32, Overflow> {
        let unit = Dec::new(1, digits);
        let group = |page: &Self, row: u32, line: u16| match keys {
            Some(keys) => F::Group(page.all(keys), page.all(row), page.of(keys, line)),
            None => page.total(row),
        };
        let exact = self.each("  exact share", "by weight", Look::Step, |page, line| {
            let whole = group(page, weights, line);
            F::Div(
                Box::new(F::Mul(vec![amount(line), F::R(page.of(weights, line))])),
                Box::new(whole),
            )
        })?;
        let floor = self.each("  rounded down", "", Look::Step, |page, line| {
            floor(F::R(page.of(exact, line)), unit)
        })?;
        let rest = self.each("  left over", "", Look::Step, |page, line| {
            rest(page.of(exact, line), page.of(floor, line))
        })?;
        self.each(
            what,
            "shared by largest remainder; ties in the order of the parts",
            Look::Money(digits),
            |page, line| {
                let left = F::minus(amount(line), group(page, floor, line));
                let left = F::Round(Box::new(left), crate::units::Rounding::minor(digits));
                let rank = F::Rank(
                    keys.map(|keys| page.all(keys)),
                    page.all(rest),
                    page.of(rest, line),
                );
                topped(page.of(floor, line), rank, left, unit)
            },
        )
    }
}

/// Down to a whole number of units.
pub(super) fn floor(x: F, unit: Dec) -> F {
    F::Round(
        Box::new(x),
        crate::units::Rounding {
            mode: crate::units::Mode::Floor,
            step: unit,
        },
    )
}

/// What lies above it, with the last digits of a double cut off.
pub(super) fn rest(exact: At, floor: At) -> F {
    F::Round(
        Box::new(F::minus(F::R(exact), F::R(floor))),
        crate::units::Rounding::minor(9),
    )
}

/// What was rounded down, and a unit more where its rank, counted in units, lies within what is left.
pub(super) fn topped(floor: At, rank: F, left: F, unit: Dec) -> F {
    let within = B::Cmp(
        F::Mul(vec![rank, F::N(unit)]),
        crate::tables::Op::Below,
        left,
    );
    F::sum([
        F::R(floor),
        F::If(
            Box::new(within),
            Box::new(F::N(unit)),
            Box::new(F::N(Dec::ZERO)),
        ),
    ])
}
