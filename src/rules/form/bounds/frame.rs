//! One case of a seller's packages, and sums that are linear in the offers.
//!
//! A package is a choice among lines: each is there or not, some always are. A [`Lin`] is a figure plus one more for each line
//! that is there. A [`Between`] holds a figure of the parcel between two such sums, whatever the package within the case.
//!
//! Whether a linear sum is above zero for all packages of a case is asked of a relaxation: at most one line of each slot, and
//! goods between two limits. Goods times any factor may be taken out of the sum and put back at the limit that hurts most; what is
//! left is least slot by slot. Each factor gives a bound, and the best of a few is taken.

use crate::units::{Dec, Mode, Rounding};

/// Billionths: amounts of money, masses and counts, all at one scale.
pub(crate) type Nano = i128;

/// One, in [`Nano`].
pub(crate) const ONE: Nano = 1_000_000_000;

/// Why there is no bound.
pub(crate) type Unbounded = &'static str;

pub(super) const TOO_LARGE: Unbounded = "a figure is too large";

/// A fraction of whole numbers; the lower is above zero.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Fraction {
    over: i128,
    under: i128,
}

impl Fraction {
    /// A figure over another that is above zero.
    pub(crate) fn of(over: Dec, under: Dec) -> Result<Fraction, Unbounded> {
        let parts = |number: Dec| {
            let decimals = number.decimals();
            Some((number.in_units(decimals)?, 10_i128.checked_pow(decimals)?))
        };
        let ((a, a_under), (b, b_under)) = parts(over).zip(parts(under)).ok_or(TOO_LARGE)?;
        let (over, under) = a
            .checked_mul(b_under)
            .zip(a_under.checked_mul(b))
            .ok_or(TOO_LARGE)?;
        if under <= 0 {
            return Err("a divisor is not above zero");
        }
        let shared = common_divisor(over, under);
        Ok(Fraction {
            over: over / shared,
            under: under / shared,
        })
    }

    /// A fraction that needs no reduction.
    pub(super) fn raw(over: i128, under: i128) -> Fraction {
        Fraction { over, under }
    }

    pub(super) fn is_negative(self) -> bool {
        self.over < 0
    }

    pub(super) fn below(self, figure: Nano) -> Result<Nano, Unbounded> {
        let product = figure.checked_mul(self.over).ok_or(TOO_LARGE)?;
        Ok(product.div_euclid(self.under))
    }

    pub(super) fn above(self, figure: Nano) -> Result<Nano, Unbounded> {
        Ok(-self.below(-figure)?)
    }
}

fn common_divisor(a: i128, b: i128) -> i128 {
    let (mut a, mut b) = (a.abs(), b.abs());
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a.max(1)
}

/// A decimal as the billionths below it, and those above it.
pub(crate) fn around(number: Dec) -> Result<(Nano, Nano), Unbounded> {
    let factor = Fraction::of(number, Dec::ONE)?;
    Ok((factor.below(ONE)?, factor.above(ONE)?))
}

/// A figure, and one more for each line that is there. No figures at all are zeros.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Lin {
    pub(crate) fixed: Nano,
    pub(crate) by_line: Vec<Nano>,
}

impl Lin {
    pub(crate) fn fixed(fixed: Nano) -> Lin {
        Lin {
            fixed,
            by_line: Vec::new(),
        }
    }

    /// Whether it is zero whatever is there.
    pub(crate) fn is_nought(&self) -> bool {
        self.fixed == 0 && self.by_line.iter().all(|own| *own == 0)
    }

    /// The part of a line.
    pub(crate) fn of(&self, line: usize) -> Nano {
        self.by_line.get(line).copied().unwrap_or(0)
    }

    fn each(&self, work: impl Fn(Nano) -> Result<Nano, Unbounded>) -> Result<Lin, Unbounded> {
        Ok(Lin {
            fixed: work(self.fixed)?,
            by_line: self
                .by_line
                .iter()
                .map(|own| work(*own))
                .collect::<Result<_, _>>()?,
        })
    }

    pub(super) fn with(
        &self,
        other: &Lin,
        work: impl Fn(Nano, Nano) -> Option<Nano>,
    ) -> Result<Lin, Unbounded> {
        let lines = self.by_line.len().max(other.by_line.len());
        let by_line = (0..lines).map(|line| work(self.of(line), other.of(line)));
        Ok(Lin {
            fixed: work(self.fixed, other.fixed).ok_or(TOO_LARGE)?,
            by_line: by_line.collect::<Option<_>>().ok_or(TOO_LARGE)?,
        })
    }

    pub(super) fn plus(&self, other: &Lin) -> Result<Lin, Unbounded> {
        self.with(other, i128::checked_add)
    }

    pub(super) fn minus(&self, other: &Lin) -> Result<Lin, Unbounded> {
        self.with(other, i128::checked_sub)
    }

