//! The seller's side of a line of its own in whole numbers.

use super::build::Maker;
use super::fixed::{Whole, common_divisor};
use super::run::{Work, in_minor};
use super::{Do, Flag, LineInput, Reg, Scratch, WholeRate};
use crate::rules::form::{Form, Id, Op, lower_asking, lower_paying};
use crate::rules::sale::{Payer, Sale};
use crate::units::SellerMoney;

/// The figures of the seller's side of one line: money in minor units of the seller's, masses in tenths of grams, percentages in
/// ten-thousandths.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct SaleAmounts {
    pub(crate) price: i64,
    pub(crate) discount: i64,
    pub(crate) carriage: i64,
    pub(crate) carriage_grams: i64,
    pub(crate) free_over: i64,
    pub(crate) premium: i64,
    pub(crate) off: i64,
    pub(crate) sale_tax: i64,
}

/// What the seller asks for a line, in whole numbers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct AskProgram {
    steps: Vec<Do>,
    /// Price times quantity, what is taken off, freight, insurance.
    money: [Option<(Reg, i64)>; 4],
    free: Flag,
    minor: i64,
}

impl AskProgram {
    /// Makes a program for the terms of one line; none where they cannot be whole numbers.
    pub(crate) fn build(sale: &Sale<'_>) -> Option<AskProgram> {
        let (form, at) = lower_asking(sale).ok().filter(|_| sale.lines == 1)?;
        let minor = 10_i64.checked_pow(sale.digits)?;
        let mut maker = Maker::behind_inputs(&form, sale.digits)?;
        if !maker.is_zero(at.credit) || !maker.is_zero(at.tax_in_price) {
            return None;
        }
        let mut money = [None; 4];
        for (own, id) in money
            .iter_mut()
            .zip([at.list, at.off, at.freight, at.insurance])
        {
            *own = maker.money(id)?;
        }
        let free = maker.flag(at.free)?;
        Some(AskProgram {
            steps: maker.steps,
            money,
            free,
            minor,
        })
    }

    /// Writes what the seller asks into a line; returned is whether the goods travel free. None when a figure does not fit.
    pub(crate) fn apply(&self, line: &mut LineInput, scratch: &mut Scratch) -> Option<bool> {
        let (money, free) = self
            .calculate(line, &mut scratch.short)
            .or_else(|| self.calculate(line, &mut scratch.long))?;
        let [list, off, freight, insurance] = money;
        line.list = list;
        line.goods = list.checked_sub(off)?;
        line.freight = freight;
        line.insurance = insurance;
        line.sale.off = off.checked_neg()?;
        Some(free)
    }

    fn calculate<N: Whole>(&self, line: &LineInput, room: &mut Vec<N>) -> Option<([i64; 4], bool)> {
        Work::new(WholeRate::SAME).of_line(&self.steps, line, room)?;
        let at = |reg: Reg| room.get(usize::from(reg)).copied();
        let mut money = [0; 4];
        for (own, output) in money.iter_mut().zip(&self.money) {
            if let Some((reg, under)) = output {
                *own = if *under == self.minor {
                    at(*reg)?.short()?
                } else {
                    in_minor(at(*reg)?, self.minor, N::from(*under))?
                };
            }
        }
        let free = match self.free {
            Flag::Always(value) => value != 0,
            Flag::At(reg) => at(reg)? != N::default(),
        };
        Some((money, free))
    }
}

/// What is paid for a line, in whole numbers, at any rate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct PayProgram {
    steps: Vec<Do>,
    converted: (Reg, i64),
    card_fee: Option<(Reg, i64)>,
    /// The parts in the seller's money. Times the first of these figures and the rate, over the second and the rate's divisor,
    /// they are minor units of the destination's.
    parts: [Reg; 5],
    scale: (i64, i64),
    minor: i64,
}

