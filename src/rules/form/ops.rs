//! The operations of a form in the making: each is worked out where its figures are known, left out where it changes nothing,
//! and else a node.

use super::maker::{Maker, Value, compared, truth};
use super::{Id, Measure, Op, Spread};
use crate::tables;
use crate::units::{Dec, Overflow, Rounding};

impl Maker {
    pub(super) fn plus(&mut self, a: Id, b: Id) -> Result<Id, Overflow> {
        let measure = self.common(a, b);
        if self.is_zero(b) {
            return Ok(a);
        }
        if self.is_zero(a) {
            return Ok(b);
        }
        if let Some(known) = self.fold([a, b], measure, |[a, b]| a.plus(b))? {
            return Ok(known);
        }
        let by_line = self.by_line(&[a, b]);
        Ok(self.add(Op::Plus(a, b), measure, by_line))
    }

    /// A sum that only serves as a weight, where money and plain figures may meet.
    pub(super) fn plus_weights(&mut self, a: Id, b: Id) -> Id {
        if self.is_zero(a) {
            return b;
        }
        let by_line = self.by_line(&[a, b]);
        self.add(Op::Plus(a, b), Measure::Plain, by_line)
    }

    pub(super) fn sum(&mut self, all: impl IntoIterator<Item = Id>) -> Result<Id, Overflow> {
        let mut sum = self.zero();
        for one in all {
            sum = self.plus(sum, one)?;
        }
        Ok(sum)
    }

    pub(super) fn minus(&mut self, a: Id, b: Id) -> Result<Id, Overflow> {
        let measure = self.common(a, b);
        if self.is_zero(b) {
            return Ok(a);
        }
        if let Some(known) = self.fold([a, b], measure, |[a, b]| a.minus(b))? {
            return Ok(known);
        }
        let by_line = self.by_line(&[a, b]);
        Ok(self.add(Op::Minus(a, b), measure, by_line))
    }

    pub(super) fn times(&mut self, a: Id, b: Id) -> Result<Id, Overflow> {
        let measure = if self.measure(a) == Measure::Plain {
            self.measure(b)
        } else {
            self.measure(a)
        };
        self.mixed =
            self.mixed || (self.measure(a) != Measure::Plain && self.measure(b) != Measure::Plain);
        if self.is_zero(a) || self.is_zero(b) {
            return Ok(self.zero());
        }
        if let Some(known) = self.fold([a, b], measure, |[a, b]| a.times(b))? {
            return Ok(known);
        }
        if self.always(a) {
            return Ok(b);
        }
        if self.always(b) {
            return Ok(a);
        }
        let by_line = self.by_line(&[a, b]);
        Ok(self.add(Op::Times(a, b), measure, by_line))
    }

    /// Times one figure, over another.
    pub(super) fn part(&mut self, a: Id, times: Dec, over: Dec) -> Result<Id, Overflow> {
        if times == over || self.is_zero(a) {
            return Ok(a);
        }
        if times.is_zero() {
            return Ok(self.zero());
        }
        let measure = self.measure(a);
        if let Some(known) = self.fold([a], measure, |[a]| a.times(times)?.over(over))? {
            return Ok(known);
        }
        let by_line = self.by_line(&[a]);
        Ok(self.add(Op::Part(a, times, over), measure, by_line))
    }

    /// A quotient that only serves as a weight; zero where the divisor is.
    pub(super) fn over(&mut self, a: Id, b: Id) -> Id {
        let by_line = self.by_line(&[a, b]);
        self.add(Op::Over(a, b), Measure::Plain, by_line)
    }

    pub(super) fn least(&mut self, a: Id, b: Id) -> Result<Id, Overflow> {
        let measure = self.common(a, b);
        if let Some(known) = self.fold([a, b], measure, |[a, b]| Ok(a.min(b)))? {
            return Ok(known);
        }
        let by_line = self.by_line(&[a, b]);
        Ok(self.add(Op::Least(a, b), measure, by_line))
    }

    pub(super) fn most(&mut self, a: Id, b: Id) -> Result<Id, Overflow> {
        let measure = self.common(a, b);
        if let Some(known) = self.fold([a, b], measure, |[a, b]| Ok(a.max(b)))? {
            return Ok(known);
        }
        let by_line = self.by_line(&[a, b]);
        Ok(self.add(Op::Most(a, b), measure, by_line))
    }

    pub(super) fn round(&mut self, a: Id, rounding: Option<Rounding>) -> Result<Id, Overflow> {
        let Some(rounding) = rounding.filter(|_| !self.is_zero(a)) else {
            return Ok(a);
        };
        let measure = self.measure(a);
        if let Some(known) = self.fold([a], measure, |[a]| rounding.apply(a))? {
            return Ok(known);
        }
        if matches!(self.form.node(a).op, Op::Round(_, before) if before == rounding) {
            return Ok(a);
        }
        let by_line = self.by_line(&[a]);
        Ok(self.add(Op::Round(a, rounding), measure, by_line))
    }

    pub(super) fn compare(&mut self, a: Id, op: tables::Op, b: Id) -> Result<Id, Overflow> {
        self.common(a, b);
        if let Some(known) = self.fold([a, b], Measure::Plain, |[a, b]| Ok(compared(&a, op, &b)))? {
            return Ok(known);
        }
        let by_line = self.by_line(&[a, b]);
        Ok(self.add(Op::Compare(a, op, b), Measure::Plain, by_line))
    }

    /// Whether a figure is other than zero.
    pub(super) fn some(&mut self, a: Id) -> Result<Id, Overflow> {
        let zero = self.zero();
        self.compare(a, tables::Op::Unequal, zero)
    }

