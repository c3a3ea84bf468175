//! From the form of one line to whole numbers: every figure gets a fixed denominator, and what is not looked at is left out.
//!
//! Amounts of the destination's money are kept times the divisor of the day's exchange rate, so that one program serves all
//! rates. Nothing here knows a rule: the form has understood them.

use std::collections::BTreeMap;
use std::ops::RangeInclusive;

use super::fixed::{common_multiple, reduced, short_fraction};
use super::run::{INPUTS, input_place};
use super::{Do, Flag, IntegerProgram, NotWhole, Outputs, Reg, Rounded, Spread};
use crate::rules::form::{
    Form, Id, Input, Marks, Measure, Op, SaleInput, Spread as Share, StepMarks, lower_with,
};
use crate::rules::parcel::Parcel;
use crate::rules::program::Program;
use crate::rules::rate::RateTable;
use crate::tables::Kind;
use crate::units::{Dec, Rounding};

impl IntegerProgram {
    /// Makes a program with these rates for lines like the sample's one line, whose amounts do not matter; none where they
    /// cannot be whole numbers.
    pub(crate) fn build(
        program: &Program,
        rates: (&RateTable, &RateTable),
        sample: &Parcel,
    ) -> Option<IntegerProgram> {
        if sample.lines.len() != 1 || program.schedules().next().is_some() {
            return None;
        }
        let (form, marks) = lower_with(program, rates, sample).ok()?;
        let mut maker = Maker::behind_inputs(&form, sample.paid_in.digits())?;
        let outputs = maker.outputs(program, &marks)?;
        let minor = 10_i64.checked_pow(program.currency.digits())?;
        let asks_mass = maker.asks(Input::Grams);
        Some(IntegerProgram {
            steps: maker.steps,
            outputs,
            minor,
            asks_mass,
        })
    }
}

/// Decimals that are kept of a quotient, at least and at most: it only serves as a weight, and parts are settled at fewer.
const QUOTIENT: RangeInclusive<u32> = 12..=18;

/// A figure that has been placed: where it stands, its denominator, and what it counts.
#[derive(Clone, Copy)]
struct Placed {
    reg: Reg,
    under: i64,
    home: bool,
}

/// A list of whole-number steps in the making.
pub(super) struct Maker<'a> {
    form: &'a Form,
    pub(super) steps: Vec<Do>,
    /// For each step, whether it has a figure for each line.
    pub(super) by_line: Vec<bool>,
    /// Figures of each line that are known.
    pub(super) columns: Vec<Vec<i64>>,
    placed: BTreeMap<Id, Placed>,
    /// Minor units in one of the seller's money.
    seller: i64,
    /// How many figures stand before those of the steps.
    before: usize,
    /// Why the first node that could not be placed could not.
    pub(super) refused: Option<NotWhole>,
}

