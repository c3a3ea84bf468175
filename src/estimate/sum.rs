//! The sum of independent unknowns, by convolution on a grid: exact in its method, repeatable, and with an error that
//! shrinks with the step.

use super::response::Curve;
use super::shown;
use super::three::ThreePoint;
use super::variance::Variance;
use crate::units::{Dec, Overflow};

/// The most cells of a grid.
const CELLS: f64 = 8192.0;

/// The distribution of a sum: chances on a grid of equal steps.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Distribution {
    start: f64,
    step: f64,
    chances: Vec<f64>,
}

/// A point of a distribution of money: whole minor units away from an exact amount.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Outcome(pub(crate) i64);

impl Outcome {
    /// The amount it stands for, to be shown: the exact amount and the minor units of it.
    pub(crate) fn beside(self, amount: Dec, digits: u32) -> Result<Dec, Overflow> {
        amount.plus(Dec::new(self.0, digits))
    }
}

impl Distribution {
    /// The sum of three-point estimates as they are.
    pub(crate) fn of_points(terms: &[ThreePoint]) -> Distribution {
        let width: f64 = terms.iter().map(|t| t.ends().1 - t.ends().0).sum();
        let start = terms.iter().map(|t| t.ends().0).sum();
        let step = if width > 0.0 { width / CELLS } else { 1.0 };
        let mut sum = Distribution {
            start,
            step,
            chances: vec![1.0],
        };
        for term in terms.iter().filter(|t| !t.is_constant()) {
            let (low, high) = term.ends();
            let cells = ((high - low) / step).ceil() as usize + 1;
            let edge = |at: usize| low + (at as f64 - 0.5) * step;
            let masses: Vec<f64> = (0..=cells)
                .map(|at| term.below(edge(at + 1)) - term.below(edge(at)))
                .collect();
            sum.chances = convolved(&sum.chances, &masses);
        }
        sum
    }

    /// The sum of independent groups, in minor units. Within a group the answers to the other unknowns depend on where the
    /// first one lies: they are given for each slice of its range.
    pub(crate) fn of_groups(groups: &[Group]) -> Distribution {
        let width: f64 = groups.iter().map(Group::width).sum();
        let step = (width / CELLS).ceil().max(1.0);
        let mut sum = Distribution {
            start: 0.0,
            step,
            chances: vec![1.0],
        };
        for group in groups {
            let own = group.sum(step);
            sum.start += own.start;
            sum.chances = convolved(&sum.chances, &own.chances);
        }
        sum
    }

    /// One of two sums: the first with this chance in percent, else the other, which lies `further` minor units further on.
    pub(crate) fn either(
        one: &Distribution,
        chance: Dec,
        other: &Distribution,
        further: i64,
    ) -> Distribution {
        let share = (super::float(chance) / 100.0).clamp(0.0, 1.0);
        let both = [(one, 0.0, share), (other, further as f64, 1.0 - share)];
        let least = both
            .iter()
            .map(|(sum, by, _)| sum.start + by - sum.step)
            .fold(f64::INFINITY, f64::min);
        let most = both
            .iter()
            .map(|(sum, by, _)| sum.start + by + sum.step * sum.chances.len() as f64)
            .fold(f64::NEG_INFINITY, f64::max);
        let step = both
            .iter()
            .map(|(sum, ..)| sum.step)
            .fold(((most - least) / (64.0 * CELLS)).ceil().max(1.0), f64::max);
        let mut masses = vec![0.0; ((most - least) / step).ceil() as usize + 2];
        for (sum, by, weight) in both {
            let whole: f64 = sum.chances.iter().sum();
            let half = if sum.chances.iter().filter(|p| **p > 0.0).count() <= 1 {
                0.0
            } else {
                0.5
            };
            for (at, chance) in sum
                .chances
                .iter()
                .enumerate()
                .filter(|(_, p)| **p > 0.0 && whole > 0.0)
            {
                let place = |cell: f64| (sum.start + by + sum.step * cell - least) / step;
                lay(
                    &mut masses,
                    weight * chance / whole,
                    place(at as f64 - half),
                    place(at as f64 + half),
                );
            }
        }
        Distribution {
            start: least,
            step,
            chances: masses,
        }
    }

