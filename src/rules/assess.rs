//! A program applied to one consignment: each row in its order, each relief where it stands, and the trail of both.

use super::assessment::{Assessment, Entry, Limit, WhyNot};
use std::collections::BTreeMap;

use super::condition::Facts;
use super::ledger::Ledger;
use super::parcel::Parcel;
use super::program::Program;
use super::reckon::{Reckoned, at_border, own_fee, reckon};
use super::step::{ChargeStep, ReliefStep, Step};
use crate::tables::{Collect, Drop, Kind, Level, RowRef, Stamp, TestPer};
use crate::units::{Dec, Overflow, Rate};

/// Applies a program to a consignment.
pub fn assess(program: &Program, parcel: &Parcel) -> Result<Assessment, Overflow> {
    let mut work = Work::open(program, parcel)?;
    for step in &program.steps {
        match step {
            Step::Charge(step) => work.charge(step)?,
            Step::Relief(step) => work.relief(step)?,
        }
    }
    work.own_fee_at_last()?;
    work.close()
}

/// The assessment being made.
struct Work<'a> {
    program: &'a Program,
    parcel: &'a Parcel,
    ledger: Ledger,
    /// The parts of the price in the seller's money, for tax at the sale.
    sellers: Ledger,
    collect: Vec<Collect>,
    /// By kind or id: the relief that dropped each line.
    dropped: BTreeMap<String, Vec<Option<String>>>,
    entries: Vec<Entry>,
    limits: Vec<Limit>,
    clashes: Vec<(String, RowRef, RowRef)>,
    negative: Vec<(String, Dec, RowRef)>,
    own_fee_used: bool,
}

