//! The form of a parcel of any number of lines, read in whole numbers: for the many packages that a plan prices.
//!
//! Every figure stands over a denominator that is known beforehand, so sums, products and comparisons are exact. Two steps
//! look at several lines: sums over the lines of one key, and a whole that is shared. A share is the whole number of minor units
//! below the exact part; what is left goes to the largest remainders, and of equal ones to the earlier line. Two remainders are
//! equal where they are alike to fourteen decimals, as in the decimal reading, so the ties are the same.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

use super::build::Maker;
use super::fixed::Whole;
use super::run::Work;
use super::{Charges, Do, NotWhole, Outputs, Reg, Spread, WholeRate};
use crate::rules::form::{Input, lower};
use crate::rules::parcel::{Line, Parcel};
use crate::rules::program::Program;
use crate::units::{Mode, SETTLED};

/// A program for parcels whose lines are of the same kinds as a sample's, whatever their amounts and the exchange rate.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(crate) struct Package {
    steps: Vec<Do>,
    /// For each step where its figures start, and whether there is one for each line.
    starts: Vec<(usize, bool)>,
    columns: Vec<Vec<i64>>,
    outputs: Outputs,
    /// Minor units in one of the destination's money.
    minor: i64,
    lines: usize,
}

/// The figures of one line, in minor units of the seller's money.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct PackageLine {
    /// Price times quantity.
    pub(crate) list: i64,
    /// The same less discounts that lower the price.
    pub(crate) goods: i64,
    /// Its share of the freight.
    pub(crate) freight: i64,
    /// Its share of the insurance.
    pub(crate) insurance: i64,
    /// Pieces.
    pub(crate) pieces: i64,
    /// Packed mass in tenths of grams.
    pub(crate) packed: i64,
    /// What all pieces weigh without packing, in tenths of grams; zero where it is not known.
    pub(crate) bare: i64,
}

impl PackageLine {
    /// The figures of a line whose seller's money has so many decimals; none where one of them is not whole.
    pub(crate) fn of(line: &Line, digits: u32) -> Option<PackageLine> {
        let bare = match line.unit_mass {
            Some(mass) => mass.0.small_units(1)?.checked_mul(line.pieces.into())?,
            None => 0,
        };
        Some(PackageLine {
            list: line.list.amount().small_units(digits)?,
            goods: line.goods.amount().small_units(digits)?,
            freight: line.freight.amount().small_units(digits)?,
            insurance: line.insurance.amount().small_units(digits)?,
            pieces: line.pieces.into(),
            packed: line.packed.0.small_units(1)?,
            bare,
        })
    }

    fn input(&self, input: Input) -> Option<i64> {
        Some(match input {
            Input::List => self.list,
            Input::Goods => self.goods,
            Input::Freight => self.freight,
            Input::Insurance => self.insurance,
            Input::Kilograms => self.packed,
            Input::Grams => self.bare,
            Input::Pieces => self.pieces,
            Input::Sale(_) => return None,
        })
    }
}

/// Room for the running figures, kept from parcel to parcel.
#[derive(Debug, Clone, Default)]
pub(crate) struct Room {
    short: Vec<i64>,
    long: Vec<i128>,
    charges: Vec<Charges>,
}

impl Package {
    /// Makes a program for parcels like this one, whose amounts do not matter; where they cannot be whole numbers, why.
    pub(crate) fn build(program: &Program, sample: &Parcel) -> Result<Package, NotWhole> {
        let (form, marks) = lower(program, sample)?;
        let mut maker = Maker::new(&form, sample.paid_in.digits()).ok_or(NotWhole::TooLong)?;
        let outputs = maker.outputs(program, &marks);
        let outputs = outputs.ok_or_else(|| maker.refused.unwrap_or(NotWhole::TooLong))?;
        let lines = sample.lines.len();
        let minor = 10_i64.checked_pow(program.currency.digits());
        let (minor, starts) = minor
            .zip(starts(&maker.by_line, lines))
            .ok_or(NotWhole::TooLong)?;
        Ok(Package {
            steps: maker.steps,
            starts,
            columns: maker.columns,
            outputs,
            minor,
            lines,
        })
    }