    /// Mixes another sum on the same grid in.
    fn mix(&mut self, other: &Distribution) {
        let cell = |start: f64| (start / self.step).round() as i64;
        let (own, new) = (cell(self.start), cell(other.start));
        let first = own.min(new);
        let last = (own + self.chances.len() as i64).max(new + other.chances.len() as i64);
        let mut chances = vec![0.0; (last - first) as usize];
        for (from, part) in [(own, &self.chances), (new, &other.chances)] {
            for (cell, chance) in chances[(from - first) as usize..].iter_mut().zip(part) {
                *cell += chance;
            }
        }
        self.start = first as f64 * self.step;
        self.chances = chances;
    }

    /// Adds an independent term made of pieces.
    fn add(&mut self, pieces: &[(f64, f64, f64)]) {
        let least = pieces
            .iter()
            .map(|(_, y0, y1)| y0.min(*y1))
            .fold(f64::INFINITY, f64::min);
        let most = pieces
            .iter()
            .map(|(_, y0, y1)| y0.max(*y1))
            .fold(f64::NEG_INFINITY, f64::max);
        if pieces.is_empty() {
            return;
        }
        let low = (least / self.step).floor();
        let cells = ((most / self.step).ceil() - low) as usize + 1;
        let mut masses = vec![0.0; cells + 1];
        for (chance, y0, y1) in pieces {
            lay(
                &mut masses,
                *chance,
                y0 / self.step - low,
                y1 / self.step - low,
            );
        }
        self.start += low * self.step;
        self.chances = convolved(&self.chances, &masses);
    }

    /// The mean.
    pub(crate) fn mean(&self) -> f64 {
        let whole: f64 = self.chances.iter().sum();
        let moment: f64 = self
            .chances
            .iter()
            .enumerate()
            .map(|(at, p)| p * at as f64)
            .sum();
        self.start + self.step * moment / whole
    }

    /// The standard deviation.
    #[cfg(test)]
    pub(crate) fn deviation(&self) -> f64 {
        let (whole, mean): (f64, f64) = (self.chances.iter().sum(), self.mean());
        let square = |at: usize| (self.start + self.step * at as f64 - mean).powi(2);
        let chances = self.chances.iter().enumerate();
        let squares: f64 = chances.map(|(at, p)| p * square(at)).sum();
        (squares / whole).sqrt()
    }

    /// The figure below which a share of the outcomes lies; each cell's chance is spread evenly over it, a lone cell is
    /// a constant.
    pub(crate) fn quantile(&self, share: f64) -> f64 {
        if self.chances.iter().filter(|p| **p > 0.0).count() <= 1 {
            return self.mean();
        }
        let target = share.clamp(0.0, 1.0) * self.chances.iter().sum::<f64>();
        let mut below = 0.0;
        for (at, chance) in self.chances.iter().enumerate() {
            if *chance > 0.0 && below + chance >= target {
                return self.start
                    + self.step * (at as f64 - 0.5 + ((target - below) / chance).clamp(0.0, 1.0));
            }
            below += chance;
        }
        self.start + self.step * (self.chances.len() as f64 - 1.0)
    }

    /// The outcome below which this many out of a hundred lie, in whole minor units.
    pub(crate) fn at(&self, percent: Dec) -> Outcome {
        Outcome(self.quantile(super::float(percent) / 100.0).round() as i64)
    }

    /// The figure below which this many out of a hundred lie, to a whole number, for what is not money.
    pub(crate) fn point(&self, percent: u32) -> Dec {
        shown(self.quantile(f64::from(percent) / 100.0), 0)
    }

    /// The chance out of a hundred of staying at or below a figure, to one decimal.
    pub(crate) fn chance_below(&self, limit: Dec) -> Dec {
        self.share_within((super::float(limit) - self.start) / self.step)
    }