impl<'a> Maker<'a> {
    /// A list without steps, for a seller's money with this many decimals.
    pub(super) fn new(form: &'a Form, digits: u32) -> Option<Maker<'a>> {
        Some(Maker {
            form,
            steps: Vec::new(),
            by_line: Vec::new(),
            columns: Vec::new(),
            placed: BTreeMap::new(),
            seller: 10_i64.checked_pow(digits)?,
            before: 0,
            refused: None,
        })
    }

    /// The same for a line of its own, whose inputs stand before all steps, so that none is needed to fetch them.
    pub(super) fn behind_inputs(form: &'a Form, digits: u32) -> Option<Maker<'a>> {
        let maker = Maker::new(form, digits)?;
        Some(Maker {
            before: INPUTS,
            ..maker
        })
    }

    /// Whether something that was placed looks at an input.
    fn asks(&self, input: Input) -> bool {
        let mut placed = self.placed.keys();
        placed.any(|id| self.form.node(*id).op == Op::Input(input))
    }

    /// Places all answers behind what they are made of.
    pub(super) fn outputs(&mut self, program: &Program, marks: &Marks) -> Option<Outputs> {
        const GOODS: usize = 1;
        let named = |name: &str| program.names.slot(name).filter(|slot| marks.written(*slot));
        let intrinsic = *marks
            .columns
            .get(named("intrinsic_value").unwrap_or(GOODS))?;
        let customs = named("customs_value").and_then(|slot| marks.columns.get(slot).copied());
        let mut money = vec![self.money(intrinsic)?];
        money.push(match customs {
            Some(customs) => self.money(customs)?,
            None => None,
        });
        for kind in [Kind::Duty, Kind::Remedy, Kind::Tax, Kind::Fee] {
            let due = marks.due.get(kind.name()).copied()?;
            money.push(self.money(due)?);
        }
        let sale_tax = match self.money(marks.paid)? {
            // the seller's tax is a whole number of minor units of the seller's money
            Some((reg, under)) if self.seller % under == 0 => Some((reg, self.seller / under)),
            Some(_) => return None,
            None => None,
        };
        let collect = self.flag(marks.collect)?;
        let gap = self.flag(marks.gaps)?;
        let ended = marks
            .ended
            .iter()
            .map(|ended| self.flag(ended.lines))
            .collect::<Option<_>>()?;
        let never_below = self.never_below(marks)?;
        let never_holds = self.clashes(marks)?;
        let money = <[Option<(Reg, i64)>; 6]>::try_from(money).ok()?;
        Some(Outputs {
            money,
            sale_tax,
            collect,
            gap,
            ended,
            never_below,
            never_holds,
        })
    }

    /// The amounts of charges, none of which may be less than nothing.
    fn never_below(&mut self, marks: &Marks) -> Option<Vec<Reg>> {
        let charges = marks
            .steps
            .iter()
            .filter_map(StepMarks::charge)
            .filter(|charge| charge.kind != Kind::Value);
        let mut never_below = Vec::new();
        for charge in charges {
            never_below.extend(self.money(charge.entered.total)?.map(|(reg, _)| reg));
            if charge.singly {
                never_below.extend(self.money(charge.entered.shares)?.map(|(reg, _)| reg));
            }
        }
        never_below.sort_unstable();
        never_below.dedup();
        Some(never_below)
    }

    fn clashes(&mut self, marks: &Marks) -> Option<Vec<Reg>> {
        let charges = marks.steps.iter().filter_map(StepMarks::charge);
        let clashes = charges.flat_map(|charge| &charge.clashes);
        clashes
            .map(|(_, both)| Some(self.place(*both)?.reg))
            .collect()
    }

    /// Where an amount stands, and its denominator; an inner none is zero.
    #[expect(
        clippy::option_option,
        reason = "an amount that cannot be placed is one case, an amount of zero is another"
    )]
    pub(super) fn money(&mut self, id: Id) -> Option<Option<(Reg, i64)>> {
        if self.is_zero(id) {
            return Some(None);
        }
        let placed = self.place(id)?;
        Some(Some((placed.reg, placed.under)))
    }

    pub(super) fn flag(&mut self, id: Id) -> Option<Flag> {
        match &self.form.node(id).op {
            Op::Fixed(value) => Some(Flag::Always(i64::try_from(value.in_units(0)?).ok()?)),
            _ => Some(Flag::At(self.place(id)?.reg)),
        }
    }

    pub(super) fn is_zero(&self, id: Id) -> bool {
        self.form.node(id).op == Op::Fixed(Dec::ZERO)
    }

    /// Places a node behind all that it is made of.
    fn place(&mut self, id: Id) -> Option<Placed> {
        if let Some(placed) = self.placed.get(&id) {
            return Some(*placed);
        }
        let node = self.form.node(id);
        let home = node.measure == Measure::Home;
        let placed = match node.op {
            Op::Input(input) if self.before > 0 => input_place(input)
                .and_then(|place| Reg::try_from(place).ok())
                .map(|reg| Placed {
                    reg,
                    under: self.under(input),
                    home: false,
                }),
            Op::Part(a, times, over) => self.part((id, a), times, over),
            _ => self.step(&node.op, home).and_then(|(step, under, home)| {
                let reg = self.push(step, node.by_line)?;
                Some(Placed { reg, under, home })
            }),
        };
        match placed {
            Some(placed) => self.placed.insert(id, placed),
            None => {
                // what it is made of was placed before, so the first refusal is the cause of all
                self.refused.get_or_insert_with(|| why(&node.op));
                return None;
            }
        };
        placed
    }

    fn push(&mut self, step: Do, by_line: bool) -> Option<Reg> {
        let reg = Reg::try_from(self.before.checked_add(self.steps.len())?).ok()?;
        self.steps.push(step);
        self.by_line.push(by_line);
        Some(reg)
    }