    /// What each line bears; none when a figure does not fit or is not whole, and the decimal program must be asked.
    pub(crate) fn apply<'r>(
        &self,
        lines: &[PackageLine],
        rate: WholeRate,
        room: &'r mut Room,
    ) -> Option<&'r [Charges]> {
        if lines.len() != self.lines {
            return None;
        }
        let Room {
            short,
            long,
            charges,
        } = room;
        let done = self.reckon(lines, rate, short, charges);
        done.or_else(|| self.reckon(lines, rate, long, charges))?;
        Some(charges)
    }

    fn reckon<N: Whole>(
        &self,
        lines: &[PackageLine],
        rate: WholeRate,
        room: &mut Vec<N>,
        charges: &mut Vec<Charges>,
    ) -> Option<()> {
        room.clear();
        let work = Work::new(rate);
        for (step, (_, by_line)) in self.steps.iter().zip(&self.starts) {
            if let Some(figures) = self.together(step, &work, room)? {
                room.extend(figures);
                continue;
            }
            let lines = if *by_line { lines } else { lines.get(..1)? };
            for (at, line) in lines.iter().enumerate() {
                let figure = match step {
                    Do::Column { at: column, home } => self.known(*column, *home, at, &work)?,
                    Do::Over(a, b, up) => {
                        quotient(self.at(room, *a, at)?, self.at(room, *b, at)?, *up)?
                    }
                    _ => work.figure(step, |reg| self.at(room, reg, at), |of| line.input(of))?,
                };
                room.push(figure);
            }
        }
        charges.clear();
        for at in 0..self.lines {
            charges.push(self.charges(at, &work, room)?);
        }
        Some(())
    }

    fn at<N: Whole>(&self, room: &[N], reg: Reg, line: usize) -> Option<N> {
        let (start, by_line) = *self.starts.get(usize::from(reg))?;
        room.get(if by_line { start + line } else { start })
            .copied()
    }

    fn figures<N: Whole>(&self, room: &[N], reg: Reg) -> Option<Vec<N>> {
        (0..self.lines)
            .map(|line| self.at(room, reg, line))
            .collect()
    }

    fn known<N: Whole>(&self, column: u16, home: bool, line: usize, work: &Work<N>) -> Option<N> {
        let figure = *self.columns.get(usize::from(column))?.get(line)?;
        let figure = N::from(figure);
        if home {
            figure.by(work.over)
        } else {
            Some(figure)
        }
    }

    /// Steps that look at all lines at once; an inner none where a step does not.
    #[expect(
        clippy::option_option,
        reason = "a figure that does not fit, and a step of single lines, are two things"
    )]
    fn together<N: Whole>(&self, step: &Do, work: &Work<N>, room: &[N]) -> Option<Option<Vec<N>>> {
        let of = |reg: Reg| self.figures(room, reg);
        Some(match step {
            Do::Total(a) => Some(vec![sum(&of(*a)?)?]),
            Do::Mates(keys, a) => Some(mates(&of(*keys)?, &of(*a)?)?),
            Do::Distinct(keys) => Some(vec![distinct(&of(*keys)?)?]),
            Do::Spread(how) => Some(self.spread(how, work, room)?),
            _ => None,
        })
    }

    fn spread<N: Whole>(&self, how: &Spread, work: &Work<N>, room: &[N]) -> Option<Vec<N>> {
        let of = |reg: Reg| self.figures(room, reg);
        let (wholes, weights, keys) = (of(how.whole.0)?, of(how.weights)?, of(how.keys)?);
        let step = if how.home {
            N::from(how.step).by(work.over)?
        } else {
            N::from(how.step)
        };
        let mut groups: BTreeMap<N, Vec<usize>> = BTreeMap::new();
        for (line, key) in keys
            .iter()
            .enumerate()
            .filter(|(_, key)| **key != N::default())
        {
            groups.entry(*key).or_default().push(line);
        }
        let mut parts = vec![N::default(); self.lines];
        for lines in groups.values() {
            let whole = wholes
                .get(*lines.first()?)?
                .by(N::from(how.whole.1))?
                .long();
            let own: Vec<i128> = lines
                .iter()
                .map(|line| weights.get(*line).map(|weight| weight.long()))
                .collect::<Option<_>>()?;
            let shares = share(whole, own, step.long(), how.digits)?;
            for (line, part) in lines.iter().zip(shares) {
                *parts.get_mut(*line)? = N::of_long(part)?;
            }
        }
        Some(parts)
    }

    /// What one line bears. What is paid must be a whole number of minor units, so that the lines add up to the parcel.
    fn charges<N: Whole>(&self, line: usize, work: &Work<N>, room: &[N]) -> Option<Charges> {
        let paid: Vec<(N, i64)> = self.outputs.money[2..]
            .iter()
            .flatten()
            .map(|(reg, under)| Some((self.at(room, *reg, line)?, *under)))
            .collect::<Option<_>>()?;
        let units = |figure: N, under: i64, mode: Mode| {
            let under = N::from(under).by(work.over)?;
            Some(figure.by(N::from(self.minor))?.over(under, mode))
        };
        for (figure, under) in paid {
            if units(figure, under, Mode::Floor)? != units(figure, under, Mode::Ceiling)? {
                return None;
            }
        }
        self.outputs.close(
            |reg| self.at(room, reg, line),
            |figure, under| units(figure, under, Mode::HalfUp)?.short(),
        )
    }
}

