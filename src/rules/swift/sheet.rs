//! The nodes of a form of several lines in whole numbers, worked out for those of its lines that a parcel holds.

use super::build::Maker;
use super::fixed::Whole;
use super::many::{distinct, mates, quotient, share, sum};
use super::run::Work;
use super::{Do, Reg, Spread};
use crate::rules::form::Input;
use std::collections::BTreeMap;

/// The steps of a form whose lines need not all be there.
#[derive(Debug, Clone)]
pub(super) struct Sheet {
    steps: Vec<Do>,
    starts: Vec<Start>,
    columns: Vec<Vec<i64>>,
}

/// How many figures stand before a step's: so many for each line, and so many for the parcel.
#[derive(Debug, Clone, Copy)]
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
            if let Some(figures) = here.together(step, work) {
                let figures = figures?;
                room.extend(figures);
                continue;
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

    fn all(&self, reg: Reg) -> Option<Vec<N>> {
        (0..self.lines.len()).map(|nth| self.at(reg, nth)).collect()
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

    /// Steps that look at all lines at once; none where a step does not, an inner none where a figure does not fit.
    #[expect(
        clippy::option_option,
        reason = "a step of single lines and a figure that does not fit are two things"
    )]
    fn together(&self, step: &Do, work: &Work<N>) -> Option<Option<Vec<N>>> {
        Some(match step {
            Do::Total(a) => self.all(*a).and_then(|all| Some(vec![sum(&all)?])),
            Do::Mates(keys, a) => {
                let (keys, all) = (self.all(*keys), self.all(*a));
                keys.zip(all).and_then(|(keys, all)| mates(&keys, &all))
            }
            Do::Distinct(keys) => self
                .all(*keys)
                .and_then(|keys| Some(vec![distinct(&keys)?])),
            Do::Spread(how) => self.spread(how, work),
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
        let mut groups: BTreeMap<N, Vec<usize>> = BTreeMap::new();
        for (nth, key) in keys
            .iter()
            .enumerate()
            .filter(|(_, key)| **key != N::default())
        {
            groups.entry(*key).or_default().push(nth);
        }
        let mut parts = vec![N::default(); self.lines.len()];
        for own in groups.values() {
            let whole = wholes.get(*own.first()?)?.by(N::from(how.whole.1))?.long();
            let by: Vec<i128> = own
                .iter()
                .map(|nth| weights.get(*nth).map(|weight| weight.long()))
                .collect::<Option<_>>()?;
            for (nth, part) in own.iter().zip(share(whole, by, step.long(), how.digits)?) {
                *parts.get_mut(*nth)? = N::of_long(part)?;
            }
        }
        Some(parts)
    }
}
