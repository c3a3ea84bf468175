//! The cells of a workbook in memory: labels, live numbers, formulas with their values.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use super::formula::{At, Block, Cells, NumExpr};
use super::refused::{Made, Refused};
use crate::units::Dec;

/// How a cell looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Look {
    /// Plain.
    Plain,
    /// A heading.
    Head,
    /// The heading of a part's column, which may take several lines.
    Column,
    /// Faint: what there is to say of a sheet.
    Note,
    /// Faint and a little apart from the figure before it: where that comes from, or what it counts.
    Source,
    /// A figure to be changed, with at least this many decimals.
    Input(u32),
    /// A figure to be changed, as it is typed: pieces, grams, rates of exchange.
    Typed,
    /// Money with this many decimals.
    Money(u32),
    /// A sum of money, ruled off.
    Sum(u32),
    /// The one sum that is asked for.
    Answer(u32),
    /// A step of the working.
    Step,
}

impl Look {
    /// That of the name of a row of such cells.
    pub(super) fn of_name(self) -> Look {
        if self == Look::Step {
            self
        } else {
            Look::Plain
        }
    }
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

impl Cell {
    /// The number in it.
    pub(super) fn number(&self) -> Option<Dec> {
        match self {
            Cell::Number(number) | Cell::Formula(_, number) => Some(*number),
            Cell::Label(_) => None,
        }
    }
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
    /// Rows that are folded: steps of the working.
    pub(super) folded: BTreeSet<u32>,
    /// Whether it is printed upright, and not lying.
    pub(super) upright: bool,
    /// The last column that is printed; none prints all of them.
    pub(super) printed: Option<u16>,
    /// A chart of some of its cells.
    pub(super) bars: Option<Bars>,
}

/// A chart of stacked bars: a bar for each row, a colour for each column.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bars {
    /// The first and the last row.
    pub(super) rows: (u32, u32),
    /// The first and the last column.
    pub(super) columns: (u16, u16),
    /// The row of the columns' names; those of the rows are in the first column.
    pub(super) heads: u32,
    /// Where it stands: row and column.
    pub(super) at: (u32, u16),
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
    /// An empty cell counts as zero, as spreadsheets have it.
    fn number(&self, at: At) -> Dec {
        match self.get(at) {
            Some(Cell::Number(number) | Cell::Formula(_, number)) => *number,
            Some(Cell::Label(_)) | None => Dec::ZERO,
        }
    }

    fn name(&self, sheet: usize) -> &str {
        &self.leaves[sheet].name
    }

    fn grouped(&self, keys: Block, numbers: Block, own: At) -> Made<Dec> {
        let known = self.found.borrow().sums.get(&(keys, numbers)).cloned();
        let sums = match known {
            Some(known) => known,
            None => {
                let sums = Rc::new(self.sums(keys, numbers)?);
                let mut found = self.found.borrow_mut();
                found.sums.insert((keys, numbers), Rc::clone(&sums));
                sums
            }
        };
        let sum = sums.get(&self.number(own)).copied();
        sum.ok_or_else(|| Refused::defect("a key is none of its row"))
    }

    fn rank(&self, keys: Option<Block>, rests: Block, own: At) -> Made<Dec> {
        let known = self.found.borrow().ranks.get(&(keys, rests)).cloned();
        let ranks = known.unwrap_or_else(|| {
            let ranks = Rc::new(self.ranks(keys, rests));
            let mut found = self.found.borrow_mut();
            found.ranks.insert((keys, rests), Rc::clone(&ranks));
            ranks
        });
        let rank = ranks.get(&own).map(|rank| Dec::from(*rank));
        rank.ok_or_else(|| Refused::defect("a rank is asked outside its block"))
    }
}

impl Sheets {
    fn sums(&self, keys: Block, numbers: Block) -> Made<BTreeMap<Dec, Dec>> {
        let mut sums: BTreeMap<Dec, Dec> = BTreeMap::new();
        for (key, number) in keys.cells().zip(numbers.cells()) {
            let sum = sums.entry(self.number(key)).or_insert(Dec::ZERO);
            *sum = sum.plus(self.number(number))?;
        }
        Ok(sums)
    }

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
        let (cell, _) = self.leaves[at.sheet].cells.get(&(at.row, at.col))?;
        Some(cell)
    }

    /// A new sheet at the end.
    pub(super) fn add(&mut self, name: &str) -> usize {
        self.leaves.push(Leaf {
            name: name.to_owned(),
            ..Leaf::default()
        });
        self.leaves.len() - 1
    }

    /// Heads a sheet: a title in its first row, and the names of its columns in another.
    pub(super) fn head(&mut self, sheet: usize, title: &str, (row, names): (u32, &[&str])) {
        let at = |row, col| At { sheet, row, col };
        self.label(at(0, 0), title, Look::Head);
        for (col, name) in (0..).zip(names) {
            self.label(at(row, col), *name, Look::Head);
        }
    }

    /// Sets how wide columns of a sheet are, and what of it stays in sight.
    pub(super) fn lay_out(&mut self, sheet: usize, widths: &[(u16, u32)], frozen: (u32, u16)) {
        let leaf = &mut self.leaves[sheet];
        (leaf.widths, leaf.frozen) = (widths.to_vec(), frozen);
    }

    pub(super) fn put(&mut self, at: At, cell: Cell, look: Look) {
        let cells = &mut self.leaves[at.sheet].cells;
        cells.insert((at.row, at.col), (cell, look));
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
    pub(super) fn formula(&mut self, at: At, formula: NumExpr, look: Look) -> Made<()> {
        let value = formula.value(self)?;
        self.put(at, Cell::Formula(formula, value), look);
        Ok(())
    }

    /// Writes a formula, or the number where it is nothing but one.
    pub(super) fn write(&mut self, at: At, figure: NumExpr, look: Look) -> Made<()> {
        match figure {
            NumExpr::N(number) => self.figure(at, number, look),
            formula => self.formula(at, formula, look)?,
        }
        Ok(())
    }
}
