//! Freight by a table of steps, with the figures of the table open: the mass with its packing, the first step that is heavy
//! enough, and what each kilogram beyond the last step costs.

use super::maker::Maker;
use super::{Id, Input, Measure, Origin, SaleInput, Term, What};
use crate::rules::sale::{MassStep, Steps};
use crate::tables;
use crate::units::{Dec, Mode, Overflow, Rounding};

impl Maker {
    /// What a parcel costs by a table of steps, rounded to the seller's money, and the mass that it is read for.
    pub(super) fn by_steps(&mut self, steps: &Steps, digits: u32) -> Result<(Id, Id), Overflow> {
        let before = self.origin.clone();
        let mass = self.charged_mass(steps)?;
        // in the order of the table, so that its figures are listed so
        let mut served = Vec::with_capacity(steps.rows.len());
        for step in &steps.rows {
            served.push(self.step(step, mass)?);
        }
        let mut price = self.beyond(steps, mass)?;
        for (fits, own) in served.into_iter().rev() {
            price = self.choose(fits, own, price)?;
        }
        self.origin = before;
        Ok((self.round(price, Some(Rounding::minor(digits)))?, mass))
    }

    /// A figure of the table.
    fn step_figure(&mut self, value: Dec, measure: Measure, term: Term) -> Id {
        self.figure(value, measure, || What::Term(term))
    }

    /// From here on figures are those of a step; a form that is not shown has no rows.
    fn reads_step(&mut self, origin: &Origin) {
        self.origin = self.rows.is_some().then(|| origin.clone());
    }

    /// The mass that is charged for: all goods with their packing, or by the volume of the boxes where that is more.
    fn charged_mass(&mut self, steps: &Steps) -> Result<Id, Overflow> {
        if let Some(first) = steps.rows.first() {
            let table = Origin {
                id: first.origin.id.split(',').next().unwrap_or("").to_owned(),
                ..first.origin.clone()
            };
            self.reads_step(&table);
        }
        let packed = self.input(Input::Sale(SaleInput::Packed));
        let packed = self.total(packed)?;
        let percent = self.step_figure(steps.packing_percent, Measure::Plain, Term::PackingPercent);
        let grams = self.step_figure(steps.packing_g, Measure::Plain, Term::PackingGrams);
        let packing = self.percent_of(packed, percent)?;
        let packing = self.plus(packing, grams)?;
        let gross = self.plus(packed, packing)?;
        let Some(divisor) = steps.volumetric_divisor else {
            return Ok(gross);
        };
        let volume = self.column(steps.volumes.clone(), Measure::Plain);
        let pieces = self.input(Input::Pieces);
        let volume = self.times(volume, pieces)?;
        let volume = self.total(volume)?;
        let thousand = self.fixed(Dec::THOUSAND);
        let volume = self.times(volume, thousand)?;
        let divisor = self.step_figure(divisor, Measure::Plain, Term::Divisor);
        let by_volume = self.quotient(volume, divisor)?;
        self.most(gross, by_volume)
    }

    /// The price beyond the last step.
    fn beyond(&mut self, steps: &Steps, mass: Id) -> Result<Id, Overflow> {
        let Some(last) = steps.rows.last() else {
            return Ok(self.zero());
        };
        self.reads_step(&last.origin);
        let price = self.step_figure(last.price, Measure::Seller, Term::StepPrice);
        let Some(up_to) = last.up_to else {
            return Ok(price);
        };
        let Some(extra) = steps.extra_per_kg else {
            return Ok(self.step_figure(last.price, Measure::Seller, Term::Beyond));
        };
        let up_to = self.step_figure(up_to, Measure::Plain, Term::StepUpTo);
        let extra = self.step_figure(extra, Measure::Seller, Term::StepExtra);
        let beyond = self.minus(mass, up_to)?;
        let beyond = self.part(beyond, Dec::ONE, Dec::THOUSAND)?;
        let begun = Rounding {
            mode: Mode::Ceiling,
            step: Dec::ONE,
        };
        let beyond = self.round(beyond, Some(begun))?;
        let beyond = self.times(extra, beyond)?;
        self.plus(price, beyond)
    }

    /// Whether the mass is not beyond a step, and its price.
    fn step(&mut self, step: &MassStep, mass: Id) -> Result<(Id, Id), Overflow> {
        self.reads_step(&step.origin);
        let price = self.step_figure(step.price, Measure::Seller, Term::StepPrice);
        let Some(grams) = step.up_to else {
            return Ok((self.sure(true), price));
        };
        let up_to = self.step_figure(grams, Measure::Plain, Term::StepUpTo);
        let price = if step.pro_rata && grams.is_positive() {
            let whole = self.times(price, mass)?;
            self.quotient(whole, up_to)?
        } else {
            price
        };
        let fits = self.compare(mass, tables::Op::AtMost, up_to)?;
        Ok((fits, price))
    }
}
