//! A [`Swift`] applied to one line: each step in its order, as [`super::super::assess`] does with decimals.

use super::build::MOST_COLUMNS;
use super::fixed::divide;
use super::{Amounts, Charge, Charges, Clause, FixedRate, Flat, Mark, RateChoice, Relief, Step, Sum, Swift, Test, WholeRate, bit};
use crate::tables::{Collect, Kind};
use crate::units::Mode;

/// Tenths of a gram in a kilogram.
const TENTHS: i128 = 10_000;

/// The running amounts of one line.
struct Work<'a> {
    swift: &'a Swift,
    line: &'a Amounts,
    rate: WholeRate,
    /// One minor unit of the destination's money, at this rate.
    minor: i128,
    /// In the common fraction of the destination's money, by column.
    columns: [i128; MOST_COLUMNS],
    /// Tax at the sale, in the seller's minor units, by column.
    at_sale: [i64; MOST_COLUMNS],
    due: [bool; MOST_COLUMNS],
    kinds_gone: u8,
    slots_gone: [bool; MOST_COLUMNS],
    collect: Collect,
    groups: [Option<usize>; 8],
    own_fee: Option<i128>,
    own_fee_open: bool,
    unrated: bool,
    rated: bool,
}

impl Swift {
    /// What one line bears; none when a figure does not fit, and the decimal program must be asked.
    pub fn apply(&self, line: &Amounts, rate: WholeRate) -> Option<Charges> {
        let mut work = Work::open(self, line, rate)?;
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

impl<'a> Work<'a> {
    fn open(swift: &'a Swift, line: &'a Amounts, rate: WholeRate) -> Option<Work<'a>> {
        let mut columns = [0; MOST_COLUMNS];
        let seller = swift.seller_minor.checked_mul(rate.times)?;
        let own = |amount: i64| i128::from(amount).checked_mul(seller);
        let freight = own(line.freight)?;
        let border = freight.checked_mul(swift.border.0)? / swift.border.1;
        columns[..6].copy_from_slice(&[own(line.list)?, own(line.goods)?, freight, border, freight - border, own(line.insurance)?]);
        Some(Work {
            swift,
            line,
            rate,
            minor: swift.minor.checked_mul(rate.over)?,
            columns,
            at_sale: [0; MOST_COLUMNS],
            due: [false; MOST_COLUMNS],
            kinds_gone: 0,
            slots_gone: [false; MOST_COLUMNS],
            collect: Collect::AtBorder,
            groups: [None; 8],
            own_fee: None,
            own_fee_open: true,
            unrated: false,
            rated: false,
        })
    }

    fn sum(&self, sum: &Sum) -> Option<i128> {
        sum.terms.iter().try_fold(0_i128, |total, (slot, factor)| total.checked_add(self.columns.get(*slot)?.checked_mul(*factor)?))
    }

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
        match clause {
            Clause::Sum(sum, op, limit) => limit.holds(self.sum(sum)?, *op, self.rate.over),
            Clause::UnitValue(op, limit) => {
                limit.holds(self.columns[1], *op, i128::from(self.line.pieces.max(1)).checked_mul(self.rate.over)?)
            }
            Clause::UnitMass(op, limit) => limit.holds(i128::from(self.line.tenths), *op, i128::from(self.line.pieces.max(1))),
            Clause::Collect(equal, collect) => Some((self.collect == *collect) == *equal),
        }
    }

    fn gone(&self, step: &Charge) -> bool {
        self.kinds_gone & bit(step.kind) != 0 || self.slots_gone[step.slot]
    }

