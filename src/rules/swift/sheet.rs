//! The nodes of a form of several lines in whole numbers, worked out for those of its lines that a parcel holds.
//!
//! Every figure stands over a denominator that is known beforehand, so sums, products and comparisons are exact. Two steps
//! look at several lines: sums over the lines of one key, and a whole that is shared. A share is the whole number of minor units
//! below the exact part; what is left goes to the largest remainders, and of equal ones to the earlier line. Two remainders are
//! equal where they are alike to fourteen decimals, as in the decimal reading, so the ties are the same.

use std::borrow::Cow;
use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

use super::build::Maker;
use super::fixed::{Whole, common_divisor};
use super::run::Work;
use super::{Do, Reg, Spread};
use crate::rules::form::Input;
use crate::units::{Mode, SETTLED};

/// The steps of a form whose lines need not all be there.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) struct Sheet {
    steps: Vec<Do>,
    starts: Vec<Start>,
    columns: Vec<Vec<i64>>,
}

/// How many figures stand before a step's: those for each line, and those for the whole parcel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
struct Start {
    each: usize,
    whole: usize,
    by_line: bool,
}

impl Sheet {
    /// The steps that a maker has placed.
    pub(super) fn of(maker: Maker<'_>) -> Sheet {
        let (mut each, mut whole) = (0, 0);
        let start = |by_line: &bool| {
            let own = Start {
                each,
                whole,
                by_line: *by_line,
            };
            if *by_line {
                each += 1;
            } else {
                whole += 1;
            }
            own
        };
        Sheet {
            starts: maker.by_line.iter().map(start).collect(),
            steps: maker.steps,
            columns: maker.columns,
        }
    }

    /// Works out all steps for the lines of a parcel, given by their numbers among the form's; none where a figure does not fit.
    pub(super) fn run<N: Whole>(
        &self,
        lines: &[usize],
        input: impl Fn(Input, usize) -> Option<i64>,
        work: &Work<N>,
        room: &mut Vec<N>,
    ) -> Option<()> {
        room.clear();
        for (step, start) in self.steps.iter().zip(&self.starts) {
            let here = Here {
                sheet: self,
                lines,
                room,
            };
            match here.together(step, work) {
                Some(Of::Parcel(figure)) => {
                    room.push(figure?);
                    continue;
                }
                Some(Of::Lines(figures)) => {
                    room.extend(figures?);
                    continue;
                }
                None => {}
            }
            let count = if start.by_line { lines.len() } else { 1 };
            for nth in 0..count {
                let here = Here {
                    sheet: self,
                    lines,
                    room,
                };
                let figure = here.single(step, nth, &input, work)?;
                room.push(figure);
            }
        }
        Some(())
    }

    /// A figure of the nth line of the parcel.
    pub(super) fn at<N: Whole>(&self, room: &[N], reg: Reg, count: usize, nth: usize) -> Option<N> {
        let start = self.starts.get(usize::from(reg))?;
        let first = start.each.checked_mul(count)?.checked_add(start.whole)?;
        let own = if start.by_line {
            first.checked_add(nth)?
        } else {
            first
        };
        room.get(own).copied()
    }
}

/// What a step that looks at all lines comes to; none where a figure does not fit.
enum Of<N> {
    Parcel(Option<N>),
    Lines(Option<Vec<N>>),
}

/// A sheet while it is worked out.
struct Here<'a, N> {
    sheet: &'a Sheet,
    lines: &'a [usize],
    room: &'a [N],
}

