//! The walk over the nodes of a form, with bounds in place of figures.
//!
//! Beside its ends a figure may be known by what it comes from: a multiple of another, no further from that than its rounding. Two
//! ends alone do not show that a price less a tenth of it is nine tenths, or that a percentage shared by what it was taken of is
//! the same percentage of each line.

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use super::frame::{Frame, Strict};
use super::lin::{Between, Fraction, Nano, ONE, Unbounded, around, off_by};
use super::lines::{Each, Factor, corners};
use crate::rules::form::{Form, Id, Input, Op};
use crate::tables;
use crate::units::{Rate, Rounding};

/// Why a case is not read to its end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Stop {
    /// There is no bound.
    Unbounded(Unbounded),
    /// It must be split above these goods, in minor units.
    Split(Vec<i64>),
    /// It must be read once as if a comparison held, and once as if not.
    Fork(Id),
}

impl From<Unbounded> for Stop {
    fn from(why: Unbounded) -> Stop {
        Stop::Unbounded(why)
    }
}

/// How much may be asked for while a case is read.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Effort {
    /// Whether the case may be split.
    pub(crate) splits: bool,
    /// How many comparisons may be read both ways within it.
    pub(crate) forks: usize,
}

/// A figure of a node, or of what a form is supplied with.
#[derive(Debug, Clone)]
pub(crate) enum Value {
    One(Rc<Between>),
    Each(Rc<Each>),
    Holds(Option<bool>),
    EachHolds(Rc<[Option<bool>]>),
}

impl Value {
    /// As a figure of the parcel.
    fn one(&self) -> Result<Rc<Between>, Unbounded> {
        match self {
            Value::One(one) => Ok(Rc::clone(one)),
            Value::Holds(holds) => {
                let (low, high) = as_figure(*holds);
                Ok(Rc::new(Between::ends(low, high)))
            }
            Value::Each(_) | Value::EachHolds(_) => Err("a figure of lines stands for the parcel"),
        }
    }
}

impl From<Between> for Value {
    fn from(one: Between) -> Value {
        Value::One(Rc::new(one))
    }
}

impl From<Each> for Value {
    fn from(each: Each) -> Value {
        Value::Each(Rc::new(each))
    }
}

/// A multiple of another figure, or of its total where that is one of lines, and how far a figure may be below and above it.
#[derive(Debug, Clone)]
pub(super) struct Part {
    pub(super) of: Id,
    pub(super) factor: Factor,
    pub(super) off: (Nano, Nano),
}

impl Part {
    /// A figure as a part of itself.
    fn whole(of: Id) -> Part {
        Part {
            of,
            factor: Factor::Same(Fraction::WHOLE),
            off: (0, 0),
        }
    }
}

#[derive(Debug, Clone)]
pub(super) struct Known {
    value: Value,
    part: Option<Part>,
}

impl From<Value> for Known {
    fn from(value: Value) -> Known {
        Known { value, part: None }
    }
}

/// A form and the nodes of it that are asked for, with all that they are made of.
#[derive(Debug)]
pub(crate) struct Wanted {
    pub(super) form: Form,
    order: Vec<Id>,
    /// Figures that are never below zero, whatever their bounds say.
    never_below: BTreeSet<Id>,
    /// Nodes that are the same in every case.
    fixed: Vec<Option<Known>>,
}

impl Wanted {
    pub(crate) fn new(
        form: Form,
        roots: impl IntoIterator<Item = Id>,
        never_below: Vec<Id>,
    ) -> Wanted {
        let nodes = form.nodes().len();
        let mut order = BTreeSet::new();
        let mut open: Vec<Id> = roots.into_iter().collect();
        while let Some(id) = open.pop() {
            if order.insert(id) {
                open.extend(form.node(id).op.looks_at());
            }
        }
        Wanted {
            form,
            order: order.into_iter().collect(),
            never_below: never_below.into_iter().collect(),
            fixed: vec![None; nodes],
        }
    }