    pub(super) fn negated(&self) -> Result<Lin, Unbounded> {
        Lin::default().minus(self)
    }
}

/// A figure of the parcel between two sums.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Between {
    pub(crate) least: Lin,
    pub(crate) most: Lin,
    /// Whether it is known not to be below zero, though its lower sum may be: a rounded figure that was not.
    pub(crate) positive: bool,
}

impl Between {
    /// One figure.
    pub(crate) fn of(number: Dec) -> Result<Between, Unbounded> {
        let (least, most) = around(number)?;
        Ok(Between::ends(least, most))
    }

    pub(crate) fn ends(least: Nano, most: Nano) -> Between {
        Between {
            least: Lin::fixed(least),
            most: Lin::fixed(most),
            positive: least >= 0,
        }
    }

    pub(crate) fn plus(&self, other: &Between) -> Result<Between, Unbounded> {
        Ok(Between {
            least: self.least.plus(&other.least)?,
            most: self.most.plus(&other.most)?,
            positive: self.positive && other.positive,
        })
    }

    pub(crate) fn minus(&self, other: &Between) -> Result<Between, Unbounded> {
        Ok(Between {
            least: self.least.minus(&other.most)?,
            most: self.most.minus(&other.least)?,
            positive: false,
        })
    }

    pub(crate) fn scaled(&self, factor: Fraction) -> Result<Between, Unbounded> {
        let (least, most) = if factor.is_negative() {
            (&self.most, &self.least)
        } else {
            (&self.least, &self.most)
        };
        Ok(Between {
            least: least.each(|own| factor.below(own))?,
            most: most.each(|own| factor.above(own))?,
            positive: self.positive && !factor.is_negative(),
        })
    }

    /// Whichever of two it is.
    pub(crate) fn either(&self, other: &Between) -> Result<Between, Unbounded> {
        Ok(Between {
            least: self.least.with(&other.least, |a, b| Some(a.min(b)))?,
            most: self.most.with(&other.most, |a, b| Some(a.max(b)))?,
            positive: self.positive && other.positive,
        })
    }
}

/// How far a rounded figure may be below and above the figure itself.
pub(super) fn off_by(rounding: Rounding, least: Nano) -> Result<(Nano, Nano), Unbounded> {
    let (_, step) = around(rounding.step)?;
    Ok(match rounding.mode {
        Mode::HalfUp | Mode::HalfEven | Mode::HalfDown => (step / 2 + 1, step / 2 + 1),
        Mode::Floor => (step, 1),
        Mode::Ceiling => (1, step),
        Mode::Down if least >= 0 => (step, 1),
        Mode::Up if least >= 0 => (1, step),
        Mode::Down | Mode::Up => (step, step),
    })
}

/// The packages of a case.
#[derive(Debug, Clone)]
pub(crate) struct Frame {
    /// For each line, the slot of which a package has one line at most; none for a line that is always there.
    pub(crate) slots: Vec<Option<usize>>,
    /// What each line that may be there adds to the goods.
    pub(crate) goods: Vec<Nano>,
    /// The least and the most goods of these.
    pub(crate) range: (Nano, Nano),
}

impl Frame {
    /// How many lines there may be at once.
    pub(super) fn most_lines(&self) -> usize {
        let sure = self.slots.iter().filter(|slot| slot.is_none()).count();
        self.slots_of(|_| true) + sure
    }

    /// How many lines that may be there, of those asked for, can be there at once.
    pub(super) fn slots_of(&self, asked: impl Fn(usize) -> bool) -> usize {
        let mut slots: Vec<usize> = self
            .slots
            .iter()
            .enumerate()
            .filter(|(line, _)| asked(*line))
            .filter_map(|(_, slot)| *slot)
            .collect();
        slots.sort_unstable();
        slots.dedup();
        slots.len()
    }

    pub(super) fn lines(&self) -> usize {
        self.slots.len()
    }

