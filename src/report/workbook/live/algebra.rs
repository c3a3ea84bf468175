//! Every operation of a form as formulas.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::fold::{self, alike, all_fixed, fixed, sure, where_any};
use super::{Live, Node};
use crate::report::workbook::formula::NumExpr;
use crate::report::workbook::refused::{Made, Refused};
use crate::report::workbook::shares::Sharing;
use crate::report::workbook::sheets::Look;
use crate::rules::{Algebra, Group, Id, Input, Shared};
use crate::tables::Op;
use crate::units::{Dec, Rounding};

/// Whether no two lines have the same key.
fn apart(keys: &[Dec]) -> bool {
    let own: BTreeSet<&Dec> = keys.iter().collect();
    own.len() == keys.len()
}

impl Algebra for Live<'_, '_> {
    type Number = NumExpr;
    type Fault = Refused;

    fn fixed(&mut self, _: Id, value: Dec) -> Made<NumExpr> {
        Ok(NumExpr::N(value))
    }

    fn figure(&mut self, at: Id, which: usize, _: Dec) -> Made<NumExpr> {
        let figure = self.told.form.figure(which);
        if let Some(cell) = self.figures.get(&which) {
            return Ok(NumExpr::R(*cell));
        }
        let Some(group) = figure.group() else {
            return Ok(NumExpr::Unknown);
        };
        let common = self.sources.common;
        let input = common.inputs.of(common.parcel, figure)?;
        // a table is read on the sheet of inputs, and not step by step on every parcel's
        if matches!(group, Group::Rate | Group::FreightTable) {
            return Ok(NumExpr::R(input));
        }
        self.reach(at.place())?;
        let (what, how) = figure.words();
        let what = format!("  {what}");
        let cell = self.page.figure(&what, &figure.origin.place, how, input)?;
        self.figures.insert(which, cell);
        Ok(NumExpr::R(cell))
    }

    fn input(&mut self, at: Id, input: Input, line: usize) -> Made<NumExpr> {
        self.reach(at.place())?;
        let mut supplied = self.sources.supplied.iter();
        let own = supplied.find(|(own, _)| *own == input);
        let figure = own.and_then(|(_, lines)| lines.get(line));
        let missing = || Refused::defect(format!("a form asks for {input:?} of line {line}"));
        figure.cloned().ok_or_else(missing)
    }

    fn home(&mut self, _: Id, a: &NumExpr) -> Made<NumExpr> {
        let sources = self.sources;
        match sources.rate {
            _ if *a == NumExpr::ZERO => Ok(NumExpr::ZERO),
            Some(rate) => sources.common.convert(rate, sources.sellers, a.clone()),
            None => Ok(a.clone()),
        }
    }

    fn plus(&mut self, _: (Id, Id, Id), a: &NumExpr, b: &NumExpr) -> Made<NumExpr> {
        Ok(fold::plus(a, b)?)
    }

    fn minus(&mut self, _: (Id, Id, Id), a: &NumExpr, b: &NumExpr) -> Made<NumExpr> {
        Ok(fold::minus(a, b)?)
    }

    fn times(&mut self, _: Id, a: &NumExpr, b: &NumExpr) -> Made<NumExpr> {
        Ok(fold::times(a, b)?)
    }

    fn part(&mut self, _: Id, a: &NumExpr, times: Dec, over: Dec) -> Made<NumExpr> {
        Ok(fold::part(a, times, over)?)
    }

    fn over(&mut self, _: Id, a: &NumExpr, b: &NumExpr) -> Made<NumExpr> {
        Ok(NumExpr::over(a.clone(), b.clone()))
    }

    fn least(&mut self, _: (Id, Id, Id), a: &NumExpr, b: &NumExpr) -> Made<NumExpr> {
        Ok(fold::least(a, b))
    }

    fn most(&mut self, _: (Id, Id, Id), a: &NumExpr, b: &NumExpr) -> Made<NumExpr> {
        Ok(fold::most(a, b))
    }

    fn round(&mut self, _: (Id, Id), a: &NumExpr, rounding: Rounding) -> Made<NumExpr> {
        Ok(match fixed(a) {
            Some(a) => NumExpr::N(rounding.apply(a)?),
            None => NumExpr::Round(Box::new(a.clone()), rounding),
        })
    }

    fn compare(&mut self, _: (Id, Id, Id), a: &NumExpr, op: Op, b: &NumExpr) -> Made<NumExpr> {
        Ok(fold::compare(a, op, b))
    }

    fn both(&mut self, a: &NumExpr, b: &NumExpr) -> NumExpr {
        fold::both(a, b)
    }

    fn either(&mut self, a: &NumExpr, b: &NumExpr) -> NumExpr {
        fold::either(a, b)
    }

    fn not(&mut self, a: &NumExpr) -> NumExpr {
        fold::not(a)
    }

    fn choose(
        &mut self,
        _: (Id, Id, Id),
        when: &NumExpr,
        a: &NumExpr,
        b: &NumExpr,
    ) -> Made<NumExpr> {
        Ok(fold::choose(when, a, b))
    }

