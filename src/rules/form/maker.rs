//! Making a form: nodes are added one by one; what is known already is worked out, and what stands there already is taken.

#![expect(
    clippy::disallowed_types,
    reason = "nodes are looked up by their hash, and never walked in its order"
)]

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};
use std::sync::Arc;

use super::{Form, Id, Input, Measure, Node, Op, Origin, SaleRows};
use crate::tables;
use crate::units::{Dec, Overflow};

/// A form in the making.
pub(super) struct Maker {
    pub(super) form: Form,
    /// Where a node stands; only looked up, never walked.
    known: HashMap<Node, Id, BuildHasherDefault<Plain>>,
    zero: Id,
    /// Whether only some of the lines are there, so that nothing over all lines is known.
    some_lines: bool,
    /// Whether something was fixed that hangs on which lines are there.
    pub(super) fixed_lines: bool,
    /// Two kinds of money that met without an exchange rate: a defect of the lowering.
    pub(super) mixed: bool,
    /// The row whose figures are read, where the reading shows them.
    pub(super) origin: Option<Origin>,
    /// The rows of the seller's terms, where the reading shows their figures.
    pub(super) rows: Option<SaleRows>,
}

/// A plain hash for the nodes of one form: nobody chooses them to collide, and thousands are looked up for a bill.
#[derive(Default)]
struct Plain(u64);

impl Hasher for Plain {
    fn finish(&self) -> u64 {
        // the lower bits of a product are the poorer ones, and a map looks at them first
        self.0.rotate_left(26)
    }

    fn write(&mut self, bytes: &[u8]) {
        for chunk in bytes.chunks(8) {
            let mut word = [0; 8];
            word[..chunk.len()].copy_from_slice(chunk);
            self.write_u64(u64::from_le_bytes(word));
        }
    }

    fn write_u64(&mut self, word: u64) {
        // an odd number without a pattern, so that each bit of the word reaches the upper ones
        const ODD: u64 = 0x9e37_79b9_7f4a_7c15;
        self.0 = (self.0.rotate_left(5) ^ word).wrapping_mul(ODD);
    }

    fn write_u32(&mut self, word: u32) {
        self.write_u64(u64::from(word));
    }

    fn write_u8(&mut self, word: u8) {
        self.write_u64(u64::from(word));
    }
}

/// One figure for all lines, or one for each.
#[derive(Clone)]
pub(super) enum Value {
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

/// Whether two figures stand so. Quotients without an end lack or exceed what they are by a little, which decides nothing.
pub(super) fn compared(a: &Dec, op: tables::Op, b: &Dec) -> Dec {
    truth(op.holds(&a.settled(), &b.settled()))
}

impl Maker {
    pub(super) fn new(lines: usize) -> Maker {
        let zero = Node {
            op: Op::Fixed(Dec::ZERO),
            measure: Measure::Plain,
            by_line: false,
        };
        let mut known = HashMap::default();
        known.insert(zero.clone(), Id(0));
        Maker {
            form: Form {
                nodes: vec![zero],
                lines,
                figures: Vec::new(),
            },
            known,
            zero: Id(0),
            some_lines: false,
            fixed_lines: false,
            mixed: false,
            origin: None,
            rows: None,
        }
    }

    /// A form of which only some lines may be there.
    pub(super) fn open(lines: usize) -> Maker {
        Maker {
            some_lines: true,
            ..Maker::new(lines)
        }
    }

    /// Whether it is known which lines are there.
    pub(super) fn all_lines(&self) -> bool {
        !self.some_lines
    }

    /// The form; two kinds of money that met without an exchange rate have none.
    pub(super) fn finish(self) -> Result<Form, Overflow> {
        if self.mixed {
            return Err(Overflow);
        }
        Ok(self.form)
    }

    /// The form as something writes it, and where that says its answers stand.
    pub(super) fn written<T>(
        mut self,
        write: impl FnOnce(&mut Maker) -> Result<T, Overflow>,
    ) -> Result<(Form, T), Overflow> {
        let at = write(&mut self)?;
        Ok((self.finish()?, at))
    }

    pub(super) fn lines(&self) -> usize {
        self.form.lines
    }

