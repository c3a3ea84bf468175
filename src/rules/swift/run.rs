//! A [`Swift`] applied to one line: each step in its order, as [`super::super::assess`] does with decimals.

use super::fixed::Whole;
use super::{
    Amounts, Charge, Charges, Clause, FixedRate, Flat, Mark, RateChoice, Relief, Slot, Step, Sum, Swift, Test, WholeRate, bit, column,
};
use crate::tables::{Collect, Kind};
use crate::units::Mode;

/// Tenths of a gram in a kilogram.
const TENTHS: i64 = 10_000;

/// As many as a column's number can tell, so that none lies outside.
const CELLS: usize = Slot::MAX as usize + 1;

/// In the place of a row of rates, of a charge that asks no table.
const OF_NO_TABLE: u64 = 0xffff;

/// One column of a line.
#[derive(Debug, Clone, Copy, Default)]
struct Cell<N> {
    /// In the common fraction of the destination's money.
    amount: N,
    /// The same in its minor units, where a row rounds to them; tax at the sale in the seller's.
    minor: i64,
}

/// The running amounts of one line.
struct Work<'a, N> {
    swift: &'a Swift,
    line: &'a Amounts,
    rate: WholeRate,
    /// One minor unit of the destination's money, at this rate.
    minor: N,
    /// The rate's divisor.
    over: N,
    cells: &'a mut [Cell<N>; CELLS],
    kinds_gone: u8,
    slots_gone: u128,
    collect: Collect,
    groups: [Option<Slot>; 8],
    /// In minor units.
    own_fee: i64,
    own_fee_open: bool,
    /// Columns of charges that are owed a rate and found none, and that no relief dropped but by their own smallness.
    owed: u128,
    /// Columns of duties that found a rate.
    rated: u128,
}

/// Room for the running amounts, kept from line to line.
#[derive(Debug, Clone)]
pub struct Scratch {
    short: Box<[Cell<i64>; CELLS]>,
    long: Box<[Cell<i128>; CELLS]>,
}

impl Default for Scratch {
    fn default() -> Scratch {
        Scratch { short: Box::new([Cell::default(); CELLS]), long: Box::new([Cell::default(); CELLS]) }
    }
}

impl Swift {
    /// What one line bears; none when a figure does not fit, and the decimal program must be asked.
    pub fn apply(&self, line: &Amounts, rate: WholeRate, scratch: &mut Scratch) -> Option<Charges> {
        self.reckon(line, rate, &mut scratch.short).or_else(|| self.reckon(line, rate, &mut scratch.long))
    }

    fn reckon<N: Whole>(&self, line: &Amounts, rate: WholeRate, cells: &mut [Cell<N>; CELLS]) -> Option<Charges> {
        let mut work = Work::open(self, line, rate, cells)?;
        for step in &self.steps {
            match step {
                Step::Charge(step) => work.charge(step)?,
                Step::Relief(step) => work.relief(step)?,
            }
        }
        work.own_fee_at_last()?;
        work.close()
    }
}

