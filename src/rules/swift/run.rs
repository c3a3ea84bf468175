//! Running a [`Swift`] on one line.

use super::fixed::Whole;
use super::{Amounts, Charges, Do, Flag, Mark, Reg, Swift, WholeRate};
use crate::rules::form::{Input, collect_of};
use crate::units::{Dec, Mode};

/// Room for the running figures, kept from line to line.
#[derive(Debug, Clone, Default)]
pub struct Scratch {
    pub(super) short: Vec<i64>,
    pub(super) long: Vec<i128>,
}

impl Swift {
    /// What one line bears; none when a figure does not fit, and the decimal program must be asked.
    pub fn apply(&self, line: &Amounts, rate: WholeRate, scratch: &mut Scratch) -> Option<Charges> {
        if self.asks_mass && !line.mass_known {
            return None;
        }
        let short = self.reckon(line, rate, &mut scratch.short);
        short.or_else(|| self.reckon(line, rate, &mut scratch.long))
    }

    fn reckon<N: Whole>(
        &self,
        line: &Amounts,
        rate: WholeRate,
        room: &mut Vec<N>,
    ) -> Option<Charges> {
        let work = Work::new(line, rate);
        work.all(&self.steps, room)?;
        self.close(work.over, room)
    }

    fn close<N: Whole>(&self, over: N, room: &[N]) -> Option<Charges> {
        let at = |reg: Reg| room.get(usize::from(reg)).copied();
        let flag = |flag: Flag| match flag {
            Flag::Always(value) => Some(value),
            Flag::At(reg) => at(reg)?.short(),
        };
        let nought = N::default();
        for reg in &self.outputs.never_below {
            if at(*reg)? < nought {
                // the engine of bills says what is wrong with it
                return None;
            }
        }
        let mut money = [0_i64; 6];
        for (amount, output) in money.iter_mut().zip(&self.outputs.money) {
            if let Some((reg, under)) = output {
                *amount = in_minor(at(*reg)?, self.minor, N::from(*under).by(over)?)?;
            }
        }
        let sale_tax = match self.outputs.sale_tax {
            // the seller's tax is a whole number of minor units of the seller's money already
            Some((reg, _)) => at(reg)?.short()?,
            None => 0,
        };
        let mut ended = 0_u64;
        for (nth, lines) in (1_u64..).zip(&self.outputs.ended) {
            if flag(*lines)? != 0 {
                ended = ended
                    .wrapping_mul(0x0001_0000_01b3)
                    .wrapping_add(nth)
                    .max(1);
            }
        }
        let [intrinsic_value, customs_value, duty, remedy, tax, fee] = money;
        let collect = Mark(collect_of(Dec::new(flag(self.outputs.collect)?, 0)));
        let gap = flag(self.outputs.gap)? != 0;
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

/// A figure over a denominator in minor units.
#[inline]
pub(super) fn in_minor<N: Whole>(figure: N, minor: i64, under: N) -> Option<i64> {
    if figure == N::default() {
        Some(0)
    } else {
        figure.by(N::from(minor))?.over(under, Mode::HalfUp).short()
    }
}

pub(super) struct Work<'a, N> {
    line: &'a Amounts,
    times: N,
    pub(super) over: N,
}

impl<'a, N: Whole> Work<'a, N> {
    #[inline]
    pub(super) fn new(line: &'a Amounts, rate: WholeRate) -> Work<'a, N> {
        Work {
            line,
            times: N::from(rate.times),
            over: N::from(rate.over),
        }
    }

    /// Runs all steps; none when a figure does not fit.
    #[inline]
    pub(super) fn all(&self, steps: &[Do], room: &mut Vec<N>) -> Option<()> {
        if room.len() < steps.len() {
            room.resize(steps.len(), N::default());
        }
        for (reg, step) in steps.iter().enumerate() {
            let figure = self.figure(step, room)?;
            *room.get_mut(reg)? = figure;
        }
        Some(())
    }

    #[inline]
    fn figure(&self, step: &Do, room: &[N]) -> Option<N> {
        let at = |reg: Reg| room.get(usize::from(reg)).copied();
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
            Do::Input(input) => Some(N::from(self.input(*input))),
            Do::Home(a) => at(*a)?.by(self.times),
            Do::Plus(a, b) => scaled(*a)?.plus(scaled(*b)?),
            Do::Times(a, b) => at(*a)?.by(at(*b)?),
            Do::By(a, times) => at(*a)?.by(N::from(*times)),
            Do::Least(a, b) => Some(scaled(*a)?.min(scaled(*b)?)),
            Do::Most(a, b) => Some(scaled(*a)?.max(scaled(*b)?)),
            Do::Round {
                of,
                up,
                down,
                home,
                mode,
                step,
            } => self.round(at(*of)?, (*up, *down), *home, *mode, *step),
            Do::RoundOver { of, by, mode, step } => {
                let by = scaled(*by)?;
                if by <= N::default() {
                    return Some(N::default());
                }
                scaled(*of)?.over(by, *mode).by(N::from(*step))
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
        }
    }

    #[inline]
    fn round(
        &self,
        figure: N,
        (up, down): (i64, i64),
        home: bool,
        mode: Mode,
        step: i64,
    ) -> Option<N> {
        if figure == N::default() {
            return Some(figure);
        }
        let down = if home {
            N::from(down).by(self.over)?
        } else {
            N::from(down)
        };
        let steps = figure.by(N::from(up))?.over(down, mode).by(N::from(step))?;
        if home {
            steps.by(self.over)
        } else {
            Some(steps)
        }
    }

    #[inline]
    fn input(&self, input: Input) -> i64 {
        match input {
            Input::List => self.line.list,
            Input::Goods => self.line.goods,
            Input::Freight => self.line.freight,
            Input::Insurance => self.line.insurance,
            Input::Kilograms | Input::Grams => self.line.tenths,
            Input::Pieces => self.line.pieces,
            Input::Sale(input) => self.line.sale.of(input, self.line.tenths),
        }
    }
}