    fn open(&self) -> impl Iterator<Item = (usize, usize)> + '_ {
        let slots = self.slots.iter().enumerate();
        slots.filter_map(|(line, slot)| Some((line, (*slot)?)))
    }

    /// The sum over the lines that are there.
    pub(super) fn sum_of(&self, by_line: &[Nano]) -> Result<Lin, Unbounded> {
        let mut sum = Lin {
            fixed: 0,
            by_line: vec![0; self.lines()],
        };
        for ((own, slot), at) in by_line.iter().zip(&self.slots).zip(&mut sum.by_line) {
            if slot.is_some() {
                *at = *own;
            } else {
                sum.fixed = sum.fixed.checked_add(*own).ok_or(TOO_LARGE)?;
            }
        }
        Ok(sum)
    }

    /// Between which figures it is for all packages of the case.
    pub(crate) fn ends(&self, one: &Between) -> Result<(Nano, Nano), Unbounded> {
        let least = self.least_of(&one.least)?;
        let least = if one.positive { least.max(0) } else { least };
        Ok((least, self.most_of(&one.most)?))
    }

    /// What no package of the case is below.
    pub(crate) fn least_of(&self, sum: &Lin) -> Result<Nano, Unbounded> {
        if sum.by_line.iter().all(|own| *own == 0) {
            return Ok(sum.fixed);
        }
        let mut ratios: Vec<Nano> = Vec::new();
        for (line, _) in self.open().filter(|(line, _)| self.goods[*line] > 0) {
            let own = sum.of(line).checked_mul(ONE).ok_or(TOO_LARGE)?;
            ratios.push(own.div_euclid(self.goods[line]));
        }
        ratios.sort_unstable();
        let mut best = self.at_factor(sum, 0)?;
        let picked = [0, ratios.len() / 2, ratios.len().saturating_sub(1)];
        for factor in picked.iter().filter_map(|at| ratios.get(*at)) {
            best = best.max(self.at_factor(sum, *factor)?);
        }
        Ok(best)
    }

    /// What no package of the case is above.
    pub(crate) fn most_of(&self, sum: &Lin) -> Result<Nano, Unbounded> {
        Ok(-self.least_of(&sum.negated()?)?)
    }

    /// The bound that one factor of goods gives.
    fn at_factor(&self, sum: &Lin, factor: Nano) -> Result<Nano, Unbounded> {
        let (least, most) = self.range;
        let goods = if factor < 0 { most } else { least };
        let times = |figure: Nano| figure.checked_mul(factor).ok_or(TOO_LARGE);
        let mut bound = sum
            .fixed
            .checked_add(times(goods)?.div_euclid(ONE))
            .ok_or(TOO_LARGE)?;
        let mut of_slot: std::collections::BTreeMap<usize, Nano> =
            std::collections::BTreeMap::new();
        for (line, slot) in self.open() {
            // what is taken out is rounded up, so that what is left is rounded down
            let taken = -(-times(self.goods[line])?).div_euclid(ONE);
            let left = sum.of(line).checked_sub(taken).ok_or(TOO_LARGE)?;
            let least = of_slot.entry(slot).or_insert(0);
            *least = (*least).min(left);
        }
        for least in of_slot.values() {
            bound = bound.checked_add(*least).ok_or(TOO_LARGE)?;
        }
        Ok(bound)
    }

    /// The higher of two bounds from below, for a package from the middle of the case.
    pub(super) fn higher(&self, a: Lin, b: Lin) -> Lin {
        if self.typical(&b) > self.typical(&a) {
            b
        } else {
            a
        }
    }

    /// The lower of two bounds from above.
    pub(super) fn lower(&self, a: Lin, b: Lin) -> Lin {
        if self.typical(&b) < self.typical(&a) {
            b
        } else {
            a
        }
    }

    fn typical(&self, sum: &Lin) -> Nano {
        let (least, most) = self.range;
        let all: Nano = self.open().map(|(line, _)| self.goods[line]).sum();
        let middle = least.midpoint(most.min(all));
        let by_line: Nano = sum
            .by_line
            .iter()
            .fold(0, |sum, own| sum.saturating_add(*own));
        let count = i128::try_from(self.lines()).unwrap_or(1).max(1);
        let own = if all > 0 {
            by_line.saturating_mul(middle / 1000) / (all / 1000).max(1)
        } else {
            by_line / count
        };
        sum.fixed.saturating_add(own)
    }

    /// The goods at which a sum may begin to be above zero, and from which on it surely is; none where goods do not say it.
    pub(super) fn turns(&self, sum: &Between) -> Result<Vec<Nano>, Unbounded> {
        let mut found = Vec::new();
        if let Some(ratio) = self
            .ratio(&sum.least, Nano::min)?
            .filter(|ratio| *ratio > 0)
        {
            let surely = (-sum.least.fixed).checked_mul(ONE).ok_or(TOO_LARGE)?;
            found.push(surely.div_euclid(ratio) + 1);
        }
        if let Some(ratio) = self.ratio(&sum.most, Nano::max)?.filter(|ratio| *ratio > 0) {
            let maybe = (-sum.most.fixed).checked_mul(ONE).ok_or(TOO_LARGE)?;
            found.push(maybe.div_euclid(ratio) - 1);
        }
        Ok(found)
    }

    fn ratio(
        &self,
        sum: &Lin,
        pick: impl Fn(Nano, Nano) -> Nano,
    ) -> Result<Option<Nano>, Unbounded> {
        let mut found: Option<Nano> = None;
        for (line, _) in self.open() {
            if self.goods[line] <= 0 {
                continue;
            }
            let own = sum.of(line).checked_mul(ONE).ok_or(TOO_LARGE)?;
            let own = own.div_euclid(self.goods[line]);
            found = Some(found.map_or(own, |known| pick(known, own)));
        }
        Ok(found)
    }
}