impl<'a> Work<'a> {
    fn open(program: &'a Program, parcel: &'a Parcel) -> Result<Work<'a>, Overflow> {
        let mut ledger = Ledger::open(&program.names, parcel, parcel.customs)?;
        for (_, slot, shares) in program.schedule_columns(parcel)? {
            shares.into_iter().enumerate().for_each(|(at, share)| ledger.set(slot, at, share));
        }
        Ok(Work {
            program,
            parcel,
            ledger,
            sellers: Ledger::open(&program.names, parcel, Rate::SAME)?,
            collect: vec![Collect::AtBorder; parcel.lines.len()],
            dropped: BTreeMap::new(),
            entries: Vec::with_capacity(program.steps.len()),
            limits: Vec::new(),
            clashes: Vec::new(),
            negative: Vec::new(),
            own_fee_used: false,
        })
    }

    fn facts(&self) -> Facts<'_> {
        Facts { parcel: self.parcel, ledger: &self.ledger, collect: &self.collect, groups: &self.program.groups }
    }

    fn charge(&mut self, step: &ChargeStep) -> Result<(), Overflow> {
        let picked = step.test.lines(self.facts())?;
        if picked.is_empty() {
            self.not_due(step, WhyNot::Condition(step.when.clone()));
            return Ok(());
        }
        let lines: Vec<usize> = picked.iter().copied().filter(|at| self.drop_of(step.kind, &step.id, *at).is_none()).collect();
        if lines.is_empty() {
            let by = picked.first().and_then(|at| self.drop_of(step.kind, &step.id, *at)).unwrap_or_default();
            self.not_due(step, WhyNot::Relieved(by));
            return Ok(());
        }
        if step.carriers && self.parcel.handling.is_some() {
            return self.own_fee(step, &lines);
        }
        self.note_clash(step, &lines);
        let mut done = self.reckon(step, &lines)?;
        if done.shares.is_empty() {
            let unrated = done.unrated;
            self.not_due(step, WhyNot::NoRate);
            if let Some(entry) = self.entries.last_mut() {
                entry.unrated = unrated;
            }
            return Ok(());
        }
        if let Some((group, least)) = &step.group
            && let Some(other) = self.settle(step, group, *least, &mut done)?
        {
            self.not_due(step, WhyNot::Group(other));
            return Ok(());
        }
        self.note_negative(step, &done);
        self.enter(step, done)
    }

    /// What somebody pays is never less than nothing: not as a whole, and of a row for single lines on none of them.
    fn note_negative(&mut self, step: &ChargeStep, done: &Reckoned) {
        let singly = done.shares.iter().map(|(_, share)| *share).filter(|_| step.level == Level::Line);
        let least = singly.chain([done.total]).min().filter(|least| least.is_negative() && step.kind != Kind::Value);
        self.negative.extend(least.map(|least| (step.id.clone(), least, step.stamp.row.clone())));
    }

    /// Rows of one charge exclude each other; two that hold for one line are noted.
    fn note_clash(&mut self, step: &ChargeStep, lines: &[usize]) {
        let mut same = self.entries.iter().filter(|e| e.kind.is_some() && e.id == step.id && e.why_not.is_none());
        let on_a_line = |e: &&Entry| lines.iter().any(|at| e.lines.contains(at));
        if let Some(other) = same.find(on_a_line) {
            self.clashes.push((step.id.clone(), other.stamp.row.clone(), step.stamp.row.clone()));
        }
    }

    fn reckon(&self, step: &ChargeStep, lines: &[usize]) -> Result<Reckoned, Overflow> {
        let at_sale = step.kind == Kind::SaleTax;
        let (ledger, currency) = if at_sale { (&self.sellers, self.parcel.paid_in) } else { (&self.ledger, self.program.currency) };
        let base = |at: usize| match (&step.of, self.parcel.lines.get(at)) {
            (Some(sum), Some(line)) => ledger.of_line(sum, at, line),
            _ => Ok(Dec::ZERO),
        };
        let foreign = at_sale && self.parcel.paid_in != self.program.currency;
        if foreign {
            let sellers = ChargeStep { round: Some(crate::units::Rounding::minor(currency.digits())), ..step.clone() };
            return reckon(self.program, &sellers, self.facts(), lines, currency.digits(), base);
        }
        reckon(self.program, step, self.facts(), lines, currency.digits(), base)
    }

    /// Writes a charge into the ledger and the trail.
    fn enter(&mut self, step: &ChargeStep, done: Reckoned) -> Result<(), Overflow> {
        let at_sale = step.kind == Kind::SaleTax;
        let mut shares = vec![Dec::ZERO; self.parcel.lines.len()];
        let mut paid = if at_sale { shares.clone() } else { Vec::new() };
        for (at, share) in &done.shares {
            let own = if at_sale { self.parcel.customs.convert(*share)? } else { *share };
            shares[*at] = own;
            if let Some(cell) = paid.get_mut(*at) {
                *cell = *share;
            }
            self.ledger.set(step.slot, *at, own);
        }
        let total = if at_sale { Dec::total(shares.iter().copied())? } else { done.total };
        self.entries.push(Entry {
            rate_rows: done.stamps,
            amount: Some(total),
            shares,
            paid,
            parts: done.parts,
            items: done.items,
            lines: done.shares.iter().map(|(at, _)| *at).collect(),
            unrated: done.unrated,
            ..Entry::of_charge(step)
        });
        Ok(())
    }

    /// The fee that the seller's row gives, once, in place of the carriers' rows of the table.
    fn own_fee(&mut self, step: &ChargeStep, lines: &[usize]) -> Result<(), Overflow> {
        let handling = self.parcel.handling.clone().filter(|_| !self.own_fee_used);
        let Some(handling) = handling else {
            self.not_due(step, WhyNot::OwnFee);
            return Ok(());
        };
        self.own_fee_used = true;
        let borne: Vec<Dec> = lines.iter().map(|at| self.advanced(*at)).collect::<Result<_, _>>()?;
        let minor = self.program.currency.digits();
        let total = own_fee(handling.percent.0, handling.least, Dec::total(borne.iter().copied())?, minor)?;
        let goods: Vec<Dec> = lines.iter().map(|at| self.parcel.lines.get(*at).map_or(Dec::ZERO, |l| l.goods)).collect();
        let weights = if borne.iter().all(|b| b.is_zero()) { goods } else { borne };
        let shares = lines.iter().copied().zip(crate::units::share(total, &weights, minor)?).collect();
        let done = Reckoned { total, shares, ..Reckoned::default() };
        let of_text = "the carrier's own fee".to_owned();
        let stamp = Stamp::of_book(handling.row);
        self.enter(&ChargeStep { of_text, flat: Some(total), min: None, max: None, stamp, ..step.clone() }, done)
    }

    /// Where no row of the table stands for the carrier's fee and something was advanced, the seller's own fee comes last.
    fn own_fee_at_last(&mut self) -> Result<(), Overflow> {
        let Some(handling) = self.parcel.handling.clone().filter(|_| !self.own_fee_used) else { return Ok(()) };
        let lines: Vec<usize> = (0..self.parcel.lines.len()).collect();
        let advanced = lines.iter().map(|at| self.advanced(*at)).collect::<Result<Vec<_>, _>>()?;
        if Dec::total(advanced)?.is_zero() {
            return Ok(());
        }
        self.own_fee(&ChargeStep::own_fee(handling.row), &lines)
    }

    /// Duty, remedies and tax at the border that a line bears so far.
    fn advanced(&self, at: usize) -> Result<Dec, Overflow> {
        let entries = self.entries.iter().filter(|e| e.amount.is_some() && e.kind.is_some_and(at_border));
        Dec::total(entries.filter_map(|e| e.shares.get(at).copied()))
    }

    fn not_due(&mut self, step: &ChargeStep, why_not: WhyNot) {
        self.entries.push(Entry { why_not: Some(why_not), ..Entry::of_charge(step) });
    }

    /// Settles which row of a group counts beside one already entered: line by line where both are rows for single lines, else
    /// one of the two for the whole parcel. Returns the row that counts where the new one bears nothing then.
    fn settle(&mut self, step: &ChargeStep, group: &str, least: bool, done: &mut Reckoned) -> Result<Option<String>, Overflow> {
        let mut instead = None;
        for at in 0..self.entries.len() {
            let Some(level) = self.level_in_group(at, group) else { continue };
            let Some(entry) = self.entries.get(at) else { continue };
            let singly = level == Level::Line && step.level == Level::Line;
            let (lost, won) = if singly { entry.against(done, least) } else { entry.against_whole(done, least) };
            if !lost.is_empty() {
                instead = Some(entry.id.clone());
            }
            done.give_up(&lost)?;
            self.give_up(at, &won, step)?;
        }
        Ok(instead.filter(|_| done.shares.is_empty()))
    }

    /// The level of an entered row, when it counts and is one of a group.
    fn level_in_group(&self, at: usize, group: &str) -> Option<Level> {
        let entry = self.entries.get(at).filter(|e| e.kind.is_some() && e.amount.is_some())?;
        self.program.steps.iter().find_map(|step| match step {
            Step::Charge(c) if c.stamp.row == entry.stamp.row && c.group.as_ref().is_some_and(|(name, _)| name == group) => Some(c.level),
            _ => None,
        })
    }

    /// Takes lines from an entered row, in the ledger too; another row counts on them.
    fn give_up(&mut self, at: usize, lines: &[usize], winner: &ChargeStep) -> Result<(), Overflow> {
        let Some(entry) = self.entries.get_mut(at).filter(|_| !lines.is_empty()) else { return Ok(()) };
        entry.drop_lines(lines)?;
        if entry.lines.is_empty() {
            entry.amount = None;
            entry.why_not = Some(WhyNot::Group(winner.id.clone()));
        }
        let id = entry.id.clone();
        let gone: Vec<(String, usize)> = lines.iter().map(|line| (id.clone(), *line)).collect();
        self.clear(&gone);
        Ok(())
    }

    /// Takes amounts of rows out of the ledger, line by line.
    fn clear(&mut self, gone: &[(String, usize)]) {
        for step in &self.program.steps {
            if let Step::Charge(step) = step {
                for (_, at) in gone.iter().filter(|(id, _)| *id == step.id) {
                    self.ledger.set(step.slot, *at, Dec::ZERO);
                }
            }
        }
    }

    /// The relief that dropped a charge for a line, if one did.
    fn drop_of(&self, kind: Kind, id: &str, at: usize) -> Option<String> {
        self.drops_of(kind, id, at).next().cloned()
    }

    fn drops_of(&self, kind: Kind, id: &str, at: usize) -> impl Iterator<Item = &String> {
        let names = [kind.name().to_owned(), format!("charge:{id}")];
        names.into_iter().filter_map(move |name| self.dropped.get(&name)?.get(at)?.as_ref())
    }

    /// Whether a duty is gone, whatever its rate: by a relief that does not test the duty itself.
    fn surely_gone(&self, step: &ChargeStep, at: usize) -> bool {
        let tests_duty = |id: &str| self.program.steps.iter().any(|s| matches!(s, Step::Relief(r) if r.id == id && r.tests_duty));
        self.drops_of(step.kind, &step.id, at).any(|id| !tests_duty(id))
    }

    fn relief(&mut self, step: &ReliefStep) -> Result<(), Overflow> {
        let lines = step.test.lines(self.facts())?;
        if lines.is_empty() {
            self.relief_entry(step, Some(WhyNot::Condition(step.when.clone())));
            return Ok(());
        }
        let whole = self.ledger.over(&step.tests, lines.iter().copied(), self.parcel)?;
        let relieved = self.within_limit(step, &lines, whole)?;
        if step.per == TestPer::Consignment && !(step.picks_lines && relieved.is_empty() && whole.is_zero()) {
            self.limits.push(Limit {
                id: step.id.clone(),
                amount: step.limit,
                text: step.limit_text.clone(),
                value: whole,
                holds: !relieved.is_empty(),
                drops: step.drops.clone(),
                collect: step.collect,
                stamp: step.stamp.clone(),
            });
        }
        if relieved.is_empty() {
            self.relief_entry(step, Some(WhyNot::OverLimit(whole, step.limit_text.clone())));
            return Ok(());
        }
        self.relief_entry(step, None);
        self.act(step, &relieved)
    }

    /// The lines for which the limit holds; `whole` is what they come to together.
    fn within_limit(&self, step: &ReliefStep, lines: &[usize], whole: Dec) -> Result<Vec<usize>, Overflow> {
        if step.per == TestPer::Consignment {
            return Ok(if step.op.holds(&whole, &step.limit) { lines.to_vec() } else { Vec::new() });
        }
        let mut held = Vec::new();
        for at in lines.iter().copied() {
            let together = self.parcel.declared_with(at).into_iter().filter(|other| lines.contains(other));
            let mut value = self.ledger.over(&step.tests, together, self.parcel)?;
            let pieces = self.parcel.declared_pieces(at);
            if step.per == TestPer::Piece && pieces > 1 {
                value = value.over(Dec::from(pieces))?;
            }
            if step.op.holds(&value, &step.limit) {
                held.push(at);
            }
        }
        Ok(held)
    }

    /// Cancels what the relief names among earlier rows, stops it among later ones, and marks the lines.
    fn act(&mut self, step: &ReliefStep, lines: &[usize]) -> Result<(), Overflow> {
        for gone in &step.drops {
            let name = gone.name();
            let count = self.parcel.lines.len();
            let marks = self.dropped.entry(name).or_insert_with(|| vec![None; count]);
            let mark = |old: Option<String>| old.filter(|_| step.tests_duty).or_else(|| Some(step.id.clone()));
            lines.iter().for_each(|at| marks[*at] = mark(marks[*at].take()));
            self.cancel(gone, lines, &step.id)?;
        }
        if let Some(collect) = step.collect {
            lines.iter().for_each(|at| self.collect[*at] = collect);
        }
        Ok(())
    }

    fn cancel(&mut self, gone: &Drop, lines: &[usize], relief: &str) -> Result<(), Overflow> {
        let matches = |entry: &Entry| match gone {
            Drop::Kind(kind) => entry.kind == Some(*kind),
            Drop::Charge(id) => entry.kind.is_some() && entry.id == *id,
        };
        let mut struck = Vec::new();
        for entry in self.entries.iter_mut().filter(|e| e.amount.is_some() && matches(e)) {
            entry.drop_lines(lines)?;
            struck.extend(lines.iter().map(|at| (entry.id.clone(), *at)));
            if entry.amount.is_none_or(Dec::is_zero) {
                entry.amount = None;
                entry.why_not = Some(WhyNot::Relieved(relief.to_owned()));
            }
        }
        self.clear(&struck);
        Ok(())
    }

    fn relief_entry(&mut self, step: &ReliefStep, why_not: Option<WhyNot>) {
        let of = format!("{} {} {}", step.tests_text, step.op, step.limit_text);
        self.entries.push(Entry { why_not, ..Entry::of_row(&step.id, None, &step.stamp, of) });
    }

    fn close(self) -> Result<Assessment, Overflow> {
        let (gaps, ended) =
            (self.gaps(), super::ended::ended(self.program, self.facts(), |kind, id, at| self.drop_of(kind, id, at).is_some())?);
        let Work { entries, limits, collect, clashes, negative, .. } = self;
        Ok(Assessment { entries, limits, collect, gaps, ended, clashes, negative })
    }

    /// A line is a gap when a layer owes it a rate and has none, whatever other duties found; unless the duty is dropped by more
    /// than its own smallness, or another row of the same charge or group stands in its place.
    fn gaps(&self) -> Vec<usize> {
        let owing = self.program.steps.iter().filter_map(|step| match step {
            Step::Charge(step) if step.owes => Some(step.as_ref()),
            _ => None,
        });
        let mut gaps = Vec::new();
        for step in owing {
            let Some(entry) = self.entries.iter().find(|e| e.kind.is_some() && e.stamp.row == step.stamp.row) else { continue };
            let open = entry.unrated.iter().copied().filter(|at| !self.surely_gone(step, *at));
            gaps.extend(open.filter(|at| !self.stands_in(step, *at)));
        }
        gaps.sort_unstable();
        gaps.dedup();
        gaps
    }

    /// Whether another row of a charge's id or group bears a line.
    fn stands_in(&self, step: &ChargeStep, at: usize) -> bool {
        let group = |row: &RowRef| {
            self.program.steps.iter().find_map(|other| match other {
                Step::Charge(other) if other.stamp.row == *row => other.group.as_ref().map(|(name, _)| name),
                _ => None,
            })
        };
        let own = step.group.as_ref().map(|(name, _)| name);
        let bears = |e: &&Entry| e.kind == Some(Kind::Duty) && e.amount.is_some() && e.lines.contains(&at);
        self.entries.iter().filter(bears).any(|e| e.id == step.id || (own.is_some() && group(&e.stamp.row) == own))
    }
}
