//! Making a form: nodes are added one by one; what is known already is worked out, and what stands there already is taken.

#![expect(clippy::disallowed_types, reason = "nodes are looked up by their hash, and never walked in its order")]

use std::collections::HashMap;
use std::sync::Arc;

use super::{Form, Id, Input, Measure, Node, Op, Spread};
use crate::tables;
use crate::units::{Dec, Overflow, Rounding};

/// A form in the making.
pub(super) struct Maker {
    form: Form,
    /// Where a node stands; only looked up, never walked.
    known: HashMap<Node, Id>,
    /// Two kinds of money that met without an exchange rate: a defect of the lowering.
    mixed: bool,
}

/// One figure for all lines, or one for each.
#[derive(Clone)]
enum Value {
    One(Dec),
    Each(Arc<[Dec]>),
}

impl Value {
    fn at(&self, line: usize) -> Dec {
        match self {
            Value::One(one) => *one,
            Value::Each(all) => all[line],
        }
    }
}

pub(super) fn truth(holds: bool) -> Dec {
    if holds { Dec::ONE } else { Dec::ZERO }
}

impl Maker {
    pub(super) fn new(lines: usize) -> Maker {
        Maker { form: Form { nodes: Vec::new(), lines }, known: HashMap::new(), mixed: false }
    }

    /// The form, when no two kinds of money met.
    pub(super) fn finish(self) -> Option<Form> {
        (!self.mixed).then_some(self.form)
    }

    pub(super) fn lines(&self) -> usize {
        self.form.lines
    }

    fn single(&self) -> bool {
        self.form.lines == 1
    }

    fn measure(&self, id: Id) -> Measure {
        self.form.node(id).measure
    }

    fn by_line(&self, ids: &[Id]) -> bool {
        ids.iter().any(|id| self.form.node(*id).by_line)
    }

    fn add(&mut self, op: Op, measure: Measure, by_line: bool) -> Id {
        let node = Node { op, measure, by_line };
        // columns are long and seldom alike
        let looked_up = !matches!(node.op, Op::Column(_));
        if let Some(known) = looked_up.then(|| self.known.get(&node)).flatten() {
            return *known;
        }
        let id = Id(u32::try_from(self.form.nodes.len()).unwrap_or(u32::MAX));
        if looked_up {
            self.known.insert(node.clone(), id);
        }
        self.form.nodes.push(node);
        id
    }

    fn value(&self, id: Id) -> Option<Value> {
        match &self.form.node(id).op {
            Op::Fixed(one) => Some(Value::One(*one)),
            Op::Column(all) => Some(Value::Each(Arc::clone(all))),
            _ => None,
        }
    }

    fn values<const N: usize>(&self, ids: [Id; N]) -> Option<[Value; N]> {
        let found: Vec<Value> = ids.iter().map(|id| self.value(*id)).collect::<Option<_>>()?;
        found.try_into().ok()
    }

    /// What a node is, where that is known and the same for every line.
    pub(super) fn fixed_value(&self, id: Id) -> Option<Dec> {
        match self.value(id)? {
            Value::One(one) => Some(one),
            Value::Each(_) => None,
        }
    }

    /// Whether a truth is known not to hold for any line.
    pub(super) fn never(&self, id: Id) -> bool {
        self.fixed_value(id).is_some_and(Dec::is_zero)
    }

    fn always(&self, id: Id) -> bool {
        self.fixed_value(id) == Some(Dec::ONE)
    }

    fn is_nought(&self, id: Id) -> bool {
        self.never(id)
    }

    pub(super) fn fixed(&mut self, number: Dec) -> Id {
        self.add(Op::Fixed(number), Measure::Plain, false)
    }

    pub(super) fn nought(&mut self) -> Id {
        self.fixed(Dec::ZERO)
    }

    pub(super) fn sure(&mut self, holds: bool) -> Id {
        self.fixed(truth(holds))
    }

    /// An amount of the destination's money.
    pub(super) fn home_money(&mut self, amount: Dec) -> Id {
        self.add(Op::Fixed(amount), Measure::Home, false)
    }

    /// An amount of money of a kind.
    pub(super) fn money(&mut self, amount: Dec, measure: Measure) -> Id {
        self.add(Op::Fixed(amount), measure, false)
    }

    /// A figure for each line.
    pub(super) fn column(&mut self, values: Vec<Dec>, measure: Measure) -> Id {
        match values.first().copied() {
            Some(first) if values.iter().all(|one| *one == first) => self.add(Op::Fixed(first), measure, false),
            None => self.add(Op::Fixed(Dec::ZERO), measure, false),
            Some(_) => self.add(Op::Column(values.into()), measure, true),
        }
    }