/// Where the figures of each step start, and whether there is one for each line.
fn starts(by_line: &[bool], lines: usize) -> Option<Vec<(usize, bool)>> {
    let mut next = 0_usize;
    let mut starts = Vec::with_capacity(by_line.len());
    for by_line in by_line {
        starts.push((next, *by_line));
        next = next.checked_add(if *by_line { lines } else { 1 })?;
    }
    Some(starts)
}

pub(super) fn sum<N: Whole>(lines: &[N]) -> Option<N> {
    lines
        .iter()
        .try_fold(N::default(), |sum, one| sum.plus(*one))
}

pub(super) fn mates<N: Whole>(keys: &[N], lines: &[N]) -> Option<Vec<N>> {
    let mut sums: BTreeMap<N, N> = BTreeMap::new();
    for (key, one) in keys
        .iter()
        .zip(lines)
        .filter(|(key, _)| **key != N::default())
    {
        let sum = sums.entry(*key).or_default();
        *sum = sum.plus(*one)?;
    }
    Some(
        keys.iter()
            .map(|key| sums.get(key).copied().unwrap_or_default())
            .collect(),
    )
}

pub(super) fn distinct<N: Whole>(keys: &[N]) -> Option<N> {
    let found: BTreeSet<N> = keys
        .iter()
        .copied()
        .filter(|key| *key != N::default())
        .collect();
    Some(N::from(i64::try_from(found.len()).ok()?))
}

/// A quotient times a figure; zero where the divisor is.
pub(super) fn quotient<N: Whole>(a: N, b: N, up: i64) -> Option<N> {
    let (a, b) = (a.long(), b.long());
    if b == 0 {
        return Some(N::default());
    }
    let (a, b) = if b < 0 {
        (a.checked_neg()?, b.checked_neg()?)
    } else {
        (a, b)
    };
    N::of_long(a.checked_mul(up.into())?.over(b, Mode::HalfEven))
}

/// What is left over of a part, below one unit of the parts, to so many decimals as remainders are looked at.
fn remainder(rest: i128, down: i128, digits: u32) -> Option<i128> {
    let mut places = SETTLED.checked_sub(digits)?;
    let (mut rest, mut figure) = (rest, 0);
    // as many decimals at once as fit, which for most parcels is all of them
    while places > 0 {
        let room = (i128::MAX / down.max(1)).checked_ilog10()?.min(places);
        let up = 10_i128.checked_pow(room).filter(|up| *up > 1)?;
        let more = rest.checked_mul(up)?;
        (figure, rest) = (figure * up + more / down, more % down);
        places -= room;
    }
    let up = match (rest << 1).cmp(&down) {
        Ordering::Less => false,
        Ordering::Equal => figure % 2 != 0,
        Ordering::Greater => true,
    };
    Some(figure + i128::from(up))
}

/// Shares a whole over weights in multiples of a step; weights that are all zero share evenly.
pub(super) fn share(whole: i128, weights: Vec<i128>, step: i128, digits: u32) -> Option<Vec<i128>> {
    if weights.len() == 1 {
        return Some(vec![whole]);
    }
    let mut weights = weights;
    let mut sum = weights
        .iter()
        .try_fold(0_i128, |sum, one| sum.checked_add(*one))?;
    if sum == 0 {
        weights.fill(1);
        sum = i128::try_from(weights.len()).ok()?;
    }
    if sum < 0 {
        sum = sum.checked_neg()?;
        for weight in &mut weights {
            *weight = weight.checked_neg()?;
        }
    }
    let shared = weights.iter().fold(sum, |shared, one| {
        super::fixed::common_divisor(shared, *one)
    });
    let down = (sum / shared).checked_mul(step)?;
    let fine = 10_i128.checked_pow(SETTLED.checked_sub(digits)?)?;
    let (mut parts, mut rests) = (Vec::new(), Vec::new());
    let mut left = whole;
    for (at, weight) in weights.iter().enumerate() {
        let exact = whole.checked_mul(weight / shared)?;
        let mut steps = exact.div_euclid(down);
        let mut rest = remainder(exact.rem_euclid(down), down, digits)?;
        if rest == fine {
            (steps, rest) = (steps + 1, 0);
        }
        let part = steps.checked_mul(step)?;
        left = left.checked_sub(part)?;
        parts.push(part);
        rests.push((std::cmp::Reverse(rest), at));
    }
    rests.sort_unstable();
    for (_, at) in &rests {
        if left < step {
            break;
        }
        *parts.get_mut(*at)? += step;
        left -= step;
    }
    *parts.first_mut()? += left;
    Some(parts)
}