    /// The chance in percent of staying at or below a number of minor units, to one decimal.
    pub(crate) fn chance_within(&self, minor_units: i64) -> Dec {
        self.share_within((minor_units as f64 - self.start) / self.step)
    }

    fn share_within(&self, limit: f64) -> Dec {
        let whole: f64 = self.chances.iter().sum();
        let lone = self.chances.iter().filter(|p| **p > 0.0).count() <= 1;
        let share = |at: usize| {
            if lone {
                f64::from(u8::from(at as f64 <= limit))
            } else {
                (limit - at as f64 + 0.5).clamp(0.0, 1.0)
            }
        };
        let below: f64 = self
            .chances
            .iter()
            .enumerate()
            .map(|(at, p)| p * share(at))
            .sum();
        shown(100.0 * (below / whole).clamp(0.0, 1.0), 1)
    }

    /// The step of the grid in minor units: quantiles are right to about this much, of the method.
    pub(crate) fn step(&self) -> Outcome {
        Outcome(self.step.ceil() as i64)
    }
}

/// Unknowns that hang together: one that moves them all, and for each slice of its range the answers to the others.
#[derive(Debug, Clone, Default)]
pub(crate) struct Group {
    /// The unknown that moves the whole group; none when the others stand alone.
    pub(crate) first: Option<Curve>,
    /// Slices in order, without gaps: the answers to the others while the first lies there.
    pub(crate) slices: Vec<Slice>,
    /// What happens or does not: the chance out of a hundred, and what it then costs.
    pub(crate) events: Vec<(Dec, Curve)>,
}

/// A slice of the range of a group's first unknown.
#[derive(Debug, Clone)]
pub(crate) struct Slice {
    /// Where it ends; the last one has no end.
    pub(crate) to: Option<Dec>,
    /// The answers to the other unknowns.
    pub(crate) others: Vec<Curve>,
}

impl Group {
    fn width(&self) -> f64 {
        let wide = |curve: &Curve| {
            let (low, high) = curve.range();
            if low <= high { high - low } else { 0.0 }
        };
        let others = |slice: &Slice| slice.others.iter().map(wide).sum::<f64>();
        self.first.as_ref().map_or(0.0, wide)
            + self.slices.iter().map(others).fold(0.0, f64::max)
            + self
                .events
                .iter()
                .map(|(_, curve)| curve.range().1.abs().max(curve.range().0.abs()))
                .sum::<f64>()
    }

    /// How much each unknown spreads the sum on its own: the first, the others in their order, on average over the slices, then the events.
    pub(crate) fn variances(&self) -> Vec<Variance> {
        let lasting = |curve: &Curve| Variance::of(curve.moments(), 1.0);
        let others = self.slices.first().map_or(0, |slice| slice.others.len());
        let slices = self.slices.len().max(1) as f64;
        let other = |at: usize| {
            let all = self
                .slices
                .iter()
                .filter_map(|slice| slice.others.get(at))
                .map(|curve| lasting(curve).0);
            Variance(all.sum::<f64>() / slices)
        };
        let event = |(chance, curve): &(Dec, Curve)| {
            Variance::of(curve.moments(), super::float(*chance) / 100.0)
        };
        self.first
            .iter()
            .map(lasting)
            .chain((0..others).map(other))
            .chain(self.events.iter().map(event))
            .collect()
    }

