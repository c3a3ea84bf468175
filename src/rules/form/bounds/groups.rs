//! Lines that have something in common: their sum, how many such groups there are, and a whole shared over them.

use std::collections::{BTreeMap, BTreeSet};

use super::lin::{Between, Lin, Nano, ONE, TOO_LARGE, Unbounded, around};
use super::lines::{ENDLESS, Each, Group, count};
use super::walk::{Known, Value, Walk};
use crate::rules::form::{Id, Op, Spread};
use crate::tables;
use crate::units::Dec;

/// The ends of a figure, line by line.
type Ends = (Vec<Nano>, Vec<Nano>);

impl Walk<'_> {
    /// A figure on the lines where something holds, and zero on all others.
    fn masked(&self, holds: Id, each: &Each) -> Result<Each, Unbounded> {
        let zeros = self.frame.spread_out(&Between::default())?;
        self.frame.choose(&self.each_holds(holds)?, each, &zeros)
    }

    /// The sum over the lines of one key.
    pub(super) fn mates(&self, keys: Id, a: Id) -> Result<Each, Unbounded> {
        let known = self.each(keys)?;
        let counted = self.masked(keys, &*self.each(a)?)?;
        let sure = known.least == known.most;
        let mut sums: BTreeMap<Nano, (Nano, Nano)> = BTreeMap::new();
        let (mut least, mut most) = (Vec::new(), Vec::new());
        for (line, own) in known.least.iter().enumerate() {
            let key = if sure { *own } else { 0 };
            let (below, above) = match sums.get(&key) {
                Some(sum) => *sum,
                None => {
                    let mate = |other: usize| !sure || known.least[other] == key;
                    let sum = self.group_ends(&counted, mate)?;
                    sums.insert(key, sum);
                    sum
                }
            };
            // the line itself is there; of its mates only those below zero lower the sum
            least.push(counted.least[line] - counted.least[line].min(0) + below);
            most.push(above);
        }
        let mut each = self.frame.lines_of(least, most)?;
        each.group = Some(Group {
            all: counted.sum,
            keys,
            source: a,
            off: (0, 0),
            most: self.most_groups(&known, sure),
        });
        Ok(each)
    }

    /// The least that lines of a group can take off, and the most that they come to.
    fn group_ends(
        &self,
        counted: &Each,
        mate: impl Fn(usize) -> bool,
    ) -> Result<(Nano, Nano), Unbounded> {
        let frame = self.frame;
        let of_mates = |figures: &[Nano], of: fn(Nano) -> Nano| -> Result<Lin, Unbounded> {
            let own = figures.iter().enumerate();
            let own: Vec<Nano> = own
                .map(|(other, figure)| if mate(other) { of(*figure) } else { 0 })
                .collect();
            frame.sum_of(&own)
        };
        let below = of_mates(&counted.least, |own| own.min(0))?;
        let above = of_mates(&counted.most, |own| own)?;
        Ok((frame.least_of(&below)?, frame.most_of(&above)?))
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
    pub(super) fn distinct(&self, keys: Id) -> Result<Between, Unbounded> {
        let frame = self.frame;
        let known = self.each(keys)?;
        let sure = known.least == known.most;
        let in_group = self.each_holds(keys)?;
        let lines = frame.lines();
        let always: BTreeSet<Nano> = (0..lines)
            .filter(|line| frame.is_sure(*line) && sure && known.least[*line] != 0)
            .map(|line| known.least[line])
            .collect();
        let fixed = count(always.len())? * ONE;
        let mut least = Lin {
            fixed,
            by_line: vec![0; lines],
        };
        let mut most = least.clone();
        for (line, inside) in in_group.iter().enumerate() {
            let counted = sure && always.contains(&known.least[line]);
            if *inside == Some(false) || counted {
                continue;
            }
            if frame.is_sure(line) {
                most.fixed += ONE;
                continue;
            }
            most.by_line[line] = ONE;
            if sure {
                let mates = frame.slots_of(|other| known.least[other] == known.least[line]);
                least.by_line[line] = ONE / count(mates.max(1))?;
            }
        }
        if in_group.iter().all(|own| *own == Some(true)) {
            let one = Lin::fixed(least.fixed.max(ONE));
            least = frame.higher(least, one);
        }
        let groups = count(self.most_groups(&known, sure))?;
        Ok(Between {
            least,
            most: frame.lower(most, Lin::fixed(groups * ONE)),
            positive: true,
        })
    }

    /// A whole shared over the lines of a key. All groups together come to the sum of their wholes.
    pub(super) fn spread(&self, how: &Spread) -> Result<Known, Unbounded> {
        let (_, step) = around(Dec::new(1, how.digits))?;
        let shared = match self.value(how.whole)? {
            Value::Each(whole) => self.of_groups(how, whole, step)?,
            _ => self.of_parcel(how, step)?,
        };
        Ok(Value::from(shared).into())
    }

    /// The whole of the parcel.
    fn of_parcel(&self, how: &Spread, step: Nano) -> Result<Each, Unbounded> {
        let (whole, weights) = (self.one(how.whole)?, self.each(how.weights)?);
        let mut all = self.frame.share(&whole, &weights, step)?;
        if let Some((least, most)) = self.shared_by_source(how, step)? {
            let own = self.frame.lines_of(least, most)?;
            let sum = all.sum.clone();
            all = self.frame.both_ways(&all, &own)?;
            all.sum = sum;
        }
        let everywhere = self.each_holds(how.keys)?;
        if everywhere.iter().all(|own| *own == Some(true)) {
            return Ok(all);
        }
        let masked = self.masked(how.keys, &all)?;
        let sum = if self.is_nothing_without(how.whole, how.keys) {
            all.sum
        } else {
            whole.either(&Between::default())?
        };
        Ok(Each { sum, ..masked })
    }

    /// Whether a whole is zero where no line has a key: it is only taken where any line bears it, and those have one.
    fn is_nothing_without(&self, whole: Id, keys: Id) -> bool {
        let node = |id: Id| &self.form().node(id).op;
        let is_zero = |id: Id| matches!(node(id), Op::Fixed(figure) if figure.is_zero());
        let Op::Choose(any, _, zero) = node(whole) else {
            return false;
        };
        let Op::Compare(all, tables::Op::Above, none) = node(*any) else {
            return false;
        };
        let Op::Total(bears) = node(*all) else {
            return false;
        };
        let keyed = match node(keys) {
            Op::Choose(when, own, zero) => when == bears && is_zero(*zero) && !is_zero(*own),
            _ => keys == *bears,
        };
        keyed && is_zero(*zero) && is_zero(*none)
    }

    /// Shares of a whole that is a multiple of the weights it is shared by.
    fn shared_by_source(&self, how: &Spread, step: Nano) -> Result<Option<Ends>, Unbounded> {
        let (whole, weights) = (self.part_of(how.whole)?, self.part_of_line(how.weights)?);
        let source = self.each(how.weights)?;
        let exact = weights.off == (0, 0) && source.least.iter().all(|own| *own >= 0);
        let alike = whole.of == how.weights
            || whole.of == weights.of
                && weights.factor.is_one()
                && self.form().node(whole.of).by_line;
        if !exact || !alike {
            return Ok(None);
        }
        let own = self.frame.by(&*self.each(whole.of)?, &whole.factor)?;
        let off = (whole.off.0 + step, whole.off.1 + 2 * step);
        Ok(Some(near((&own.least, &own.most), off)))
    }

    /// The wholes of groups of lines.
    fn of_groups(&self, how: &Spread, whole: &Each, step: Nano) -> Result<Each, Unbounded> {
        let weights = self.each(how.weights)?;
        let Some(group) = whole.group.as_ref().filter(|own| own.keys == how.keys) else {
            return self.of_any_groups(how, whole, step);
        };
        let (least, most) = if group.source == how.weights {
            of_source(whole, group.off, &weights, step)?
        } else {
            let wholes = (whole.least.clone(), whole.most.clone());
            self.frame.parts(&wholes, &weights, step)?
        };
        let own = self.frame.lines_of(least, most)?;
        Ok(Each {
            sum: group.all.clone(),
            ..self.masked(how.keys, &own)?
        })
    }

    /// Wholes of which it is not known how they hang together: no line has more than the largest of them.
    fn of_any_groups(&self, how: &Spread, whole: &Each, step: Nano) -> Result<Each, Unbounded> {
        let weights = self.each(how.weights)?;
        let lines = self.frame.lines();
        let low = whole.least.iter().copied().min().unwrap_or(0).min(0);
        let high = whole.most.iter().copied().max().unwrap_or(0).max(0);
        let (least, most) = if weights.least.iter().all(|own| *own >= 0) {
            (vec![low - 2 * step; lines], vec![high + 2 * step; lines])
        } else {
            (vec![-ENDLESS; lines], vec![ENDLESS; lines])
        };
        let own = self.frame.lines_of(least, most)?;
        self.masked(how.keys, &own)
    }
}