impl<N: Whole> Here<'_, N> {
    fn at(&self, reg: Reg, nth: usize) -> Option<N> {
        self.sheet.at(self.room, reg, self.lines.len(), nth)
    }

    /// A figure of every line; one of the whole parcel is the same for each.
    fn all(&self, reg: Reg) -> Option<Cow<'_, [N]>> {
        let (start, count) = (self.sheet.starts.get(usize::from(reg))?, self.lines.len());
        let first = start.each.checked_mul(count)?.checked_add(start.whole)?;
        if start.by_line {
            let own = self.room.get(first..first.checked_add(count)?)?;
            return Some(Cow::Borrowed(own));
        }
        Some(Cow::Owned(vec![*self.room.get(first)?; count]))
    }

    fn single(
        &self,
        step: &Do,
        nth: usize,
        input: &impl Fn(Input, usize) -> Option<i64>,
        work: &Work<N>,
    ) -> Option<N> {
        match step {
            Do::Column { at, home } => {
                let column = self.sheet.columns.get(usize::from(*at))?;
                let figure = N::from(*column.get(*self.lines.get(nth)?)?);
                if *home {
                    figure.by(work.over)
                } else {
                    Some(figure)
                }
            }
            Do::Over(a, b, up) => quotient(self.at(*a, nth)?, self.at(*b, nth)?, *up),
            _ => work.figure(step, |reg| self.at(reg, nth), |of| input(of, nth)),
        }
    }

    /// Steps that look at all lines at once; none where a step does not.
    fn together(&self, step: &Do, work: &Work<N>) -> Option<Of<N>> {
        Some(match step {
            Do::Total(a) => Of::Parcel(self.all(*a).and_then(|all| sum(&all))),
            Do::Mates(keys, a) => {
                let (keys, all) = (self.all(*keys), self.all(*a));
                Of::Lines(keys.zip(all).and_then(|(keys, all)| mates(&keys, &all)))
            }
            Do::Distinct(keys) => Of::Parcel(self.all(*keys).and_then(|keys| distinct(&keys))),
            Do::Spread(how) => Of::Lines(self.spread(how, work)),
            _ => return None,
        })
    }

    fn spread(&self, how: &Spread, work: &Work<N>) -> Option<Vec<N>> {
        let (wholes, weights, keys) = (
            self.all(how.whole.0)?,
            self.all(how.weights)?,
            self.all(how.keys)?,
        );
        let step = if how.home {
            N::from(how.step).by(work.over)?
        } else {
            N::from(how.step)
        };
        let of_group = |own: &[usize]| {
            let whole = wholes.get(*own.first()?)?.by(N::from(how.whole.1))?.long();
            let by = own.iter().map(|nth| Some(weights.get(*nth)?.long()));
            share(whole, by.collect::<Option<_>>()?, step.long(), how.digits)
        };
        let mut parts = vec![N::default(); self.lines.len()];
        for own in groups(&keys) {
            for (nth, part) in own.iter().zip(of_group(&own)?) {
                *parts.get_mut(*nth)? = N::of_long(part)?;
            }
        }
        Some(parts)
    }
}

/// The lines of each key but zero.
fn groups<N: Whole>(keys: &[N]) -> Vec<Vec<usize>> {
    if have_one_key(keys) {
        return vec![(0..keys.len()).collect()];
    }
    let mut groups: BTreeMap<N, Vec<usize>> = BTreeMap::new();
    let used = |(_, key): &(usize, &N)| **key != N::default();
    for (nth, key) in keys.iter().enumerate().filter(used) {
        groups.entry(*key).or_default().push(nth);
    }
    groups.into_values().collect()
}

pub(super) fn sum<N: Whole>(lines: &[N]) -> Option<N> {
    lines
        .iter()
        .try_fold(N::default(), |sum, one| sum.plus(*one))
}

/// Whether all lines have the same key, and it is not zero.
fn have_one_key<N: Whole>(keys: &[N]) -> bool {
    let first = keys.first().filter(|key| **key != N::default());
    first.is_some_and(|first| keys.iter().all(|key| key == first))
}

/// For each line the sum of all lines of its key; zero for a line without a key.
fn mates<N: Whole>(keys: &[N], lines: &[N]) -> Option<Vec<N>> {
    if have_one_key(keys) {
        return Some(vec![sum(lines)?; keys.len()]);
    }
    let mut sums: BTreeMap<N, N> = BTreeMap::new();
    let used = |(key, _): &(&N, &N)| **key != N::default();
    for (key, one) in keys.iter().zip(lines).filter(used) {
        let sum = sums.entry(*key).or_default();
        *sum = sum.plus(*one)?;
    }
    let own = |key: &N| sums.get(key).copied().unwrap_or_default();
    Some(keys.iter().map(own).collect())
}

fn distinct<N: Whole>(keys: &[N]) -> Option<N> {
    let found: BTreeSet<N> = keys
        .iter()
        .copied()
        .filter(|key| *key != N::default())
        .collect();
    Some(N::from(i64::try_from(found.len()).ok()?))
}

/// A quotient times a figure; zero where the divisor is.
fn quotient<N: Whole>(a: N, b: N, up: i64) -> Option<N> {
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

/// What is left over of a part, below one unit of the parts, with as many decimals as are compared of remainders.
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
fn share(whole: i128, weights: Vec<i128>, step: i128, digits: u32) -> Option<Vec<i128>> {
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
    let mut shared = sum;
    for one in &weights {
        if shared == 1 {
            break;
        }
        shared = common_divisor(shared, *one);
    }
    let down = (sum / shared).checked_mul(step)?;
    let fine = 10_i128.checked_pow(SETTLED.checked_sub(digits)?)?;
    let (mut parts, mut rests) = (Vec::new(), Vec::new());
    let mut left = whole;
    for (at, weight) in weights.iter().enumerate() {
        let exact = whole.checked_mul(weight / shared)?;
        let mut steps = exact.div_euclid(down);
        let rest = exact.wrapping_sub(steps.wrapping_mul(down));
        // Two remainders over a small denominator differ by more than the last decimal that is compared, and none comes that
        // near to a whole: in their order they stand for themselves.
        let mut rest = if down < fine {
            rest
        } else {
            remainder(rest, down, digits)?
        };
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