    fn sum(&self, step: f64) -> Distribution {
        let point = || Distribution {
            start: 0.0,
            step,
            chances: vec![1.0],
        };
        let mut mixed: Option<Distribution> = None;
        let mut from = f64::NEG_INFINITY;
        for slice in &self.slices {
            let to = slice.to.map_or(f64::INFINITY, super::float);
            let mut own = point();
            match &self.first {
                Some(first) => own.add(&first.pieces_within(from, to)),
                None => own.add(&[(1.0, 0.0, 0.0)]),
            }
            from = to;
            if own.chances.iter().sum::<f64>() <= 0.0 {
                continue;
            }
            slice
                .others
                .iter()
                .for_each(|curve| own.add(&curve.pieces_within(f64::NEG_INFINITY, f64::INFINITY)));
            match &mut mixed {
                None => mixed = Some(own),
                Some(mixed) => mixed.mix(&own),
            }
        }
        let mut sum = mixed.unwrap_or_else(point);
        for (chance, curve) in &self.events {
            let chance = (super::float(*chance) / 100.0).clamp(0.0, 1.0);
            let happens = curve
                .pieces_within(f64::NEG_INFINITY, f64::INFINITY)
                .into_iter()
                .map(|(p, y0, y1)| (p * chance, y0, y1));
            let pieces: Vec<(f64, f64, f64)> = std::iter::once((1.0 - chance, 0.0, 0.0))
                .chain(happens)
                .collect();
            sum.add(&pieces);
        }
        sum
    }

    /// What the group's sum is at these figures, in minor units: the answer of the whole, for holding against the engine.
    pub(crate) fn answer(&self, first: Option<Dec>, others: &[Dec]) -> i64 {
        let at = first.map_or(0.0, super::float);
        let own = self.first.as_ref().map_or(0.0, |curve| curve.answer(at));
        let here = self
            .slices
            .iter()
            .find(|slice| slice.to.is_none_or(|to| at <= super::float(to)));
        let rest: f64 = here.map_or(0.0, |slice| {
            slice
                .others
                .iter()
                .zip(others)
                .map(|(curve, x)| curve.answer(super::float(*x)))
                .sum()
        });
        (own + rest).round() as i64
    }
}

/// Lays a chance that is spread evenly from one place to another over the cells it covers; a lone place is shared by
/// its two neighbours so that the mean stands.
fn lay(masses: &mut [f64], chance: f64, from: f64, to: f64) {
    let (from, to) = (from.min(to), from.max(to));
    if to - from < 1.0e-9 {
        let cell = from.floor();
        let rest = from - cell;
        let cell = cell.max(0.0) as usize;
        add(masses, cell, chance * (1.0 - rest));
        add(masses, cell + 1, chance * rest);
        return;
    }
    let (first, last) = (
        (from + 0.5).floor().max(0.0) as usize,
        (to + 0.5).floor().max(0.0) as usize,
    );
    for cell in first..=last {
        let covered = (to.min(cell as f64 + 0.5) - from.max(cell as f64 - 0.5)).max(0.0);
        add(masses, cell, chance * covered / (to - from));
    }
}

fn add(masses: &mut [f64], cell: usize, chance: f64) {
    let last = masses.len().saturating_sub(1);
    if let Some(mass) = masses.get_mut(cell.min(last)) {
        *mass += chance;
    }
}

fn convolved(one: &[f64], other: &[f64]) -> Vec<f64> {
    let mut out = vec![0.0; one.len() + other.len() - 1];
    for (at, p) in one.iter().copied().enumerate().filter(|(_, p)| *p > 0.0) {
        add_times(&mut out[at..at + other.len()], p, other);
    }
    out
}

/// Adds a multiple of one row to a row of the same length, eight cells at a turn: nearly all the work of a sum is done here.
fn add_times(sum: &mut [f64], times: f64, row: &[f64]) {
    let (sums, sums_left) = sum.as_chunks_mut::<8>();
    let (rows, rows_left) = row.as_chunks::<8>();
    let mut at = 0;
    while at < sums.len() {
        let (to, from) = (&mut sums[at], &rows[at]);
        to[0] += times * from[0];
        to[1] += times * from[1];
        to[2] += times * from[2];
        to[3] += times * from[3];
        to[4] += times * from[4];
        to[5] += times * from[5];
        to[6] += times * from[6];
        to[7] += times * from[7];
        at += 1;
    }
    sums_left
        .iter_mut()
        .zip(rows_left)
        .for_each(|(to, from)| *to += times * from);
}
