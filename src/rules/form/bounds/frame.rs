//! One case of a seller's packages.
//!
//! A package is a choice among lines: each is there or not, some always are. Whether a linear sum is above zero for all packages of
//! a case is asked of a relaxation: at most one line of each slot, and goods between two limits. Goods times any factor may be
//! taken out of the sum and put back at the limit that hurts most; what is left is least slot by slot. Each factor gives a bound,
//! and the best of a few is taken.

use std::collections::BTreeMap;
use std::rc::Rc;

use super::lin::{Between, Lin, Nano, ONE, TOO_LARGE, Unbounded};

/// The lines of a seller, whatever the case.
#[derive(Debug)]
struct Lines {
    /// For each line, the slot of which a package has one line at most; none for a line that is always there.
    slots: Vec<Option<usize>>,
    /// What each line that may be there adds to the goods.
    goods: Vec<Nano>,
    /// The lines that may be there, slot by slot.
    of_slot: Vec<Vec<usize>>,
    /// The goods of all of them.
    all: Nano,
    /// A minor unit of the money of goods.
    unit: Nano,
}

/// The packages of a case.
#[derive(Debug, Clone)]
pub(crate) struct Frame {
    lines: Rc<Lines>,
    /// The least and the most goods of the lines that may be there.
    range: (Nano, Nano),
}

/// From where on a difference counts as above zero, and as below it: at zero itself, or beyond.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Strict {
    pub(super) above: bool,
    pub(super) below: bool,
}

impl Frame {
    /// All packages: the slot of each line, what it adds to the goods in minor units, and how many billionths such a unit is.
    pub(crate) fn new(slots: &[Option<usize>], goods: &[i64], unit: Nano) -> Frame {
        let mut of_slot: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (line, slot) in slots.iter().enumerate() {
            if let Some(slot) = slot {
                of_slot.entry(*slot).or_default().push(line);
            }
        }
        let own =
            |(goods, slot): (&i64, &Option<usize>)| slot.map_or(0, |_| Nano::from(*goods) * unit);
        let goods: Vec<Nano> = goods.iter().zip(slots).map(own).collect();
        let all = goods.iter().sum();
        let lines = Lines {
            slots: slots.to_vec(),
            goods,
            of_slot: of_slot.into_values().collect(),
            all,
            unit,
        };
        Frame {
            lines: Rc::new(lines),
            range: (0, all),
        }
    }

    /// The packages whose goods lie between two limits, in minor units.
    pub(crate) fn within(&self, range: (i64, i64)) -> Frame {
        let unit = self.lines.unit;
        Frame {
            lines: Rc::clone(&self.lines),
            range: (Nano::from(range.0) * unit, Nano::from(range.1) * unit),
        }
    }

    /// How many lines there may be at once.
    pub(super) fn most_lines(&self) -> usize {
        let sure = self.lines.slots.iter().filter(|slot| slot.is_none());
        self.lines.of_slot.len() + sure.count()
    }

    /// How many lines that may be there, of those asked for, can be there at once.
    pub(super) fn slots_of(&self, asked: impl Fn(usize) -> bool) -> usize {
        let slots = self.lines.of_slot.iter();
        slots
            .filter(|own| own.iter().any(|line| asked(*line)))
            .count()
    }

    pub(super) fn lines(&self) -> usize {
        self.lines.slots.len()
    }

    /// Whether a line is there in every package.
    pub(super) fn is_sure(&self, line: usize) -> bool {
        self.lines.slots.get(line).is_some_and(Option::is_none)
    }