    /// A truth for each line.
    pub(super) fn truths(&mut self, holds: impl Iterator<Item = bool>) -> Id {
        let values = holds.map(truth).collect();
        self.column(values, Measure::Plain)
    }

    pub(super) fn input(&mut self, input: Input) -> Id {
        let measure = match input {
            Input::List | Input::Goods | Input::Freight | Input::Insurance => Measure::Seller,
            Input::Kilograms | Input::Pieces | Input::Grams => Measure::Plain,
        };
        let by_line = !self.single();
        self.add(Op::Input(input), measure, by_line)
    }

    pub(super) fn home(&mut self, id: Id) -> Id {
        if self.is_nought(id) {
            return self.nought();
        }
        self.mixed = self.mixed || self.measure(id) != Measure::Seller;
        let by_line = self.by_line(&[id]);
        self.add(Op::Home(id), Measure::Home, by_line)
    }

    /// The measure of two figures that are added, compared or chosen between; a nought is of any.
    fn common(&mut self, a: Id, b: Id) -> Measure {
        let (one, other) = (self.measure(a), self.measure(b));
        if one == other || self.is_nought(b) {
            return one;
        }
        if !self.is_nought(a) {
            self.mixed = true;
        }
        other
    }

    /// Works out an operation whose figures are all known.
    fn fold<const N: usize>(
        &mut self,
        ids: [Id; N],
        measure: Measure,
        work: impl Fn([Dec; N]) -> Result<Dec, Overflow>,
    ) -> Result<Option<Id>, Overflow> {
        let Some(values) = self.values(ids) else { return Ok(None) };
        if values.iter().all(|value| matches!(value, Value::One(_))) {
            let number = work(values.each_ref().map(|value| value.at(0)))?;
            return Ok(Some(self.add(Op::Fixed(number), measure, false)));
        }
        let lines = self.lines();
        let each = (0..lines).map(|line| work(values.each_ref().map(|value| value.at(line)))).collect::<Result<Vec<_>, _>>()?;
        Ok(Some(self.column(each, measure)))
    }

