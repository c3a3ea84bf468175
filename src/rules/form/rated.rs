//! Which rate each line bears: the first row that serves it and whose condition holds.

use super::lower::Lowering;
use std::sync::Arc;

use super::{Id, Measure, RatePart, What};
use crate::rules::rate::RateUsed;
use crate::rules::step::ChargeStep;
use crate::tables::Provenance;
use crate::units::{Dec, Overflow};

/// The rates of a charge.
pub(super) struct Rated {
    /// Lines for which there is one.
    pub(super) found: Id,
    /// Which it is, counted from one among `rates`; zero for none.
    pub(super) which: Id,
    pub(super) rates: Vec<(RateUsed, Option<Provenance>)>,
    /// Rates that charge the same have one number, counted from zero in the order of what they charge.
    pub(super) class: Id,
    pub(super) classes: usize,
    /// Whether the sum itself is borne and no rate of it.
    pub(super) plain: bool,
}

impl Lowering<'_> {
    /// A charge that asks no table: by its own percentage, or by none.
    fn rated_by_itself(&mut self, step: &ChargeStep) -> Rated {
        let own = step.percent.map(|percent| RateUsed {
            percent,
            per_kg: Dec::ZERO,
            per_piece: Dec::ZERO,
            row: None,
        });
        Rated {
            found: self.make.sure(true),
            which: self.make.sure(own.is_some()),
            class: self.make.zero(),
            classes: 1,
            plain: own.is_none(),
            rates: own.map(|own| (own, None)).into_iter().collect(),
        }
    }

    pub(super) fn rated(&mut self, step: &ChargeStep) -> Result<Rated, Overflow> {
        let Some(from) = step.rate_from.as_ref().filter(|_| step.percent.is_none()) else {
            return Ok(self.rated_by_itself(step));
        };
        let (program, parcel) = (self.program, self.parcel);
        let table = self.table(from);
        let rows = table.in_order(from, (&parcel.lines, &self.alike), &program.groups, false);
        let rates: Vec<_> = rows
            .iter()
            .map(|(row, _)| (row.rate.clone(), Some(row.stamp.clone())))
            .collect();
        let numbers: Vec<Dec> = (1..=rates.len()).map(count).collect::<Result<_, _>>()?;
        let (classes, rates_differ) = classes(&rates)?;
        let mut holds = Vec::with_capacity(rows.len());
        for (row, serves) in &rows {
            let serves = self.make.truths(serves.iter().copied());
            let test = if self.make.never(serves) {
                serves
            } else {
                let before = self.reads(&row.stamp, &step.id);
                let test = self.test(&row.test)?;
                self.make.origin = before;
                test
            };
            holds.push(self.make.both(serves, test)?);
        }
        let which = self.first(&holds, &numbers)?;
        let class = self.first(&holds, &classes)?;
        let found = self.make.some(which)?;
        Ok(Rated {
            found,
            which,
            rates,
            class,
            classes: rates_differ,
            plain: false,
        })
    }

    /// The figure of the first of these that holds; zero where none does.
    fn first(&mut self, holds: &[Id], figures: &[Dec]) -> Result<Id, Overflow> {
        let mut found = self.make.zero();
        for (holds, figure) in holds.iter().zip(figures).rev() {
            let figure = self.make.fixed(*figure);
            found = self.make.choose(*holds, figure, found)?;
        }
        Ok(found)
    }

    /// A figure of the rate that each line bears.
    pub(super) fn of_rate(
        &mut self,
        rated: &Rated,
        measure: Measure,
        part: RatePart,
    ) -> Result<Id, Overflow> {
        let mut found = self.make.zero();
        for (at, (rate, stamp)) in rated.rates.iter().enumerate().rev() {
            let before = self.make.origin.clone();
            if let (Some(stamp), Some(now)) = (stamp, &before) {
                self.reads(stamp, &now.id);
            }
            let what = || What::Rate(part, Arc::new(rate.clone()));
            let own = self.make.figure(part.of(rate), measure, what);
            self.make.origin = before;
            let number = self.make.fixed(count(at + 1)?);
            let is_it = self
                .make
                .compare(rated.which, crate::tables::Op::Equal, number)?;
            found = self.make.choose(is_it, own, found)?;
        }
        Ok(found)
    }
}

pub(super) fn count(number: usize) -> Result<Dec, Overflow> {
    Ok(Dec::from(u32::try_from(number).map_err(|_| Overflow)?))
}

/// A number for each rate, alike for those that charge the same, in the order of what they charge; and how many there are.
fn classes(rates: &[(RateUsed, Option<Provenance>)]) -> Result<(Vec<Dec>, usize), Overflow> {
    let charged = |rate: &RateUsed| (rate.percent, rate.per_kg, rate.per_piece);
    let mut all: Vec<_> = rates.iter().map(|(rate, _)| charged(rate)).collect();
    all.sort_unstable();
    all.dedup();
    let place = |(rate, _): &(RateUsed, Option<Provenance>)| {
        count(all.partition_point(|other| *other < charged(rate)))
    };
    let numbers = rates.iter().map(place).collect::<Result<_, _>>()?;
    Ok((numbers, all.len().max(1)))
}
