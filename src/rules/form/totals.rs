//! Sums over all lines, taken apart: what is shared over lines and added up again is the whole that was shared.
//!
//! A turned line changes the tax of the whole parcel, and so what every line bears of it. Who only wants to know what is paid
//! need not know that. This writes a form once more in which a total of shares is the whole, a total of a sum is a sum of
//! totals, and a total within one group of lines is a total under a condition. What is left of the form beside its totals then
//! hangs on single lines. A total that cannot be taken apart stays as it is, and is read line by line.

use std::collections::{BTreeMap, BTreeSet};

use super::maker::Maker;
use super::{Form, Id, Op, Spread};
use crate::tables;
use crate::units::{Dec, Overflow};

/// At most this many groups of lines are told apart by their keys; more are read line by line.
const GROUPS: usize = 8;

/// A form that is written once more.
pub(super) struct Apart<'f> {
    old: &'f Form,
    /// For each node, whether it has a figure for each line that hangs on the figures of others.
    shared: Vec<bool>,
    make: Maker,
    known: BTreeMap<Id, Id>,
    totals: BTreeMap<(Id, Option<Id>), Id>,
    /// How many lines sit.
    seats: Dec,
}

impl<'f> Apart<'f> {
    /// Begins with nothing; the form says which of its lines sit elsewhere, and here only how many.
    pub(super) fn new(old: &'f Form, seats: usize) -> Result<Apart<'f>, Overflow> {
        let mut shared: Vec<bool> = Vec::with_capacity(old.nodes.len());
        for node in &old.nodes {
            let over_lines = matches!(node.op, Op::Mates(..) | Op::Spread(_) | Op::Settle(_));
            let hangs = |id: &Id| shared[id.place()];
            shared.push(node.by_line && (over_lines || node.op.looks_at().iter().any(hangs)));
        }
        let mut make = Maker::open(old.lines);
        make.form.figures.clone_from(&old.figures);
        Ok(Apart {
            old,
            shared,
            make,
            known: BTreeMap::new(),
            totals: BTreeMap::new(),
            seats: Dec::from(u32::try_from(seats).map_err(|_| Overflow)?),
        })
    }

    /// The form as far as it was asked for.
    pub(super) fn form(self) -> Form {
        self.make.form
    }

    /// A node of the old form in the new one.
    pub(super) fn node(&mut self, id: Id) -> Result<Id, Overflow> {
        if let Some(known) = self.known.get(&id) {
            return Ok(*known);
        }
        let node = self.old.node(id);
        let found = if let Op::Total(of) = node.op {
            self.total(of)?
        } else {
            let op = node.op.looking_at(|id| self.node(id))?;
            self.make.add(op, node.measure, node.by_line)
        };
        self.known.insert(id, found);
        Ok(found)
    }

    /// All lines of a node of the old form together.
    pub(super) fn total(&mut self, of: Id) -> Result<Id, Overflow> {
        self.under(of, None)
    }

    /// Those lines of a node of the old form together for which a truth of the new form holds.
    fn under(&mut self, of: Id, mask: Option<Id>) -> Result<Id, Overflow> {
        if let Some(known) = self.totals.get(&(of, mask)) {
            return Ok(*known);
        }
        let found = match self.apart(of, mask)? {
            Some(found) => found,
            None => self.line_by_line(of, mask)?,
        };
        self.totals.insert((of, mask), found);
        Ok(found)
    }

    fn line_by_line(&mut self, of: Id, mask: Option<Id>) -> Result<Id, Overflow> {
        let mut each = self.node(of)?;
        if let Some(mask) = mask {
            each = self.make.only(mask, each)?;
        }
        self.make.total(each)
    }

    /// A total by what it is the total of; none where that is not to be taken apart.
    fn apart(&mut self, of: Id, mask: Option<Id>) -> Result<Option<Id>, Overflow> {
        let node = self.old.node(of);
        if !node.by_line {
            return self.repeated(of, mask).map(Some);
        }
        if !self.shared[of.place()] {
            return Ok(None);
        }
        let found = match &node.op {
            Op::Plus(a, b) => {
                let (a, b) = (self.under(*a, mask)?, self.under(*b, mask)?);
                self.make.plus(a, b)?
            }
            Op::Minus(a, b) => {
                let (a, b) = (self.under(*a, mask)?, self.under(*b, mask)?);
                self.make.minus(a, b)?
            }
            Op::Home(a) => {
                let a = self.under(*a, mask)?;
                self.make.home(a)
            }
            Op::Part(a, times, over) => {
                let a = self.under(*a, mask)?;
                self.make.part(a, *times, *over)?
            }
            Op::Times(a, b) | Op::Times(b, a) if !self.old.node(*b).by_line => {
                let (a, b) = (self.under(*a, mask)?, self.node(*b)?);
                self.make.times(a, b)?
            }
            Op::Choose(when, a, b) => return self.chosen((*when, *a, *b), mask),
            Op::Spread(how) => return self.spread(how, mask),
            _ => return Ok(None),
        };
        Ok(Some(found))
    }

    /// One figure of the parcel, once for each line.
    fn repeated(&mut self, of: Id, mask: Option<Id>) -> Result<Id, Overflow> {
        let times = match mask {
            Some(mask) => self.make.total(mask)?,
            None => self.make.fixed(self.seats),
        };
        let of = self.node(of)?;
        self.make.times(of, times)
    }

    fn chosen(
        &mut self,
        (when, a, b): (Id, Id, Id),
        mask: Option<Id>,
    ) -> Result<Option<Id>, Overflow> {
        let holds = self.node(when)?;
        if !self.old.node(when).by_line {
            let (a, b) = (self.under(a, mask)?, self.under(b, mask)?);
            return self.make.choose(holds, a, b).map(Some);
        }
        if self.shared[when.place()] {
            return Ok(None);
        }
        let one = self.within(mask, holds)?;
        let mut sum = self.under(a, Some(one))?;
        if self.old.node(b).op != Op::Fixed(Dec::ZERO) {
            let fails = self.make.not(holds)?;
            let other = self.within(mask, fails)?;
            let other = self.under(b, Some(other))?;
            sum = self.make.plus(sum, other)?;
        }
        Ok(Some(sum))
    }

    fn within(&mut self, mask: Option<Id>, holds: Id) -> Result<Id, Overflow> {
        mask.map_or(Ok(holds), |mask| self.make.both(mask, holds))
    }

    /// What is shared over the lines of a key adds up to the whole of that key. None where there are too many keys, or where
    /// only some lines of a key are asked for.
    fn spread(&mut self, how: &Spread, mask: Option<Id>) -> Result<Option<Id>, Overflow> {
        let Some(groups) = self.groups(how.keys)? else {
            return Ok(None);
        };
        let whole_groups = match (mask, &self.old.node(how.keys).op) {
            (None, _) => true,
            (Some(mask), Op::Choose(lines, _, out)) => {
                self.old.node(*out).op == Op::Fixed(Dec::ZERO) && self.node(*lines)? == mask
            }
            _ => false,
        };
        if !whole_groups {
            return Ok(None);
        }
        let mut sum = self.make.zero();
        for group in groups {
            let Some(whole) = self.inside(how.whole, (how.keys, group))? else {
                return Ok(None);
            };
            let any = self.any(group)?;
            let whole = self.make.only(any, whole)?;
            sum = self.make.plus(sum, whole)?;
        }
        Ok(Some(sum))
    }

    /// Whether a truth holds for any line.
    fn any(&mut self, holds: Id) -> Result<Id, Overflow> {
        if !self.make.by_line(&[holds]) {
            return Ok(holds);
        }
        let total = self.make.total(holds)?;
        let zero = self.make.zero();
        self.make.compare(total, tables::Op::Above, zero)
    }

    /// For each key other than zero, whether a line has it.
    fn groups(&mut self, keys: Id) -> Result<Option<Vec<Id>>, Overflow> {
        let Some(values) = possible(self.old, keys) else {
            return Ok(None);
        };
        let values: Vec<Dec> = values.into_iter().filter(|key| !key.is_zero()).collect();
        if let (Op::Choose(lines, of, out), [_]) = (&self.old.node(keys).op, values.as_slice()) {
            let always = |id: Id, wanted: Dec| self.old.node(id).op == Op::Fixed(wanted);
            if always(*of, values[0]) && always(*out, Dec::ZERO) {
                return Ok(Some(vec![self.node(*lines)?]));
            }
        }
        let key = self.node(keys)?;
        let mut found = Vec::with_capacity(values.len());
        for value in values {
            let value = self.make.fixed(value);
            found.push(self.make.compare(key, tables::Op::Equal, value)?);
        }
        Ok(Some(found))
    }

    /// The one figure that all lines of a group have of a node; none where that is not to be seen.
    fn inside(&mut self, of: Id, (keys, group): (Id, Id)) -> Result<Option<Id>, Overflow> {
        let node = self.old.node(of);
        if !node.by_line {
            return self.node(of).map(Some);
        }
        match &node.op {
            Op::Column(_) | Op::Input(_) | Op::Spread(_) | Op::Settle(_) => return Ok(None),
            Op::Mates(own, each) => {
                if *own != keys {
                    return Ok(None);
                }
                let mask = Some(group).filter(|group| self.make.by_line(&[*group]));
                return self.under(*each, mask).map(Some);
            }
            _ => {}
        }
        let mut unseen = false;
        let op = node.op.looking_at(|id| {
            let found = self.inside(id, (keys, group))?;
            unseen |= found.is_none();
            Ok(found.unwrap_or(id))
        })?;
        if unseen {
            return Ok(None);
        }
        Ok(Some(self.make.add(op, node.measure, false)))
    }
}

/// The figures that a node can have, where they are few and known.
fn possible(form: &Form, of: Id) -> Option<BTreeSet<Dec>> {
    let each = |a: Id, b: Id, work: fn(Dec, Dec) -> Result<Dec, Overflow>| {
        let (a, b) = (possible(form, a)?, possible(form, b)?);
        let pairs = a.iter().flat_map(|a| b.iter().map(move |b| work(*a, *b)));
        pairs.collect::<Result<BTreeSet<Dec>, Overflow>>().ok()
    };
    let found: BTreeSet<Dec> = match &form.node(of).op {
        Op::Fixed(one) => BTreeSet::from([*one]),
        Op::Column(all) => all.iter().copied().collect(),
        Op::Choose(_, a, b) => possible(form, *a)?
            .union(&possible(form, *b)?)
            .copied()
            .collect(),
        Op::Plus(a, b) => each(*a, *b, Dec::plus)?,
        Op::Times(a, b) => each(*a, *b, Dec::times)?,
        Op::Compare(..) | Op::Both(..) | Op::Either(..) | Op::Not(_) => {
            BTreeSet::from([Dec::ZERO, Dec::ONE])
        }
        _ => return None,
    };
    Some(found).filter(|found| found.len() <= GROUPS + 1)
}