    pub(super) fn plus(&mut self, a: Id, b: Id) -> Result<Id, Overflow> {
        let measure = self.common(a, b);
        if self.is_nought(b) {
            return Ok(a);
        }
        if self.is_nought(a) {
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
        if self.is_nought(a) {
            return b;
        }
        let by_line = self.by_line(&[a, b]);
        self.add(Op::Plus(a, b), Measure::Plain, by_line)
    }

    pub(super) fn sum(&mut self, all: impl IntoIterator<Item = Id>) -> Result<Id, Overflow> {
        let mut sum = self.nought();
        for one in all {
            sum = self.plus(sum, one)?;
        }
        Ok(sum)
    }

    pub(super) fn minus(&mut self, a: Id, b: Id) -> Result<Id, Overflow> {
        let measure = self.common(a, b);
        if self.is_nought(b) {
            return Ok(a);
        }
        if let Some(known) = self.fold([a, b], measure, |[a, b]| a.minus(b))? {
            return Ok(known);
        }
        let by_line = self.by_line(&[a, b]);
        Ok(self.add(Op::Minus(a, b), measure, by_line))
    }

    pub(super) fn times(&mut self, a: Id, b: Id) -> Result<Id, Overflow> {
        let measure = if self.measure(a) == Measure::Plain { self.measure(b) } else { self.measure(a) };
        self.mixed = self.mixed || (self.measure(a) != Measure::Plain && self.measure(b) != Measure::Plain);
        if self.is_nought(a) || self.is_nought(b) {
            return Ok(self.nought());
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
        if times == over || self.is_nought(a) {
            return Ok(a);
        }
        if times.is_zero() {
            return Ok(self.nought());
        }
        let measure = self.measure(a);
        if let Some(known) = self.fold([a], measure, |[a]| a.times(times)?.over(over))? {
            return Ok(known);
        }
        let by_line = self.by_line(&[a]);
        Ok(self.add(Op::Part(a, times, over), measure, by_line))
    }

    /// A quotient that only serves as a weight; nought where the divisor is.
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
        let Some(rounding) = rounding.filter(|_| !self.is_nought(a)) else { return Ok(a) };
        let measure = self.measure(a);
        if let Some(known) = self.fold([a], measure, |[a]| rounding.apply(a))? {
            return Ok(known);
        }
        if self.form.node(a).op == Op::Round(a, rounding) {
            return Ok(a);
        }
        let by_line = self.by_line(&[a]);
        Ok(self.add(Op::Round(a, rounding), measure, by_line))
    }

    pub(super) fn compare(&mut self, a: Id, op: tables::Op, b: Id) -> Result<Id, Overflow> {
        self.common(a, b);
        if let Some(known) = self.fold([a, b], Measure::Plain, |[a, b]| Ok(truth(op.holds(&a, &b))))? {
            return Ok(known);
        }
        let by_line = self.by_line(&[a, b]);
        Ok(self.add(Op::Compare(a, op, b), Measure::Plain, by_line))
    }

    /// Whether a figure is other than nought.
    pub(super) fn some(&mut self, a: Id) -> Result<Id, Overflow> {
        let nought = self.nought();
        self.compare(a, tables::Op::Unequal, nought)
    }

    /// Whether a truth holds for any line.
    pub(super) fn any(&mut self, a: Id) -> Result<Id, Overflow> {
        if !self.form.node(a).by_line && (self.lines() > 0 || self.never(a)) {
            return Ok(a);
        }
        let total = self.total(a)?;
        let nought = self.nought();
        self.compare(total, tables::Op::Above, nought)
    }

    pub(super) fn both(&mut self, a: Id, b: Id) -> Result<Id, Overflow> {
        if self.always(a) || self.never(b) || a == b {
            return Ok(b);
        }
        if self.always(b) || self.never(a) {
            return Ok(a);
        }
        let nought = |one: Dec| one.is_zero();
        if let Some(known) = self.fold([a, b], Measure::Plain, |[a, b]| Ok(truth(!nought(a) && !nought(b))))? {
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
        if let Some(known) = self.fold([a, b], Measure::Plain, |[a, b]| Ok(truth(!a.is_zero() || !b.is_zero())))? {
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
        if let Some(known) = self.fold([when, a, b], measure, |[when, a, b]| Ok(if when.is_zero() { b } else { a }))? {
            return Ok(known);
        }
        let by_line = self.by_line(&[when, a, b]);
        Ok(self.add(Op::Choose(when, a, b), measure, by_line))
    }

    /// A figure where something holds, else nought.
    pub(super) fn only(&mut self, when: Id, a: Id) -> Result<Id, Overflow> {
        let nought = self.nought();
        self.choose(when, a, nought)
    }

    pub(super) fn total(&mut self, a: Id) -> Result<Id, Overflow> {
        if self.single() || self.is_nought(a) {
            return Ok(a);
        }
        let measure = self.measure(a);
        if !self.form.node(a).by_line {
            let lines = self.fixed(Dec::from(u32::try_from(self.lines()).map_err(|_| Overflow)?));
            return self.times(a, lines);
        }
        if let Some(Value::Each(all)) = self.value(a) {
            let sum = Dec::total(all.iter().copied())?;
            return Ok(self.add(Op::Fixed(sum), measure, false));
        }
        Ok(self.add(Op::Total(a), measure, false))
    }

    /// The sum over the lines of one key; the figures of lines outside are nought.
    pub(super) fn mates(&mut self, keys: Id, a: Id) -> Result<Id, Overflow> {
        if self.single() || self.is_nought(a) {
            return Ok(a);
        }
        if self.fixed_value(keys).is_some() {
            return self.total(a);
        }
        let measure = self.measure(a);
        Ok(self.add(Op::Mates(keys, a), measure, true))
    }

    pub(super) fn distinct(&mut self, keys: Id) -> Result<Id, Overflow> {
        if !self.form.node(keys).by_line {
            return self.some(keys);
        }
        if let Some(Value::Each(all)) = self.value(keys) {
            let found: std::collections::BTreeSet<Dec> = all.iter().copied().filter(|key| !key.is_zero()).collect();
            return Ok(self.fixed(Dec::from(u32::try_from(found.len()).map_err(|_| Overflow)?)));
        }
        Ok(self.add(Op::Distinct(keys), Measure::Plain, false))
    }

    /// Whether there is something to share: one line takes the whole.
    pub(super) fn shares(&self) -> bool {
        !self.single()
    }

    pub(super) fn spread(&mut self, whole: Id, weights: Id, keys: Id, digits: u32) -> Id {
        if self.single() || self.is_nought(whole) {
            return whole;
        }
        let measure = self.measure(whole);
        self.add(Op::Spread(Spread { whole, weights, keys, digits }), measure, true)
    }
}
