//! The sum of independent unknowns, by convolution on a grid: exact in its method, repeatable, and with an error that
//! shrinks with the step.

use super::response::Curve;
use super::shown;
use super::three::ThreePoint;
use crate::units::{Dec, Overflow};

/// The most cells of a grid.
const CELLS: f64 = 8192.0;

/// The distribution of a sum: chances on a grid of equal steps.
#[derive(Debug, Clone, PartialEq)]
pub struct Sum {
    start: f64,
    step: f64,
    chances: Vec<f64>,
}

/// A point of a distribution of money: whole minor units away from an exact amount.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Outcome(pub i64);

impl Outcome {
    /// The amount it stands for, to be shown: the exact amount and the minor units of it.
    pub fn beside(self, amount: Dec, digits: u32) -> Result<Dec, Overflow> {
        amount.plus(Dec::new(self.0, digits))
    }
}

impl Sum {
    /// The sum of three-point estimates as they are.
    pub fn of_points(terms: &[ThreePoint]) -> Sum {
        let width: f64 = terms.iter().map(|t| t.ends().1 - t.ends().0).sum();
        let start = terms.iter().map(|t| t.ends().0).sum();
        let step = if width > 0.0 { width / CELLS } else { 1.0 };
        let mut sum = Sum { start, step, chances: vec![1.0] };
        for term in terms.iter().filter(|t| !t.is_constant()) {
            let (low, high) = term.ends();
            let cells = ((high - low) / step).ceil() as usize + 1;
            let edge = |at: usize| low + (at as f64 - 0.5) * step;
            let masses: Vec<f64> = (0..=cells).map(|at| term.below(edge(at + 1)) - term.below(edge(at))).collect();
            sum.chances = convolved(&sum.chances, &masses);
        }
        sum
    }

    /// The sum of the answers to independent unknowns, in minor units, and of things that happen or do not: each with
    /// its chance in the hundred, and the minor units it then costs.
    pub fn of_curves(curves: &[Curve], events: &[(Dec, i64)]) -> Sum {
        let ranges: Vec<(f64, f64)> = curves.iter().map(Curve::range).filter(|(low, high)| low <= high).collect();
        let width = ranges.iter().map(|(low, high)| high - low).sum::<f64>() + events.iter().map(|(_, cost)| cost.abs() as f64).sum::<f64>();
        let step = (width / CELLS).ceil().max(1.0);
        let mut sum = Sum { start: 0.0, step, chances: vec![1.0] };
        for curve in curves {
            sum.add(&curve.pieces());
        }
        for (chance, cost) in events {
            let chance = (super::float(*chance) / 100.0).clamp(0.0, 1.0);
            let cost = *cost as f64;
            sum.add(&[(1.0 - chance, 0.0, 0.0), (chance, cost, cost)]);
        }
        sum
    }

    /// Adds an independent term made of pieces.
    fn add(&mut self, pieces: &[(f64, f64, f64)]) {
        let least = pieces.iter().map(|(_, y0, y1)| y0.min(*y1)).fold(f64::INFINITY, f64::min);
        let most = pieces.iter().map(|(_, y0, y1)| y0.max(*y1)).fold(f64::NEG_INFINITY, f64::max);
        if pieces.is_empty() || (least == 0.0 && most == 0.0) {
            return;
        }
        let low = (least / self.step).floor();
        let cells = ((most / self.step).ceil() - low) as usize + 1;
        let mut masses = vec![0.0; cells + 1];
        for (chance, y0, y1) in pieces {
            lay(&mut masses, *chance, y0 / self.step - low, y1 / self.step - low);
        }
        let whole: f64 = masses.iter().sum();
        masses.iter_mut().for_each(|m| *m /= whole);
        self.start += low * self.step;
        self.chances = convolved(&self.chances, &masses);
    }

    /// The mean.
    pub fn mean(&self) -> f64 {
        let whole: f64 = self.chances.iter().sum();
        let moment: f64 = self.chances.iter().enumerate().map(|(at, p)| p * at as f64).sum();
        self.start + self.step * moment / whole
    }

    /// The standard deviation.
    pub fn deviation(&self) -> f64 {
        let (whole, mean): (f64, f64) = (self.chances.iter().sum(), self.mean());
        let square = |at: usize| (self.start + self.step * at as f64 - mean).powi(2);
        (self.chances.iter().enumerate().map(|(at, p)| p * square(at)).sum::<f64>() / whole).sqrt()
    }

    /// The figure below which a share of the outcomes lies; each cell's chance is spread evenly over it, a lone cell is
    /// a constant.
    pub fn quantile(&self, share: f64) -> f64 {
        if self.chances.iter().filter(|p| **p > 0.0).count() <= 1 {
            return self.mean();
        }
        let target = share.clamp(0.0, 1.0) * self.chances.iter().sum::<f64>();
        let mut below = 0.0;
        for (at, chance) in self.chances.iter().enumerate() {
            if *chance > 0.0 && below + chance >= target {
                return self.start + self.step * (at as f64 - 0.5 + ((target - below) / chance).clamp(0.0, 1.0));
            }
            below += chance;
        }
        self.start + self.step * (self.chances.len() as f64 - 1.0)
    }

    /// The outcome below which this many in the hundred lie, in whole minor units.
    pub fn at(&self, percent: Dec) -> Outcome {
        Outcome(self.quantile(super::float(percent) / 100.0).round() as i64)
    }

    /// The chance in the hundred of staying at or below so many minor units, to one decimal.
    pub fn chance_within(&self, minor_units: i64) -> Dec {
        let limit = (minor_units as f64 - self.start) / self.step;
        let whole: f64 = self.chances.iter().sum();
        let lone = self.chances.iter().filter(|p| **p > 0.0).count() <= 1;
        let share = |at: usize| if lone { f64::from(u8::from(at as f64 <= limit)) } else { (limit - at as f64 + 0.5).clamp(0.0, 1.0) };
        let below: f64 = self.chances.iter().enumerate().map(|(at, p)| p * share(at)).sum();
        shown(100.0 * (below / whole).clamp(0.0, 1.0), 1)
    }

    /// The step of the grid in minor units: quantiles are right to about this much, of the method.
    pub fn step(&self) -> Outcome {
        Outcome(self.step.ceil() as i64)
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
    let (first, last) = ((from + 0.5).floor().max(0.0) as usize, (to + 0.5).floor().max(0.0) as usize);
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
    for (at, p) in one.iter().enumerate().filter(|(_, p)| **p > 0.0) {
        for (cell, q) in out[at..].iter_mut().zip(other) {
            *cell += p * q;
        }
    }
    out
}
