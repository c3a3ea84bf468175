//! One charge over its lines: percentages by item and rate, flat amounts, least and most, rounding, and the shares.

use super::lower::Lowering;
use super::marks::{ChargeMarks, PartMarks, RowOf, StepMarks};
use super::rated::{Rated, count};
use super::{Id, Input, Measure, RatePart, What};
use crate::rules::parcel::Line;
use crate::rules::step::ChargeStep;
use crate::tables::{Drop, Kind, Level, Op, Per};
use crate::units::{Dec, Overflow, Rounding};

/// A charge on its way: what its lines come to.
pub(super) struct Borne {
    /// Lines that bear it.
    pub(super) lines: Id,
    /// What each bears, in the money it is asked in.
    pub(super) shares: Id,
    /// All of it.
    pub(super) total: Id,
    pub(super) parts: Vec<PartMarks>,
    pub(super) items: Id,
    /// What the whole is shared by, where that is not what each line comes to.
    pub(super) weights: Option<Id>,
}

/// What a charge is taken of, and how it is rounded: its own money may be the seller's.
#[derive(Clone, Copy)]
struct Terms {
    measure: Measure,
    round: Option<Rounding>,
    digits: u32,
    base: Id,
    exact: Id,
}

impl Lowering<'_> {
    /// Writes a charge out, in its order.
    pub(super) fn charge(&mut self, at: usize, step: &ChargeStep) -> Result<(), Overflow> {
        let picked = self.test(&step.test)?;
        if self.make.never(picked) {
            self.note_not_due(at);
            return Ok(());
        }
        let relieved = self.relieved(step.kind, &step.id)?;
        let works_on = self.make.without(picked, relieved)?;
        if step.carriers && self.parcel.handling.is_some() {
            return self.own_fee(RowOf::OwnFee(at), step, (picked, works_on));
        }
        let rated = self.rated(step)?;
        let bears = self.make.both(works_on, rated.found)?;
        let unrated = self.make.without(works_on, rated.found)?;
        let terms = self.terms(step, &rated, bears)?;
        let borne = self.borne(step, &rated, bears, terms)?;
        let marks = ChargeMarks {
            picked,
            works_on,
            terms: (terms.base, terms.exact),
            bears,
            unrated,
            rate: rated.which,
            rates: rated.rates,
            ..self.blank(RowOf::Step(at), step)
        };
        self.enter(step, marks, borne)
    }

    /// Marks of a charge, none of which is set yet.
    pub(super) fn blank(&mut self, row: RowOf, step: &ChargeStep) -> ChargeMarks {
        let zero = self.make.zero();
        ChargeMarks {
            row,
            kind: step.kind,
            id: step.id.clone(),
            group: step.group.as_ref().map(|(name, _)| name.clone()),
            singly: step.level == Level::Line,
            slot: Some(step.slot).filter(|slot| *slot < self.columns.len()),
            picked: zero,
            works_on: zero,
            reliefs: self.reliefs_of(step),
            terms: (zero, zero),
            weights: None,
            bears: zero,
            unrated: zero,
            rate: zero,
            rates: Vec::new(),
            parts: Vec::new(),
            items: zero,
            entered: super::marks::Entered {
                counts: zero,
                beaten_by: Vec::new(),
                lost: zero,
                shares: zero,
                total: zero,
            },
            shares: zero,
            paid: None,
            lines: zero,
            counts: zero,
            events: Vec::new(),
            clashes: Vec::new(),
        }
    }

    /// Limits before a row that drop its kind, and those that drop its id.
    fn reliefs_of(&self, step: &ChargeStep) -> [Vec<(usize, Id)>; 2] {
        let before = |drops: &dyn Fn(&Drop) -> bool| {
            let reliefs = self.steps.iter().filter_map(|marks| match marks {
                StepMarks::Relief(relief) => Some(relief),
                _ => None,
            });
            let named = reliefs.filter(|relief| self.drops_of(relief.step).iter().any(drops));
            named.map(|relief| (relief.step, relief.held)).collect()
        };
        [
            before(&|gone| *gone == Drop::Kind(step.kind)),
            before(&|gone| matches!(gone, Drop::Charge(id) if *id == step.id)),
        ]
    }

    /// The base of each line and what it comes to before rounding; both are zero where the charge does not bear.
    fn terms(&mut self, step: &ChargeStep, rated: &Rated, bears: Id) -> Result<Terms, Overflow> {
        let at_sale = step.kind == Kind::SaleTax;
        let measure = if at_sale {
            Measure::Seller
        } else {
            Measure::Home
        };
        let foreign = at_sale && self.parcel.paid_in != self.program.currency;
        let digits = if at_sale {
            self.parcel.paid_in.digits()
        } else {
            self.program.currency.digits()
        };
        let round = if foreign {
            Some(Rounding::minor(digits))
        } else {
            step.round
        };
        let base = match &step.of {
            Some(sum) => self.sum(sum, measure)?,
            None => self.make.zero(),
        };
        let base = self.make.only(bears, base)?;
        let exact = if rated.plain {
            base
        } else {
            self.at_rate(rated, bears, base, measure)?
        };
        Ok(Terms {
            measure,
            round,
            digits,
            base,
            exact,
        })
    }

    fn at_rate(
        &mut self,
        rated: &Rated,
        bears: Id,
        base: Id,
        measure: Measure,
    ) -> Result<Id, Overflow> {
        let percent = self.of_rate(rated, Measure::Plain, RatePart::Percent)?;
        let mut exact = self.make.percent_of(base, percent)?;
        if rated.rates.iter().any(|(rate, _)| !rate.per_kg.is_zero()) {
            let (each, kilograms) = (
                self.of_rate(rated, measure, RatePart::PerKilogram)?,
                self.make.input(Input::Kilograms),
            );
            let by_mass = self.make.times(each, kilograms)?;
            let by_mass = self.make.only(bears, by_mass)?;
            exact = self.make.plus(exact, by_mass)?;
        }
        if rated
            .rates
            .iter()
            .any(|(rate, _)| !rate.per_piece.is_zero())
        {
            let (each, pieces) = (
                self.of_rate(rated, measure, RatePart::PerPiece)?,
                self.pieces_once()?,
            );
            let by_piece = self.make.times(each, pieces)?;
            let by_piece = self.make.only(bears, by_piece)?;
            exact = self.make.plus(exact, by_piece)?;
        }
        Ok(exact)
    }

    /// A row for single lines takes each on its own, but for parts of a thing that is declared as one.
    fn borne(
        &mut self,
        step: &ChargeStep,
        rated: &Rated,
        bears: Id,
        terms: Terms,
    ) -> Result<Borne, Overflow> {
        if step.level != Level::Line || !counts_by_line(step) {
            return self.add_up(step, rated, bears, terms);
        }
        let parts = self.parts();
        let singles = self.make.without(bears, parts)?;
        let singly = self.line_by_line(step, singles, terms)?;
        let parts = self.make.both(bears, parts)?;
        if self.make.never(parts) {
            return Ok(singly);
        }
        let (base, exact) = (
            self.make.only(parts, terms.base)?,
            self.make.only(parts, terms.exact)?,
        );
        let whole = self.add_up(
            step,
            rated,
            parts,
            Terms {
                base,
                exact,
                ..terms
            },
        )?;
        Ok(Borne {
            lines: bears,
            shares: self.make.plus(singly.shares, whole.shares)?,
            total: self.make.plus(singly.total, whole.total)?,
            parts: singly.parts.into_iter().chain(whole.parts).collect(),
            items: self.make.plus(singly.items, whole.items)?,
            weights: whole.weights,
        })
    }

    fn line_by_line(
        &mut self,
        step: &ChargeStep,
        lines: Id,
        terms: Terms,
    ) -> Result<Borne, Overflow> {
        let flat = match step.flat {
            None => self.make.zero(),
            Some(flat) => {
                let flat = (self.make).figure(flat, terms.measure, || What::Flat(step.per));
                let times = match step.per {
                    Per::Consignment | Per::Item { .. } => self.make.fixed(Dec::ONE),
                    Per::Piece => self.pieces_once()?,
                    Per::Kilogram => self.make.input(Input::Kilograms),
                };
                self.make.times(flat, times)?
            }
        };
        let amount = self.make.plus(terms.exact, flat)?;
        let amount = self.finish(step, amount, terms)?;
        let shares = self.make.only(lines, amount)?;
        let parts = vec![PartMarks {
            lines,
            keys: None,
            base: terms.base,
            amount: shares,
        }];
        Ok(Borne {
            lines,
            shares,
            total: self.make.total(shares)?,
            parts,
            items: self.make.total(lines)?,
            weights: None,
        })
    }

    /// Least, most and rounding, in this order.
    fn finish(&mut self, step: &ChargeStep, amount: Id, terms: Terms) -> Result<Id, Overflow> {
        let mut amount = amount;
        if let Some(least) = step.min {
            let least = self.make.figure(least, terms.measure, || What::Least);
            amount = self.make.most(amount, least)?;
        }
        if let Some(most) = step.max {
            let most = self.make.figure(most, terms.measure, || What::Most);
            amount = self.make.least(amount, most)?;
        }
        self.make.round(amount, terms.round)
    }

    /// Items by rates: what each comes to is rounded on its own and shared over its lines; then the flat amount, least and most.
    fn add_up(
        &mut self,
        step: &ChargeStep,
        rated: &Rated,
        lines: Id,
        terms: Terms,
    ) -> Result<Borne, Overflow> {
        let items = self.items(step.level)?;
        let keys = self.keys(rated, items, lines)?;
        let sums = self.make.mates(keys, terms.exact)?;
        let rounded = self.make.round(sums, terms.round)?;
        let shares = if terms.round.is_none() {
            terms.exact
        } else {
            self.make.spread(rounded, terms.exact, keys, terms.digits)
        };
        let base = self.make.mates(keys, terms.base)?;
        let parts = vec![PartMarks {
            lines,
            keys: Some(keys),
            base,
            amount: rounded,
        }];
        let counted = if step.level == Level::Consignment {
            self.alike()?
        } else {
            items
        };
        let counted = self.make.only(lines, counted)?;
        let items_counted = self.make.distinct(counted)?;
        let rated_total = self.make.total(shares)?;
        let borne = Borne {
            lines,
            shares,
            total: rated_total,
            parts,
            items: items_counted,
            weights: None,
        };
        if step.flat.is_none() && step.min.is_none() && step.max.is_none() {
            return Ok(borne);
        }
        self.with_flat(step, terms, items, borne)
    }

    fn with_flat(
        &mut self,
        step: &ChargeStep,
        terms: Terms,
        items: Id,
        borne: Borne,
    ) -> Result<Borne, Overflow> {
        let lines = borne.lines;
        let flat = match step.flat {
            None => self.make.zero(),
            Some(flat) => {
                let times = self.flat_times(step, lines, borne.items)?;
                let flat = (self.make).figure(flat, terms.measure, || What::Flat(step.per));
                self.make.times(flat, times)?
            }
        };
        let total = self.make.plus(borne.total, flat)?;
        let total = self.finish(step, total, terms)?;
        let any = self.make.any(lines)?;
        let total = self.make.only(any, total)?;
        if !self.make.shares() {
            return Ok(Borne {
                shares: total,
                total,
                ..borne
            });
        }
        let weights = self.weights(step, terms, (lines, items))?;
        let one = self.make.fixed(Dec::ONE);
        let keys = self.make.only(lines, one)?;
        let again = self.make.spread(total, weights, keys, terms.digits);
        let same = self.make.compare(total, Op::Equal, borne.total)?;
        let shares = self.make.choose(same, borne.shares, again)?;
        Ok(Borne {
            shares,
            total,
            weights: Some(weights),
            ..borne
        })
    }

    /// What a flat amount is counted by.
    fn flat_times(&mut self, step: &ChargeStep, lines: Id, items: Id) -> Result<Id, Overflow> {
        match step.per {
            Per::Consignment => Ok(self.make.fixed(Dec::ONE)),
            Per::Item { above: 0 } => Ok(items),
            Per::Item { above } => {
                let free = self.make.fixed(Dec::from(above));
                let beyond = self.make.minus(items, free)?;
                let zero = self.make.zero();
                self.make.most(beyond, zero)
            }
            Per::Piece => {
                let pieces = self.pieces_once()?;
                let pieces = self.make.only(lines, pieces)?;
                self.make.total(pieces)
            }
            Per::Kilogram => {
                let kilograms = self.make.input(Input::Kilograms);
                let kilograms = self.make.only(lines, kilograms)?;
                self.make.total(kilograms)
            }
        }
    }

    /// What the whole is shared by: an item's flat amount within the item, else what each line came to, else the bases the row
    /// was taken on, else the value.
    fn weights(
        &mut self,
        step: &ChargeStep,
        terms: Terms,
        (lines, items): (Id, Id),
    ) -> Result<Id, Overflow> {
        const GOODS: usize = 1;
        let prices = if terms.measure == Measure::Seller {
            &self.sellers
        } else {
            &self.columns
        };
        let goods = prices[GOODS];
        let value = self.make.only(lines, goods)?;
        if step.flat_by_item() {
            let own = self.item_weights(step, (lines, items), value)?;
            return Ok(self.make.plus_weights(terms.exact, own));
        }
        let by_base = self.where_any(terms.base, value)?;
        self.where_any(terms.exact, by_base)
    }

    /// Figures, where any of them is other than zero; else others.
    fn where_any(&mut self, figures: Id, others: Id) -> Result<Id, Overflow> {
        let some = self.make.some(figures)?;
        let some = self.make.any(some)?;
        self.make.choose(some, figures, others)
    }

    /// Each item bears its own flat amount, which its lines share by value.
    fn item_weights(
        &mut self,
        step: &ChargeStep,
        (lines, items): (Id, Id),
        value: Id,
    ) -> Result<Id, Overflow> {
        let flat = step.flat.unwrap_or(Dec::ZERO);
        let flat = (self.make).figure(flat, Measure::Plain, || What::Flat(step.per));
        let keys = self.make.only(lines, items)?;
        let one = self.make.fixed(Dec::ONE);
        let heads = self.make.only(lines, one)?;
        let (whole, mates) = (self.make.mates(keys, value)?, self.make.mates(keys, heads)?);
        let by_value = self.make.times(value, flat)?;
        let by_value = self.make.over(by_value, whole);
        let by_head = self.make.only(lines, flat)?;
        let by_head = self.make.over(by_head, mates);
        let some = self.make.some(whole)?;
        self.make.choose(some, by_value, by_head)
    }

    /// A number for each line's item, from one, in the order of items.
    fn items(&mut self, level: Level) -> Result<Id, Overflow> {
        if let Some((_, known)) = self.items.iter().find(|(of, _)| *of == level) {
            return Ok(*known);
        }
        let found = self.numbered(items_of(level, &self.parcel.lines))?;
        self.items.push((level, found));
        Ok(found)
    }

    /// The same for items of a consignment: alike in all digits and in what the declaration calls them.
    fn alike(&mut self) -> Result<Id, Overflow> {
        self.items(Level::Item(usize::MAX))
    }

    fn numbered(&mut self, names: Vec<(usize, &str, &str)>) -> Result<Id, Overflow> {
        let mut known = names.clone();
        known.sort_unstable();
        known.dedup();
        let place = |name: &(usize, &str, &str)| count(known.partition_point(|own| own < name) + 1);
        let numbers = names.iter().map(place).collect::<Result<Vec<_>, _>>()?;
        Ok(self.make.column(numbers, Measure::Plain))
    }

    /// Lines of one item and one rate have one key; lines outside have zero.
    fn keys(&mut self, rated: &Rated, items: Id, lines: Id) -> Result<Id, Overflow> {
        let classes = self.make.fixed(count(rated.classes)?);
        let keys = self.make.times(items, classes)?;
        let keys = self.make.plus(keys, rated.class)?;
        self.make.only(lines, keys)
    }
}

/// What tells the items of lines apart, in the order of items.
fn items_of(level: Level, lines: &[Line]) -> Vec<(usize, &str, &str)> {
    let mut found = Vec::with_capacity(lines.len());
    for (at, line) in lines.iter().enumerate() {
        found.push(match level {
            Level::Line if line.whole.is_some() => (0, "", line.declared_as.as_str()),
            Level::Line => (at + 1, "", ""),
            Level::Item(digits) => {
                let digits = line.commodity.get(..digits).unwrap_or(&line.commodity);
                (0, digits, line.declared_as.as_str())
            }
            Level::Digits(digits) => {
                let digits = line.commodity.get(..digits).unwrap_or(&line.commodity);
                (0, digits, "")
            }
            Level::Consignment => (0, "", ""),
        });
    }
    found
}

/// Whether a line's part of the flat amount is its own.
fn counts_by_line(step: &ChargeStep) -> bool {
    step.flat.is_none()
        || matches!(
            step.per,
            Per::Item { above: 0 } | Per::Piece | Per::Kilogram
        )
}