    /// The same with all nodes read that hang on nothing but what is supplied now, which is the same in every case.
    pub(crate) fn prepared(mut self, frame: &Frame, supply: &Supply) -> Wanted {
        let effort = Effort {
            splits: false,
            forks: 0,
        };
        let mut walk = Walk::new(&self, frame, supply, effort);
        for id in &self.order {
            let node = self.form.node(*id);
            let known = |id: &Id| walk.known[id.place()].is_some();
            let of_case = match &node.op {
                // the rate is not known yet, and these look at all packages of a case
                Op::Home(_) | Op::Spread(_) | Op::Settle(_) | Op::Mates(..) | Op::Distinct(_) => {
                    true
                }
                Op::Compare(..) | Op::Least(..) | Op::Most(..) => !node.by_line,
                Op::Choose(when, ..) => !self.form.node(*when).by_line,
                _ => false,
            };
            if of_case || !node.op.looks_at().iter().all(known) {
                continue;
            }
            // what cannot be read now is read with each case, and refused there
            walk.known[id.place()] = walk.node(*id).ok();
        }
        self.fixed = walk.known;
        self
    }
}

/// What a form is not made of.
pub(crate) struct Supply {
    pub(crate) figures: Vec<(Input, Value)>,
    /// From the seller's money to the destination's.
    pub(crate) rate: Rate,
}

/// A form on its way through a case.
#[derive(Clone)]
pub(crate) struct Walk<'a> {
    wanted: &'a Wanted,
    pub(super) frame: &'a Frame,
    supply: &'a Supply,
    effort: Effort,
    known: Vec<Option<Known>>,
    held: BTreeMap<Id, bool>,
    settled: BTreeMap<Id, Option<bool>>,
}

/// Reads a form in a case: once, or twice for each comparison that the case does not settle.
pub(crate) fn readings<'a>(
    wanted: &'a Wanted,
    frame: &'a Frame,
    supply: &'a Supply,
    effort: Effort,
) -> Result<Vec<Walk<'a>>, Stop> {
    let mut walk = Walk::new(wanted, frame, supply, effort);
    walk.known.clone_from(&wanted.fixed);
    let mut open = vec![(walk, 0)];
    let mut found = Vec::new();
    while let Some((mut walk, from)) = open.pop() {
        match walk.go(from) {
            Ok(()) => found.push(walk),
            Err(Stop::Fork(at)) => {
                // what comes before the comparison stands
                let from = wanted.order.partition_point(|id| *id < at);
                for holds in [true, false] {
                    let mut own = walk.clone();
                    own.held.insert(at, holds);
                    open.push((own, from));
                }
            }
            Err(stop) => return Err(stop),
        }
    }
    Ok(found)
}

