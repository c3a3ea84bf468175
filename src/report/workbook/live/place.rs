//! Where the figures of a form stand: the headings of sections, rows of cells, and rows that are only there to be added up.

use super::Live;
use super::fold::alike;
use crate::report::workbook::formula::NumExpr;
use crate::report::workbook::page::TOGETHER;
use crate::report::workbook::refused::Made;
use crate::report::workbook::sheets::Look;
use crate::rules::{Id, Name};

/// Formulas of more letters than this get a cell of their own, so that none grows with the law.
const LONG: usize = 220;
/// Shorter ones are repeated.
const SHORT: usize = 60;

impl<'a> Live<'a, '_> {
    /// Writes the headings of sections that begin at a node or before it, and what is shown there and stands before.
    pub(super) fn reach(&mut self, place: usize) -> Made<()> {
        let sections = &self.told.sections;
        while let Some(section) = sections.get(self.next).filter(|one| one.begins <= place) {
            self.next += 1;
            if !section.title.is_empty() {
                let (title, source) = (&section.title, &section.source);
                self.page.name(title, source, &section.words, Look::Head);
                self.page.row += 1;
            }
            for name in section.before() {
                if let Some(mut figures) = self.before.get(&name.id).cloned() {
                    self.show(name, &mut figures)?;
                }
            }
        }
        Ok(())
    }

    /// The name that a node has in the section that is being written.
    pub(super) fn named(&self, at: Id) -> Option<&'a Name> {
        let section = self.told.sections.get(self.next.checked_sub(1)?)?;
        section.names.iter().find(|name| name.id == at)
    }

    /// Shows a node that has a name, unless there is nothing to see in it.
    pub(super) fn show(&mut self, name: &Name, figures: &mut [NumExpr]) -> Made<()> {
        let fixed = figures.iter().all(|one| matches!(one, NumExpr::N(_)));
        let zero = figures.iter().all(|one| *one == NumExpr::ZERO);
        if zero || (fixed && !name.due) {
            return Ok(());
        }
        let digits = self.digits(name.id);
        let look = match digits.filter(|_| name.due) {
            Some(digits) => Look::Money(digits),
            None => Look::Step,
        };
        let words = (&*format!("  {}", name.what), name.how);
        self.write(words, (look, digits.is_some()), figures)
    }

    /// Writes figures down and puts the cells in their place: a row of one for each line, or one for the parcel.
    pub(super) fn write(
        &mut self,
        (what, how): (&str, &str),
        (look, sums): (Look, bool),
        figures: &mut [NumExpr],
    ) -> Made<()> {
        // what is one formula for all lines stands in one cell
        let one = alike(figures) && figures.len() > 1;
        let by_line = figures.len() == usize::from(self.page.lines) && !one;
        let row = self.page.row;
        self.page.name(what, "", how, look.of_name());
        if by_line {
            self.page.put_row(row, figures, look)?;
            figures.clone_from_slice(&self.page.cells(row));
            if sums {
                self.page.add_up(row, look)?;
            }
        } else {
            let at = self.page.at(row, TOGETHER);
            self.page.sheets.write(at, figures[0].clone(), look)?;
            figures.fill(NumExpr::R(at));
        }
        self.page.row += 1;
        Ok(())
    }

    /// The row in which figures stand one beside the other.
    fn standing_in(&self, figures: &[NumExpr]) -> Option<u32> {
        let Some(NumExpr::R(first)) = figures.first() else {
            return None;
        };
        let own = |(line, one): (u16, &NumExpr)| *one == NumExpr::R(self.page.of(first.row, line));
        (0..).zip(figures).all(own).then_some(first.row)
    }

    /// A row in which figures stand one beside the other, written where there is none.
    pub(super) fn range(&mut self, at: Id, figures: &[NumExpr]) -> Made<u32> {
        if let Some(row) = self.standing_in(figures) {
            return Ok(row);
        }
        if let Some((_, row)) = self.ranges.iter().find(|(known, _)| known == figures) {
            return Ok(*row);
        }
        self.reach(at.place())?;
        let row = self.page.row;
        self.page.name("  for each part", "", "", Look::Step);
        self.page.put_row(row, figures, Look::Step)?;
        self.page.row += 1;
        self.ranges.push((figures.to_vec(), row));
        Ok(row)
    }

    /// The sum of a row, once beside it, so that no line adds up all of them for itself.
    pub(super) fn beside(&mut self, row: u32) -> Made<NumExpr> {
        let beside = self.page.at(row, TOGETHER);
        if self.page.sheets.get(beside).is_none() {
            self.page.add_up(row, Look::Step)?;
        }
        Ok(NumExpr::R(beside))
    }

    /// Whether figures that move and have no cells yet are to have them.
    pub(super) fn needs_cells(&self, at: Id, figures: &[NumExpr]) -> bool {
        let placed = figures.iter().all(|one| matches!(one, NumExpr::R(_)));
        let fixed = figures.iter().all(|one| matches!(one, NumExpr::N(_)));
        let longer = |than: usize| figures.iter().any(|one| one.length() > than);
        let often = self.told.uses[at.place()] > 1;
        let wanted = || self.stands[at.place()] || longer(LONG) || (often && longer(SHORT));
        !placed && !fixed && wanted()
    }
}
