//! The cells of a workbook in memory: labels, live numbers, formulas with their values.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use super::formula::{At, Block, BoolExpr, Cells, NumExpr};
use crate::tables::Op;
use crate::units::{Dec, Mode, Overflow, Rounding};

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
    Formula(NumExpr, Dec),
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
pub(super) struct Sheets {
    pub(super) leaves: Vec<Leaf>,
    /// What was found out about blocks of cells that are written, so that it is found out once.
    found: RefCell<Found>,
}

/// The rank of each cell of a block.
type Ranks = BTreeMap<At, u32>;

/// Sums by key and ranks of the cells of blocks.
#[derive(Debug, Clone, Default)]
struct Found {
    sums: BTreeMap<(Block, Block), Rc<BTreeMap<Dec, Dec>>>,
    ranks: BTreeMap<(Option<Block>, Block), Rc<Ranks>>,
}

impl Cells for Sheets {
    fn number(&self, at: At) -> Dec {
        match self.get(at) {
            Some(Cell::Number(number) | Cell::Formula(_, number)) => *number,
            _ => Dec::ZERO,
        }
    }

    fn name(&self, sheet: usize) -> &str {
        self.leaves.get(sheet).map_or("", |leaf| leaf.name.as_str())
    }

    fn grouped(&self, keys: Block, numbers: Block, own: At) -> Result<Dec, Overflow> {
        let known = self.found.borrow().sums.get(&(keys, numbers)).cloned();
        let sums = if let Some(known) = known {
            known
        } else {
            let mut sums: BTreeMap<Dec, Dec> = BTreeMap::new();
            for (key, number) in keys.cells().zip(numbers.cells()) {
                let sum = sums.entry(self.number(key)).or_default();
                *sum = sum.plus(self.number(number))?;
            }
            let sums = Rc::new(sums);
            let mut found = self.found.borrow_mut();
            found.sums.insert((keys, numbers), Rc::clone(&sums));
            sums
        };
        Ok(sums.get(&self.number(own)).copied().unwrap_or_default())
    }

    fn rank(&self, keys: Option<Block>, rests: Block, own: At) -> Result<Dec, Overflow> {
        let known = self.found.borrow().ranks.get(&(keys, rests)).cloned();
        let ranks = known.unwrap_or_else(|| {
            let ranks = Rc::new(self.ranks(keys, rests));
            let mut found = self.found.borrow_mut();
            found.ranks.insert((keys, rests), Rc::clone(&ranks));
            ranks
        });
        ranks.get(&own).map(|rank| Dec::from(*rank)).ok_or(Overflow)
    }
}

impl Sheets {
    fn ranks(&self, keys: Option<Block>, rests: Block) -> Ranks {
        let key = |at: At| {
            keys.map(|keys| {
                let row = keys.from.row;
                self.number(At { row, ..at })
            })
        };
        let mut cells: Vec<_> = rests
            .cells()
            .map(|at| (key(at), self.number(at), at))
            .collect();
        // those of one key together, the greatest first, and of the same in the order of the columns
        cells.sort_by(|a, b| {
            let (one, other) = ((&a.0, b.1), (&b.0, a.1));
            one.cmp(&other)
                .then((a.2.col, a.2.row).cmp(&(b.2.col, b.2.row)))
        });
        let (mut ranks, mut before, mut rank) = (BTreeMap::new(), None, 0);
        for (key, _, at) in cells {
            rank = if before == Some(key) { rank + 1 } else { 0 };
            before = Some(key);
            ranks.insert(at, rank);
        }
        ranks
    }

    pub(super) fn get(&self, at: At) -> Option<&Cell> {
        self.leaves
            .get(at.sheet)?
            .cells
            .get(&(at.row, at.col))
            .map(|(cell, _)| cell)
    }

    /// A new sheet at the end.
    pub(super) fn add(&mut self, name: &str) -> usize {
        self.leaves.push(Leaf {
            name: name.to_owned(),
            ..Leaf::default()
        });
        self.leaves.len() - 1
    }

    pub(super) fn put(&mut self, at: At, cell: Cell, look: Look) {
        if let Some(leaf) = self.leaves.get_mut(at.sheet) {
            leaf.cells.insert((at.row, at.col), (cell, look));
        }
    }

    pub(super) fn label(&mut self, at: At, text: impl Into<String>, look: Look) {
        let text = text.into();
        if !text.is_empty() {
            self.put(at, Cell::Label(text), look);
        }
    }

    pub(super) fn figure(&mut self, at: At, number: Dec, look: Look) {
        self.put(at, Cell::Number(number), look);
    }

