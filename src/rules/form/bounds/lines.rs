//! A figure for each line: what it is when the line is there, and the sum over all lines that are.
//!
//! The sum is kept beside the lines because it is often known better: shares of a freight are uncertain line by line, and add up to
//! the freight. Every operation gives both anew: line by line as intervals, and the sum by whatever says more.

use std::rc::Rc;

use super::frame::Frame;
use super::lin::{Between, Fraction, Nano, ONE, TOO_LARGE, Unbounded, around, off_by};
use crate::rules::form::Id;
use crate::rules::swift::Whole;
use crate::units::Rounding;

/// A weight of which no end is known.
pub(super) const ENDLESS: Nano = 10_000_000_000_000_000_000_000_000;

/// A figure for each line.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Each {
    pub(crate) least: Vec<Nano>,
    pub(crate) most: Vec<Nano>,
    /// All lines that are there together.
    pub(crate) sum: Between,
    /// Where the figure is that of the line's group.
    pub(super) group: Option<Group>,
}

impl Each {
    /// Between which figures it is for one line.
    fn ends(&self, line: usize) -> (Nano, Nano) {
        (self.least[line], self.most[line])
    }
}

/// A figure of a group of lines, which each of them has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Group {
    /// All groups together.
    pub(super) all: Between,
    /// What the lines of a group are told apart by.
    pub(super) keys: Id,
    /// The figure of which it was summed, and how far from that sum it may be below and above.
    pub(super) source: Id,
    pub(super) off: (Nano, Nano),
    /// How many groups there may be at once.
    pub(super) most: usize,
}

/// What a figure is multiplied by: the same for all lines, or one for each.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Factor {
    Same(Fraction),
    Each(Rc<[Fraction]>),
}

impl Factor {
    pub(super) fn of(&self, line: usize) -> Fraction {
        match self {
            Factor::Same(own) => *own,
            Factor::Each(all) => all.get(line).copied().unwrap_or(Fraction::WHOLE),
        }
    }

    /// Whether it is the same for all lines, however it is kept.
    pub(super) fn is_one(&self) -> bool {
        match self {
            Factor::Same(_) => true,
            Factor::Each(all) => all.windows(2).all(|pair| pair[0] == pair[1]),
        }
    }

    /// Two factors worked into one.
    pub(super) fn with(
        &self,
        other: &Factor,
        work: impl Fn(Fraction, Fraction) -> Result<Fraction, Unbounded>,
    ) -> Result<Factor, Unbounded> {
        let lines = match (self, other) {
            (Factor::Same(own), Factor::Same(its)) => return Ok(Factor::Same(work(*own, *its)?)),
            (Factor::Each(all), _) | (_, Factor::Each(all)) => all.len(),
        };
        let each = (0..lines).map(|line| work(self.of(line), other.of(line)));
        Ok(Factor::Each(each.collect::<Result<_, _>>()?))
    }
}

/// A rounded figure.
fn rounded(figure: Nano, rounding: Rounding) -> Result<Nano, Unbounded> {
    let (step, _) = around(rounding.step)?;
    if step <= 0 {
        return Err("a step is finer than a billionth");
    }
    Ok(figure.over(step, rounding.mode) * step)
}

/// A number of things as a whole number.
pub(super) fn count(number: usize) -> Result<Nano, Unbounded> {
    i128::try_from(number).map_err(|_| TOO_LARGE)
}

fn product(a: Nano, b: Nano) -> Result<Nano, Unbounded> {
    a.checked_mul(b).ok_or(TOO_LARGE)
}

/// Two figures of each line worked into one.
fn paired(
    a: &[Nano],
    b: &[Nano],
    work: impl Fn(Nano, Nano) -> Option<Nano>,
) -> Result<Vec<Nano>, Unbounded> {
    let both = a.iter().zip(b).map(|(a, b)| work(*a, *b));
    both.collect::<Option<_>>().ok_or(TOO_LARGE)
}

