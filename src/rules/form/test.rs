//! Conditions: what is fixed is looked at here, what hangs on figures becomes comparisons.

use super::lower::{Lowering, mark_of};
use super::{Id, Input, Measure, What};
use crate::rules::condition::{Clause, Test, hangs_on_figures};
use crate::tables::{Collect, LineFact, Op, Subject};
use crate::units::{Dec, Overflow};

impl Lowering<'_> {
    /// For which lines a condition holds.
    pub(super) fn test(&mut self, test: &Test) -> Result<Id, Overflow> {
        if test.any.is_empty() {
            return Ok(self.make.sure(true));
        }
        let mut any = self.make.sure(false);
        for side in &test.any {
            let side = self.side(side)?;
            any = self.make.either(any, side)?;
        }
        Ok(any)
    }

    /// All clauses of one side; those that are fixed first, so that what never holds is known before anything is written.
    fn side(&mut self, side: &[Clause]) -> Result<Id, Overflow> {
        let mut all = self.make.sure(true);
        for clause in side.iter().filter(|clause| !is_open(clause)) {
            let clause = self.fixed_clause(clause)?;
            all = self.make.both(all, clause)?;
        }
        for clause in side.iter().filter(|clause| is_open(clause)) {
            if self.make.never(all) {
                break;
            }
            let clause = self.open_clause(clause)?;
            all = self.make.both(all, clause)?;
        }
        Ok(all)
    }

    fn fixed_clause(&mut self, clause: &Clause) -> Result<Id, Overflow> {
        let lines = self.parcel.lines.len();
        let each = if clause.subject.of_a_line() {
            lines
        } else {
            lines.min(1)
        };
        let facts = self.facts();
        let mut holds: Vec<bool> = Vec::with_capacity(each);
        for (at, first) in self.alike.iter().enumerate().take(each) {
            let known = holds.get(*first).copied();
            holds.push(known.map_or_else(|| clause.holds(facts, at), Ok)?);
        }
        Ok(self.make.truths(holds.into_iter()))
    }

    fn open_clause(&mut self, clause: &Clause) -> Result<Id, Overflow> {
        match &clause.subject {
            Subject::Line(LineFact::Collect) => self.collected(clause),
            Subject::Line(LineFact::UnitMass) => self.unit_mass(clause),
            Subject::Line(_) => self.unit_value(clause),
            _ => {
                let each = self.sum(&clause.sum, Measure::Home)?;
                let total = self.make.total(each)?;
                match clause.number {
                    Some(figure) => {
                        let figure = (self.make).figure(figure, Measure::Home, || What::Condition);
                        self.make.compare(total, clause.op, figure)
                    }
                    None => Ok(self.make.sure(clause.op == Op::Unequal)),
                }
            }
        }
    }

    /// Where the line's tax is taken.
    fn collected(&mut self, clause: &Clause) -> Result<Id, Overflow> {
        let named = |collect: &Collect| collect.name() == clause.word;
        let Some(collect) = Collect::ALL.into_iter().find(named) else {
            return Ok(self.make.sure(clause.op == Op::Unequal));
        };
        let mark = self.make.fixed(mark_of(collect));
        self.make.compare(self.collect, clause.op, mark)
    }

    /// The value of one piece of the declared goods, against a figure: the whole is compared with the figure times the pieces.
    fn unit_value(&mut self, clause: &Clause) -> Result<Id, Overflow> {
        const GOODS: usize = 1;
        let Some(figure) = clause.number else {
            return Ok(self.make.sure(clause.op == Op::Unequal));
        };
        let goods = self.columns[GOODS];
        let value = self.declared_together(goods)?;
        let figure = (self.make).figure(figure, Measure::Home, || What::Condition);
        let limit = self.times_pieces(figure)?;
        self.make.compare(value, clause.op, limit)
    }

    /// The mass of one piece of the declared goods, against a figure; unequal to any where it is not known.
    fn unit_mass(&mut self, clause: &Clause) -> Result<Id, Overflow> {
        let Some(figure) = clause.number else {
            return Ok(self.make.sure(clause.op == Op::Unequal));
        };
        let grams = self.make.input(Input::Grams);
        let mass = self.declared_together(grams)?;
        let figure = (self.make).figure(figure, Measure::Plain, || What::Condition);
        let limit = self.times_pieces(figure)?;
        let holds = self.make.compare(mass, clause.op, limit)?;
        // of a thing that is declared as one, all parts
        let parts = self.parcel.lines.iter().filter(|line| line.whole.is_some());
        let whole = parts.clone().all(|line| line.unit_mass.is_some());
        let known = self.parcel.lines.iter().map(|line| match line.whole {
            Some(_) => whole,
            None => line.unit_mass.is_some(),
        });
        let together = self.parcel.lines.iter().any(|line| line.whole.is_some());
        self.make.fixed_lines |= together && !whole;
        let known = self.make.truths(known);
        let unknown = self.make.sure(clause.op == Op::Unequal);
        self.make.choose(known, holds, unknown)
    }

    /// A figure for each piece that is declared; one where none is.
    pub(super) fn times_pieces(&mut self, figure: Id) -> Result<Id, Overflow> {
        let pieces = self.declared_pieces()?;
        let one = self.make.fixed(Dec::ONE);
        let pieces = self.make.most(pieces, one)?;
        self.make.times(figure, pieces)
    }
}

/// Whether a clause hangs on figures.
fn is_open(clause: &Clause) -> bool {
    hangs_on_figures(&clause.subject)
}
