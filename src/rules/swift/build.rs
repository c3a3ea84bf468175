//! From the form of one line to whole numbers: every figure gets a fixed denominator, and what is not looked at is left out.
//!
//! Amounts of the destination's money are kept times the divisor of the day's exchange rate, so that one program serves all
//! rates. Nothing here knows a rule: the form has understood them.

use std::collections::BTreeMap;

use super::fixed::{common_multiple, fraction, reduced};
use super::{Do, Flag, Outputs, Reg, Swift};
use crate::rules::form::{Form, Id, Input, Marks, Measure, Op, StepMarks, lower_with};
use crate::rules::parcel::Parcel;
use crate::rules::program::Program;
use crate::rules::rate::RateTable;
use crate::tables::Kind;
use crate::units::{Dec, Rounding};

impl Swift {
    /// Makes a program with these rates for lines like the sample's one line, whose amounts do not matter; none where they
    /// cannot be whole numbers.
    pub(crate) fn build(
        program: &Program,
        rates: (&RateTable, &RateTable),
        sample: &Parcel,
    ) -> Option<Swift> {
        if sample.lines.len() != 1 || program.schedules().next().is_some() {
            return None;
        }
        let (form, marks) = lower_with(program, rates, sample).ok()?;
        let mut maker = Maker {
            form: &form,
            steps: Vec::new(),
            placed: BTreeMap::new(),
            seller: 10_i64.checked_pow(sample.paid_in.digits())?,
        };
        let outputs = maker.outputs(program, &marks)?;
        let minor = 10_i64.checked_pow(program.currency.digits())?;
        let asks_mass = maker.steps.contains(&Do::Input(Input::Grams));
        Some(Swift {
            steps: maker.steps,
            outputs,
            minor,
            asks_mass,
        })
    }
}

/// A figure that has been placed: where it stands, its denominator, and what it counts.
#[derive(Clone, Copy)]
struct Placed {
    reg: Reg,
    under: i64,
    home: bool,
}

struct Maker<'a> {
    form: &'a Form,
    steps: Vec<Do>,
    placed: BTreeMap<Id, Placed>,
    /// Minor units in one of the seller's money.
    seller: i64,
}