impl<'a> Walk<'a> {
    fn new(wanted: &'a Wanted, frame: &'a Frame, supply: &'a Supply, effort: Effort) -> Walk<'a> {
        Walk {
            wanted,
            frame,
            supply,
            effort,
            known: vec![None; wanted.form.nodes().len()],
            held: BTreeMap::new(),
            settled: BTreeMap::new(),
        }
    }

    fn go(&mut self, from: usize) -> Result<(), Stop> {
        for id in &self.wanted.order[from..] {
            if self.wanted.fixed[id.place()].is_some() {
                continue;
            }
            let mut known = self.node(*id)?;
            if self.wanted.never_below.contains(id) {
                known.value = self.not_below_zero(known.value)?;
            }
            self.known[id.place()] = Some(known);
        }
        Ok(())
    }

    fn not_below_zero(&self, value: Value) -> Result<Value, Unbounded> {
        Ok(match value {
            Value::Each(each) => self.frame.not_below_zero(&each)?.into(),
            Value::One(one) => Between {
                positive: true,
                ..one.as_ref().clone()
            }
            .into(),
            truth => truth,
        })
    }

    /// How each comparison of the parcel came out, but whether two figures are the same: what tells two readings of one case apart.
    pub(crate) fn settled(&self) -> Vec<Option<bool>> {
        self.settled.values().copied().collect()
    }

    fn at(&self, id: Id) -> Result<&Known, Unbounded> {
        let known = self.known.get(id.place()).and_then(Option::as_ref);
        known.ok_or("a node stands before what it is made of")
    }

    pub(super) fn form(&self) -> &Form {
        &self.wanted.form
    }

    pub(crate) fn value(&self, id: Id) -> Result<&Value, Unbounded> {
        Ok(&self.at(id)?.value)
    }

    /// A figure of each line.
    pub(crate) fn each(&self, id: Id) -> Result<Rc<Each>, Unbounded> {
        Ok(Rc::new(match self.value(id)? {
            Value::Each(each) => return Ok(Rc::clone(each)),
            one @ (Value::One(_) | Value::Holds(_)) => self.frame.spread_out(&*one.one()?)?,
            Value::EachHolds(all) => {
                let (least, most) = all.iter().map(|holds| as_figure(*holds)).unzip();
                self.frame.lines_of(least, most)?
            }
        }))
    }

    /// A figure of the parcel.
    pub(crate) fn one(&self, id: Id) -> Result<Rc<Between>, Unbounded> {
        self.value(id)?.one()
    }

    /// For each line whether something holds.
    pub(super) fn each_holds(&self, id: Id) -> Result<Rc<[Option<bool>]>, Unbounded> {
        let lines = self.frame.lines();
        Ok(match self.value(id)? {
            Value::EachHolds(all) => Rc::clone(all),
            Value::Holds(holds) => vec![*holds; lines].into(),
            Value::Each(each) => (0..lines)
                .map(|line| is_some(each.least[line], each.most[line]))
                .collect(),
            Value::One(one) => {
                let (low, high) = self.frame.ends(one)?;
                vec![is_some(low, high); lines].into()
            }
        })
    }

    pub(crate) fn holds(&self, id: Id) -> Result<Option<bool>, Unbounded> {
        match self.value(id)? {
            Value::Holds(holds) => Ok(*holds),
            Value::One(one) => {
                let (low, high) = self.frame.ends(one)?;
                Ok(is_some(low, high))
            }
            Value::Each(_) | Value::EachHolds(_) => Err("a truth of lines stands for the parcel"),
        }
    }

    fn by_line(&self, ids: &[Id]) -> Result<bool, Unbounded> {
        for id in ids {
            if matches!(self.value(*id)?, Value::Each(_) | Value::EachHolds(_)) {
                return Ok(true);
            }
        }
        Ok(false)
    }

    fn node(&mut self, id: Id) -> Result<Known, Stop> {
        let wanted = self.wanted;
        Ok(match &wanted.form.node(id).op {
            Op::Fixed(value) => Value::from(Between::of(*value)?).into(),
            Op::Figure(at) => {
                let value = wanted.form.figure(*at).value;
                Value::from(Between::of(value)?).into()
            }
            Op::Column(values) => {
                let ends = values.iter().map(|own| around(*own));
                let (least, most) = ends.collect::<Result<Vec<_>, _>>()?.into_iter().unzip();
                Value::from(self.frame.lines_of(least, most)?).into()
            }
            Op::Input(input) => self.supplied(*input)?.into(),
            Op::Home(a) => {
                let (times, over) = self.supply.rate.parts();
                self.scaled(*a, Fraction::of(times, over)?)?
            }
            Op::Part(a, times, over) => self.scaled(*a, Fraction::of(*times, *over)?)?,
            Op::Plus(a, b) => self.of_two(*a, *b, Between::plus, Frame::plus)?.into(),
            Op::Minus(a, b) => self.minus(*a, *b)?.into(),
            Op::Times(a, b) => self.times(*a, *b)?,
            Op::Over(a, b) => self.over(*a, *b)?,
            Op::Least(a, b) => self.extreme(*a, *b, false)?,
            Op::Most(a, b) => self.extreme(*a, *b, true)?,
            Op::Round(a, rounding) => self.round(*a, *rounding)?,
            Op::Compare(a, op, b) => self.compare(id, *a, *op, *b)?.into(),
            Op::Both(a, b) => self.truths(*a, *b, both)?.into(),
            Op::Either(a, b) => self.truths(*a, *b, either)?.into(),
            Op::Not(a) => self.truths(*a, *a, |own, _| own.map(|own| !own))?.into(),
            Op::Choose(when, a, b) => self.choose(*when, *a, *b)?,
            Op::Total(a) => self.total(*a)?,
            Op::Mates(keys, a) => Value::from(self.mates(*keys, *a)?).into(),
            Op::Distinct(keys) => Value::from(self.distinct(*keys)?).into(),
            Op::Spread(how) => self.spread(how)?,
            Op::Settle(_) => return Err(Stop::from("the shares of a payment have no bounds")),
        })
    }

    fn supplied(&self, input: Input) -> Result<Value, Unbounded> {
        let known = self.supply.figures.iter().find(|(of, _)| *of == input);
        let known = known.map(|(_, value)| value.clone());
        known.ok_or("a figure is asked for that nobody supplies")
    }

    /// What a figure comes from: itself, if nothing else is known.
    pub(super) fn part_of(&self, id: Id) -> Result<Part, Unbounded> {
        let known = self.at(id)?.part.clone();
        Ok(known.unwrap_or(Part::whole(id)))
    }

    /// What each line's figure comes from. A figure of the whole parcel is no part of any line's: then it comes from itself.
    pub(super) fn part_of_line(&self, id: Id) -> Result<Part, Unbounded> {
        let part = self.part_of(id)?;
        if part.of == id || self.by_line(&[id])? {
            return Ok(part);
        }
        Ok(Part::whole(id))
    }

    /// What a figure comes from, further away.
    fn part_off(&self, id: Id, off: (Nano, Nano)) -> Result<Part, Unbounded> {
        let part = self.part_of(id)?;
        let off = (part.off.0 + off.0, part.off.1 + off.1);
        Ok(Part { off, ..part })
    }

    /// A part times a factor; none where the factor turns its sign round or has too many digits.
    fn part_times(part: Part, factor: &Factor, lines: usize) -> Result<Option<Part>, Unbounded> {
        let mut off = (0, 0);
        for own in (0..lines).map(|line| factor.of(line)) {
            if own.is_negative() {
                return Ok(None);
            }
            let (below, above) = (own.above(part.off.0)?, own.above(part.off.1)?);
            off = (off.0.max(below), off.1.max(above));
        }
        let factor = part.factor.with(factor, Fraction::times).ok();
        Ok(factor.map(|factor| Part {
            factor,
            off,
            ..part
        }))
    }

    fn scaled(&self, a: Id, factor: Fraction) -> Result<Known, Unbounded> {
        let same = Factor::Same(factor);
        let part = Self::part_times(self.part_of(a)?, &same, 1)?;
        let value = if self.by_line(&[a])? {
            self.frame.by(&*self.each(a)?, &same)?.into()
        } else {
            self.one(a)?.scaled(factor)?.into()
        };
        Ok(Known { value, part })
    }

    fn of_two(
        &self,
        a: Id,
        b: Id,
        one: impl Fn(&Between, &Between) -> Result<Between, Unbounded>,
        each: impl Fn(&Frame, &Each, &Each) -> Result<Each, Unbounded>,
    ) -> Result<Value, Unbounded> {
        Ok(if self.by_line(&[a, b])? {
            let (a, b) = (self.each(a)?, self.each(b)?);
            each(self.frame, &a, &b)?.into()
        } else {
            one(&*self.one(a)?, &*self.one(b)?)?.into()
        })
    }

    /// A difference, as its ends say and as what both sides come from says.
    pub(crate) fn minus(&self, a: Id, b: Id) -> Result<Value, Unbounded> {
        if let Op::Minus(of, left) = self.form().node(b).op
            && of == a
        {
            return Ok(self.value(left)?.clone());
        }
        let plain = self.of_two(a, b, Between::minus, Frame::minus)?;
        let (one, other) = if matches!(plain, Value::Each(_)) {
            (self.part_of_line(a)?, self.part_of_line(b)?)
        } else {
            (self.part_of(a)?, self.part_of(b)?)
        };
        if one.of != other.of {
            return Ok(plain);
        }
        let Ok(factor) = one.factor.with(&other.factor, Fraction::minus) else {
            return Ok(plain);
        };
        let off = (one.off.0 + other.off.1, one.off.1 + other.off.0);
        match (plain, &factor) {
            (Value::Each(plain), _) => {
                let left = self.frame.by(&*self.each(one.of)?, &factor);
                let Ok(left) = left.and_then(|left| self.frame.wider(&left, off)) else {
                    return Ok(Value::Each(plain));
                };
                Ok(self.frame.both_ways(&plain, &left)?.into())
            }
            (Value::One(_), Factor::Same(factor)) => {
                let source = match self.value(one.of)? {
                    Value::Each(each) => each.sum.clone(),
                    _ => self.one(one.of)?.as_ref().clone(),
                };
                let positive = source.positive && !factor.is_negative() && off.0 == 0;
                let left = source.scaled(*factor)?.wider(off)?;
                Ok(Between { positive, ..left }.into())
            }
            (plain, _) => Ok(plain),
        }
    }

    /// The factor that a figure is, where it is the same in every package.
    fn factor(
        &self,
        id: Id,
        of: impl Fn(Nano) -> Option<Fraction>,
    ) -> Result<Option<Factor>, Unbounded> {
        Ok(match self.value(id)? {
            Value::One(one) => one.known().and_then(of).map(Factor::Same),
            Value::Each(each) if each.least == each.most => {
                let all = each.least.iter().map(|own| of(*own));
                all.collect::<Option<_>>().map(Factor::Each)
            }
            _ => None,
        })
    }

    fn by_factor(&self, a: Id, factor: &Factor) -> Result<Known, Unbounded> {
        let each = self.each(a)?;
        Ok(Known {
            value: self.frame.by(&each, factor)?.into(),
            part: Self::part_times(self.part_of_line(a)?, factor, self.frame.lines())?,
        })
    }

    fn times(&self, a: Id, b: Id) -> Result<Known, Unbounded> {
        let of = |figure: Nano| (figure >= 0).then(|| Fraction::of_nano(figure));
        for (known, other) in [(a, b), (b, a)] {
            match self.factor(known, of)? {
                Some(Factor::Same(factor)) => return self.scaled(other, factor),
                Some(factor) => return self.by_factor(other, &factor),
                None => {}
            }
        }
        if self.by_line(&[a, b])? {
            let (a, b) = (self.each(a)?, self.each(b)?);
            return Ok(Value::from(self.frame.times(&a, &b)?).into());
        }
        // both hang on the package: the product of what each may be
        let ends = (
            self.frame.ends(&*self.one(a)?)?,
            self.frame.ends(&*self.one(b)?)?,
        );
        let (low, high) = corners(ends.0, ends.1)?;
        Ok(Value::from(Between::ends(low, high)).into())
    }

    fn over(&self, a: Id, b: Id) -> Result<Known, Unbounded> {
        let of = |figure: Nano| Fraction::reduced(ONE, figure).ok();
        match self.factor(b, of)? {
            Some(Factor::Same(factor)) => return self.scaled(a, factor),
            Some(factor) => return self.by_factor(a, &factor),
            None => {}
        }
        let own = self.frame.over(&*self.each(a)?, &*self.each(b)?)?;
        let own = self.of_its_group(a, b, own)?;
        if self.by_line(&[a, b])? {
            return Ok(Value::from(own).into());
        }
        let ends = (own.least.first(), own.most.first());
        let ends = ends
            .0
            .zip(ends.1)
            .map_or((0, 0), |(low, high)| (*low, *high));
        Ok(Value::from(Between::ends(ends.0, ends.1)).into())
    }

    /// A quotient by what all lines of a group come to is at most the factor of each, if none is below zero.
    fn of_its_group(&self, a: Id, b: Id, mut own: Each) -> Result<Each, Unbounded> {
        let part = self.part_of_line(a)?;
        let Value::Each(whole) = self.value(b)? else {
            return Ok(own);
        };
        let Some(group) = whole.group.as_ref().filter(|group| group.source == part.of) else {
            return Ok(own);
        };
        let source = self.each(part.of)?;
        if part.off != (0, 0) || group.off != (0, 0) || source.least.iter().any(|one| *one < 0) {
            return Ok(own);
        }
        for (line, most) in own.most.iter_mut().enumerate() {
            *most = (*most).min(part.factor.of(line).above(ONE)?);
        }
        self.frame.lines_of(
            std::mem::take(&mut own.least),
            std::mem::take(&mut own.most),
        )
    }

    fn round(&self, a: Id, rounding: Rounding) -> Result<Known, Unbounded> {
        let (value, lowest): (Value, Nano) = match self.value(a)? {
            Value::Each(each) => {
                let lowest = each.least.iter().copied().min();
                (
                    self.frame.round(each, rounding)?.into(),
                    lowest.unwrap_or(0),
                )
            }
            _ => {
                let one = self.one(a)?;
                (
                    self.frame.round_one(&one, rounding)?.into(),
                    self.frame.ends(&one)?.0,
                )
            }
        };
        let part = Some(self.part_off(a, off_by(rounding, lowest)?)?);
        Ok(Known { value, part })
    }

    fn total(&self, a: Id) -> Result<Known, Unbounded> {
        let part = self.part_of_line(a)?;
        let exact = part.off == (0, 0) && matches!(part.factor, Factor::Same(_));
        let part = if exact && self.by_line(&[part.of])? {
            part
        } else {
            Part::whole(a)
        };
        Ok(Known {
            value: self.each(a)?.sum.clone().into(),
            part: Some(part).filter(|part| matches!(self.value(part.of), Ok(Value::Each(_)))),
        })
    }

    /// The lesser or the greater of two. Of the parcel, the case is split where they cross.
    fn extreme(&self, a: Id, b: Id, greater: bool) -> Result<Known, Stop> {
        if self.by_line(&[a, b])? {
            let (a, b) = (self.each(a)?, self.each(b)?);
            let own = if greater {
                self.frame.greater(&a, &b)?
            } else {
                self.frame.lesser(&a, &b)?
            };
            return Ok(Value::from(own).into());
        }
        let apart = self.apart(a, b)?;
        let (low, high) = self.frame.ends(&apart)?;
        if low >= 0 || high <= 0 {
            let takes_a = (low >= 0) == greater;
            return Ok(self.at(if takes_a { a } else { b })?.clone());
        }
        self.split(
            &apart,
            Strict {
                above: false,
                below: false,
            },
        )?;
        let (a, b) = (self.one(a)?, self.one(b)?);
        let either = a.either(&b)?;
        let own = if greater {
            Between {
                least: self.frame.higher(a.least.clone(), b.least.clone()),
                positive: a.positive || b.positive,
                ..either
            }
        } else {
            Between {
                most: self.frame.lower(a.most.clone(), b.most.clone()),
                ..either
            }
        };
        Ok(Value::from(own).into())
    }

    /// The difference of two figures of the parcel.
    fn apart(&self, a: Id, b: Id) -> Result<Rc<Between>, Unbounded> {
        self.minus(a, b)?.one()
    }

    /// Asks for a split where a difference may turn its sign, if that is within the case.
    fn split(&self, apart: &Between, strict: Strict) -> Result<(), Stop> {
        if !self.effort.splits {
            return Ok(());
        }
        let turns = self.frame.turns(apart, strict)?;
        if turns.is_empty() {
            Ok(())
        } else {
            Err(Stop::Split(turns))
        }
    }

    fn compare(&mut self, id: Id, a: Id, op: tables::Op, b: Id) -> Result<Value, Stop> {
        if self.by_line(&[a, b])? {
            let Value::Each(apart) = self.minus(a, b)? else {
                return Err(Stop::from("a figure of the parcel stands for lines"));
            };
            let ends = apart.least.iter().zip(&apart.most);
            return Ok(Value::EachHolds(
                ends.map(|(low, high)| stands(*low, op, *high)).collect(),
            ));
        }
        let apart = self.apart(a, b)?;
        let (low, high) = self.frame.ends(&apart)?;
        let mut holds = stands(low, op, high);
        if holds.is_none() {
            if !same(op) || low >= 0 || high <= 0 {
                self.split(&apart, strict(op))?;
            }
            holds = self.held.get(&id).copied();
        }
        if !same(op) {
            self.settled.insert(id, holds);
        }
        Ok(Value::Holds(holds))
    }

    fn truths(
        &self,
        a: Id,
        b: Id,
        work: impl Fn(Option<bool>, Option<bool>) -> Option<bool>,
    ) -> Result<Value, Unbounded> {
        Ok(if self.by_line(&[a, b])? {
            let (a, b) = (self.each_holds(a)?, self.each_holds(b)?);
            Value::EachHolds(a.iter().zip(b.iter()).map(|(a, b)| work(*a, *b)).collect())
        } else {
            Value::Holds(work(self.holds(a)?, self.holds(b)?))
        })
    }

    fn choose(&self, when: Id, a: Id, b: Id) -> Result<Known, Stop> {
        if self.by_line(&[when])? {
            let when = self.each_holds(when)?;
            let chosen = self.frame.choose(&when, &*self.each(a)?, &*self.each(b)?)?;
            return Ok(Known {
                value: chosen.into(),
                part: self.part_of_lines(&when, a, b)?,
            });
        }
        match self.holds(when)? {
            Some(true) => Ok(self.at(a)?.clone()),
            Some(false) => Ok(self.at(b)?.clone()),
            None => {
                let more = self.held.len() < self.effort.forks;
                if let Some(atom) = self.undecided(when).filter(|_| more) {
                    return Err(Stop::Fork(atom));
                }
                Ok(if self.by_line(&[a, b])? {
                    let own = self.frame.either_of(&*self.each(a)?, &*self.each(b)?)?;
                    let sum = self.same_sum(when, a, b)?.unwrap_or(own.sum.clone());
                    Value::from(Each { sum, ..own }).into()
                } else {
                    Value::from(self.one(a)?.either(&*self.one(b)?)?).into()
                })
            }
        }
    }

    /// What lines come from of which some are one figure and the rest another: parts of one source, of which nothing is a part too.
    fn part_of_lines(
        &self,
        when: &[Option<bool>],
        a: Id,
        b: Id,
    ) -> Result<Option<Part>, Unbounded> {
        let nothing = Fraction::of_nano(0);
        let is_zero = |id: Id| {
            let one = match self.value(id)? {
                Value::One(one) => one.known(),
                _ => None,
            };
            Ok::<bool, Unbounded>(one == Some(0))
        };
        if when.iter().any(Option::is_none) {
            return Ok(None);
        }
        let (one, other) = match (is_zero(a)?, is_zero(b)?) {
            (false, true) => (Some(self.part_of_line(a)?), None),
            (true, false) => (None, Some(self.part_of_line(b)?)),
            _ => (Some(self.part_of_line(a)?), Some(self.part_of_line(b)?)),
        };
        let both = one.iter().chain(&other);
        let mut sources = both.clone().map(|part| part.of);
        let Some(of) = sources.next().filter(|of| sources.all(|own| own == *of)) else {
            return Ok(None);
        };
        let off = both.fold((0, 0), |off, part| {
            (off.0.max(part.off.0), off.1.max(part.off.1))
        });
        let factors = when.iter().enumerate().map(|(line, holds)| {
            let part = if *holds == Some(true) { &one } else { &other };
            part.as_ref().map_or(nothing, |part| part.factor.of(line))
        });
        Ok(Some(Part {
            of,
            factor: Factor::Each(factors.collect()),
            off,
        }))
    }

    /// The sum of one of two figures, of which the first is taken where its sum is the whole that the second is shared from: it is
    /// the same either way.
    fn same_sum(&self, when: Id, a: Id, b: Id) -> Result<Option<Between>, Unbounded> {
        let node = |id: Id| &self.form().node(id).op;
        let (Op::Compare(whole, tables::Op::Equal, sum), Op::Spread(how)) = (node(when), node(b))
        else {
            return Ok(None);
        };
        let of_first = matches!(node(*sum), Op::Total(of) if *of == a);
        if !of_first || how.whole != *whole {
            return Ok(None);
        }
        Ok(Some(self.each(b)?.sum.clone()))
    }

    /// A comparison on which a truth hangs and which is not settled. Whether two figures are the same is not asked: both answers
    /// mostly come to the same.
    fn undecided(&self, id: Id) -> Option<Id> {
        let node = self.form().node(id);
        if let Op::Compare(_, op, _) = &node.op {
            let open = matches!(self.value(id), Ok(Value::Holds(None)));
            return Some(id).filter(|_| open && !same(*op));
        }
        let truths = match &node.op {
            Op::Both(..) | Op::Either(..) | Op::Not(_) => node.op.looks_at(),
            Op::Choose(when, ..) => vec![*when],
            _ => Vec::new(),
        };
        truths.into_iter().find_map(|part| self.undecided(part))
    }
}

/// Whether it asks if two figures are the same.
fn same(op: tables::Op) -> bool {
    matches!(op, tables::Op::Equal | tables::Op::Unequal)
}

/// On which side of zero a comparison turns.
fn strict(op: tables::Op) -> Strict {
    let above = !matches!(op, tables::Op::AtLeast | tables::Op::Below);
    let below = !matches!(op, tables::Op::AtMost | tables::Op::Above);
    Strict { above, below }
}

fn as_figure(holds: Option<bool>) -> (Nano, Nano) {
    match holds {
        Some(true) => (ONE, ONE),
        Some(false) => (0, 0),
        None => (0, ONE),
    }
}

/// Whether a figure between two others is other than zero.
fn is_some(least: Nano, most: Nano) -> Option<bool> {
    if least > 0 || most < 0 {
        Some(true)
    } else if least == 0 && most == 0 {
        Some(false)
    } else {
        None
    }
}

/// How a difference between two figures stands to zero, where that is known.
fn stands(least: Nano, op: tables::Op, most: Nano) -> Option<bool> {
    let all = op.holds(&least, &0) && op.holds(&most, &0);
    let none = !op.holds(&least, &0) && !op.holds(&most, &0);
    let through = least <= 0 && most >= 0 && least != most;
    match op {
        tables::Op::Equal | tables::Op::Unequal if through => None,
        _ if all => Some(true),
        _ if none => Some(false),
        _ => None,
    }
}

fn both(a: Option<bool>, b: Option<bool>) -> Option<bool> {
    match (a, b) {
        (Some(false), _) | (_, Some(false)) => Some(false),
        (Some(true), Some(true)) => Some(true),
        _ => None,
    }
}

fn either(a: Option<bool>, b: Option<bool>) -> Option<bool> {
    both(a.map(|a| !a), b.map(|b| !b)).map(|none| !none)
}
