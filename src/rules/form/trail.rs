//! The trail: what the exact reading of a form says, row by row, with the reason why an amount is not due.

use std::borrow::Cow;

use super::algebra::{Cells, evaluate};
use super::exact::Exact;
use super::lower::{collect_of, lower};
use super::marks::{By, ChargeMarks, EndedMarks, Marks, PartMarks, ReliefMarks, RowOf, StepMarks};
use super::{Form, Id};
use crate::rules::assessment::{Assessment, Ended, Entry, Limit, RateApplication, WhyNot};
use crate::rules::parcel::Parcel;
use crate::rules::program::Program;
use crate::rules::rate::RateUsed;
use crate::rules::step::{ChargeStep, ReliefStep, Step};
use crate::tables::{Kind, Provenance, RowRef, TestPer};
use crate::units::{Dec, Overflow, SellerMoney};

/// Applies a program to a parcel: its form, read exactly.
pub(crate) fn assess(program: &Program, parcel: &Parcel) -> Result<Assessment, Overflow> {
    let (form, marks) = lower(program, parcel)?;
    let cells = evaluate(&form, &mut Exact(parcel))?;
    Trail {
        program,
        parcel,
        form: &form,
        marks: &marks,
        cells,
    }
    .told()
}

/// What is paid for a parcel.
pub(in crate::rules) struct Paid {
    /// All charges together.
    pub(in crate::rules) sum: Dec,
    /// Lines that lack a rate they are owed.
    pub(in crate::rules) gaps: Vec<usize>,
}

/// What is paid for a parcel: the same form, of which no trail is told.
pub(in crate::rules) fn paid(program: &Program, parcel: &Parcel) -> Result<Paid, Overflow> {
    let (form, marks) = lower(program, parcel)?;
    let cells = evaluate(&form, &mut Exact(parcel))?;
    let trail = Trail {
        program,
        parcel,
        form: &form,
        marks: &marks,
        cells,
    };
    let charges = marks.steps.iter().filter_map(StepMarks::charge);
    let counted = charges.filter(|one| one.kind != Kind::Value && trail.holds(one.counts));
    let sums = counted.map(|one| Dec::total(trail.column(one.shares)));
    let sum = Dec::total(sums.collect::<Result<Vec<_>, _>>()?)?;
    let gaps = trail.lines(marks.gaps);
    Ok(Paid { sum, gaps })
}

struct Trail<'a> {
    program: &'a Program,
    parcel: &'a Parcel,
    form: &'a Form,
    marks: &'a Marks,
    cells: Cells<Dec>,
}

