//! The walk over the nodes of a form, with bounds in place of figures.

use std::collections::{BTreeMap, BTreeSet};

use super::frame::{Between, Fraction, Frame, Lin, Nano, ONE, Unbounded, around};
use super::lines::{ENDLESS, Each, Group, count};
use crate::rules::form::lower::mark_of;
use crate::rules::form::{Form, Id, Input, Marks, Op, Spread};
use crate::tables::{self, Collect, Kind};
use crate::units::{Dec, Rate};

/// Why a case is not read to its end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Stop {
    /// There is no bound.
    Unbounded(Unbounded),
    /// It must be split above these goods.
    Split(Vec<Nano>),
    /// It must be read once as if a comparison held, and once as if not.
    Fork(Id),
}

impl From<Unbounded> for Stop {
    fn from(why: Unbounded) -> Stop {
        Stop::Unbounded(why)
    }
}

/// What a parcel is made of: each figure of the lines, in the order of [`Input`].
pub(crate) struct Figures {
    pub(crate) list: Each,
    pub(crate) goods: Each,
    pub(crate) freight: Each,
    pub(crate) insurance: Each,
    pub(crate) kilograms: Each,
    pub(crate) pieces: Each,
    pub(crate) grams: Each,
    /// From the seller's money to the destination's.
    pub(crate) rate: Rate,
}

impl Figures {
    fn of(&self, input: Input) -> Result<&Each, Unbounded> {
        Ok(match input {
            Input::List => &self.list,
            Input::Goods => &self.goods,
            Input::Freight => &self.freight,
            Input::Insurance => &self.insurance,
            Input::Kilograms => &self.kilograms,
            Input::Pieces => &self.pieces,
            Input::Grams => &self.grams,
            Input::Sale(_) => return Err("a figure of the sale stands in the law"),
        })
    }
}

/// Comparisons that are taken to hold or not, and whether more may be asked for.
#[derive(Debug, Clone, Default)]
pub(crate) struct Supposed {
    pub(crate) held: BTreeMap<Id, bool>,
    pub(crate) enough: bool,
}

/// What packages of a case bear.
#[derive(Debug, Clone)]
pub(crate) struct Due {
    /// Duty, remedies, tax at the border and fees, in the destination's money.
    pub(crate) at_door: Between,
    /// Tax at the sale in the seller's money.
    pub(crate) at_sale: Each,
    /// Whether all lines are taxed at the sale, where that is known.
    pub(crate) all_at_sale: Option<bool>,
    /// How each comparison of the parcel came out, but whether two figures are the same: what tells two readings of one case apart.
    pub(crate) settled: Vec<Option<bool>>,
}

/// A figure of a node.
#[derive(Debug, Clone)]
enum Value {
    One(Between),
    Each(Box<Each>),
    Holds(Option<bool>),
    EachHolds(Vec<Option<bool>>),
}

struct Walk<'a> {
    form: &'a Form,
    frame: &'a Frame,
    figures: &'a Figures,
    supposed: &'a Supposed,
    values: BTreeMap<Id, Value>,
    settled: Vec<Option<bool>>,
}

