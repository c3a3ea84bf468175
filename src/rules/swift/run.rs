//! Running a [`IntegerProgram`] on one line.

use super::fixed::Whole;
use super::{Charges, Do, Flag, IntegerProgram, LineInput, Mark, Outputs, Reg, Rounded, WholeRate};
use crate::rules::form::{Input, SaleInput, collect_of};
use crate::units::{Dec, Mode};

/// Room for the running figures, kept from line to line.
#[derive(Debug, Clone, Default)]
pub(crate) struct Scratch {
    pub(super) short: Vec<i64>,
    pub(super) long: Vec<i128>,
}

impl IntegerProgram {
    /// What one line bears; none when a figure does not fit, and the decimal program must be asked.
    pub(crate) fn apply(
        &self,
        line: &LineInput,
        rate: WholeRate,
        scratch: &mut Scratch,
    ) -> Option<Charges> {
        if self.asks_mass && !line.mass_known {
            return None;
        }
        let short = self.calculate(line, rate, &mut scratch.short);
        short.or_else(|| self.calculate(line, rate, &mut scratch.long))
    }

    fn calculate<N: Whole>(
        &self,
        line: &LineInput,
        rate: WholeRate,
        room: &mut Vec<N>,
    ) -> Option<Charges> {
        let work = Work::new(rate);
        work.of_line(&self.steps, line, room)?;
        let at = |reg: Reg| room.get(usize::from(reg)).copied();
        self.outputs.close(at, |figure, under| {
            in_minor(figure, self.minor, N::from(under).by(work.over)?)
        })
    }
}

/// How many inputs stand before the steps of a line of its own.
pub(super) const INPUTS: usize = 14;

/// Where an input stands among them; none for one that a line of its own does not have.
pub(super) fn input_place(input: Input) -> Option<usize> {
    Some(match input {
        Input::List => 0,
        Input::Goods => 1,
        Input::Freight => 2,
        Input::Insurance => 3,
        // a parcel of one line is packed as heavy as what is in it
        Input::Kilograms | Input::Grams | Input::Sale(SaleInput::Packed) => 4,
        Input::Pieces => 5,
        Input::Sale(SaleInput::Price) => 6,
        Input::Sale(SaleInput::Discount) => 7,
        Input::Sale(SaleInput::Carriage) => 8,
        Input::Sale(SaleInput::CarriageGrams) => 9,
        Input::Sale(SaleInput::FreeOver) => 10,
        Input::Sale(SaleInput::Premium | SaleInput::PremiumShare) => 11,
        Input::Sale(SaleInput::Off) => 12,
        Input::Sale(SaleInput::SaleTax) => 13,
        Input::Sale(SaleInput::TaxHeld) => return None,
    })
}

impl LineInput {
    /// The figures of the line in the order of their places.
    #[inline]
    fn inputs(&self) -> [i64; INPUTS] {
        let sale = &self.sale;
        [
            self.list,
            self.goods,
            self.freight,
            self.insurance,
            self.tenths,
            self.pieces,
            sale.price,
            sale.discount,
            sale.carriage,
            sale.carriage_grams,
            sale.free_over,
            sale.premium,
            sale.off,
            sale.sale_tax,
        ]
    }
}

impl Outputs {
    /// What a line bears, given the figures of the steps and how an amount is brought to minor units; none where somebody else
    /// must be asked, who says what is wrong.
    pub(super) fn close<N: Whole>(
        &self,
        at: impl Fn(Reg) -> Option<N>,
        in_minor: impl Fn(N, i64) -> Option<i64>,
    ) -> Option<Charges> {
        let flag = |flag: Flag| match flag {
            Flag::Always(value) => Some(value),
            Flag::At(reg) => at(reg)?.short(),
        };
        let zero = N::default();
        for reg in &self.never_below {
            if at(*reg)? < zero {
                // the engine of bills says what is wrong with it
                return None;
            }
        }
        for reg in &self.never_holds {
            if at(*reg)? != zero {
                return None;
            }
        }
        let mut money = [0_i64; 6];
        for (amount, output) in money.iter_mut().zip(&self.money) {
            if let Some((reg, under)) = output {
                *amount = in_minor(at(*reg)?, *under)?;
            }
        }
        let sale_tax = match self.sale_tax {
            Some((reg, times)) => at(reg)?.by(N::from(times))?.short()?,
            None => 0,
        };
        let ended = set_of(self.ended.iter().map(|lines| flag(*lines)))?;
        let [intrinsic_value, customs_value, duty, remedy, tax, fee] = money;
        let collect = Mark(collect_of(Dec::new(flag(self.collect)?, 0)));
        let gap = flag(self.gap)? != 0;
        Some(Charges {
            intrinsic_value,
            customs_value,
            duty,
            remedy,
            sale_tax,
            tax,
            fee,
            collect,
            gap,
            ended,
        })
    }
}