    /// What to do for a node, the denominator of what comes of it, and whether that is kept as the destination's money is.
    fn step(&mut self, op: &Op, home: bool) -> Option<(Do, i64, bool)> {
        let (step, under) = match op {
            Op::Plus(..)
            | Op::Minus(..)
            | Op::Least(..)
            | Op::Most(..)
            | Op::Choose(..)
            | Op::Compare(..) => return self.of_two(op),
            Op::Times(a, b) => {
                let (a, b) = (self.place(*a)?, self.place(*b)?);
                let under = a.under.checked_mul(b.under)?;
                let both = a.home && b.home;
                return (!both).then_some((Do::Times(a.reg, b.reg), under, a.home || b.home));
            }
            Op::Over(a, b) => return self.over(*a, *b),
            Op::Column(values) => self.column(values, home)?,
            Op::Total(a) => {
                let a = self.place(*a)?;
                return Some((Do::Total(a.reg), a.under, a.home));
            }
            Op::Mates(keys, a) => {
                let (keys, a) = (self.place(*keys)?, self.place(*a)?);
                return Some((Do::Mates(keys.reg, a.reg), a.under, a.home));
            }
            Op::Distinct(keys) => (Do::Distinct(self.place(*keys)?.reg), 1),
            Op::Spread(how) => return self.spread(how),
            Op::Fixed(value) => fixed(*value, home)?,
            Op::Figure(at) => return self.step(&Op::Fixed(self.form.figure(*at).value), home),
            Op::Input(input) => (Do::Input(*input), self.under(*input)),
            Op::Home(a) => {
                let a = self.place(*a)?;
                (Do::Home(a.reg), a.under)
            }
            Op::Round(a, rounding) => self.round(*a, *rounding)?,
            Op::Both(a, b) => (Do::Both(self.place(*a)?.reg, self.place(*b)?.reg), 1),
            Op::Either(a, b) => (Do::Either(self.place(*a)?.reg, self.place(*b)?.reg), 1),
            Op::Not(a) => (Do::Not(self.place(*a)?.reg), 1),
            // `place` has its own way with a part, which may need no step; parts of a rounded whole are settled by who asks for
            // them, and looked at by nobody else
            Op::Part(..) | Op::Settle(_) => return None,
        };
        Some((step, under, home))
    }

    /// Steps that bring two figures to one denominator.
    fn of_two(&mut self, op: &Op) -> Option<(Do, i64, bool)> {
        match op {
            Op::Plus(a, b) => self.aligned(*a, *b, Do::Plus),
            Op::Minus(a, b) => self.aligned(*a, *b, |a, b| Do::Plus(a, (b.0, -b.1))),
            Op::Least(a, b) => self.aligned(*a, *b, Do::Least),
            Op::Most(a, b) => self.aligned(*a, *b, Do::Most),
            Op::Choose(when, a, b) => {
                let when = self.place(*when)?.reg;
                self.aligned(*a, *b, |a, b| Do::Choose(when, a, b))
            }
            Op::Compare(a, op, b) => {
                let (step, ..) = self.aligned(*a, *b, |a, b| Do::Compare(a, *op, b))?;
                Some((step, 1, false))
            }
            _ => None,
        }
    }

    fn under(&self, input: Input) -> i64 {
        match input {
            Input::List | Input::Goods | Input::Freight | Input::Insurance => self.seller,
            Input::Kilograms => 10_000,
            Input::Grams => 10,
            Input::Pieces => 1,
            Input::Sale(input) => under(input, self.seller),
        }
    }

    /// Two figures, each with what brings it to one denominator. Where money of the destination meets a plain figure, which
    /// happens in weights alone, the plain one is first kept as money is; a zero needs no change.
    fn aligned(
        &mut self,
        a: Id,
        b: Id,
        step: impl Fn((Reg, i64), (Reg, i64)) -> Do,
    ) -> Option<(Do, i64, bool)> {
        let (zero_a, zero_b) = (self.is_zero(a), self.is_zero(b));
        let by_line = (self.form.node(a).by_line, self.form.node(b).by_line);
        let (mut a, mut b) = (self.place(a)?, self.place(b)?);
        if a.home && !b.home && !zero_b {
            b.reg = self.push(Do::Raise(b.reg), by_line.1)?;
        }
        if b.home && !a.home && !zero_a {
            a.reg = self.push(Do::Raise(a.reg), by_line.0)?;
        }
        let under = i64::try_from(common_multiple(a.under.into(), b.under.into())?).ok()?;
        Some((
            step((a.reg, under / a.under), (b.reg, under / b.under)),
            under,
            a.home || b.home,
        ))
    }

    /// A quotient is kept to enough decimals that parts shared by it are those that are shared by the quotient itself: to as
    /// many as fit beside those of the denominators.
    fn over(&mut self, a: Id, b: Id) -> Option<(Do, i64, bool)> {
        let (a, b) = (self.place(a)?, self.place(b)?);
        let home = a.home && !b.home;
        let kept = |decimals| {
            let fine = 10_i128.checked_pow(decimals)?;
            let (up, down) = reduced(fine.checked_mul(b.under.into())?, a.under.into());
            let under = i64::try_from(fine.checked_mul(down)?).ok()?;
            Some((Do::Over(a.reg, b.reg, i64::try_from(up).ok()?), under, home))
        };
        let mut decimals = QUOTIENT.rev().filter(|_| a.home || !b.home);
        decimals.find_map(kept)
    }