impl Trail<'_> {
    fn told(&self) -> Result<Assessment, Overflow> {
        let (mut entries, mut limits, mut clashes, mut negative) =
            (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        for marks in &self.marks.steps {
            match marks {
                StepMarks::Charge(charge) => {
                    let Some(step) = self.step_of(charge.row) else {
                        continue;
                    };
                    entries.extend(self.entry(charge, &step)?);
                    clashes.extend(self.clashes(charge, &step));
                    negative.extend(self.negative(charge, &step));
                }
                StepMarks::Relief(relief) => {
                    let Some(Step::Relief(step)) = self.program.steps.get(relief.step) else {
                        continue;
                    };
                    limits.extend(self.limit(relief, step));
                    entries.push(relief_entry(step, self.over_limit(relief, step)));
                }
                StepMarks::NotDue(at) => {
                    entries.extend(self.program.steps.get(*at).map(without_condition));
                }
            }
        }
        let lines = self.form.lines();
        let collect = (0..lines)
            .map(|line| collect_of(*self.cells.at(self.marks.collect, line)))
            .collect();
        let ended = self.ended();
        Ok(Assessment {
            entries,
            limits,
            collect,
            gaps: self.lines(self.marks.gaps),
            ended,
            clashes,
            negative,
        })
    }

    fn at(&self, id: Id) -> Dec {
        if self.form.lines() == 0 && self.form.node(id).by_line {
            Dec::ZERO
        } else {
            *self.cells.at(id, 0)
        }
    }

    fn holds(&self, id: Id) -> bool {
        !self.at(id).is_zero()
    }

    fn lines(&self, id: Id) -> Vec<usize> {
        (0..self.form.lines())
            .filter(|line| !self.cells.at(id, *line).is_zero())
            .collect()
    }

    fn column(&self, id: Id) -> Vec<Dec> {
        (0..self.form.lines())
            .map(|line| *self.cells.at(id, line))
            .collect()
    }

    fn step_of(&self, row: RowOf) -> Option<Cow<'_, ChargeStep>> {
        step_of(self.program, self.parcel, row)
    }

    /// The entry of a charge that is not due.
    fn not_entered(&self, charge: &ChargeMarks, step: &ChargeStep, why_not: WhyNot) -> Entry {
        let unrated = if why_not == WhyNot::NoRate {
            self.lines(charge.unrated)
        } else {
            Vec::new()
        };
        // the row of the table is what is not due, not the fee in its place
        let original = match charge.row {
            RowOf::OwnFee(at) => self.step_of(RowOf::Step(at)),
            _ => None,
        };
        Entry {
            why_not: Some(why_not),
            unrated,
            ..Entry::of_charge(original.as_deref().unwrap_or(step))
        }
    }

    /// The entry of a charge; none for a fee at last that nothing calls for.
    fn entry(&self, charge: &ChargeMarks, step: &ChargeStep) -> Result<Option<Entry>, Overflow> {
        if let Some(why_not) = self.never_entered(charge, step) {
            let at_last = charge.row == RowOf::OwnFeeAtLast;
            return Ok((!at_last).then(|| self.not_entered(charge, step, why_not)));
        }
        let shares = self.column(charge.shares);
        let counts = self.holds(charge.counts);
        let amount = if counts {
            Some(Dec::total(shares.iter().copied())?)
        } else {
            None
        };
        let own_fee = !matches!(charge.row, RowOf::Step(_));
        Ok(Some(Entry {
            rate_rows: self.rate_rows(charge),
            amount,
            paid: charge
                .paid
                .map(|paid| self.column(paid).into_iter().map(SellerMoney::of))
                .into_iter()
                .flatten()
                .collect(),
            parts: self.parts(charge),
            lines: self.lines(charge.lines),
            unrated: self.lines(charge.unrated),
            why_not: if counts { None } else { self.taken(charge) },
            flat: if own_fee {
                Some(self.at(charge.entered.total))
            } else {
                step.flat
            },
            shares,
            ..Entry::of_charge(step)
        }))
    }

    /// Why a charge came to nothing when it was looked at.
    fn never_entered(&self, charge: &ChargeMarks, step: &ChargeStep) -> Option<WhyNot> {
        let picked = self.lines(charge.picked);
        let Some(first) = picked.first() else {
            return Some(WhyNot::Condition(step.when.clone()));
        };
        if self.lines(charge.works_on).is_empty() {
            return Some(WhyNot::Relieved(self.relief_of(charge, *first)));
        }
        if self.lines(charge.bears).is_empty() {
            let own_fee = matches!(charge.row, RowOf::OwnFee(_));
            return Some(if own_fee {
                WhyNot::OwnFee
            } else {
                WhyNot::NoRate
            });
        }
        if self.holds(charge.entered.counts) {
            return None;
        }
        let beaten = charge
            .entered
            .beaten_by
            .iter()
            .rev()
            .find(|(_, by)| self.holds(*by));
        Some(WhyNot::Group(
            beaten.map(|(id, _)| id.clone()).unwrap_or_default(),
        ))
    }

    /// The limit that had dropped a charge on a line: the last of its kind, else the last of its id. One that tests the duty
    /// itself does not take the place of another.
    fn relief_of(&self, charge: &ChargeMarks, line: usize) -> String {
        let last = |reliefs: &[(usize, Id)]| {
            let held = reliefs
                .iter()
                .filter(|(_, held)| !self.cells.at(*held, line).is_zero());
            let steps = held.filter_map(|(at, _)| match self.program.steps.get(*at) {
                Some(Step::Relief(relief)) => Some(relief),
                _ => None,
            });
            steps.fold(None, |known: Option<&ReliefStep>, relief| {
                known.filter(|_| relief.tests_duty).or(Some(relief))
            })
        };
        let [of_kind, of_id] = &charge.reliefs;
        last(of_kind)
            .or_else(|| last(of_id))
            .map(|relief| relief.id.clone())
            .unwrap_or_default()
    }

    /// What took the last lines from a charge that counted once.
    fn taken(&self, charge: &ChargeMarks) -> Option<WhyNot> {
        let event = charge
            .events
            .iter()
            .find(|event| !self.holds(event.counts))?;
        Some(match &event.by {
            By::Group(id) => WhyNot::Group(id.clone()),
            By::Relief(id) => WhyNot::Relieved(id.clone()),
        })
    }

    /// Which rate a line bears.
    fn rate<'c>(
        &self,
        charge: &'c ChargeMarks,
        line: usize,
    ) -> Option<&'c (RateUsed, Option<Provenance>)> {
        let which = usize::try_from(self.cells.at(charge.rate, line).in_units(0)?).ok()?;
        charge.rates.get(which.checked_sub(1)?)
    }

    fn rate_rows(&self, charge: &ChargeMarks) -> Vec<Provenance> {
        let bears = self.lines(charge.bears);
        bears
            .into_iter()
            .filter_map(|line| self.rate(charge, line)?.1.clone())
            .collect()
    }

    fn parts(&self, charge: &ChargeMarks) -> Vec<RateApplication> {
        let lost = self.lines(charge.entered.lost);
        let mut found = Vec::new();
        for part in &charge.parts {
            match part.keys {
                None => found.extend(
                    self.lines(part.lines)
                        .into_iter()
                        .map(|line| (line, self.part(charge, part, line))),
                ),
                Some(keys) => found.extend(self.keyed_parts(charge, part, keys)),
            }
        }
        let bears = self.lines(charge.bears).len();
        if found.len() == bears {
            // lines are told in their order
            found.retain(|(line, _)| lost.binary_search(line).is_err());
        }
        found.into_iter().map(|(_, part)| part).collect()
    }

    fn part(&self, charge: &ChargeMarks, part: &PartMarks, line: usize) -> RateApplication {
        let rate = self.rate(charge, line).map(|(rate, _)| rate.clone());
        RateApplication {
            base: *self.cells.at(part.base, line),
            rate,
            amount: *self.cells.at(part.amount, line),
        }
    }

    /// One part for each key, in the order of keys; of rates that charge the same the first row is named.
    fn keyed_parts(
        &self,
        charge: &ChargeMarks,
        part: &PartMarks,
        keys: Id,
    ) -> Vec<(usize, RateApplication)> {
        let mut firsts: std::collections::BTreeMap<Dec, (usize, RateApplication)> =
            std::collections::BTreeMap::new();
        for line in self.lines(part.lines) {
            let (_, known) = firsts
                .entry(*self.cells.at(keys, line))
                .or_insert_with(|| (line, self.part(charge, part, line)));
            let own = self.rate(charge, line).map(|(rate, _)| rate);
            if own < known.rate.as_ref() {
                known.rate = own.cloned();
            }
        }
        firsts.into_values().collect()
    }

    fn clashes(&self, charge: &ChargeMarks, step: &ChargeStep) -> Option<(String, RowRef, RowRef)> {
        let mut clashing = charge.clashes.iter().filter(|(_, both)| self.holds(*both));
        let other = clashing.find_map(|(row, _)| self.step_of(*row))?;
        let rows = (other.stamp.row.clone(), step.stamp.row.clone());
        Some((step.id.clone(), rows.0, rows.1))
    }

    /// What somebody pays is never less than nothing: not as a whole, and of a row for single lines on none of them. Parts of a thing
    /// that is declared as one are one line: what some of them share may be below nothing.
    fn negative(&self, charge: &ChargeMarks, step: &ChargeStep) -> Option<(String, Dec, RowRef)> {
        if step.kind == Kind::Value || !self.holds(charge.entered.counts) {
            return None;
        }
        let singly = if charge.singly {
            let shares = self.column(charge.entered.shares).into_iter().enumerate();
            let single = shares.filter(|(line, _)| !self.parcel.is_part(*line));
            single.map(|(_, share)| share).collect()
        } else {
            Vec::new()
        };
        let least = singly
            .into_iter()
            .chain([self.at(charge.entered.total)])
            .min()?;
        least
            .is_negative()
            .then(|| (step.id.clone(), least, step.stamp.row.clone()))
    }

    fn over_limit(&self, relief: &ReliefMarks, step: &ReliefStep) -> Option<WhyNot> {
        if self.lines(relief.picked).is_empty() {
            return Some(WhyNot::Condition(step.when.clone()));
        }
        let held = !self.lines(relief.held).is_empty();
        (!held).then(|| WhyNot::OverLimit(self.at(relief.whole), step.limit_text.clone()))
    }

    fn limit(&self, relief: &ReliefMarks, step: &ReliefStep) -> Option<Limit> {
        let (value, holds) = (self.at(relief.whole), !self.lines(relief.held).is_empty());
        let nothing_there = step.picks_lines && !holds && value.is_zero();
        if step.per != TestPer::Consignment || nothing_there || self.lines(relief.picked).is_empty()
        {
            return None;
        }
        Some(Limit {
            id: step.id.clone(),
            amount: step.limit,
            text: step.limit_text.clone(),
            value,
            of_price: step.tests_price,
            holds,
            collect: step.collect,
        })
    }

    fn ended(&self) -> Vec<Ended> {
        let mut found: Vec<Ended> = Vec::new();
        for EndedMarks {
            id,
            kind,
            on,
            row,
            lines,
        } in &self.marks.ended
        {
            for line in self.lines(*lines) {
                match found.iter_mut().find(|one| one.id == *id && one.on == *on) {
                    Some(known) if !known.lines.contains(&line) => known.lines.push(line),
                    Some(_) => {}
                    None => found.push(Ended {
                        id: id.clone(),
                        kind: *kind,
                        on: *on,
                        row: row.clone(),
                        lines: vec![line],
                    }),
                }
            }
        }
        found
    }
}

