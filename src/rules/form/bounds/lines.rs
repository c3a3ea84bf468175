//! A figure for each line: what it is when the line is there, and the sum over all lines that are.
//!
//! The sum is kept beside the lines because it is often known better: shares of a freight are uncertain line by line, and add up to
//! the freight. Every operation gives both anew: line by line as intervals, and the sum by whatever says more.

use super::frame::{
    Between, Fraction, Frame, Lin, Nano, ONE, TOO_LARGE, Unbounded, around, off_by,
};
use crate::rules::form::Id;
use crate::rules::swift::Whole;
use crate::units::Rounding;

/// A weight of which no end is known.
pub(super) const ENDLESS: Nano = 1_000_000_000_000_000_000_000_000_000;

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
    /// The same, where the sum of all lines is known.
    pub(crate) fn summing_to(self, sum: Between) -> Each {
        Each { sum, ..self }
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

/// A rounded figure.
pub(super) fn rounded(figure: Nano, rounding: Rounding) -> Result<Nano, Unbounded> {
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

    /// A figure of the parcel, as that of each line.
    pub(super) fn spread_out(&self, one: &Between) -> Result<Each, Unbounded> {
        let (least, most) = self.ends(one)?;
        self.lines_of(vec![least; self.lines()], vec![most; self.lines()])
    }

    pub(crate) fn plus(&self, a: &Each, b: &Each) -> Result<Each, Unbounded> {
        let add = |a: &[Nano], b: &[Nano]| -> Result<Vec<Nano>, Unbounded> {
            let both = a.iter().zip(b).map(|(a, b)| a.checked_add(*b));
            both.collect::<Option<_>>().ok_or(TOO_LARGE)
        };
        self.summing(
            add(&a.least, &b.least)?,
            add(&a.most, &b.most)?,
            a.sum.plus(&b.sum)?,
        )
    }

    pub(crate) fn minus(&self, a: &Each, b: &Each) -> Result<Each, Unbounded> {
        let sub = |a: &[Nano], b: &[Nano]| -> Result<Vec<Nano>, Unbounded> {
            let both = a.iter().zip(b).map(|(a, b)| a.checked_sub(*b));
            both.collect::<Option<_>>().ok_or(TOO_LARGE)
        };
        self.summing(
            sub(&a.least, &b.most)?,
            sub(&a.most, &b.least)?,
            a.sum.minus(&b.sum)?,
        )
    }

    pub(crate) fn scaled(&self, a: &Each, factor: Fraction) -> Result<Each, Unbounded> {
        let (low, high) = if factor.is_negative() {
            (&a.most, &a.least)
        } else {
            (&a.least, &a.most)
        };
        let least = low
            .iter()
            .map(|own| factor.below(*own))
            .collect::<Result<_, _>>()?;
        let most = high
            .iter()
            .map(|own| factor.above(*own))
            .collect::<Result<_, _>>()?;
        self.summing(least, most, a.sum.scaled(factor)?)
    }

    /// A product. Where one figure of each line is known and not below zero, the least of them is taken of the whole sum, and
    /// only what is above it of each line alone.
    pub(crate) fn times(&self, a: &Each, b: &Each) -> Result<Each, Unbounded> {
        let (mut least, mut most) = (Vec::new(), Vec::new());
        for line in 0..self.lines() {
            let ends = [
                (a.least[line], b.least[line]),
                (a.least[line], b.most[line]),
                (a.most[line], b.least[line]),
                (a.most[line], b.most[line]),
            ];
            let products = ends.map(|(a, b)| a.checked_mul(b));
            let products: Vec<Nano> = products
                .into_iter()
                .collect::<Option<_>>()
                .ok_or(TOO_LARGE)?;
            let low = products.iter().copied().min().unwrap_or(0);
            let high = products.iter().copied().max().unwrap_or(0);
            least.push(low.div_euclid(ONE));
            most.push(-(-high).div_euclid(ONE));
        }
        let plain = self.lines_of(least, most)?;
        let (known, other) = if b.least == b.most { (b, a) } else { (a, b) };
        let sure = known.least == known.most && known.least.iter().all(|own| *own >= 0);
        if !sure {
            return Ok(plain);
        }
        let sum = Between {
            least: self.at_least_of(&known.least, &other.least, &other.sum.least)?,
            most: self
                .at_least_of(
                    &known.least,
                    &other.most.iter().map(|own| -own).collect::<Vec<_>>(),
                    &other.sum.most.negated()?,
                )?
                .negated()?,
            positive: other.sum.positive && other.least.iter().all(|own| *own >= 0),
        };
        self.summing(plain.least, plain.most, sum)
    }

    /// A bound from below on the sum of products of known factors and figures whose sum and each of which has one.
    fn at_least_of(&self, factors: &[Nano], least: &[Nano], sum: &Lin) -> Result<Lin, Unbounded> {
        let common = factors.iter().copied().min().unwrap_or(0);
        let whole = Between {
            least: sum.clone(),
            most: sum.clone(),
            positive: false,
        };
        let factor = Fraction::of_nano(common);
        let whole = whole.scaled(factor)?.least;
        let beyond: Vec<Nano> = factors
            .iter()
            .zip(least)
            .map(|(own, figure)| Some((own - common).checked_mul(*figure)?.div_euclid(ONE)))
            .collect::<Option<_>>()
            .ok_or(TOO_LARGE)?;
        whole.plus(&self.sum_of(&beyond)?)
    }

    /// Each line's ends out of those of two figures.
    fn line_by_line(
        &self,
        a: &Each,
        b: &Each,
        of: fn(Nano, Nano) -> Nano,
    ) -> Result<Each, Unbounded> {
        let ends = |a: &[Nano], b: &[Nano]| a.iter().zip(b).map(|(a, b)| of(*a, *b)).collect();
        self.lines_of(ends(&a.least, &b.least), ends(&a.most, &b.most))
    }

    /// The lesser of two.
    pub(crate) fn lesser(&self, a: &Each, b: &Each) -> Result<Each, Unbounded> {
        let own = self.line_by_line(a, b, Nano::min)?;
        let most = self.lower(a.sum.most.clone(), b.sum.most.clone());
        let sum = Between {
            least: own.sum.least.clone(),
            most,
            positive: false,
        };
        self.summing(own.least, own.most, sum)
    }

    /// The greater of two.
    pub(super) fn greater(&self, a: &Each, b: &Each) -> Result<Each, Unbounded> {
        let own = self.line_by_line(a, b, Nano::max)?;
        let least = self.higher(a.sum.least.clone(), b.sum.least.clone());
        let sum = Between {
            least,
            most: own.sum.most.clone(),
            positive: false,
        };
        self.summing(own.least, own.most, sum)
    }

    /// Rounded, line by line, or the figure of each group.
    pub(crate) fn round(&self, a: &Each, rounding: Rounding) -> Result<Each, Unbounded> {
        let round = |own: &[Nano]| -> Result<Vec<Nano>, Unbounded> {
            own.iter().map(|one| rounded(*one, rounding)).collect()
        };
        let (least, most) = (round(&a.least)?, round(&a.most)?);
        let lowest = a.least.iter().copied().min().unwrap_or(0);
        let (down, up) = off_by(rounding, lowest)?;
        let sum = Between {
            least: a
                .sum
                .least
                .minus(&self.sum_of(&vec![down; self.lines()])?)?,
            most: a.sum.most.plus(&self.sum_of(&vec![up; self.lines()])?)?,
            positive: false,
        };
        let mut each = self.summing(least, most, sum)?;
        each.group = match &a.group {
            Some(group) => Some(Group {
                all: Between {
                    least: group
                        .all
                        .least
                        .minus(&Lin::fixed(down * count(group.most)?))?,
                    most: group.all.most.plus(&Lin::fixed(up * count(group.most)?))?,
                    positive: group.all.positive,
                },
                off: (group.off.0 + down, group.off.1 + up),
                ..group.clone()
            }),
            None => None,
        };
        Ok(each)
    }

    /// One or the other, line by line: known, or not.
    pub(crate) fn choose(
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
        let (mut least, mut most) = (Vec::new(), Vec::new());
        for (line, holds) in when.iter().enumerate() {
            let (low, high) = match holds {
                Some(true) => (a.least[line], a.most[line]),
                Some(false) => (b.least[line], b.most[line]),
                None => (
                    a.least[line].min(b.least[line]),
                    a.most[line].max(b.most[line]),
                ),
            };
            least.push(low);
            most.push(high);
        }
        let mut each = self.lines_of(least, most)?;
        for (side, own) in [(a, Some(true)), (b, Some(false))] {
            let differs = |line: usize| when[line] != own;
            // the sum of one side, less what its lines that do not count may have been, and what the others are
            let (mut low, mut high) = (vec![0; self.lines()], vec![0; self.lines()]);
            for line in (0..self.lines()).filter(|line| differs(*line)) {
                low[line] = each.least[line] - side.most[line];
                high[line] = each.most[line] - side.least[line];
            }
            let sum = Between {
                least: side.sum.least.plus(&self.sum_of(&low)?)?,
                most: side.sum.most.plus(&self.sum_of(&high)?)?,
                positive: false,
            };
            each.sum = Between {
                least: self.higher(each.sum.least, sum.least),
                most: self.lower(each.sum.most, sum.most),
                ..each.sum
            };
        }
        Ok(each)
    }

    /// Whichever of two, for all lines alike.
    pub(super) fn either_of(&self, a: &Each, b: &Each) -> Result<Each, Unbounded> {
        let own = self.lines_of(
            a.least
                .iter()
                .zip(&b.least)
                .map(|(a, b)| *a.min(b))
                .collect(),
            a.most.iter().zip(&b.most).map(|(a, b)| *a.max(b)).collect(),
        )?;
        self.summing(own.least, own.most, a.sum.either(&b.sum)?)
    }

    /// A whole shared over all lines that are there, in steps: the parts add up to it, and each is less than a step from its exact
    /// share. The share of a line lies between those that it has beside the most and the least of all other lines.
    pub(crate) fn share(
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

    pub(super) fn parts(
        &self,
        wholes: &(Vec<Nano>, Vec<Nano>),
        weights: &Each,
        step: Nano,
    ) -> Result<(Vec<Nano>, Vec<Nano>), Unbounded> {
        if weights.least.iter().any(|own| *own < 0) {
            return Err("something is shared by figures below zero");
        }
        let all = self.ends(&weights.sum)?;
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
}

fn product(a: Nano, b: Nano) -> Result<Nano, Unbounded> {
    a.checked_mul(b).ok_or(TOO_LARGE)
}

impl Fraction {
    /// A figure of billionths.
    pub(super) fn of_nano(figure: Nano) -> Fraction {
        Fraction::raw(figure, ONE)
    }
}

impl Frame {
    /// A figure of the parcel, rounded.
    pub(crate) fn round_one(
        &self,
        one: &Between,
        rounding: Rounding,
    ) -> Result<Between, Unbounded> {
        let known = one.least.by_line.iter().all(|own| *own == 0)
            && one.most.by_line.iter().all(|own| *own == 0);
        if known {
            return Ok(Between::ends(
                rounded(one.least.fixed, rounding)?,
                rounded(one.most.fixed, rounding)?,
            ));
        }
        let (lowest, _) = self.ends(one)?;
        let (down, up) = off_by(rounding, lowest)?;
        Ok(Between {
            least: one.least.minus(&Lin::fixed(down))?,
            most: one.most.plus(&Lin::fixed(up))?,
            positive: lowest >= 0,
        })
    }

    /// The lesser of two figures of the parcel.
    pub(crate) fn lesser_of(&self, a: &Between, b: &Between) -> Result<Between, Unbounded> {
        let apart = a.minus(b)?;
        if self.least_of(&apart.least)? >= 0 {
            return Ok(b.clone());
        }
        if self.most_of(&apart.most)? <= 0 {
            return Ok(a.clone());
        }
        Ok(Between {
            least: a.either(b)?.least,
            most: self.lower(a.most.clone(), b.most.clone()),
            positive: a.positive && b.positive,
        })
    }

    /// Half up to minor units.
    pub(crate) fn minor(&self, one: &Between, digits: u32) -> Result<Between, Unbounded> {
        self.round_one(one, Rounding::minor(digits))
    }
}