impl Maker<'_> {
    fn outputs(&mut self, program: &Program, marks: &Marks) -> Option<Outputs> {
        let mut money = Vec::new();
        let intrinsic = marks
            .columns
            .get(
                program
                    .names
                    .slot("intrinsic_value")
                    .filter(|slot| marks.written(*slot))
                    .unwrap_or(1),
            )
            .copied()?;
        money.push(self.money(intrinsic)?);
        let customs = program
            .names
            .slot("customs_value")
            .filter(|slot| marks.written(*slot))
            .and_then(|slot| marks.columns.get(slot).copied());
        money.push(match customs {
            Some(customs) => self.money(customs)?,
            None => None,
        });
        for kind in [Kind::Duty, Kind::Remedy, Kind::Tax, Kind::Fee] {
            let due = marks.due.get(kind.name()).copied()?;
            money.push(self.money(due)?);
        }
        let sale_tax = self.money(marks.paid)?;
        let collect = self.flag(marks.collect)?;
        let gap = self.flag(marks.gaps)?;
        let ended = marks
            .ended
            .iter()
            .map(|ended| self.flag(ended.lines))
            .collect::<Option<_>>()?;
        let charges = marks
            .steps
            .iter()
            .filter_map(StepMarks::charge)
            .filter(|charge| charge.kind != Kind::Value);
        let mut never_below = Vec::new();
        for charge in charges {
            never_below.extend(self.money(charge.entered.total)?.map(|(reg, _)| reg));
        }
        never_below.sort_unstable();
        never_below.dedup();
        let money = <[Option<(Reg, i64)>; 6]>::try_from(money).ok()?;
        Some(Outputs {
            money,
            sale_tax,
            collect,
            gap,
            ended,
            never_below,
        })
    }

    /// Where an amount stands, and its denominator; an inner none is zero.
    #[expect(
        clippy::option_option,
        reason = "not to be placed, and nought, are two wants"
    )]
    fn money(&mut self, id: Id) -> Option<Option<(Reg, i64)>> {
        if self.is_nought(id) {
            return Some(None);
        }
        let placed = self.place(id)?;
        Some(Some((placed.reg, placed.under)))
    }

    fn flag(&mut self, id: Id) -> Option<Flag> {
        match &self.form.node(id).op {
            Op::Fixed(value) => Some(Flag::Always(i64::try_from(value.in_units(0)?).ok()?)),
            _ => Some(Flag::At(self.place(id)?.reg)),
        }
    }

    fn is_nought(&self, id: Id) -> bool {
        self.form.node(id).op == Op::Fixed(Dec::ZERO)
    }

    /// Places a node behind all that it is made of.
    fn place(&mut self, id: Id) -> Option<Placed> {
        if let Some(placed) = self.placed.get(&id) {
            return Some(*placed);
        }
        let form = self.form;
        let home = form.node(id).measure == Measure::Home;
        let (step, under) = self.step(&form.node(id).op, home)?;
        let reg = Reg::try_from(self.steps.len()).ok()?;
        self.steps.push(step);
        let placed = Placed { reg, under, home };
        self.placed.insert(id, placed);
        Some(placed)
    }

    /// What to do for a node, and the denominator of what comes of it.
    fn step(&mut self, op: &Op, home: bool) -> Option<(Do, i64)> {
        Some(match op {
            Op::Fixed(value) => {
                let (over, under) = whole(*value)?;
                (
                    if home {
                        Do::HomeFixed(over)
                    } else {
                        Do::Fixed(over)
                    },
                    under,
                )
            }
            Op::Figure(at) => return self.step(&Op::Fixed(self.form.figure(*at).value), home),
            Op::Input(input) => (Do::Input(*input), self.under(*input)),
            Op::Home(a) => {
                let a = self.place(*a)?;
                (Do::Home(a.reg), a.under)
            }
            Op::Plus(a, b) => self.aligned(*a, *b, Do::Plus)?,
            Op::Minus(a, b) => self.aligned(*a, *b, |a, b| Do::Plus(a, (b.0, -b.1)))?,
            Op::Times(a, b) => {
                let (a, b) = (self.place(*a)?, self.place(*b)?);
                (Do::Times(a.reg, b.reg), a.under.checked_mul(b.under)?)
            }
            Op::Part(a, times, over) => self.part(*a, *times, *over)?,
            Op::Least(a, b) => self.aligned(*a, *b, Do::Least)?,
            Op::Most(a, b) => self.aligned(*a, *b, Do::Most)?,
            Op::Round(a, rounding) => self.round(*a, *rounding)?,
            Op::Compare(a, op, b) => {
                let op = *op;
                (self.aligned(*a, *b, |a, b| Do::Compare(a, op, b))?.0, 1)
            }
            Op::Both(a, b) => (Do::Both(self.place(*a)?.reg, self.place(*b)?.reg), 1),
            Op::Either(a, b) => (Do::Either(self.place(*a)?.reg, self.place(*b)?.reg), 1),
            Op::Not(a) => (Do::Not(self.place(*a)?.reg), 1),
            Op::Choose(when, a, b) => {
                let when = self.place(*when)?.reg;
                self.aligned(*a, *b, |a, b| Do::Choose(when, a, b))?
            }
            // what looks at several lines, and a quotient, have no place in the form of one line
            Op::Column(_)
            | Op::Over(..)
            | Op::Total(_)
            | Op::Mates(..)
            | Op::Distinct(_)
            | Op::Spread(_) => return None,
        })
    }

    fn under(&self, input: Input) -> i64 {
        match input {
            Input::List | Input::Goods | Input::Freight | Input::Insurance => self.seller,
            Input::Kilograms => 10_000,
            Input::Grams => 10,
            Input::Pieces => 1,
        }
    }

    /// Two figures, each with what brings it to one denominator.
    fn aligned(
        &mut self,
        a: Id,
        b: Id,
        step: impl Fn((Reg, i64), (Reg, i64)) -> Do,
    ) -> Option<(Do, i64)> {
        let (a, b) = (self.place(a)?, self.place(b)?);
        let under = i64::try_from(common_multiple(a.under.into(), b.under.into())?).ok()?;
        Some((
            step((a.reg, under / a.under), (b.reg, under / b.under)),
            under,
        ))
    }

    fn part(&mut self, a: Id, times: Dec, over: Dec) -> Option<(Do, i64)> {
        let a = self.place(a)?;
        let ((t, t_under), (o, o_under)) = (fraction(times)?, fraction(over)?);
        let (times, over) = reduced(t.checked_mul(o_under)?, t_under.checked_mul(o)?);
        let under = a.under.checked_mul(i64::try_from(over).ok()?)?;
        Some((Do::By(a.reg, i64::try_from(times).ok()?), under))
    }

    /// A rounded figure is a whole number of steps.
    fn round(&mut self, a: Id, rounding: Rounding) -> Option<(Do, i64)> {
        let a = self.place(a)?;
        let (step, step_under) = whole(rounding.step)?;
        let (up, down) = reduced(
            step_under.into(),
            i128::from(a.under).checked_mul(step.into())?,
        );
        let (up, down) = (i64::try_from(up).ok()?, i64::try_from(down).ok()?);
        let step = Do::Round {
            of: a.reg,
            up,
            down,
            home: a.home,
            mode: rounding.mode,
            step,
        };
        Some((step, step_under))
    }
}

/// A figure as a fraction of short numbers.
fn whole(value: Dec) -> Option<(i64, i64)> {
    let (over, under) = fraction(value)?;
    let (over, under) = reduced(over, under);
    Some((i64::try_from(over).ok()?, i64::try_from(under).ok()?))
}