/// The step of a charge; the carrier's own fee is told as the row it takes the place of.
pub(super) fn step_of<'p>(
    program: &'p Program,
    parcel: &Parcel,
    row: RowOf,
) -> Option<Cow<'p, ChargeStep>> {
    let of_program = |at: usize| match program.steps.get(at) {
        Some(Step::Charge(step)) => Some(step.as_ref()),
        _ => None,
    };
    let fee = |step: ChargeStep| {
        let handling = parcel.handling.clone()?;
        Some(Cow::Owned(ChargeStep {
            of_text: "the carrier's own fee".to_owned(),
            min: None,
            max: None,
            stamp: Provenance::of_book(handling.row),
            ..step
        }))
    };
    match row {
        RowOf::Step(at) => of_program(at).map(Cow::Borrowed),
        RowOf::OwnFee(at) => fee(of_program(at)?.clone()),
        RowOf::OwnFeeAtLast => fee(ChargeStep::own_fee(parcel.handling.clone()?.row)),
    }
}

fn relief_entry(step: &ReliefStep, why_not: Option<WhyNot>) -> Entry {
    let of = format!("{} {} {}", step.tests_text, step.op, step.limit_text);
    Entry {
        why_not,
        ..Entry::of_row(&step.id, None, &step.stamp, of)
    }
}

/// A row whose condition holds for no line, whatever the figures.
fn without_condition(step: &Step) -> Entry {
    match step {
        Step::Charge(step) => Entry {
            why_not: Some(WhyNot::Condition(step.when.clone())),
            ..Entry::of_charge(step)
        },
        Step::Relief(step) => relief_entry(step, Some(WhyNot::Condition(step.when.clone()))),
    }
}