/// Shares of what the lines of each group come to, by what they come to: each is its own figure, but for its part of what the
/// group was rounded by, which is at most all of it where no line is below zero.
fn of_source(
    whole: &Each,
    off: (Nano, Nano),
    weights: &Each,
    step: Nano,
) -> Result<Ends, Unbounded> {
    if weights.least.iter().all(|own| *own >= 0) {
        let off = (off.0 + step, off.1 + 2 * step);
        return Ok(near((&weights.least, &weights.most), off));
    }
    let (mut least, mut most) = (Vec::new(), Vec::new());
    for (line, (low, high)) in weights.least.iter().zip(&weights.most).enumerate() {
        let sum = whole.least[line] - off.1;
        if sum <= 0 {
            least.push(-ENDLESS);
            most.push(ENDLESS);
            continue;
        }
        let largest = low.abs().max(high.abs());
        let part = off.0.max(off.1).checked_mul(largest).ok_or(TOO_LARGE)?;
        let further = part / sum + 1 + 2 * step;
        least.push(low - further);
        most.push(high + further);
    }
    Ok((least, most))
}

/// Figures from `off.0` below one to `off.1` above another, and not below zero.
fn near((least, most): (&[Nano], &[Nano]), off: (Nano, Nano)) -> Ends {
    let least = least.iter().map(|own| (own - off.0).max(0)).collect();
    let most = most.iter().map(|own| own + off.1).collect();
    (least, most)
}