    fn charge(&mut self, step: &Charge) -> Option<()> {
        if !self.holds(&step.test)? || self.gone(step) {
            return Some(());
        }
        if step.carriers && self.swift.handling.is_some() {
            return self.take_own_fee(step.slot);
        }
        let Some(rate) = self.rate(&step.rate)? else {
            self.unrated = self.unrated || (step.kind == Kind::Duty && step.from_tariff);
            return Some(());
        };
        self.rated = self.rated || step.kind == Kind::Duty;
        if step.kind == Kind::SaleTax {
            return self.tax_at_sale(step, rate);
        }
        let amount = self.amount(step, rate)?;
        if let Some((group, least)) = step.group {
            let standing = self.groups.get(group).copied()?;
            if let Some(other) = standing {
                if !least || self.columns[other] <= amount {
                    return Some(());
                }
                self.columns[other] = 0;
                self.due[other] = false;
            }
            *self.groups.get_mut(group)? = Some(step.slot);
        }
        self.columns[step.slot] = amount;
        self.due[step.slot] = true;
        Some(())
    }

    /// An outer none is a figure that does not fit; an inner one is a table without a rate.
    #[expect(clippy::option_option, reason = "two different wants")]
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
    fn amount(&self, step: &Charge, rate: Option<FixedRate>) -> Option<i128> {
        let (base, under) = match &step.of {
            Some(sum) => (self.sum(sum)?, sum.under),
            None => (0, 1),
        };
        let (over, under) = match rate {
            None => (base, under),
            Some(rate) => {
                let share = base.checked_mul(rate.percent.0)?;
                let under = under.checked_mul(rate.percent.1)?;
                if rate.per_kg == 0 && rate.per_piece == 0 {
                    (share, under)
                } else {
                    let by_mass = rate.per_kg.checked_mul(i128::from(self.line.tenths))?;
                    let by_piece = rate.per_piece.checked_mul(i128::from(self.line.pieces))?.checked_mul(TENTHS)?;
                    let specific = by_mass.checked_add(by_piece)?.checked_mul(self.rate.over)?.checked_mul(under)?;
                    (share.checked_mul(TENTHS)?.checked_add(specific)?, under.checked_mul(TENTHS)?)
                }
            }
        };
        let rounded = |over: i128, under: i128| match step.round {
            Some((mode, size)) => {
                let size = size.checked_mul(self.rate.over)?;
                divide(over, under.checked_mul(size)?, mode).checked_mul(size)
            }
            None => (over % under == 0).then_some(over / under),
        };
        let rated = rounded(over, under)?;
        let flat = step.flat.checked_mul(self.rate.over)?;
        let (flat, flat_under) = match step.per {
            Flat::Once => (flat, 1),
            Flat::Pieces => (flat.checked_mul(i128::from(self.line.pieces))?, 1),
            Flat::Kilograms => (flat.checked_mul(i128::from(self.line.tenths))?, TENTHS),
        };
        let mut total = rated.checked_mul(flat_under)?.checked_add(flat)?;
        if let Some(least) = step.min {
            total = total.max(least.checked_mul(self.rate.over)?.checked_mul(flat_under)?);
        }
        if let Some(most) = step.max {
            total = total.min(most.checked_mul(self.rate.over)?.checked_mul(flat_under)?);
        }
        rounded(total, flat_under)
    }

    /// Reckoned and rounded in the seller's money: by the row's rule when that is the destination's, else half up.
    fn tax_at_sale(&mut self, step: &Charge, rate: Option<FixedRate>) -> Option<()> {
        let (sum, rate) = (step.of.as_ref()?, rate?);
        let parts = [self.line.list, self.line.goods, self.line.freight, 0, 0, self.line.insurance];
        let base = sum
            .terms
            .iter()
            .try_fold(0_i128, |total, (slot, factor)| total.checked_add(i128::from(*parts.get(*slot)?).checked_mul(*factor)?))?;
        let own = self.swift.at_home;
        let (mode, size) = match step.round {
            Some((mode, size)) if own && size % self.swift.minor == 0 => (mode, size / self.swift.minor),
            Some(_) if own => return None,
            _ => (Mode::HalfUp, 1),
        };
        let over = base.checked_mul(rate.percent.0)?;
        let under = sum.under.checked_mul(rate.percent.1)?.checked_mul(size)?;
        let tax = i64::try_from(divide(over, under, mode).checked_mul(size)?).ok()?;
        self.at_sale[step.slot] = tax;
        self.columns[step.slot] = i128::from(tax).checked_mul(self.swift.seller_minor)?.checked_mul(self.rate.times)?;
        self.due[step.slot] = true;
        Some(())
    }

