//! Entering a charge: rows of its group that stand already, its column, and what later takes lines from it.

use super::Id;
use super::charge::Borne;
use super::lower::Lowering;
use super::marks::{By, ChargeMarks, Entered, Event, StepMarks};
use crate::rules::step::ChargeStep;
use crate::tables::{Kind, Op};
use crate::units::Overflow;

/// What a charge comes to as far as the rows have come.
#[derive(Clone, Copy)]
struct Standing {
    lines: Id,
    shares: Id,
    paid: Option<Id>,
    counts: Id,
    unrated: Id,
    slot: Option<usize>,
    singly: bool,
}

impl Standing {
    fn of(charge: &ChargeMarks) -> Standing {
        Standing {
            lines: charge.lines,
            shares: charge.shares,
            paid: charge.paid,
            counts: charge.counts,
            unrated: charge.unrated,
            slot: charge.slot,
            singly: charge.singly,
        }
    }
}

/// Two rows of a group: the one that stands, and the new one.
struct Meeting {
    /// The place of the row that stands.
    at: usize,
    /// Lines that the new row gives up.
    lost: Id,
    /// Lines that the standing row gives up.
    won: Id,
}

impl Lowering<'_> {
    /// Enters a charge: settles it with the rows of its group, and writes its column.
    pub(super) fn enter(
        &mut self,
        step: &ChargeStep,
        marks: ChargeMarks,
        borne: Borne,
    ) -> Result<(), Overflow> {
        let clashes = self.clashes(step, marks.works_on)?;
        let (mut lines, mut shares, mut total) = (borne.lines, borne.shares, borne.total);
        let (mut beaten_by, mut lost) = (Vec::new(), self.make.zero());
        for at in self.standing(marks.group.as_deref()) {
            let Some(meeting) = self.meet(at, step, (lines, shares, total), marks.unrated)? else {
                continue;
            };
            let any = self.make.any(meeting.lost)?;
            beaten_by.extend(self.steps[at].charge().map(|other| (other.id.clone(), any)));
            lost = self.make.either(lost, meeting.lost)?;
            lines = self.make.without(lines, meeting.lost)?;
            shares = self.make.only(lines, shares)?;
            total = self.make.total(shares)?;
            self.give_up(meeting.at, meeting.won, &step.id)?;
        }
        let counts = self.make.any(lines)?;
        let (own, paid) = if step.kind == Kind::SaleTax {
            (self.make.home(shares), Some(shares))
        } else {
            (shares, None)
        };
        self.write(marks.slot, lines, own)?;
        let entered = Entered {
            counts,
            beaten_by,
            lost,
            shares,
            total,
        };
        let whole = ChargeMarks {
            parts: borne.parts,
            items: borne.items,
            weights: borne.weights,
            shares: own,
            paid,
            lines,
            counts,
            entered,
            clashes,
            ..marks
        };
        self.steps.push(StepMarks::Charge(Box::new(whole)));
        Ok(())
    }

    /// Rows of one charge exclude each other; two that hold for one line are a contradiction of the tables.
    fn clashes(
        &mut self,
        step: &ChargeStep,
        works_on: Id,
    ) -> Result<Vec<(super::marks::RowOf, Id)>, Overflow> {
        let same: Vec<_> = self
            .entered()
            .filter(|other| other.id == step.id)
            .map(|other| (other.row, other.lines))
            .collect();
        let mut found = Vec::new();
        for (row, lines) in same {
            let both = self.make.both(lines, works_on)?;
            let any = self.make.any(both)?;
            if !self.make.never(any) {
                found.push((row, any));
            }
        }
        Ok(found)
    }

    /// Writes what lines bear into a column.
    pub(super) fn write(
        &mut self,
        slot: Option<usize>,
        lines: Id,
        shares: Id,
    ) -> Result<(), Overflow> {
        let Some(slot) = slot else { return Ok(()) };
        let before = self.columns[slot];
        self.columns[slot] = if self.make.never(before) {
            shares
        } else {
            self.make.choose(lines, shares, before)?
        };
        Ok(())
    }

    /// Charges of its group that stand already.
    fn standing(&self, group: Option<&str>) -> Vec<usize> {
        let of_group = |at: &usize| {
            let other = self.steps[*at].charge();
            group.is_some() && other.is_some_and(|other| other.group.as_deref() == group)
        };
        (0..self.steps.len()).filter(of_group).collect()
    }

    /// Which of two rows of a group counts: line by line where both are rows for single lines, else one for the whole parcel.
    fn meet(
        &mut self,
        at: usize,
        step: &ChargeStep,
        (lines, shares, total): (Id, Id, Id),
        unrated: Id,
    ) -> Result<Option<Meeting>, Overflow> {
        let Some(other) = self.steps[at].charge().map(Standing::of) else {
            return Ok(None);
        };
        if self.make.never(other.counts) || self.make.never(lines) {
            return Ok(None);
        }
        let least = step.group.as_ref().is_some_and(|(_, least)| *least);
        let standing = other.paid.unwrap_or(other.shares);
        if other.singly && step.level == crate::tables::Level::Line {
            let both = self.make.both(other.lines, lines)?;
            let both = self.make.both(both, other.counts)?;
            let less = self.make.compare(shares, Op::Below, standing)?;
            let less = if least { less } else { self.make.sure(false) };
            let won = self.make.both(both, less)?;
            let lost = self.make.without(both, less)?;
            return Ok(Some(Meeting { at, lost, won }));
        }
        let wins = if least {
            self.wins_whole(other, (lines, total), unrated)?
        } else {
            self.make.sure(false)
        };
        let lost = self.make.without(other.counts, wins)?;
        let lost = self.make.both(lines, lost)?;
        let won = self.make.both(other.lines, wins)?;
        Ok(Some(Meeting { at, lost, won }))
    }

    /// Whether a new row beats another for the whole parcel: a row without a rate for one of its lines is not known whole, and
    /// never the least; a row that bears nothing beats none.
    fn wins_whole(
        &mut self,
        other: Standing,
        (lines, total): (Id, Id),
        unrated: Id,
    ) -> Result<Id, Overflow> {
        let standing = self.make.total(other.shares)?;
        let less = self.make.compare(total, Op::Below, standing)?;
        let open = self.make.any(other.unrated)?;
        let less = self.make.either(less, open)?;
        let (bears, unknown) = (self.make.any(lines)?, self.make.any(unrated)?);
        let wins = self.make.both(less, bears)?;
        let wins = self.make.both(wins, other.counts)?;
        self.make.without(wins, unknown)
    }

    /// Takes lines from a row that stands, in its column too; another row counts on them.
    fn give_up(&mut self, at: usize, gone: Id, winner: &str) -> Result<(), Overflow> {
        if self.make.never(gone) {
            return Ok(());
        }
        let Some(other) = self.steps[at].charge().map(Standing::of) else {
            return Ok(());
        };
        let (lines, shares, paid) = self.less(other, gone)?;
        let left = self.make.any(lines)?;
        let counts = self.make.both(other.counts, left)?;
        self.empty(other.slot, gone)?;
        let by = By::Group(winner.to_owned());
        self.put(at, |other| {
            (other.lines, other.shares, other.paid, other.counts) = (lines, shares, paid, counts);
            other.events.push(Event { by, counts });
        });
        Ok(())
    }

    /// The lines and shares of a charge without some of its lines.
    fn less(&mut self, charge: Standing, gone: Id) -> Result<(Id, Id, Option<Id>), Overflow> {
        let lines = self.make.without(charge.lines, gone)?;
        let zero = self.make.zero();
        let shares = self.make.choose(gone, zero, charge.shares)?;
        let paid = charge
            .paid
            .map(|paid| self.make.choose(gone, zero, paid))
            .transpose()?;
        Ok((lines, shares, paid))
    }

    /// Empties a column on some lines.
    fn empty(&mut self, slot: Option<usize>, gone: Id) -> Result<(), Overflow> {
        let Some(slot) = slot else { return Ok(()) };
        let zero = self.make.zero();
        self.columns[slot] = self.make.choose(gone, zero, self.columns[slot])?;
        Ok(())
    }

    fn put(&mut self, at: usize, change: impl FnOnce(&mut ChargeMarks)) {
        if let Some(charge) = self.steps.get_mut(at).and_then(StepMarks::charge_mut) {
            change(charge);
        }
    }

    /// Cancels charges that a limit drops, on the lines for which it holds. A charge of which nothing is left counts no more.
    pub(super) fn cancel(
        &mut self,
        drops: &crate::tables::Drop,
        held: Id,
        relief: &str,
    ) -> Result<(), Overflow> {
        use crate::tables::Drop;
        let any = self.make.any(held)?;
        for at in 0..self.steps.len() {
            let named = |charge: &&ChargeMarks| match drops {
                Drop::Kind(kind) => charge.kind == *kind,
                Drop::Charge(id) => charge.id == *id,
            };
            let charge = self.steps[at].charge().filter(named).map(Standing::of);
            let Some(charge) = charge.filter(|charge| !self.make.never(charge.counts)) else {
                continue;
            };
            let (lines, shares, paid) = self.less(charge, held)?;
            let left = self.make.total(shares)?;
            let left = self.make.some(left)?;
            let gone = self.make.without(any, left)?;
            let counts = self.make.without(charge.counts, gone)?;
            self.empty(charge.slot, held)?;
            let by = By::Relief(relief.to_owned());
            self.put(at, |charge| {
                (charge.lines, charge.shares, charge.paid, charge.counts) =
                    (lines, shares, paid, counts);
                charge.events.push(Event { by, counts });
            });
        }
        Ok(())
    }

    /// Lines to which a layer owes a rate and has none, whatever other duties found; unless the duty is dropped by more than its
    /// own smallness, or another row of the same charge or group stands in its place.
    pub(super) fn gaps(&mut self) -> Result<Id, Overflow> {
        let steps = std::mem::take(&mut self.steps);
        let charges = || steps.iter().filter_map(StepMarks::charge);
        let mut gaps = self.make.sure(false);
        for charge in charges() {
            if !self.owes(charge) || self.make.never(charge.unrated) {
                continue;
            }
            let relieved = self.surely_gone(charge.kind, &charge.id)?;
            let mut open = self.make.without(charge.unrated, relieved)?;
            let kin = |other: &&ChargeMarks| {
                other.kind == Kind::Duty
                    && (other.id == charge.id
                        || (charge.group.is_some() && other.group == charge.group))
            };
            for other in charges().filter(kin) {
                let stands = self.make.both(other.lines, other.counts)?;
                open = self.make.without(open, stands)?;
            }
            gaps = self.make.either(gaps, open)?;
        }
        self.steps = steps;
        Ok(gaps)
    }
}