/// Reads what packages of a case bear.
pub(crate) fn read(
    form: &Form,
    marks: &Marks,
    frame: &Frame,
    figures: &Figures,
    supposed: &Supposed,
) -> Result<Due, Stop> {
    let mut walk = Walk {
        form,
        frame,
        figures,
        supposed,
        values: BTreeMap::new(),
        settled: Vec::new(),
    };
    let kinds = [Kind::Duty, Kind::Remedy, Kind::Tax, Kind::Fee];
    let door: Vec<Id> = kinds
        .iter()
        .filter_map(|kind| marks.due.get(kind.name()).copied())
        .collect();
    let mut wanted = BTreeSet::new();
    for id in door.iter().chain([&marks.paid, &marks.collect]) {
        needed(form, *id, &mut wanted);
    }
    for id in wanted {
        let value = walk.value(id)?;
        walk.values.insert(id, value);
    }
    let mut at_door = Between::default();
    for id in door {
        at_door = at_door.plus(&walk.each(id)?.sum)?;
    }
    let (sale, _) = around(mark_of(Collect::AtSale))?;
    let collect = walk.each(marks.collect)?;
    let marks_of = |line: usize| (collect.least[line], collect.most[line]);
    let mut lines = (0..frame.slots.len()).map(marks_of);
    let all_at_sale = if lines.clone().all(|ends| ends == (sale, sale)) {
        Some(true)
    } else if lines.all(|(low, high)| low > sale || high < sale) {
        Some(false)
    } else {
        None
    };
    Ok(Due {
        at_door,
        at_sale: walk.each(marks.paid)?,
        all_at_sale,
        settled: walk.settled,
    })
}

/// A node and all that it is made of.
fn needed(form: &Form, id: Id, found: &mut BTreeSet<Id>) {
    let mut open = vec![id];
    while let Some(id) = open.pop() {
        if found.insert(id) {
            open.extend(form.node(id).op.looks_at());
        }
    }
}

