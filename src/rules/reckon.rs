//! One charge over its lines: percentages by group and rate, flat amounts, least and most, rounding, and the shares.

use std::collections::BTreeMap;

use super::condition::Facts;
use super::parcel::{Line, Parcel};
use super::program::Program;
use super::rate::RateUsed;
use super::step::ChargeStep;
use crate::tables::{Kind, Level, Per, Stamp};
use crate::units::{Dec, Overflow, Rounding, share};

/// A rate on a base, as the trail shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// What the percentage is of.
    pub base: Dec,
    /// The rate; none for a plain sum.
    pub rate: Option<RateUsed>,
    /// What it comes to.
    pub amount: Dec,
}

/// A charge reckoned.
#[derive(Debug, Clone, Default)]
pub(super) struct Reckoned {
    pub(super) total: Dec,
    pub(super) shares: Vec<(usize, Dec)>,
    pub(super) parts: Vec<Part>,
    pub(super) items: usize,
    pub(super) stamps: Vec<Stamp>,
    /// Lines the charge works on and no table has a rate for.
    pub(super) unrated: Vec<usize>,
}

impl Reckoned {
    /// Adds what other lines come to.
    fn add(&mut self, other: Reckoned) -> Result<(), Overflow> {
        self.total = self.total.plus(other.total)?;
        self.items += other.items;
        self.shares.extend(other.shares);
        self.parts.extend(other.parts);
        Ok(())
    }

    /// Leaves lines out of it; a row for single lines drops their parts of the trail too.
    pub(super) fn give_up(&mut self, lines: &[usize]) -> Result<(), Overflow> {
        if lines.is_empty() {
            return Ok(());
        }
        if self.parts.len() == self.shares.len() {
            let kept: Vec<bool> = self.shares.iter().map(|(at, _)| !lines.contains(at)).collect();
            let mut kept = kept.iter().copied();
            self.parts.retain(|_| kept.next().unwrap_or(true));
        }
        self.shares.retain(|(at, _)| !lines.contains(at));
        self.total = Dec::total(self.shares.iter().map(|(_, share)| *share))?;
        Ok(())
    }
}

/// A line with what the charge needs of it.
struct Bearing {
    at: usize,
    base: Dec,
    rate: Option<RateUsed>,
}

/// Reckons a charge over its lines; `base` gives the charge's sum for a line.
pub(super) fn reckon(
    program: &Program,
    step: &ChargeStep,
    facts: Facts<'_>,
    lines: &[usize],
    minor: u32,
    base: impl Fn(usize) -> Result<Dec, Overflow>,
) -> Result<Reckoned, Overflow> {
    let mut done = Reckoned::default();
    let mut bearing = Vec::with_capacity(lines.len());
    for at in lines.iter().copied() {
        let Some(line) = facts.parcel.lines.get(at) else { continue };
        match rate_of(program, step, line, at, facts)? {
            Rated::No => done.unrated.push(at),
            Rated::Plain => bearing.push(Bearing { at, base: base(at)?, rate: None }),
            Rated::At(rate, stamp) => {
                done.stamps.extend(stamp.cloned());
                bearing.push(Bearing { at, base: base(at)?, rate: Some(rate) });
            }
        }
    }
    if step.level == Level::Line && counts_by_line(step) {
        let (parts, singles): (Vec<Bearing>, Vec<Bearing>) = bearing.into_iter().partition(|b| facts.parcel.is_part(b.at));
        line_by_line(step, facts.parcel, &singles, &mut done)?;
        if !parts.is_empty() {
            let mut whole = Reckoned::default();
            add_up(step, facts.parcel, &parts, minor, &mut whole)?;
            done.add(whole)?;
        }
    } else if !bearing.is_empty() {
        add_up(step, facts.parcel, &bearing, minor, &mut done)?;
    }
    Ok(done)
}

pub(super) enum Rated<'a> {
    No,
    Plain,
    At(RateUsed, Option<&'a Stamp>),
}

pub(super) fn rate_of<'a>(
    program: &'a Program,
    step: &ChargeStep,
    line: &'a Line,
    at: usize,
    facts: Facts<'a>,
) -> Result<Rated<'a>, Overflow> {
    if let Some(percent) = step.percent {
        return Ok(Rated::At(RateUsed { percent, per_kg: Dec::ZERO, per_piece: Dec::ZERO, row: None }, None));
    }
    let Some(from) = &step.rate_from else { return Ok(Rated::Plain) };
    let table = match from {
        crate::tables::RateFrom::Tariff(_) => &program.tariff,
        crate::tables::RateFrom::Taxes(_) => &program.taxes,
    };
    Ok(table.of_charge(from, line, at, facts)?.map_or(Rated::No, |(rate, stamp)| Rated::At(rate, Some(stamp))))
}