impl Frame {
    /// Figures of the lines whose sum nobody knows better.
    pub(crate) fn lines_of(&self, least: Vec<Nano>, most: Vec<Nano>) -> Result<Each, Unbounded> {
        let sum = Between {
            least: self.sum_of(&least)?,
            most: self.sum_of(&most)?,
            positive: least.iter().all(|own| *own >= 0),
        };
        Ok(Each {
            least,
            most,
            sum,
            group: None,
        })
    }

    /// The same, with what else is known of their sum.
    fn summing(&self, least: Vec<Nano>, most: Vec<Nano>, sum: Between) -> Result<Each, Unbounded> {
        let own = self.lines_of(least, most)?;
        Ok(Each {
            sum: Between {
                least: self.higher(own.sum.least, sum.least),
                most: self.lower(own.sum.most, sum.most),
                positive: own.sum.positive || sum.positive,
            },
            ..own
        })
    }

    /// What is known of a figure in two ways.
    pub(super) fn both_ways(&self, a: &Each, b: &Each) -> Result<Each, Unbounded> {
        let least = paired(&a.least, &b.least, |a, b| Some(a.max(b)))?;
        let most = paired(&a.most, &b.most, |a, b| Some(a.min(b)))?;
        let sum = Between {
            least: self.higher(a.sum.least.clone(), b.sum.least.clone()),
            most: self.lower(a.sum.most.clone(), b.sum.most.clone()),
            positive: a.sum.positive || b.sum.positive,
        };
        self.summing(least, most, sum)
    }

    /// The same figure, which is known not to be below zero.
    pub(super) fn not_below_zero(&self, each: &Each) -> Result<Each, Unbounded> {
        if each.least.iter().all(|own| *own >= 0) {
            return Ok(each.clone());
        }
        let least = each.least.iter().map(|own| (*own).max(0)).collect();
        let mut own = self.summing(least, each.most.clone(), each.sum.clone())?;
        own.group.clone_from(&each.group);
        Ok(own)
    }

    /// A figure of the parcel, as that of each line.
    pub(super) fn spread_out(&self, one: &Between) -> Result<Each, Unbounded> {
        let (least, most) = self.ends(one)?;
        self.lines_of(vec![least; self.lines()], vec![most; self.lines()])
    }

    pub(super) fn plus(&self, a: &Each, b: &Each) -> Result<Each, Unbounded> {
        self.summing(
            paired(&a.least, &b.least, Nano::checked_add)?,
            paired(&a.most, &b.most, Nano::checked_add)?,
            a.sum.plus(&b.sum)?,
        )
    }

    pub(super) fn minus(&self, a: &Each, b: &Each) -> Result<Each, Unbounded> {
        self.summing(
            paired(&a.least, &b.most, Nano::checked_sub)?,
            paired(&a.most, &b.least, Nano::checked_sub)?,
            a.sum.minus(&b.sum)?,
        )
    }

    /// Wider by these amounts below and above on each line.
    pub(super) fn wider(&self, a: &Each, (below, above): (Nano, Nano)) -> Result<Each, Unbounded> {
        let least = a.least.iter().map(|own| own - below).collect();
        let most = a.most.iter().map(|own| own + above).collect();
        let sum = Between {
            least: a.sum.least.minus(&self.for_each(below)?)?,
            most: a.sum.most.plus(&self.for_each(above)?)?,
            positive: false,
        };
        self.summing(least, most, sum)
    }

    /// A figure times a factor. Where the lines' factors differ, the whole sum is taken by the least of them, and each line alone
    /// by what its own factor is above that.
    pub(super) fn by(&self, a: &Each, factor: &Factor) -> Result<Each, Unbounded> {
        let (mut least, mut most) = (Vec::new(), Vec::new());
        for (line, (low, high)) in a.least.iter().zip(&a.most).enumerate() {
            let own = factor.of(line);
            let turned = own.is_negative();
            least.push(own.below(if turned { *high } else { *low })?);
            most.push(own.above(if turned { *low } else { *high })?);
        }
        let sum = match factor {
            Factor::Same(factor) => Some(a.sum.scaled(*factor)?),
            Factor::Each(all) => self.sum_by(a, all)?,
        };
        match sum {
            Some(sum) => self.summing(least, most, sum),
            None => self.lines_of(least, most),
        }
    }