impl PayProgram {
    /// Makes a program; none where its figures cannot be whole numbers.
    pub(crate) fn build(payer: Payer) -> Option<PayProgram> {
        let (form, at) = lower_paying(1, SellerMoney::ZERO, payer).ok()?;
        let minor = 10_i64.checked_pow(payer.digits)?;
        let mut maker = Maker::behind_inputs(&form, payer.paid_digits)?;
        let converted = maker.money(at.converted)??;
        let card_fee = maker.money(at.card_fee)?;
        let (mut parts, mut unders) = ([0; 5], [0; 5]);
        for (nth, part) in settled(&form, at.shares)?.into_iter().enumerate() {
            (parts[nth], unders[nth]) = maker.money(part)??;
        }
        let under = unders[0];
        let shared = i64::try_from(common_divisor(minor.into(), under.into())).ok()?;
        // what is left over is only compared where all of it is of one fraction
        unders.iter().all(|own| *own == under).then(|| PayProgram {
            steps: maker.steps,
            converted,
            card_fee,
            parts,
            scale: (minor / shared, under / shared),
            minor,
        })
    }

    /// Goods, discount below zero, freight, insurance, tax at the sale and the card's fee of a line, in minor units of the
    /// destination's money. None when a figure does not fit.
    pub(crate) fn apply(
        &self,
        line: &LineInput,
        rate: WholeRate,
        scratch: &mut Scratch,
    ) -> Option<([i64; 5], i64)> {
        self.calculate(line, rate, &mut scratch.short)
            .or_else(|| self.calculate(line, rate, &mut scratch.long))
    }

    fn calculate<N: Whole>(
        &self,
        line: &LineInput,
        rate: WholeRate,
        room: &mut Vec<N>,
    ) -> Option<([i64; 5], i64)> {
        let work = Work::new(rate);
        work.of_line(&self.steps, line, room)?;
        let at = |reg: Reg| room.get(usize::from(reg)).copied();
        let minor = |(reg, under): (Reg, i64)| {
            in_minor(at(reg)?, self.minor, N::from(under).by(work.over)?)
        };
        let card_fee = self.card_fee.map_or(Some(0), minor)?;
        let mut left = minor(self.converted)?;
        let (mut shares, mut rests) = ([0_i64; 5], [N::default(); 5]);
        let (up, down) = (
            N::from(self.scale.0).by(work.times)?,
            N::from(self.scale.1).by(work.over)?,
        );
        for (nth, part) in self.parts.iter().enumerate() {
            let figure = at(*part)?;
            if figure == N::default() {
                continue;
            }
            let (share, rest) = figure.by(up)?.floor(down);
            (shares[nth], rests[nth]) = (share.short()?, rest);
            left = left.checked_sub(shares[nth])?;
        }
        topped(&mut shares, &rests, left)?;
        Some((shares, card_fee))
    }
}

/// What is exchanged for the exact parts behind nodes that are settled together.
fn settled(form: &Form, shares: [Id; 5]) -> Option<[Id; 5]> {
    let mut parts = shares;
    for part in &mut parts {
        let Op::Settle(how) = &form.node(*part).op else {
            return None;
        };
        let Op::Home(before) = form.node(*how.parts.get(how.nth)?).op else {
            return None;
        };
        *part = before;
    }
    Some(parts)
}

/// Gives what is left over, a unit each, to the shares with the greatest rests, of equals to the first.
#[inline]
fn topped<N: Whole>(shares: &mut [i64; 5], rests: &[N; 5], left: i64) -> Option<()> {
    if left == 0 {
        return Some(());
    }
    for (nth, share) in shares.iter_mut().enumerate() {
        let (earlier, later) = rests.split_at(nth);
        let before = earlier.iter().filter(|rest| **rest >= rests[nth]).count()
            + later.iter().filter(|rest| **rest > rests[nth]).count();
        if i64::try_from(before).is_ok_and(|before| before < left) {
            *share = share.checked_add(1)?;
        }
    }
    Some(())
}