/// Whether a line's part of the flat amount is its own.
fn counts_by_line(step: &ChargeStep) -> bool {
    step.flat.is_none() || matches!(step.per, Per::Item { above: 0 } | Per::Piece | Per::Kilogram)
}

/// A row for single lines: each line's amount is reckoned, kept between least and most, and rounded by itself.
fn line_by_line(step: &ChargeStep, parcel: &Parcel, bearing: &[Bearing], done: &mut Reckoned) -> Result<(), Overflow> {
    done.items = bearing.len();
    for line in bearing {
        let flat = flat_amount(step, parcel, std::slice::from_ref(line), 1)?;
        let amount = finish(step, exact(step, parcel, line)?.plus(flat)?)?;
        done.total = done.total.plus(amount)?;
        done.shares.push((line.at, amount));
        done.parts.push(Part { base: line.base, rate: line.rate.clone(), amount });
    }
    Ok(())
}

/// Least, most and rounding, in this order.
fn finish(step: &ChargeStep, amount: Dec) -> Result<Dec, Overflow> {
    let amount = step.min.map_or(amount, |least| amount.max(least));
    let amount = step.max.map_or(amount, |most| amount.min(most));
    step.round.map_or(Ok(amount), |round| round.apply(amount))
}

fn add_up(step: &ChargeStep, parcel: &Parcel, bearing: &[Bearing], minor: u32, done: &mut Reckoned) -> Result<(), Overflow> {
    let mut groups: BTreeMap<(String, String), Vec<&Bearing>> = BTreeMap::new();
    for line in bearing {
        groups.entry(group_key(step.level, parcel, line.at)).or_default().push(line);
    }
    done.items = if step.level == Level::Consignment { distinct(parcel, bearing) } else { groups.len() };
    let slots: BTreeMap<usize, usize> = bearing.iter().enumerate().map(|(slot, b)| (b.at, slot)).collect();
    let mut weights = vec![Dec::ZERO; bearing.len()];
    for lines in groups.values() {
        group(step, parcel, lines, minor, done, |at, weight| {
            if let Some(slot) = slots.get(&at) {
                weights[*slot] = weight;
            }
        })?;
    }
    let rated = Dec::total(done.parts.iter().map(|p| p.amount))?;
    let flat = flat_amount(step, parcel, bearing, done.items)?;
    let total = finish(step, rated.plus(flat)?)?;
    done.total = total;
    if total != Dec::total(done.shares.iter().map(|(_, share)| *share))? {
        reshare(step, parcel, bearing, &weights, minor, done)?;
    }
    Ok(())
}

/// Whether two lines bear one rate, whichever rows of the tables say so.
fn alike(one: Option<&RateUsed>, other: Option<&RateUsed>) -> bool {
    match (one, other) {
        (Some(one), Some(other)) => one.charges_as(other),
        (None, None) => true,
        _ => false,
    }
}

/// One group: each distinct rate's amount is rounded on its own, then shared over the lines that bear it.
fn group(
    step: &ChargeStep,
    parcel: &Parcel,
    lines: &[&Bearing],
    minor: u32,
    done: &mut Reckoned,
    mut weigh: impl FnMut(usize, Dec),
) -> Result<(), Overflow> {
    let mut rates: Vec<&Option<RateUsed>> = lines.iter().map(|l| &l.rate).collect();
    rates.sort();
    rates.dedup_by(|one, other| alike(one.as_ref(), other.as_ref()));
    for rate in rates {
        let mine: Vec<&&Bearing> = lines.iter().filter(|l| alike(l.rate.as_ref(), rate.as_ref())).collect();
        let base = Dec::total(mine.iter().map(|l| l.base))?;
        let exact = mine.iter().map(|l| exact(step, parcel, l)).collect::<Result<Vec<_>, _>>()?;
        let mut amount = Dec::total(exact.iter().copied())?;
        if let Some(round) = step.round {
            amount = round.apply(amount)?;
        }
        let shares = if step.round.is_none() { exact.clone() } else { share(amount, &exact, minor)? };
        for ((line, own), weight) in mine.iter().zip(shares).zip(exact) {
            done.shares.push((line.at, own));
            weigh(line.at, weight);
        }
        done.parts.push(Part { base, rate: rate.clone(), amount });
    }
    Ok(())
}

/// What one line comes to before rounding.
fn exact(step: &ChargeStep, parcel: &Parcel, bearing: &Bearing) -> Result<Dec, Overflow> {
    let Some(rate) = &bearing.rate else {
        return Ok(if step.of.is_some() { bearing.base } else { Dec::ZERO });
    };
    let mut amount = rate.percent.of(bearing.base)?;
    if let Some(line) = parcel.lines.get(bearing.at) {
        amount = amount.plus(rate.per_kg.times(line.packed_kg)?)?;
        amount = amount.plus(rate.per_piece.times(Dec::from(parcel.pieces_once(bearing.at)))?)?;
    }
    Ok(amount)
}