    /// The sum of figures times factors; none where the lines alone say as much.
    fn sum_by(&self, a: &Each, factors: &[Fraction]) -> Result<Option<Between>, Unbounded> {
        let mut all = factors.iter().copied();
        let first = all.next().unwrap_or(Fraction::WHOLE);
        let common = all.try_fold(first, Fraction::lesser);
        let Some(common) = common.filter(|common| !common.is_negative()) else {
            return Ok(None);
        };
        let whole = a.sum.scaled(common)?;
        let (mut low, mut high) = (Vec::new(), Vec::new());
        for (line, factor) in factors.iter().enumerate() {
            let (mut beyond_low, mut beyond_high) = (0, 0);
            if *factor != common {
                let (least, most) = (a.least[line], a.most[line]);
                beyond_low = factor.below(least)? - common.above(least)?;
                beyond_high = factor.above(most)? - common.below(most)?;
            }
            low.push(beyond_low);
            high.push(beyond_high);
        }
        Ok(Some(Between {
            least: whole.least.plus(&self.sum_of(&low)?)?,
            most: whole.most.plus(&self.sum_of(&high)?)?,
            positive: whole.positive && a.least.iter().all(|own| *own >= 0),
        }))
    }

    /// A product of figures of which neither is known.
    pub(super) fn times(&self, a: &Each, b: &Each) -> Result<Each, Unbounded> {
        self.of_ends(a, b, corners)
    }

    /// A quotient, and zero where the divisor is zero.
    pub(super) fn over(&self, a: &Each, b: &Each) -> Result<Each, Unbounded> {
        self.of_ends(a, b, quotient)
    }

    /// Each line's ends out of both ends of two figures.
    fn of_ends(
        &self,
        a: &Each,
        b: &Each,
        work: impl Fn((Nano, Nano), (Nano, Nano)) -> Result<(Nano, Nano), Unbounded>,
    ) -> Result<Each, Unbounded> {
        let each = (0..self.lines()).map(|line| work(a.ends(line), b.ends(line)));
        let each = each.collect::<Result<Vec<_>, _>>()?;
        let (least, most) = each.into_iter().unzip();
        self.lines_of(least, most)
    }

    /// Each line's ends out of those of two figures.
    fn line_by_line(
        &self,
        a: &Each,
        b: &Each,
        of: fn(Nano, Nano) -> Nano,
    ) -> Result<Each, Unbounded> {
        let least = paired(&a.least, &b.least, |a, b| Some(of(a, b)))?;
        let most = paired(&a.most, &b.most, |a, b| Some(of(a, b)))?;
        self.lines_of(least, most)
    }

    /// The lesser of two.
    pub(super) fn lesser(&self, a: &Each, b: &Each) -> Result<Each, Unbounded> {
        let mut own = self.line_by_line(a, b, Nano::min)?;
        let most = self.lower(a.sum.most.clone(), b.sum.most.clone());
        own.sum.most = self.lower(own.sum.most, most);
        Ok(own)
    }

    /// The greater of two.
    pub(super) fn greater(&self, a: &Each, b: &Each) -> Result<Each, Unbounded> {
        let mut own = self.line_by_line(a, b, Nano::max)?;
        let least = self.higher(a.sum.least.clone(), b.sum.least.clone());
        own.sum.least = self.higher(own.sum.least, least);
        Ok(own)
    }