    /// Writes a formula and what it comes to.
    pub(super) fn formula(&mut self, at: At, formula: NumExpr, look: Look) -> Result<(), Overflow> {
        let value = formula.value(self)?;
        self.put(at, Cell::Formula(formula, value), look);
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

    /// The sum of a row, which stands beside it.
    pub(super) fn total(&self, row: u32) -> NumExpr {
        NumExpr::R(self.at(row, TOGETHER))
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
        mut formula: impl FnMut(&Self, u16) -> NumExpr,
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
        let (at, sum) = (self.at(row, TOGETHER), NumExpr::Total(self.all(row)));
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
        self.sheets.figure(at, number, Look::Input);
        self.row += 1;
        at
    }

    /// A row with one sum: returned is its cell.
    pub(super) fn sum(
        &mut self,
        what: &str,
        how: &str,
        look: Look,
        formula: NumExpr,
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

    /// Shares amounts over the lines by largest remainder: `amount` gives each line the amount of its group. Lines whose key is
    /// zero get nothing; weights that are all zero share evenly.
    pub(super) fn share(
        &mut self,
        what: &str,
        amount: &dyn Fn(u16) -> NumExpr,
        shared: Shared,
    ) -> Result<u32, Overflow> {
        let unit = Dec::new(1, shared.digits);
        let nought = || Box::new(NumExpr::N(Dec::ZERO));
        let inside = |p: &Self, line| match shared.keys {
            Some(keys) => BoolExpr::Cmp(
                NumExpr::R(p.of(keys, line)),
                Op::Unequal,
                NumExpr::N(Dec::ZERO),
            ),
            None => BoolExpr::All(Vec::new()),
        };
        let group = |p: &Self, row: u32, line: u16| match shared.keys {
            Some(keys) => NumExpr::Group(p.all(keys), p.all(row), p.of(keys, line)),
            None => p.total(row),
        };
        let own = shared.weights;
        let weights = self.each(
            "  weights",
            "alike where all are nought",
            Look::Step,
            |p, i| {
                let none = BoolExpr::Cmp(group(p, own, i), Op::Equal, NumExpr::N(Dec::ZERO));
                let alike = match shared.keys {
                    Some(_) => NumExpr::one_if(inside(p, i)),
                    None => NumExpr::N(Dec::ONE),
                };
                NumExpr::If(
                    Box::new(none),
                    Box::new(alike),
                    Box::new(NumExpr::R(p.of(own, i))),
                )
            },
        )?;
        let exact = self.each("  exact share", "by weight", Look::Step, |p, i| {
            let part = NumExpr::Mul(vec![amount(i), NumExpr::R(p.of(weights, i))]);
            NumExpr::Div(Box::new(part), Box::new(group(p, weights, i)))
        })?;
        let down = self.each("  rounded down", "", Look::Step, |p, i| {
            floor(NumExpr::R(p.of(exact, i)), unit)
        })?;
        let rests = self.each("  left over", "", Look::Step, |p, i| {
            rest(p.of(exact, i), p.of(down, i))
        })?;
        let how = "shared by largest remainder; ties in the order of the parts";
        self.each(what, how, Look::Money(shared.digits), |p, i| {
            let part = shared.part(p, (amount(i), group(p, down, i)), (down, rests), i);
            match shared.keys {
                Some(_) => NumExpr::If(Box::new(inside(p, i)), Box::new(part), nought()),
                None => part,
            }
        })
    }
}

/// How an amount is shared over the lines.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shared {
    /// The row of what it is shared by.
    pub(super) weights: u32,
    /// The row of the groups' numbers; none where all lines are one group.
    pub(super) keys: Option<u32>,
    /// The decimals of the parts.
    pub(super) digits: u32,
    /// Whether what is shared is a whole number of these units.
    pub(super) whole_units: bool,
}

impl Shared {
    /// Over all lines, by the weights of a row.
    pub(super) fn by(weights: u32, digits: u32) -> Shared {
        Shared {
            weights,
            keys: None,
            digits,
            whole_units: true,
        }
    }

    /// What a line gets: its part rounded down, and a unit more where its rank lies within what is left of the amount.
    fn part(
        self,
        p: &Page<'_>,
        (amount, given): (NumExpr, NumExpr),
        (down, rests): (u32, u32),
        i: u16,
    ) -> NumExpr {
        let unit = Dec::new(1, self.digits);
        let keys = self.keys.map(|keys| p.all(keys));
        let rank = NumExpr::Rank(keys, p.all(rests), p.of(rests, i));
        let left = |digits| {
            let left = NumExpr::minus(amount.clone(), given.clone());
            NumExpr::Round(Box::new(left), Rounding::minor(digits))
        };
        if self.whole_units {
            return topped(p.of(down, i), rank, left(self.digits), unit);
        }
        let units = || floor(left(CUT), unit);
        let part = topped(p.of(down, i), rank, units(), unit);
        // what is less than a unit goes to the first of its group
        let odd = NumExpr::minus(left(CUT), units());
        let first = match keys {
            Some(keys) => {
                let before = NumExpr::Rank(Some(keys), keys, p.at(keys.from.row, FIRST + i));
                BoolExpr::Cmp(before, Op::Equal, NumExpr::N(Dec::ZERO))
            }
            None if i == 0 => BoolExpr::All(Vec::new()),
            None => return part,
        };
        let odd = NumExpr::If(
            Box::new(first),
            Box::new(odd),
            Box::new(NumExpr::N(Dec::ZERO)),
        );
        NumExpr::sum([part, odd])
    }
}

/// Decimals at which what a double holds too much or too little is cut off.
const CUT: u32 = 9;

/// Down to a whole number of units.
pub(super) fn floor(x: NumExpr, unit: Dec) -> NumExpr {
    NumExpr::Round(
        Box::new(x),
        Rounding {
            mode: Mode::Floor,
            step: unit,
        },
    )
}

/// What lies above it, with the last digits of a double cut off.
pub(super) fn rest(exact: At, floor: At) -> NumExpr {
    NumExpr::Round(
        Box::new(NumExpr::minus(NumExpr::R(exact), NumExpr::R(floor))),
        Rounding::minor(CUT),
    )
}

/// What was rounded down, and a unit more where its rank, counted in units, lies within what is left.
pub(super) fn topped(floor: At, rank: NumExpr, left: NumExpr, unit: Dec) -> NumExpr {
    let within = BoolExpr::Cmp(NumExpr::Mul(vec![rank, NumExpr::N(unit)]), Op::Below, left);
    NumExpr::sum([
        NumExpr::R(floor),
        NumExpr::If(
            Box::new(within),
            Box::new(NumExpr::N(unit)),
            Box::new(NumExpr::N(Dec::ZERO)),
        ),
    ])
}