/// The flat amount, counted by what the row says.
fn flat_amount(step: &ChargeStep, parcel: &Parcel, bearing: &[Bearing], items: usize) -> Result<Dec, Overflow> {
    let Some(flat) = step.flat else { return Ok(Dec::ZERO) };
    let lines = || bearing.iter().filter_map(|b| parcel.lines.get(b.at));
    let count = match step.per {
        Per::Consignment => Dec::ONE,
        Per::Item { above } => Dec::from(u32::try_from(items).unwrap_or(u32::MAX).saturating_sub(above)),
        Per::Piece => Dec::total(bearing.iter().map(|b| Dec::from(parcel.pieces_once(b.at))))?,
        Per::Kilogram => Dec::total(lines().map(|l| l.packed_kg))?,
    };
    flat.times(count)
}

/// Shares the whole again: an item's flat amount within the item, else by the bases the row was taken on, else by value.
fn reshare(
    step: &ChargeStep,
    parcel: &Parcel,
    bearing: &[Bearing],
    weights: &[Dec],
    minor: u32,
    done: &mut Reckoned,
) -> Result<(), Overflow> {
    let value = |b: &Bearing| parcel.lines.get(b.at).map_or(Dec::ZERO, |l| l.goods);
    let weights: Vec<Dec> = if step.flat_by_item() {
        item_weights(step, parcel, bearing, weights)?
    } else if weights.iter().any(|w| !w.is_zero()) {
        weights.to_vec()
    } else if bearing.iter().any(|b| !b.base.is_zero()) {
        bearing.iter().map(|b| b.base).collect()
    } else {
        bearing.iter().map(value).collect()
    };
    let shares = share(done.total, &weights, minor)?;
    done.shares = bearing.iter().map(|b| b.at).zip(shares).collect();
    Ok(())
}

/// Each item bears its own flat amount, which its lines share by value.
fn item_weights(step: &ChargeStep, parcel: &Parcel, bearing: &[Bearing], weights: &[Dec]) -> Result<Vec<Dec>, Overflow> {
    let mut out = weights.to_vec();
    let value = |b: &Bearing| parcel.lines.get(b.at).map_or(Dec::ZERO, |l| l.goods);
    let flat = step.flat.unwrap_or(Dec::ZERO);
    let mut items: BTreeMap<(String, String), Vec<usize>> = BTreeMap::new();
    for (slot, one) in bearing.iter().enumerate() {
        items.entry(group_key(step.level, parcel, one.at)).or_default().push(slot);
    }
    for mates in items.values() {
        let whole = Dec::total(mates.iter().map(|slot| value(&bearing[*slot])))?;
        for slot in mates {
            let own = if whole.is_zero() {
                flat.over(Dec::from(i64::try_from(mates.len()).unwrap_or(1)))?
            } else {
                flat.times(value(&bearing[*slot]))?.over(whole)?
            };
            out[*slot] = out[*slot].plus(own)?;
        }
    }
    Ok(out)
}

/// The group a line belongs to at a level.
pub(super) fn group_key(level: Level, parcel: &Parcel, at: usize) -> (String, String) {
    let Some(line) = parcel.lines.get(at) else { return Default::default() };
    match level {
        Level::Line if line.whole.is_some() => (String::new(), line.declared_as.clone()),
        Level::Line => (format!("{at:06}"), String::new()),
        Level::Item(digits) => (line.commodity.get(..digits).unwrap_or(&line.commodity).to_owned(), line.declared_as.clone()),
        Level::Consignment => Default::default(),
    }
}

/// Items of a consignment: lines alike in all digits and in what the declaration calls them.
fn distinct(parcel: &Parcel, bearing: &[Bearing]) -> usize {
    let mut found: Vec<(&str, &str)> =
        bearing.iter().filter_map(|b| parcel.lines.get(b.at)).map(|l| (l.commodity.as_str(), l.declared_as.as_str())).collect();
    found.sort_unstable();
    found.dedup();
    found.len()
}

/// A carrier's own fee in place of the table's: a percentage of what was advanced, or the least.
pub(super) fn own_fee(percent: Dec, least: Dec, advanced: Dec, minor: u32) -> Result<Dec, Overflow> {
    let share = advanced.times(percent)?.over(Dec::HUNDRED)?;
    Rounding::minor(minor).apply(share.max(least))
}

/// Whether a kind is money that customs or the carrier takes at the border.
pub(super) fn at_border(kind: Kind) -> bool {
    matches!(kind, Kind::Duty | Kind::Remedy | Kind::Tax)
}