    /// Rounded, line by line, or the figure of each group.
    pub(super) fn round(&self, a: &Each, rounding: Rounding) -> Result<Each, Unbounded> {
        let round = |own: &[Nano]| -> Result<Vec<Nano>, Unbounded> {
            own.iter().map(|one| rounded(*one, rounding)).collect()
        };
        let lowest = a.least.iter().copied().min().unwrap_or(0);
        let off = off_by(rounding, lowest)?;
        let sum = self.wider(a, off)?.sum;
        let mut each = self.summing(round(&a.least)?, round(&a.most)?, sum)?;
        each.group = match &a.group {
            Some(group) => {
                let groups = count(group.most)?;
                Some(Group {
                    all: group.all.wider((off.0 * groups, off.1 * groups))?,
                    off: (group.off.0 + off.0, group.off.1 + off.1),
                    ..group.clone()
                })
            }
            None => None,
        };
        Ok(each)
    }

    /// One or the other, line by line: known, or not.
    pub(super) fn choose(
        &self,
        when: &[Option<bool>],
        a: &Each,
        b: &Each,
    ) -> Result<Each, Unbounded> {
        if when.iter().all(|holds| *holds == Some(true)) {
            return Ok(a.clone());
        }
        if when.iter().all(|holds| *holds == Some(false)) {
            return Ok(b.clone());
        }
        let ends = |line: usize, own: Option<bool>| match own {
            Some(true) => a.ends(line),
            Some(false) => b.ends(line),
            None => (
                a.least[line].min(b.least[line]),
                a.most[line].max(b.most[line]),
            ),
        };
        let (least, most) = when
            .iter()
            .enumerate()
            .map(|(line, own)| ends(line, *own))
            .unzip();
        let mut each = self.lines_of(least, most)?;
        for (side, own) in [(a, Some(true)), (b, Some(false))] {
            let sum = self.instead(side, &each, |line| when[line] != own)?;
            each.sum = Between {
                least: self.higher(each.sum.least, sum.least),
                most: self.lower(each.sum.most, sum.most),
                ..each.sum
            };
        }
        Ok(each)
    }

    /// The sum of one figure, less what its lines that differ from another may have been, and with what they are there.
    fn instead(
        &self,
        side: &Each,
        each: &Each,
        differs: impl Fn(usize) -> bool,
    ) -> Result<Between, Unbounded> {
        let (mut low, mut high) = (vec![0; self.lines()], vec![0; self.lines()]);
        for line in (0..self.lines()).filter(|line| differs(*line)) {
            low[line] = each.least[line] - side.most[line];
            high[line] = each.most[line] - side.least[line];
        }
        Ok(Between {
            least: side.sum.least.plus(&self.sum_of(&low)?)?,
            most: side.sum.most.plus(&self.sum_of(&high)?)?,
            positive: false,
        })
    }

    /// Whichever of two, for all lines alike.
    pub(super) fn either_of(&self, a: &Each, b: &Each) -> Result<Each, Unbounded> {
        let least = paired(&a.least, &b.least, |a, b| Some(a.min(b)))?;
        let most = paired(&a.most, &b.most, |a, b| Some(a.max(b)))?;
        self.summing(least, most, a.sum.either(&b.sum)?)
    }

    /// A whole shared over all lines that are there, in steps: the parts add up to it, and each is less than a step from its exact
    /// share.
    pub(super) fn share(
        &self,
        whole: &Between,
        weights: &Each,
        step: Nano,
    ) -> Result<Each, Unbounded> {
        let ends = self.ends(whole)?;
        let wholes = (vec![ends.0; self.lines()], vec![ends.1; self.lines()]);
        let (least, most) = self.parts(&wholes, weights, step)?;
        let own = self.lines_of(least, most)?;
        // all of it is shared: what the lines say on their own adds nothing
        Ok(Each {
            sum: whole.clone(),
            ..own
        })
    }