    /// Whether a truth holds for any line.
    pub(super) fn any(&mut self, a: Id) -> Result<Id, Overflow> {
        if !self.form.node(a).by_line && (self.lines() > 0 || self.never(a)) {
            return Ok(a);
        }
        let total = self.total(a)?;
        let zero = self.zero();
        self.compare(total, tables::Op::Above, zero)
    }

    pub(super) fn both(&mut self, a: Id, b: Id) -> Result<Id, Overflow> {
        if self.always(a) || self.never(b) || a == b {
            return Ok(b);
        }
        if self.always(b) || self.never(a) {
            return Ok(a);
        }
        let zero = |one: Dec| one.is_zero();
        if let Some(known) = self.fold([a, b], Measure::Plain, |[a, b]| {
            Ok(truth(!zero(a) && !zero(b)))
        })? {
            return Ok(known);
        }
        let by_line = self.by_line(&[a, b]);
        Ok(self.add(Op::Both(a, b), Measure::Plain, by_line))
    }

    pub(super) fn either(&mut self, a: Id, b: Id) -> Result<Id, Overflow> {
        if self.always(a) || self.never(b) || a == b {
            return Ok(a);
        }
        if self.always(b) || self.never(a) {
            return Ok(b);
        }
        if let Some(known) = self.fold([a, b], Measure::Plain, |[a, b]| {
            Ok(truth(!a.is_zero() || !b.is_zero()))
        })? {
            return Ok(known);
        }
        let by_line = self.by_line(&[a, b]);
        Ok(self.add(Op::Either(a, b), Measure::Plain, by_line))
    }

    pub(super) fn not(&mut self, a: Id) -> Result<Id, Overflow> {
        if let Some(known) = self.fold([a], Measure::Plain, |[a]| Ok(truth(a.is_zero())))? {
            return Ok(known);
        }
        if let Op::Not(inner) = self.form.node(a).op {
            return Ok(inner);
        }
        let by_line = self.by_line(&[a]);
        Ok(self.add(Op::Not(a), Measure::Plain, by_line))
    }

    /// One where it holds without the other.
    pub(super) fn without(&mut self, a: Id, b: Id) -> Result<Id, Overflow> {
        let free = self.not(b)?;
        self.both(a, free)
    }

    pub(super) fn choose(&mut self, when: Id, a: Id, b: Id) -> Result<Id, Overflow> {
        if self.always(when) || a == b {
            return Ok(a);
        }
        if self.never(when) {
            return Ok(b);
        }
        let measure = self.common(a, b);
        if let Some(known) = self.fold([when, a, b], measure, |[when, a, b]| {
            Ok(if when.is_zero() { b } else { a })
        })? {
            return Ok(known);
        }
        let by_line = self.by_line(&[when, a, b]);
        Ok(self.add(Op::Choose(when, a, b), measure, by_line))
    }

    /// A figure where something holds, else zero.
    pub(super) fn only(&mut self, when: Id, a: Id) -> Result<Id, Overflow> {
        let zero = self.zero();
        self.choose(when, a, zero)
    }

    pub(super) fn total(&mut self, a: Id) -> Result<Id, Overflow> {
        if self.single() || self.is_zero(a) {
            return Ok(a);
        }
        let measure = self.measure(a);
        if !self.all_lines() {
            return Ok(self.add(Op::Total(a), measure, false));
        }
        if !self.form.node(a).by_line {
            let lines = self.fixed(Dec::from(
                u32::try_from(self.lines()).map_err(|_| Overflow)?,
            ));
            return self.times(a, lines);
        }
        if let Some(Value::Each(all)) = self.value(a) {
            let sum = Dec::total(all.iter().copied())?;
            return Ok(self.add(Op::Fixed(sum), measure, false));
        }
        Ok(self.add(Op::Total(a), measure, false))
    }

    /// The sum over the lines of one key; the figures of lines outside are zero.
    pub(super) fn mates(&mut self, keys: Id, a: Id) -> Result<Id, Overflow> {
        if self.single() || self.is_zero(a) {
            return Ok(a);
        }
        if self.fixed_value(keys).is_some() && self.all_lines() {
            return self.total(a);
        }
        let measure = self.measure(a);
        Ok(self.add(Op::Mates(keys, a), measure, true))
    }

    pub(super) fn distinct(&mut self, keys: Id) -> Result<Id, Overflow> {
        if !self.all_lines() && !self.never(keys) {
            return Ok(self.add(Op::Distinct(keys), Measure::Plain, false));
        }
        if !self.form.node(keys).by_line {
            return self.some(keys);
        }
        if let Some(Value::Each(all)) = self.value(keys) {
            let found: std::collections::BTreeSet<Dec> =
                all.iter().copied().filter(|key| !key.is_zero()).collect();
            return Ok(self.fixed(Dec::from(u32::try_from(found.len()).map_err(|_| Overflow)?)));
        }
        Ok(self.add(Op::Distinct(keys), Measure::Plain, false))
    }

    /// Whether there is something to share: one line takes the whole.
    pub(super) fn shares(&self) -> bool {
        !self.single()
    }

    pub(super) fn spread(&mut self, whole: Id, weights: Id, keys: Id, digits: u32) -> Id {
        if self.single() || self.is_zero(whole) {
            return whole;
        }
        let measure = self.measure(whole);
        self.add(
            Op::Spread(Spread {
                whole,
                weights,
                keys,
                digits,
            }),
            measure,
            true,
        )
    }
}