    fn open(&self) -> impl Iterator<Item = usize> + '_ {
        self.lines.of_slot.iter().flatten().copied()
    }

    /// The sum over the lines that are there.
    pub(super) fn sum_of(&self, by_line: &[Nano]) -> Result<Lin, Unbounded> {
        let mut sum = Lin {
            fixed: 0,
            by_line: by_line.to_vec(),
        };
        for (at, slot) in sum.by_line.iter_mut().zip(&self.lines.slots) {
            if slot.is_none() {
                sum.fixed = sum.fixed.checked_add(*at).ok_or(TOO_LARGE)?;
                *at = 0;
            }
        }
        Ok(sum)
    }

    /// The same figure for each line that is there.
    pub(super) fn for_each(&self, figure: Nano) -> Result<Lin, Unbounded> {
        self.sum_of(&vec![figure; self.lines()])
    }

    /// Between which figures it is for all packages of the case.
    pub(crate) fn ends(&self, one: &Between) -> Result<(Nano, Nano), Unbounded> {
        let least = self.least_of(&one.least)?;
        let least = if one.positive { least.max(0) } else { least };
        Ok((least, self.most_of(&one.most)?))
    }

    /// What no package of the case is below.
    pub(super) fn least_of(&self, sum: &Lin) -> Result<Nano, Unbounded> {
        if sum.is_fixed() {
            return Ok(sum.fixed);
        }
        let mut best = self.at_factor(sum, 0).ok_or(TOO_LARGE)?;
        let mut ratios = self.ratios(sum);
        ratios.sort_unstable();
        let picked = [0, ratios.len() / 2, ratios.len().saturating_sub(1)];
        for factor in picked.iter().filter_map(|at| ratios.get(*at)) {
            // a factor too large to calculate with gives no bound, and the others do
            best = best.max(self.at_factor(sum, *factor).unwrap_or(best));
        }
        Ok(best)
    }

    /// What no package of the case is above.
    pub(super) fn most_of(&self, sum: &Lin) -> Result<Nano, Unbounded> {
        Ok(-self.least_of(&sum.negated()?)?)
    }

    /// What each line adds to a sum, over what it adds to the goods.
    fn ratios(&self, sum: &Lin) -> Vec<Nano> {
        let with_goods = self.open().filter(|line| self.lines.goods[*line] > 0);
        let ratio = |line: usize| {
            let own = sum.of(line).checked_mul(ONE)?;
            Some(own.div_euclid(self.lines.goods[line]))
        };
        with_goods.filter_map(ratio).collect()
    }

    /// The bound that one factor of goods gives.
    fn at_factor(&self, sum: &Lin, factor: Nano) -> Option<Nano> {
        let (least, most) = self.range;
        let goods = if factor < 0 { most } else { least };
        let put_back = goods.checked_mul(factor)?.div_euclid(ONE);
        let mut bound = sum.fixed.checked_add(put_back)?;
        for slot in &self.lines.of_slot {
            let mut own = 0;
            for line in slot {
                // what is taken out is rounded up, so that what is left is rounded down
                let taken = match factor {
                    0 => 0,
                    _ => -self.lines.goods[*line]
                        .checked_mul(-factor)?
                        .div_euclid(ONE),
                };
                own = sum.of(*line).checked_sub(taken)?.min(own);
            }
            bound = bound.checked_add(own)?;
        }
        Some(bound)
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
        let all = self.lines.all;
        let add = |sum: Nano, own: &Nano| sum.saturating_add(*own);
        let by_line: Nano = sum.by_line.iter().fold(0, add);
        let own = if all > 0 {
            let middle = least.midpoint(most.min(all));
            by_line.saturating_mul(middle / 1000) / (all / 1000).max(1)
        } else {
            by_line / Nano::try_from(self.lines()).unwrap_or(1).max(1)
        };
        sum.fixed.saturating_add(own)
    }

    /// The last minor units of goods below the points where a difference may begin to be above zero, or below it, and from where
    /// on it surely is; as far as they are within the case, in their order.
    pub(super) fn turns(&self, apart: &Between, strict: Strict) -> Result<Vec<i64>, Unbounded> {
        let mut found = self.rising(apart, strict)?;
        let turned = Strict {
            above: strict.below,
            below: strict.above,
        };
        found.extend(self.rising(&Between::default().minus(apart)?, turned)?);
        let unit = self.lines.unit;
        let (least, most) = (self.range.0 / unit, self.range.1 / unit);
        found.retain(|cut| *cut >= least && *cut < most);
        found.sort_unstable();
        found.dedup();
        let cut = found.into_iter().map(i64::try_from);
        cut.collect::<Result<_, _>>().map_err(|_| TOO_LARGE)
    }

    /// The same where the difference rises with the goods.
    fn rising(&self, apart: &Between, strict: Strict) -> Result<Vec<Nano>, Unbounded> {
        let mut found = Vec::new();
        let unit = self.lines.unit;
        let up = |figure: Nano| figure.checked_mul(ONE).ok_or(TOO_LARGE);
        let least = self.ratios(&apart.least).into_iter().min();
        if let Some(ratio) = least.filter(|ratio| *ratio > 0) {
            let over = Nano::from(strict.above);
            let surely = -up(apart.least.fixed)?.div_euclid(ratio) + over;
            found.push(-(-surely).div_euclid(unit) - 1);
        }
        let most = self.ratios(&apart.most).into_iter().max();
        if let Some(ratio) = most.filter(|ratio| *ratio > 0) {
            let under = Nano::from(strict.below);
            let maybe = up(-apart.most.fixed)?.div_euclid(ratio) - under;
            found.push(maybe.div_euclid(unit));
        }
        Ok(found)
    }
}