impl<'a, N: Whole> Work<'a, N> {
    fn open(swift: &'a Swift, line: &'a Amounts, rate: WholeRate, cells: &'a mut [Cell<N>; CELLS]) -> Option<Work<'a, N>> {
        cells.iter_mut().take(swift.width).for_each(|cell| *cell = Cell::default());
        let (seller, over) = (N::from(swift.seller_minor).by(rate.times.into())?, N::from(rate.over));
        let own = |amount: i64| N::from(amount).by(seller);
        let (freight, border) = (own(line.freight)?, N::from(swift.border.0));
        let border = freight.by(border)?.over(swift.border.1.into(), Mode::Down);
        let inland = freight.plus(border.by(N::from(-1))?)?;
        let price = [own(line.list)?, own(line.goods)?, freight, border, inland, own(line.insurance)?];
        cells.iter_mut().zip(price).for_each(|(cell, amount)| cell.amount = amount);
        Some(Work {
            swift,
            line,
            rate,
            minor: N::from(swift.minor).by(over)?,
            over,
            cells,
            kinds_gone: 0,
            slots_gone: 0,
            collect: Collect::AtBorder,
            groups: [None; 8],
            own_fee: 0,
            own_fee_open: true,
            owed: 0,
            rated: 0,
        })
    }

    #[inline]
    fn cell(&mut self, slot: Slot) -> &mut Cell<N> {
        &mut self.cells[usize::from(slot)]
    }

    #[inline]
    fn amount_of(&self, slot: Slot) -> N {
        self.cells[usize::from(slot)].amount
    }

    #[inline]
    fn sum(&self, sum: &Sum) -> Option<N> {
        sum.terms.iter().try_fold(N::default(), |total, (slot, factor)| total.plus(self.amount_of(*slot).by(N::from(*factor))?))
    }

    #[inline]
    fn holds(&self, test: &Test) -> Option<bool> {
        let Test::Any(sides) = test else { return Some(true) };
        for side in sides {
            let mut all = true;
            for clause in side {
                all = all && self.clause(clause)?;
            }
            if all {
                return Some(true);
            }
        }
        Some(false)
    }

    fn clause(&self, clause: &Clause) -> Option<bool> {
        let pieces = N::from(self.line.pieces.max(1));
        match clause {
            Clause::Sum(sum, op, limit) => limit.holds(self.sum(sum)?, *op, self.over),
            Clause::UnitValue(op, limit) => limit.holds(self.amount_of(1), *op, pieces.by(self.over)?),
            Clause::UnitMass(op, limit) => limit.holds(N::from(self.line.tenths), *op, pieces),
            Clause::Collect(equal, collect) => Some((self.collect == *collect) == *equal),
        }
    }

    fn gone(&self, step: &Charge) -> bool {
        self.kinds_gone & bit(step.kind) != 0 || self.slots_gone & column(step.slot) != 0
    }

    fn charge(&mut self, step: &Charge) -> Option<()> {
        if !self.holds(&step.test)? || self.gone(step) {
            return Some(());
        }
        if step.carriers && self.swift.handling.is_some() {
            return self.take_own_fee(Some(step.slot));
        }
        let Some(rate) = self.rate(&step.rate)? else {
            self.owed |= if step.owes { column(step.slot) } else { 0 };
            return Some(());
        };
        self.rated |= if step.kind == Kind::Duty { column(step.slot) } else { 0 };
        if step.kind == Kind::SaleTax {
            return self.tax_at_sale(step, rate);
        }
        let (amount, minor) = self.amount(step, rate)?;
        if amount < N::default() && step.kind != Kind::Value {
            // the engine of bills says what is wrong with it
            return None;
        }
        if let Some((group, least)) = step.group {
            let standing = self.groups.get(usize::from(group)).copied()?;
            if let Some(other) = standing {
                if !least || self.amount_of(other) <= amount {
                    return Some(());
                }
                *self.cell(other) = Cell::default();
            }
            *self.groups.get_mut(usize::from(group))? = Some(step.slot);
        }
        *self.cell(step.slot) = Cell { amount, minor };
        Some(())
    }

    /// An outer none is a figure that does not fit; an inner one is a table without a rate.
    #[expect(clippy::option_option, reason = "two different wants")]
    #[inline]
    fn rate(&self, choice: &RateChoice) -> Option<Option<Option<FixedRate>>> {
        let RateChoice::First(rows) = choice else { return Some(Some(None)) };
        for (test, rate) in rows {
            if self.holds(test)? {
                return Some(Some(Some(*rate)));
            }
        }
        Some(None)
    }

    /// The percentage of the sum and what is due by mass and piece, rounded; the flat amount; least and most; rounded.
    #[inline]
    fn amount(&self, step: &Charge, rate: Option<FixedRate>) -> Option<(N, i64)> {
        let (base, under) = match &step.of {
            Some(sum) => (self.sum(sum)?, N::from(sum.under)),
            None => (N::default(), N::from(1)),
        };
        let (over, under) = match rate {
            None => (base, under),
            Some(rate) => self.rated(base, under, rate)?,
        };
        let (rated, minor) = if over == N::default() { (N::default(), 0) } else { self.rounded(step, over, under)? };
        if step.flat == 0 && step.min.is_none() && step.max.is_none() {
            return Some((rated, minor));
        }
        let flat = N::from(step.flat).by(self.over)?;
        let (flat, flat_under) = match step.per {
            Flat::Once => (flat, N::from(1)),
            Flat::Pieces => (flat.by(N::from(self.line.pieces))?, N::from(1)),
            Flat::Kilograms => (flat.by(N::from(self.line.tenths))?, N::from(TENTHS)),
        };
        let limit = |own: i64| N::from(own).by(self.over)?.by(flat_under);
        let mut total = rated.by(flat_under)?.plus(flat)?;
        if let Some(least) = step.min {
            total = total.max(limit(least)?);
        }
        if let Some(most) = step.max {
            total = total.min(limit(most)?);
        }
        self.rounded(step, total, flat_under)
    }

    /// What a rate makes of a sum, as a fraction.
    #[inline]
    fn rated(&self, base: N, under: N, rate: FixedRate) -> Option<(N, N)> {
        let share = base.by(N::from(rate.percent.0))?;
        let under = under.by(N::from(rate.percent.1))?;
        if rate.per_kg == 0 && rate.per_piece == 0 {
            return Some((share, under));
        }
        let tenths = N::from(TENTHS);
        let by_mass = N::from(rate.per_kg).by(N::from(self.line.tenths))?;
        let by_piece = N::from(rate.per_piece).by(N::from(self.line.pieces))?.by(tenths)?;
        let specific = by_mass.plus(by_piece)?.by(self.over)?.by(under)?;
        Some((share.by(tenths)?.plus(specific)?, under.by(tenths)?))
    }

    /// A fraction as the row rounds it, and its minor units where it rounds to them.
    #[inline]
    fn rounded(&self, step: &Charge, over: N, under: N) -> Option<(N, i64)> {
        let Some((mode, size)) = step.round else { return Some((over.exactly(under)?, 0)) };
        let wide = N::from(size).by(self.over)?;
        let count = over.over(under.by(wide)?, mode);
        let minor = if size == self.swift.minor { count.short()? } else { 0 };
        Some((count.by(wide)?, minor))
    }

    /// Reckoned and rounded in the seller's money: by the row's rule when that is the destination's, else half up.
    fn tax_at_sale(&mut self, step: &Charge, rate: Option<FixedRate>) -> Option<()> {
        let (sum, rate) = (step.of.as_ref()?, rate?);
        let parts = [self.line.list, self.line.goods, self.line.freight, 0, 0, self.line.insurance];
        let part = |slot: &Slot| parts.get(usize::from(*slot)).copied().map(N::from);
        let base = sum.terms.iter().try_fold(N::default(), |total, (slot, factor)| total.plus(part(slot)?.by(N::from(*factor))?))?;
        let own = self.swift.at_home;
        let (mode, size) = match step.round {
            Some((mode, size)) if own && size % self.swift.minor == 0 => (mode, size / self.swift.minor),
            Some(_) if own => return None,
            _ => (Mode::HalfUp, 1),
        };
        let over = base.by(N::from(rate.percent.0))?;
        let under = N::from(sum.under).by(N::from(rate.percent.1))?.by(N::from(size))?;
        let minor = over.over(under, mode).by(N::from(size))?.short().filter(|minor| *minor >= 0)?;
        let amount = N::from(minor).by(N::from(self.swift.seller_minor))?.by(N::from(self.rate.times))?;
        *self.cell(step.slot) = Cell { amount, minor };
        Some(())
    }

    /// Duty, remedies and tax at the border so far.
    fn advanced(&self) -> Option<N> {
        let border = self.swift.totals.iter().filter(|(_, kind, _)| matches!(kind, Kind::Duty | Kind::Remedy | Kind::Tax));
        border.into_iter().try_fold(N::default(), |total, (slot, ..)| total.plus(self.amount_of(*slot)))
    }

    /// The seller's own fee, in the column of the carrier's or beside all columns.
    fn take_own_fee(&mut self, slot: Option<Slot>) -> Option<()> {
        let Some(fee) = self.swift.handling.filter(|_| self.own_fee_open) else { return Some(()) };
        self.own_fee_open = false;
        let under = N::from(fee.percent.1);
        let least = N::from(fee.least).by(self.over)?.by(under)?;
        let over = self.advanced()?.by(N::from(fee.percent.0))?.max(least);
        let minor = over.over(under.by(self.minor)?, Mode::HalfUp);
        match slot {
            Some(slot) => *self.cell(slot) = Cell { amount: minor.by(self.minor)?, minor: minor.short()? },
            None => self.own_fee = minor.short()?,
        }
        Some(())
    }

    fn own_fee_at_last(&mut self) -> Option<()> {
        if self.swift.handling.is_some() && self.own_fee_open && self.advanced()? != N::default() {
            self.take_own_fee(None)?;
        }
        Some(())
    }

    fn relief(&mut self, step: &Relief) -> Option<()> {
        if !self.holds(&step.test)? {
            return Some(());
        }
        let pieces = if step.per_piece { self.line.pieces.max(1) } else { 1 };
        if !step.limit.holds(self.sum(&step.sum)?, step.op, N::from(pieces).by(self.over)?)? {
            return Some(());
        }
        self.kinds_gone |= step.kinds;
        self.slots_gone |= step.slots;
        step.cleared.iter().for_each(|slot| *self.cell(*slot) = Cell::default());
        if !step.tests_duty {
            self.owed &= step.cleared.iter().fold(u128::MAX, |kept, slot| kept & !column(*slot));
        }
        if let Some(collect) = step.collect {
            self.collect = collect;
        }
        Some(())
    }

    /// Whether a layer owes a rate and has none, and no other row of its charge or group counts.
    fn has_gap(&self) -> bool {
        let open = self.owed & !self.rated;
        let in_place =
            |step: &Charge| step.group.is_some_and(|(group, _)| self.groups.get(usize::from(group)).copied().flatten().is_some());
        let charges = self.swift.steps.iter().filter_map(|step| match step {
            Step::Charge(step) if step.owes && open & column(step.slot) != 0 => Some(step),
            _ => None,
        });
        charges.into_iter().any(|step| !in_place(step))
    }

    /// Which charges would bear on the line had a row not ended, as one number; nought for none.
    fn which_ended(&self) -> Option<u64> {
        let mut found = 0_u64;
        for (at, step) in (1_u64..).zip(&self.swift.ended) {
            if self.kinds_gone & bit(step.kind) != 0 || self.slots_gone & column(step.slot) != 0 || !self.holds(&step.test)? {
                continue;
            }
            let row = match &step.rows {
                None => OF_NO_TABLE,
                Some(rows) => self.ended_row(rows)?,
            };
            if row > 0 {
                found = found.wrapping_mul(0x0001_0000_01b3).wrapping_add(at << 16 | row).max(1);
            }
        }
        Some(found)
    }

    /// The place of the first row that holds, counted from one, where it ended; else nought.
    fn ended_row(&self, rows: &[(Test, bool)]) -> Option<u64> {
        for (row, (test, ended)) in (1_u64..).zip(rows) {
            if self.holds(test)? {
                return Some(if *ended { row } else { 0 });
            }
        }
        Some(0)
    }

    fn close(self) -> Option<Charges> {
        let ended = if self.swift.ended.is_empty() { 0 } else { self.which_ended()? };
        let mut charges = Charges { collect: Mark(self.collect), gap: self.has_gap(), ended, ..Charges::default() };
        for (slot, kind, in_minor) in &self.swift.totals {
            let cell = self.cells[usize::from(*slot)];
            let amount = if *in_minor { cell.minor } else { self.in_minor(cell.amount)? };
            let total = match kind {
                Kind::Value => continue,
                Kind::Duty => &mut charges.duty,
                Kind::Remedy => &mut charges.remedy,
                Kind::Tax => &mut charges.tax,
                Kind::SaleTax => &mut charges.sale_tax,
                Kind::Fee => &mut charges.fee,
            };
            *total = total.checked_add(amount)?;
        }
        charges.fee = charges.fee.checked_add(self.own_fee)?;
        charges.customs_value = self.swift.customs.map_or(Some(0), |slot| self.in_minor(self.amount_of(slot)))?;
        charges.intrinsic_value = self.in_minor(self.amount_of(self.swift.intrinsic.unwrap_or(1)))?;
        Some(charges)
    }

    #[inline]
    fn in_minor(&self, amount: N) -> Option<i64> {
        if amount == N::default() { Some(0) } else { amount.over(self.minor, Mode::HalfUp).short() }
    }
}
