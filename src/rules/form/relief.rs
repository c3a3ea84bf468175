//! Limits: what each tests, for which lines it holds, what it drops; and the carrier's own fee.

use super::charge::Borne;
use super::lower::{Lowering, mark_of};
use super::marks::{ChargeMarks, ReliefMarks, RowOf};
use super::{Id, Measure, Origin, What};
use crate::rules::step::{ChargeStep, ReliefStep, Step};
use crate::tables::{Drop, Kind, Op, TestPer};
use crate::units::{Dec, Overflow, Rounding};

impl Lowering<'_> {
    /// Writes a limit out, in its order.
    pub(super) fn relief(&mut self, at: usize, step: &ReliefStep) -> Result<(), Overflow> {
        let picked = self.test(&step.test)?;
        if self.make.never(picked) {
            self.note_not_due(at);
            return Ok(());
        }
        let each = self.sum(&step.tests, Measure::Home)?;
        let each = self.make.only(picked, each)?;
        let whole = self.make.total(each)?;
        let limit = (self.make).figure(step.limit, Measure::Home, || What::Limit);
        let holds = match step.per {
            TestPer::Consignment => self.make.compare(whole, step.op, limit)?,
            _ => {
                let value = self.declared_together(each)?;
                let limit = if step.per == TestPer::Piece {
                    self.times_pieces(limit)?
                } else {
                    limit
                };
                self.make.compare(value, step.op, limit)?
            }
        };
        let held = self.make.both(picked, holds)?;
        for gone in &step.drops {
            let name = gone.name();
            let now = self.joined(self.dropped.get(&name).copied(), held)?;
            self.dropped.insert(name.clone(), now);
            if !step.tests_duty {
                let now = self.joined(self.surely.get(&name).copied(), held)?;
                self.surely.insert(name, now);
            }
            self.cancel(gone, held, &step.id)?;
        }
        if let Some(collect) = step.collect {
            let mark = self.make.fixed(mark_of(collect));
            self.collect = self.make.choose(held, mark, self.collect)?;
        }
        self.note_relief(ReliefMarks {
            step: at,
            picked,
            each,
            collect: self.collect,
            whole,
            held,
        });
        Ok(())
    }

    fn joined(&mut self, before: Option<Id>, held: Id) -> Result<Id, Overflow> {
        before.map_or(Ok(held), |before| self.make.either(before, held))
    }

    /// What the relief of a step drops.
    pub(super) fn drops_of(&self, at: usize) -> &[Drop] {
        match self.program.steps.get(at) {
            Some(Step::Relief(relief)) => &relief.drops,
            _ => &[],
        }
    }

    /// Whether the layer that a charge looks in owes a rate for every line.
    pub(super) fn owes(&self, charge: &ChargeMarks) -> bool {
        let RowOf::Step(at) = charge.row else {
            return false;
        };
        matches!(self.program.steps.get(at), Some(Step::Charge(step)) if step.owes)
    }

    /// The fee that the seller's row gives, once, in place of the carriers' rows of the table: a percentage of what was
    /// advanced, or the least; shared by what was advanced, else by value.
    pub(super) fn own_fee(
        &mut self,
        row: RowOf,
        step: &ChargeStep,
        (picked, works_on): (Id, Id),
    ) -> Result<(), Overflow> {
        let Some(handling) = self.parcel.handling.clone() else {
            return Ok(());
        };
        if self.make.origin.is_some() {
            self.make.origin = Some(Origin::table(&handling.row.to_string()));
        }
        let minor = self.program.currency.digits();
        let before = self.fee_taken;
        let lines = self.make.without(works_on, before)?;
        let advanced = self.advanced()?;
        let advanced = self.make.only(lines, advanced)?;
        let whole = self.make.total(advanced)?;
        let percent = (self.make).figure(handling.percent.0, Measure::Plain, || What::OwnFee);
        let share = self.make.percent_of(whole, percent)?;
        let least = (self.make).figure(handling.least.amount(), Measure::Home, || What::Least);
        let fee = self.make.most(share, least)?;
        let fee = self.make.round(fee, Some(Rounding::minor(minor)))?;
        let any = self.make.any(lines)?;
        let total = self.make.only(any, fee)?;
        let shares = self.fee_shares(total, advanced, lines, minor)?;
        self.fee_taken = self.make.either(before, any)?;
        let items = self.make.zero();
        let marks = ChargeMarks {
            picked,
            works_on,
            terms: (advanced, fee),
            bears: lines,
            group: None,
            ..self.blank(row, step)
        };
        // beside any group: what the seller's row says meets no other row
        self.enter(
            step,
            marks,
            Borne {
                lines,
                shares,
                total,
                parts: Vec::new(),
                items,
                weights: None,
            },
        )
    }

    fn fee_shares(
        &mut self,
        total: Id,
        advanced: Id,
        lines: Id,
        minor: u32,
    ) -> Result<Id, Overflow> {
        const GOODS: usize = 1;
        if !self.make.shares() {
            return Ok(total);
        }
        let goods = self.make.only(lines, self.columns[GOODS])?;
        let some = self.make.some(advanced)?;
        let some = self.make.any(some)?;
        let weights = self.make.choose(some, advanced, goods)?;
        let one = self.make.fixed(Dec::ONE);
        let keys = self.make.only(lines, one)?;
        Ok(self.make.spread(total, weights, keys, minor))
    }

    /// Where no row of the table stands for the carrier's fee and something was advanced, the seller's own fee comes last.
    pub(super) fn own_fee_at_last(&mut self) -> Result<(), Overflow> {
        let Some(handling) = self.parcel.handling.clone() else {
            return Ok(());
        };
        let advanced = self.advanced()?;
        let whole = self.make.total(advanced)?;
        let zero = self.make.zero();
        let some = self.make.compare(whole, Op::Unequal, zero)?;
        let due = self.make.without(some, self.fee_taken)?;
        if self.make.never(due) {
            return Ok(());
        }
        self.own_fee(
            RowOf::OwnFeeAtLast,
            &ChargeStep::own_fee(handling.row),
            (due, due),
        )
    }

    /// Duty, remedies and tax at the border that each line bears so far.
    fn advanced(&mut self) -> Result<Id, Overflow> {
        let at_border = |kind| matches!(kind, Kind::Duty | Kind::Remedy | Kind::Tax);
        let shares: Vec<Id> = self
            .entered()
            .filter(|charge| at_border(charge.kind))
            .map(|charge| charge.shares)
            .collect();
        self.make.sum(shares)
    }
}