    fn total(&mut self, at: Id, lines: &[NumExpr]) -> Made<NumExpr> {
        if let Some(all) = all_fixed(lines) {
            return Ok(NumExpr::N(Dec::total(all)?));
        }
        let row = self.range(at, lines)?;
        self.beside(row)
    }

    fn mates(&mut self, at: Id, keys: &[NumExpr], lines: &[NumExpr]) -> Made<Vec<NumExpr>> {
        if all_fixed(keys).as_deref().is_some_and(apart) {
            return Ok(lines.to_vec());
        }
        if alike(keys) {
            let total = self.total(at, lines)?;
            let of = |key| where_any(key, total.clone());
            return Ok(keys.iter().map(of).collect());
        }
        let (numbers, row) = (self.range(at, lines)?, self.range(at, keys)?);
        let page = &self.page;
        let of = |(line, key): (u16, &NumExpr)| {
            if *key == sure(false) {
                return NumExpr::ZERO;
            }
            NumExpr::Group(page.all(row), page.all(numbers), page.of(row, line))
        };
        Ok((0..).zip(keys).map(of).collect())
    }

    fn distinct(&mut self, at: Id, keys: &[NumExpr]) -> Made<NumExpr> {
        let row = self.range(at, keys)?;
        Ok(NumExpr::Distinct(self.page.all(row)))
    }

    fn spread(&mut self, at: Id, shared: Shared<'_, NumExpr>) -> Made<Vec<NumExpr>> {
        let Node::Spread(how) = &self.told.form.node(at).op else {
            return Err(Refused::defect("what is shared is no sharing"));
        };
        let inside = |keys: &Vec<Dec>| apart(keys) && keys.iter().all(|key| !key.is_zero());
        if all_fixed(shared.keys).as_ref().is_some_and(inside) {
            return Ok(shared.whole.to_vec());
        }
        let keys = if alike(shared.keys) {
            None
        } else {
            Some(self.range(at, shared.keys)?)
        };
        let weights = self.range(at, shared.weights)?;
        self.beside(weights)?;
        self.reach(at.place())?;
        let whole = self.decimals[how.whole.place()];
        let sharing = Sharing {
            weights,
            keys,
            digits: shared.digits,
            whole_units: whole.is_some_and(|decimals| decimals <= shared.digits),
        };
        // one key for all lines either shares the whole or, where it is zero, nothing
        let amount = |line: u16| {
            let line = usize::from(line);
            match keys {
                None => where_any(&shared.keys[line], shared.whole[line].clone()),
                Some(_) => shared.whole[line].clone(),
            }
        };
        let (what, _) = self.label(at);
        let row = self.page.share(&what, &amount, sharing)?;
        self.shared.insert(at.place());
        Ok(self.page.cells(row))
    }

    /// Parts that are zero whatever is changed take no rows, and get nothing.
    fn settle(
        &mut self,
        at: Id,
        whole: &NumExpr,
        parts: &[Vec<NumExpr>],
        digits: u32,
    ) -> Made<Vec<Vec<NumExpr>>> {
        let Node::Settle(how) = &self.told.form.node(at).op else {
            return Err(Refused::defect("what is settled is no settling"));
        };
        let mut moving = Vec::new();
        for (nth, part) in parts.iter().enumerate() {
            if part.iter().any(|figure| *figure != NumExpr::ZERO) {
                let row = self.range(how.parts[nth], part)?;
                moving.push((nth, row, self.label(how.parts[nth]).0));
            }
        }
        self.reach(at.place())?;
        let names: Vec<&str> = moving
            .iter()
            .map(|(_, _, name)| name.trim_start())
            .collect();
        let exact: Vec<u32> = moving.iter().map(|(_, row, _)| *row).collect();
        let first = self.page.settle(&names, &exact, whole, digits)?;
        let mut settled = vec![vec![NumExpr::ZERO; self.told.form.lines()]; parts.len()];
        for ((nth, _, _), row) in moving.iter().zip(first..) {
            settled[*nth] = self.page.cells(row);
        }
        let nodes = self.told.form.nodes().iter().enumerate();
        let alike =
            |op: &Node| matches!(op, Node::Settle(own) if Arc::ptr_eq(&own.parts, &how.parts));
        self.shared.extend(
            nodes
                .filter(|(_, node)| alike(&node.op))
                .map(|(place, _)| place),
        );
        Ok(settled)
    }

    /// Gives figures cells of their own where they are shown, added up, long, or looked at more than once.
    fn keep(&mut self, at: Id, figures: &mut [NumExpr]) -> Made<()> {
        self.reach(at.place())?;
        let name = self.named(at).filter(|name| name.shown);
        match name {
            Some(name) if !self.shared.contains(&at.place()) => self.show(name, figures)?,
            None if self.needs_cells(at, figures) => {
                let (what, how) = self.label(at);
                let sums = self.digits(at).is_some();
                self.write((&what, &how), (Look::Step, sums), figures)?;
            }
            _ => {}
        }
        if self.again.contains(&at) {
            self.before.insert(at, figures.to_vec());
        }
        Ok(())
    }
}