/// A number for the set of those marks that are set; zero for none.
#[inline]
fn set_of(marks: impl Iterator<Item = Option<i64>>) -> Option<u64> {
    let mut set = 0_u64;
    for (nth, mark) in (1_u64..).zip(marks) {
        if mark? != 0 {
            set = set.wrapping_mul(0x0001_0000_01b3).wrapping_add(nth).max(1);
        }
    }
    Some(set)
}

/// A figure over a denominator in minor units.
#[inline]
pub(super) fn in_minor<N: Whole>(figure: N, minor: i64, under: N) -> Option<i64> {
    if figure == N::default() {
        Some(0)
    } else {
        figure.by(N::from(minor))?.over(under, Mode::HalfUp).short()
    }
}

/// The rate of a day, and what a step does with figures.
pub(super) struct Work<N> {
    pub(super) times: N,
    pub(super) over: N,
}

impl<N: Whole> Work<N> {
    pub(super) fn new(rate: WholeRate) -> Work<N> {
        Work {
            times: N::from(rate.times),
            over: N::from(rate.over),
        }
    }

    /// Runs the steps of a line of its own, its inputs before them; none when a figure does not fit.
    #[inline]
    pub(super) fn of_line(&self, steps: &[Do], line: &LineInput, room: &mut Vec<N>) -> Option<()> {
        let length = INPUTS.checked_add(steps.len())?;
        if room.len() < length {
            room.resize(length, N::default());
        }
        let inputs = line.inputs();
        for (own, figure) in room.iter_mut().zip(inputs) {
            *own = N::from(figure);
        }
        for (reg, step) in (INPUTS..).zip(steps) {
            let at = |reg: Reg| room.get(usize::from(reg)).copied();
            let input = |of| inputs.get(input_place(of)?).copied();
            let figure = self.figure(step, at, input)?;
            *room.get_mut(reg)? = figure;
        }
        Some(())
    }

    /// What a step comes to for one line; none where a figure does not fit, or where the step looks at several lines.
    #[inline]
    pub(super) fn figure(
        &self,
        step: &Do,
        at: impl Fn(Reg) -> Option<N>,
        input: impl Fn(Input) -> Option<i64>,
    ) -> Option<N> {
        let scaled = |(reg, by): (Reg, i64)| {
            if by == 1 {
                at(reg)
            } else {
                at(reg)?.by(N::from(by))
            }
        };
        let truth = |holds: bool| Some(N::from(i64::from(holds)));
        let holds = |reg: Reg| Some(at(reg)? != N::default());
        match step {
            Do::Fixed(value) => Some(N::from(*value)),
            Do::HomeFixed(value) => N::from(*value).by(self.over),
            Do::Input(of) => Some(N::from(input(*of)?)),
            Do::Home(a) => at(*a)?.by(self.times),
            Do::Raise(a) => at(*a)?.by(self.over),
            Do::Plus(a, b) => scaled(*a)?.plus(scaled(*b)?),
            Do::Times(a, b) => at(*a)?.by(at(*b)?),
            Do::By(a, times) => at(*a)?.by(N::from(*times)),
            Do::Least(a, b) => Some(scaled(*a)?.min(scaled(*b)?)),
            Do::Most(a, b) => Some(scaled(*a)?.max(scaled(*b)?)),
            Do::Round(how) => self.round(at(how.of)?, how),
            Do::RoundOver { of, by, mode, step } => {
                quotient_rounded(scaled(*of)?, scaled(*by)?, *mode).by(N::from(*step))
            }
            Do::Compare(a, op, b) => truth(op.holds(&scaled(*a)?, &scaled(*b)?)),
            Do::Both(a, b) => truth(holds(*a)? && holds(*b)?),
            Do::Either(a, b) => truth(holds(*a)? || holds(*b)?),
            Do::Not(a) => truth(!holds(*a)?),
            Do::Choose(when, a, b) => {
                if holds(*when)? {
                    scaled(*a)
                } else {
                    scaled(*b)
                }
            }
            Do::Column { .. }
            | Do::Over(..)
            | Do::Total(_)
            | Do::Mates(..)
            | Do::Distinct(_)
            | Do::Spread(_) => None,
        }
    }

    #[inline]
    fn round(&self, figure: N, how: &Rounded) -> Option<N> {
        if figure == N::default() {
            return Some(figure);
        }
        let down = if how.home {
            N::from(how.down).by(self.over)?
        } else {
            N::from(how.down)
        };
        let steps = figure.by(N::from(how.up))?.over(down, how.mode);
        let steps = steps.by(N::from(how.step))?;
        if how.home {
            steps.by(self.over)
        } else {
            Some(steps)
        }
    }
}

/// A quotient rounded to a whole number; zero where the divisor is not above zero.
#[inline]
fn quotient_rounded<N: Whole>(of: N, by: N, mode: Mode) -> N {
    if by <= N::default() {
        N::default()
    } else {
        of.over(by, mode)
    }
}