    /// The shares of wholes. That of a line lies between those that it has beside the most and the least of all other lines.
    pub(super) fn parts(
        &self,
        wholes: &(Vec<Nano>, Vec<Nano>),
        weights: &Each,
        step: Nano,
    ) -> Result<(Vec<Nano>, Vec<Nano>), Unbounded> {
        let all = self.ends(&weights.sum)?;
        if weights.least.iter().any(|own| *own < 0) {
            return self.parts_of_any(wholes, weights, (all, step));
        }
        let all = (all.0.max(0), all.1);
        let (mut least, mut most) = (Vec::new(), Vec::new());
        for line in 0..self.lines() {
            let (low, high) = (weights.least[line], weights.most[line]);
            let beside = ((all.0 - high).max(0), (all.1 - low).max(0));
            // of a whole below zero a line has all of it at the most
            let low = if wholes.0[line] < 0 {
                wholes.0[line]
            } else if low == 0 {
                0
            } else {
                product(wholes.0[line], low)?.div_euclid(low + beside.1)
            };
            let high = if beside.0 == 0 || high >= ENDLESS {
                wholes.1[line].max(0)
            } else {
                -(-product(wholes.1[line].max(0), high)?).div_euclid(high + beside.0)
            };
            least.push(if low < 0 {
                low - 2 * step
            } else {
                (low - step).max(0)
            });
            // what a whole that is no number of steps leaves over may go to the same line as a step does
            most.push(high + 2 * step);
        }
        Ok((least, most))
    }

    /// The same where weights may be below zero: a part of the whole then has no end but by the least that they can add up to.
    fn parts_of_any(
        &self,
        wholes: &(Vec<Nano>, Vec<Nano>),
        weights: &Each,
        (all, step): ((Nano, Nano), Nano),
    ) -> Result<(Vec<Nano>, Vec<Nano>), Unbounded> {
        let (mut least, mut most) = (Vec::new(), Vec::new());
        for line in 0..self.lines() {
            if all.0 <= 0 {
                least.push(-ENDLESS);
                most.push(ENDLESS);
                continue;
            }
            let share = quotient(weights.ends(line), all)?;
            let (low, high) = corners((wholes.0[line], wholes.1[line]), share)?;
            least.push(low - 2 * step);
            most.push(high + 2 * step);
        }
        Ok((least, most))
    }

    /// A figure of the parcel, rounded.
    pub(super) fn round_one(
        &self,
        one: &Between,
        rounding: Rounding,
    ) -> Result<Between, Unbounded> {
        if one.least.is_fixed() && one.most.is_fixed() {
            return Ok(Between::ends(
                rounded(one.least.fixed, rounding)?,
                rounded(one.most.fixed, rounding)?,
            ));
        }
        let (lowest, _) = self.ends(one)?;
        Ok(Between {
            positive: lowest >= 0,
            ..one.wider(off_by(rounding, lowest)?)?
        })
    }
}

/// The least and the most that a product of two figures can be.
pub(super) fn corners(a: (Nano, Nano), b: (Nano, Nano)) -> Result<(Nano, Nano), Unbounded> {
    let ends = [(a.0, b.0), (a.0, b.1), (a.1, b.0), (a.1, b.1)];
    let (mut low, mut high) = (Nano::MAX, Nano::MIN);
    for (a, b) in ends {
        let own = product(a, b)?;
        (low, high) = (low.min(own), high.max(own));
    }
    Ok((low.div_euclid(ONE), -(-high).div_euclid(ONE)))
}

/// The least and the most that a quotient can be, which is zero where the divisor is.
fn quotient(a: (Nano, Nano), b: (Nano, Nano)) -> Result<(Nano, Nano), Unbounded> {
    let up = |own: Nano| own.checked_mul(ONE).ok_or(TOO_LARGE);
    if b.0 > 0 {
        let low = up(a.0)?.div_euclid(if a.0 < 0 { b.0 } else { b.1 });
        let high = -(-up(a.1)?).div_euclid(if a.1 < 0 { b.1 } else { b.0 });
        return Ok((low, high));
    }
    if b.1 == 0 && b.0 == 0 || a == (0, 0) {
        return Ok((0, 0));
    }
    let low = match a.0 {
        0.. if b.0 >= 0 => 0,
        _ => -ENDLESS,
    };
    let high = if a.1 <= 0 && b.0 >= 0 { 0 } else { ENDLESS };
    Ok((low, high))
}
