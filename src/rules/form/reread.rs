//! What ended: the same rows read once more at the close, those that are over among them.

use super::Id;
use super::lower::Lowering;
use super::marks::EndedMarks;
use crate::rules::step::Step;
use crate::tables::{Kind, Provenance, RateFrom};
use crate::units::Overflow;

impl Lowering<'_> {
    /// Duties, taxes and fees that would have touched the parcel, had their rows not ended: what followed is not known.
    pub(super) fn ended(&mut self) -> Result<Vec<EndedMarks>, Overflow> {
        let program = self.program;
        let mut found = Vec::new();
        for step in program
            .ended
            .iter()
            .filter(|step| !step.carriers || self.parcel.handling.is_none())
        {
            let mut lines = self.test(&step.test)?;
            if let Some(from) = &step.rate_from {
                let rated = self.once_rated(from, |_| true)?;
                for (_, own) in rated {
                    lines = self.make.both(lines, own)?;
                }
            }
            self.note_ended(&mut found, (&step.id, step.kind), &step.stamp, lines)?;
        }
        for step in &program.steps {
            let Step::Charge(step) = step else { continue };
            let Some(from) = step.rate_from.as_ref().filter(|_| step.kind != Kind::Value) else {
                continue;
            };
            if !self.table(from).has_ended() {
                continue;
            }
            let test = self.test(&step.test)?;
            if self.make.never(test) {
                continue;
            }
            for (stamp, own) in self.once_rated(from, |ended| ended)? {
                let lines = self.make.both(test, own)?;
                if let Some(stamp) = stamp {
                    self.note_ended(&mut found, (&step.id, step.kind), &stamp, lines)?;
                }
            }
        }
        Ok(found)
    }

    /// For which lines the first row that holds is one of these; where all are asked for, together, else row by row.
    fn once_rated(
        &mut self,
        from: &RateFrom,
        asked: impl Fn(bool) -> bool,
    ) -> Result<Vec<(Option<Provenance>, Id)>, Overflow> {
        let (program, parcel) = (self.program, self.parcel);
        let table = self.table(from);
        let rows = table.in_order(from, (&parcel.lines, &self.alike), &program.groups, true);
        let (mut before, mut found, mut all) =
            (self.make.sure(false), Vec::new(), self.make.sure(false));
        let every = asked(false);
        for (row, serves) in rows {
            let serves = self.make.truths(serves.into_iter());
            let test = if self.make.never(serves) {
                serves
            } else {
                self.test(&row.test)?
            };
            let holds = self.make.both(serves, test)?;
            let first = self.make.without(holds, before)?;
            before = self.make.either(before, holds)?;
            if every {
                all = self.make.either(all, first)?;
            } else if asked(row.ended) && !self.make.never(first) {
                found.push((Some(row.stamp.clone()), first));
            }
        }
        if every {
            found.push((None, all));
        }
        Ok(found)
    }

    fn note_ended(
        &mut self,
        found: &mut Vec<EndedMarks>,
        (id, kind): (&str, Kind),
        stamp: &Provenance,
        lines: Id,
    ) -> Result<(), Overflow> {
        let Some(on) = stamp.span.to else {
            return Ok(());
        };
        let relieved = self.relieved(kind, id)?;
        let lines = self.make.without(lines, relieved)?;
        if self.make.never(lines) {
            return Ok(());
        }
        found.push(EndedMarks {
            id: id.to_owned(),
            kind,
            on,
            row: stamp.row.clone(),
            lines,
        });
        Ok(())
    }
}
