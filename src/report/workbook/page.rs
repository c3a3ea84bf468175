//! The sheet of one parcel, written row by row; each part has a column.

use super::formula::{At, Block, NumExpr};
use super::refused::{Made, Refused};
use super::sheets::{Cell, Look, Sheets};
use crate::report::plain::row_place;
use crate::units::Dec;

/// One sheet being written.
pub(super) struct Page<'a> {
    pub(super) sheets: &'a mut Sheets,
    pub(super) sheet: usize,
    /// The next row.
    pub(super) row: u32,
    pub(super) lines: u16,
}

/// The column of all lines together.
pub(super) const TOGETHER: u16 = 4;
/// The column of a step's own figure.
pub(super) const FIGURE: u16 = 3;
/// The column of the first line.
pub(super) const FIRST: u16 = 5;
/// How many columns a sheet of the common spreadsheets has.
const COLUMNS: usize = 16_384;

/// How many lines a parcel has, unless a sheet has fewer columns for them.
pub(super) fn lines_of(parcel: &str, lines: usize) -> Made<u16> {
    let room = COLUMNS - usize::from(FIRST);
    let too_many = || {
        let most = format!("a sheet has columns for {room}");
        Refused::beyond(format!("the parcel {parcel} has {lines} parts; {most}"))
    };
    let fits = u16::try_from(lines).ok().filter(|_| lines <= room);
    fits.ok_or_else(too_many)
}

impl Page<'_> {
    pub(super) fn at(&self, row: u32, col: u16) -> At {
        let sheet = self.sheet;
        At { sheet, row, col }
    }

    /// The cell of a line in a row.
    pub(super) fn of(&self, row: u32, line: u16) -> At {
        self.at(row, FIRST + line)
    }

    /// The cells of all lines in a row.
    pub(super) fn cells(&self, row: u32) -> Vec<NumExpr> {
        let lines = 0..self.lines;
        lines.map(|line| NumExpr::R(self.of(row, line))).collect()
    }

    /// All lines of a row as a block, which has at least one cell.
    pub(super) fn all(&self, row: u32) -> Block {
        self.block(row, row)
    }

    /// All lines of some rows.
    pub(super) fn block(&self, first: u32, last: u32) -> Block {
        Block {
            from: self.of(first, 0),
            to: self.of(last, self.lines.max(1) - 1),
        }
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

    /// Names the next row: what it is, where it comes from, how it is calculated.
    pub(super) fn name(&mut self, what: &str, source: &str, how: &str, look: Look) {
        if look == Look::Step {
            self.sheets.leaves[self.sheet].folded.insert(self.row);
        }
        let looks = [look, Look::Source, Look::Source];
        for (col, (text, look)) in (0..).zip([what, row_place(source), how].into_iter().zip(looks))
        {
            let at = self.at(self.row, col);
            self.sheets.label(at, text, look);
        }
    }

    /// Writes a figure for each line into a row.
    pub(super) fn put_row(&mut self, row: u32, figures: &[NumExpr], look: Look) -> Made<()> {
        for (line, figure) in (0..).zip(figures) {
            let at = self.of(row, line);
            self.sheets.write(at, figure.clone(), look)?;
        }
        Ok(())
    }

    /// Writes the sum of a row beside it.
    pub(super) fn add_up(&mut self, row: u32, look: Look) -> Made<()> {
        let (at, sum) = (self.at(row, TOGETHER), NumExpr::Total(self.all(row)));
        self.sheets.formula(at, sum, look)
    }

    /// A row of formulas, one for each line, with their sum; returned is the row.
    pub(super) fn each(
        &mut self,
        what: &str,
        how: &str,
        look: Look,
        formula: impl Fn(&Self, u16) -> NumExpr,
    ) -> Made<u32> {
        let row = self.row;
        self.name(what, "", how, look.of_name());
        for line in 0..self.lines {
            let (at, formula) = (self.of(row, line), formula(self, line));
            self.sheets.formula(at, formula, look)?;
        }
        self.add_up(row, look)?;
        self.row += 1;
        Ok(row)
    }

    /// A row of fixed numbers, one for each line: returned is the row. `looks` are those of its name and of its cells.
    pub(super) fn fixed(
        &mut self,
        [what, source, how]: [&str; 3],
        looks: (Look, Look),
        numbers: impl IntoIterator<Item = Dec>,
    ) -> u32 {
        let row = self.row;
        self.name(what, source, how, looks.0);
        for (line, number) in (0..self.lines).zip(numbers) {
            let at = self.of(row, line);
            self.sheets.put(at, Cell::Number(number), looks.1);
        }
        self.row += 1;
        row
    }

    /// A row with one of the inputs: returned is its cell.
    pub(super) fn figure(&mut self, what: &str, source: &str, how: &str, input: At) -> Made<At> {
        self.name(what, source, how, Look::Plain);
        let at = self.at(self.row, FIGURE);
        self.sheets.formula(at, NumExpr::R(input), Look::Plain)?;
        self.row += 1;
        Ok(at)
    }

    /// A row with one sum: returned is its cell.
    pub(super) fn sum(&mut self, what: &str, how: &str, look: Look, formula: NumExpr) -> Made<At> {
        self.name(what, "", how, look.of_name());
        let at = self.at(self.row, TOGETHER);
        self.sheets.formula(at, formula, look)?;
        self.row += 1;
        Ok(at)
    }
}