impl Walk<'_> {
    fn at(&self, id: Id) -> Result<&Value, Unbounded> {
        self.values
            .get(&id)
            .ok_or("a node stands before what it is made of")
    }

    /// A figure of each line.
    fn each(&self, id: Id) -> Result<Each, Unbounded> {
        Ok(match self.at(id)? {
            Value::Each(each) => each.as_ref().clone(),
            Value::One(one) => self.frame.spread_out(one)?,
            Value::Holds(holds) => {
                let (low, high) = as_figure(*holds);
                self.frame.spread_out(&Between::ends(low, high))?
            }
            Value::EachHolds(all) => {
                let (least, most) = all.iter().map(|holds| as_figure(*holds)).unzip();
                self.frame.lines_of(least, most)?
            }
        })
    }

    /// A figure of the parcel.
    fn one(&self, id: Id) -> Result<Between, Unbounded> {
        match self.at(id)? {
            Value::One(one) => Ok(one.clone()),
            Value::Holds(holds) => {
                let (low, high) = as_figure(*holds);
                Ok(Between::ends(low, high))
            }
            Value::Each(_) | Value::EachHolds(_) => Err("a figure of lines stands for the parcel"),
        }
    }

    /// For each line whether something holds.
    fn each_holds(&self, id: Id) -> Result<Vec<Option<bool>>, Unbounded> {
        let lines = self.frame.slots.len();
        Ok(match self.at(id)? {
            Value::EachHolds(all) => all.clone(),
            Value::Holds(holds) => vec![*holds; lines],
            Value::Each(each) => (0..lines)
                .map(|line| is_some(each.least[line], each.most[line]))
                .collect(),
            Value::One(one) => {
                let (low, high) = self.frame.ends(one)?;
                vec![is_some(low, high); lines]
            }
        })
    }

    fn holds(&self, id: Id) -> Result<Option<bool>, Unbounded> {
        match self.at(id)? {
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
            if matches!(self.at(*id)?, Value::Each(_) | Value::EachHolds(_)) {
                return Ok(true);
            }
        }
        Ok(false)
    }

    fn value(&mut self, id: Id) -> Result<Value, Stop> {
        let frame = self.frame;
        let form = self.form;
        Ok(match &form.node(id).op {
            Op::Fixed(value) => Value::One(Between::of(*value)?),
            Op::Figure(at) => Value::One(Between::of(form.figure(*at).value)?),
            Op::Column(values) => {
                let ends = values.iter().map(|own| around(*own));
                let (least, most) = ends.collect::<Result<Vec<_>, _>>()?.into_iter().unzip();
                Value::Each(Box::new(frame.lines_of(least, most)?))
            }
            Op::Input(input) => Value::Each(Box::new(self.figures.of(*input)?.clone())),
            Op::Home(a) => {
                let (times, over) = self.figures.rate.parts();
                self.scaled(*a, Fraction::of(times, over)?)?
            }
            Op::Part(a, times, over) => self.scaled(*a, Fraction::of(*times, *over)?)?,
            Op::Plus(a, b) => self.of_two(*a, *b, Between::plus, Frame::plus)?,
            Op::Minus(a, b) => match self.left_of(*a, *b)? {
                Some(left) => left,
                None => self.of_two(*a, *b, Between::minus, Frame::minus)?,
            },
            Op::Times(a, b) => self.times(*a, *b)?,
            Op::Over(a, b) => self.over(*a, *b)?,
            Op::Least(a, b) => self.extreme(*a, *b, false)?,
            Op::Most(a, b) => self.extreme(*a, *b, true)?,
            Op::Round(a, rounding) => match self.at(*a)? {
                Value::Each(each) => Value::Each(Box::new(frame.round(each, *rounding)?)),
                _ => Value::One(frame.round_one(&self.one(*a)?, *rounding)?),
            },
            Op::Compare(a, op, b) => self.compare(id, *a, *op, *b)?,
            Op::Both(a, b) => self.truths(*a, *b, both)?,
            Op::Either(a, b) => self.truths(*a, *b, |a, b| {
                both(a.map(|a| !a), b.map(|b| !b)).map(|none| !none)
            })?,
            Op::Not(a) => {
                if self.by_line(&[*a])? {
                    let all = self.each_holds(*a)?;
                    Value::EachHolds(all.iter().map(|own| own.map(|own| !own)).collect())
                } else {
                    Value::Holds(self.holds(*a)?.map(|own| !own))
                }
            }
            Op::Choose(when, a, b) => self.choose(*when, *a, *b)?,
            Op::Total(a) => Value::One(self.each(*a)?.sum),
            Op::Mates(keys, a) => self.mates(*keys, *a)?,
            Op::Distinct(keys) => self.distinct(*keys)?,
            Op::Spread(how) => self.spread(how)?,
            Op::Settle(_) => return Err(Stop::from("what is paid stands in the law")),
        })
    }

    fn scaled(&self, a: Id, factor: Fraction) -> Result<Value, Unbounded> {
        Ok(match self.at(a)? {
            Value::Each(each) => Value::Each(Box::new(self.frame.scaled(each, factor)?)),
            _ => Value::One(self.one(a)?.scaled(factor)?),
        })
    }

    fn of_two(
        &self,
        a: Id,
        b: Id,
        one: impl Fn(&Between, &Between) -> Result<Between, Unbounded>,
        each: impl Fn(&Frame, &Each, &Each) -> Result<Each, Unbounded>,
    ) -> Result<Value, Unbounded> {
        Ok(if self.by_line(&[a, b])? {
            Value::Each(Box::new(each(self.frame, &self.each(a)?, &self.each(b)?)?))
        } else {
            Value::One(one(&self.one(a)?, &self.one(b)?)?)
        })
    }

    /// What is left of a figure of which a part is taken off: the rest of it, which two bounds of the same figure do not show.
    fn left_of(&self, a: Id, b: Id) -> Result<Option<Value>, Unbounded> {
        if a == b {
            return self.scaled(a, Fraction::of(Dec::ZERO, Dec::ONE)?).map(Some);
        }
        let left = |part: Dec, whole: Dec| whole.minus(part).map_err(|_| "a figure is too large");
        match &self.form.node(b).op {
            Op::Part(of, times, over) if *of == a => {
                let rest = Fraction::of(left(*times, *over)?, *over)?;
                self.scaled(a, rest).map(Some)
            }
            Op::Times(of, share) | Op::Times(share, of) if *of == a => {
                let one = self.frame.spread_out(&Between::ends(ONE, ONE))?;
                let rest = self.frame.minus(&one, &self.each(*share)?)?;
                if !self.by_line(&[a, *share])? {
                    return Ok(None);
                }
                let left = self.frame.times(&self.each(a)?, &rest)?;
                Ok(Some(Value::Each(Box::new(left))))
            }
            _ => Ok(None),
        }
    }

    fn times(&self, a: Id, b: Id) -> Result<Value, Unbounded> {
        if self.by_line(&[a, b])? {
            return Ok(Value::Each(Box::new(
                self.frame.times(&self.each(a)?, &self.each(b)?)?,
            )));
        }
        let (a, b) = (self.one(a)?, self.one(b)?);
        for (known, other) in [(&a, &b), (&b, &a)] {
            if known.least == known.most && known.least.by_line.iter().all(|own| *own == 0) {
                return Ok(Value::One(
                    other.scaled(Fraction::of_nano(known.least.fixed))?,
                ));
            }
        }
        // both hang on the package: the product of what each may be
        let lines = (self.frame.spread_out(&a)?, self.frame.spread_out(&b)?);
        let product = self.frame.times(&lines.0, &lines.1)?;
        let at = |own: &[Nano]| own.first().copied().unwrap_or(0);
        Ok(Value::One(Between::ends(
            at(&product.least),
            at(&product.most),
        )))
    }

    /// A quotient that serves as a weight.
    fn over(&self, a: Id, b: Id) -> Result<Value, Unbounded> {
        let (a, b) = (self.each(a)?, self.each(b)?);
        let (mut least, mut most) = (Vec::new(), Vec::new());
        for line in 0..self.frame.slots.len() {
            let (low, high) = (a.least[line], a.most[line]);
            if low < 0 || b.least[line] < 0 {
                return Err("a quotient of figures below zero");
            }
            let large = "a figure is too large";
            let up = |own: Nano| own.checked_mul(ONE).ok_or(large);
            least.push(match b.most[line] {
                0 => 0,
                under => up(low)?.div_euclid(under),
            });
            most.push(match b.least[line] {
                _ if high == 0 => 0,
                0 => ENDLESS,
                under => -(-up(high)?).div_euclid(under),
            });
        }
        Ok(Value::Each(Box::new(self.frame.lines_of(least, most)?)))
    }

    /// The lesser or the greater of two. Of the parcel, the case is split where they cross.
    fn extreme(&self, a: Id, b: Id, greater: bool) -> Result<Value, Stop> {
        if self.by_line(&[a, b])? {
            let (a, b) = (self.each(a)?, self.each(b)?);
            return Ok(Value::Each(Box::new(if greater {
                self.frame.greater(&a, &b)?
            } else {
                self.frame.lesser(&a, &b)?
            })));
        }
        let (a, b) = (self.one(a)?, self.one(b)?);
        let apart = a.minus(&b)?;
        let (low, high) = self.frame.ends(&apart)?;
        if low >= 0 || high <= 0 {
            let takes_a = (low >= 0) == greater;
            return Ok(Value::One(if takes_a { a } else { b }));
        }
        self.split(&apart)?;
        let either = a.either(&b)?;
        Ok(Value::One(if greater {
            Between {
                least: self.frame.higher(a.least, b.least),
                positive: a.positive || b.positive,
                ..either
            }
        } else {
            Between {
                most: self.frame.lower(a.most, b.most),
                ..either
            }
        }))
    }

    /// Asks for a split where a difference may turn its sign, if that is within the case.
    fn split(&self, apart: &Between) -> Result<(), Stop> {
        let mut turns = self.frame.turns(apart)?;
        turns.extend(self.frame.turns(&Between::default().minus(apart)?)?);
        let (least, most) = self.frame.range;
        turns.retain(|turn| *turn > least && *turn < most);
        turns.sort_unstable();
        turns.dedup();
        if turns.is_empty() || self.supposed.enough {
            Ok(())
        } else {
            Err(Stop::Split(turns))
        }
    }

    fn compare(&mut self, id: Id, a: Id, op: tables::Op, b: Id) -> Result<Value, Stop> {
        if self.by_line(&[a, b])? {
            let (a, b) = (self.each(a)?, self.each(b)?);
            let apart = self.frame.minus(&a, &b)?;
            let ends = apart.least.iter().zip(&apart.most);
            return Ok(Value::EachHolds(
                ends.map(|(low, high)| stands(*low, op, *high)).collect(),
            ));
        }
        let apart = self.one(a)?.minus(&self.one(b)?)?;
        let (low, high) = self.frame.ends(&apart)?;
        let mut holds = stands(low, op, high);
        if holds.is_none() {
            if op != tables::Op::Equal || low >= 0 || high <= 0 {
                self.split(&apart)?;
            }
            holds = self.supposed.held.get(&id).copied();
        }
        if op != tables::Op::Equal {
            self.settled.push(holds);
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
            Value::EachHolds(a.iter().zip(&b).map(|(a, b)| work(*a, *b)).collect())
        } else {
            Value::Holds(work(self.holds(a)?, self.holds(b)?))
        })
    }

    fn choose(&self, when: Id, a: Id, b: Id) -> Result<Value, Stop> {
        if self.by_line(&[when])? {
            let when = self.each_holds(when)?;
            return Ok(Value::Each(Box::new(self.frame.choose(
                &when,
                &self.each(a)?,
                &self.each(b)?,
            )?)));
        }
        match self.holds(when)? {
            Some(true) => Ok(self.at(a)?.clone()),
            Some(false) => Ok(self.at(b)?.clone()),
            None => {
                if let Some(atom) = self.undecided(when).filter(|_| !self.supposed.enough) {
                    return Err(Stop::Fork(atom));
                }
                Ok(if self.by_line(&[a, b])? {
                    Value::Each(Box::new(
                        self.frame.either_of(&self.each(a)?, &self.each(b)?)?,
                    ))
                } else {
                    Value::One(self.one(a)?.either(&self.one(b)?)?)
                })
            }
        }
    }

    /// A comparison on which a truth hangs and which is not settled. Whether two figures are the same is not asked: both answers
    /// mostly come to the same.
    fn undecided(&self, id: Id) -> Option<Id> {
        let node = self.form.node(id);
        if let Op::Compare(_, op, _) = &node.op {
            let open = matches!(self.values.get(&id), Some(Value::Holds(None)));
            return Some(id).filter(|_| open && *op != tables::Op::Equal);
        }
        let truths = match &node.op {
            Op::Both(..) | Op::Either(..) | Op::Not(_) => node.op.looks_at(),
            Op::Choose(when, ..) => vec![*when],
            _ => Vec::new(),
        };
        truths.into_iter().find_map(|part| self.undecided(part))
    }

    /// The sum over the lines of one key.
    fn mates(&self, keys: Id, a: Id) -> Result<Value, Unbounded> {
        let frame = self.frame;
        let (own, known) = (self.each(a)?, self.each(keys)?);
        let in_group = self.each_holds(keys)?;
        let zeros = frame.spread_out(&Between::default())?;
        let counted = frame.choose(&in_group, &own, &zeros)?;
        if counted.least.iter().any(|one| *one < 0) {
            return Err("a sum of a group of lines may be below zero");
        }
        let sure = known.least == known.most;
        let mut most = Vec::new();
        for line in 0..frame.slots.len() {
            let mate = |other: usize| !sure || known.least[other] == known.least[line];
            let masked: Vec<Nano> = (0..frame.slots.len())
                .map(|other| if mate(other) { counted.most[other] } else { 0 })
                .collect();
            most.push(frame.most_of(&frame.sum_of(&masked)?)?);
        }
        let mut each = frame.lines_of(counted.least.clone(), most)?;
        each.group = Some(Group {
            all: counted.sum,
            keys,
            source: a,
            off: (0, 0),
            most: self.most_groups(&known, sure),
        });
        Ok(Value::Each(Box::new(each)))
    }

    /// How many groups there may be at once.
    fn most_groups(&self, keys: &Each, sure: bool) -> usize {
        let most = self.frame.most_lines();
        if !sure {
            return most;
        }
        let all: BTreeSet<Nano> = keys.least.iter().copied().filter(|key| *key != 0).collect();
        all.len().min(most)
    }

    /// How many keys there are: at least one for as many lines of one key as may be there at once.
    fn distinct(&self, keys: Id) -> Result<Value, Unbounded> {
        let frame = self.frame;
        let known = self.each(keys)?;
        let sure = known.least == known.most;
        let in_group = self.each_holds(keys)?;
        let groups = count(self.most_groups(&known, sure))?;
        let lines = frame.slots.len();
        let (mut least, mut most) = (
            Lin {
                fixed: 0,
                by_line: vec![0; lines],
            },
            Lin {
                fixed: 0,
                by_line: vec![0; lines],
            },
        );
        let always: BTreeSet<Nano> = (0..lines)
            .filter(|line| frame.slots[*line].is_none() && sure && known.least[*line] != 0)
            .map(|line| known.least[line])
            .collect();
        least.fixed = count(always.len())? * ONE;
        most.fixed = least.fixed;
        for (line, inside) in in_group.iter().enumerate() {
            let counted = sure && always.contains(&known.least[line]);
            if *inside == Some(false) || counted {
                continue;
            }
            if frame.slots[line].is_none() {
                most.fixed += ONE;
                continue;
            }
            most.by_line[line] = ONE;
            if sure {
                let mates = frame.slots_of(|other| known.least[other] == known.least[line]);
                let mates = i128::try_from(mates.max(1)).unwrap_or(1);
                least.by_line[line] = ONE / mates;
            }
        }
        if in_group.iter().all(|own| *own == Some(true)) {
            let one = Lin::fixed(least.fixed.max(ONE));
            least = frame.higher(least, one);
        }
        most = frame.lower(most, Lin::fixed(groups * ONE));
        Ok(Value::One(Between {
            least,
            most,
            positive: true,
        }))
    }

    /// A whole shared over the lines of a key. All groups together come to the sum of their wholes.
    fn spread(&self, how: &Spread) -> Result<Value, Unbounded> {
        let frame = self.frame;
        let (_, step) = around(Dec::new(1, how.digits))?;
        let in_group = self.each_holds(how.keys)?;
        let everywhere = in_group.iter().all(|own| *own == Some(true));
        let weights = self.each(how.weights)?;
        if let Value::Each(whole) = self.at(how.whole)? {
            let Some(group) = whole.group.as_ref().filter(|own| own.keys == how.keys) else {
                return Err("a whole of other lines than those it is shared over");
            };
            let (least, most) = if group.source == how.weights {
                // what a line comes to, and at most all that its group was rounded by
                let off = (group.off.0 + step, group.off.1 + step);
                let least = weights
                    .least
                    .iter()
                    .map(|own| (own - off.0).max(0))
                    .collect();
                let most = weights.most.iter().map(|own| own + off.1 + step).collect();
                (least, most)
            } else {
                frame.parts(&(whole.least.clone(), whole.most.clone()), &weights, step)?
            };
            let own = frame.lines_of(least, most)?;
            let zeros = frame.spread_out(&Between::default())?;
            let masked = frame.choose(&in_group, &own, &zeros)?;
            return Ok(Value::Each(Box::new(Each {
                sum: group.all.clone(),
                ..masked
            })));
        }
        let whole = self.one(how.whole)?;
        let all = frame.share(&whole, &weights, step)?;
        if everywhere {
            return Ok(Value::Each(Box::new(all)));
        }
        let zeros = frame.spread_out(&Between::default())?;
        let all = frame.choose(&in_group, &all, &zeros)?;
        Ok(Value::Each(Box::new(Each {
            sum: whole.either(&Between::default())?,
            ..all
        })))
    }
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