    /// Known figures of the lines, over one denominator.
    fn column(&mut self, values: &[Dec], home: bool) -> Option<(Do, i64)> {
        let mut under = 1_i128;
        let fractions: Vec<(i64, i64)> = (values.iter())
            .map(|value| short_fraction(*value))
            .collect::<Option<_>>()?;
        for (_, own) in &fractions {
            under = common_multiple(under, (*own).into())?;
        }
        let of = |(over, own): &(i64, i64)| {
            i64::try_from(i128::from(*over).checked_mul(under / i128::from(*own))?).ok()
        };
        let figures = fractions.iter().map(of).collect::<Option<Vec<i64>>>()?;
        let at = u16::try_from(self.columns.len()).ok()?;
        self.columns.push(figures);
        Some((Do::Column { at, home }, i64::try_from(under).ok()?))
    }

    /// Parts are multiples of a step, but for what a whole that is none leaves over.
    fn spread(&mut self, how: &Share) -> Option<(Do, i64, bool)> {
        let (whole, weights, keys) = (
            self.place(how.whole)?,
            self.place(how.weights)?,
            self.place(how.keys)?,
        );
        let units = 10_i128.checked_pow(how.digits)?;
        let under = i64::try_from(common_multiple(whole.under.into(), units)?).ok()?;
        let spread = Spread {
            whole: (whole.reg, under / whole.under),
            weights: weights.reg,
            keys: keys.reg,
            step: under / i64::try_from(units).ok()?,
            digits: how.digits,
            home: whole.home,
        };
        Some((Do::Spread(spread), under, whole.home))
    }

    /// A part is another denominator, and a step where it is not one over something.
    fn part(&mut self, (id, a): (Id, Id), times: Dec, over: Dec) -> Option<Placed> {
        let a = self.place(a)?;
        let ((t, t_under), (o, o_under)) = (short_fraction(times)?, short_fraction(over)?);
        let (times, over) = reduced(
            i128::from(t).checked_mul(o_under.into())?,
            i128::from(t_under).checked_mul(o.into())?,
        );
        let under = a.under.checked_mul(i64::try_from(over).ok()?)?;
        let reg = match i64::try_from(times).ok()? {
            1 => a.reg,
            times => self.push(Do::By(a.reg, times), self.form.node(id).by_line)?,
        };
        Some(Placed { reg, under, ..a })
    }

    /// A rounded figure is a whole number of steps.
    fn round(&mut self, a: Id, rounding: Rounding) -> Option<(Do, i64)> {
        if let Op::Over(over, by) = self.form.node(a).op {
            return self.round_quotient(over, by, rounding);
        }
        let a = self.place(a)?;
        let (step, step_under) = short_fraction(rounding.step)?;
        let (up, down) = reduced(
            step_under.into(),
            i128::from(a.under).checked_mul(step.into())?,
        );
        let (up, down) = (i64::try_from(up).ok()?, i64::try_from(down).ok()?);
        let step = Do::Round(Rounded {
            of: a.reg,
            up,
            down,
            home: a.home,
            mode: rounding.mode,
            step,
        });
        Some((step, step_under))
    }

    /// A quotient that is rounded at once is a whole number of steps too.
    fn round_quotient(&mut self, over: Id, by: Id, rounding: Rounding) -> Option<(Do, i64)> {
        let (over, by) = (self.place(over)?, self.place(by)?);
        let (step, step_under) = short_fraction(rounding.step)?;
        let (up, down) = reduced(
            i128::from(by.under).checked_mul(step_under.into())?,
            i128::from(over.under).checked_mul(step.into())?,
        );
        if over.home || by.home {
            return None;
        }
        let step = Do::RoundOver {
            of: (over.reg, i64::try_from(up).ok()?),
            by: (by.reg, i64::try_from(down).ok()?),
            mode: rounding.mode,
            step,
        };
        Some((step, step_under))
    }
}

/// A number or an amount, and its denominator.
fn fixed(value: Dec, home: bool) -> Option<(Do, i64)> {
    let (over, under) = short_fraction(value)?;
    let step = if home {
        Do::HomeFixed(over)
    } else {
        Do::Fixed(over)
    };
    Some((step, under))
}

/// What keeps a node from being whole, where those it is made of are.
fn why(op: &Op) -> NotWhole {
    match op {
        Op::Fixed(_) | Op::Figure(_) | Op::Column(_) => NotWhole::Figure,
        Op::Part(..) => NotWhole::Part,
        Op::Times(..) => NotWhole::OfMoney,
        _ => NotWhole::TooLong,
    }
}

/// The denominator of a figure of the seller's side.
fn under(input: SaleInput, seller: i64) -> i64 {
    match input {
        SaleInput::Discount | SaleInput::PremiumShare => 10_000,
        SaleInput::Packed | SaleInput::CarriageGrams => 10,
        SaleInput::Price
        | SaleInput::Carriage
        | SaleInput::FreeOver
        | SaleInput::Premium
        | SaleInput::Off
        | SaleInput::SaleTax
        | SaleInput::TaxHeld => seller,
    }
}