    pub(super) fn single(&self) -> bool {
        self.form.lines == 1 && !self.some_lines
    }

    pub(super) fn measure(&self, id: Id) -> Measure {
        self.form.node(id).measure
    }

    pub(super) fn by_line(&self, ids: &[Id]) -> bool {
        ids.iter().any(|id| self.form.node(*id).by_line)
    }

    pub(super) fn add(&mut self, op: Op, measure: Measure, by_line: bool) -> Id {
        let node = Node {
            op,
            measure,
            by_line,
        };
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

    pub(super) fn value(&self, id: Id) -> Option<Value> {
        match &self.form.node(id).op {
            Op::Fixed(one) => Some(Value::One(*one)),
            Op::Column(all) => Some(Value::Each(Arc::clone(all))),
            _ => None,
        }
    }

    fn values<const N: usize>(&self, ids: [Id; N]) -> Option<[Value; N]> {
        let mut found = [const { Value::One(Dec::ZERO) }; N];
        for (value, id) in found.iter_mut().zip(ids) {
            *value = self.value(id)?;
        }
        Some(found)
    }

    /// What a node is, where that is known and the same for every line.
    pub(super) fn fixed_value(&self, id: Id) -> Option<Dec> {
        match self.form.node(id).op {
            Op::Fixed(one) => Some(one),
            _ => None,
        }
    }

    /// Whether a truth is known not to hold for any line.
    pub(super) fn never(&self, id: Id) -> bool {
        self.fixed_value(id).is_some_and(Dec::is_zero)
    }

    pub(super) fn always(&self, id: Id) -> bool {
        self.fixed_value(id) == Some(Dec::ONE)
    }

    pub(super) fn is_zero(&self, id: Id) -> bool {
        self.never(id)
    }

    pub(super) fn fixed(&mut self, number: Dec) -> Id {
        self.add(Op::Fixed(number), Measure::Plain, false)
    }

    pub(super) fn zero(&self) -> Id {
        self.zero
    }

    pub(super) fn sure(&mut self, holds: bool) -> Id {
        self.fixed(truth(holds))
    }

    /// An amount of money of a kind.
    pub(super) fn money(&mut self, amount: Dec, measure: Measure) -> Id {
        self.add(Op::Fixed(amount), measure, false)
    }

    /// A figure for each line.
    pub(super) fn column(&mut self, values: Vec<Dec>, measure: Measure) -> Id {
        match values.first().copied() {
            Some(first) if values.iter().all(|one| *one == first) => {
                self.add(Op::Fixed(first), measure, false)
            }
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
            Input::Sale(input) => input.measure(),
        };
        let by_line = !self.single() && !input.is_of_parcel();
        self.add(Op::Input(input), measure, by_line)
    }

    pub(super) fn home(&mut self, id: Id) -> Id {
        if self.is_zero(id) {
            return self.zero();
        }
        self.mixed = self.mixed || self.measure(id) != Measure::Seller;
        let by_line = self.by_line(&[id]);
        self.add(Op::Home(id), Measure::Home, by_line)
    }

    /// The measure of two figures that are added, compared or chosen between; a zero is of any.
    pub(super) fn common(&mut self, a: Id, b: Id) -> Measure {
        let (one, other) = (self.measure(a), self.measure(b));
        if one == other || self.is_zero(b) {
            return one;
        }
        if !self.is_zero(a) {
            self.mixed = true;
        }
        other
    }

    /// Works out an operation whose figures are all known.
    pub(super) fn fold<const N: usize>(
        &mut self,
        ids: [Id; N],
        measure: Measure,
        work: impl Fn([Dec; N]) -> Result<Dec, Overflow>,
    ) -> Result<Option<Id>, Overflow> {
        let Some(values) = self.values(ids) else {
            return Ok(None);
        };
        if values.iter().all(|value| matches!(value, Value::One(_))) {
            let number = work(values.each_ref().map(|value| value.at(0)))?;
            return Ok(Some(self.add(Op::Fixed(number), measure, false)));
        }
        let lines = self.lines();
        let each = (0..lines)
            .map(|line| work(values.each_ref().map(|value| value.at(line))))
            .collect::<Result<Vec<_>, _>>()?;
        Ok(Some(self.column(each, measure)))
    }
}