    /// Duty, remedies and tax at the border so far.
    fn advanced(&self) -> Option<i128> {
        let border = |step: &&Step| matches!(step, Step::Charge(c) if matches!(c.kind, Kind::Duty | Kind::Remedy | Kind::Tax));
        let mut seen = [false; MOST_COLUMNS];
        let mut total = 0_i128;
        for step in self.swift.steps.iter().filter(border) {
            if let Step::Charge(step) = step
                && self.due[step.slot]
                && !seen[step.slot]
            {
                seen[step.slot] = true;
                total = total.checked_add(self.columns[step.slot])?;
            }
        }
        Some(total)
    }

    fn take_own_fee(&mut self, slot: usize) -> Option<()> {
        let Some(fee) = self.swift.handling.filter(|_| self.own_fee_open) else { return Some(()) };
        self.own_fee_open = false;
        let least = fee.least.checked_mul(self.rate.over)?.checked_mul(fee.percent.1)?;
        let over = self.advanced()?.checked_mul(fee.percent.0)?.max(least);
        let total = divide(over, fee.percent.1.checked_mul(self.minor)?, Mode::HalfUp).checked_mul(self.minor)?;
        if slot < MOST_COLUMNS {
            self.columns[slot] = total;
            self.due[slot] = true;
        } else {
            self.own_fee = Some(total);
        }
        Some(())
    }

    fn own_fee_at_last(&mut self) -> Option<()> {
        if self.swift.handling.is_some() && self.own_fee_open && self.advanced()? != 0 {
            self.take_own_fee(MOST_COLUMNS)?;
        }
        Some(())
    }

    fn relief(&mut self, step: &Relief) -> Option<()> {
        if !self.holds(&step.test)? {
            return Some(());
        }
        let pieces = if step.per_piece { i128::from(self.line.pieces.max(1)) } else { 1 };
        if !step.limit.holds(self.sum(&step.sum)?, step.op, pieces.checked_mul(self.rate.over)?)? {
            return Some(());
        }
        self.kinds_gone |= step.kinds;
        for other in &self.swift.steps {
            if let Step::Charge(other) = other
                && (step.kinds & bit(other.kind) != 0 || step.slots.contains(&other.slot))
            {
                self.columns[other.slot] = 0;
                self.at_sale[other.slot] = 0;
                self.due[other.slot] = false;
            }
        }
        step.slots.iter().for_each(|slot| self.slots_gone[*slot] = true);
        if let Some(collect) = step.collect {
            self.collect = collect;
        }
        Some(())
    }

    fn close(self) -> Option<Charges> {
        let mut charges = Charges { collect: Mark(self.collect), gap: self.unrated && !self.rated, ..Charges::default() };
        let mut seen = [false; MOST_COLUMNS];
        for step in &self.swift.steps {
            let Step::Charge(step) = step else { continue };
            if seen[step.slot] || !self.due[step.slot] {
                continue;
            }
            seen[step.slot] = true;
            let amount = self.in_minor(self.columns[step.slot])?;
            match step.kind {
                Kind::Value => {}
                Kind::Duty => charges.duty += amount,
                Kind::Remedy => charges.remedy += amount,
                Kind::Tax => charges.tax += amount,
                Kind::SaleTax => charges.sale_tax += self.at_sale[step.slot],
                Kind::Fee => charges.fee += amount,
            }
        }
        if let Some(fee) = self.own_fee {
            charges.fee += self.in_minor(fee)?;
        }
        let value = |slot: Option<usize>| slot.map_or(Some(0), |slot| self.in_minor(self.columns[slot]));
        charges.customs_value = value(self.swift.customs)?;
        charges.intrinsic_value =
            if self.swift.intrinsic.is_some() { value(self.swift.intrinsic)? } else { self.in_minor(self.columns[1])? };
        Some(charges)
    }

    fn in_minor(&self, amount: i128) -> Option<i64> {
        i64::try_from(divide(amount, self.minor, Mode::HalfUp)).ok()
    }
}