#[cfg(test)]
mod tests {
    use crate::rules::form::bounds::walk::{Effort, Supply, Wanted, readings};
    use crate::rules::form::bounds::{Frame, Nano, Value};
    use crate::rules::form::maker::Maker;
    use crate::rules::form::{Input, Measure};
    use crate::units::{Dec, Rate};

    const CENT: Nano = 10_000_000;

    /// Between which cents each of two lines has its share of a tenth of their goods, shared by each line's goods times its weight;
    /// the goods of each are from 90 to 110.
    fn shares(weights: [Dec; 2]) -> Vec<(Nano, Nano)> {
        let mut make = Maker::open(2);
        let goods = make.input(Input::Goods);
        let factors = make.column(weights.to_vec(), Measure::Plain);
        let weights = make.times(goods, factors).unwrap();
        let all = make.total(goods).unwrap();
        let whole = make.part(all, Dec::ONE, Dec::from(10_u32)).unwrap();
        let everywhere = make.sure(true);
        let shares = make.spread(whole, weights, everywhere, 2);
        let wanted = Wanted::new(make.finish().unwrap(), [shares], Vec::new());
        let frame = Frame::new(&[None, None], &[0, 0], CENT);
        let goods = frame.lines_of(vec![9_000 * CENT; 2], vec![11_000 * CENT; 2]);
        let supply = Supply {
            figures: vec![(Input::Goods, Value::from(goods.unwrap()))],
            rate: Rate::SAME,
        };
        let effort = Effort {
            splits: false,
            forks: 0,
        };
        let walks = readings(&wanted, &frame, &supply, effort).unwrap();
        let each = walks[0].each(shares).unwrap();
        let ends = each.least.iter().zip(&each.most);
        ends.map(|(least, most)| (least / CENT, most / CENT))
            .collect()
    }

    /// Goods of 110 and 90 with weights of 110 and 45: of 20.00 the first has 14.19, the second 5.81.
    #[test]
    fn shares_by_different_parts_of_what_the_whole_is_of_are_not_that_part_of_it() {
        let found = shares([Dec::ONE, Dec::new(5, 1)]);
        assert!(found[0].1 >= 1_420 && found[1].0 <= 580, "{found:?}");
        // by the same part each is a tenth of its goods, but for a cent more or less
        for weights in [[Dec::ONE; 2], [Dec::new(5, 1); 2]] {
            let found = shares(weights);
            assert!(
                found.iter().all(|own| own.0 >= 899 && own.1 <= 1_102),
                "{found:?}"
            );
        }
    }
}
